"""What a job file may say, and what is said of each thing that it may not."""

from collections.abc import Callable
from typing import Any

import pytest

from geometry.core.errors import InputError
from sheets.job.read import Job, parse

Document = dict[str, Any]
Problems = Callable[[Document], dict[str, str]]


def put(document: Document, path: str, value: object) -> Document:
    """Set one key by its path, making tables on the way."""
    *tables, key = path.split(".")
    table = document
    for name in tables:
        table = table.setdefault(name, {})
    table[key] = value
    return document


def test_a_whole_job_is_read_in_mm_and_degrees(rear: Document) -> None:
    job = parse(rear)
    assert job.mount.rotor == 160.0
    assert job.mount.tilt == 0.0
    assert job.axle.dummy == 19.05
    assert job.tubes.seatstay is not None
    assert job.tubes.seatstay.included == 62.0
    assert job.paper.size == "A4"
    assert job.paper.view == "outboard"
    assert job.paper.margin == 10.0


def test_the_smallest_front_job(front: Document) -> None:
    del front["tubes"]
    job = parse(front)
    assert job.mount.host == "fork-leg"
    assert job.dropout.thickness is None


def test_a_job_cannot_be_changed(rear: Document) -> None:
    with pytest.raises(ValueError, match="frozen"):
        parse(rear).mount.rotor = 180.0  # type: ignore[misc]


def test_every_key_is_described() -> None:
    """A JSON schema is made of the descriptions."""
    schema = Job.model_json_schema()
    for model in [schema, *schema["$defs"].values()]:
        for name, entry in model["properties"].items():
            assert entry.get("description"), name


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("frame.nmae", "x", "did you mean name?"),
        ("frame.zzz", "x", "allowed: id, name, maker, customer, note"),
        ("frames", {}, "did you mean frame?"),
        ("fork", {}, "allowed: frame, mount, axle"),
        ("tubes.chain-stay", {}, "did you mean chainstay?"),
        ("tubes.chainstay.included", 60, "no such key"),
        ("mount.end", "reer", "did you mean rear?; allowed: rear, front"),
        ("mount.interface", "postt", "did you mean post?"),
        ("mount.host", "chainstays", "did you mean chainstay?"),
        ("mount.host", "fork-leg", "allowed at the rear: chainstay or seatstay"),
        ("axle.system", "142x21", "did you mean 142x12?"),
        ("axle.system", "12 x 142", "did you mean 142x12?"),
        ("axle.system", "12×100", "did you mean 100x12?"),
        ("paper.size", "A5", "did you mean A4?"),
        ("paper.size", "lettre", "did you mean Letter?"),
        ("paper.view", "outside", "allowed: outboard, inboard"),
        ("process.method", "tug", "did you mean tig?; allowed: tig, fillet-braze, silver-braze"),
        ("bench.plate_face", "top", "allowed: inside, outside"),
    ],
)
def test_a_wrong_name_gets_the_nearest_or_the_allowed(
    rear: Document, problems: Problems, path: str, value: object, said: str
) -> None:
    assert said in problems(put(rear, path, value))[path]


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ("mount.rotor", "large", "is not a number with a unit"),
        ("mount.rotor", -160, "-160 given; allowed 100 to 260 mm"),
        ("mount.rotor", True, "true given"),
        ("mount.rotor", float("nan"), "finite"),
        ("mount.rotor", float("inf"), "finite"),
        ("mount.rotor", "62 deg", "is an angle"),
        ("mount.rotor", "7 furlongs", "the unit furlongs is not known"),
        ("mount.rotor", "16 in", "(406.4 mm) given; allowed 100 to 260 mm"),
        ("mount.rotor", [160], "a list given"),
        ("mount.native", 90, "allowed 100 to 260"),
        ("mount.tilt", 181, "allowed -180 to 180 deg"),
        ("axle.pocket", -1, "allowed 0 to 15"),
        ("axle.dummy", 3, "allowed 4 to 60"),
        ("dropout.thickness", 0, "allowed 1 to 40"),
        ("dropout.travel", 61, "allowed 0 to 60"),
        ("tubes.seatstay.included", 19, "allowed 20 to 120"),
        ("tubes.chainstay.wall", 8, "allowed 0.3 to 6"),
        ("tubes.chainstay.splay", 31, "allowed -30 to 30"),
        ("tubes.chainstay.outset", 101, "allowed -100 to 100"),
        ("tubes.chainstay.straight_to", 25, "above the tube's first station, s = 25"),
        ("tubes.chainstay.diameters", [], "at least one"),
        ("tubes.chainstay.diameters", 22, "22 given; a list is wanted"),
        ("tubes.chainstay.diameters", [[30, 16], [30, 18]], "comes after"),
        ("boss.diameter", 41, "allowed 6 to 40"),
        ("boss.length", 1, "allowed 2 to 80"),
        ("boss.thickness", 1, "allowed 2 to 20"),
        ("process.facing", 4, "allowed 0 to 3"),
        ("bench.plate", 31, "allowed 1 to 30"),
        ("paper.margin", 4, "allowed 5 to 40"),
        ("frame.name", 7, "a text in quotes is wanted"),
        ("frame.name", "", "empty"),
        ("frame.name", "a\nb", "U+000A"),
        ("frame.name", "x" * 121, "at most 120"),
        ("frame.note", "x" * 401, "at most 400"),
        ("frame.customer", "a\x1b[2J", "U+001B"),
        ("frame.maker", "Верфь", "В (U+0412)"),
        ("frame", 5, "5 given; a table is wanted, beginning with [frame]"),
        ("tubes.chainstay", [], "a table is wanted"),
    ],
)
def test_a_wrong_value_is_quoted_with_what_is_allowed(
    rear: Document, problems: Problems, path: str, value: object, said: str
) -> None:
    found = problems(put(rear, path, value))
    assert list(found) == [path]
    assert said in found[path]


@pytest.mark.parametrize("row", [5, [1], [1, 2, 3, 4], [20, 2], [20, "x"], [float("nan"), 16], [-200, 16]])
def test_a_wrong_station_is_named_by_its_place(rear: Document, problems: Problems, row: object) -> None:
    rear["tubes"]["chainstay"]["diameters"] = [[10, 16], row]
    assert list(problems(rear)) == ["tubes.chainstay.diameters[1]"]


def test_a_wall_thicker_than_the_bore(rear: Document, problems: Problems) -> None:
    rear["tubes"]["chainstay"] = {"diameters": [[25, 10, 8]], "wall": 4}
    assert "less than half the smallest diameter, 8" in problems(rear)["tubes.chainstay.wall"]


@pytest.mark.parametrize("table", ["frame", "mount", "axle"])
def test_a_missing_table(rear: Document, problems: Problems, table: str) -> None:
    del rear[table]
    assert problems(rear)[table].startswith(f"missing; give [{table}]")


@pytest.mark.parametrize("path", ["frame.id", "mount.end", "mount.interface", "mount.rotor", "axle.system"])
def test_a_missing_key_says_what_it_is(rear: Document, problems: Problems, path: str) -> None:
    table, key = path.split(".")
    del rear[table][key]
    found = problems(rear)
    assert list(found) == [path]
    assert found[path].startswith("missing; ")
    assert len(found[path]) > 20


def test_a_rear_mount_needs_its_host(rear: Document, problems: Problems) -> None:
    del rear["mount"]["host"]
    assert "say chainstay or seatstay" in problems(rear)["mount.host"]


@pytest.mark.parametrize("stay", ["chainstay", "seatstay"])
def test_a_brace_meets_stays_where_they_are_known_to_run(
    rear: Document, problems: Problems, stay: str
) -> None:
    """Below its first station a stay is part of the joint, and past where it is straight it is elsewhere."""
    rear["tubes"][stay] |= {"diameters": [[28, 14], [300, 16]], "straight_to": 200}
    brace = {"diameter": 12, "on_chainstay": 150, "on_seatstay": 150}
    for s, why in (
        (11, "at or below its first station, 28"),
        (28, "below"),
        (201, "beyond 200"),
        (28.1, ""),
        (200, ""),
    ):
        rear["tubes"]["brace"] = brace | {f"on_{stay}": s}
        if why:
            assert f"meets the {stay} at s = {s}" in (said := problems(rear)["tubes.brace"]) and why in said
        else:
            parse(rear)


def test_a_seatstay_needs_its_angle(rear: Document, problems: Problems) -> None:
    del rear["tubes"]["seatstay"]["included"]
    assert "angle between seatstay and chainstay" in problems(rear)["tubes.seatstay.included"]


def test_tubes_of_the_other_end(rear: Document, front: Document, problems: Problems) -> None:
    rear["tubes"]["fork-leg"] = front["tubes"]["fork-leg"]
    front["tubes"] |= {name: rear["tubes"][name] for name in ("chainstay", "seatstay")}
    assert "end = 'rear'; allowed there: chainstay and seatstay" in problems(rear)["tubes.fork-leg"]
    assert "chainstay and seatstay given" in problems(front)["tubes.chainstay"]


def test_all_problems_are_told_at_once(rear: Document, problems: Problems) -> None:
    put(rear, "frame.id", "a/b")
    put(rear, "frame.nmae", "x")
    put(rear, "mount.rotor", -1)
    put(rear, "axle.system", "none")
    put(rear, "tubes.chainstay.splay", "steep")
    put(rear, "tubes.fork-leg", {"diameters": [[0, 2]]})
    put(rear, "paper.margin", True)
    put(rear, "extra", 1)
    assert set(problems(rear)) == {
        "frame.id",
        "frame.nmae",
        "mount.rotor",
        "axle.system",
        "tubes.chainstay.splay",
        "tubes.fork-leg.diameters[0]",
        "paper.margin",
        "extra",
    }


def test_a_flood_of_problems_is_cut_short(rear: Document, problems: Problems) -> None:
    rear |= {f"key{number}": 1 for number in range(1000)}
    found = problems(rear)
    assert len(found) == 41
    assert found[""] == "and 960 more problems"


@pytest.mark.parametrize(
    "name",
    ["a/b", "a\\b", "..", ".a", "a.", "", "a b", "é", "a\n", "-a", "x" * 65, "con", "NUL.1", "Com1", "lpt9"],
)
def test_an_id_that_is_no_file_name(rear: Document, problems: Problems, name: str) -> None:
    assert list(problems(put(rear, "frame.id", name))) == ["frame.id"]


@pytest.mark.parametrize("name", ["a", "A-1", "knot_2.1", "x" * 64, "7", "_a", "console", "com10"])
def test_an_id_that_is_a_file_name(rear: Document, name: str) -> None:
    assert parse(put(rear, "frame.id", name)).frame.id == name


def test_pins_may_be_one_or_several(rear: Document) -> None:
    assert parse(put(rear, "bench.pins", "1/4 in")).bench.pins == (6.35,)
    assert parse(put(rear, "bench.pins", [5, 6])).bench.pins == (5.0, 6.0)
    assert parse(put(rear, "bench.spacers", [1, 1, "2 mm"])).bench.spacers == (1.0, 1.0, 2.0)


def test_a_misspelt_key_is_not_missing_as_well(rear: Document, problems: Problems) -> None:
    rear["mount"]["roter"] = rear["mount"].pop("rotor")
    assert list(problems(rear)) == ["mount.roter"]


def test_usual_spellings_of_axles_and_papers_are_taken() -> None:
    base = {
        "frame": {"id": "a"},
        "mount": {"end": "rear", "interface": "is-rear", "rotor": 140, "host": "chainstay"},
    }
    for spelt, size in (("142 x 12", "letter"), ("142×12", "LETTER"), ("142X12", "Letter")):
        job = parse({**base, "axle": {"system": spelt}, "paper": {"size": size}})
        assert (job.axle.system, job.paper.size) == ("142x12", "Letter")
    with pytest.raises(InputError, match="142 x 13"):
        parse({**base, "axle": {"system": "142 x 13"}})

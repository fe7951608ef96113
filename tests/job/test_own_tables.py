"""The builder's own rows: known by name, chosen by end and size, refused where in the way, damage told."""

import copy
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import InputError
from geometry.core.findings import texts
from geometry.tables.interfaces import resolve
from sheets.home import own_rows as own_tables
from sheets.home import own_rows_file as own_table_file
from sheets.home.jobs import load, parse
from sheets.home.own_rows import read
from sheets.job import read as job_files
from sheets.job.read import place_job
from sheets.words.tell import line, told
from tests.job.conftest import refused

Document = dict[str, Any]
Table = Callable[[str], Path]

SHOP = """\
[[row]]
name = "shop-flat"
end = "rear"
family = "flat"
native = 140
h = 30.92
x_near = 25.11
x_far = 59.13
lateral = -3.04
hole = 5.5
uncertainty = { h = 0.05, lateral = 0.03 }
source = "measured on a mount that works, 2026-01-31, by the bench"
grade = "measured"
"""
POST = """\
[[row]]
name = "post"
end = "rear"
family = "post"
native = 160
h = 55.4
x_near = 7.1
x_far = 81.2
lateral = -4.4
source = "measured on Avocet, 2026-02-02, by the bench"
grade = "measured"
replaces = true
"""
TOML = """\
[frame]
id = "knot-1"
[mount]
end = "rear"
interface = "shop-flat"
rotor = 140
host = "chainstay"
[axle]
system = "142x12\"
"""


@pytest.fixture
def table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Table:
    """Return a function that writes the builder's table into a home of its own."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))

    def write(text: str) -> Path:
        file = own_tables.file()
        file.parent.mkdir(exist_ok=True)
        file.write_text(text, encoding="utf-8")
        return file

    return write


def _job(rear: Document, name: str, rotor: float = 140, **mount: object) -> Document:
    document = copy.deepcopy(rear)
    document["mount"] |= {"interface": name, "rotor": rotor, **mount}
    return document


def test_an_own_row_is_known_by_its_name(rear: Document, table: Table) -> None:
    table(SHOP)
    placement = place_job(parse(_job(rear, "shop-flat")))
    # Above a chainstay n is up and t forward, which is -x: own arithmetic.
    assert placement.holes[0].centre == pytest.approx((-25.11, 30.92, -3.04))
    assert placement.holes[1].centre == pytest.approx((-59.13, 30.92, -3.04))
    assert (placement.grade, placement.interface.provisional) == ("own", False)
    assert placement.interface.sources == ("measured on a mount that works, 2026-01-31, by the bench",)
    # The table's row says nothing of how many mounts: what is unknown is one.
    banner = (
        "MEASURED ON ONE MOUNT: height 30.92 ±0.05, along to near 25.11 ± unknown, along to far 59.13 "
        "± unknown, sideways -3.04 ±0.03; measure a second mount before you trust it."
    )
    assert tuple(map(told, placement.stamps)) == (banner,)
    assert placement.findings[0].text == placement.stamps[0]


def test_a_row_of_two_mounts_has_no_banner_and_says_so_small(rear: Document, table: Table) -> None:
    both = 'mounts = 2\nsecond_source = "measured on another, 2026-02-01, by the bench"\n'
    table(SHOP + both)
    placement = place_job(parse(_job(rear, "shop-flat")))
    assert placement.stamps == ()
    # Of how many makers they are nobody says, and so the bands rest on how makers are taken to spread.
    said = "The row shop-flat is measured on 2 mounts, at about 95 % as far as mounts of fewer than three "
    assert f"{said}makers tell: h ±0.05, lateral ±0.03." in texts(placement.findings)
    table(SHOP + both.replace("2", "3", 1) + "makers = 3\n")
    said = "The row shop-flat is measured on 3 mounts, at about 95 %: h ±0.05, lateral ±0.03."
    assert said in texts(place_job(parse(_job(rear, "shop-flat"))).findings)
    table(SHOP + both + "makers = 3\n")
    [problem] = read().problems
    assert "each mount has one maker" in told(problem.what)
    assert placement.interface.sources[1] == "measured on another, 2026-02-01, by the bench"


def test_a_row_that_was_not_measured_bears_no_banner(rear: Document, table: Table) -> None:
    table(SHOP.replace('"measured"', '"own"'))
    placement = place_job(parse(_job(rear, "shop-flat")))
    assert (placement.stamps, placement.interface.mounts) == ((), None)


def test_an_own_row_that_fits_another_size_is_stamped(rear: Document, table: Table) -> None:
    # The job's disc is 160 and its row names no size, so that it would be taken as made for 160.
    row = {"family": "flat", "h": 30.92, "x_near": 25.11, "x_far": 59.13, "lateral": -3.0, "source": "mine"}
    placement = place_job(parse({**_job(rear, "mine", 160), "interface": row}))
    [stamp] = placement.stamps
    assert told(stamp).startswith(
        "NATIVE SIZE IN DOUBT: used as made for 160, but the numbers lie 0.51 mm from flat-rear"
    )
    assert place_job(parse({**_job(rear, "mine", 160), "interface": {**row, "native": 140}})).stamps == ()
    old = {
        "family": "tab",
        "near": 39.9,
        "far": 79.1,
        "spacing": 51.0,
        "lateral": 0,
        "native": 140,
        "source": "a list",
    }
    [stamp] = place_job(parse({**_job(rear, "mine", 160), "interface": old})).stamps
    assert told(stamp).startswith("WRONG NUMBERS: 51 mm tab, rear (is-rear): the far hole's distance")


def test_without_the_table_its_name_is_unknown(rear: Document, table: Table) -> None:
    table(SHOP.replace("shop-flat", "bench-flat"))
    with refused(r"'shop-flat' is not in the table.*did you mean bench-flat\?"):
        parse(_job(rear, "shop-flat"))


def test_a_jobs_own_row_goes_before_the_tables(rear: Document, table: Table) -> None:
    table(SHOP)
    document = _job(rear, "shop-flat")
    document["interface"] = {"family": "flat", "native": 140, "h": 33, "x_near": 20, "x_far": 54,
                             "lateral": -3, "source": "the job's"}  # fmt: skip
    assert place_job(parse(document)).interface.h == 33.0


def test_a_row_counts_for_one_end_and_one_size(rear: Document, front: Document, table: Table) -> None:
    table(SHOP + SHOP.replace("140", "160").replace("30.92", "36.0"))
    assert place_job(parse(_job(rear, "shop-flat", 140))).interface.h == 30.92
    assert place_job(parse(_job(rear, "shop-flat", 160))).interface.h == 36.0
    larger = place_job(parse(_job(rear, "shop-flat", 160, native="140 mm")))
    assert (larger.interface.h, larger.adapter.step) == (30.92, 20.0)
    with refused(r"made for 180, only for 140, 160; set mount.native"):
        parse(_job(rear, "shop-flat", 180))
    front["mount"]["interface"] = "shop-flat"
    with refused("shop-flat belongs at the rear, the job says end = 'front'"):
        parse(front)


def test_a_row_of_one_size_takes_that_size_where_the_job_names_none(rear: Document, table: Table) -> None:
    table(SHOP)
    placement = place_job(parse(_job(rear, "shop-flat", 160)))
    assert (placement.interface.native, placement.adapter.step) == (140.0, 20.0)


def test_a_shipped_name_is_refused_unless_it_replaces(rear: Document, table: Table) -> None:
    table(POST.replace("replaces = true\n", ""))
    with pytest.raises(InputError) as caught:
        parse(_job(rear, "post", 160))
    [problem] = caught.value.problems
    assert line(problem) == (
        f"mount.interface: {own_tables.file()}: row 1 (post): replaces: a shipped row is called post too; "
        "say replaces = true, or give another name"
    )
    table(POST)
    assert place_job(parse(_job(rear, "post", 160))).interface.h == 55.4


def test_what_replaces_a_shipped_row_does_so_at_its_end_and_size_alone(
    rear: Document, front: Document, table: Table
) -> None:
    table(POST)
    shipped = resolve("post", "rear", 180, 180)
    assert place_job(parse(_job(rear, "post", 180))).interface == shipped
    assert place_job(parse(_job(rear, "post", 180, native=160))).interface.h == 55.4
    front["mount"]["interface"] = "post"
    assert not place_job(parse(front)).interface.own


@pytest.mark.parametrize(
    ("was", "now", "key", "said"),
    [
        ("h = 30.92", 'h = "tall"', "h", "'tall' is not a number"),
        ("h = 30.92\n", "", "", "x_near, x_far given; give near, far and spacing"),
        ("hole = 5.5", "hol = 5.5", "hol", "there is no such key, did you mean hole?"),
        ('end = "rear"', 'end = "back"', "end", "'back' given, did you mean rear?; allowed: rear, front"),
        ('end = "rear"\n', "", "end", "missing; the end of the bicycle, rear or front"),
        ("native = 140\n", "", "native", "missing; disc diameter"),
        ("lateral = -3.04\n", "", "lateral", "missing; it places the mount sideways"),
        ("{ h = 0.05,", "{ hight = 0.05,", "uncertainty.hight", "allowed: h, x_near"),
        ('"measured"', '"A"', "grade", "'A' given; allowed: measured, own"),
        ('grade = "measured"', "replaces = true", "replaces", "no shipped row is called 'shop-flat'"),
        ('grade = "measured"', "mounts = 1", "mounts", "the row is not measured"),
        ('grade = "measured"', 'grade = "measured"\nmounts = 0', "mounts", "0 given; at least 1 is wanted"),
        ("h = 30.92\nx_near = 25.11\nx_far = 59.13", "near = 39\nfar = 99\nspacing = 34", "", "no triangle"),
        ('source = "measured on a mount that works, 2026-01-31, by the bench"\n', "", "source", "missing"),
    ],
)
def test_a_damaged_row_is_told_in_one_line_and_hurts_no_other(
    rear: Document, table: Table, was: str, now: str, key: str, said: str
) -> None:
    assert was in SHOP
    file = table(SHOP.replace(was, now) + SHOP.replace("shop-flat", "bench-flat"))
    [problem] = read().problems
    where = f"{file}: row 1 (shop-flat)"
    assert told(problem.where) == (f"{where}: {key}" if key else where)
    assert said in told(problem.what)
    assert "\n" not in told(problem.what)
    with refused("shop-flat"):
        parse(_job(rear, "shop-flat"))
    assert place_job(parse(_job(rear, "bench-flat"))).interface.h == 30.92
    assert place_job(parse(_job(rear, "flat-rear"))).interface.provisional


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[[row]\n", "not TOML"),
        ("[row]\nname = 'a'\n", "row: a table given; up to 500 tables that begin with [[row]]"),
        ("[[rows]]\nname = 'a'\n", "rows: there is no such key, did you mean row?"),
    ],
)
def test_a_file_that_cannot_be_read_is_warned_of_where_it_is_not_needed(
    rear: Document, table: Table, text: str, said: str
) -> None:
    file = table(text)
    with pytest.raises(InputError) as caught:
        parse(_job(rear, "shop-flat"))
    assert said in line(caught.value.problems[0]) and str(file) in line(caught.value.problems[0])
    job = parse(_job(rear, "post", 160))
    [note] = texts(job.findings)
    assert note.startswith(str(file)) and said in note
    assert note.endswith("Your own rows are left out, and post is the shipped row.")
    # The sheets do not bear what is the matter with this machine.
    assert note not in texts(place_job(job).findings)


def test_rows_of_one_name_end_and_size_are_one_too_many(table: Table) -> None:
    table(SHOP + SHOP)
    [problem] = read().problems
    assert told(problem.where).endswith("row 2 (shop-flat)")
    assert told(problem.what).startswith("there is a row shop-flat for 140 at the rear already")


def test_a_bytes_order_mark_and_other_bytes(rear: Document, table: Table) -> None:
    file = table("")
    file.write_bytes(b"\xef\xbb\xbf" + SHOP.encode())
    assert place_job(parse(_job(rear, "shop-flat"))).interface.h == 30.92
    file.write_bytes(SHOP.encode() + b"\xff")
    with refused("line 14: not UTF-8"):
        parse(_job(rear, "shop-flat"))


def test_the_job_that_is_attached_brings_the_row_along(tmp_path: Path, table: Table) -> None:
    table(SHOP)
    job = tmp_path / "job.toml"
    job.write_text(TOML, encoding="utf-8")
    filed = load(job)
    assert filed.raw.startswith(TOML.encode())
    document = tomllib.loads(filed.raw.decode())
    assert document["interface"]["h"] == 30.92
    assert document["interface"]["uncertainty"] == {"h": 0.05, "lateral": 0.03}
    table("")
    assert place_job(parse(document)) == place_job(filed.job)


def test_a_filed_job_is_read_without_the_table_of_today(tmp_path: Path, table: Table) -> None:
    table(POST)
    job = tmp_path / "job.toml"
    text = TOML.replace("shop-flat", "post").replace("rotor = 140", "rotor = 160")
    job.write_text(text, encoding="utf-8")
    assert place_job(load(job).job).interface.own
    filed = job_files.load(job)
    assert filed.raw == text.encode()
    assert not place_job(filed.job).interface.own


def test_keeping_a_row_leaves_all_else_as_it_is(rear: Document, table: Table) -> None:
    before = f"# mine\n\n{SHOP}\n# the next one\n{POST}# the end\n"
    file = table(before)
    new = SHOP.replace("shop-flat", "bench-flat")
    assert own_table_file.keep(new) == file
    assert file.read_text(encoding="utf-8") == f"{before}\n{new}"
    changed = SHOP.replace("30.92", "31.0")
    with refused("a row shop-flat for 140 at the rear is kept in"):
        own_table_file.keep(changed)
    assert file.read_text(encoding="utf-8") == f"{before}\n{new}"
    own_table_file.keep(changed, replace=True)
    kept = file.read_text(encoding="utf-8")
    assert kept.startswith(f"# mine\n\n{changed}\n# the next one\n[[row]]\n")
    assert "# the end\n" in kept
    assert place_job(parse(_job(rear, "shop-flat"))).interface.h == 31.0
    assert [row.key for row in read().rows] == [
        ("shop-flat", "rear", 140.0), ("post", "rear", 160.0), ("bench-flat", "rear", 140.0)
    ]  # fmt: skip


def test_the_first_row_makes_the_file(table: Table) -> None:
    assert not own_tables.file().exists()
    own_table_file.keep(SHOP)
    assert [row.name for row in read().rows] == ["shop-flat"]
    assert [file.name for file in own_tables.file().parent.iterdir()] == ["interfaces.toml"]


@pytest.mark.parametrize(
    ("there", "block", "said"),
    [
        ("", SHOP.replace("h = 30.92", "h = -1"), r"h: -1 given; allowed 1 to 200 mm"),
        ("", SHOP + POST, "2 rows given"),
        ("[[row]\n", SHOP, "not TOML"),
        (POST.replace("replaces = true\n", ""), SHOP, "say replaces = true"),
        ("", POST.replace("replaces = true\n", ""), "say replaces = true"),
        (
            f"row = [{{ {', '.join(SHOP.splitlines()[1:])} }}]\n",
            SHOP.replace("30.92", "31"),
            "by hand|not TOML",
        ),
    ],
)
def test_what_is_not_kept_changes_nothing(table: Table, there: str, block: str, said: str) -> None:
    file = table(there)
    with refused(said):
        own_table_file.keep(block, replace=True)
    assert file.read_text(encoding="utf-8") == there

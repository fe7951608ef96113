"""The last page: every number of the packet once, by a name in plain words, with grade and source."""

import functools
import itertools
import json
import re
import tomllib
from pathlib import Path

import pytest

from geometry.core.say import Say
from geometry.tables.cautions import cautions
from sheets.actions.attached import attachments
from sheets.actions.pages import KINDS, ready, sheets_of
from sheets.files.record import MANIFEST
from sheets.ink.records import Sheet
from sheets.job.keys import Job as Keys
from sheets.job.read import Job, load, parse, place_job, tubes_of
from sheets.pages.running.cautions import caution_pages
from sheets.pages.running.numbers import detail_pages, number_pages
from sheets.setup.cited import OWN_TABLES, Cited, citation, cited, entries_of, reference
from sheets.setup.listed import GROUPS, name_of
from sheets.setup.setup import set_up
from sheets.setup.tables_used import rows_used, sources
from sheets.words.tell import ENGLISH, sentence, sentences, told
from tests.pages.jobs import SAMPLES, sample

ROOT = Path(__file__).parents[2]
CAP_HEIGHT = 1462 / 2048  # Open Sans: OS/2 sCapHeight over unitsPerEm, as its file says
MOST_CITED = 84
"""Letters of a source as paper cites it: a line or so of a column."""
NOT_LISTED = {
    *(("survey", "work"), ("survey", "pull")),  # what a survey's remedies take
    ("survey", "pool"),  # how learn puts mounts together
    *(("spacer_set", "catalogue"), ("printer", "margin")),  # the shop's list, and how a viewer shrinks
    *(("cautions", key) for key in ("tig", "melt", "cadmium", "filler", "order", "short")),  # by the cautions
    *(("loads", "test"), ("loads", "racing")),  # by the cautions too, which take them from there
}
"""Numbers that no sheet of a packet rests on, or that are listed as a caution's."""


@functools.cache
def of(name: str) -> tuple[Cited, str]:
    """Return what a sample's packet cites, and all that its last pages say."""
    job = sample(name)
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    return cited(job, placement, setup), words(number_pages(job, placement, setup))


def words(sheets: tuple[Sheet, ...]) -> str:
    """Return the running text of sheets in the order it was set."""
    # What a page is for stands at the head of each, in the middle of what runs on from the page before.
    heads = {told(Say(f"packet.use.{kind}")) for kind in KINDS}
    return " ".join(text.text for sheet in sheets for text in sheet.texts if text.text not in heads)


def _rows() -> list[tuple[str, str, dict]]:
    found = []
    for file in sorted((ROOT / "geometry").rglob("*.toml")):
        for key, value in tomllib.loads(file.read_text(encoding="utf-8")).items():
            if key in ("sources", "editions", "checks", "disagreements", "open", "recall", "row_order"):
                continue
            rows = value if isinstance(value, list) else [value]
            found += [(file.stem, key, row) for row in rows if isinstance(row, dict)]
    return found


def test_every_number_that_can_be_listed_has_a_name_in_plain_words() -> None:
    seen = 0
    for table, key, row in _rows():
        for place, entry in entries_of(table, key, row):
            # What was wrong, and what rows are checked by, is no number of a packet.
            if table in ("recalls", "row_checks"):
                continue
            assert (table, key) in GROUPS or (table, key) in NOT_LISTED, (table, key, place)
            if (table, key) in NOT_LISTED:
                continue
            name = sentence(f"number.{table}.{key}.{name_of(key, place)}")
            assert len(name) > 5 and "_" not in name, name
            assert entry["source"] in sources(table, key)
            seen += 1
    assert seen > 250


def test_every_value_of_a_caution_has_a_name() -> None:
    methods, materials = (
        ("tig", "fillet-braze", "silver-braze", None),
        ("steel", "stainless", "titanium", None),
    )
    fillers = ("BAg-24", "BAg-36", "RBCuZn-A", "ER70S-2", None)
    for method, material, filler, amps in itertools.product(methods, materials, fillers, (20, 90, 600, None)):
        for caution in cautions(method, material, filler, amps):
            for key, _ in caution.values:
                if not key.endswith(("_inch", "_feet")):
                    assert sentence(f"number.cautions.{caution.id.replace('-', '_')}.{key}")


def test_every_number_that_a_job_may_type_has_a_name() -> None:
    names = sentences(ENGLISH, "number")
    for table in OWN_TABLES:
        annotation = str(Keys.model_fields[table].annotation)
        assert any(key.startswith(f"own.{table}.") for key in names), annotation
    full = {
        "frame": {"id": "ruff-1"},
        "mount": {"end": "rear", "interface": "post", "rotor": 160, "native": 160, "tilt": 1.0,
                  "host": "chainstay"},
        "axle": {"system": "142x12", "pocket": 3.4, "dummy": 19.0, "heads": [46, 3]},
        "dropout": {"thickness": 7, "travel": 1.0},
        "stance": {"leg": 70, "chainstay": 5},
        "tubes": {
            "chainstay": {"diameters": [[30, 16], [300, 20, 18]], "wall": 1, "outset": 5, "splay": 3,
                          "offset": 1, "straight_to": 250},
            "seatstay": {"diameters": [[30, 14]], "wall": 1, "outset": 5, "splay": 3, "included": 62},
            "brace": {"diameter": 12, "on_chainstay": 150, "on_seatstay": 140, "wall": 1},
        },
        "boss": {"diameter": 14, "length": 30, "near_length": 28, "share": 0.4},
        "process": {"method": "tig", "amps": 90, "facing": 0.3},
        "bench": {"spacers": [5, 5, 1], "pins": [5], "plate": 8, "plate_bore": 19.1},
        "caliper": {"length": 60, "height": 25, "inboard": 16, "outboard": 20, "depth": 13, "offset": 1,
                    "pad_height": 15, "track": 16},
        "clearance": {"rotor": 3, "runout": 0.2, "bolts": 2, "caliper": 2, "key": 1, "mount": 2, "spokes": 2},
        "load": {"mass": 90, "deceleration": 4, "share": 0.4, "wheel": 680, "friction": 0.14, "ratio": 1.2},
        "wrap": {"paper": 0.12, "clear": 38},
    }  # fmt: skip
    found, said = _said(parse(full))
    own = {told(each.name): told(each.value) for each in found.entries if each.group == "own"}
    assert len(own) == 58
    assert own["chainstay: distance up the tube, outside there"] == "30: 16; 300: 20 × 18 mm"
    assert (
        own["spacers in stock"] == "2 × 5, 1 mm" and own["share of the weight on the braked wheel"] == "40 %"
    )
    assert own["welding current"] == "90 A" and own["tilt of the mount"] == "1°"
    assert all(part in said for name in own for part in name.split(": "))
    # What he typed stands in the place of the table's, which is not listed beside it.
    names = [told(each.name) for each in found.entries if each.group != "own"]
    for gone in ("radial height of the pads", "asked: disc to tube", "wheel over the tyre"):
        assert gone not in names and gone in own


def _said(job: Job) -> tuple[Cited, str]:
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    return cited(job, placement, setup), words(number_pages(job, placement, setup))


@pytest.mark.parametrize("name", SAMPLES)
def test_each_number_and_each_source_stands_once_and_every_reference_leads_somewhere(name: str) -> None:
    found, said = of(name)
    names = [(told(each.name), each.value) for each in found.entries if each.group != "own"]
    assert len(names) == len(set(names))
    assert len(found.sources) == len(set(found.sources))
    for number, source in enumerate(found.sources, start=1):
        assert said.count(f"[{number}] ") >= 1 and source in said and len(source) <= MOST_CITED
    cited_at_all = {each for entry in found.entries for each in entry.sources}
    cited_at_all |= {each for _, several in found.cautions for each in several}
    assert cited_at_all == set(range(1, len(found.sources) + 1))
    for entry in found.entries:
        assert all(part in said for part in told(entry.name).split(": ")) and told(entry.value) in said
        assert entry.grade in ("A", "M", "B", "C", "D") or entry.group == "own"
        assert bool(entry.sources) is (entry.group != "own")


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_numbers_and_what_the_card_leaves_out_are_in_type_that_reads_at_the_bench(size: str) -> None:
    """Capitals of 2.5 mm as on every other page (they were 1.8 and 2.0), on two pages at most."""
    for name in SAMPLES:
        job = sample(name)
        job = job.model_copy(update={"paper": job.paper.model_copy(update={"size": size})})
        placement = place_job(job)
        setup = set_up(job, placement, tubes_of(job))
        for pages in (number_pages, detail_pages):
            sheets = pages(job, placement, setup)
            assert len(sheets) <= 2
            assert min(text.size for sheet in sheets for text in sheet.texts) * CAP_HEIGHT >= 2.499


def test_no_number_of_the_other_end_is_listed() -> None:
    # Both are welded posts whose jobs do not say how the bicycle stands.
    only = {"avocet": {"number.loads.stance.chainstay_least"}}
    only["whimbrel"] = {"number.loads.stance.leg_least", "number.strength.fatigue.ordinary"}
    for name, mine in only.items():
        one = ready(load(SAMPLES[name]))
        codes = {str(entry.name.code) for entry in cited(one.source.job, one.placement, one.setup).entries}
        assert codes & set.union(*only.values()) == mine


def test_paper_cites_in_short_and_the_manifest_has_every_source_in_full() -> None:
    one = ready(load(SAMPLES["curlew"]))
    found = cited(one.source.job, one.placement, one.setup)
    said = json.loads(dict(attachments(one.source, one.placement, (), (), one.setup))[MANIFEST])
    assert len(said["numbers"]) == len(found.entries) > 150
    for number, entry in zip(said["numbers"], found.entries, strict=True):
        assert number["name"] == told(entry.name) and number["grade"] == entry.grade
        for text in number["sources"]:
            assert found.sources[found.sources.index(citation(text))]
    whole = {text for number in said["numbers"] for text in number["sources"]}
    assert any("zeroed with its jaws shut" in text for text in whole)
    assert not any("zeroed with its jaws shut" in cite for cite in found.sources)
    assert sum(map(len, found.sources)) < 0.5 * sum(map(len, whole))
    assert [each["id"] for each in said["cautions"]] == [each.id for each in one.setup.cautions]
    assert all(each["sources"] for each in said["cautions"])


@pytest.mark.parametrize("name", SAMPLES)
def test_what_had_no_source_on_paper_has_one_now(name: str) -> None:
    """Disc, brake track, heads, washers, torque and the load model; values as the tables' sources give them.

    1.8: velonews.com, 2011-10, and road.cc, who quote 1.60 to 2.0; 16: o-l-a-v.github.io, 2023-08-20, which
    has 14.4 for narrow ones. M6 head 10, M5 8.5 (ISO 4762); torque 6 to 8 N m (a maker's service sheets);
    gravity 9.80665 (ISO 80000-3).
    """
    found, _ = of(name)
    told_of = {told(each.name): each for each in found.entries}
    screw = place_job(sample(name)).interface.hole.screw
    head, washer = {"M5": ("8.5 mm", "10 mm"), "M6": ("10 mm", "12 mm")}[screw]
    wanted = {
        "thickness of the disc": ("1.8 (1.6 to 2 mm)", "B"),
        "width of the brake track on the disc": ("16 (14.4 to 16 mm)", "C"),
        f"{screw}: diameter of the head": (head, "B"),
        f"{screw}: outside of the washer": (washer, "C"),
        "torque of caliper and adapter screws: from": ("6 N m", "B"),
        "torque of caliper and adapter screws: up to": ("8 N m", "B"),
        "acceleration of free fall": ("9.80665 m/s²", "D"),
        "limit: place sideways": ("0.5 mm", "D"),
    }
    for what, (value, grade) in wanted.items():
        entry = told_of[what]
        assert (told(entry.value), entry.grade) == (value, grade), what
        assert entry.sources
    assert any("places the disc" in what for what in told_of)


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_of_the_other_end_or_screw_is_listed(name: str) -> None:
    found, _ = of(name)
    end = place_job(sample(name)).end
    names = " ".join(told(each.name) for each in found.entries)
    assert ("published fork test" in names) is (end == "front")
    assert ("front wheel" in names) is (end == "front")
    assert ("fixture:" in names) is False
    assert len({each.split(":")[0] for each in re.findall(r"\bM[56]:", names)}) == 1


def test_a_fixtures_numbers_are_listed_where_it_is_made() -> None:
    raw = tomllib.loads(SAMPLES["avocet"].read_text(encoding="utf-8"))
    raw["bench"]["fixture"] = True
    found, _ = _said(parse(raw))
    groups = [each.group for each in found.entries]
    assert groups.count("fixture") > 25
    assert [group for group, _ in itertools.groupby(groups)] == [
        *("mount", "axle", "disc", "screws", "readings", "clearances", "braking"),
        *("fixture", "paper", "cautions", "own"),
    ]


def test_an_own_row_is_listed_with_its_own_source() -> None:
    job = parse(
        {
            "frame": {"id": "ruff-1"},
            "mount": {"end": "rear", "interface": "post", "rotor": 160, "host": "chainstay"},
            "axle": {"system": "142x12"},
            "interface": {"source": "Saltmarsh Cycle Works, drawing 7", "native": 160, "h": 56.0,
                          "x_near": 7.0, "x_far": 81.2},
        }
    )  # fmt: skip
    found, said = _said(job)
    (height,) = [
        e for e in found.entries if told(e.name) == "height of hole line or mount face over the axle"
    ]
    assert height.value == "56 mm" and height.grade == "own"
    assert found.sources[height.sources[0] - 1] == "Saltmarsh Cycle Works, drawing 7"
    # Sideways the row is silent, and the table's number is used and cited.
    (lateral,) = [e for e in found.entries if "sideways" in told(e.name) and e.group == "mount"]
    assert lateral.grade == "D" and lateral.value == "-4.25 mm"
    assert "direction in which the mount moves" not in said


def test_references_are_short() -> None:
    assert reference(()) == ""
    assert reference((3,)) == "[3]" and reference((4, 1)) == "[1, 4]" and reference((1, 2)) == "[1, 2]"
    assert reference((7, 1, 2, 3)) == "[1–3, 7]" and reference((2, 2)) == "[2]"


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_cautions_are_one_page_in_type_that_reads_at_the_bench(name: str, size: str) -> None:
    job = sample(name)
    job = job.model_copy(update={"paper": job.paper.model_copy(update={"size": size})})
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    (sheet,) = caution_pages(job, placement, setup)
    said, found = words((sheet,)), cited(job, placement, setup)
    sizes = [
        text.size for text in sheet.texts if any(each.text.startswith(text.text) for each in setup.cautions)
    ]
    assert min(sizes) * CAP_HEIGHT >= 2.74
    for caution in setup.cautions:
        assert f"{caution.text} {found.caution(caution.id)}" in said
        assert re.fullmatch(r"\[[\d, –]+\]", found.caution(caution.id))


@pytest.mark.parametrize("name", ["dunlin", "avocet"])
def test_running_pages_say_what_they_are_for_and_keep_a_place_for_their_number(name: str) -> None:
    one = ready(load(SAMPLES[name]))
    for kind in KINDS:
        for sheet in sheets_of(one, kind).sheets:
            if kind in ("card", "cautions", "details", "numbers"):
                assert sheet.number_at is not None
                x, y = sheet.number_at
                assert sheet.paper.width - sheet.margin - 4.0 < x < sheet.paper.width - sheet.margin
                assert y > sheet.paper.height - sheet.margin - 12.0
                assert any(text.text.endswith(told(Say(f"packet.use.{kind}"))) for text in sheet.texts)


def test_a_packet_rests_on_no_number_that_rows_are_only_checked_or_pooled_by() -> None:
    job = sample("dunlin")
    names = {name for _, _, name, _ in rows_used(job, place_job(job), ())}
    assert not [name for name in names if name.startswith("row_checks") or name == "survey.toml, pool"]
    assert "survey.toml, limit" in names

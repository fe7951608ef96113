"""The stack on every sheet that shows it: card, section, wraps and fixture say one thing."""

from typing import Any

import numpy as np
import pytest

from geometry.mount.bosses import made_length
from sheets.actions.check import _stack as stack_rows
from sheets.actions.manifest import setup_json
from sheets.ink.records import Curve, Sheet
from sheets.job.read import Job, parse, place_job, read, tubes_of
from sheets.pages.running.card import card
from sheets.pages.running.numbers import detail_pages
from sheets.pages.running.traveller_steps import targets
from sheets.pages.wraps.parts import parts
from sheets.setup.setup import SetUp, set_up
from sheets.words.fixture import straying
from sheets.words.tell import told
from tests.pages.jobs import SAMPLES

TAB: dict[str, Any] = {
    "frame": {"id": "ruff-1"},
    "mount": {"end": "rear", "interface": "is-rear", "rotor": 160, "host": "seatstay"},
    "axle": {"system": "135-qr"},
    "dropout": {"thickness": 7},
    "tubes": {"seatstay": {"diameters": [[28, 14], [380, 16]], "included": 62, "outset": 4.5, "splay": 2.5}},
    "boss": {"thickness": 6},
    "bench": {"plate": 8, "plate_face": "inside", "spacers": [10, 5, 3, 2, 1, 1, 0.5]},
    "process": {"facing": 0.5},
}


def job_of(base: dict[str, Any], **tables: dict[str, Any]) -> Job:
    """Return a job with some keys of its tables changed."""
    return parse({key: {**base.get(key, {}), **tables.get(key, {})} for key in {**base, **tables}})


def made(job: Job) -> tuple[SetUp, tuple[Sheet, ...], str]:
    """Return a job's set-up, its card and the card's running text."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    sheets = card(job, placement, setup)
    return setup, sheets, " ".join(text.text for sheet in sheets for text in sheet.texts)


def numbers_of(job: Job) -> str:
    """Return the running text of a job's page of all that its card leaves out."""
    placement = place_job(job)
    sheets = detail_pages(job, placement, set_up(job, placement, tubes_of(job)))
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


def test_the_card_sets_a_tab_with_its_stock_on_as_its_readings_have_it() -> None:
    setup, sheets, said = made(job_of(TAB))
    assert "No spacers" not in said and setup.choice is None
    assert "0.50 (stock left for facing): the mount reaches 0.50 into the plate" in numbers_of(job_of(TAB))
    assert "relieve the plate 0.5 mm deep there" in said
    before = next(
        each for each in setup.readings if told(each.name) == "inner face to tab, before facing, at near"
    )
    assert setup.build_up is not None and before.nominal == setup.build_up.stack == -0.5
    # In the section the page's Y is z at full size: 0.5 of stock inboard, 6 finished outboard.
    (tab,) = [each for each in sheets[0].features if isinstance(each, Curve) and each.name == "tab"]
    axle_y = sheets[0].axle[1]
    levels = {round(y - axle_y, 6) for _, y in tab.points}
    assert levels == {-0.5, 6.0}


def test_left_alone_the_set_up_looks_for_the_face_that_asks_for_no_relief() -> None:
    free = {key: value for key, value in TAB["bench"].items() if key != "plate_face"}
    setup, _, _ = made(parse({**TAB, "bench": free}))
    assert setup.build_up is not None
    # Outside 7 to the datum, less the 6 of the finished tab: own arithmetic.
    assert (setup.build_up.plate_face, setup.build_up.stack) == ("outside", 1.0)


@pytest.mark.parametrize(("facing", "inner"), [(0.0, 0.0), (0.5, -0.5)])
def test_a_tabs_cope_is_cut_with_the_stock_on(facing: float, inner: float) -> None:
    job = job_of(TAB, process={"facing": facing})
    placement = place_job(job)
    found = {
        plate.edge.face: np.unique(np.round(np.asarray(plate.edge.space)[:, 2], 6))
        for plate in parts(job, placement, tubes_of(job)).plates
    }
    assert {face: list(z) for face, z in found.items()} == {"inner": [inner], "outer": [6.0]}


every_sample = pytest.mark.parametrize("name", SAMPLES)


def with_fixture(name: str, **bench: Any) -> Job:
    """Return a sample that asks for a fixture."""
    job = read(SAMPLES[name])
    return job.model_copy(update={"bench": job.bench.model_copy(update={"fixture": True, **bench})})


@every_sample
def test_where_a_fixture_is_made_the_cards_stack_is_the_fixtures(name: str) -> None:
    job = with_fixture(name)
    placement = place_job(job)
    setup, sheets, said = made(job)
    fix, built = setup.fixture, setup.build_up
    assert fix is not None and built is not None
    assert len(sheets) == 1
    behind = numbers_of(job)
    assert "Stack: the fixture's parts" in said
    assert (built.start_z, built.plate_face) == (pytest.approx(fix.surface_z), fix.face)
    # One number for the plate's collar, spacers and bolt line, wherever it is read.
    assert (f"collar {fix.collar:g}" in said) is bool(fix.collar)
    if fix.bar is None:
        assert fix.spacer is not None and built.stack == pytest.approx(fix.spacer)
    else:
        assert built.stack is None and setup.choice is None and "bolt line" in said
        assert built.length == pytest.approx(fix.line_in)
    sideways = fix.loose.chains[-1]
    assert (built.worst_case, built.rss) == (sideways.worst_case, sideways.rss)
    sums = f"sideways ±{sideways.worst_case:.2f} and ±{sideways.rss:.2f}"
    assert sums in " ".join(behind.split())
    assert f"worst case ±{sideways.worst_case:.2f}, root of squares ±{sideways.rss:.2f}" in " ".join(
        straying(fix)
    )
    # The traveller aims at the same length.
    aim = targets(job, placement, setup)["stack"].number
    assert aim == f"{fix.spacer if fix.line_in is None else fix.line_in:.2f}"
    assert "From plate to mount" not in said and "From plate to mount" not in behind


def test_the_collar_of_the_pattern_is_the_cards_and_no_loose_spacers_are() -> None:
    """A front post: 12 of dropout less 3.5 leaves 8.5, the bar's hole wants 9: own arithmetic."""
    setup, _, said = made(with_fixture("godwit"))
    assert setup.fixture is not None and setup.fixture.collar == 0.5
    assert "collar 0.5, plate 10, bolt line 9.00 from it" in said
    assert "2 + 0.5 + 0.25 = 2.75 mm" not in said
    _, _, alone = made(read(SAMPLES["godwit"]))
    assert "2 + 0.5 + 0.25 = 2.75 mm" in alone and "fixture's parts" not in alone


def test_spacers_of_a_fixture_are_wanted_on_both_pins() -> None:
    _, _, lone = made(with_fixture("curlew", spacers=(3.0, 1.0)))
    assert "Turn two spacers of 4 mm alike, one for each pin: the drawer has no two equal sets." in lone
    setup, _, said = made(with_fixture("curlew", spacers=(3.0, 1.0, 3.0, 1.0)))
    assert setup.choice is not None and setup.choice.best.pieces == (3.0, 1.0)
    assert "On each pin: 3 + 1 = 4 mm, nothing left over." in said


def test_a_fixture_without_the_tabs_thickness_says_what_it_took() -> None:
    """The row's usual 6 is a text's least (grade C), as in interfaces.toml."""
    bare = {key: value for key, value in TAB.items() if key not in ("boss", "process")}
    job = parse({**bare, "bench": {"fixture": True, "plate_face": "outside"}})
    setup, _, said = made(job)
    assert setup.fixture is not None and setup.fixture.spacer == pytest.approx(1.0)
    assert "The tab is taken as 6 thick, grade C: measure yours" in said


def test_the_document_has_the_fixtures_stack() -> None:
    job = with_fixture("curlew")
    setup = set_up(job, place_job(job), tubes_of(job))
    document = setup_json(setup)
    assert document["stack"]["to_fill"] == 4.0
    assert document["stack"]["worst_case"] == pytest.approx(0.05 / 7.9375 * 87.3 + 0.05, abs=1e-3)
    assert document["pieces"]["sentence"].startswith("Turn two spacers")


@pytest.mark.parametrize("name", ["avocet", "godwit", "turnstone", "whimbrel"])
def test_a_cope_names_the_length_that_the_card_asks_for(name: str) -> None:
    sample = read(SAMPLES[name])
    bare = sample.boss.model_copy(update={"length": None, "near_length": None})
    job = sample.model_copy(update={"boss": bare})
    placement, tubes = place_job(job), tubes_of(job)
    setup = set_up(job, placement, tubes)
    needed = made_length(setup.bosses)
    assert needed is not None
    (notes,) = {strip.notes for strip in parts(job, placement, tubes).strips if strip.title.startswith("far")}
    assert notes[0].startswith(f"Stock for the far post: {needed + job.process.facing:.2f} long or more")
    _, _, said = made(job)
    # Where the card has no room for it, the card in full has it.
    whole = " ".join(f"{said} {numbers_of(job)}".split())
    assert f"make it {needed:.2f} or longer" in whole


@pytest.mark.parametrize("name", ["avocet", "godwit", "turnstone", "whimbrel"])
def test_no_wrap_has_a_post_sawn_into_its_tube(name: str) -> None:
    """A post's end is coped and sits on the tube: a hole for it would cut the tube through."""
    job = read(SAMPLES[name])
    made = parts(job, place_job(job), tubes_of(job))
    notes = [note for strip in made.strips for note in strip.notes]
    assert any("the outline only shows where its coped end sits" in note for note in notes)
    assert not any("hole saw" in note and "through" in note for note in notes)


AT_THE_BENCH = {
    # The sums are own arithmetic from each sample's numbers: plate's face, to the side that the pieces touch.
    "avocet": (
        "The plate lies against the dropout's outer face. Spacers of 8.50 go between the plate and the "
        "posts' outboard side: 5 + 3 + 0.5 = 8.5 mm, nothing left over.",
        "against the dropout's outer face; clamp spacers and posts to it",
    ),
    "curlew": (
        "The plate lies against the dropout's inner face. Spacers of 4.00 go between the plate and the tab's "
        "inner face: 3 + 1 = 4 mm, nothing left over.",
        "against the dropout's inner face; clamp spacers and tab to it",
    ),
    "dunlin": (
        "The plate lies against the dropout's inner face. The tab's inner face lies on the plate. "
        "No spacers: 0 mm to make up.",
        "against the dropout's inner face; clamp the tab to it without strain.",
    ),
    "greenshank": (
        "Spacers of 6.55 go between the plate and the bosses' outboard side: 5 + 1 + 0.5 = 6.5 mm, 0.05 mm "
        "short: within ±0.05.",
        "against the dropout's outer face; clamp spacers and bosses to it",
    ),
    "whimbrel": (
        "The plate lies against the dropout's inner face. The mount reaches 2.25 mm past the plate's",
        "Relieve or shim the plate; fix it square on the dummy axle at the dropout's inner",
    ),
}


@pytest.mark.parametrize("name", AT_THE_BENCH)
def test_card_traveller_and_check_say_from_which_face_it_is_stacked(name: str) -> None:
    stack, work = AT_THE_BENCH[name]
    job = read(SAMPLES[name])
    setup, _, said = made(job)
    (step,) = [each for each in setup.operations if each.key == "stack"]
    assert stack in said and work in step.brief
    face = "outer" if "outer face" in work else "inner"
    assert f"dropout's {face} face" in step.text
    # Between them check tells what is only good to know, which the card leaves to the page behind it.
    rows = " ".join(value for _, value in _rows(setup))
    assert all(each in rows for each in stack.split(" The mount", 1))
    # Nothing but a fixture's parts is on the axle itself: tab, posts and bosses lie 30 to 90 mm from it.
    assert "Stack plate" not in step.text


def _rows(setup: SetUp) -> list[tuple[str, str]]:
    return [(told(name), told(value)) for name, value in stack_rows(setup)]


@pytest.mark.parametrize("name", AT_THE_BENCH)
@pytest.mark.parametrize("plate", [None, 9.0])
def test_the_card_says_what_the_plate_is(name: str, plate: float | None) -> None:
    job = read(SAMPLES[name])
    asked = "inside" if name in ("dunlin", "curlew") else "outside"
    bench = job.bench.model_copy(update={"plate": plate, "plate_face": asked})
    setup, _, said = made(job.model_copy(update={"bench": bench}))
    if setup.build_up is None:
        # Without a thickness no relief is known, and the stack says so.
        assert plate is None and "plate's thickness" in said and setup.plate_words == ""
        return
    thick = "Plate: flat, 9 mm thick (yours)" if plate else "Plate: flat, of a thickness that was not given"
    assert setup.plate_words.startswith(thick) and setup.plate_words in numbers_of(
        job.model_copy(update={"bench": bench})
    )
    # A tab's holes lie in the plate's plane, posts' and bosses' along it: pins go through a tab's alone.
    assert ("pins at the template's crosses" in setup.plate_words) == (placed_family(job) == "tab")


def placed_family(job: Job) -> str:
    """Return the family of a job's mount."""
    return place_job(job).interface.family


def test_a_fixture_is_stacked_on_the_axle_as_it_was() -> None:
    setup, _, _ = made(job_of(TAB, bench={"fixture": True}))
    (step,) = [each for each in setup.operations if each.key == "stack"]
    assert setup.fixture is not None and setup.plate_words == ""
    assert step.brief.startswith("Stack plate, tab and the spacers listed")

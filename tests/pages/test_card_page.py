"""The card is one page, whatever the job says; what leaves it for want of room stands behind it."""

import functools
import itertools
import re
import tomllib
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import FitError
from geometry.core.findings import LEVELS
from sheets.ink.bounds import sheet_bounds
from sheets.ink.drawing import Drawing
from sheets.ink.records import Point, Sheet
from sheets.job.read import Job, load, parse, place_job, tubes_of
from sheets.pages.flow import SMALL, Flow
from sheets.pages.running.card import _TIGHTEST, _Said, card
from sheets.pages.running.card_kept import Kept
from sheets.pages.running.card_readings import deciding_rows
from sheets.pages.running.numbers import detail_pages
from sheets.pages.running.shorten import MORE, one_line, two_lines
from sheets.pages.title import clearance_stamp
from sheets.setup.findings import all_findings
from sheets.setup.setup import SetUp, set_up
from sheets.setup.short_cautions import FIRST, MOST, short_cautions
from sheets.words.lengths import Units, telling
from sheets.words.tell import ENGLISH, sentences, tell, told
from tests.pages.jobs import SAMPLES, every_mount, on_paper, sample

PAPERS = ("A4", "Letter")
STINT = Path(__file__).parents[2] / "samples" / "dropouts" / "stint.toml"
CAP_HEIGHT = 1462 / 2048  # Open Sans: OS/2 sCapHeight over unitsPerEm, as its file says


def long(count: int) -> str:
    """Return an invented text of so many characters, in words."""
    return ("Saltmarsh wigeon " * 40)[: count - 1] + "x"


LONGEST = {
    "id": "Saltmarsh_2031-left-hand_no-0042_Saltmarsh_2031-left-hand_no-004",
    "name": long(120),
    "maker": long(120),
    "customer": long(120),
    "note": long(400),
}
"""The longest that sheets/job/limits.py lets a frame's texts be: 64, 120 and 400 characters."""


def _document(name: str, size: str, **tables: dict[str, Any]) -> dict[str, Any]:
    raw = tomllib.loads(SAMPLES[name].read_text(encoding="utf-8"))
    for key, table in ({"paper": {"size": size}} | tables).items():
        raw[key] = {**raw.get(key, {}), **table}
    return raw


@functools.cache
def _set_up(job: Job) -> SetUp:
    return set_up(job, place_job(job), tubes_of(job))


def _card(job: Job) -> Sheet:
    (sheet,) = card(job, place_job(job), _set_up(job))
    left, low, right, top = sheet_bounds(sheet.records)
    white = min(left, low, sheet.paper.width - right, sheet.paper.height - top)
    assert white >= sheet.margin - 0.01
    assert min(text.size for text in sheet.texts) * CAP_HEIGHT >= 2.499
    return sheet


def _behind(job: Job) -> str:
    sheets = detail_pages(job, place_job(job), _set_up(job))
    head = tell("packet.use.details")
    return " ".join(text.text for sheet in sheets for text in sheet.texts if not text.text.endswith(head))


@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("fixture", [False, True])
def test_one_page_with_the_longest_texts_which_stand_whole_behind_it(
    name: str, size: str, fixture: bool
) -> None:
    process, bench = {"filler": long(120), "material": "CrMo " + long(100)}, {"fixture": fixture}
    job = parse(_document(name, size, frame=LONGEST, process=process, bench=bench))
    sheet, said = _card(job), _behind(job)
    for text in (*LONGEST.values(), *process.values()):
        assert text in said or text == LONGEST["id"]
    for row in deciding_rows(_set_up(job))[:4]:
        assert set(row.cells) <= {text.text for text in sheet.texts}


@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("name", every_mount())
def test_one_page_for_every_mount_at_both_ends(name: str, size: str) -> None:
    """None of these says how it is joined, so that every process is cautioned of."""
    job = parse(every_mount()[name] | {"paper": {"size": size}})
    card_ = _card(job)
    said = " ".join(text.text for text in card_.texts)
    found = all_findings(job, place_job(job), _set_up(job), ())
    left = 0
    for level in LEVELS:
        shown = sum(text.text == tell(f"card.level.{level}") for text in card_.texts)
        left += sum(each.level == level for each in found) - shown
        assert shown == sum(each.level == level for each in found) or level != "stop"
    counted = "one more finding" if left == 1 else f"{left} more findings"
    assert left == 0 or counted in said.replace("One more", "one more")
    if size == "Letter":
        behind = _behind(job)
        # What the published fork test does is told whole on the page of strength alone.
        tests = [each for each in found if each.code.startswith("fork-test")]
        assert all(told(each.text) in behind for each in found if each not in tests)
        assert all(told(each.brief) in behind for each in tests)


@pytest.mark.parametrize("size", PAPERS)
def test_an_order_of_work_of_sixty_lines_is_cut_and_says_so(size: str) -> None:
    known = [step.key for step in _set_up(sample("greenshank")).operations]
    own = [{"key": f"own-{i}", "text": f"{i}: {long(100)}"} for i in range(60 - len(known))]
    job = parse(_document("greenshank", size, frame=LONGEST, traveller={"operations": [*own, *known]}))
    setup = _set_up(job)
    said = " ".join(text.text for text in _card(job).texts)
    assert len(setup.work) > 12
    assert any(tell("card.more_work", more=len(setup.work) - kept) in said for kept in (12, 6))
    behind = _behind(job)
    assert all(text in behind for text, _ in setup.work)


@given(st.data())
def test_parts_set_one_by_one_have_room_where_a_page_filled_with_them_has(data: st.DataObject) -> None:
    """Whatever a card keeps: no page is filled to find out, so that this must be the same."""
    job = on_paper(
        sample(data.draw(st.sampled_from(sorted(SAMPLES)))), size=data.draw(st.sampled_from(PAPERS))
    )
    kept = Kept(
        notes=data.draw(st.integers(0, 8)),
        typed=data.draw(st.booleans()),
        how=data.draw(st.booleans()),
        largest=data.draw(st.booleans()),
        plate=data.draw(st.booleans()),
        lines=data.draw(st.integers(1, 2)),
        others=data.draw(st.integers(0, 6)),
        rows=data.draw(st.integers(4, 6)),
        limiting=data.draw(st.booleans()),
        cautions=data.draw(st.sampled_from([1, 4, MOST])),
        work_lines=data.draw(st.integers(0, 60)),
        work=data.draw(st.sampled_from([6, 12, 99])),
        stop_lines=data.draw(st.integers(1, 2)),
        stamp=data.draw(st.sampled_from([3.5, 5.0])),
    )
    said = _Said(job, place_job(job), _set_up(job), None)
    assert said.fits()(kept) == (said.filled(kept, _TIGHTEST) is not None)


def test_paper_that_is_too_small_even_for_the_least_is_refused() -> None:
    with pytest.raises(FitError):
        _card(parse(_document("greenshank", "A4", paper={"margin": 40})))


def _flow(wide: float) -> Flow:
    return Flow(Drawing(), 0.0, wide, 100.0, 0.0, None, lambda: (Drawing(), 100.0), 1.17)


def test_a_long_text_is_cut_at_a_sentence_a_clause_or_a_word_and_says_so() -> None:
    """Laws of what is left: it begins as the whole does, fits its lines, and ends in an ellipsis if cut."""
    text = (
        "The disc meets the stay at its foot. Move the stay out by 2 mm, or take a smaller disc. Then check."
    )
    for wide in (12.0, 30.0, 45.0, 60.0, 80.0, 120.0, 400.0):
        flow = _flow(wide)
        for count in (1, 2):
            said = two_lines(flow, text, 2.0, count)
            assert len(flow.lines(said, wide - 2.0)) <= count
            if said != text:
                assert said.endswith(f" {MORE}")
                assert text.startswith(said.removesuffix(f" {MORE}"))
    assert two_lines(_flow(60.0), text, 0.0) == f"The disc meets the stay at its foot. {MORE}"
    assert one_line(_flow(400.0), text, 0.0) == text
    assert one_line(_flow(20.0), "Wwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwwww", 0.0).endswith(MORE)


@pytest.mark.parametrize("name", SAMPLES)
def test_short_cautions_are_eight_at_most_in_one_line_with_the_tables_numbers(name: str) -> None:
    setup = _set_up(sample(name))
    short = short_cautions(setup.cautions)
    assert 4 <= len(short) <= MOST == 8
    assert told(short[-1]) == tell("caution.short.governs")
    kept = [short_cautions(setup.cautions, most) for most in range(1, MOST + 1)]
    assert all(set(few) < set(more) for few, more in itertools.pairwise(kept))
    graded = {str(value): value.number.grade for each in setup.cautions for _, value in each.values}
    for each in short:
        assert all(graded[shown] in "ABC" for _, shown in each.values if shown in graded)
        assert len(_flow(75.0).lines(told(each), 74.0, SMALL)) <= 2


def test_no_short_caution_has_a_number_of_its_own() -> None:
    """Each number comes from the table, with its unit, source and grade."""
    written = {key: text for key, text in sentences(ENGLISH, "caution").items() if key.startswith("short.")}
    assert {key.removeprefix("short.").replace("_", "-") for key in written} >= set(FIRST)
    for text in written.values():
        assert not re.search(r"\d", re.sub(r"\{\w+\}", "", text)), text


@pytest.mark.parametrize("name", SAMPLES)
def test_deciding_readings_see_every_way_in_which_a_mount_can_be_off(name: str) -> None:
    """A tab has seven and a posts' or flat mount eight: hand count of what a rigid pair of holes can do.

    Two places along, one height (two of faces), two sideways, square across, and a turn about the axle.
    """
    setup = _set_up(sample(name))
    keys = [reading.key for row in deciding_rows(setup) for reading in row.readings]
    assert sorted(keys) == sorted(setup.deciding) and len(keys) == len(set(keys))
    kinds = {reading.kind for row in deciding_rows(setup) for reading in row.readings}
    tab = place_job(sample(name)).interface.family == "tab"
    assert len(keys) == (7 if tab else 8)
    assert {"side", "lean", "spacing", "edge"} <= kinds
    assert all(reading.stage != "before" for row in deciding_rows(setup) for reading in row.readings)


@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("fixture", [False, True])
def test_a_wheel_that_is_pushed_out_is_stamped_however_full_the_card_is(size: str, fixture: bool) -> None:
    """The leg stands in the way besides: two stamps. What is read at the bench is at least 3.5 high."""
    process, bench = {"filler": long(120), "material": "CrMo " + long(100)}, {"fixture": fixture}
    raw = _document("curlew", size, frame=LONGEST, process=process, bench=bench)
    del raw["stance"], raw["dropout"]["slot_from"]
    raw["dropout"]["slot"] = 33
    raw["tubes"]["fork-leg"]["outset"] = -8.0
    job = parse(raw)
    setup = _set_up(job)
    assert setup.load is not None and setup.load.stamp and setup.clear.failed
    with patch.object(Flow, "lettering", autospec=True, side_effect=Flow.lettering) as lettering:
        _card(job)
    lettered = {call.args[1]: call.args[2] for call in lettering.call_args_list}
    least = 5.0 if (size, fixture) != ("Letter", True) else 3.5
    assert lettered[setup.load.stamp] >= least and lettered[clearance_stamp(setup.clear.failed)] >= least


@pytest.mark.parametrize("told_in", ["mm", "in", "both"])
@pytest.mark.parametrize("size", PAPERS)
@pytest.mark.parametrize("name", [*SAMPLES, "stint"])
def test_one_page_in_letters_that_are_read_at_the_bench_in_every_unit(
    name: str, size: str, told_in: Units
) -> None:
    """Nothing on it is smaller than 2.5 mm, and what is read in gloves, or stacked, is 3.5 mm or more."""
    job = on_paper(load(SAMPLES.get(name, STINT)).job, size=size, units=told_in)
    with telling(told_in):
        sheet, setup = _card(job), _set_up(job)
        rows = [row.cells for row in deciding_rows(setup)]
    assert min(label.height for path in sheet.paths for label in path.labels) >= 2.5
    most = {text.text: text.size * CAP_HEIGHT for text in sheet.texts}
    shown = [cells for cells in rows if cells[0] in most]
    assert len(shown) >= 4
    assert all(most[cell] >= 3.499 for cells in shown for cell in cells)
    pieces = [] if setup.choice is None else setup.choice.best.pieces
    stacked = [text for text in most if any(text.startswith(f"{piece:.3f}") for piece in pieces)]
    assert told_in == "in" or len(stacked) >= len(set(pieces))
    assert all(most[text] >= 3.499 for text in stacked)


@pytest.mark.parametrize("told_in", ["mm", "both"])
@pytest.mark.parametrize("name", [*SAMPLES, "stint"])
def test_no_two_leaders_of_the_section_cross(name: str, told_in: Units) -> None:
    job = on_paper(load(SAMPLES.get(name, STINT)).job, units=told_in)
    with telling(told_in):
        sheet = _card(job)
    lines: list[list[Point]] = []
    for path in sheet.paths:
        for command in path.commands if path.layer == "lettering" and not path.labels else ():
            if command[0] == "M":
                lines.append([])
            lines[-1].append((command[-2], command[-1]))
    leaders = [each for each in lines if len(each) in (3, 4)]
    assert len(leaders) >= 6
    for one, other in itertools.combinations(leaders, 2):
        for a, b in itertools.product(itertools.pairwise(one), itertools.pairwise(other)):
            assert not _cross(*a, *b)


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Tell whether the lines from a to b and from c to d cross within both."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < -1e-9 and side(c, d, a) * side(c, d, b) < -1e-9


@pytest.mark.parametrize("name", SAMPLES)
def test_a_limit_that_reaches_further_on_one_side_says_why_on_card_and_behind_it(name: str) -> None:
    """It is what the mount's second published number differs by: no limit is lopsided without one."""
    job = parse(_document(name, "A4"))
    face, setup = place_job(job).interface, _set_up(job)
    second, place = face.second, face.lateral
    others = [] if second is None else [second.up, second.along]
    others += [each - place.value for each in (place.low, place.high) if each is not None]
    apart = [f"{abs(each):.2f}" for each in others if abs(each) >= 0.05]
    steps = {}
    for each in setup.readings:
        assert each.low is not None and each.high is not None
        steps[each.key] = abs(each.high + each.low - 2.0 * each.nominal)
    assert any(step > 0.05 for step in steps.values()) == bool(apart)
    why = "A limit reaches further on the side where another published number lies"
    for said in (" ".join(text.text for text in _card(job).texts), _behind(job)):
        assert (why in said) == bool(apart)
        assert all(each in said.partition(why)[2] for each in apart)

"""Slot and stance on the sheets: what is warned of, what is asked, and what each sheet says of both."""

import itertools
import math
from pathlib import Path
from unittest.mock import patch

import pytest

from geometry.braking.forces import forces
from geometry.core.plane import line_in_box
from sheets.actions.draw import plan
from sheets.actions.pages import Kind
from sheets.ink.records import Segment, Sheet
from sheets.job.read import load, place_job, tubes_of
from sheets.pages import frame
from sheets.pages.flow import Flow
from sheets.pages.full_size import loads as loads_page
from sheets.pages.full_size.template import template
from sheets.pages.running.card import card
from sheets.setup.setup import set_up
from sheets.words.tell import told
from tests.pages.jobs import Asked, Noted, on_paper, sample_sheets

SAMPLES = Path(__file__).parents[2] / "samples"
NONE = ""


def _plan(tmp_path: Path, sample: str, slot: str, stance: str) -> Asked:
    """Return a sample's plan with these lines for its slot and its stance, none of its own."""
    lines = (SAMPLES / f"{sample}.toml").read_text(encoding="utf-8").splitlines()
    own = ("slot", "[stance]", "head", "rake", "axle_to_crown", "chainstay =")
    kept = [line for line in lines if not line.startswith(own)]
    at = kept.index("[dropout]")
    text = "\n".join([*kept[: at + 1], slot, *kept[at + 1 :], "[stance]", stance])
    file = tmp_path / f"{sample}.toml"
    file.write_text(text, encoding="utf-8")
    return Asked(load(file))


def _sheet(made: Asked, kind: Kind) -> Sheet:
    return made.of(kind)[0]


def _typed(made: Asked, kind: Kind) -> str:
    return " ".join(text.text for sheet in made.of(kind) for text in sheet.texts)


def _fields(made: Asked) -> dict[str, str]:
    """Return what stands in the traveller's fields, by their names."""
    return {field.name: field.value for sheet in made.of("traveller") for field in sheet.fields}


def _card(made: Asked) -> None:
    """Draw a plan's card again, to see how its lines are lettered."""
    card(made.source.job, made.placement, made.setup)


def _segment(sheet: Sheet, name: str) -> tuple[float, float]:
    (found,) = (each for each in sheet.features if isinstance(each, Segment) and each.name == name)
    return found.end[0] - found.start[0], found.end[1] - found.start[1]


def test_an_old_jobs_slot_is_asked_for_and_the_worst_counts(tmp_path: Path) -> None:
    # Once printed as "into its slot with 21 N: held by shape".
    made = _plan(tmp_path, "curlew", "slot = 33", NONE)
    assert made.setup.load is not None
    slot = made.setup.load.slot
    assert slot.verdict == "never" and slot.unknown == ("dropout.slot_from", "stance.leg")
    asked, pushed = (told(each.text) for each in made.findings if each.code.startswith("slot-"))
    assert asked.startswith(
        "What the slot's 33 degrees are measured from and how the bicycle stands are unkn"
    )
    assert pushed.startswith("BRAKING PUSHES THE WHEEL OUT of its slot")
    assert f"up to {slot.out:.0f} N along the open slot, not with this slot" in made.setup.load.stamp
    said = _typed(made, "card")
    # It hurts whoever overlooks it, and is lettered as large as on the template, 5 mm high.
    with patch.object(Flow, "lettering", autospec=True) as lettering:
        _card(made)
    sizes = {call.args[1]: call.args[2] for call in lettering.call_args_list}
    assert sizes[made.setup.load.stamp] >= 5.0
    assert "Do not build this slot" in said
    assert "Whether braking pushes the wheel out is not known" in said
    assert "Give what the slot's direction is measured from and the fork leg's angle to the ground." in said
    assert "slot: the worst case, give what the slot's direction is measured from" in _typed(made, "details")
    assert "BRAKING PUSHES THE WHEEL OUT" in _typed(made, "details")
    assert "BRAKING PUSHES THE WHEEL OUT" in _typed(made, "traveller")
    # Which way it opens in the frame is not settled, so that no arrow says one.
    assert "slot way out" not in {feature.name for feature in _sheet(made, "template").features}


def test_a_slot_with_both_is_judged_as_it_stands(tmp_path: Path) -> None:
    for slot, verdict in ((0, "never"), (33, "retention"), (70, "held")):
        made = _plan(tmp_path, "curlew", f'slot = {slot}\nslot_from = "plumb"', "leg = 72")
        assert made.setup.load is not None
        found = made.setup.load.slot
        assert (found.verdict, found.unknown, found.asks) == (verdict, (), "")
        # From plumb on a leg at 72 it opens 18 less from the leg's line, and so the template shows it.
        assert found.direction == pytest.approx(slot - 18.0)
        out = _segment(_sheet(made, "template"), "slot way out")
        assert math.degrees(math.atan2(-out[0], -out[1])) == pytest.approx(slot - 18.0)
        assert ("slot-pushes-out" in {each.code for each in made.findings}) is (verdict != "held")


@pytest.mark.parametrize("sample", ["curlew", "dunlin", "turnstone"])
def test_no_sample_lacks_a_slots_reference_or_stance(sample: str) -> None:
    made = Asked(load(SAMPLES / f"{sample}.toml"))
    assert made.setup.load is not None
    slot = made.setup.load.slot
    assert (slot.unknown, slot.asks, slot.loud, slot.verdict) == ((), "", False, "held")
    assert "slot-unknown" not in {each.code for each in made.findings}


@pytest.mark.parametrize(
    ("sample", "slot", "stance", "said"),
    [
        ("dunlin", 'slot = 0\nslot_from = "plumb"', "chainstay = 9", "opens plumb down"),
        (
            "turnstone",
            'slot = 0\nslot_from = "tube"',
            "chainstay = 9",
            "opens square down from the chainstay",
        ),
        ("curlew", 'slot = 45\nslot_from = "tube"', "leg = 65", "opens 45 degrees forward of the fork leg's"),
    ],
)
def test_an_ordinary_good_end_is_not_cried_at(
    tmp_path: Path, sample: str, slot: str, stance: str, said: str
) -> None:
    made = _plan(tmp_path, sample, slot, stance)
    assert made.setup.load is not None and made.setup.load.stamp == ""
    # What turns on where the caliper sits is told as a note, and nobody is warned of it.
    told = [each for each in made.findings if "slot" in each.code]
    assert {each.level for each in told} <= {"note"}
    values = _fields(made)
    assert said in made.setup.load.slot.sentence and values["part.slot"].startswith(said)


def test_a_frame_whose_slot_turns_on_its_caliper_is_not_called_held(tmp_path: Path) -> None:
    made = _plan(tmp_path, "dunlin", 'slot = 0\nslot_from = "plumb"', "chainstay = 9")
    short = _typed(made, "card")
    # What may push out is not cut off.
    assert "closed end" not in short and "137 N in, or 234 N out" in short
    said = _typed(made, "details")
    assert "if the caliper sits elsewhere on the tab" in said
    # 234 N out at the worst: a quick release holds that, as it holds the push of a slot that is certain.
    assert made.setup.load is not None and made.setup.load.slot.verdict == "retention"
    assert "A closed quick release holds even that, as on many frames" in said
    # A fork's is warned of: nothing else holds its wheel.
    fork = _plan(tmp_path, "curlew", 'slot = 26\nslot_from = "tube"', "leg = 65.4")
    (pushed,) = (each for each in fork.findings if each.code == "slot-pushes-out")
    assert "turns on where on its tab the caliper sits" in told(pushed.text)
    # Its owner's caliper, measured, says nothing of where its pads sit on the tab.
    own = "leg = 65.4\n[caliper]\nlength = 60\nheight = 26\ninboard = 17\noutboard = 22"
    same = _plan(tmp_path, "curlew", 'slot = 26\nslot_from = "tube"', own)
    assert [each for each in same.findings if each.code == "slot-pushes-out"] == [pushed]


def test_the_traveller_says_slot_and_stance_of_open_ends_alone(tmp_path: Path) -> None:
    for slot, stance, said in (
        ('slot = 40\nslot_from = "plumb"', "leg = 66", ("opens 40 degrees forward of plumb", "66.0 degrees")),
        ("slot = 40", NONE, ("opens 40 degrees forward of the fork leg's line or of plumb", "")),
        (NONE, NONE, ("", "")),
    ):
        made = _plan(tmp_path, "curlew", slot, stance)
        values = _fields(made)
        assert (values["part.slot"], values["part.stance"]) == said
    closed = plan(load(SAMPLES / "godwit.toml"), None)
    assert "part.slot" not in {field.name for sheet in closed.sheets for field in sheet.fields}


@pytest.mark.parametrize("view", ["outboard", "inboard"])
@pytest.mark.parametrize("name", ["curlew", "dunlin", "turnstone"])
def test_no_word_lies_across_an_arrow_of_slot_or_axle(name: str, view: str) -> None:
    # On A4 turnstone's arrows find no room, and are left out with their words.
    size = "A3" if name == "turnstone" else "A4"
    job = on_paper(load(SAMPLES / f"{name}.toml").job, view=view, size=size)
    placement, tubes, drawings = place_job(job), tubes_of(job), list[Noted]()

    def noted() -> Noted:
        drawings.append(Noted())
        return drawings[-1]

    with patch.object(frame, "Drawing", noted):
        sheet = template(job, placement, tubes, set_up(job, placement, tubes))
    said = {line.text for line in drawings[-1].lettered}
    assert sum(text.startswith("slot opens") for text in said) == 1
    assert sum(text.startswith("axle pushes") for text in said) == 1
    assert sum("1 mm = " in text for text in said) == 1
    arrows = [each for each in sheet.features if each.name in ("axle reaction", "slot way out")]
    for arrow, line in itertools.product(arrows, drawings[-1].lettered):
        assert isinstance(arrow, Segment)
        left, low, right, top = line.box
        assert line_in_box(arrow.start, arrow.end, (left, low), (right, top)) is None, line.text


@pytest.mark.parametrize("view", ["outboard", "inboard"])
def test_template_and_loads_letter_what_the_angle_is_measured_from(view: str) -> None:
    # The template names it at its arrow, the page of loads in a sentence.
    labels = sample_sheets("curlew", view, "A4")[0].labels
    assert any(each.startswith("slot opens 40°") for each in labels)
    assert any(each.endswith("forward of fork leg") for each in labels)
    job, lettered = on_paper(load(SAMPLES / "curlew.toml").job, view=view), Noted()
    assert job.stance.of("front").known
    setup = set_up(job, place_job(job), tubes_of(job))
    assert setup.load is not None
    with patch.object(loads_page, "Drawing", lambda: lettered):
        loads_page.loads(job, place_job(job), tubes_of(job), setup)
    said = " ".join(line.text for line in reversed(lettered.lettered))
    assert "into its slot, which opens 40 degrees forward of the fork leg's line" in said
    assert "65.4 degrees to the ground" in said


def test_the_road_leans_on_the_page_of_loads_as_the_bicycle_stands(tmp_path: Path) -> None:
    # The rear turns the other way than the front: a falling stay lets the road fall rearward.
    for sample, stance, turn in (("curlew", "leg = 66", 24.0), ("turnstone", "chainstay = 9", -9.0)):
        made = _plan(tmp_path, sample, 'slot = 60\nslot_from = "tube"', stance)
        load_ = made.setup.load
        assert load_ is not None and load_.forces.turn == pytest.approx(turn)
        heading = math.degrees(math.atan2(*reversed(_segment(_sheet(made, "loads"), "force at tyre"))))
        standing = math.degrees(math.atan2(load_.load.wheel, load_.load.brake))
        assert heading == pytest.approx(standing + turn, abs=1e-6)


def test_a_thru_axle_is_asked_for_nothing_and_its_page_says_which_stance(tmp_path: Path) -> None:
    made = plan(load(SAMPLES / "godwit.toml"), None)
    load_ = made.setup.load
    assert load_ is not None and load_.slot.unknown == () and load_.slot.asks == ""
    assert not [each for each in made.findings if each.code.startswith("slot-")]
    # Which stance is shown: the one with the most at the axle, of the whole range.
    sizes = [
        math.hypot(*forces(made.placement, load_.load, load_.forces.pad, turn).axle)
        for turn in load_.stance.turns
    ]
    assert math.hypot(*load_.forces.axle) == pytest.approx(max(sizes))
    assert min(load_.stance.turns) < max(load_.stance.turns)


def test_the_forks_own_stop_counts_the_hardest_stance(tmp_path: Path) -> None:
    # Weight on a leaning leg bends it forward, braking back: the more upright the leg, the harder the stop.
    stops = {}
    for stance in ("leg = 76", "leg = 66", "leg = 58", NONE):
        made = _plan(tmp_path, "curlew", NONE, stance)
        assert made.setup.load is not None and made.setup.load.strength.worst is not None
        stops[stance] = made.setup.load.strength.worst.cut.stress
    assert stops["leg = 76"] > stops["leg = 66"] > stops["leg = 58"]
    assert stops[NONE] == pytest.approx(stops["leg = 76"])

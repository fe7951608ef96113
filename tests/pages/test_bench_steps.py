"""Posts are bored before they are set: what steps, card and traveller say of them, and one zero sideways."""

import re

import pytest

from sheets.actions.pages import ready, sheets_of
from sheets.job.read import load, place_job, tubes_of
from sheets.setup.screws import bench_words, dummy_words
from sheets.setup.setup import set_up
from sheets.words.tell import told
from tests.pages.jobs import SAMPLES, sample, sample_sheets

POSTS = ("avocet", "godwit", "turnstone", "whimbrel")
# Dropout's thickness less where the posts' middle lies outboard of its inner face, by hand: the post row's
# 0.5 outboard of hub end and pocket's floor at the front (3 deep), 4.25 inboard at the rear.
INBOARD = {"avocet": 10 + 4.25, "turnstone": 6 + 4.25, "godwit": 12 - 3.5, "whimbrel": 12 - 3.5}


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def on_card(name: str) -> str:
    """Return what the card says, in running words."""
    (sheet,) = sheets_of(ready(load(SAMPLES[name])), "card").sheets
    return " ".join(text.text for text in sheet.texts)


@pytest.mark.parametrize("name", POSTS)
def test_the_card_counts_sideways_from_one_face_and_says_how_thick_the_dummy_axle_is(name: str) -> None:
    said = on_card(name)
    assert "Measure sideways from the left dropout's inner face" in said
    assert not re.search(r"[Mm]easure sideways from the pocket", said)
    # What the sheet slips over is no matter of the readings: they need the diameter that jaws lie on.
    assert squeezed(dummy_words(sample(name))) not in squeezed(said)
    assert f"Readings that decide; dummy axle Ø{sample(name).axle.dummy:g}, " in said
    assert "1 more readings" not in said


@pytest.mark.parametrize("name", POSTS)
def test_the_template_says_how_far_inboard_the_posts_stand(name: str) -> None:
    template, face = sample_sheets(name, "outboard", "A4")
    said = squeezed(template.title)
    wanted = f"{INBOARD[name]:.2f} mm inboard of the dropout's outer face"
    assert squeezed(wanted) in said and squeezed("Scribe the mount face") not in said
    # A square stands on the sheet, which a tube may hold off that face, and a ring as long as is told.
    title = re.sub(r"\s+", " ", template.title)
    ring = re.search(r"slip a ring ([0-9.]+) long", title)
    sheet = re.search(r"their middles lie ([0-9.]+) mm inboard of the sheet on its ring", title)
    assert (ring is None) == (sheet is None)
    if ring is not None and sheet is not None:
        assert float(sheet[1]) == pytest.approx(INBOARD[name] + float(ring[1]))
    faced_later = squeezed(f"until then yours stands {sample(name).process.facing:g} mm further out")
    assert (faced_later in said) == (sample(name).process.facing > 0)
    assert squeezed(dummy_words(sample(name))) in said
    # What is bored on the bench is no step of the template, and no crosses are pricked into posts.
    on_face = squeezed(face.title)
    job = sample(name)
    bench = told(bench_words(job, place_job(job)))
    faced = job.process.facing
    # What is faced off takes its thread along: 6 mm are to be left for the screw, and two turns past its end.
    deep = f"{6 + faced:g} deep or more, and {2 + faced:g} deeper than your screw goes in"
    after = f": {faced:g} of it is faced off." if faced else "."
    assert bench == f"On the bench bore the posts Ø5 right through and tap M6 × 1, {deep}{after}"
    assert squeezed(bench) in on_face and "Prick" not in on_face
    assert squeezed("slip the sheet over pins in the posts") in on_face


@pytest.mark.parametrize(
    ("view", "here", "there"), [("outboard", "right", "left"), ("inboard", "left", "right")]
)
def test_a_face_that_runs_the_other_way_says_so(view: str, here: str, there: str) -> None:
    warned = squeezed(f"Forward is {here} here, {there} on the template.")
    template, face = sample_sheets("avocet", view, "A4")
    assert warned in squeezed(face.title) and warned not in squeezed(template.title)
    # A fork's mount runs up, and forward is on neither side.
    assert "Forward is" not in sample_sheets("whimbrel", view, "A4")[1].title


@pytest.mark.parametrize("name", POSTS)
def test_card_and_traveller_bore_before_the_tack_and_chase_after(name: str) -> None:
    job = sample(name)
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    bench, keys = told(bench_words(job, placement)), [step.key for step in setup.operations]
    steps = {step.key: step.text for step in setup.operations}
    assert bench in steps["cut"] and keys.index("cut") < keys.index("tack") < keys.index("paint-mask")
    # Pins that stay in a post's bore would stop up its vent.
    assert "Draw the pins or screws first" in steps["heat"] and "vent" in steps["heat"]
    assert any(text.startswith("Draw pins and screws first.") for text, _ in setup.work)
    assert "Chase the threads" in steps["paint-mask"] and "drill" not in steps["paint-mask"].casefold()
    assert sum(bench in text for text, _ in setup.work) == 1


def test_a_wrap_says_where_no_hole_is_made() -> None:
    """A post's outline is where it sits; a boss that is let in is sawn for."""
    for name, sawn in (("avocet", False), ("whimbrel", False), ("redshank", True)):
        wraps = sheets_of(ready(load(SAMPLES[name])), "wrap").sheets
        said = "".join(label.text for sheet in wraps for path in sheet.paths for label in path.labels)
        assert (squeezed("punch at the crosses") in squeezed(said)) is sawn, name
        assert (squeezed("no hole there") in squeezed(said)) is not sawn, name

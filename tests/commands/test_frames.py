"""Ordinary good frames pass quietly, and known bad ones fail: on every sheet, in the status and in JSON."""

import copy
import tomllib
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pytest

from sheets.actions import pages
from sheets.actions.pages import Kind
from sheets.ink.drawing import Drawing
from sheets.job.read import parse, place_job, tubes_of
from sheets.setup.findings import stopped
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import told
from tests.conftest import forget
from tests.frames import BAD, GOOD, UNMEASURED, Bad, Document
from tests.pages.jobs import sheets_but_traveller

SAMPLES = Path(__file__).parents[2] / "samples"

GOODS = [pytest.param(each, id=f"{family}, {name}") for family in GOOD for name, each in GOOD[family].items()]
BADS = [pytest.param(each, id=f"{family}, {name}") for family in BAD for name, each in BAD[family].items()]


def worked(document: Document) -> SetUp:
    """Return a frame's set-up."""
    job = parse(document)
    return set_up(job, place_job(job), tubes_of(job))


def lettered(document: Document) -> list[str]:
    """Return every line lettered on a frame's sheets."""
    job = parse(document)
    said: list[str] = []
    letter = Drawing.letter

    def noted(self: Drawing, text: str, *rest: Any, **more: Any) -> None:
        said.append(text)
        letter(self, text, *rest, **more)

    with patch.object(Drawing, "letter", noted):
        # Drawn anew, for sheets that are kept of an equal job are not lettered again.
        forget()
        sheets_but_traveller(job)
    return said


def typed(document: Document, kind: Kind) -> str:
    """Return the running text of a frame's sheets of one kind."""
    job = parse(document)
    sheets = pages.made(kind, job, place_job(job), worked(document)).sheets
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


def test_there_are_four_and_more_of_each_family() -> None:
    assert {*GOOD} == {*BAD} == {"tab", "post", "flat"}
    assert min(len(each) for frames in (GOOD, BAD) for each in frames.values()) >= 4


@pytest.mark.parametrize("document", GOODS)
def test_a_good_frame_passes_quietly(document: Document) -> None:
    setup = worked(document)
    assert stopped(Path("good.toml"), setup.findings) == (0, (), "")
    given = parse(document).tubes.given()
    for each in setup.clear.clearances:
        lacking = (
            each.state == "unknown" and told(each.why) == "give tubes.seatstay" and "seatstay" not in given
        )
        assert each.state == "ok" or lacking, told(each.sentence)
    wrong = {"too-short", "breaks-out", "clearance-fails", "clearance-tight"}
    assert [each for each in setup.findings if each.code in wrong or each.level == "stop"] == []


@pytest.mark.parametrize("bad", BADS)
def test_a_bad_frame_fails(bad: Bad) -> None:
    setup = worked(bad.document)
    status, problems, _ = stopped(Path("bad.toml"), setup.findings)
    assert status == 1 and any(f"CLEARANCE FAILS: {bad.fails}" in problem for problem in problems)
    one = next(each for each in setup.clear.failed if each.key.startswith(bad.fails))
    assert one.key in {each.subject for each in setup.findings if each.level == "stop"}


@pytest.mark.parametrize("family", BAD)
def test_what_fails_is_stamped_on_every_sheet(family: str) -> None:
    """Template and card, and the face sheet where there is one: on a seatstay, across an axle, in a disc."""
    name = {"tab": "the disc's screws in the seatstay", "post": "a near post across the axle"}
    bad = BAD[family][name.get(family, "bosses in the disc")]
    stamps = [text for text in lettered(bad.document) if text.startswith("CLEARANCE FAILS")]
    assert len(stamps) >= (2 if family == "tab" else 3)
    assert not any("CLEARANCE FAILS" in text for text in lettered(next(iter(GOOD[family].values()))))


@pytest.mark.parametrize(("sample", "bad"), [("greenshank", "diameter = 8"), ("godwit", "diameter = 6")])
@pytest.mark.parametrize("units", ["mm", "both"])
@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_what_else_stops_is_stamped_on_template_face_and_wraps(
    sample: str, bad: str, units: str, size: str
) -> None:
    """A boss with no metal round its hole: whoever has one sheet in hand must not take it for sound."""
    text = (SAMPLES / f"{sample}.toml").read_text(encoding="utf-8")
    good = tomllib.loads(text) | {"paper": {"size": size, "units": units}}
    broken = copy.deepcopy(good)
    broken["boss"]["diameter"] = float(bad.rpartition(" ")[2])
    stamp = "MUST NOT BE BUILT LIKE THIS: see STOP on the card."
    assert lettered(broken).count(stamp) >= 3
    assert stamp not in lettered(good)


FORK = GOOD["post"]["front 180"]


@pytest.mark.parametrize("key", UNMEASURED)
def test_a_fork_that_was_not_measured_is_unknown_in_every_place(key: str) -> None:
    document = copy.deepcopy(FORK)
    del document["tubes"]["fork-leg"][key]
    setup = worked(document)
    measure = f"measure tubes.fork-leg.{key}"
    beside = [each for each in setup.clear.clearances if "fork leg" in each.key]
    assert {each.kind for each in beside} == {"rotor", "bolts", "caliper", "key", "host"}
    assert {(each.state, each.told, told(each.why)) for each in beside} == {("unknown", "unknown", measure)}
    assert setup.clear.disc is None
    assert told(setup.clear.disc_words) == f"disc 180 to fork leg: unknown; {measure}"
    assert told(setup.clear.largest_words) == f"largest disc: unknown; {measure}"
    assert setup.clear.largest is not None and setup.clear.largest.sure is None
    assert setup.bosses == ()
    assert any(
        told(said.text) == f"How the post meets the fork leg is not known; {measure}."
        for said in setup.boss_words
    )
    (asked,) = (told(each.text) for each in setup.findings if each.code == "clearance-unknown")
    assert (
        asked.startswith("What comes near the fork leg is not known") and f"(tubes.fork-leg.{key})" in asked
    )
    assert stopped(Path("unknown.toml"), setup.findings) == (0, (), "")
    said = " ".join(lettered(document))
    card = typed(document, "card")
    for silenced in ("no disc", "within 0.0", "0.0 mm", "lies flat", "proud of"):
        assert silenced not in said and silenced not in card
    called = {"outset": "how far outboard the fork leg stands", "splay": "the fork leg's splay"}[key]
    assert f"Largest disc: unknown; measure {called}" in typed(document, "details")
    assert "holds the sheet off the dropout is not known" in said
    assert "lines are left out" in said


def test_a_splay_of_0_is_a_straight_tube_and_no_unknown() -> None:
    document = copy.deepcopy(FORK)
    document["tubes"]["fork-leg"]["splay"] = 0
    assert not any(each.state == "unknown" for each in worked(document).clear.clearances)

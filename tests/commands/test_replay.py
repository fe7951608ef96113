"""Longer sentences on sheets are no difference of a packet, lines that moved are."""

import copy
import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheets.actions import manifest
from sheets.actions.draw import plan
from sheets.actions.manifest import Drawn
from sheets.filing.replay import differences
from sheets.job.read import load
from tests.words.languages import pseudo, spoken, write

ROOT = Path(__file__).parents[2]


def drawn(name: str) -> dict[str, Any]:
    """Return the manifest of a sample as it is drawn in the language that is spoken."""
    source = load(ROOT / "samples" / f"{name}.toml")
    again = plan(source, source.path.parent)
    return manifest.drawn(
        source.job, again.placement, [Drawn(Path("x.pdf"), "pdf", again.packet.sheets)], again.findings
    )


@pytest.fixture(scope="module")
def dunlin() -> dict[str, Any]:
    """Return dunlin's manifest in English."""
    return drawn("dunlin")


@pytest.mark.parametrize(("name", "longer"), [("dunlin", "steps."), ("curlew", ""), ("godwit", "")])
def test_longer_sentences_make_no_difference(name: str, longer: str, tmp_path: Path) -> None:
    """Wraps then lie elsewhere and on other pages, tubes' lines end sooner, and text takes more pages.

    All of dunlin's words a third longer would have a wrap cut in two, and that is told as a difference.
    """
    was = drawn(name)
    told = write(tmp_path / "pseudo", lambda code, text: pseudo(text) if code.startswith(longer) else text)
    with spoken(told):
        now = drawn(name)
    assert was["files"] != now["files"]
    assert [each.sentence for each in differences(was, now)] == []


def features(document: dict[str, Any], sheet: str) -> Iterator[dict[str, Any]]:
    """Yield the features of a manifest's sheets of one kind."""
    for file in document["files"]:
        for page in file["pages"]:
            if page["sheet"] == sheet:
                yield from page["features"]


@given(shift=st.floats(0.005, 5.0), which=st.sampled_from(["edge, mount side", "centre line"]))
def test_a_line_that_moved_sideways_differs_by_that(dunlin: dict[str, Any], shift: float, which: str) -> None:
    now = copy.deepcopy(dunlin)
    line = next(each for each in features(now, "template") if each["name"] == f"chainstay {which}")
    run = (line["to"][0] - line["from"][0], line["to"][1] - line["from"][1])
    aside = (-run[1] / math.hypot(*run) * shift, run[0] / math.hypot(*run) * shift)
    for end in ("from", "to"):
        line[end] = [line[end][0] + aside[0], line[end][1] + aside[1]]
    found = list(differences(dunlin, now))
    assert [each.by for each in found] == [pytest.approx(shift, abs=1e-6)]


@given(turn=st.floats(0.05, 3.0), cut=st.floats(0.0, 0.4))
def test_a_line_that_turned_differs_wherever_it_ends(dunlin: dict[str, Any], turn: float, cut: float) -> None:
    """Turned about its beginning it is off most at the end of the shorter of the two."""
    now = copy.deepcopy(dunlin)
    line = next(each for each in features(now, "template") if each["name"] == "seatstay centre line")
    angle = math.radians(turn)
    run = [(b - a) * (1.0 - cut) for a, b in zip(line["from"], line["to"], strict=True)]
    line["to"] = [
        line["from"][0] + run[0] * math.cos(angle) - run[1] * math.sin(angle),
        line["from"][1] + run[0] * math.sin(angle) + run[1] * math.cos(angle),
    ]
    by = math.hypot(*run) * math.sin(angle)
    assert [each.by for each in differences(dunlin, now)] == [pytest.approx(by, rel=0.01)]


@given(cut=st.floats(0.01, 0.6))
def test_a_line_that_ends_sooner_does_not_differ(dunlin: dict[str, Any], cut: float) -> None:
    now = copy.deepcopy(dunlin)
    for line in features(now, "template"):
        if line["name"].startswith("chainstay"):
            line["to"] = [a + (b - a) * (1.0 - cut) for a, b in zip(line["from"], line["to"], strict=True)]
            line["length"] *= 1.0 - cut
    assert not list(differences(dunlin, now))


@pytest.mark.parametrize("name", ["dunlin", "curlew", "godwit"])
def test_a_mark_that_moved_on_its_wrap_differs(name: str) -> None:
    """Each circle by itself, whatever its place is read from."""
    was = drawn(name)
    circles = [each["name"] for each in features(was, "wrap") if each["kind"] == "circle"]
    assert circles
    for circle in circles:
        now = copy.deepcopy(was)
        mark = next(each for each in features(now, "wrap") if each["name"] == circle)
        mark["centre"][0] += 0.02
        assert [each.by for each in differences(was, now)] == [pytest.approx(0.02, abs=1e-6)], circle

"""Sheets of a job that tells inches, or mm and inches: all samples, on A4 and Letter.

No length is left in mm alone but what is known by its mm, and everything has its room. What is drawn is the
same whatever is told.
"""

import functools
import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any, get_args
from unittest.mock import patch

import pytest
from pypdf import PdfReader

from sheets.actions.draw import draw, plan
from sheets.actions.manifest import drawn, text
from sheets.actions.pages import KINDS, Kind, Ready, ready, sheets_of
from sheets.ink import marks
from sheets.ink.records import Sheet, Text
from sheets.job.read import JobFile, load
from sheets.words.lengths import Units, telling
from tests.pages.jobs import SAMPLES, Caught, catch, on_paper, sample
from tests.pages.test_clean import faults

UNITS = get_args(Units)
SIZES: dict[Units, str] = {"in": "Letter", "both": "A4"}
KNOWN_BY_MM = (
    # The scale bars' own mm side, beside their inches.
    r"^150 mm$",
    # Mounts, axles, screws and keys are sold by their mm.
    r"\b51 mm tab\b",
    # The length that a lean is read over is a nominal one.
    r"\b(in|across) 50 mm\b",
    r"\b\d+ mm (quick release|thru axle)",
    r"\b(12|15|20) mm axle\b",
    r"^M\d( × \d+ mm)?, key \d+ mm$",
    r"\bkey \d+ mm\b",
    r"\bfor a \d+ mm\b",
    r"\btake \d+ mm\b",
    # A source is quoted as it was read.
    r"\b34 mm tyre\b",
    r"\b622 mm rim\b",
)


def _telling(name: str, **paper: Any) -> JobFile:
    """Return a sample on other paper, or told in other units."""
    source = load(SAMPLES[name])
    return replace(source, job=on_paper(source.job, **paper))


def _without(line: str) -> str:
    """Return a line without what is known by its mm."""
    return functools.reduce(lambda left, each: re.sub(each, "", left), KNOWN_BY_MM, line)


@functools.cache
def _caught(name: str, told: Units) -> list[Caught]:
    """Return a sample's views with all that is lettered on them."""
    with telling(told):
        return catch(on_paper(sample(name), units=told, size=SIZES[told]))


@functools.cache
def _ready(name: str, told: Units) -> Ready:
    return ready(_telling(name, units=told, size=SIZES[told]), plate=name in ("dunlin", "godwit"))


@functools.cache
def _sheets(name: str, told: Units, kind: Kind) -> tuple[tuple[Sheet, ...], list[str]]:
    """Return the sheets of a kind of a sample, and all lines of lettering and text on them."""
    lettered: list[str] = []
    plain = marks.letter

    def letter(text: str, height: float) -> object:
        lettered.append(text)
        return plain(text, height)

    with patch.object(marks, "letter", letter):
        sheets = sheets_of(_ready(name, told), kind).sheets
    set_ = [each.text for sheet in sheets for each in sheet.records if isinstance(each, Text)]
    return sheets, [*dict.fromkeys(lettered), *set_]


@pytest.mark.parametrize("told", ["in", "both"])
@pytest.mark.parametrize("name", SAMPLES)
def test_the_card_is_one_page_and_no_view_is_cut_for_want_of_room(name: str, told: Units) -> None:
    assert len(_sheets(name, told, "card")[0]) == 1
    plain = ready(load(SAMPLES[name]))
    kinds: tuple[Kind, ...] = ("template", "face")
    for kind in kinds:
        sheets, _ = _sheets(name, told, kind)
        if sample(name).paper.size == SIZES[told]:
            assert len(sheets) == len(sheets_of(plain, kind).sheets)


@pytest.mark.parametrize("told", ["in", "both"])
@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_runs_off_and_no_label_meets_another(name: str, told: Units) -> None:
    for caught in _caught(name, told):
        wrong = faults(caught)
        if told == "both":
            # Brackets over brackets bring two rows of steps nearer than letters do; they stay apart.
            wrong = [each for each in wrong if "nearly touches" not in each]
        assert wrong == []


@pytest.mark.parametrize("name", SAMPLES)
def test_no_length_is_left_in_mm_where_inches_are_told(name: str) -> None:
    left = [
        f"{kind}: {line}"
        for kind in KINDS
        # Numbers have sources, quoted as they were read; cautions have the units of the code that they cite.
        if kind not in ("numbers", "cautions")
        for lines in _sheets(name, "in", kind)[1:]
        # Running text may be broken anywhere.
        for line in ([" ".join(lines)] if kind == "details" else lines)
        if re.search(r"\d\s?mm\b", _without(line))
    ]
    assert left == []


@pytest.mark.parametrize("name", ["dunlin", "godwit"])
def test_the_numbers_are_listed_in_inches(name: str) -> None:
    """By hand: a rear tab's 39.9, 78.1 and 51.0 mm are 1.571, 3.075 and 2.008 in; discs and M6 stay."""
    said = " ".join(_sheets(name, "in", "numbers")[1])
    if name == "dunlin":
        assert all(each in said for each in ("1.571 ±0.0039 in", "3.075 ±0.0039 in", "2.008 ±0.0039 in"))
    assert "140, 160, 180, 200, 203, 220 mm" in said
    assert "6 N m" in said


@pytest.mark.parametrize("name", SAMPLES)
def test_each_length_on_a_view_says_that_it_is_inches(name: str) -> None:
    """It has "in" behind it, or stands under a head that says so."""
    for caught in _caught(name, "in"):
        numbers = [line for line in caught.lettered if re.search(r"\d\.\d", line.text)]
        table = [line for line in numbers if line.layer == "numbers"]
        assert "Numbers, in" in caught.labels
        assert len(table) > 5
        alone = [
            line.text for line in numbers if line.layer not in ("numbers", "steps", "title block", "push")
        ]
        assert [text for text in alone if not re.search(r"\d\.\d+ in\b", text)] == []
        assert re.findall(r"\d+\.\d{3}\b(?! in\b| \+ )", caught.title) == []


@pytest.mark.parametrize("name", SAMPLES)
def test_wraps_carry_both(name: str) -> None:
    sheets, lines = _sheets(name, "both", "wrap")
    assert sheets or not lines
    girths = [line for line in lines if line.startswith("girth ")]
    assert all(re.fullmatch(r"girth \d+\.\d\d \(\d+\.\d{3} in\)", line) for line in girths)
    # A strip round a tube has ticks of mm at its left edge, and of inches on its middle line.
    assert any(re.fullmatch(r"\d+0", line) for line in lines) == bool(girths)
    assert any(re.fullmatch(r"(\d+|\d+-1/2|1/2) in", line) for line in lines) == bool(girths)


@pytest.mark.parametrize("kind", ["template", "wrap"])
def test_what_is_measured_on_paper_is_the_same_in_all_units(kind: Kind) -> None:
    """What braking does is drawn beside the axle only where labels leave it room."""
    told = {units: sheets_of(ready(_telling("dunlin", units=units)), kind).sheets[0] for units in UNITS}
    sizes = {
        units: {(each.name, getattr(each, "diameter", 0.0)) for each in sheet.features}
        - {("axle reaction", 0.0), ("slot way out", 0.0)}
        for units, sheet in told.items()
    }
    assert sizes["mm"] == sizes["in"] == sizes["both"]
    assert len(sizes["mm"]) > 8


@pytest.mark.parametrize(("told", "name"), [("in", "dunlin"), ("both", "avocet")])
def test_a_packet_reads_back_and_its_numbers_stay_mm(told: Units, name: str, tmp_path: Path) -> None:
    one = plan(_telling(name, units=told), tmp_path)
    assert draw(one) < 0.01
    document = json.loads(PdfReader(one.packet.path).attachments["dropleaf-manifest.json"][0])
    plain = json.loads(text(drawn(sample(name), one.placement, (), ())))
    assert document["placement"] == plain["placement"]
    assert document["job"]["paper"]["units"] == told
    assert [page["sheet"] for page in document["files"][0]["pages"]].count("card") == 1

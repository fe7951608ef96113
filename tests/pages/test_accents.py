"""Letters taller than capitals have room: in headers, in title blocks, and between the lines of running text.

How tall a letter is comes from the strokes as drawn, cut into points here, and from the face's own file as
fontTools reads it.
"""

import itertools
import shutil
import unicodedata
from dataclasses import replace
from functools import cache
from pathlib import Path as File

import numpy as np
import pytest
from fontTools.ttLib import TTFont

from fonts.drafting import letter, missing, rise, sink
from fonts.faces import face, tallest
from sheets.actions.pages import KINDS, Kind
from sheets.cli import main
from sheets.ink.records import Path, Sheet, Text
from sheets.job.read import Job, load
from sheets.pages.flow import PITCHES
from tests.pages.jobs import SAMPLES, Asked

NAMES = ("Éclair", "Öland", "Åre Žižkov", "Çgjpq Ý", "Ñandú Ź")
LONG = "Grand Éclair of the western saltmarsh, second of that name"
TALL = "ÉÖÅŽǺÇỖŮÝÑ gjpqy,"
WHITE = 0.25
"""Least white between an accent and the line that frames it, mm: own choice, as in test_clean.py."""


def drawn(sample: str, **frame: str) -> Asked:
    source = load(SAMPLES[sample])
    job = source.job.model_copy(update={"frame": source.job.frame.model_copy(update=frame)})
    return Asked(replace(source, job=job))


def top_of(text: str, height: float) -> float:
    """Return how far the ink of a line reaches over its baseline, its strokes followed point by point."""
    return ink_of(text, height)[1]


def ink_of(text: str, height: float) -> tuple[float, float]:
    """Return how far the ink of a line reaches below its baseline and over it, 0 where it does not."""
    t = np.linspace(0.0, 1.0, 65)[:, None]
    low, best, at = 0.0, 0.0, np.zeros(2)
    for command in letter(text, height):
        if command[0] == "C":
            p1, p2, p3 = np.array(command[1:], dtype=float).reshape(3, 2)
            curve = (1 - t) ** 3 * at + 3 * (1 - t) ** 2 * t * p1 + 3 * (1 - t) * t**2 * p2 + t**3 * p3
            low, best = min(low, float(curve[:, 1].min())), max(best, float(curve[:, 1].max()))
        if command[0] != "Z":
            at = np.array(command[-2:], dtype=float)
            low, best = min(low, float(at[1])), max(best, float(at[1]))
    # Half the pen stands out of its middle; what rests on the baseline has its middle half a pen over it.
    return -low + (height / 20.0 if low < 0.0 else 0.0), best + height / 20.0


@cache
def tables(file: File) -> tuple[dict[int, str], object, int]:
    font = TTFont(file)
    return font.getBestCmap(), font["glyf"], font["head"].unitsPerEm


def reach(text: str, file: File) -> tuple[float, float]:
    """Return how far ink of a face reaches below and over the baseline, in type sizes."""
    names, glyphs, em = tables(file)
    boxes = [glyphs[names[ord(each)]] for each in text if each != " "]
    return min(box.yMin for box in boxes) / em, max(box.yMax for box in boxes) / em


# --- how tall


def test_what_accents_add_is_what_the_strokes_reach() -> None:
    letters = [chr(code) for code in range(0xC0, 0x250) if not missing(chr(code))]
    assert {"É", "Ö", "Å", "Ž", "Ç"} <= set(letters)
    for each in letters:
        assert 5.0 + rise(each, 5.0) == pytest.approx(max(5.0, top_of(each, 5.0)), abs=0.003), each
    assert rise("Plain words, (brackets) and 0.25", 7.0) == 0.0
    # A capital with an accent is nearly half as tall again: ISO 3098 gives such lines a pitch of 1.9.
    assert 0.3 < rise("É", 1.0) < 0.5


def test_how_deep_letters_reach_is_what_the_strokes_reach() -> None:
    letters = [chr(code) for code in range(0x21, 0x250) if not missing(chr(code))]
    assert {"p", "g", "Ç", ","} <= set(letters)
    for each in letters:
        assert sink(each, 5.0) == pytest.approx(ink_of(each, 5.0)[0], abs=0.003), each
    assert sink("PLAIN 0.25", 5.0) == 0.0
    assert sink("p", 5.0) > 1.0 and sink("p", 7.0) == pytest.approx(1.4 * sink("p", 5.0))


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_a_face_tells_how_tall_each_of_its_letters_is(weight: str) -> None:
    one = face(weight)  # type: ignore[arg-type]
    names, glyphs, em = tables(one.file)
    for code, name in names.items():
        wanted = getattr(glyphs[name], "yMax", None)
        assert one.tops.get(code) == (None if wanted is None else pytest.approx(wanted / em)), chr(code)
    assert tallest("Plain words with l, b and f", one) == 0.0
    assert tallest("Éclair", one) == pytest.approx(reach("É", one.file)[1])


# --- headers and title blocks


@pytest.mark.parametrize("sample", SAMPLES)
def test_every_sample_is_drawn_with_an_accented_name(sample: str) -> None:
    for sheet in drawn(sample, name="Éclair ÖÅŽ Çgjp", maker="Ateliér Žižkov").of(*KINDS):
        framed(sheet)


@pytest.mark.parametrize("name", NAMES)
def test_each_of_these_names_stays_in_its_frame(name: str) -> None:
    for sheet in drawn("dunlin", name=name, maker=name).of(*KINDS):
        framed(sheet)


@pytest.mark.parametrize("sample", ["dunlin", "lapwing"])
def test_a_long_name_and_a_long_maker_are_drawn_too(sample: str) -> None:
    sheets = drawn(sample, name=LONG, maker=LONG).of(*KINDS)
    # What no header has room for is whole on the page of the card in full.
    said = " ".join(text.text for sheet in sheets if sheet.kind == "details" for text in sheet.texts)
    assert said.count(LONG) == 2 and "name" in said
    for sheet in sheets:
        framed(sheet)


def framed(sheet: Sheet) -> None:
    """Fail where lettering of a title block touches or leaves the box that it stands in."""
    boxes, inks = [], []
    for path in sheet.records:
        if not isinstance(path, Path) or path.layer != "title block":
            continue
        (inks if path.style.cap == "round" else boxes).append(path)
    assert boxes and inks
    corners = np.concatenate([points(path) for path in boxes])
    (left, low), (right, top) = corners.min(axis=0), corners.max(axis=0)
    half = boxes[0].style.width / 2.0 + WHITE
    for path in inks:
        ink, pen = points(path), path.style.width / 2.0
        assert ink[:, 1].max() + pen <= top - half, sheet.kind
        assert ink[:, 1].min() - pen >= low + half, sheet.kind
        assert ink[:, 0].min() - pen >= left + half, sheet.kind
        assert ink[:, 0].max() + pen <= right - half, sheet.kind


def points(path: Path) -> np.ndarray:
    """Return the ends of a path's steps; an accent's highest point is one of them to a hundredth."""
    return np.array([command[-2:] for command in path.commands if command[0] != "Z"], dtype=float)


@pytest.mark.parametrize("sample", ["dunlin", "avocet"])
def test_rows_of_a_title_block_keep_clear_of_accents(sample: str) -> None:
    plain = drawn(sample, name="Eclair", maker="Atelier")
    tall = drawn(sample, name="Éclair", maker="Atelier")
    views: tuple[Kind, ...] = ("template", "face")
    for before, after in zip(plain.of(*views), tall.of(*views), strict=True):
        grown = box_top(after) - box_top(before)
        # The heading is lettered 7 mm high.
        assert grown == pytest.approx(top_of("É", 7.0) - 7.0, abs=0.01)


def box_top(sheet: Sheet) -> float:
    boxes = [p for p in sheet.paths if p.layer == "title block" and p.style.cap != "round"]
    return max(float(points(path)[:, 1].max()) for path in boxes)


# --- running text


def test_lines_of_tall_letters_do_not_run_into_each_other() -> None:
    note = " ".join([TALL] * 20)
    for sample in ("dunlin", "greenshank"):
        sheets = drawn(sample, note=note, customer=TALL).of(*KINDS)
        lines = [
            text for sheet in sheets for text in sheet.texts if "Ỗ" in text.text and "gjpqy" in text.text
        ]
        assert len(lines) > 3
        apart(lines)


def apart(lines: list[Text]) -> None:
    """Fail where the ink of a line reaches into the line under which it stands."""
    pairs = 0
    for upper, lower in itertools.pairwise(lines):
        gap = upper.at[1] - lower.at[1]
        if upper.at[0] != lower.at[0] or not 0.0 < gap < 3.0 * lower.size:
            continue
        pairs += 1
        down, up = reach(upper.text, upper.face)[0], reach(lower.text, lower.face)[1]
        assert gap >= up * lower.size - down * upper.size - 0.01 * upper.size - 1e-6
    assert pairs > 1


def test_plain_text_is_set_as_tight_as_before() -> None:
    lines = [text for sheet in drawn("greenshank").of("card") for text in sheet.texts]
    steps = {
        round((a.at[1] - b.at[1]) / b.size, 3)
        for a, b in itertools.pairwise(lines)
        if a.at[0] == b.at[0] and a.size == b.size and 0.0 < a.at[1] - b.at[1] < 1.4 * b.size
    }
    assert steps & {round(pitch, 3) for pitch in PITCHES}


# --- as a builder meets it


@pytest.mark.parametrize("name", ["Éclair", "Öland", "Ǻre"])
def test_what_check_passes_is_drawn(name: str, tmp_path: File, capsys: pytest.CaptureFixture[str]) -> None:
    text = SAMPLES["dunlin"].read_text(encoding="utf-8").replace('"Dunlin"', f'"{name}"')
    if name == "Ǻre":
        # The drafting alphabet has no such letter; with a face that has it, it is set on the card.
        shutil.copy(face("regular").file, tmp_path / "own.ttf")
        text += '\nfont = "own.ttf"\n'
    assert name in text
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    assert main(["check", str(tmp_path / "job.toml")]) == 0
    assert main(["draw", str(tmp_path / "job.toml")]) == 0, capsys.readouterr().err
    assert (tmp_path / "dunlin-1.pdf").exists()


def test_the_names_here_are_what_they_seem() -> None:
    assert all(unicodedata.normalize("NFC", name) == name for name in (*NAMES, LONG))
    assert missing("Ǻ") == ("Ǻ",)
    assert isinstance(load(SAMPLES["dunlin"]).job, Job)

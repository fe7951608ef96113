"""Every sheet is clean: lettering clear of ink and of other lettering, all of it inside the margin.

Held to on all samples in both views and on all papers, and on random jobs; there a job may be refused, in
words.
"""

import itertools
import re

import numpy as np
import pytest
import shapely
from hypothesis import given, settings

from geometry.core.errors import FitError
from sheets.ink.placing import Box
from sheets.ink.records import Commands, Path, Sheet
from sheets.job.read import Job, parse
from sheets.words.tell import lines
from tests.pages.jobs import (
    SAMPLES,
    SIZES,
    VIEWS,
    Caught,
    catch,
    every_mount,
    lettering_of,
    lines_of,
    on_paper,
    random_jobs,
    sample,
    sample_sheets,
)

HEIGHTS = {2.5, 3.5, 5.0, 7.0}
WIDTHS = {0.5, 0.35, 0.18}
CLEAR = 0.25
"""Least white between lettering and other ink, mm: what the eye still parts at the bench (own choice)."""
BLOCKS = ("scale", "title block", "numbers", "directions", "card")
REFUSAL = re.compile(
    r"paper\.size: (.* is \d+\.\d mm too (wide|tall|small|large)\b.*|.* mm too wide and .* mm too tall .*"
    r"|no room for (the label '[^']+'|the table of numbers|the arrows of direction)); use a larger paper.*"
)


# Both views on A4, which other tests draw too; on every other paper the views by turns, but all in a long
# run.
LAID = [
    (name, view, size)
    for (row, name), (column, size), (k, view) in itertools.product(
        enumerate(SAMPLES), enumerate(SIZES), enumerate(VIEWS)
    )
    if size == "A4" or k == (row + column) % 2 or settings().max_examples > 100
]


@pytest.mark.parametrize(("name", "view", "size"), LAID)
def test_every_sample_is_clean(name: str, view: str, size: str) -> None:
    for caught in sample_sheets(name, view, size):
        assert faults(caught) == []


# A sheet takes a tenth of a second, and most jobs have two.
@settings(max_examples=max(12, settings().max_examples // 2))
@given(random_jobs())
def test_a_random_job_is_clean_or_refused_in_words(job: Job) -> None:
    try:
        sheets = catch(job)
    except FitError as error:
        assert [said for said in lines(error) if not REFUSAL.fullmatch(said)] == []
        return
    assert [fault for caught in sheets for fault in faults(caught)] == []


LARGE: frozenset[str] = frozenset()
"""Mounts whose sheets want A3 or Tabloid, by their names in every_mount: none of those that are shipped."""


@pytest.mark.parametrize("mount", every_mount())
def test_every_mount_of_the_table_fits_the_papers_of_most_printers(mount: str) -> None:
    job = parse(every_mount()[mount])
    for view, size in zip(VIEWS, ("A3", "Tabloid") if mount in LARGE else ("A4", "Letter"), strict=True):
        try:
            sheets = catch(on_paper(job, view=view, size=size))
        except FitError as error:
            pytest.fail(f"{size}: {lines(error)}; a mount that wants A3 or Tabloid stands in LARGE above")
        assert [fault for caught in sheets for fault in faults(caught)] == []


@pytest.mark.parametrize("view", VIEWS)
def test_long_bosses_count_for_what_has_to_fit(view: str) -> None:
    """Posts with stock on them, turned far: their feet are what lies furthest out."""
    plain = every_mount()["flat-front-160-fork-leg"]
    turned = {"mount": plain["mount"] | {"tilt": -20}, "boss": {"diameter": 20, "length": 75}}
    for caught in catch(on_paper(parse(plain | turned), view=view)):
        assert faults(caught) == []


def test_accents_keep_clear_of_what_stands_above_them() -> None:
    job = sample("greenshank")
    frame = job.frame.model_copy(update={"name": "ÅÉŽ quay", "maker": "ÅÉŽ"})
    for caught in catch(job.model_copy(update={"frame": frame})):
        assert faults(caught) == []


def test_the_laws_see_what_is_wrong() -> None:
    """Each law fails on a sheet that breaks it: a clean one with one thing moved."""
    clean = sample_sheets("avocet", "outboard", "A4")[0]
    assert faults(clean) == []
    far = next(line for line in clean.lettered if line.text.startswith("far: post"))
    hole = next(feature.centre for feature in clean.sheet.features if feature.name == "hole far")
    onto = (hole[0] - far.box[0], hole[1] - far.box[1])
    out = (5.0 - far.box[0], 0.0)
    below = next(line for line in clean.lettered if line.text == "chainstay")
    there = (below.box[0] - far.box[0] + 1.0, below.box[1] - far.box[1])
    table = next(line for line in clean.lettered if line.text == "axle to near hole")
    gap = (table.box[2] - far.box[0] + 1.0, table.box[1] - far.box[1])
    for by, what in (
        (onto, f"{far.text!r} touches ink"),
        (out, f"{far.text!r} leaves the live area"),
        (there, f"{far.text!r} overlaps"),
        (gap, "a stray line in the numbers"),
    ):
        moved = far._replace(
            box=(far.box[0] + by[0], far.box[1] + by[1], far.box[2] + by[0], far.box[3] + by[1]),
            ink=_moved(far.ink, by),
        )
        broken = clean._replace(lettered=tuple(moved if line is far else line for line in clean.lettered))
        assert any(what in fault for fault in faults(broken)), what


def _moved(ink: Commands, by: tuple[float, float]) -> Commands:
    return tuple(
        (letter, *(value + by[i % 2] for i, value in enumerate(values)))  # type: ignore[misc]
        for letter, *values in ink
    )


def faults(caught: Caught) -> list[str]:
    """Return what is wrong with a sheet's looks; nothing if it is clean."""
    sheet = caught.sheet
    lettered = [
        _Ink(line.text, line.layer, 0.1 * line.height, line.ink, line.box) for line in caught.lettered
    ]
    bars = [_Ink("bar", "scale", path.style.width, path.commands) for path in lettering_of(sheet, "scale")]
    lines = [_Ink(path.name, path.layer, path.style.width, path.commands) for path in lines_of(sheet)]
    wrong = _styles(caught)
    low, high = (sheet.margin,) * 2, (sheet.paper.width - sheet.margin, sheet.paper.height - sheet.margin)
    for ink in (*lettered, *bars, *lines):
        if not _within(ink.bounds, low, high):
            wrong.append(f"ink enters the margin: {ink.name or ink.layer}")
    for label in lettered:
        if not _within(label.box, low, high):
            wrong.append(f"{label.name!r} leaves the live area")
        # What is kept clear for a line has to be where its ink is; accents alone may stand out, at the top.
        left, foot, right, top = label.box
        if not _within(label.bounds, (left - 0.01, foot - 0.01), (right + 0.01, top + (top - foot) / 2.0)):
            wrong.append(f"{label.name!r} is inked outside its box")
        # Brackets and the stroke of Ø rise a tenth over the capitals, less than the air kept round a label.
        if label.name.isascii() and label.bounds[3] > top + 2.0 * label.half + 0.01:
            wrong.append(f"{label.name!r} is inked above its box")
    for one, two in itertools.combinations(lettered, 2):
        if _overlap(one.box, two.box) > 1e-6:
            wrong.append(f"{one.name!r} overlaps {two.name!r}")
        elif _overlap(one.bounds, two.bounds) > -CLEAR and one.gap(two) < CLEAR:
            wrong.append(f"{one.name!r} nearly touches {two.name!r}")
    # Every line is clear of the lettering, a label's own leader too.
    for label, line in itertools.product((*lettered, *bars), lines):
        if _overlap(label.bounds, line.bounds) > -CLEAR and label.gap(line) < CLEAR:
            wrong.append(f"{label.name!r} touches ink on {line.layer} {line.name}")
    return wrong + _blocks([*lettered, *bars, *lines])


class _Ink:
    """Strokes of one width: their middle lines, and how far they reach."""

    def __init__(
        self, name: str, layer: str, width: float, commands: Commands, box: Box | None = None
    ) -> None:
        self.name, self.layer, self.half = name, layer, width / 2.0
        lines = _lines(commands)
        points = np.concatenate([np.array(line) for line in lines])
        which = np.repeat(np.arange(len(lines)), [len(line) for line in lines])
        self.shape = shapely.multilinestrings(shapely.linestrings(points, indices=which))
        shapely.prepare(self.shape)
        x0, y0, x1, y1 = self.shape.bounds
        self.bounds = (x0 - self.half, y0 - self.half, x1 + self.half, y1 + self.half)
        self.box = self.bounds if box is None else box

    def gap(self, other: "_Ink | shapely.Geometry") -> float:
        """Return the white between this ink and other ink."""
        if isinstance(other, _Ink):
            return float(shapely.distance(self.shape, other.shape)) - self.half - other.half
        return float(shapely.distance(self.shape, other)) - self.half


def _within(box: Box, low: tuple[float, float], high: tuple[float, float]) -> bool:
    return box[0] >= low[0] and box[1] >= low[1] and box[2] <= high[0] and box[3] <= high[1]


def _overlap(a: Box, b: Box) -> float:
    """Return by how much two boxes overlap; negative, how far they are apart."""
    return min(min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1]))


def _styles(caught: Caught) -> list[str]:
    """Return what is wrong with heights and widths, and whether all lettering is what was asked for."""
    sheet, wrong = caught.sheet, []
    for path in lines_of(sheet):
        if path.style.width not in WIDTHS and not (path.style.fill and path.style.width == 0.0):
            wrong.append(f"a line {path.style.width} wide on {path.layer}")
    for path in lettering_of(sheet):
        height = round(path.style.width * 10.0, 6)
        if height not in HEIGHTS:
            wrong.append(f"lettering {height} high on {path.layer}")
        asked = [
            command
            for line in caught.lettered
            if (line.layer, line.height) == (path.layer, height)
            for command in line.ink
        ]
        if path.layer != "scale" and len(asked) != len(path.commands):
            wrong.append(f"lettering on {path.layer} that nobody asked for")
    return wrong


def _blocks(inks: list[_Ink]) -> list[str]:
    """Return what lies in a block that should stand alone: bars, title block, numbers, directions, card."""
    wrong = []
    for block in BLOCKS:
        pieces = [ink for ink in inks if ink.layer == block]
        # The bars are an L, so each piece of theirs stands for itself; the others are upright boxes.
        areas = [piece.shape for piece in pieces]
        if pieces and block != "scale":
            corners = np.array([piece.bounds for piece in pieces])
            areas = [shapely.box(*corners[:, :2].min(axis=0), *corners[:, 2:].max(axis=0))]
        wrong += [
            f"a stray line in the {block}, from {ink.layer}"
            for ink, area in itertools.product(inks, areas)
            if ink.layer != block and _overlap(ink.bounds, area.bounds) > -CLEAR and ink.gap(area) < CLEAR
        ]
    return wrong


def _blends(steps: int) -> list[tuple[float, float, float, float]]:
    ts = [step / steps for step in range(1, steps + 1)]
    return [((1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t * t, t**3) for t in ts]


_FEW, _MANY = _blends(4), _blends(24)


def _lines(commands: Commands) -> list[list[tuple[float, float]]]:
    """Return the middle lines of commands, curves in chords, at most 0.01 mm off on lettering and discs."""
    lines: list[list[tuple[float, float]]] = []
    for command in commands:
        match command:
            case ("M", x, y):
                lines.append([(x, y)])
            case ("L", x, y):
                lines[-1].append((x, y))
            case ("C", x1, y1, x2, y2, x3, y3):
                x0, y0 = lines[-1][-1]
                lines[-1] += [
                    (a * x0 + b * x1 + c * x2 + d * x3, a * y0 + b * y1 + c * y2 + d * y3)
                    for a, b, c, d in (_FEW if abs(x3 - x0) + abs(y3 - y0) < 5.0 else _MANY)
                ]
            case _:
                lines[-1].append(lines[-1][0])
    # A dot is a line to nowhere.
    return [line for line in lines if len(line) > 1]


def test_a_sheet_has_no_running_text() -> None:
    sheets: list[Sheet] = [caught.sheet for caught in sample_sheets("avocet", "outboard", "A4")]
    assert all(isinstance(record, Path) for sheet in sheets for record in sheet.records)

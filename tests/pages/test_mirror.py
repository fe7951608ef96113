"""The view from inboard is the view from outboard turned over left to right: the drawing, not the words."""

import math

import pytest

from sheets.ink.records import Arc, Circle, Commands, Curve, Feature, Path, Point, Segment, Sheet, Slot
from tests.pages.jobs import SAMPLES, Caught, lettering_of, lines_of, sample_sheets

Shape = tuple[object, ...]
FURNITURE = ("bar ", "card ", "caliper ", "cope ")
"""Bars and cut-outs are no part of the drawing, and of a cope each view shows the half in front of it."""


def both(name: str, size: str) -> list[tuple[Caught, Caught]]:
    """Return each sheet of a sample seen from outboard and from inboard."""
    return list(zip(sample_sheets(name, "outboard", size), sample_sheets(name, "inboard", size), strict=True))


# On A3 nothing is cut off at the sides, where the two views might differ.
@pytest.mark.parametrize("name", SAMPLES)
def test_features_are_mirrored_about_the_axle(name: str) -> None:
    for outboard, inboard in both(name, "A3"):
        one, two = (_drawing(caught.sheet) for caught in (outboard, inboard))
        assert list(one) == list(two)
        for which, feature in one.items():
            turned_over = _shape(feature, outboard.sheet.axle, -1.0)
            assert _flat(_shape(two[which], inboard.sheet.axle, 1.0)) == pytest.approx(
                _flat(turned_over), abs=1e-6
            ), which
        # Not the same drawing by chance: the mount is to one side of the axle.
        assert _flat(_shape(one["hole far"], outboard.sheet.axle, 1.0)) != pytest.approx(
            _flat(_shape(two["hole far"], inboard.sheet.axle, 1.0)), abs=1.0
        )


@pytest.mark.parametrize("name", SAMPLES)
def test_bars_and_lettering_are_not_mirrored(name: str) -> None:
    for outboard, inboard in both(name, "A4"):
        bars = [
            {f.name: f for f in caught.sheet.features if f.name.startswith("bar ")}
            for caught in (outboard, inboard)
        ]
        assert len(bars[0]) == 4
        for which, bar in bars[0].items():
            assert _run(bar) == pytest.approx(_run(bars[1][which]), abs=1e-9)
        for one, two in zip(*(_bar_words(caught.sheet) for caught in (outboard, inboard)), strict=True):
            assert one == pytest.approx(two, abs=1e-6)
        words = [{line.text: _homed(line.ink) for line in caught.lettered} for caught in (outboard, inboard)]
        shared = set(words[0]) & set(words[1])
        assert {"forward" if outboard.sheet.kind == "template" else "outboard", "axle to near hole"} <= shared
        for text in shared:
            assert words[0][text] == pytest.approx(words[1][text], abs=1e-6), text


@pytest.mark.parametrize("name", SAMPLES)
def test_forward_and_the_wheel_turn_over(name: str) -> None:
    outboard, inboard = both(name, "A4")[0]
    # Seen from outboard, the rider's left, the bicycle faces left and its wheels turn anticlockwise.
    assert _heads(outboard) == {"forward": 180, "up": 90, "wheel": 1}
    assert _heads(inboard) == {"forward": 0, "up": 90, "wheel": -1}


@pytest.mark.parametrize("name", SAMPLES)
def test_the_words_tell_the_views_apart(name: str) -> None:
    for outboard, inboard in both(name, "A4"):
        said = {
            "template": ("seen from outboard", "seen from inboard, mirrored"),
            "face": ("Face, seen square onto it", "Face, mirrored: seen from behind it"),
        }[outboard.sheet.kind]
        for caught, yes, no in ((outboard, *said), (inboard, *reversed(said))):
            assert yes in caught.title
            assert no not in caught.title


def _drawing(sheet: Sheet) -> dict[str, Feature]:
    return {each.name: each for each in sheet.features if not each.name.startswith(FURNITURE)}


def _shape(feature: Feature, axle: Point, sign: float) -> list[Point]:
    """Return a feature's points seen from the axle, turned over where the sign is negative; sizes follow."""

    def at(point: Point) -> Point:
        return sign * (point[0] - axle[0]), point[1] - axle[1]

    match feature:
        case Circle():
            return [at(feature.centre), (feature.diameter, 0.0)]
        case Segment():
            return [at(feature.start), at(feature.end)]
        case Slot():
            return [at(feature.start), at(feature.end), (feature.width, 0.0)]
        case Curve():
            return [at(point) for point in feature.points]
        case Arc():
            ends = [
                (
                    feature.centre[0] + feature.diameter / 2.0 * math.cos(math.radians(angle)),
                    feature.centre[1] + feature.diameter / 2.0 * math.sin(math.radians(angle)),
                )
                for angle in (feature.start, feature.end)
            ]
            # Arcs run anticlockwise on either page.
            return [
                at(feature.centre),
                *sorted(map(at, ends), key=lambda end: end[1]),
                (feature.diameter, 0.0),
            ]


def _flat(points: list[Point]) -> list[float]:
    return [value for point in points for value in point]


def _run(bar: Feature) -> Point:
    assert isinstance(bar, Segment)
    return bar.end[0] - bar.start[0], bar.end[1] - bar.start[1]


def _bar_words(sheet: Sheet) -> list[list[float]]:
    """Return the bars' lettering, each of its strokes brought home."""
    return [_homed(path.commands, each=True) for path in lettering_of(sheet, "scale")]


def _homed(ink: Commands, each: bool = False) -> list[float]:
    """Return the numbers of strokes moved to start at nought; with `each`, every stroke by itself."""
    numbers: list[float] = []
    home = ink[0][1:3]
    for command in ink:
        if each and command[0] == "M":
            home = command[1:3]
        numbers += [value - home[i % 2] for i, value in enumerate(command[1:])]
    return numbers


def _heads(caught: Caught) -> dict[str, int]:
    """Return where the arrow heads point: by name, degrees; for the wheel +1 anticlockwise, -1 clockwise."""
    (heads,) = [path for path in lines_of(caught.sheet) if path.layer == "directions" and path.style.fill]
    names = {line.text: line.box for line in caught.lettered if line.layer == "directions"}
    tips = [_head(heads, i) for i in range(0, len(heads.commands), 4)]
    assert len(tips) == 3
    found: dict[str, int] = {}
    for name in ("forward", "up"):
        middle = complex((names[name][0] + names[name][2]) / 2.0, (names[name][1] + names[name][3]) / 2.0)
        # A name stands beyond its arrow's tip, in line with it.
        tip, way = next(
            (tip, way)
            for tip, way in tips
            if abs(((middle - tip) / way).imag) < 1 < ((middle - tip) / way).real
        )
        tips.remove((tip, way))
        found[name] = round(math.degrees(math.atan2(way.imag, way.real))) % 360
    # The arrows run from the middle, 12 mm to their tips; the last head goes round it.
    first = next(
        path for path in lines_of(caught.sheet) if path.layer == "directions" and not path.style.fill
    )
    (_, x, y), (_, x2, y2) = first.commands[:2]
    outward = complex(x2 - x, y2 - y) / abs(complex(x2 - x, y2 - y))
    centre = complex(x, y) - 2.0 * outward
    (tip, way) = tips[0]
    turn = ((tip - centre).conjugate() * way).imag
    found["wheel"] = round(math.copysign(1.0, turn))
    return found


def _head(path: Path, start: int) -> tuple[complex, complex]:
    """Return tip and direction of an arrow head: a triangle that begins at its tip."""
    tip, left, right = (complex(*command[1:3]) for command in path.commands[start : start + 3])
    way = tip - (left + right) / 2.0
    return tip, way / abs(way)

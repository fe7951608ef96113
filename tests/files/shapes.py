"""Sheets for the tests, drawn by hand: every kind of feature, each with the path that shows it."""

import math
from dataclasses import replace

from sheets.ink.paper import PAPERS
from sheets.ink.records import (
    Arc,
    Circle,
    Command,
    Commands,
    Curve,
    Feature,
    Paper,
    Path,
    Point,
    Segment,
    Sheet,
    Slot,
    Style,
)

WIDE = Style(0.35)
THIN = Style(0.18)


def arc(centre: Point, radius: float, start: float, end: float) -> Commands:
    """Return an arc in cubics of 30 degrees or less; angles in degrees, turning from start to end."""
    count = max(1, math.ceil(abs(end - start) / 30))
    step = math.radians(end - start) / count
    pull = 4 / 3 * math.tan(step / 4) * radius
    commands: list[Command] = []
    leaving = (0.0, 0.0)
    for index in range(count + 1):
        angle = math.radians(start) + index * step
        cos, sin = math.cos(angle), math.sin(angle)
        x, y = centre[0] + radius * cos, centre[1] + radius * sin
        if index:
            commands.append(("C", *leaving, x + pull * sin, y - pull * cos, x, y))
        else:
            commands.append(("M", x, y))
        leaving = (x - pull * sin, y + pull * cos)
    return tuple(commands)


def polyline(points: tuple[Point, ...]) -> Commands:
    return (("M", *points[0]), *(("L", *point) for point in points[1:]))


def slot(start: Point, end: Point, width: float) -> Commands:
    along = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
    far = arc(end, width / 2, along - 90, along + 90)
    near = arc(start, width / 2, along + 90, along + 270)
    return (*far, ("L", *near[0][1:]), *near[1:], ("Z",))


def outline(feature: Feature) -> Commands:
    """Return the commands that draw a feature."""
    match feature:
        case Circle(centre=centre, diameter=diameter):
            return (*arc(centre, diameter / 2, 0, 360), ("Z",))
        case Segment(start=start, end=end):
            return polyline((start, end))
        case Arc(centre=centre, diameter=diameter, start=start, end=end):
            return arc(centre, diameter / 2, start, end)
        case Slot(start=start, end=end, width=width):
            return slot(start, end, width)
        case Curve(points=points):
            return polyline(points)


def sheet(
    *features: Feature, paper: Paper = PAPERS["A4"], more: tuple[Path, ...] = (), margin: float = 8.0
) -> Sheet:
    """Return a sheet that draws and names the given features."""
    paths = tuple(Path(outline(feature), WIDE, "features", feature.name) for feature in features)
    return Sheet(
        "template", "Ø test – sheet", paper, margin, "outboard", (60.0, 80.0), True, paths + more, features
    )


def redrawn(original: Sheet, *features: Feature) -> Sheet:
    """Return the sheet with these features drawn in place of those of the same names."""
    by_name = {feature.name: feature for feature in features}
    paths = tuple(
        replace(path, commands=outline(by_name[path.name])) if path.name in by_name else path
        for path in original.records
    )
    return replace(original, records=paths)


EVERY_KIND: tuple[Feature, ...] = (
    Circle("hole near", (60.0, 80.0), 6.2),
    Circle("rotor", (100.123, 150.456), 160.0),
    Segment("bar across", (20.0, 20.0), (170.0, 20.0)),
    Segment("bar down", (15.0, 30.0), (15.0, 180.0)),
    Arc("edge", (120.0, 160.0), 60.0, 200.0, 335.0),
    Slot("slot", (120.0, 60.0), (131.0, 67.5), 6.5),
    Slot("straight slot", (150.0, 60.0), (150.0, 72.0), 5.2),
    Curve("cope", tuple((30.0 + i, 200.0 + 9 * math.sin(i / 5)) for i in range(60))),
)

RING = (*arc((40.0, 120.0), 5, 0, 360), ("Z",), *arc((40.0, 120.0), 3, 0, 360), ("Z",))
ARROW = (*polyline(((150.0, 100.0), (160.0, 103.0), (160.0, 97.0))), ("Z",))
LETTERING = tuple(
    command
    for x in range(30, 150, 3)
    for command in polyline(((x, 230.0), (x + 1.0, 233.5), (x + 2.0, 230.0)))
)
TRIMMINGS = (
    Path(polyline(((40.0, 250.0), (160.0, 250.0))), Style(0.18, (4.32, 0.54, 0.09, 0.54)), "axes"),
    Path((*arc((60.0, 80.0), 12.0, 0, 360), ("Z",)), Style(0.18, (2.16, 0.54)), "axes", "hidden ring"),
    Path(RING, Style(0, fill=True), "marks"),
    Path(ARROW, Style(0.18, fill=True), "marks", "arrow"),
    Path(LETTERING, Style(0.35, cap="round"), "lettering"),
)


def full_sheet(paper: Paper = PAPERS["A4"]) -> Sheet:
    """Return a sheet with every kind of feature and every style of ink."""
    return sheet(*EVERY_KIND, paper=paper, more=TRIMMINGS)

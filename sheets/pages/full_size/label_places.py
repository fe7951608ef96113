"""Where on an arc or a circle its label may hang."""

from geometry.core.plane import along, polar
from sheets.ink.records import Arc, Circle, Point


def along_arc(arc: Arc) -> list[Point]:
    """Return points on an arc to label it at, off its middle, where the mount is not."""
    radius, run = arc.diameter / 2.0, arc.end - arc.start
    return [along(arc.centre, (radius, polar(arc.start + share * run))) for share in (0.1, 0.9, 0.5)]


def all_round(circle: Circle, away: float) -> list[Point]:
    """Return points all round a circle to label it at, beginning off the mount's side."""
    turns = (90.0, -90.0, 120.0, -120.0, 150.0, -150.0, 180.0, 60.0, -60.0)
    return [along(circle.centre, (circle.diameter / 2.0, polar(away + turn))) for turn in turns]

"""Numbers that were shipped and were wrong: what a mount that was built to them does, and which one fits.

A packet is told by the radii of the holes that it drew, a mount by the three lengths that a survey finds.
"""

import functools
import math
from pathlib import Path

from geometry.clearance.bodies import caliper, seat
from geometry.core.frozen import dataclass
from geometry.core.plane import triangle_foot
from geometry.core.say import Say, say
from geometry.core.tables import Grade, Source, numbered, table
from geometry.mount.placement import Placement, place
from geometry.tables.axles import End, axles
from geometry.tables.interfaces import Interface, resolve, rows

_PARTS = ("near", "far", "spacing")
_FILE = Path(__file__).with_name("recalls.toml")


@dataclass(frozen=True, slots=True)
class Recall:
    """A row's numbers as they once were: the wrong one by its key, and near, far and spacing with it, mm."""

    row: str
    end: End
    key: str
    what: str
    radii: tuple[float, float, float]
    why: str

    @property
    def was(self) -> float:
        """Return what the wrong number was, mm."""
        return self.radii[_PARTS.index(self.key.partition(".")[2])]

    @property
    def now(self) -> float:
        """Return what the number is today, mm."""
        return dict(numbered(rows()[self.row]))[self.key].value

    @property
    def title(self) -> Say:
        """Return whose numbers they were: the row's title and name."""
        return say("recall.title", title=rows()[self.row].title, row=self.row)

    @property
    def sentence(self) -> Say:
        """Return what was wrong, and what is right."""
        return say("recall.wrong", title=self.title, what=self.what, was=self.was, now=self.now)

    @property
    def fits(self) -> Say:
        """Return that a mount fits these numbers."""
        near, far, spacing = self.radii
        return say("recall.fits", row=self.row, near=near, far=far, spacing=spacing, wrong=self.sentence)


@dataclass(frozen=True, slots=True)
class Effect:
    """What a mount does that was built to a recalled row, its hole line parallel to the host, mm and degrees.

    `near` and `far` are how far each hole lies from where it belongs. With a caliper on them the pads sit
    `outward` and `along` the disc's track, and stand turned by `turned` to the disc. `inside` is how far the
    highest pads on sale then still end inside the disc's edge.
    """

    near: float
    far: float
    outward: float
    along: float
    turned: float
    inside: float


@dataclass(frozen=True, slots=True)
class _Radii:
    values: tuple[float, ...]
    grade: Grade
    source: Source


@dataclass(frozen=True, slots=True)
class _Row:
    row: str
    end: End
    key: str
    what: str
    radii: _Radii
    why: str


@functools.cache
def recalls() -> tuple[Recall, ...]:
    """Return every recalled set of numbers, in the table's order."""
    found = []
    for each in table(_FILE).rows("recall", _Row):
        near, far, spacing = each.radii.values
        found.append(Recall(each.row, each.end, each.key, each.what, (near, far, spacing), each.why))
    return tuple(found)


def of_row(form: Interface) -> tuple[Recall, ...]:
    """Return the recalled sets of a shipped row; none for a job's own."""
    return () if form.own else tuple(each for each in recalls() if each.row == form.name)


@functools.cache
def effect(recall: Recall) -> Effect:
    """Return what a mount does that was built to recalled numbers, against the row as it is today.

    A caliper on an adapter is taken to go where the middle between both holes goes.
    """
    form = resolve(recall.row, recall.end, None, 0.0)
    near, far, spacing = recall.radii
    x, h = triangle_foot(near, far, spacing, recall.row)
    x_far = x + spacing
    placement = _placed(form)
    pads = seat(placement, caliper(placement))
    along, up = pads.along, pads.up
    aside = (x + x_far - form.x_near - form.x_far) / 2.0
    moved = along + aside, up + h - form.h
    radius, now = math.hypot(along, up), math.hypot(*moved)
    turned = math.atan2(up, along) - math.atan2(moved[1], moved[0])
    height = caliper(placement).pad_height
    highest = height.value if height.high is None else height.high
    return Effect(
        near=math.hypot(x - form.x_near, h - form.h),
        far=math.hypot(x_far - form.x_far, h - form.h),
        outward=now - radius,
        along=abs(turned) * radius,
        turned=math.degrees(abs(turned)),
        inside=form.native / 2.0 - now - highest / 2.0,
    )


def _placed(form: Interface) -> Placement:
    """Return the row on any axle system of its end; where it sits sideways changes nothing here."""
    system = next(each for each in axles().values() if each.end == form.end and each.rotor is not None)
    host = "chainstay" if form.end == "rear" else "fork-leg"
    return place(form, system, rotor=form.native, host=host, direction=180.0)

"""A mount that was measured through its adapter: taken back to the mount, as far as the adapter is known.

Only a post adapter is: its own post holes are those of a mount made for the larger disc, which lies on the
post row's path. How a tab's or a flat mount's adapter carries the caliper stands in no text that was found.
Lengths mm.
"""

import math
from dataclasses import replace

from geometry.core.errors import GeometryError, TableError
from geometry.core.say import named, say
from geometry.survey.learn import Learned, Quantity
from geometry.tables.adapters import Bolts, adapter
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import first, second_sets, table, takes_usual

_WHERE = "adapter"


def check_adapter(family: Family, end: End, native: float, step: float) -> None:
    """Raise GeometryError where a mount cannot be told from readings on an adapter of this step, mm."""
    if step == 0.0:
        return
    if family != "post":
        raise GeometryError.at(_WHERE, say(f"learned.adapter.{family}", mount=named(f"{family}-mount")))
    try:
        # A caliper of the family was on it, so that the holes are as far apart as those are made for.
        adapter(Bolts(family, end), native, native + step)
    except TableError as error:
        raise GeometryError.at(_WHERE, error.problems[0].what) from error


def without_adapter(found: Learned, family: Family, end: End, native: float, step: float) -> Learned:
    """Return the mount made for `native` beneath an adapter of this step on whose holes `found` was read, mm.

    It lies back along the post row's path by half of the step. The bands take what adapters of different
    makers differ by, and how far both published paths differ over the step. Raise GeometryError as
    `check_adapter` does, and where the holes lie too far apart or too near for an adapter that is known.
    """
    check_adapter(family, end, native, step)
    row = first(family, end)
    if step == 0.0 or row is None or row.path is None:
        return found
    spacing = found.x_far.value - found.x_near.value
    if not takes_usual(family, end, spacing):
        mount = named(f"{family}-mount")
        raise GeometryError.at(
            _WHERE, say("learned.adapter_spacing", mount=mount, spacing=spacing, usual=row.apart)
        )
    way, half = math.radians(row.path.angle.value), step / 2.0
    other = second_sets().get(row.name)
    apart = 0.0 if other is None else abs(math.radians(other.angle.value) - way) * abs(half)
    spread = table().number("adapter_spread", "position").value

    def moved(each: Quantity, by: float, more: float) -> Quantity:
        return replace(each, value=each.value - by, band=math.hypot(each.band, more))

    more = math.hypot(spread, apart)
    h = moved(found.h, half * math.sin(way), more)
    near, far = (moved(each, half * math.cos(way), more) for each in (found.x_near, found.x_far))
    radii = [
        replace(each, value=math.hypot(h.value, x.value), band=math.hypot(each.band, more))
        for each, x in ((found.near, near), (found.far, far))
    ]
    lateral = None if found.lateral is None else moved(found.lateral, 0.0, spread)
    return replace(found, h=h, x_near=near, x_far=far, near=radii[0], far=radii[1], lateral=lateral)

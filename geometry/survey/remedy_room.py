"""What leaves room for a remedy: thickness to spare, play of screws in their holes, and discs on sale."""

import math
from dataclasses import replace

from geometry.clearance.bodies import caliper, seat
from geometry.core.errors import TableError
from geometry.core.tables import Number
from geometry.survey.limits import numbers
from geometry.survey.survey import Pads, Survey
from geometry.tables.adapters import Adapter, adapter, bolts, disc
from geometry.tables.fasteners import screw
from geometry.tables.interfaces import Interface


def least_size(form: Interface) -> Number | None:
    """Return the least thickness of a tab or length of a post or boss that the table knows; None for none.

    A tab's is the lower end of its row's band; where the thread is in the boss its length is the row's, which
    is drawn for the least depth of thread. What a rear flat mount needs under the screw's head is not known.
    """
    tab = form.tab_thickness
    if form.family == "tab" and tab is not None:
        return Number(tab.value if tab.low is None else tab.low, tab.grade, tab.source)
    return form.boss_length if form.hole.kind == "thread" else None


def spare(form: Interface, size: float | None) -> float:
    """Return how much may come off beyond the stock, mm: nothing where size or least size is not known."""
    least = least_size(form)
    return 0.0 if size is None or least is None else max(0.0, size - least.value)


def half_play(form: Interface) -> Number:
    """Return how far a screw may stand off the middle of its hole, mm; `high` is the most that some have.

    The play is in the frame's own hole, or where the thread is in the frame in that of the caliper's ear or
    its plate (survey.toml, remembered).
    """
    size = screw(form.hole.screw).diameter
    hole = numbers()[f"play.{form.hole.screw}"] if form.hole.kind == "thread" else form.hole.diameter
    most = hole.value if hole.high is None else hole.high
    half, high = (max(0.0, (each - size) / 2.0) for each in (hole.value, most))
    grade = hole.grade if form.hole.kind == "thread" else "D"
    return Number(half, grade, hole.source, high=high)


def sides(survey: Survey) -> Number:
    """Return how far a caliper slides sideways either way, mm: in the frame's slots, or in its own."""
    return survey.adjustment or numbers()["play.slide"]


def pads_once_level(survey: Survey, height: float | None) -> Pads | None:
    """Return where the pads go once a post's or boss's face is faced or shimmed to an error in height, mm.

    None for a height leaves them where the survey found them; None comes back where they are not settled.
    """
    if height is None or survey.pads is None:
        return survey.pads
    place = survey.placement
    # Only the pads' place is used, which no caliper of a job's own alters.
    pad = seat(place, caliper(place)).pad
    along, up = (pad[0] * way[0] + pad[1] * way[1] for way in (place.t, place.n))
    errors = [each.error for key in ("along_near", "along_far") if (each := survey.miss(key)) is not None]
    aside = sum(each or 0.0 for each in errors) / 2.0
    move = math.hypot(along + aside, up + height) - math.hypot(along, up)
    return replace(survey.pads, move=move, out=max(0.0, abs(move) - survey.pads.play))


def discs(survey: Survey, move: float, room: float, largest: float | None) -> list[tuple[float, Adapter]]:
    """Return discs whose track lies under moved pads, with the adapter, the nearest in size first."""
    place = survey.placement
    form, fitted = place.interface, 2.0 * place.rotor.radius
    found: list[tuple[float, float, Adapter]] = []
    for carried in disc().sizes:
        try:
            step = adapter(bolts(form), form.native, carried)
        except TableError:
            continue
        for size in disc().sizes:
            off = abs(carried + 2.0 * move - size) / 2.0
            if off <= room and size != fitted and (largest is None or size <= largest):
                found.append((abs(size - fitted), size, step))
    return [(size, step) for _, size, step in sorted(found, key=lambda each: each[:2])]

"""What a survey tells of a mount: each error by its key, how it follows from the parameters, and its limit.

A quantity's gradient says how it moves with the eight parameters of geometry/survey/model.py; lengths are
mm, the turn is told in degrees.
"""

import math

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.survey.limits import limits, numbers, published, stem
from geometry.survey.model import LEAN_BASE, P, nominal
from geometry.survey.readings import stand_offs
from geometry.survey.trilateration import Floats
from geometry.tubes.tube import Tube

_ENDS = (("near", -0.5), ("far", 0.5))


@dataclass(frozen=True, slots=True)
class Quantity:
    """One error against the drawing at some parameters: `wanted` by the drawing, `error` found less wanted.

    `limit` is plus or minus beyond `band`, which holds what published numbers allow; None where none applies.
    """

    key: str
    name: Say
    wanted: float
    error: float
    gradient: Floats
    limit: Number | None
    band: tuple[float, float]


def quantities(
    placement: Placement, p: Floats, *, faces: bool = True, sides: bool = True, tube: Tube | None = None
) -> tuple[Quantity, ...]:
    """Return a mount's errors at parameters (8,), in the order in which they are told.

    `faces` and `sides` tell height and place sideways at each hole, else once for both; `tube` is the host
    that a turn about the axle is seen by: without one that can be read, a turn has no limit.
    """
    form = placement.interface
    tab = form.family == "tab"
    wanted = nominal(placement)
    given = limits(form)
    found: list[Quantity] = []

    def add(key: str, name: Say, value: tuple[float, float, Floats], limited: bool = True) -> None:
        limit = given[stem(key)] if limited else None
        found.append(Quantity(key, name, *value, limit, published(form, key) if limited else (0.0, 0.0)))

    def line(*parts: tuple[P, float]) -> tuple[float, float, Floats]:
        gradient = np.zeros(len(P))
        for which, share in parts:
            gradient[which] = share
        return float(gradient @ wanted), float(gradient @ (p - wanted)), gradient

    def radius(which: P) -> tuple[float, float, Floats]:
        gradient = np.zeros(len(P))
        size = math.hypot(p[which], p[P.UP])
        gradient[which], gradient[P.UP] = p[which] / size, p[P.UP] / size
        should = math.hypot(wanted[which], wanted[P.UP])
        return should, size - should, gradient

    spacing = line((P.FAR, 1.0), (P.NEAR, -1.0))
    if tab:
        add("near", say("reading.what.near"), radius(P.NEAR))
        add("far", say("reading.what.far"), radius(P.FAR))
        add("spacing", say("reading.what.spacing"), spacing)
        add("height", say("survey.error.hole_line"), line((P.UP, 1.0)), False)
    elif faces:
        for hole, share in _ENDS:
            height = line((P.UP, 1.0), (P.UP_MORE, share))
            add(f"height_{hole}", say("survey.error.height_at", hole=named(hole)), height)
    else:
        add("height", say("survey.error.height"), line((P.UP, 1.0)))
    add("along_near", say("survey.error.along_near"), line((P.NEAR, 1.0)), not tab)
    add("along_far", say("survey.error.along_far"), line((P.FAR, 1.0)), not tab)
    if not tab:
        add("spacing", say("reading.what.spacing"), spacing)
    if sides:
        for hole, share in _ENDS:
            lateral = line((P.SIDE, 1.0), (P.SIDE_MORE, share))
            add(f"lateral_{hole}", say("survey.error.lateral_at", hole=named(hole)), lateral)
    else:
        add("lateral", say("survey.error.lateral"), line((P.SIDE, 1.0)))
    more = P.SIDE_MORE if tab else P.UP_MORE
    add("square_along", say("survey.error.square_along"), line((more, 1.0)))
    add("square_across", say("survey.error.square_across", base=LEAN_BASE), line((P.LEAN, 1.0)))
    turned = line((P.TURN, math.degrees(1.0)))
    add("turn", say("survey.error.turn"), turned, sees_turn(placement, tube))
    return tuple(found)


def sees_turn(placement: Placement, tube: Tube | None) -> bool:
    """Tell whether a reading to the host tube sees a turn about the axle well enough for its limit.

    One reading to the edge must tell the turn to half of it; a hole close to the axle's foot has no arm.
    """
    if tube is None:
        return False
    form = placement.interface
    least = form.hole.diameter.value / 2.0 if form.family == "tab" else 0.0
    told = math.radians(limits(form)["turn"].value) / 2.0
    spread = numbers()["reading.edge"].value
    return any(
        length > least and abs(arm) * told >= spread for length, arm in stand_offs(placement, tube).values()
    )

"""What can be read with a caliper on a mount that works, and what each reading shows. All lengths mm.

These are the readings of `learn`. What is judged on a finished mount is in readings.py; model.py says what
that means, and errors.py what it shares with other readings.
"""

from collections.abc import Mapping, Sequence
from enum import IntEnum
from typing import Literal

import numpy as np

from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.survey.trilateration import Floats, Model
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family


class P(IntEnum):
    """The parameters: what is learned of a mount, then what readings go over."""

    H = 0
    X_NEAR = 1
    X_FAR = 2
    LATERAL = 3
    AXLE = 4
    PIN = 5
    POCKET = 6
    WIDTH = 7


Base = Literal["near", "far", "spacing", "line"]
LEAST_GAP = 0.5
"""Gap into which inside jaws do not go, mm: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A reading that can be taken: its key, how it is taken, and what it shows.

    It shows a radius, the spacing, or ("line") nothing but the parameters in `plus`, each times its factor.
    `pins` is by how many loose pins' shifts it reads long: jaws push a pin in from outside, out from inside.
    """

    key: str
    how: Say
    base: Base
    plus: Mapping[P, float]
    pins: float = 0.0


def kinds(family: Family, end: End) -> tuple[Kind, ...]:
    """Return the readings that can be taken on a mount of this family, in the order in which to ask."""
    tab = family == "tab"
    half = {P.AXLE: 0.5, P.PIN: 0.5}
    part = "tab" if tab else "face"
    found = [
        Kind("axle", say("learned.how.axle"), "line", {P.AXLE: 1.0}),
        Kind("pin", say("learned.how.pin"), "line", {P.PIN: 1.0}),
    ]
    if not tab:
        found += _three("face", say("learned.what.face"), "line", {P.AXLE: 0.5}, {P.H: 1.0})
        for hole, x in (("near", P.X_NEAR), ("far", P.X_FAR)):
            what = say("learned.what.along", hole=named(hole))
            found += _three(f"along-{hole}", what, "line", half, {x: 1.0})
    radius = half if tab else {P.AXLE: 0.5}
    found += _three("near", say(f"learned.what.radius_{part}", hole=named("near")), "near", radius)
    found += _three("far", say(f"learned.what.radius_{part}", hole=named("far")), "far", radius)
    found += _three("spacing", say("learned.what.spacing"), "spacing", {P.PIN: 1.0})
    datum = say(f"learned.datum.{end}")
    side = {P.LATERAL: 1.0}
    found.append(Kind("side", say(f"learned.how.side_{part}", datum=datum), "line", side))
    width = {**side, P.WIDTH: 1.0 if tab else 0.5}
    found.append(Kind("side-outer", say(f"learned.how.side_outer_{part}", datum=datum), "line", width))
    found.append(Kind("width", say(f"learned.how.width_{part}"), "line", {P.WIDTH: 1.0}))
    if end == "front":
        inner = {**side, P.POCKET: 1.0}
        found.append(Kind("side-inner", say(f"learned.how.side_inner_{part}"), "line", inner))
        found.append(Kind("pocket", say("learned.how.pocket"), "line", {P.POCKET: 1.0}))
    return tuple(found)


def _three(
    key: str, what: Say, base: Base, over: Mapping[P, float], plus: Mapping[P, float] | None = None
) -> list[Kind]:
    """Return a distance read over both, between both, and as one between centres that is worked out."""
    own = dict(plus or {})
    goes_over = {(P.AXLE, P.PIN): "axle_and_pin", (P.AXLE,): "axle", (P.PIN,): "pins"}[tuple(over)]
    pins = 2.0 * over.get(P.PIN, 0.0)

    def how(way: str) -> Say:
        return say("learned.how.distance", what=what, way=say(f"learned.way.{way}"))

    less = {p: -f for p, f in over.items()}
    return [
        Kind(f"{key}-over", how(f"over_{goes_over}"), base, {**own, **over}, -pins),
        Kind(f"{key}-between", how(f"between_{goes_over}"), base, {**own, **less}, pins),
        # Whoever works it out has read it over pins on one side, most likely the outer one.
        Kind(key, how("worked_out"), base, own, -pins),
    ]


def stands_out(kind: Kind, at: Floats) -> float | None:
    """Return by how much the pin stands out beyond the dummy axle where outside jaws go over both, mm.

    At 0 or less the pin lies in the axle's shadow: the jaw meets the axle, and no caliper can take the
    reading. None for any other reading. `at` are the parameters (8,), a hole's place up the tube positive.
    """
    if kind.plus.get(P.AXLE, 0.0) <= 0.0 or kind.plus.get(P.PIN, 0.0) <= 0.0:
        return None
    return float(_distance(kind, at) + (at[P.PIN] - at[P.AXLE]) / 2.0)


def reachable(kind: Kind, at: Floats) -> bool:
    """Tell whether a caliper can take a reading on a mount with these parameters (8,), mm.

    Over axle and pin the pin must stand out beyond the axle; between them the jaws need a gap.
    """
    out = stands_out(kind, at)
    if out is not None:
        return out > 0.0
    if not kind.key.endswith("-between"):
        return True
    return _distance(kind, at) + float(sum(f * at[p] for p, f in kind.plus.items() if f < 0.0)) > LEAST_GAP


def _distance(kind: Kind, at: Floats) -> float:
    """Return the distance behind a reading, without what it goes over."""
    if kind.base == "spacing":
        return float(at[P.X_FAR] - at[P.X_NEAR])
    if kind.base == "line":
        return float(sum(f * at[p] for p, f in kind.plus.items() if p not in (P.AXLE, P.PIN)))
    return float(np.hypot(at[P.H], at[P.X_NEAR if kind.base == "near" else P.X_FAR]))


def model(taken: Sequence[Kind]) -> Model:
    """Return what readings show of parameters (..., 8), and the derivatives, for stacks of mounts."""
    fixed = np.zeros((len(taken), len(P)))
    for i, kind in enumerate(taken):
        for parameter, factor in kind.plus.items():
            fixed[i, parameter] = factor
        if kind.base == "spacing":
            fixed[i, P.X_FAR], fixed[i, P.X_NEAR] = 1.0, -1.0
    slanted = [(i, P.X_NEAR if kind.base == "near" else P.X_FAR) for i, kind in enumerate(taken)
               if kind.base in ("near", "far")]  # fmt: skip

    def called(at: Floats) -> tuple[Floats, Floats]:
        shown = at @ fixed.T
        slopes = np.broadcast_to(fixed, (*at.shape[:-1], *fixed.shape)).copy()
        for i, x in slanted:
            radius = np.hypot(at[..., P.H], at[..., x])
            shown[..., i] += radius
            slopes[..., i, P.H] += at[..., P.H] / radius
            slopes[..., i, x] += at[..., x] / radius
        return shown, slopes

    return called

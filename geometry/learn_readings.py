"""What can be read with a caliper on a mount that works, and what each reading shows. All lengths mm."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import IntEnum
from typing import Literal

import numpy as np

from geometry.axles import End
from geometry.interfaces import Family
from geometry.trilateration import Floats, Model


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


@dataclass(frozen=True, slots=True)
class Kind:
    """A reading that can be taken: its key, how it is taken, and what it shows.

    It shows a radius, the spacing, or ("line") nothing but the parameters in `plus`, each times its factor.
    """

    key: str
    how: str
    base: Base
    plus: Mapping[P, float]


def kinds(family: Family, end: End) -> tuple[Kind, ...]:
    """Return the readings that can be taken on a mount of this family, in the order in which to ask."""
    tab = family == "tab"
    half = {P.AXLE: 0.5, P.PIN: 0.5}
    found = [
        Kind("axle", "diameter of the dummy axle, or of the axle in the hub", "line", {P.AXLE: 1.0}),
        Kind("pin", "diameter of the pins in the holes", "line", {P.PIN: 1.0}),
    ]
    if not tab:
        found += _three("face", "mount face square to the axle's line", "line", {P.AXLE: 0.5}, {P.H: 1.0})
        for hole, x in (("near", P.X_NEAR), ("far", P.X_FAR)):
            what = f"along the face from the axle to the {hole} hole, jaws square to the face"
            found += _three(f"along-{hole}", what, "line", half, {x: 1.0})
    radius = half if tab else {P.AXLE: 0.5}
    where = "hole" if tab else "hole's middle in the face, slantwise"
    found += _three("near", f"axle to the near {where}", "near", radius)
    found += _three("far", f"axle to the far {where}", "far", radius)
    found += _three("spacing", "near hole to far hole", "spacing", {P.PIN: 1.0})
    datum = "dropout's inner face" if end == "rear" else "floor of the axle's pocket"
    middle = "tab's inner face" if tab else "middle of the holes"
    side = {P.LATERAL: 1.0}
    found.append(Kind("side", f"{datum} to the {middle}, sideways, + outboard", "line", side))
    outer = "tab's outer face" if tab else "outboard side of the post or boss"
    width = {**side, P.WIDTH: 1.0 if tab else 0.5}
    found.append(Kind("side-outer", f"{datum} to the {outer}, sideways, + outboard", "line", width))
    found.append(
        Kind("width", "thickness of the tab" if tab else "diameter of post or boss", "line", {P.WIDTH: 1.0})
    )
    if end == "front":
        inner = {**side, P.POCKET: 1.0}
        found.append(Kind("side-inner", f"fork end's inner face to the {middle}, + outboard", "line", inner))
        found.append(Kind("pocket", "depth of the pocket in the fork end", "line", {P.POCKET: 1.0}))
    return tuple(found)


def _three(
    key: str, what: str, base: Base, over: Mapping[P, float], plus: Mapping[P, float] | None = None
) -> list[Kind]:
    """Return a distance read over both, between both, and as one between centres that is worked out."""
    own = dict(plus or {})
    both = {
        (P.AXLE, P.PIN): "axle and pin",
        (P.AXLE,): "the axle",
        (P.PIN,): "both pins",
    }[tuple(over)]
    outside, inside = f"outside jaws over {both}", f"inside jaws between {both}"
    if both == "the axle":
        outside, inside = "to the axle's far side", "to the axle's near side"
    return [
        Kind(f"{key}-over", f"{what}: {outside}", base, {**own, **over}),
        Kind(f"{key}-between", f"{what}: {inside}", base, {**own, **{p: -f for p, f in over.items()}}),
        Kind(key, f"{what}: centre to centre, worked out by you", base, own),
    ]


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

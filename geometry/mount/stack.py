"""Lateral build-up: what there is to make up between a plate on the dummy axle and the mount.

The plate is square to the dummy axle and lies against one face of the left dropout. Inside, it is on the
wheel's side and its surface is the inner face, z = 0; outside, its surface is the outer face, z = the
dropout's thickness. A length is measured from that surface toward the mount: outboard from inside,
inboard from outside. It is negative where the mount reaches past the surface into the plate.

Stock left for facing is on the mount while it is stacked. On a tab it stands on the inner face, the datum:
that face is then so far inboard of where it ends, and what lies between it and a plate inside is so much
less; a plate outside touches the other face, which stays. On posts and flat mounts the stock stands along
the mount's normal, in the plane of the dropout, and moves nothing sideways.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from geometry.core.errors import GeometryError
from geometry.core.say import Say
from geometry.core.tables import Grade, Number, weakest
from geometry.mount.placement import Placement
from geometry.mount.spacers import in_mm
from geometry.tables.axles import axles

PlateFace = Literal["inside", "outside"]
_BAR = "ground bar of 3/4 and 1 in: common practice, no source"
DUMMY_AXLES = Number(19.05, "D", _BAR), Number(25.4, "D", _BAR)
_SAME_DIAMETER = 0.005
_NOTHING = 0.001
_STOCK = "stock left for facing"
_DATUM = {"tab": "tab's inner face", "post": "middle line of posts", "flat": "middle line of screws"}


@dataclass(frozen=True, slots=True)
class Link:
    """One step of the chain from the plate to the mount, mm, + along the stack; tolerance None: unknown."""

    name: str
    length: float
    tolerance: float | None
    grade: Grade
    source: Say | str


@dataclass(frozen=True, slots=True)
class BuildUp:
    """The chain from the plate's surface at `start_z` to the mount's datum at `end_z`, mm.

    The links add up to `length`, which ends at the datum as it is once faced. `stack` is what the pieces
    fill, up to the side of the mount that faces the plate, with its stock on: `length` less `mount_share`;
    None where the mount's own size is not known, or where it hangs on a bar. `worst_case` and
    `rss` cover the links whose tolerance is known; `unknown` names the others. `adjustment` is the
    caliper's sideways play either way, None where no number was found. `sentences` are for the card.
    """

    plate_face: PlateFace
    start_z: float
    end_z: float
    length: float
    links: tuple[Link, ...]
    stack: float | None
    mount_share: Link | None
    worst_case: float
    rss: float
    unknown: tuple[str, ...]
    interface_tolerance: float | None
    adjustment: Number | None
    grade: Grade
    sentences: tuple[str, ...]

    @property
    def filling(self) -> str:
        """Return in words, without an end, what lies between plate and mount and what of it is to fill."""
        part = self.mount_share
        if part is None or self.stack is None:
            return f"plate to mount {self.length:.2f} mm"
        less = f"less {part.name} {-part.length:.2f}: {self.stack:.2f} to fill"
        return f"plate to mount {self.length:.2f} mm, {less}"


@dataclass(frozen=True, slots=True)
class Sleeve:
    """A reducing sleeve, mm: `inside` runs on the dummy axle, `outside` in the plate's bore."""

    inside: float
    outside: float

    @property
    def wall(self) -> float:
        """Return the sleeve's wall, mm."""
        return (self.outside - self.inside) / 2.0


def worst_case(tolerances: Iterable[float]) -> float:
    """Return the sum of the tolerances' sizes: every error at its end and all the same way."""
    return math.fsum(abs(each) for each in tolerances)


def rss(tolerances: Iterable[float]) -> float:
    """Return the root of the sum of squares, for errors that are independent and centred."""
    return math.hypot(*tolerances)


def sleeve(plate_bore: float, axle: float) -> Sleeve | None:
    """Return the sleeve between a plate's bore and a dummy axle, or None where they are equal (to 0.005).

    Raise GeometryError where the axle is thicker than the bore.
    """
    if abs(plate_bore - axle) < _SAME_DIAMETER:
        return None
    if axle > plate_bore:
        over = in_mm(axle - plate_bore)
        why = f"{in_mm(axle)} does not pass the plate's bore of {in_mm(plate_bore)} by {over}"
        raise GeometryError.at("axle.dummy", f"{why}; bore it larger, or use a thinner dummy axle")
    return Sleeve(axle, plate_bore)


def build_up(
    placement: Placement,
    *,
    plate_face: PlateFace,
    plate: float | None,
    dropout_thickness: float | None,
    mount_size: float | None = None,
    fit: float = 0.05,
    facing: float = 0.0,
    collar: float = 0.0,
    hung: bool = False,
) -> BuildUp:
    """Return the chain from the plate's surface to the mount, mm.

    `plate` is the plate's thickness; `mount_size` the boss's diameter, default the row's, or the tab's
    thickness once faced, which has no default since tabs differ by 3; `fit` how closely the pieces are
    chosen; `facing` the stock left on the mount face. `collar` holds the plate off the dropout, and a mount
    that is `hung` on a bar leaves nothing to fill. Raise GeometryError naming the job's key where a number
    is missing that the answer rests on.
    """
    inside = plate_face == "inside"
    if not inside and dropout_thickness is None:
        why = "missing; a plate on the outside starts that far outboard; measure it"
        raise GeometryError.at("dropout.thickness", f'{why}, or set bench.plate_face = "inside"')
    way = 1.0 if inside else -1.0
    start = (0.0 if inside or dropout_thickness is None else dropout_thickness) - way * collar
    links = _links(placement, way, None if inside else dropout_thickness, collar, fit)
    length = way * (placement.lateral_z - start) + 0.0
    share = None if hung else _share(placement, inside, mount_size, facing)
    stack = None if share is None else length + share.length
    if inside and placement.interface.family == "tab" and share is None:
        stack = length  # the pieces touch the datum itself
    known = [link.tolerance for link in links if link.tolerance is not None]
    return BuildUp(
        plate_face=plate_face,
        start_z=start,
        end_z=placement.lateral_z,
        length=length,
        links=links,
        stack=stack,
        mount_share=share,
        worst_case=worst_case(known),
        rss=rss(known),
        unknown=tuple(link.name for link in links if link.tolerance is None),
        interface_tolerance=placement.interface.lateral.tolerance,
        adjustment=_adjustment(placement),
        grade=weakest(link.grade for link in (*links, *((share,) if share else ()))),
        sentences=(
            *_ends(placement),
            *_stock(placement, facing, mount_size),
            *(() if hung else _reach(placement, length, stack, plate_face, plate)),
        ),
    )


def _links(
    placement: Placement, way: float, thickness: float | None, collar: float, fit: float
) -> tuple[Link, ...]:
    lateral, pocket = placement.interface.lateral, placement.axle.pocket
    start, links = "inner face", []
    if collar:
        links.append(Link("collar between plate and dropout", collar, fit, "own", "turned to length"))
    if thickness is not None:
        links.append(Link("dropout, outer to inner face", thickness, None, "own", "dropout.thickness"))
    if placement.end == "front":
        depth = way * placement.datum_shift + 0.0
        tolerance: float | None = None
        source: Say | str = "axle.pocket"
        if pocket is not None and placement.pocket_grade != "own":
            tolerance, source = pocket.tolerance, pocket.source
        start = "pocket floor"
        links.append(Link("inner face to pocket floor", depth, tolerance, placement.pocket_grade, source))
    name = f"{start} to {_DATUM[placement.interface.family]}"
    side = way * lateral.value + 0.0
    links.append(Link(name, side, lateral.tolerance, lateral.grade, lateral.source))
    links.append(Link("pieces, as closely as chosen", 0.0, fit, "own", "the tolerance asked of the pieces"))
    return tuple(links)


def _share(placement: Placement, inside: bool, size: float | None, facing: float) -> Link | None:
    """Return what the mount itself fills of the length, as a negative link; None for nothing, or unknown."""
    if placement.interface.family == "tab":
        if inside:
            return Link(_STOCK, -facing, None, "own", "process.facing") if facing else None
        return (
            None if size is None else Link("tab, inner to outer face", -size, None, "own", "boss.thickness")
        )
    boss = placement.interface.boss_diameter if size is None else Number(size, "own", "boss.diameter")
    return Link("half of the boss", -boss.value / 2.0, None, boss.grade, boss.source) if boss else None


def _adjustment(placement: Placement) -> Number | None:
    hole, width = placement.interface.hole, placement.interface.hole.diameter
    play = (hole.length - width.value) / 2.0 if hole.length else 0.0
    return Number(play, width.grade, width.source) if hole.kind == "slot" else None


def _ends(placement: Placement) -> tuple[str, ...]:
    """Return what the axle system does to the stack, in words."""
    if placement.end == "rear":
        return (
            "Rear quick release and thru axle ends take the same stack from the same face: the pocket "
            "moves the hub's end, not the mount.",
        )
    known = [pocket for name in ("100x12", "100x15") if (pocket := axles()[name].pocket)]
    thin, thick = (in_mm(pocket.value) for pocket in known)
    return (
        f"Front ends differ: against quick release a 12 mm axle puts the mount {thin} mm further outboard, "
        f"a 15 mm axle {thick} mm.",
        f"This end's pocket is {in_mm(placement.datum_shift)} mm deep, and the stack has it in.",
    )


def _stock(placement: Placement, facing: float, size: float | None) -> tuple[str, ...]:
    """Return what the stock left on a tab's inner face means for its blank, in words."""
    if not facing or placement.interface.family != "tab":
        return ()
    blank = "" if size is None else f" Cut the tab from plate {in_mm(size + facing)} mm thick."
    left = (
        f"Set the tab's inner face {in_mm(facing)} mm inboard of its finished place: that much is faced off."
    )
    return (f"{left}{blank}",)


def _reach(
    placement: Placement, length: float, stack: float | None, face: PlateFace, plate: float | None
) -> tuple[str, ...]:
    """Return what to do where the tab's thickness is unknown, and where the mount reaches into the plate."""
    share = "the tab's thickness" if placement.interface.family == "tab" else "half of the boss's diameter"
    less = f"take {share} off {in_mm(length)} mm, or give it under [boss]."
    said = (f"The pieces touch the mount's side, not its datum: {less}",) if stack is None else ()
    deep = -(length if stack is None else stack)
    if deep < _NOTHING:
        return said
    other = "outside" if face == "inside" else "inside"
    if plate is None:
        why = (
            f"missing; the mount reaches {in_mm(deep)} mm past the plate's surface, and the plate's thickness"
        )
        more = f'says whether a relief will do; give it, or set bench.plate_face = "{other}"'
        raise GeometryError.at("bench.plate", f"{why} {more}")
    relief = f"cut the {in_mm(plate)} mm plate clear through there"
    if deep < plate:
        relief = f"relieve the plate {in_mm(deep)} mm deep there ({in_mm(plate - deep)} mm stays)"
    past = f"The mount reaches {in_mm(deep)} mm past the plate's surface: {relief}"
    return *said, f"{past}, or shim the plate {in_mm(deep)} mm off the dropout, or locate from the {other}."

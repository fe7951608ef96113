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
from typing import Literal

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import Grade, Number, weakest
from geometry.mount.placement import Placement
from geometry.mount.spacers import in_mm
from geometry.tables.axles import axles

PlateFace = Literal["inside", "outside"]
_SAME_DIAMETER = 0.005
_NOTHING = 0.001


@dataclass(frozen=True, slots=True)
class Link:
    """One step of the chain from the plate to the mount, mm, + along the stack; tolerance None: unknown."""

    name: Say
    length: float
    tolerance: float | None
    grade: Grade
    source: Say | str


@dataclass(frozen=True, slots=True)
class BuildUp:
    """The chain from the plate's surface at `start_z` to the mount's datum, mm.

    The links add up to `length`, which ends at the datum as it is once faced. `stack` is what the pieces
    fill, up to the side of the mount that faces the plate, with its stock on: `length` less `mount_share`;
    None where the mount's own size is not known, or where it hangs on a bar. `worst_case` and
    `rss` cover the links whose tolerance is known; `unknown` names the others. `adjustment` is the
    caliper's sideways play either way, None where no number was found. `sentences` are for the card.
    """

    plate_face: PlateFace
    start_z: float
    length: float
    links: tuple[Link, ...]
    stack: float | None
    mount_share: Link | None
    worst_case: float
    rss: float
    unknown: tuple[Say, ...]
    interface_tolerance: float | None
    adjustment: Number | None
    grade: Grade
    sentences: tuple[Say, ...]

    @property
    def filling(self) -> Say:
        """Return, as a part of a sentence, what lies between plate and mount and what of it is to fill."""
        return self._filling("part")

    @property
    def filling_sentence(self) -> Say:
        """Return the same as a sentence."""
        return self._filling("sentence")

    def _filling(self, form: str) -> Say:
        part = self.mount_share
        if part is None or self.stack is None:
            return say(f"stack.filling.{form}.whole", length=self.length)
        length, less = self.length, -part.length
        code = "less" if self.stack >= 0.0 else "past"
        return say(
            f"stack.filling.{form}.{code}", length=length, part=part.name, by=less, stack=abs(self.stack)
        )


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
        sizes = {"axle": in_mm(axle), "bore": in_mm(plate_bore), "over": in_mm(axle - plate_bore)}
        raise GeometryError.at("axle.dummy", say("stack.axle_too_thick", **sizes))
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
        raise GeometryError.at("dropout.thickness", say("stack.no_thickness"))
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
    start, links = "face", []
    if collar:
        links.append(Link(say("stack.link.collar"), collar, fit, "own", say("stack.link.turned")))
    if thickness is not None:
        links.append(Link(say("stack.link.dropout"), thickness, None, "own", "dropout.thickness"))
    if placement.end == "front":
        depth = way * placement.datum_shift + 0.0
        tolerance: float | None = None
        source: Say | str = "axle.pocket"
        if pocket is not None and placement.pocket_grade != "own":
            tolerance, source = pocket.tolerance, pocket.source
        start = "floor"
        links.append(Link(say("stack.link.pocket"), depth, tolerance, placement.pocket_grade, source))
    name = say(f"stack.link.{start}_to.{placement.interface.family}")
    side = way * lateral.value + 0.0
    links.append(Link(name, side, lateral.tolerance, lateral.grade, lateral.source))
    links.append(Link(say("stack.link.pieces"), 0.0, fit, "own", say("stack.link.tolerance")))
    return tuple(links)


def _share(placement: Placement, inside: bool, size: float | None, facing: float) -> Link | None:
    """Return what the mount itself fills of the length, as a negative link; None for nothing, or unknown."""
    if placement.interface.family == "tab":
        if inside:
            return Link(say("stack.link.stock"), -facing, None, "own", "process.facing") if facing else None
        return None if size is None else Link(say("stack.link.tab"), -size, None, "own", "boss.thickness")
    boss = placement.interface.boss_diameter if size is None else Number(size, "own", "boss.diameter")
    return (
        Link(say("stack.link.half_boss"), -boss.value / 2.0, None, boss.grade, boss.source) if boss else None
    )


def _adjustment(placement: Placement) -> Number | None:
    hole, width = placement.interface.hole, placement.interface.hole.diameter
    play = (hole.length - width.value) / 2.0 if hole.length else 0.0
    return Number(play, width.grade, width.source) if hole.kind == "slot" else None


def _ends(placement: Placement) -> tuple[Say, ...]:
    """Return what the axle system does to the stack."""
    if placement.end == "rear":
        return (say("stack.rear_ends"),)
    known = [pocket for name in ("100x12", "100x15") if (pocket := axles()[name].pocket)]
    thin, thick = (in_mm(pocket.value) for pocket in known)
    found = (say("stack.front_ends", thin=thin, thick=thick),)
    if not placement.datum_shift:
        return found
    return (*found, say("stack.front_pocket", deep=in_mm(placement.datum_shift)))


def _stock(placement: Placement, facing: float, size: float | None) -> tuple[Say, ...]:
    """Return what the stock left on a tab's inner face means for its blank."""
    if not facing or placement.interface.family != "tab":
        return ()
    if size is None:
        return (say("stack.facing", facing=in_mm(facing)),)
    return (say("stack.facing_blank", facing=in_mm(facing), thick=in_mm(size + facing)),)


def _reach(
    placement: Placement, length: float, stack: float | None, face: PlateFace, plate: float | None
) -> tuple[Say, ...]:
    """Return what to do where the tab's thickness is unknown, and where the mount reaches into the plate."""
    part = "tab" if placement.interface.family == "tab" else "boss"
    said = (say(f"stack.no_size.{part}", length=in_mm(length)),) if stack is None else ()
    deep = -(length if stack is None else stack)
    if deep < _NOTHING:
        return said
    other = "outside" if face == "inside" else "inside"
    if plate is None:
        raise GeometryError.at("bench.plate", say("stack.no_plate", deep=in_mm(deep), other=other))
    relief = say("stack.cut_through", plate=in_mm(plate))
    if deep < plate:
        relief = say("stack.relieve", deep=in_mm(deep), left=in_mm(plate - deep))
    return *said, say("stack.reaches", deep=in_mm(deep), relief=relief, other=named(other))

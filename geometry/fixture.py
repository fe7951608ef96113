"""A fixture from plate and bar: it sits on the dummy axle and holds the mount where it is placed for tacking.

A side plate parallel to the dropout has the axle's bore. A tab is pinned to it through spacers. Posts and
flat mounts are drawn up to the underside of a bar, screwed and dowelled to the plate's side. A mount is held
with its stock for facing on: a tab's inner face by that much inboard, a bar by that much higher. A part's own
axes are `along`, up the tube from the foot of the axle's perpendicular, and `up`, towards the mount side.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.belt import Piece, polygon, room
from geometry.errors import GeometryError
from geometry.fixture_numbers import (
    Give,
    PlateMetal,
    bar_widths,
    bent_arm,
    cantilever,
    fixture_number,
    plate_metal,
    ring,
    value,
)
from geometry.fixture_play import Loose, loose
from geometry.fixture_shape import (
    ROUND,
    Drill,
    Part,
    bar_parts,
    bar_rows,
    half_across,
    key_rod,
    plate_outline,
    refuse_thin,
    rim,
    tab_holes,
    trimmed,
)
from geometry.placement import Placement
from geometry.plane import Point
from geometry.stack import PlateFace
from geometry.tables import weakest
from geometry.tube import Tube, Vector, half_axes, outline
from geometry.tube import centre as tube_centre


@dataclass(frozen=True, slots=True)
class Seam:
    """Room for a torch at the foot of a hole's boss or tab, side view, mm; 0 where plate covers the place."""

    name: str
    place: Point
    to_plate: float
    to_bar: float | None


@dataclass(frozen=True, slots=True)
class Fixture:
    """A fixture for one placement, mm.

    `surface_z` is the plate's surface towards the mount, `collar` what holds the plate off the dropout, and
    `spacer` what fills between plate and tab, None for a bar. `facing` is the stock on the mount face;
    `level` is the hole line, or the bar's underside with the stock in it. `line_in` is the bolt line from
    the bar's plate side, `bar` its width and height, `key_rod` what keys slots, empty for none; `loose`
    says how far all of it may let the mount stray.
    """

    family: str
    face: PlateFace
    plate: float
    assumed: bool
    metal: PlateMetal
    bore: float
    collar: float
    surface_z: float
    spacer: float | None
    level: float
    facing: float
    line_in: float | None
    bar: tuple[float, float] | None
    key_rod: str
    parts: tuple[Part, ...]
    gives: tuple[Give, ...]
    seams: tuple[Seam, ...]
    loose: Loose

    @property
    def side_plate(self) -> Part:
        """Return the part that sits on the axle."""
        return self.parts[0]


@dataclass(frozen=True, slots=True)
class Means:
    """What the workshop has for a fixture, mm: None where the job does not say.

    `mount_size` is the tab's thickness once faced, or the boss's diameter, None for the row's own; `sleeved`
    tells that a sleeve is between bore and axle.
    """

    face: PlateFace
    bore: float
    plate: float | None = None
    metal: str = "steel"
    dropout_thickness: float | None = None
    mount_size: float | None = None
    facing: float = 0.0
    sleeved: bool = False


def fixture(placement: Placement, means: Means, tubes: Iterable[Tube] = ()) -> Fixture:
    """Return the fixture for a placement, made by what the workshop has.

    Raise GeometryError, naming the job's key, where a number is missing or the parts cannot keep their webs.
    """
    metal = plate_metal(means.metal)
    thick = value("plate") if means.plate is None else means.plate
    if means.face == "outside" and means.dropout_thickness is None:
        raise GeometryError.at(
            "dropout.thickness",
            'missing; a fixture plate outside starts there: measure it, or set bench.plate_face = "inside"',
        )
    start = 0.0 if means.face == "inside" else means.dropout_thickness or 0.0
    way = 1.0 if means.face == "inside" else -1.0
    bare = way * (placement.lateral_z - start)
    form, tab = placement.interface, placement.interface.family == "tab"
    bore = Drill("axle", 0.0, 0.0, means.bore, "bore, slides on the axle", "dummy axle or its sleeve")
    row, bar_holes = (tab_holes(placement), ()) if tab else bar_rows(placement, means.facing)
    level = form.h if tab else form.h + means.facing
    pieces, relief = plate_outline(means.bore, row)
    refuse_thin(means.bore, row, pieces)
    given = tuple(tubes)
    # A tube that is not placed sideways cannot be told of; the set-up warns of it.
    proud = max((_proud(placement, each, pieces, start, way) for each in given if each.placed), default=0.0)
    half = 0.0 if tab else half_across(bar_holes[0])
    share = _mount_share(placement, means)
    collar = _halves(proud + value("air")) if proud > 0.0 else 0.0
    if tab:
        # Where the tab would reach into the plate it then lies flat on it, and needs no spacer as well.
        collar = max(collar, share - bare)
    else:
        # A boss hangs on a bar, whose hole wants its web, and must pass the plate.
        collar = max(collar, _halves(max(half, share + value("air")) - bare))
    line_in = bare + collar
    surface = start - way * collar
    side = Part(
        "side plate",
        pieces,
        (bore, *row),
        f"{metal.name} plate {trimmed(thick)}",
        row[0].up + rim(row),
        relief,
    )
    parts: tuple[Part, ...] = (side,)
    bar = None
    if not tab:
        width = next((each for each in bar_widths() if each >= line_in + half - 1e-9), None)
        if width is None:
            other = "outside" if means.face == "inside" else "inside"
            raise GeometryError.at(
                "bench.plate_face",
                f"the bolt line is {line_in:.1f} from the plate, and no bar up to {bar_widths()[-1]:g} wide "
                f'reaches {half:.1f} past it; set bench.plate_face = "{other}"',
            )
        bar = (width, value("bar_height"))
        parts = (side, *bar_parts(placement, row, bar_holes, bar, level, surface, way))
    far = row[-1] if tab else max(row, key=lambda each: each.along)
    spacer = line_in - share if tab else None
    return Fixture(
        family=form.family,
        face=means.face,
        plate=thick,
        assumed=means.plate is None,
        metal=metal,
        bore=means.bore,
        collar=collar,
        surface_z=surface,
        spacer=spacer,
        level=level,
        facing=means.facing,
        line_in=None if tab else line_in,
        bar=bar,
        key_rod=key_rod(bar_holes),
        parts=parts,
        gives=(_plate_gives(row, far, means.bore, metal, thick), *_bar_gives(placement, row, bar)),
        seams=_seams(placement, given, pieces, level if bar else None),
        loose=loose(placement, row, bar_holes, thick, collar, spacer, means.sleeved),
    )


def _halves(length: float) -> float:
    """Return a length that nothing dictates, rounded up to halves of a millimetre; 0 for none."""
    return max(0.0, math.ceil(length / ROUND - 1e-6) * ROUND)


def _mount_share(placement: Placement, means: Means) -> float:
    """Return how far the mount reaches from its faced datum towards the plate, stock for facing on, mm."""
    form = placement.interface
    if form.family == "tab" and means.face == "inside":
        return means.facing
    usual, key = form.boss_diameter, "boss.diameter"
    if form.family == "tab":
        usual, key = form.tab_thickness, "boss.thickness"
    size = means.mount_size if means.mount_size is not None else usual.value if usual else None
    if size is None:
        raise GeometryError.at(
            key, "missing; the fixture's plate must pass the mount: measure it and give it"
        )
    return size if form.family == "tab" else size / 2.0


def _proud(placement: Placement, tube: Tube, pieces: tuple[Piece, ...], start: float, way: float) -> float:
    """Return how far a tube stands into the plate's room where the plate covers it, mm; 0 for not at all."""
    low, high = tube.span
    s = np.linspace(low, min(high, low + 200.0), 101)
    a, b = half_axes(tube, s)
    deep = 0.0
    points = polygon(pieces, 3.0)
    for share in (-1.0, -0.5, 0.0, 0.5, 1.0):
        side = np.array([tube_centre(tube, float(at)) for at in s])
        side[:, :2] += (share * a)[:, None] * np.asarray(tube.n0)
        flat = np.column_stack([side[:, :2] @ np.asarray(placement.t), side[:, :2] @ np.asarray(placement.n)])
        across = b * math.sqrt(1.0 - share * share)
        past = start - (side[:, 2] - across) if way > 0.0 else side[:, 2] + across - start
        covered = _covered(points, flat)
        deep = max(deep, float(past[covered].max(initial=0.0)))
    return deep


def _covered(around: Vector, points: Vector) -> NDArray[np.bool_]:
    """Return which points (n, 2) a polygon winds round."""
    away = around[None] - points[:, None]
    following = np.roll(away, -1, axis=1)
    cross = away[..., 0] * following[..., 1] - away[..., 1] * following[..., 0]
    winding = np.arctan2(cross, (away * following).sum(axis=2)).sum(axis=1)
    found: NDArray[np.bool_] = np.abs(winding) > math.pi
    return found


def _plate_gives(row: tuple[Drill, ...], far: Drill, bore: float, metal: PlateMetal, thick: float) -> Give:
    """Return how far the plate's far end gives under a hand pressing square to the plate."""
    near = row[0]
    arm = (near.radius, far.along - near.along)
    wide = 2.0 * rim(row)
    # The first arm tapers from the ring; at the mean of its ends' widths it gives a little more than it does.
    first = ring(bore) + wide / 2.0
    turn = near.angle
    hand = fixture_number("hand")
    amount = bent_arm(hand.value, arm, turn, metal.stiffness.value, (first, wide), thick)
    how = f"arms {arm[0]:.1f} and {arm[1]:.1f} long, {first:.1f} and {wide:.1f} wide, elbow {turn:.0f}°"
    grade = weakest((hand.grade, metal.stiffness.grade))
    return Give("side plate", hand.value, sum(arm), amount, grade, how)


def _bar_gives(
    placement: Placement, row: tuple[Drill, ...], bar: tuple[float, float] | None
) -> tuple[Give, ...]:
    """Return how far a bar gives where it overhangs its last screw, as a cantilever; nothing for a tab."""
    if bar is None:
        return ()
    form, hand = placement.interface, fixture_number("hand")
    screws = [each.along for each in row if each.name.startswith("screw")]
    over = max(min(abs(x - at) for at in screws) for x in (form.x_near, form.x_far))
    steel = plate_metal("steel").stiffness
    amount = cantilever(hand.value, over, steel.value, *bar)
    how = f"{over:.1f} past its screw, {bar[0]:g} × {bar[1]:g} steel"
    return (Give("bar", hand.value, over, amount, weakest((hand.grade, steel.grade)), how),)


def _seams(
    placement: Placement, tubes: tuple[Tube, ...], pieces: tuple[Piece, ...], bar: float | None
) -> tuple[Seam, ...]:
    """Return the room at the foot of each hole, where it stands on its host tube; empty without that tube."""
    host = next((each for each in tubes if each.name == placement.host), None)
    if host is None:
        return ()
    edge, _ = outline(host, (0.0, 0.0, 1.0), (*host.n0, 0.0))
    flat = [(float(p[:2] @ np.asarray(placement.t)), float(p[:2] @ np.asarray(placement.n))) for p in edge]
    form = placement.interface
    found = []
    for name, x in (("near", form.x_near), ("far", form.x_far)):
        at = min(max(x, flat[0][0]), flat[-1][0])
        up = float(np.interp(at, [u for u, _ in flat], [v for _, v in flat]))
        to_plate = max(0.0, -room(pieces, (at, up)))
        found.append(Seam(name, (at, up), to_plate, None if bar is None else bar - up))
    return tuple(found)

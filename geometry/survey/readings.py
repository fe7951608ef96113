"""What a caliper must show over the dummy axle, pins in the holes, faces and tubes, with go and no-go limits.

A reading is linear in the distance it checks: shown = distance + offset, where the offset holds the radii of
axle and pins. So each reading turns back into the distance it was taken for (`distance_from`). Limits are the
survey's (survey_limits), so that what passes on paper passes there. What no caliper can take is left out:
`reachable` says what that is, and `unreachable` why, so that sheets of before are still read. What a reading
is goes by its kind, hole, jaws and pins: nothing reads its name.
"""

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.core.tables import Number
from geometry.mount.placement import Placement
from geometry.survey.limits import allowed, limits, numbers, published
from geometry.survey.reading import At, Jaws, Kind, Reading, Stage
from geometry.tubes.tube import Tube, outline

# A pin this much smaller than its hole already reads as much off as the table's closest tolerance allows.
_LOOSE = 0.1
_FACES = ("inner", "outer")
_STAGED: Mapping[Stage, str] = {"": "", "before": "-before-facing", "faced": "-faced"}
"""What a reading's key ends with that is taken with stock for facing on the face, or after it is gone."""


def reachable(jaws: Jaws, length: float, axle: float, pin: float, deep: float = 0.0) -> bool:
    """Tell whether a caliper can take a distance from the dummy axle to a pin, mm, `length` between centres.

    `axle` and `pin` are diameters, `deep` how far the axle lies below the place where the pin is touched: 0
    for pins along the axle, the height of the face for pins that stand in it. Where it is not 0, outside jaws
    meet the axle and not a pin that stands in its shadow; one that would clear the axle by less than the
    limit along the tube counts so too, because a mount within its limit must still be met by the jaw. Inside
    jaws need a gap, and reach no deeper than their length. Limit and length are in survey.toml (grade D).
    """
    if jaws == "inside":
        return length > (axle + pin) / 2.0 and deep <= numbers()["jaws.inside"].value
    return deep == 0.0 or length + pin / 2.0 >= axle / 2.0 + numbers()["limit.along"].value


def pin_for(hole: float, pins: Iterable[float]) -> float:
    """Return the largest pin that enters the hole with less than 0.1 play, or the drill's own size."""
    return max((pin for pin in pins if hole - _LOOSE < pin <= hole), default=hole)


def readings(
    placement: Placement,
    *,
    axle: float,
    pin: float | None = None,
    tube: Tube | None = None,
    dropout_thickness: float | None = None,
    facing: float = 0.0,
    drilled: float | None = None,
) -> tuple[Reading, ...]:
    """Return the checks of a mount, mm; what cannot be measured on it is left out.

    `axle` and `pin` are the diameters of dummy axle and pin (None: the drill's shank), `tube` the host,
    `facing` the stock left on the mount face, `drilled` the holes' diameter where it is not the row's, as in
    a mount that was built to another sheet. Raise GeometryError where a pin does not enter its hole.
    """
    peg = _peg(placement, pin, drilled)
    return (
        *(each for each, why in _holes(placement, axle, peg) if not why),
        *_face(placement, axle, facing),
        *(_tube(placement, tube, peg, facing) if tube is not None else ()),
        *_dropout(placement, peg, dropout_thickness, facing),
    )


def unreachable(
    placement: Placement, *, axle: float, pin: float | None = None, drilled: float | None = None
) -> Mapping[str, Say]:
    """Return why each reading is left out that no caliper can take, by its key; arguments as `readings`."""
    peg = _peg(placement, pin, drilled)
    found = {each.key: why for each, why in _holes(placement, axle, peg) if why}
    if placement.interface.hole.kind == "slot":
        ends = ("", "-at-near", "-at-far")
        slides = say("reading.why.slides")
        found |= {
            f"{face}-face-over-{each}{end}": slides for face in _FACES for each in _PEGS for end in ends
        }
    return found


@dataclass(frozen=True, slots=True)
class _Peg:
    """What stands in the holes: its diameter and its play, mm, and what it is, one of `_PEGS`."""

    size: float
    play: float
    kind: str

    @property
    def name(self) -> Say:
        return say(f"reading.peg.{self.kind.replace('-', '_')}")

    @property
    def both(self) -> Say:
        return say(f"reading.pegs.{self.kind.replace('-', '_')}")


_PIN, _SHANK = _PEGS = ("pin", "drill-shank")
"""What may stand in the holes, as keys have it: ground pins, or the shank of the drill that made them."""


def _peg(placement: Placement, pin: float | None, drilled: float | None) -> _Peg:
    form = placement.interface
    hole = form.hole.diameter.value if drilled is None else drilled
    if pin is not None and pin > hole:
        raise GeometryError.at("bench.pins", say("reading.pin_too_thick", pin=pin, hole=hole, by=pin - hole))
    size = hole if pin is None else pin
    more = numbers()["pin.tapped" if form.hole.kind == "thread" else "pin.drilled"].value
    return _Peg(size, hole - size + more, _SHANK if pin is None else _PIN)


def _holes(placement: Placement, axle: float, peg: _Peg) -> list[tuple[Reading, Say | None]]:
    """Return axle to near, axle to far and near to far, over both and between them, and why one is no use.

    Pins in a tab lie along the axle, and the caliper reads the radii. Pins in a face stand square to it: a
    square carries the axle up to the face, so that the height drops out.
    """
    form = placement.interface
    tab = form.family == "tab"
    lengths: dict[Kind, float] = {"near": form.radii[0], "far": form.radii[1]}
    if not tab:
        lengths = {"near": abs(form.x_near), "far": abs(form.x_far)}
    lengths["spacing"] = form.x_far - form.x_near
    early = form.hole.kind == "thread" and peg.kind == _SHANK
    found: list[tuple[Reading, Say | None]] = []
    for kind, length in lengths.items():
        axled = kind != "spacing"
        key = f"axle-to-{kind}" + ("" if tab else "-along-the-face") if axled else "near-to-far"
        what = say(f"reading.what.{kind}" if tab or not axled else f"reading.what.{kind}_face")
        half = ((axle if axled else peg.size) + peg.size) / 2.0
        pins: tuple[At, ...] = (
            ("near", "far") if kind == "spacing" else ("near" if kind == "near" else "far",)
        )
        behind = not tab and axled and (form.x_near if kind == "near" else form.x_far) < 0.0
        limit, span = _limit(placement, kind if tab or not axled else "along")
        ways: tuple[tuple[Jaws, str, float], ...] = (("outside", "over", 1.0), ("inside", "between", -1.0))
        for jaws, way, sign in ways:
            reading = _reading(
                f"{key}-{way}",
                what,
                _how(kind, way, peg, tab, behind),
                length,
                sign * half,
                limit,
                span,
                note=say("reading.note.before_tapping") if early else "",
                kind=kind,
                jaws=jaws,
                sign=-1.0 if behind else 1.0,
                pins=pins,
                play=peg.play,
            )
            found.append((reading, _why(placement, reading, length, axle, peg.size)))
    return found


def _how(kind: Kind, way: str, peg: _Peg, tab: bool, behind: bool) -> Say:
    if kind == "spacing" and tab:
        return say(f"reading.how.pins_{way}", pegs=peg.both)
    if kind == "spacing":
        return say(f"reading.how.pins_{way}_face", pegs=peg.both)
    hole = named(kind)
    if tab:
        return say(f"reading.how.axle_{way}", hole=hole, peg=peg.name)
    if way == "between":
        return say("reading.how.axle_between_face", hole=hole, peg=peg.name)
    return say("reading.how.blade_below" if behind else "reading.how.blade", hole=hole, peg=peg.name)


def _why(placement: Placement, reading: Reading, length: float, axle: float, pin: float) -> Say | None:
    """Return why no caliper can take a reading over or between, None where one can."""
    form = placement.interface
    deep = 0.0 if form.family == "tab" else form.h
    if reading.kind == "spacing":
        return None if reading.jaws == "outside" or length > pin else say("reading.why.pins_meet")
    if reachable(reading.jaws, length, axle, pin, deep):
        return None
    if reading.jaws == "outside":
        return say("reading.why.in_shadow")
    if length <= (axle + pin) / 2.0:
        return say("reading.why.pin_at_axle")
    return say("reading.why.too_deep", reach=numbers()["jaws.inside"].value, deep=form.h)


def _face(placement: Placement, axle: float, facing: float) -> list[Reading]:
    """Return mount face to the near and the far side of the dummy axle; a tab has no such face."""
    form = placement.interface
    if form.family == "tab":
        return []
    limit, span = _limit(placement, "height")
    found: list[Reading] = []
    for stock, stage in _stages(facing):
        for side, radius in (("near", -axle / 2.0), ("far", axle / 2.0)):
            if form.h + radius > 0.0:
                found.append(
                    _reading(
                        f"face-to-axle-{side}-side{_STAGED[stage]}",
                        say(f"reading.what.face_{side}"),
                        say(f"reading.face.{side}"),
                        form.h,
                        stock + radius,
                        limit,
                        span,
                        kind="face",
                        jaws="inside" if side == "near" else "outside",
                        base=side,
                        stage=stage,
                    )
                )
    return found


def _tube(placement: Placement, tube: Tube, peg: _Peg, facing: float) -> list[Reading]:
    """Return how far each hole stands off the host tube's edge, square to that edge in the side view.

    Between pin and tube for a tab; from a face the depth at the hole's centre. Left out where the hole lies
    on the tube, or beyond the length over which the tube is known. Its limits are those of a turn about the
    axle, which moves the hole square to the tube by its arm.
    """
    tab = placement.interface.family == "tab"
    turn = limits(placement.interface)["turn"]
    host = named(placement.host)
    found: list[Reading] = []
    for at, (length, arm) in stand_offs(placement, tube).items():
        less = peg.size / 2.0 if tab else 0.0
        if length <= less:
            continue
        how = say("reading.how.edge_face", hole=named(at), tube=host)
        if tab:
            how = say("reading.how.edge_pin", hole=named(at), peg=peg.name, tube=host)
        # One reading serves before and after: the face measured from stands out by the stock till then.
        moves = math.radians(turn.value) * abs(arm)
        found.append(
            _reading(
                f"{at}-hole-to-{placement.host}",
                say("reading.what.edge", hole=named(at), tube=host),
                how,
                length,
                -less,
                turn,
                (-moves, moves),
                note=say("reading.note.before_facing", more=facing) if facing and not tab else "",
                stock=0.0 if tab else facing,
                kind="edge",
                at=at,
                jaws="inside" if tab else "depth",
                pins=(at,) if tab else (),
                play=peg.play if tab else 0.0,
            )
        )
    return found


def stand_offs(placement: Placement, tube: Tube) -> Mapping[At, tuple[float, float]]:
    """Return by hole how far it stands off the host's edge, mm, and its arm about the axle along that edge.

    A hole that lies on the tube, or beside the length over which the tube is known, is left out.
    """
    edge, other = (line[:, :2] for line in outline(tube, (0.0, 0.0, 1.0), (*placement.n, 0.0)))
    ends: tuple[At, At] = ("near", "far")
    found = {
        at: _stand_off(np.asarray(hole.centre[:2]), edge, other)
        for at, hole in zip(ends, placement.holes, strict=True)
    }
    return {at: each for at, each in found.items() if each is not None}


def _stand_off(point: np.ndarray, edge: np.ndarray, other: np.ndarray) -> tuple[float, float] | None:
    """Return the distance square from a polyline to a point on the far side of it from `other`, or None.

    Beside it stands the arm: how far along the polyline's stretch the point lies from the axle.
    """
    best: tuple[float, float] | None = None
    for start, end in itertools.pairwise(edge):
        run = end - start
        share = float((point - start) @ run / (run @ run))
        way = run / float(np.hypot(*run))
        square = np.array([-way[1], way[0]])
        away = float((point - start) @ square)
        if away * float((other[0] - start) @ square) >= 0.0:
            continue
        if -1e-9 <= share <= 1.0 + 1e-9 and (best is None or abs(away) < best[0]):
            best = abs(away), float(point @ way)
    return best


def _dropout(placement: Placement, peg: _Peg, thickness: float | None, facing: float) -> list[Reading]:
    """Return the sideways checks, from the dropout's faces to a tab's inner face, over a pin, or to a slot.

    A pin slides along its slot, so that the slot's own end is read to.
    """
    z, hole = placement.lateral_z, placement.interface.hole
    slot = hole.length if hole.kind == "slot" else None
    tab = placement.interface.family == "tab"
    limit, span = _limit(placement, "lateral")
    deep = say("reading.note.pocket", depth=placement.pocket) if placement.datum_shift else ""
    faces = [(_FACES[0], z)] if thickness is None else [(_FACES[0], z), (_FACES[1], z - thickness)]
    part = "slot" if slot is not None else "tab" if tab else "peg"
    key = {"slot": "to-slot", "tab": "to-tab", "peg": f"over-{peg.kind}"}[part]
    found: list[Reading] = []
    for face, away in faces:
        where, sign = ("outboard", 1.0) if away > -1e-9 else ("inboard", -1.0)
        how = say(f"reading.sideways.{part}_{face}", where=named(where), peg=peg.name)
        if part == "tab" and abs(away) < 1e-9:
            how = say(f"reading.sideways.flush_{face}")
        # Stock on a tab's inner face moves that face inboard until it is faced off.
        for stock, stage in _stages(facing if tab else 0.0):
            found.append(
                _reading(
                    f"{face}-face-{key}{_STAGED[stage]}",
                    say(f"reading.what.{part}_{face}", peg=peg.name),
                    how,
                    abs(away),
                    -sign * stock if tab else (peg.size if slot is None else slot) / 2.0,
                    limit,
                    span,
                    note=deep,
                    kind="side",
                    jaws="depth" if face == "inner" else "outside",
                    base=face,
                    sign=sign,
                    pins=() if tab or slot is not None else ("near",),
                    play=peg.play,
                    stage=stage,
                )
            )
    return found


def _stages(facing: float) -> Sequence[tuple[float, Stage]]:
    return ((facing, "before"), (0.0, "faced")) if facing else ((0.0, ""),)


def _limit(placement: Placement, key: str) -> tuple[Number, tuple[float, float]]:
    """Return the limit of an error and the errors that it allows, as the survey has them."""
    form = placement.interface
    limit = limits(form)[key]
    return limit, allowed(limit, published(form, key))


def _reading(
    key: str,
    what: Say,
    how: Say,
    length: float,
    offset: float,
    limit: Number,
    span: tuple[float, float],
    *,
    kind: Kind,
    note: Say | str = "",
    at: At = "",
    jaws: Jaws = "outside",
    base: str = "",
    sign: float = 1.0,
    pins: tuple[At, ...] = (),
    play: float = 0.0,
    stage: Stage = "",
    stock: float = 0.0,
) -> Reading:
    nominal = length + offset
    low, high = sorted((nominal + sign * span[0], nominal + sign * span[1]))
    return Reading(
        key=key,
        what=what,
        how=how,
        nominal=nominal,
        low=low,
        high=high,
        offset=offset,
        note=note,
        kind=kind,
        at=at,
        jaws=jaws,
        base=base,
        sign=sign,
        pins=pins,
        play=play,
        stage=stage,
        limit=limit,
        stock=stock,
    )

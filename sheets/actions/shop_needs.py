"""What one frame needs on the bench, from the same values as its card and its fixture's patterns."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from geometry.core.plane import short
from geometry.fixture.belt import polygon
from geometry.fixture.fixture import Fixture
from geometry.fixture.numbers import value
from geometry.fixture.shape import JOINING, drilled, trimmed
from geometry.mount.bosses import blank_lengths
from geometry.mount.placement import Placement
from geometry.tables.fasteners import engagement, screw, screw_length
from sheets.job.read import Job
from sheets.setup.setup import SetUp
from sheets.words.fixture import slotted

_EQUAL = 0.005
_NUTS = 20.0
"""What a rod needs past both ends for its nuts, mm: own judgement."""
_PAST = 20.0
"""What a pin needs past plate and tab to be held by, mm: own judgement."""


@dataclass(frozen=True, slots=True)
class Need:
    """One thing that a frame needs: `size` is what stock goes by, mm, None where none is kept of it."""

    kind: str
    what: str
    size: float | None = None
    count: int = 1


def needs(job: Job, placement: Placement, setup: SetUp, pins: Sequence[float]) -> list[Need]:
    """Return what a frame needs besides dummy axle and spacers; `pins` are those in stock, mm."""
    face = placement.interface
    one = screw(face.hole.screw)
    length = "length by its card" if setup.screw_length is None else f"{setup.screw_length:g} under the head"
    found = [Need("screw", f"{face.hole.screw}, {length}", None, 2), _pin(placement, setup, pins)]
    if placement.adapter.step or "none" not in placement.adapter.name:
        found.append(Need("adapter", f"{placement.adapter.name}, disc {job.mount.rotor:g}"))
    if setup.sleeve is not None:
        ring = setup.sleeve
        found.append(Need("sleeve", f"bore {ring.inside:g}, outside {ring.outside:g}"))
    if setup.fixture is not None:
        found += fixture_needs(setup.fixture, job, placement)
    elif job.bench.plate is not None:
        bore = job.bench.plate_bore or job.axle.dummy
        found.append(Need("plate", f"{short(job.bench.plate)} thick, bore {short(bore)}", job.bench.plate))
    if face.hole.kind == "thread":
        found.append(Need("drill", f"Ø{one.tap_drill.value:g}", one.tap_drill.value))
        found.append(Need("tap", f"{one.name} × {one.pitch.value:g}"))
    else:
        found.append(Need("drill", f"Ø{face.hole.diameter.value:g}", face.hole.diameter.value))
    found += _mount(job, placement, setup)
    if job.process.filler:
        found.append(Need("filler", job.process.filler))
    return found


def _pin(placement: Placement, setup: SetUp, pins: Sequence[float]) -> Need:
    """Return the pins for the readings: where the drawer has none, the shanks of the hole's own drill do."""
    what = f"Ø{setup.pin:g}"
    kept = sum(abs(each - setup.pin) < _EQUAL for each in pins)
    if kept < 2 and abs(setup.pin - placement.interface.hole.diameter.value) < _EQUAL:
        return Need("pin", f"{what}, or shanks of that drill", None, 2)
    return Need("pin", what, setup.pin, 2)


def _mount(job: Job, placement: Placement, setup: SetUp) -> list[Need]:
    """Return the tab's plate, or the bosses as long as the card has them made, with their stock on."""
    face, stock = placement.interface, job.process.facing
    left = f", {stock:g} for facing in it" if stock else ""
    if face.family == "tab":
        thick = job.boss.thickness
        what = "plate, thickness not given" if thick is None else f"plate {short(thick + stock)} thick{left}"
        return [Need("tab", what)]
    word = "post" if face.family == "post" else "boss"
    found = [
        Need("boss", f"{word} Ø{_across(job, placement)} × {long}{left}", None, count)
        for long, count in _long(job, placement, setup).items()
    ]
    tube = job.tubes.given().get(job.mount.host)
    saw = job.boss.diameter if face.family == "flat" else tube and max(tube.diameters[0][1:])
    if saw:
        use = "to let the boss in" if face.family == "flat" else "nearest, to cope the post"
        found.append(Need("hole saw", f"Ø{saw:g} {use}", saw))
    return found


def _across(job: Job, placement: Placement) -> str:
    own, usual = job.boss.diameter, placement.interface.boss_diameter
    if own is not None:
        return f"{own:g}"
    return f"{usual.value:g} (grade {usual.grade})" if usual else "not given"


def _long(job: Job, placement: Placement, setup: SetUp) -> dict[str, int]:
    """Return how long the bosses are cut, in words, with how many of each."""
    own, usual = job.boss.length, placement.interface.boss_length
    graded = f" (grade {usual.grade})" if own is None and usual else ""
    cuts, stock = dict(blank_lengths(setup.bosses, job.process.facing)), job.process.facing
    found: dict[str, int] = {}
    for hole in placement.holes:
        near = job.boss.near_length if hole.name == "near" else None
        given = near if near is not None else own if own is not None else usual.value if usual else None
        said = graded if near is None else ""
        cut = cuts.get(hole.name)
        if cut is None:
            long = "not given" if given is None else f"{short(given + stock)}{said}"
        elif given is not None and cut > given + stock + _EQUAL:
            long = f"{short(cut)} or longer"
        else:
            long = f"{short(cut)}{said}"
        found[long] = found.get(long, 0) + 1
    return found


def fixture_needs(fix: Fixture, job: Job, placement: Placement) -> list[Need]:
    """Return what a fixture is made of and with: stock, pins, screws, drills and reamers."""
    around = polygon(fix.side_plate.outline, 1.0)
    wide, high = (math.ceil(each - 1e-9) for each in around.max(axis=0) - around.min(axis=0))
    thick = "" if not fix.assumed else " (ours)"
    blank = f"{fix.metal.name} {trimmed(fix.plate)}{thick} × {wide} × {high}, bore {trimmed(fix.bore)}"
    found = [Need("fixture plate", blank)]
    if fix.collar:
        found.append(Need("collar", f"{trimmed(fix.collar)} long, bore {short(job.axle.dummy)}"))
    if fix.side_plate.relief is not None:
        found.append(_drill(fix.side_plate.relief.diameter))
    if fix.bar is None:
        size = fix.side_plate.holes[1].diameter
        share = job.boss.thickness if job.boss.thickness is not None else 0.0
        long = math.ceil(fix.plate + (fix.spacer or 0.0) + share + job.process.facing + _PAST)
        return [
            *found,
            Need("dowel", f"pins Ø{size:g} × {long}: shanks of that drill, or ground h6", None, 2),
            *_reamed(size),
        ]
    height = fix.bar[1]
    joining, dowel = screw(JOINING), value("dowel")
    held = screw_length(joining, fix.plate, engagement(joining, "steel"))
    into = "length to measure" if held is None or held.stock is None else f"{held.stock:g} under the head"
    found += [
        Need("bar", f"steel {fix.parts[1].stock.removeprefix('bar ')}"),
        Need("screw", f"{joining.name}, {into}, plate to bar", None, 2),
        Need("dowel", f"Ø{dowel:g} h6 × {math.ceil(fix.plate + dowel * 2.0)}", None, 2),
        *_reamed(dowel),
        _drill(joining.tap_drill.value),
        _drill(joining.clearance["fine"].value),
        Need("tap", f"{joining.name} × {joining.pitch.value:g}"),
    ]
    slot = slotted(fix)
    if slot is not None:
        boss = job.boss.length or 0.0
        long = math.ceil(height + boss + job.process.facing + _NUTS)
        if fix.key_rod:
            found.append(
                Need("rod", f"{fix.key_rod} × {long}, bare, two nuts each, filed to key the slots", None, 2)
            )
        return [*found, _drill(slot.diameter)]
    one = screw(placement.interface.hole.screw)
    drawn = screw_length(one, height, engagement(one, "steel"))
    if drawn is not None and drawn.stock is not None:
        found.append(Need("screw", f"{one.name}, {drawn.stock:g} under the head, through the bar", None, 2))
    return [*found, *_reamed(one.diameter)]


def _drill(size: float) -> Need:
    return Need("drill", f"Ø{size:g}", size)


def _reamed(size: float) -> tuple[Need, Need]:
    return _drill(drilled(size)), Need("reamer", f"Ø{size:g} H7")

"""What one frame needs on the bench, from the same values as its card and its fixture's patterns."""

import math
from collections.abc import Sequence

from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import named, say
from geometry.core.tables import Number
from geometry.fixture.belt import polygon
from geometry.fixture.fixture import Fixture
from geometry.fixture.numbers import value
from geometry.fixture.shape import JOINING, drilled, trimmed
from geometry.mount.bosses import blank_lengths
from geometry.mount.placement import Placement
from geometry.tables.fasteners import engagement, screw, screw_length
from sheets.job.read import Job
from sheets.setup.setup import SetUp
from sheets.words.tell import tell

_EQUAL = 0.005
_NUTS = 20.0
"""What a rod needs past both ends for its nuts, mm: own judgement."""
_PAST = 20.0
"""What a pin needs past plate and tab to be held by, mm: own judgement."""
_NO_ADAPTER = "none"
"""How the table calls it where a mount needs none."""


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
    if setup.screw_length is None:
        what = tell("shop.screw_by_card", screw=face.hole.screw)
    else:
        what = tell("shop.screw", screw=face.hole.screw, length=setup.screw_length)
    found = [Need("screw", what, None, 2), _pin(placement, setup, pins)]
    if (name := placement.adapter.name) != _NO_ADAPTER:
        found.append(Need("adapter", tell("shop.adapter", name=name, rotor=job.mount.rotor)))
    if (ring := setup.sleeve) is not None:
        found.append(Need("sleeve", tell("shop.sleeve", inside=ring.inside, outside=ring.outside)))
    if setup.fixture is not None:
        found += fixture_needs(setup.fixture, job, placement)
    elif job.bench.plate is not None:
        bore = job.bench.plate_bore or job.axle.dummy
        what = tell("shop.plate", thick=short(job.bench.plate), bore=short(bore))
        found.append(Need("plate", what, job.bench.plate))
    if face.hole.kind == "thread":
        found += [_drill(one.tap_drill.value), Need("tap", f"{one.name} × {one.pitch.value:g}")]
    else:
        found.append(_drill(face.hole.diameter.value))
    found += _mount(job, placement, setup)
    if job.process.filler:
        found.append(Need("filler", job.process.filler))
    return found


def _pin(placement: Placement, setup: SetUp, pins: Sequence[float]) -> Need:
    """Return the pins for the readings: where the drawer has none, the shanks of the hole's own drill do."""
    kept = sum(abs(each - setup.pin) < _EQUAL for each in pins)
    if kept < 2 and abs(setup.pin - placement.interface.hole.diameter.value) < _EQUAL:
        return Need("pin", tell("shop.pin_or_shank", size=setup.pin), None, 2)
    return Need("pin", f"Ø{setup.pin:g}", setup.pin, 2)


def _mount(job: Job, placement: Placement, setup: SetUp) -> list[Need]:
    """Return the tab's plate, or the bosses as long as the card has them made, with their stock on."""
    face, stock = placement.interface, job.process.facing
    left = say("shop.facing", stock=stock) if stock else ""
    if face.family == "tab":
        if job.boss.thickness is None:
            return [Need("tab", tell("shop.tab_not_given"))]
        return [Need("tab", tell("shop.tab", thick=short(job.boss.thickness + stock), facing=left))]
    part, across = named("post" if face.family == "post" else "boss"), _across(job, placement)
    found = [
        Need("boss", tell("shop.boss", part=part, across=across, long=long, facing=left), None, count)
        for long, count in _long(job, placement, setup).items()
    ]
    tube = job.tubes.given().get(job.mount.host)
    saw = job.boss.diameter if face.family == "flat" else tube and max(tube.diameters[0][1:])
    if saw:
        use = "shop.saw_lets_in" if face.family == "flat" else "shop.saw_copes"
        found.append(Need("hole saw", tell(use, size=saw), saw))
    return found


def _across(job: Job, placement: Placement) -> str:
    own, usual = job.boss.diameter, placement.interface.boss_diameter
    if own is not None:
        return f"{own:g}"
    return _graded(f"{usual.value:g}", usual) if usual else tell("shop.not_given")


def _graded(size: str, usual: Number | None) -> str:
    return tell("shop.graded", size=size, grade=usual.grade) if usual else size


def _long(job: Job, placement: Placement, setup: SetUp) -> dict[str, int]:
    """Return how long the bosses are cut, in words, with how many of each."""
    own, usual = job.boss.length, placement.interface.boss_length
    cuts, stock = dict(blank_lengths(setup.bosses, job.process.facing)), job.process.facing
    found: dict[str, int] = {}
    for hole in placement.holes:
        near = job.boss.near_length if hole.name == "near" else None
        given = near if near is not None else own if own is not None else usual.value if usual else None
        graded = usual if near is None and own is None else None
        cut = cuts.get(hole.name)
        if cut is None:
            long = tell("shop.not_given") if given is None else _graded(short(given + stock), graded)
        elif given is not None and cut > given + stock + _EQUAL:
            long = tell("shop.or_longer", size=short(cut))
        else:
            long = _graded(short(cut), graded)
        found[long] = found.get(long, 0) + 1
    return found


def fixture_needs(fix: Fixture, job: Job, placement: Placement) -> list[Need]:
    """Return what a fixture is made of and with: stock, pins, screws, drills and reamers."""
    around = polygon(fix.side_plate.outline, 1.0)
    wide, high = (math.ceil(each - 1e-9) for each in around.max(axis=0) - around.min(axis=0))
    blank = tell(
        "shop.fixture_plate_ours" if fix.assumed else "shop.fixture_plate",
        metal=fix.metal.name,
        thick=trimmed(fix.plate),
        wide=wide,
        high=high,
        bore=trimmed(fix.bore),
    )
    found = [Need("fixture plate", blank)]
    if fix.collar:
        what = tell("shop.collar", long=trimmed(fix.collar), bore=short(job.axle.dummy))
        found.append(Need("collar", what))
    if fix.side_plate.relief is not None:
        found.append(_drill(fix.side_plate.relief.diameter))
    if fix.bar is None:
        size = fix.side_plate.holes[1].diameter
        share = job.boss.thickness if job.boss.thickness is not None else 0.0
        long = math.ceil(fix.plate + (fix.spacer or 0.0) + share + job.process.facing + _PAST)
        pins = Need("dowel", tell("shop.fixture_pins", size=size, long=long), None, 2)
        return [*found, pins, *_reamed(size)]
    height, stock = fix.bar[1], fix.parts[1].stock
    joining, dowel = screw(JOINING), value("dowel")
    held = screw_length(joining, fix.plate, engagement(joining, "steel"))
    if held is None or held.stock is None:
        screws = tell("shop.plate_to_bar_measured", screw=joining.name)
    else:
        screws = tell("shop.plate_to_bar", screw=joining.name, length=held.stock)
    found += [
        Need("bar", tell("shop.bar", width=stock["width"], height=height, long=stock["length"])),
        Need("screw", screws, None, 2),
        Need("dowel", f"Ø{dowel:g} h6 × {math.ceil(fix.plate + dowel * 2.0)}", None, 2),
        *_reamed(dowel),
        _drill(joining.tap_drill.value),
        _drill(joining.clearance["fine"].value),
        Need("tap", f"{joining.name} × {joining.pitch.value:g}"),
    ]
    slot = fix.slot
    if slot is not None:
        boss = job.boss.length or 0.0
        long = math.ceil(height + boss + job.process.facing + _NUTS)
        if fix.key_rod:
            found.append(Need("rod", tell("shop.rod", rod=fix.key_rod, long=long), None, 2))
        return [*found, _drill(slot.diameter)]
    one = screw(placement.interface.hole.screw)
    drawn = screw_length(one, height, engagement(one, "steel"))
    if drawn is not None and drawn.stock is not None:
        what = tell("shop.through_bar", screw=one.name, length=drawn.stock)
        found.append(Need("screw", what, None, 2))
    return [*found, *_reamed(one.diameter)]


def _drill(size: float) -> Need:
    return Need("drill", f"Ø{size:g}", size)


def _reamed(size: float) -> tuple[Need, Need]:
    return _drill(drilled(size)), Need("reamer", f"Ø{size:g} H7")

"""What it takes to set a mount up and to check it: worked out once, for the card and for `check`."""

import functools
from collections.abc import Mapping
from dataclasses import dataclass

from geometry.clearance.judged import listed, missing
from geometry.clearance.tilt import Tilts
from geometry.core.errors import GeometryError, TableError
from geometry.core.findings import Finding
from geometry.core.plane import short
from geometry.fixture.fixture import Fixture
from geometry.mount.bosses import LEAST, BossFit
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice, Stack
from geometry.mount.stack import BuildUp, Sleeve, sleeve
from geometry.survey.model import takeable
from geometry.survey.plan import plan, readings_for, too_close
from geometry.survey.reading import Reading
from geometry.survey.readings import pin_for, readings
from geometry.tables.cautions import Caution, cautions
from geometry.tables.fasteners import engagement, flat_screw, screw, screw_length, torque
from geometry.tubes.tube import Tube, plain
from sheets.home.own_operations import work
from sheets.home.printers import Printer, error_left, printer_of
from sheets.job.operations import NO_HEAT, NO_RIDE, brief, dangers
from sheets.job.operations import Operation as Operation
from sheets.job.read import Job
from sheets.setup.brake_screen import Loaded, loaded
from sheets.setup.clearances import Clear, clear, fits, nearer_of
from sheets.setup.stack import STACK_TOLERANCE as STACK_TOLERANCE
from sheets.setup.stack import stacked
from sheets.words.bosses import boss_words
from sheets.words.fixture import warnings as fixture_warnings
from sheets.words.readings import how_words, limit_words
from sheets.words.tell import lines


@dataclass(frozen=True, slots=True)
class SetUp:
    """Everything the card says beyond the placement itself.

    `build_up` and `choice` are None where a number is missing, and `stack_words` says which; all three are
    the fixture's where the job asks for one (see sheets/setup/stack.py). `screws` are
    name and value lines; `bosses` are near and far on their tube, empty for a tab or without the host tube,
    and `boss_words` what to say of them; `clear` what comes near what, and `tilts`, where the mount can
    go, is worked out for `check` alone. `reading_words` say whose the limits of the readings are and
    `how_words` how they are read; `print_words` say what error the paper leaves at the holes,
    and `load` where braking force goes. `fixture` is None where the job asks for none,
    `beyond` says that the host tube begins above the mount, where it does, and `unproven` that a tube may
    stand in the way of the fixture's plate, whose place is not known. `assumed` says that the dummy axle
    was not measured. `screw_length` is that of the mount's screws under their heads, mm, None where it is to
    be measured.
    """

    build_up: BuildUp | None
    choice: Choice | None
    stack_words: tuple[str, ...]
    sleeve: Sleeve | None
    readings: tuple[Reading, ...]
    pin: float
    screws: tuple[tuple[str, str], ...]
    bosses: tuple[BossFit, ...]
    boss_words: tuple[Finding, ...]
    clear: Clear
    operations: tuple[Operation, ...]
    cautions: tuple[Caution, ...]
    tilts: Tilts | None = None
    reading_words: tuple[str, ...] = ()
    how_words: tuple[str, ...] = ()
    print_words: tuple[str, ...] = ()
    load: Loaded | None = None
    fixture: Fixture | None = None
    beyond: str = ""
    unproven: str = ""
    assumed: str = ""
    screw_length: float | None = None

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is found beyond the placement's own findings."""
        found = []
        if self.beyond:
            found.append(Finding("begins-beyond", "warn", self.beyond))
        if self.assumed:
            found.append(Finding("dummy-assumed", "unknown", self.assumed, "axle.dummy"))
        found += self.clear.findings
        found += (each for each in self.boss_words if each.level != "note")
        found += self.load.findings if self.load else ()
        if self.fixture:
            found += (Finding("fixture-gives", "warn", each) for each in fixture_warnings(self.fixture))
            if self.unproven:
                found.append(Finding("fixture-unproven", "unknown", self.unproven))
        found += (Finding("order-of-work", "warn", each) for each in self.dangers)
        return tuple(found)

    @property
    def dangers(self) -> tuple[str, ...]:
        """Return what is dangerous in the order of work, a sentence each."""
        return dangers(self.operations)

    @property
    def unheld(self) -> tuple[str, ...]:
        """Return the hold points of every traveller that no operation of this order of work bears."""
        held = {step.hold for step in self.operations}
        return tuple(hold for hold in (NO_HEAT, NO_RIDE) if hold not in held)

    @property
    def work(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return the card's short list of work: each line with the check points that end it."""
        return brief(self.operations)


def set_up(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> SetUp:
    """Return the set-up of a job; raise InputError for a refused filler, a pin that does not fit, or a
    printer that is not known.
    """
    order = work(job, placement.interface.family)
    return _worked_out(job, placement, tuple(tubes.items()), printer_of(job), order)


@functools.lru_cache(maxsize=64)
def _worked_out(
    job: Job,
    placement: Placement,
    named: tuple[tuple[str, Tube], ...],
    printer: Printer | None,
    order: tuple[Operation, ...],
) -> SetUp:
    """Return the set-up of a job with what the builder keeps for all jobs: the printer and the order of work.

    Both come from files, which may be written between two jobs; nothing here reads one.
    """
    tubes = dict(named)
    family = placement.interface.family
    stack = stacked(job, placement, tubes)
    hole = placement.interface.hole.diameter.value
    pin = pin_for(hole, job.bench.pins)
    process = job.process
    bosses, said = _bosses(job, placement, tubes)
    near = clear(job, placement, tubes)
    host, thickness = tubes.get(placement.host), job.dropout.thickness
    listed = takeable(
        readings(
            placement,
            axle=job.axle.dummy,
            pin=pin,
            tube=host,
            dropout_thickness=thickness,
            facing=process.facing,
        ),
        family,
    )
    planned = plan(placement, listed, host, thickness)
    asked = readings_for(planned, listed)
    close = too_close(placement, planned, host, thickness)
    return SetUp(
        build_up=stack.build_up,
        choice=stack.choice,
        stack_words=stack.words,
        sleeve=sleeve(job.bench.plate_bore, job.axle.dummy) if job.bench.plate_bore else None,
        readings=asked,
        reading_words=limit_words(placement, asked, host, close),
        how_words=how_words(placement, thickness),
        pin=pin,
        screws=tuple(_screws(job, placement)),
        bosses=bosses,
        boss_words=said,
        clear=near,
        operations=order,
        cautions=cautions(process.method, process.material, process.filler, process.amps, family),
        print_words=error_left(job, placement, printer),
        load=loaded(job, placement, tubes, near.caliper, bosses),
        fixture=stack.fixture,
        beyond=begins_beyond(placement, tubes),
        unproven=_unproven(tubes),
        assumed=_assumed(job),
        screw_length=_length(job, placement)[0],
    )


def begins_beyond(placement: Placement, tubes: Mapping[str, Tube]) -> str:
    """Say that the host tube begins above the mount, which then has no tube under it; else an empty text."""
    tube = tubes.get(placement.host)
    if tube is None or tube.span[0] <= placement.interface.x_far:
        return ""
    return (
        f"The {placement.host.replace('-', ' ')} begins {short(tube.span[0])} mm from the axle, beyond the "
        f"far hole at {short(placement.interface.x_far)}: no tube is under the mount; see "
        f"tubes.{placement.host}.diameters."
    )


def _unproven(tubes: Mapping[str, Tube]) -> str:
    """Say of which tubes it is not known whether they stand in the way of a fixture's plate, or nothing."""
    unplaced = [(name, tube) for name, tube in tubes.items() if not tube.placed]
    if not unplaced:
        return ""
    names = listed([plain(name) for name, _ in unplaced])
    measure = " and ".join(missing(name, tube) for name, tube in unplaced)
    stand = "stands" if len(unplaced) == 1 else "stand"
    return f"Whether the {names} {stand} in the way of the fixture's plate is not known; {measure}."


def _assumed(job: Job) -> str:
    """Say that the dummy axle, on which readings rest, was not measured; nothing where it was."""
    if "dummy" in job.axle.model_fields_set:
        return ""
    return f"The dummy axle is taken to be {job.axle.dummy:g}: measure yours and give it as axle.dummy."


def left_words(stack: Stack) -> str:
    """Say by how much the pieces miss the length."""
    if abs(stack.leftover) < 0.0005:
        return "nothing left over"
    return f"{abs(stack.leftover):.3f} {'short' if stack.leftover > 0.0 else 'over'}"


def _bosses(
    job: Job, placement: Placement, tubes: Mapping[str, Tube]
) -> tuple[tuple[BossFit, ...], tuple[Finding, ...]]:
    """Return how the bosses meet the host tube, and the words; boss sizes are the job's, or the table's."""
    face, boss = placement.interface, job.boss
    tube, table = tubes.get(placement.host), job.tubes.given().get(job.mount.host)
    if tube is None or table is None or face.family == "tab":
        return (), ()
    host, part = plain(placement.host), face.part
    if not tube.placed:
        what = f"How the {part} meets the {host} is not known"
        unplaced = f"{what}; {missing(placement.host, tube)}."
        return (), (Finding("host-unplaced", "unknown", unplaced, f"tubes.{placement.host}"),)
    said = [
        Finding(
            "table-size",
            "note",
            f"The {name} {usual.value:g} is the table's, grade {usual.grade}: measure yours.",
            f"boss.{name}",
        )
        for name, own, usual in (
            ("diameter", boss.diameter, face.boss_diameter),
            ("length", boss.length, face.boss_length),
        )
        if own is None and usual is not None
    ]
    bosses = fits(job, placement, tubes)
    found = boss_words(
        bosses,
        host,
        screw(face.hole.screw),
        facing=job.process.facing,
        least=LEAST if boss.share is None else boss.share,
        own_least=boss.share is not None,
        wall=table.wall is not None,
        nearer=nearer_of(job, tubes, bosses),
    )
    return bosses, (*found, *said)


def _screws(job: Job, placement: Placement) -> list[tuple[str, str]]:
    """Return what the card says of the mount's screws: thread, holes, head, washer, length, torque."""
    face = placement.interface
    one = screw(face.hole.screw)
    head, knurled, washer = one.head.value, one.head_knurled.value, one.washer
    if face.hole.kind == "thread":
        made = f"drill {one.tap_drill.value:g}, tap {one.name} × {one.pitch.value:g}"
    else:
        fine, medium = one.clearance["fine"].value, one.clearance["medium"].value
        size = f"{face.hole.diameter.value:g}"
        hole = f"slot {size} × {face.hole.length:g}" if face.hole.kind == "slot" else f"hole {size}"
        made = f"{hole} (ISO 273: fine {fine:g}, medium {medium:g})"
    return [
        ("thread and holes", made),
        (
            "head and washer",
            f"head Ø{head:g}, knurled Ø{knurled:g}, {one.head_height.value:g} high, key {one.key.value:g}; "
            "washer "
            + " × ".join(f"{each.value:g}" for each in (washer.bore, washer.outside, washer.thickness)),
        ),
        ("length", _length(job, placement)[1]),
        ("engagement", _engagement_words(job, placement)),
        ("torque", torque().sentence),
    ]


def _length(job: Job, placement: Placement) -> tuple[float | None, str]:
    """Return a screw's length under its head, mm, None where it is to be measured, and the words."""
    face = placement.interface
    one = screw(face.hole.screw)
    if face.family == "flat" and face.end == "rear":
        if job.boss.length is None:
            return None, "thickness under the screw's head + 13, once boss.length says how thick it is"
        try:
            made = flat_screw(job.boss.length)
        except GeometryError as error:
            return None, "; ".join(lines(error))
        return made.shank, made.sentence
    if face.family == "tab":
        found = screw_length(one, job.boss.thickness, engagement(one, "aluminium"))
        if found is None:
            return None, "tab + washer + thread in the adapter; give boss.thickness"
        return found.stock, f"{found.sentence} In an aluminium adapter; its maker's length governs."
    return None, "measure what the caliper or its plate clamps, and add washer and engagement"


def _engagement_words(job: Job, placement: Placement) -> str:
    face = placement.interface
    one = screw(face.hole.screw)
    material = (job.process.material or "").lower()
    known = next(
        (each for each in ("titanium", "stainless", "aluminium", "brass") if each in material), "steel"
    )
    if face.hole.kind != "thread":
        return "the thread is in caliper or adapter: its maker's number"
    try:
        rule = engagement(one, known)
    except TableError as error:
        return "; ".join(lines(error))
    band = f" ({rule.low:g} to {rule.high:g})" if rule.high > rule.low else ""
    return f"at least {rule.length:g} mm of thread in {known}{band}; {rule.source}"

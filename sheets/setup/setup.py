"""What it takes to set a mount up and to check it: worked out once, for the card and for `check`."""

import functools
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace

from geometry.clearance.judged import missing
from geometry.clearance.plate_room import LeastPlate
from geometry.clearance.tilt import Tilts
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.plane import short
from geometry.core.say import Say, named
from geometry.fixture.fixture import Fixture
from geometry.mount.bosses import BossFit, least_needed
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice, Stack
from geometry.mount.stack import BuildUp, Sleeve, sleeve
from geometry.survey.model import takeable
from geometry.survey.plan import deciding, plan, readings_for, too_close
from geometry.survey.reading import Reading
from geometry.survey.readings import pin_for, readings
from geometry.tables.cautions import Caution, cautions
from geometry.tables.fasteners import screw
from geometry.tubes.tube import Tube
from sheets.home.own_operations import work
from sheets.home.printers import error_left, printer_of
from sheets.job.operations import Making, brief, dangers, hold_points, step_numbers
from sheets.job.operations import Operation as Operation
from sheets.job.read import Job
from sheets.setup.brake_screen import Loaded, loaded
from sheets.setup.carried import carrier_findings, holders, hole_findings, loose
from sheets.setup.clearances import Clear, clear, fits, mount_sizes, nearer_of
from sheets.setup.outline import Shape, shape
from sheets.setup.plate_room import plate_room, room_findings
from sheets.setup.screws import SCREW_LINES as SCREW_LINES
from sheets.setup.screws import bench_words, screw_length, screw_lines
from sheets.setup.stack import STACK_TOLERANCE as STACK_TOLERANCE
from sheets.setup.stack import Stacked, stacked
from sheets.words.bosses import boss_words, short_from_side
from sheets.words.fixture import warnings as fixture_warnings
from sheets.words.lengths import telling
from sheets.words.readings import how_words, limit_words
from sheets.words.tell import tell


# Without slots, so that its hash can be kept: sheets are kept by it, and all that it holds is asked for one.
@dataclass(frozen=True)
class SetUp:
    """Everything the card says beyond the placement itself.

    `build_up` and `choice` are None where a number is missing, and `stack_words` says which; all three are
    the fixture's where the job asks for one (see sheets/setup/stack.py). `screws` are lines by the keys of
    SCREW_LINES; `bosses` are near and far on their tube, empty for a tab or without the host tube, and
    `boss_words` what to say of them; `clear` what comes near what, and `tilts`, where the mount can go, is
    worked out for `check` alone. `reading_words` say whose the limits of the readings are and `how_words` how
    they are read; `print_words` say what error the paper leaves at the holes, and `load` where braking force
    goes. `fixture` is None where the job asks for none,
    `beyond` says that the host tube begins above the mount, where it does, and `unproven` that a tube may
    stand in the way of the fixture's plate, whose place is not known. `assumed` says that the dummy axle
    was not measured. `screw_length` is that of the mount's screws under their heads, mm, None where it is to
    be measured. `deciding` are the keys of the readings that a verdict cannot do without, the first first.
    `shape` is the dropout, None where the job does not say what it is shaped like, and `carried` what carries
    posts and bosses that lie below where the host tube is known. `plate_words` say what the builder's plate
    is, "" where there is none or a fixture's; `plate` is the least that it can be, None where its face is not
    known or a fixture has one, and `in_the_way` what stands in its room, or in the dummy axle's.
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
    print_words: tuple[Say, ...] = ()
    load: Loaded | None = None
    fixture: Fixture | None = None
    beyond: str = ""
    unproven: str = ""
    assumed: str = ""
    screw_length: float | None = None
    deciding: tuple[str, ...] = ()
    shape: Shape | None = None
    plate_words: str = ""
    carried: tuple[Finding, ...] = ()
    plate: LeastPlate | None = None
    in_the_way: tuple[Finding, ...] = ()

    def __hash__(self) -> int:
        """Return a hash by the values."""
        return self._hash

    @functools.cached_property
    def _hash(self) -> int:
        return hash(tuple(getattr(self, each.name) for each in fields(self)))

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is found beyond the placement's own findings."""
        # First what holds the mount at all.
        found = list(self.carried)
        if self.beyond:
            found.append(Finding("begins-beyond", "warn", self.beyond))
        if self.assumed:
            found.append(Finding("dummy-assumed", "unknown", self.assumed, "axle.dummy"))
        found += self.shape.findings if self.shape else ()
        found += self.clear.findings
        found += self.in_the_way
        found += (each for each in self.boss_words if each.level != "note")
        found += self.load.findings if self.load else ()
        if self.fixture:
            found += (Finding("fixture-gives", "warn", each) for each in fixture_warnings(self.fixture))
            if self.unproven:
                found.append(Finding("fixture-unproven", "unknown", self.unproven))
        found += (Finding("order-of-work", "warn", each) for each in self.dangers)
        return tuple(found)

    @property
    def stops(self) -> bool:
        """Tell whether anything but a clearance forbids to build like this; what fails there is named."""
        return any(each.level == "stop" and each.code != "clearance-fails" for each in self.findings)

    @property
    def dangers(self) -> tuple[str, ...]:
        """Return what is dangerous in the order of work, a sentence each."""
        return dangers(self.operations)

    @property
    def unheld(self) -> tuple[str, ...]:
        """Return the hold points of every traveller that no operation of this order of work bears."""
        held = {step.hold for step in self.operations}
        return tuple(hold for hold in hold_points() if hold not in held)

    @property
    def work(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Return the card's short list of work: each line with the check points that end it."""
        return brief(self.operations)

    @property
    def numbered(self) -> tuple[tuple[str, Operation], ...]:
        """Return every operation behind its number: that of the card's line which it belongs to."""
        return tuple(zip(step_numbers(self.operations), self.operations, strict=True))


def set_up(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> SetUp:
    """Return the set-up of a job; raise InputError for a refused filler, a pin that does not fit, or a
    printer that is not known.
    """
    # Paper changes nothing at the bench but what error it leaves; reading it there would fail at once.
    # But how it tells lengths, in which much of this is told already.
    bench = job.model_copy(update={"paper": job.paper.telling})
    with telling(job.paper.units):
        face = placement.interface
        host = tubes.get(placement.host)
        wrapped = host is not None and host.placed
        making = Making(
            hole=face.hole.kind,
            bench=bench_words(job, placement),
            wrapped=wrapped,
            clear=job.wrap.clear,
            stacking=_stacked(bench, placement, tuple(tubes.items())).step,
            sleeve=job.boss.sleeve or 0.0,
            brace=(brace.on_chainstay, brace.on_seatstay) if (brace := job.tubes.brace) else None,
            loose=loose(job, placement, tubes),
        )
        order = work(job, face.family, making)
        left = error_left(job, placement, printer_of(job))
        return _on_paper(bench, placement, tuple(tubes.items()), order, left)


@functools.lru_cache(maxsize=64)
def _stacked(job: Job, placement: Placement, placed: tuple[tuple[str, Tube], ...]) -> Stacked:
    """Return what is stacked, worked out once for the order of work and all else."""
    return stacked(job, placement, dict(placed))


@functools.lru_cache(maxsize=64)
def _on_paper(
    job: Job,
    placement: Placement,
    placed: tuple[tuple[str, Tube], ...],
    order: tuple[Operation, ...],
    said: tuple[Say, ...],
) -> SetUp:
    """Return the set-up with what is said of the paper's error: one value for equal jobs, as sheets are."""
    return replace(_worked_out(job, placement, placed, order), print_words=said)


@functools.lru_cache(maxsize=64)
def _worked_out(
    job: Job,
    placement: Placement,
    placed: tuple[tuple[str, Tube], ...],
    order: tuple[Operation, ...],
) -> SetUp:
    """Return the set-up of a job without its paper, with the order of work that the builder keeps for all.

    That comes from a file, which may be written between two jobs; nothing here reads one.
    """
    tubes = dict(placed)
    family = placement.interface.family
    stack = _stacked(job, placement, placed)
    hole = placement.interface.hole.diameter.value
    pin = pin_for(hole, job.bench.pins)
    process = job.process
    bosses, said = _bosses(job, placement, tubes)
    said = (*hole_findings(job, placement), *said)
    near = clear(job, placement, tubes)
    dropout = shape(job, placement)
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
    keys = deciding(placement, planned, host, thickness)
    close = too_close(placement, planned, host, thickness)
    built = None if stack.fixture is not None else stack.build_up
    plate = plate_room(job, placement, tubes, built, bosses, dropout)
    face = "" if stack.build_up is None else stack.build_up.plate_face
    return SetUp(
        build_up=stack.build_up,
        choice=stack.choice,
        stack_words=stack.words,
        plate_words=stack.plate,
        sleeve=sleeve(job.bench.plate_bore, job.axle.dummy) if job.bench.plate_bore else None,
        readings=asked,
        shape=dropout,
        carried=carrier_findings(job, placement, bosses, dropout, host.span[0]) if host else (),
        plate=plate,
        in_the_way=tuple(room_findings(job, placement, tubes, plate, face)),
        deciding=keys,
        reading_words=limit_words(placement, asked, host, close),
        how_words=how_words(placement, thickness, [each for each in asked if each.key in keys]),
        pin=pin,
        screws=screw_lines(job, placement),
        bosses=bosses,
        boss_words=said,
        clear=near,
        operations=order,
        cautions=cautions(
            process.method, process.material, process.filler, process.amps, family, placement.end
        ),
        print_words=(),
        load=loaded(job, placement, tubes, near.caliper, bosses, holders(job, placement, bosses, dropout)),
        fixture=stack.fixture,
        beyond=begins_beyond(placement, tubes),
        unproven=_unproven(tubes),
        assumed=_assumed(job),
        screw_length=screw_length(job, placement)[0],
    )


def begins_beyond(placement: Placement, tubes: Mapping[str, Tube]) -> str:
    """Return that the host tube begins above the mount, which then has no tube under it; else ""."""
    tube = tubes.get(placement.host)
    if tube is None or tube.span[0] <= placement.interface.x_far:
        return ""
    return tell(
        "setup.begins_beyond",
        host=named(placement.host),
        start=short(tube.span[0]),
        far=short(placement.interface.x_far),
        key=placement.host,
    )


def _unproven(tubes: Mapping[str, Tube]) -> str:
    """Return of which tubes it is not known whether they stand in the way of a fixture's plate, or ""."""
    unplaced = [(name, tube) for name, tube in tubes.items() if not tube.placed]
    if not unplaced:
        return ""
    return tell(
        "setup.unproven" if len(unplaced) == 1 else "setup.unproven_more",
        tubes=tuple(named(name) for name, _ in unplaced),
        measure=tuple(missing(name, tube) for name, tube in unplaced),
    )


def _assumed(job: Job) -> str:
    """Return that the dummy axle, on which readings rest, was not measured; nothing where it was."""
    if "dummy" in job.axle.model_fields_set:
        return ""
    return tell("setup.dummy_assumed", dummy=job.axle.dummy)


def left_words(stack: Stack) -> str:
    """Return by how much the pieces miss the length."""
    if abs(stack.leftover) < 0.0005:
        return tell("setup.left.none")
    return tell("setup.left.short" if stack.leftover > 0.0 else "setup.left.over", by=abs(stack.leftover))


def _left_at_start(job: Job, placement: Placement, bosses: Iterable[BossFit], tube: Tube) -> dict[str, float]:
    """Return the tube between where it begins and the hole for each boss that is let in, mm, along its axis.

    Negative where the hole breaks out of the tube's end. Posts are coped over and leave it whole.
    """
    size = mount_sizes(job, placement).diameter
    if size is None:
        return {}
    return {
        fit.name: fit.s - size.value / 2.0 - tube.span[0]
        for fit in bosses
        if not fit.coped and fit.s is not None
    }


def _short_from_side(job: Job, placement: Placement, tube: Tube) -> list[Finding]:
    """Return that bosses end short of a tube which is not placed sideways, where the side view shows it."""
    sizes = mount_sizes(job, placement)
    if sizes.diameter is None:
        return []
    known = {hole.name: sizes.length_at(hole.name) for hole in placement.holes}
    lengths = {name: each.value for name, each in known.items() if each is not None}
    needs = least_needed(placement, tube, sizes.diameter.value)
    return short_from_side(needs, lengths, placement.host, placement.interface.part)


def _bosses(
    job: Job, placement: Placement, tubes: Mapping[str, Tube]
) -> tuple[tuple[BossFit, ...], tuple[Finding, ...]]:
    """Return how the bosses meet the host tube, and the words; boss sizes are the job's, or the table's."""
    face, boss = placement.interface, job.boss
    tube, table = tubes.get(placement.host), job.tubes.given().get(job.mount.host)
    if tube is None or table is None or face.family == "tab":
        return (), ()
    if not tube.placed:
        unplaced = tell(
            "setup.unplaced",
            part=named(face.part),
            host=named(placement.host),
            measure=missing(placement.host, tube),
        )
        open_ = Finding("host-unplaced", "unknown", unplaced, f"tubes.{placement.host}")
        return (), (*_short_from_side(job, placement, tube), open_)
    said = [
        Finding(
            "table-size",
            "note",
            tell(f"setup.table_size.{name}", size=usual.value, grade=usual.grade),
            f"boss.{name}",
        )
        for name, own, usual in (
            ("diameter", boss.diameter, face.boss_diameter),
            ("length", boss.length, face.boss_length),
        )
        if own is None and usual is not None
    ]
    if boss.sleeve is not None and table.wall is None:
        lacking = tell("setup.sleeve_uncounted", host=named(placement.host), key=placement.host)
        said.append(Finding("sleeve-uncounted", "unknown", lacking, f"tubes.{placement.host}.wall"))
    bosses = fits(job, placement, tubes)
    found = boss_words(
        bosses,
        placement.host,
        screw(face.hole.screw),
        facing=job.process.facing,
        share=boss.share,
        wall=table.wall is not None,
        nearer=nearer_of(job, tubes, bosses),
        left=_left_at_start(job, placement, bosses, tube),
    )
    return bosses, (*found, *said)

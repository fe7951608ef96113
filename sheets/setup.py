"""What it takes to set a mount up and to check it: worked out once, for the card and for `check`."""

from collections.abc import Mapping
from dataclasses import dataclass

from geometry.cautions import Caution, cautions
from geometry.clearance import Gap, Largest, disc_gap, largest_disc
from geometry.errors import GeometryError, TableError
from geometry.fasteners import engagement, flat_screw, screw, screw_length, torque
from geometry.interfaces import disc
from geometry.placement import Placement
from geometry.readings import Reading, pin_for, readings
from geometry.spacers import Choice, Stack, choose
from geometry.stack import BuildUp, PlateFace, Sleeve, build_up, sleeve
from geometry.tube import Tube
from sheets.job import Job
from sheets.operations import Operation, operations

STACK_TOLERANCE = 0.05
"""How closely pieces are chosen, mm: what a common caliper shows."""


@dataclass(frozen=True, slots=True)
class SetUp:
    """Everything the card says beyond the placement itself.

    `build_up` and `choice` are None where a number is missing, and `stack_words` says which. `screws` are
    name and value lines; `gap` and `largest` None without tubes or a rotor position.
    """

    build_up: BuildUp | None
    choice: Choice | None
    stack_words: tuple[str, ...]
    sleeve: Sleeve | None
    readings: tuple[Reading, ...]
    pin: float
    screws: tuple[tuple[str, str], ...]
    gap: Gap | None
    largest: Largest | None
    operations: tuple[Operation, ...]
    cautions: tuple[Caution, ...]


def set_up(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> SetUp:
    """Return the set-up of a job; raise InputError for a refused filler or a pin that does not fit."""
    family = placement.interface.family
    built, words = _built(job, placement)
    choice = None
    if built is not None and built.stack is not None:
        choice = choose(built.stack, job.bench.spacers, STACK_TOLERANCE)
    hole = placement.interface.hole.diameter.value
    pin = pin_for(hole, job.bench.pins)
    process = job.process
    return SetUp(
        build_up=built,
        choice=choice,
        stack_words=words,
        sleeve=sleeve(job.bench.plate_bore, job.axle.dummy) if job.bench.plate_bore else None,
        readings=readings(
            placement,
            axle=job.axle.dummy,
            pin=pin,
            tube=tubes.get(placement.host),
            dropout_thickness=job.dropout.thickness,
            facing=process.facing,
        ),
        pin=pin,
        screws=tuple(_screws(job, placement)),
        gap=disc_gap(placement.rotor, tubes.values()),
        largest=largest_disc(placement.rotor, tuple(tubes.values()), disc().sizes),
        operations=operations(process.method, family, process.facing),
        cautions=cautions(process.method, process.material, process.filler, process.amps, family),
    )


def left_words(stack: Stack) -> str:
    """Say by how much the pieces miss the length."""
    if abs(stack.leftover) < 0.0005:
        return "nothing left over"
    return f"{abs(stack.leftover):.3f} {'short' if stack.leftover > 0.0 else 'over'}"


def _mount_size(job: Job, placement: Placement) -> float | None:
    return job.boss.thickness if placement.interface.family == "tab" else job.boss.diameter


def _built(job: Job, placement: Placement) -> tuple[BuildUp | None, tuple[str, ...]]:
    """Return the build-up from the plate face that the job names, or else from the first that works."""
    wanted = job.bench.plate_face
    faces: tuple[PlateFace, ...] = (wanted,) if wanted else ("inside", "outside")
    tried: list[BuildUp] = []
    problems: list[str] = []
    for face in faces:
        try:
            built = build_up(
                placement,
                plate_face=face,
                plate=job.bench.plate,
                dropout_thickness=job.dropout.thickness,
                mount_size=_mount_size(job, placement),
                fit=STACK_TOLERANCE,
            )
        except GeometryError as error:
            problems += [str(problem) for problem in error.problems]
            continue
        if built.stack is not None and built.stack >= 0.0:
            return built, built.sentences
        tried.append(built)
    if not tried:
        return None, tuple(dict.fromkeys(problems))
    return tried[0], tried[0].sentences


def _screws(job: Job, placement: Placement) -> list[tuple[str, str]]:
    """Return what the card says of the mount's screws: thread, holes, head, washer, length, torque."""
    face = placement.interface
    one = screw(face.hole.screw)
    head, knurled, washer = one.head.value, one.head_knurled.value, one.washer
    if face.hole.kind == "thread":
        made = f"drill {one.tap_drill.value:g}, tap {one.name} × {one.pitch.value:g}"
    else:
        fine, medium = one.clearance["fine"].value, one.clearance["medium"].value
        made = f"hole {face.hole.diameter.value:g} (ISO 273: fine {fine:g}, medium {medium:g})"
    return [
        ("thread and holes", made),
        (
            "head and washer",
            f"head Ø{head:g}, knurled Ø{knurled:g}, {one.head_height.value:g} high, key {one.key.value:g}; "
            "washer "
            + " × ".join(f"{each.value:g}" for each in (washer.bore, washer.outside, washer.thickness)),
        ),
        ("length", _length_words(job, placement)),
        ("engagement", _engagement_words(job, placement)),
        ("torque", torque().sentence),
    ]


def _length_words(job: Job, placement: Placement) -> str:
    face = placement.interface
    one = screw(face.hole.screw)
    if face.family == "flat" and face.end == "rear":
        if job.boss.length is None:
            return "thickness under the screw's head + 13, once boss.length says how thick it is"
        try:
            return flat_screw(job.boss.length).sentence
        except GeometryError as error:
            return str(error)
    if face.family == "tab":
        if job.boss.thickness is None:
            return "tab + washer + thread in the adapter; give boss.thickness"
        found = screw_length(one, job.boss.thickness, engagement(one, "aluminium"))
        return f"{found.sentence} In an aluminium adapter; its maker's length governs." if found else ""
    return "what the caliper or its plate clamps is its maker's number: measure it, add washer and engagement"


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
        return str(error)
    band = f" ({rule.low:g} to {rule.high:g})" if rule.high > rule.low else ""
    return f"at least {rule.length:g} mm of thread in {known}{band}; {rule.source}"

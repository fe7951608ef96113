"""What is stacked on the dummy axle: pieces from the drawer, or the fixture's parts where one is made."""

from collections.abc import Mapping
from dataclasses import replace

from geometry.core.errors import GeometryError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.fixture.fixture import Fixture
from geometry.fixture.play import SEEN
from geometry.mount.placement import Placement
from geometry.mount.spacers import Choice, choose, in_mm, twins
from geometry.mount.stack import BuildUp, PlateFace, build_up
from geometry.tables.interface_rows import Family
from geometry.tubes.tube import Tube
from sheets.job.keys import Job
from sheets.setup.fixture import fixture_of
from sheets.setup.screws import mount_named
from sheets.words.fixture import using
from sheets.words.tell import lines, tell, told

# Inside first: the plate goes outside where the job says so, or where only that keeps the mount out of it.
_FACES: tuple[PlateFace, ...] = ("inside", "outside")
STACK_TOLERANCE = 0.05
"""How closely pieces are chosen, mm: what a common caliper shows."""


@dataclass(frozen=True, slots=True)
class Stacked:
    """The stack of a job. `build_up` and `choice` are None where a number is missing, and `words` says which.

    With a `fixture` all of it is the fixture's: its collar, its plate and its spacers, one set on each pin,
    for which `choice` holds one; there is no choice where nothing is to fill. `work` says what is done, on
    one line, and `plate` what the plate is, "" for a fixture's, which has its own patterns.
    """

    build_up: BuildUp | None
    choice: Choice | None
    words: tuple[str, ...]
    fixture: Fixture | None
    work: Say
    plate: str = ""

    @property
    def step(self) -> tuple[str, str]:
        """Return what is done in the operation that stacks: on one line, and with the pieces."""
        line = told(self.work)
        if self.fixture is not None or self.choice is None or self.build_up is None:
            return line, line
        way = "spacers" if self.choice.best.pieces else "none"
        mount = dict(self.work.values)["mount"]
        return line, tell(
            f"operations.square.{way}", mount=mount, face=say(f"stack.face.{self.build_up.plate_face}")
        )


def stacked(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Stacked:
    """Return what is stacked; raise GeometryError, naming the key, for a fixture that cannot be made."""
    built, words = _built(job, placement)
    fix = fixture_of(job, placement, tubes, built.plate_face if built else None)
    if fix is not None:
        return _in_fixture(job, placement, fix)
    family = placement.interface.family
    if built is None:
        return Stacked(None, None, words, None, _work("unknown", placement))
    plate = _plate(job, family)
    if built.stack is None or built.stack <= -STACK_TOLERANCE:
        way = "unsized" if built.stack is None else "relief"
        said = (told(_lies(built.plate_face)), *words)
        return Stacked(built, None, said, None, _work(way, placement, built.plate_face), plate)
    choice = choose(built.stack, job.bench.spacers, STACK_TOLERANCE)
    way = "spacers" if choice.best.pieces or choice.best.make is not None else "none"
    code = "none" if way == "none" else "fit" if choice.reached else "missed"
    sentence = say(
        f"stack.between.{code}",
        lies=_lies(built.plate_face),
        length=built.stack,
        side=say(f"stack.side.{built.plate_face}.{family}"),
        pieces=choice.sentence,
    )
    choice = replace(choice, sentence=sentence)
    return Stacked(built, choice, words, None, _work(way, placement, built.plate_face), plate)


def _lies(face: PlateFace) -> Say:
    """Return against which face of the dropout the plate lies."""
    return say(f"fixture.against.{face}")


def _work(way: str, placement: Placement, face: PlateFace | None = None) -> Say:
    """Return what is done to stack, on one line."""
    at = say(f"stack.face.{face}") if face else ""
    return say(f"operations.place.{way}", face=at, mount=mount_named(placement))


def _plate(job: Job, family: Family) -> str:
    """Return what the builder's plate is, and what is transferred to it."""
    thick = job.bench.plate
    plate = say("stack.plate.unknown") if thick is None else say("stack.plate.known", thick=in_mm(thick))
    return tell(f"stack.plate.holes.{family}", plate=plate)


def _in_fixture(job: Job, placement: Placement, fix: Fixture) -> Stacked:
    """Return the stack that a fixture is; its chain is how far the fixture lets the mount stray sideways."""
    usual = placement.interface.tab_thickness
    size = _mount_size(job, placement)
    said: tuple[Say, ...] = ()
    if size is None and usual is not None and placement.interface.family == "tab":
        size = usual.value
        if fix.face == "outside":
            said = (say("stack.tab_taken", size=size, grade=usual.grade),)
    built = build_up(
        placement,
        plate_face=fix.face,
        plate=fix.plate,
        dropout_thickness=job.dropout.thickness,
        mount_size=size,
        fit=STACK_TOLERANCE,
        facing=job.process.facing,
        collar=fix.collar,
        hung=fix.bar is not None,
    )
    sideways = fix.loose.chains[-1]
    built = replace(built, worst_case=sideways.worst_case, rss=sideways.rss)
    choice = None
    if fix.spacer is not None and fix.spacer > SEEN:
        choice = choose(fix.spacer, twins(job.bench.spacers), STACK_TOLERANCE)
        sentence = say("spacers.each_pin", sentence=choice.sentence)
        if not choice.reached:
            choice = choose(fix.spacer, (), STACK_TOLERANCE)
            code = "spacers.turn_two_no_sets" if job.bench.spacers else "spacers.turn_two"
            sentence = say(code, length=in_mm(fix.spacer))
        choice = replace(choice, sentence=sentence)
    words = (*map(told, built.sentences), *using(fix), *map(told, said))
    return Stacked(built, choice, words, fix, _work("fixture", placement))


def _mount_size(job: Job, placement: Placement) -> float | None:
    return job.boss.thickness if placement.interface.family == "tab" else job.boss.diameter


def _built(job: Job, placement: Placement) -> tuple[BuildUp | None, tuple[str, ...]]:
    """Return the build-up from the plate face that the job names, or else from the first that works.

    Where the mount reaches into the plate from both, it is the face that asks for the smaller relief, and
    nobody is sent on to the other.
    """
    found: dict[PlateFace, BuildUp] = {}
    problems: list[str] = []
    for face in _FACES:
        try:
            found[face] = build_up(
                placement,
                plate_face=face,
                plate=job.bench.plate,
                dropout_thickness=job.dropout.thickness,
                mount_size=_mount_size(job, placement),
                fit=STACK_TOLERANCE,
                facing=job.process.facing,
            )
        except GeometryError as error:
            if face == (job.bench.plate_face or face):
                problems += lines(error)
    clear_of = [face for face, built in found.items() if built.stack is None or built.stack >= 0.0]
    wanted = job.bench.plate_face
    if not found or (wanted is not None and wanted not in found):
        return None, tuple(problems[:1])
    if clear_of:
        chosen = found[wanted or clear_of[0]]
        return chosen, tuple(map(told, chosen.sentences))
    least: PlateFace = max(found, key=lambda each: found[each].stack or 0.0) if wanted is None else wanted
    other = named("outside" if least == "inside" else "inside")
    said = [
        Say("stack.reaches_from_both", each.values) if each.code == "stack.reaches" else each
        for each in found[least].sentences
    ]
    return found[least], tuple(map(told, (*said, say("stack.other_reaches_too", other=other))))

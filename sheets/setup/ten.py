"""The ten numbers of a mount that a builder asks for at the bench, a line each.

Every mount: both holes, their spacing with the drill, how the mount sits sideways, what to stack, the room
between disc and tube and between caliper and tube, and what one hard stop does. Holes, drill, sideways and
stack make the mount; the rooms and the strength say whether it may stay there. Those are eight. Where
families part:

- A tab's holes are pricked through the paper and drilled, so each is told by x, y and its radius, which is
  what a caliper reads from the dummy axle; nobody measures its hole line's height. The sheet must lie on the
  dropout for that, so the ninth is how far a tube stands past it. Tabs take adapters, so which disc still has
  room is asked by itself and is the tenth.
- Posts and flat mounts are faced and then drilled from their face. Each hole is told by its way along the
  face from the foot, and the ninth is the face's height over the axle: what square and caliper read there.
  The tenth is what is cut: how long a post must be to reach its tube all round, or at which depth a boss
  comes through and what it leaves of the wall. The largest disc shares the disc's line, because one mount
  takes few sizes; a tube that is proud is told by the sheet, through which nothing is pricked here.
- Sideways numbers are from the dropout's inner face at the rear, and at the front from the pocket's floor,
  where the hub's end seats and a rule can be put. The disc's inner face comes with them: pads centre on it.

The choice is common practice, no source. Tilt, readings, torque and how all these were found are told by
`check --all` and the card.
"""

from collections.abc import Mapping

from geometry.clearance.judged import Kind
from geometry.core.say import Say, Value, named, say
from geometry.mount.bosses import made_length
from geometry.mount.placement import Placement
from geometry.mount.standoff import UNDER_SHEET, proud, untold
from geometry.tables.fasteners import screw
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.clearances import Clear, mount_sizes
from sheets.setup.screws import drill_near
from sheets.setup.setup import SetUp
from sheets.words.bosses import share_words
from sheets.words.lengths import stack
from sheets.words.strength import one_line

Row = tuple[Say, Say | str]
"""A label, and what is told under it."""
_SEEN = 0.005
"""Less than this is nothing, mm: half of the last place told."""


def ten(job: Job, placement: Placement, setup: SetUp, tubes: Mapping[str, Tube]) -> tuple[Row, ...]:
    """Return a job's ten numbers for the bench; lengths in mm, stress in MPa."""
    tab = placement.interface.family == "tab"
    head = _tab_holes(placement) if tab else _face_holes(placement)
    own: tuple[Row, ...]
    if tab:
        own = (
            (say("ten.row.largest"), _largest(setup.clear)),
            (say("ten.row.stand_off"), _stand_off(job, placement, tubes)),
        )
    else:
        own = ((_cut(placement), _length(job, placement, setup)),)
    return (
        *head,
        (
            say("ten.row.slot" if placement.interface.hole.kind == "slot" else "ten.row.drill"),
            _drill(placement),
        ),
        (say(f"ten.row.{placement.interface.family}_sideways"), _sideways(placement)),
        (say("ten.row.stack"), _stack(setup)),
        *own,
        (say("ten.row.disc"), _disc(setup.clear, tab=tab)),
        (say("ten.row.caliper"), _least(setup.clear, "caliper")),
        (say("ten.row.strength"), _strength(setup)),
    )


def _cut(placement: Placement) -> Say:
    """Return the label of what is cut to length."""
    return say("ten.row.boss") if placement.interface.part == "boss" else say("ten.row.post")


def _tab_holes(placement: Placement) -> tuple[Row, ...]:
    pairs = zip(placement.holes, placement.interface.radii, strict=True)
    return tuple((_hole(hole.name), _at(hole.centre[0], hole.centre[1], radius)) for hole, radius in pairs)


def _hole(name: str) -> Say:
    return say("ten.row.hole", name=named(name))


def _at(x: float, y: float, radius: float) -> Say:
    """Return where a hole lies by x and y, each with its way, and how far it is from the axle."""
    ways = "rearward" if x >= 0.0 else "forward"
    return say(f"ten.at.{ways}", x=abs(x), y=y, radius=radius)


def _face_holes(placement: Placement) -> tuple[Row, ...]:
    face = placement.interface
    along = zip(placement.holes, (face.x_near, face.x_far), face.radii, strict=True)
    holes = tuple(
        (
            _hole(hole.name),
            say("ten.along" if x >= 0.0 else "ten.back", x=abs(x), host=named(placement.host), radius=radius),
        )
        for hole, x, radius in along
    )
    return (*holes, (say("ten.row.face"), say("ten.face", h=face.h, host=named(placement.host))))


def _drill(placement: Placement) -> Say:
    face = placement.interface
    hole = face.hole
    size: dict[str, Value] = {
        "drill": hole.diameter.value,
        "screw": hole.screw,
        "drill_near": drill_near(placement),
    }
    if hole.kind == "thread":
        size["pitch"] = screw(hole.screw).pitch.value
    if hole.kind == "slot":
        size["length"] = hole.length or hole.diameter.value
    return say(f"ten.drill.{hole.kind}", spacing=face.x_far - face.x_near, **size)


def _sideways(placement: Placement) -> Say:
    """Return where tab or screws sit sideways from the datum, and the disc's inner face from there."""
    at, inner = placement.lateral_z - placement.datum_shift, placement.rotor.inner_face_z
    way = "flush" if abs(at) < _SEEN else "outboard" if at > 0.0 else "inboard"
    datum = say(f"ten.datum.{placement.end}")
    if inner is None:
        return say(f"ten.sideways_no_disc.{way}", by=abs(at), datum=datum)
    return say(f"ten.sideways.{way}", by=abs(at), datum=datum, disc=placement.lateral_z - inner)


def _stack(setup: SetUp) -> Say | str:
    """Return what to fill between plate and mount and with which pieces, or to relieve."""
    built, choice = setup.build_up, setup.choice
    if built is None:
        return (
            say("ten.stack.unknown", why=setup.stack_words[0]) if setup.stack_words else say("ten.no_stack")
        )
    face = say(f"ten.plate.{built.plate_face}")
    if built.stack is None:
        return say("ten.stack.side_unknown", length=built.length, face=face)
    if built.stack < -_SEEN:
        return say("ten.stack.relieve", by=-built.stack, face=face)
    pieces = choice.best.pieces if choice is not None and choice.reached else ()
    if built.stack < _SEEN or not pieces:
        if built.stack < _SEEN:
            return say("ten.stack.none", face=face)
        return say("ten.stack.make", stack=built.stack, face=face)
    return say("ten.stack.pieces", stack=built.stack, pieces=stack(pieces), face=face)


def _stand_off(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Say:
    """Return how far a tube keeps the sheet off the dropout's face that it lies on."""
    thickness, view = job.dropout.thickness, job.paper.view
    if thickness is None and view == "outboard":
        return say("ten.stand_off.no_thickness")
    face = thickness if thickness is not None and view == "outboard" else 0.0
    reach = placement.interface.x_far + UNDER_SHEET
    high, open_ = proud(tubes.values(), face, view, reach), untold(tubes.values(), reach)
    if open_:
        return say("ten.stand_off.unknown", tubes=tuple(named(each.name) for each in open_))
    if high is None:
        return say("ten.stand_off.none")
    return say("ten.stand_off.proud", by=high.by, tube=named(high.tube))


def _length(job: Job, placement: Placement, setup: SetUp) -> Say:
    """Return how long a post must be to reach its tube all round, or what a boss leaves of it."""
    given = mount_sizes(job, placement).length
    if not setup.bosses:
        return say("ten.length.unknown", host=named(placement.host))
    walls = [each.share.wall for each in setup.bosses if each.share is not None]
    through = [each.through for each in setup.bosses if each.through is not None]
    if walls and through:
        return say("ten.length.boss", through=max(through), left=share_words(min(walls)))
    needed = made_length(setup.bosses)
    if needed is None:
        return say("ten.length.dropout", host=named(placement.host))
    if given is None:
        return say("ten.length.needed", needed=needed)
    return say("ten.length.given", needed=needed, given=given.value)


def _disc(clear: Clear, *, tab: bool) -> Say:
    """Return the disc's least room; with the largest disc, if this line is to tell that too."""
    room = _least(clear, "rotor")
    if tab or room.code == "ten.room.unknown":
        return room
    sure = clear.largest is not None and not clear.largest.unknown
    return say("ten.disc_and_largest", room=room, largest=_largest(clear)) if sure else room


def _least(clear: Clear, kind: Kind) -> Say:
    """Return the least room of a kind between bodies and tubes, and beside which tubes it is not known."""
    every = [each for each in clear.clearances if each.kind == kind]
    known = [each for each in every if each.left is not None]
    open_ = tuple(each.name["other"] for each in every if each.left is None)
    if not every:
        return say("ten.room.none")
    if not known:
        return say("ten.room.unknown")
    least = min(known, key=lambda each: each.left or 0.0)
    to: dict[str, Value] = {"room": least.told, "tube": least.name["other"], "asked": least.asked}
    if open_:
        return say("ten.room.open_after" if least.allowance else "ten.room.open", tubes=open_, **to)
    return say("ten.room.known_after" if least.allowance else "ten.room.known", **to)


def _largest(clear: Clear) -> Say:
    """Return the largest disc that has room, or at most has, as the end of a line."""
    found = clear.largest
    if found is None or not found.known:
        return say("ten.largest.unknown")
    if found.diameter is None:
        return say("ten.largest.none")
    return say("ten.largest.at_most" if found.unknown else "ten.largest.found", diameter=found.diameter)


def _strength(setup: SetUp) -> Say | str:
    return say("ten.no_load") if setup.load is None else one_line(setup.load.strength, setup.load.load)

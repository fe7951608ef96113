"""The ten numbers of a mount that a builder asks for at the bench, a line each.

Every mount: both holes, their spacing with the drill, how the mount sits sideways, what to stack, the room
between disc and tube and between caliper and tube, and what one hard stop does. Holes, drill, sideways and stack
make the mount; the rooms and the strength say whether it may stay there. Those are eight. Where families part:

- A tab's holes are pricked through the paper and drilled, so each is told by x, y and its radius, which is what
  a caliper reads from the dummy axle. Nobody measures its hole line's height. The sheet must lie on the dropout
  for that: how far a tube stands past it is the ninth. A tab takes adapters, so that which disc still has room
  is asked by itself: the eighth.
- Posts and flat mounts are faced and then drilled from their face. Each hole is told by its way along the face
  from the foot, and the face by its height over the axle, which are what square and caliper read there. What is
  cut to length is the post (how deep it is coped) or the boss (what is left of the tube beside it). Disc and
  largest disc share a line, because one mount takes few sizes; a tube that is proud is told by the sheet itself,
  on which these are not pricked.
- Sideways numbers are from the dropout's inner face at the rear. At the front they are from the pocket's floor,
  where the hub's end seats, because that is where a rule can be put; the disc's place from there comes with them.

The choice is common practice, no source. Tilt, readings, torque and the derivation of all these are told by
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
from sheets.setup.setup import SetUp
from sheets.words.bosses import share_words
from sheets.words.strength import one_line

Row = tuple[Say, Say | str]
"""A label, and what is told under it."""


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
        own = ((say(f"ten.row.{_part(placement)}"), _length(job, placement, setup)),)
    return (
        *head,
        (say("ten.row.drill"), _drill(placement)),
        (say("ten.row.sideways"), _sideways(placement)),
        (say("ten.row.stack"), _stack(setup)),
        *own,
        (say("ten.row.disc"), _disc(setup.clear, tab=tab)),
        (say("ten.row.caliper"), _least(setup.clear, "caliper")),
        (say("ten.row.strength"), _strength(setup)),
    )


def _part(placement: Placement) -> str:
    return "boss" if placement.interface.part == "boss" else "post"


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
    size: dict[str, Value] = {"drill": hole.diameter.value, "screw": hole.screw}
    if hole.kind == "thread":
        size["pitch"] = screw(hole.screw).pitch.value
    if hole.kind == "slot":
        size["length"] = hole.length or hole.diameter.value
    return say(f"ten.drill.{hole.kind}", spacing=face.x_far - face.x_near, **size)


def _sideways(placement: Placement) -> Say:
    """Return where tab or screws sit sideways from the datum, and the disc's inner face from there."""
    front, tab = placement.end == "front", placement.interface.family == "tab"
    shift = placement.datum_shift
    at, inner = placement.lateral_z - shift, placement.rotor.inner_face_z
    what = say(f"ten.sits.{'tab' if tab else 'screws'}", how=_way(at))
    datum = say(f"ten.datum.{'front' if front else 'rear'}")
    if inner is None:
        return say("ten.sideways_no_disc", what=what, datum=datum)
    return say("ten.sideways", what=what, datum=datum, disc=abs(placement.lateral_z - inner))


def _way(z: float) -> Say:
    """Return a sideways distance with its way, or that it is none."""
    if abs(z) < 0.005:
        return say("ten.flush")
    return say("ten.outboard" if z > 0.0 else "ten.inboard", by=abs(z))


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
    if built.stack < -0.005:
        return say("ten.stack.relieve", by=-built.stack, face=face)
    pieces = choice.best.pieces if choice is not None and choice.reached else ()
    if built.stack < 0.005 or not pieces:
        code = "none" if built.stack < 0.005 else "make"
        return say(f"ten.stack.{code}", stack=built.stack, face=face)
    return say(
        "ten.stack.pieces", stack=built.stack, pieces=" + ".join(f"{each:g}" for each in pieces), face=face
    )


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
    shares = [each.share.least for each in setup.bosses if each.share is not None]
    if shares:
        deepest = max((each.through for each in setup.bosses if each.through is not None), default=None)
        if deepest is not None:
            return say("ten.length.boss", through=deepest, left=share_words(min(shares)))
    needed = made_length(setup.bosses)
    if needed is None:
        return say("ten.length.dropout", host=named(placement.host))
    if given is None:
        return say("ten.length.needed", needed=needed)
    return say("ten.length.given", needed=needed, given=given.value)


def _disc(clear: Clear, *, tab: bool) -> Say | str:
    room = _least(clear, "rotor")
    return room if tab else say("ten.disc_and_largest", room=room, largest=_largest(clear))


def _least(clear: Clear, kind: Kind) -> Say | str:
    """Return the least room of a kind between bodies and tubes, and beside which tube it is not known."""
    every = [each for each in clear.clearances if each.kind == kind]
    known = [each for each in every if each.left is not None]
    open_ = tuple(each.name["other"] for each in every if each.left is None)
    if not known:
        return say("ten.room.unknown")
    least = min(known, key=lambda each: each.left or 0.0)
    what = say("ten.room.known", gap=least.gap_mm, asked=least.asked)
    return say("ten.room.and_unknown", room=what, tubes=open_) if open_ else what


def _largest(clear: Clear) -> Say:
    found = clear.largest
    if found is None or not found.known:
        return say("ten.largest.unknown")
    if found.diameter is None:
        return say("ten.largest.none", room=found.room)
    code = "ten.largest.at_most" if found.unknown else "ten.largest.found"
    return say(code, diameter=found.diameter, room=found.room)


def _strength(setup: SetUp) -> Say | str:
    return say("ten.no_load") if setup.load is None else one_line(setup.load.strength)

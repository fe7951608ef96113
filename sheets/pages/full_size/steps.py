"""What to do with the template and the face view, step by step: what depends on mount, tubes and dropout."""

from collections.abc import Iterator, Mapping

from geometry.clearance.judged import missing
from geometry.core.say import Say, named, say
from geometry.mount.placement import MEETING, Placement
from geometry.mount.standoff import UNDER_SHEET, proud, untold
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.screws import bench_words, dummy_words, mount_named
from sheets.setup.setup import SetUp, begins_beyond
from sheets.words.lengths import stack as in_line
from sheets.words.tell import tell, told

_FLAT = 0.7
"""Cosine of the slope up to which a mount that runs forward has a forward end on the face view."""


def template_steps(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp
) -> tuple[str, ...]:
    """Return what to do with the template after its bars are read."""
    face = placement.interface
    turn = "edges" if placement.host in tubes else "bare"
    if setup.shape is not None and setup.shape.sure:
        turn = f"dropout_{turn}"
    make = tell("steps.make.tab", diameter=face.hole.diameter.value)
    if face.family != "tab":
        make = _away(job, placement)
    return (
        " ".join(_slip(job, placement, tubes, setup)),
        tell(f"steps.template.turn_{turn}", host=named(placement.host)),
        make,
    )


def _away(job: Job, placement: Placement) -> str:
    """Say how far inboard of the sheet posts or bosses stand, which are not there yet.

    It is told from the dropout's face, because a collar may hold the sheet off it.
    """
    mount, view = mount_named(placement), job.paper.view
    if view == "outboard" and job.dropout.thickness is None:
        return tell("steps.away.unknown", mount=mount)
    outer = view == "outboard"
    by = (job.dropout.thickness or 0.0 if outer else 0.0) - placement.lateral_z
    face = named("outer_face" if outer else "inner_face")
    return tell(f"steps.away.{'inboard' if by >= 0.0 else 'outboard'}", mount=mount, by=abs(by), face=face)


def face_steps(job: Job, placement: Placement) -> tuple[str, ...]:
    """Return what to do with the face view after its bars are read: it checks what was bored on the bench."""
    view, mount = job.paper.view, mount_named(placement)
    lie = [tell("steps.face.align")]
    if placement.t[0] < -_FLAT:
        # Along the tube runs the other way on the page than forward does on the template.
        lie.append(tell(f"steps.face.forward_{view}"))
    return (
        told(bench_words(job, placement)),
        tell(f"steps.face.pins_{view}", mount=mount),
        " ".join(lie),
    )


def _slip(job: Job, placement: Placement, tubes: Mapping[str, Tube], setup: SetUp) -> Iterator[str]:
    """Yield how the sheet goes over the axle: a collar behind it is none of the mount's spacers."""
    flat, code = _lie_flat(job, placement, tubes), "steps.template.stack"
    yield from (tell("steps.template.cut"), dummy_words(job), told(flat))
    pieces = setup.choice.best.pieces if setup.choice else ()
    if isinstance(flat, Say) and flat.code == "template.proud" and pieces:
        yield tell(code, pieces=in_line(pieces))


def _lie_flat(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Say | str:
    """Say whether the sheet lies flat on the dropout, and what to do where it does not."""
    thickness, view = job.dropout.thickness, job.paper.view
    if thickness is None and view == "outboard":
        return say("template.no_thickness")
    if not tubes:
        return say("template.no_tube")
    if beyond := begins_beyond(placement, tubes):
        return beyond
    face = thickness if thickness is not None and view == "outboard" else 0.0
    reach = placement.interface.x_far + UNDER_SHEET
    high = proud(tubes.values(), face, view, reach)
    face_of = named("outer_face" if view == "outboard" else "inner_face")
    if unknown := untold(tubes.values(), reach):
        # A collar for one tube would be wrong where another, of unknown place, stands further out.
        measure = tuple(missing(tube.name, tube) for tube in unknown)
        names = tuple(named(tube.name) for tube in unknown)
        code = "template.hold_unknown.one" if len(unknown) == 1 else "template.hold_unknown.many"
        return say(code, tubes=names, measure=measure)
    if high is None or high.by < 0.05:
        return say("template.given_flat" if absent(placement, tubes) else "template.flat", face=face_of)
    return say("template.proud", tube=named(high.tube), by=high.by, face=face_of)


def absent(placement: Placement, tubes: Mapping[str, Tube]) -> list[str]:
    """Return the tubes of such an end that are not given."""
    return [name for name in MEETING[placement.end] if name not in tubes]

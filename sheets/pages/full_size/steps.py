"""What to do with the template and the face view, step by step: what depends on mount, tubes and dropout."""

from collections.abc import Iterator, Mapping

from geometry.core.say import Say, named
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.lying import lie_flat
from sheets.setup.screws import bench_words, dummy_words, mount_named
from sheets.setup.setup import SetUp
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
    flat, code = lie_flat(job, placement, tubes), "steps.template.stack"
    yield from (tell("steps.template.cut"), dummy_words(job), told(flat))
    pieces = setup.choice.best.pieces if setup.choice else ()
    if isinstance(flat, Say) and flat.code == "template.proud" and pieces:
        yield tell(code, pieces=in_line(pieces))

"""What to do with the template and the face view, step by step: what depends on mount, tubes and dropout."""

from collections.abc import Iterator, Mapping

from geometry.core.say import Say, Value, named, say
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
        make = " ".join(filter(None, (_away(job, placement, tubes), _stock(job))))
    return (
        " ".join(_slip(job, placement, tubes, setup)),
        tell(f"steps.template.turn_{turn}", host=named(placement.host)),
        make,
    )


def _stock(job: Job) -> str:
    """Say that the mount face is drawn as it is once faced; nothing where no stock is left on it."""
    return tell("steps.away.stock", stock=job.process.facing) if job.process.facing else ""


def _away(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> str:
    """Say how far inboard of the sheet posts or bosses stand, which are not there yet.

    A square stands on the sheet, which a collar may hold off the dropout's face: then both lengths are told.
    Where it is not known how the sheet lies, the length is the one from the face.
    """
    mount, view = mount_named(placement), job.paper.view
    if view == "outboard" and job.dropout.thickness is None:
        return tell("steps.away.unknown", mount=mount)
    outer = view == "outboard"
    by = (job.dropout.thickness or 0.0 if outer else 0.0) - placement.lateral_z
    face = named("outer_face" if outer else "inner_face")
    # From the sheet on a dropout's outer face posts lie inboard, on its inner face beyond or before it.
    values: dict[str, Value] = {"mount": mount, "face": face, "by": abs(by)}
    way = "inboard" if by >= 0.0 else "outboard"
    flat = lie_flat(job, placement, tubes)
    code = flat.code if isinstance(flat, Say) else ""
    if code in ("template.flat", "template.given_flat"):
        return tell(f"steps.away.{way}_flat", **values)
    if code == "template.proud" and isinstance(flat, Say):
        off = dict(flat.values)["by"]
        assert isinstance(off, float)
        # The ring is made as long as it is told, and so is the length from the sheet.
        off = round(off, 1)
        # Outboard of an outer face, and inboard of an inner one, the collar pushes the sheet away.
        sheet = by + off if outer else by - off
        to = "inboard" if sheet >= 0.0 else "outboard"
        far = say(f"steps.away.from_sheet_{to}", by=abs(sheet))
        return tell(f"steps.away.{way}_proud", sheet=far, **values)
    return tell(f"steps.away.{way}", **values)


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

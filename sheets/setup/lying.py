"""Whether the sheet lies flat on the dropout: what template and the figure of the dummy axle both say."""

from collections.abc import Mapping

from geometry.clearance.judged import missing
from geometry.core.say import Say, named, say
from geometry.mount.placement import MEETING, Placement
from geometry.mount.standoff import UNDER_SHEET, proud, untold
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.setup import begins_beyond


def lie_flat(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Say | str:
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

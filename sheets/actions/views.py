"""What tells the outboard view of a job's sheets from the inboard one: placement, arrows and words.

Template and face view have a `Truth` by which their ink is judged; another view of the bicycle gets one too.
"""

from geometry.mount.placement import Placement
from sheets.files.read.views import Truth
from sheets.job.read import Job
from sheets.pages.full_size.face import up_tube
from sheets.pages.title import boss_size
from sheets.words.tell import tell


def truths(job: Job, placement: Placement) -> tuple[Truth, ...]:
    """Return what template and face view show as seen from outboard, each in its own axes, mm.

    Seen from outboard the bicycle faces left and its wheels turn anticlockwise; in the face view the tube
    runs up to the right.
    """
    face = placement.interface
    near, far = (hole.centre[:2] for hole in placement.holes)
    rings = tuple(hole.diameter for hole in placement.holes)
    template = Truth(
        kind="template",
        near=near,
        far=far,
        rings=tuple(dict.fromkeys(rings)),
        axle=job.axle.dummy,
        said=(tell("title.side.outboard"), tell("title.side.inboard")),
        arrow=tell("frame.forward"),
        heading=180.0,
        turns=True,
    )
    if face.family == "tab":
        return (template,)
    boss = boss_size(job, placement)[0]
    z = placement.lateral_z
    return template, Truth(
        kind="face",
        near=(face.x_near, z),
        far=(face.x_far, z),
        rings=(boss,),
        axle=None,
        said=(tell("face.side.outboard"), tell("face.side.inboard")),
        arrow=up_tube(placement),
        heading=0.0,
        turns=False,
    )

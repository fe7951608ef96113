"""What tells the outboard view of a job's sheets from the inboard one: placement, arrows and words.

Template and face view have a `Truth` by which their ink is judged; another view of the bicycle gets one too.
"""

from geometry.mount.placement import Placement
from sheets.files.read.views import Truth
from sheets.job.read import Job
from sheets.pages.title import boss_size


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
        said=("from outboard", "from inboard"),
        arrow="forward",
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
        said=("square onto", "from behind"),
        arrow="up the",
        heading=0.0,
        turns=False,
    )

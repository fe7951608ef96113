"""What stands in the room of the builder's own setting plate and of the dummy axle, and what to say of it."""

from collections.abc import Iterator, Mapping, Sequence

from geometry.clearance.plate_room import Held, LeastPlate, axle_meets, least_plate
from geometry.core.findings import Finding
from geometry.core.say import named, say
from geometry.mount.bosses import BossFit
from geometry.mount.placement import Placement
from geometry.mount.stack import BuildUp
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.setup.clearances import mount_sizes
from sheets.setup.outline import Shape


def plate_room(
    job: Job,
    placement: Placement,
    tubes: Mapping[str, Tube],
    built: BuildUp | None,
    bosses: Sequence[BossFit],
    shape: Shape | None,
) -> LeastPlate | None:
    """Return the least plate of a job and what it meets; None where it is not known on which face it lies."""
    form, size = placement.interface, mount_sizes(job, placement).diameter
    across = form.hole.diameter.value if form.family == "tab" or size is None else size.value
    if built is None:
        return None
    stands = {each.name: each.length if each.standoff is None else each.standoff for each in bosses}
    free = {name: long for name, long in stands.items() if long is not None and long > 0.0}
    held = Held(job.bench.plate_bore or job.axle.dummy, across, free)
    pad = shape.pad if shape is not None and shape.sure else None
    return least_plate(placement, held, tubes, built.plate_face, job.dropout.thickness, pad)


def room_findings(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], plate: LeastPlate | None, face: str
) -> Iterator[Finding]:
    """Yield what stands in the way of plate and dummy axle.

    A pad is the job's own, and a plate is cut away over it; a tube that holds the plate off is warned of,
    because nothing is then true that is stacked on it.
    """
    for name in axle_meets(placement, tubes, job.axle.dummy):
        tube = named(name)
        what = say("setup.axle_meets", tube=tube, size=job.axle.dummy)
        do = say("setup.axle_meets_remedy", tube=tube)
        whole = say("outline.told", what=what, do=do)
        yield Finding("axle-meets", "warn", whole, "axle.dummy", brief=what, remedy=do)
    for each in () if plate is None else plate.meets:
        at = say(f"stack.face.{face}")
        if each.what == "pad":
            what = say("setup.plate_on_pad", by=each.by, face=at)
            yield Finding("plate-on-pad", "note", what, "bench.plate")
            continue
        tube = named(each.what)
        what = say("setup.plate_meets", tube=tube, by=each.by, face=at)
        do = say("setup.plate_meets_remedy", by=each.by)
        whole = say("outline.told", what=what, do=do)
        yield Finding("plate-meets", "warn", whole, "bench.plate_face", brief=what, remedy=do)

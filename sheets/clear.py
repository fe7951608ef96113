"""A job's clearances: what its numbers allow to be judged, what fails, and where the mount can go."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from geometry.clearance import tubes_gap
from geometry.margins import Clearance, Mount, OwnLimits, clearances
from geometry.placement import Placement
from geometry.room import Caliper, OwnCaliper, caliper, entry
from geometry.stance import directions
from geometry.tables import Number
from geometry.tilt import Spare, Tilts, on_host, tilts
from geometry.travel import Travel, WayOut, worst_over_travel, worst_way_out
from geometry.tube import Tube
from sheets.job import Job, place_job

_TUBES = {"rear": ("chainstay", "seatstay"), "front": ("fork-leg",)}


@dataclass(frozen=True, slots=True)
class Clear:
    """What comes near what in a job. `travel` is None where the wheel does not move in its dropout.

    `room` is what is asked for between disc and tube once `runout` is taken off, mm. `crossing` says that
    the stays cross, or is empty.
    """

    caliper: Caliper
    clearances: tuple[Clearance, ...]
    room: float
    runout: float
    travel: Travel | None
    way_out: WayOut
    crossing: str

    @property
    def failed(self) -> tuple[Clearance, ...]:
        """Return the clearances that fail, the one that falls furthest short first."""
        failed = [each for each in self.clearances if each.state == "fail"]
        return tuple(sorted(failed, key=lambda each: (each.left or 0.0) - each.limit))

    @property
    def warnings(self) -> tuple[str, ...]:
        """Return a sentence for each clearance that fails, then for each that is less than asked for."""
        failed = [f"CLEARANCE FAILS: {each.sentence}" for each in self.failed]
        tight = [f"Clearance: {each.sentence}" for each in self.clearances if each.state == "warn"]
        moving = [self.travel.sentence] if self.travel is not None else []
        stuck = [self.way_out.sentence] if self.way_out.free is False else []
        crossing = [self.crossing] if self.crossing else []
        return (*failed, *tight, *moving, *stuck, *crossing)


def judged(path: Path, clear: Clear) -> tuple[int, tuple[str, ...]]:
    """Return the exit status of a job's clearances, and each that fails as a problem, led by the file."""
    problems = tuple(f"{path}: CLEARANCE FAILS: {each.sentence}" for each in clear.failed)
    return (1 if problems else 0), problems


def clear(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Clear:
    """Return a job's clearances. A tube without an outset is rough: what rests on it is unknown."""
    own = _own_caliper(job)
    room = caliper(placement, own)
    slot, turns = job.dropout.slot, job.stance.of(placement.end).turns
    meant = () if slot is None else directions(slot, job.dropout.slot_from, turns)
    return Clear(
        caliper=room,
        clearances=_clearances(job, placement, tubes, turning=False),
        room=_limit(job.clearance.rotor, "rotor"),
        runout=_limit(job.clearance.runout, "runout"),
        travel=worst_over_travel(placement, room, meant, job.dropout.travel),
        way_out=worst_way_out(placement, room, meant),
        crossing=_crossing(tubes),
    )


def _crossing(tubes: Mapping[str, Tube]) -> str:
    """Say that the stays run into each other, which no frame's do where both are given; else nothing."""
    if not {"chainstay", "seatstay"} <= tubes.keys():
        return ""
    near = tubes_gap(tubes["chainstay"], tubes["seatstay"])
    if near.distance > 0.0:
        return ""
    x, y, _ = near.second
    return (
        f"The chainstay and the seatstay run into each other near x = {x:.0f}, y = {y:.0f}: see to included, "
        "offset, outset and where each begins."
    )


def tilts_of(job: Job, tubes: Mapping[str, Tube]) -> Tilts:
    """Return the tilts at which the mount's clearances hold on its host tube."""

    def evaluate(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        turned = job.model_copy(update={"mount": job.mount.model_copy(update={"tilt": tilt})})
        placement = place_job(turned)
        return _clearances(turned, placement, tubes, turning=True), on_host(placement, tubes)

    given = "tilt" in job.mount.model_fields_set
    return tilts(evaluate, job.mount.host.replace("-", " "), job.mount.tilt if given else None)


def _clearances(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], *, turning: bool
) -> tuple[Clearance, ...]:
    face, boss = placement.interface, job.boss
    return clearances(
        placement,
        tubes,
        wanted=_TUBES[placement.end],
        rough=[name for name, table in job.tubes.given().items() if "outset" not in table.model_fields_set],
        own=_own_caliper(job),
        limits=OwnLimits(**job.clearance.model_dump()),
        mount=Mount(
            _size(boss.diameter, face.boss_diameter),
            _size(boss.length, face.boss_length),
            _size(boss.thickness, face.tab_thickness),
        ),
        turning=turning,
    )


def _limit(own: float | None, name: str) -> float:
    return entry("limits", name).value if own is None else own


def _size(own: float | None, usual: Number | None) -> Number | None:
    return usual if own is None else Number(own, "own", "the job's own")


def _own_caliper(job: Job) -> OwnCaliper | None:
    return None if job.caliper is None else OwnCaliper(**job.caliper.model_dump())

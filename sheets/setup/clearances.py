"""A job's clearances: what its numbers allow to be judged, what fails, and where the mount can go."""

import functools
import math
from collections.abc import Callable, Iterable, Mapping

from geometry.clearance.bodies import Caliper, Heads, OwnCaliper, caliper, entry
from geometry.clearance.gaps import Largest, largest_disc, tubes_gap
from geometry.clearance.judged import (
    Clearance,
    Mount,
    OwnLimits,
    how,
    missing,
    no_disc,
    paired,
    unknowns,
)
from geometry.clearance.margins import clearances
from geometry.clearance.tilt import Spare, Tilts, least, nearer, on_host, on_length, tilts
from geometry.clearance.travel import Travel, WayOut, worst_over_travel, worst_way_out
from geometry.core.findings import Finding, Level
from geometry.core.frozen import dataclass
from geometry.core.say import Say, also, named, say
from geometry.core.tables import Number
from geometry.mount.bosses import BossFit, fit_bosses, made_length, needed
from geometry.mount.placement import MEETING, Placement
from geometry.tables.adapters import bolts, takes
from geometry.tables.interfaces import usual_spacing
from geometry.tables.stance import directions
from geometry.tubes.tube import Tube
from sheets.job.read import Job, place_job
from sheets.setup.outline import plate
from sheets.words.bosses import Nearer


@dataclass(frozen=True, slots=True)
class Clear:
    """What comes near what in a job. `travel` is None where the wheel does not move in its dropout.

    `largest` is the largest disc that has room, None without a rotor position. `unknown` says in a sentence
    each what is not known for want of a number, and how to measure that. `crossing` says that the stays
    cross, or is empty. `no_caliper` says that no caliper is known for holes so far apart, or is empty.
    """

    caliper: Caliper
    clearances: tuple[Clearance, ...]
    largest: Largest | None
    unknown: tuple[Say, ...]
    travel: Travel | None
    way_out: WayOut
    crossing: Say | str
    no_caliper: Say | str = ""

    @property
    def failed(self) -> tuple[Clearance, ...]:
        """Return the clearances that fail, the one that falls furthest short first."""
        failed = [each for each in self.clearances if each.state == "fail"]
        return tuple(sorted(failed, key=lambda each: (each.left or 0.0) - each.limit))

    @property
    def disc(self) -> Clearance | None:
        """Return the disc's least clearance to a tube; None where none is known.

        Card, template, traveller and `check` all tell this one.
        """
        known = [each for each in self.clearances if each.kind == "rotor" and each.left is not None]
        return min(known, key=lambda each: each.left or 0.0, default=None)

    @property
    def disc_words(self) -> Say | str:
        """Return the disc's least clearance in words: "disc 160 to fork leg 2.2 after 0.2 for run-out"."""
        first = self.disc or next((each for each in self.clearances if each.kind == "rotor"), None)
        return first.gap if first else ""

    @property
    def largest_words(self) -> Say | str:
        """Return the largest disc that has room, or what to measure before it is known."""
        return largest_words(self.largest)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return each clearance that fails, is less than asked for or not known, and what holds the wheel."""
        tight = [each for each in self.clearances if each.state == "warn"]
        groups: tuple[tuple[str, Level, Iterable[Clearance]], ...] = (
            ("clearance-fails", "stop", self.failed),
            ("clearance-tight", "warn", tight),
        )
        found = [
            Finding(
                code,
                level,
                say(f"clearance.level.{level}", sentence=each.sentence),
                each.key,
                brief=each.short_of,
                remedy=each.remedy,
            )
            for code, level, several in groups
            for each in several
        ]
        found += (Finding("clearance-unknown", "unknown", each) for each in self.unknown)
        if self.no_caliper:
            found.append(Finding("caliper-unknown", "unknown", self.no_caliper, "caliper"))
        if self.travel is not None:
            levels: dict[bool | None, Level] = {True: "note", False: "warn", None: "unknown"}
            level = levels[self.travel.ok]
            moves, do = self.travel, say(f"travel.remedy.{level}")
            found.append(
                Finding("travel", level, moves.sentence, "dropout.travel", brief=moves.brief, remedy=do)
            )
        if self.way_out.free is False and self.way_out.meets is not None:
            held, do = say("travel.brief_held", after=self.way_out.meets), say("travel.remedy_held")
            told = self.way_out.sentence
            found.append(Finding("wheel-held", "warn", told, "dropout.slot", brief=held, remedy=do))
        if self.crossing:
            found.append(Finding("tubes-cross", "warn", self.crossing))
        return tuple(found)


_BESIDE = dict.fromkeys(("frame", "process", "bench", "paper", "wrap", "load", "traveller"))
"""The tables that no clearance rests on."""


def _metal(job: Job) -> Job:
    """Return a job without those tables, to keep what jobs have in common that differ in no other.

    Reading one of them here would fail at once, so that nothing can come to rest on it unseen.
    """
    # But what was typed in inches: an own limit may come back so. It may be such a job already.
    return job.model_copy(update={**_BESIDE, "paper": getattr(job.paper, "typed", job.paper)})


def clear(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Clear:
    """Return a job's clearances. Beside a tube that is not placed sideways everything is unknown."""
    return _clear(_metal(job), placement, tuple(tubes.items()))


@functools.lru_cache(maxsize=64)
def _clear(job: Job, placement: Placement, placed: tuple[tuple[str, Tube], ...]) -> Clear:
    tubes = dict(placed)
    own = own_caliper(job)
    room = caliper(placement, own)
    found = _clearances(job, placement, tubes, turning=False)
    beside = {
        missing(name, tubes.get(name)): (named(name), how(name, tubes.get(name)))
        for name in MEETING[placement.end]
    }
    beside[no_disc(placement.axle.name)] = (named("disc"), no_disc(placement.axle.name))
    slot, turns = job.dropout.slot, job.stance.of(placement.end).turns
    meant = () if slot is None else directions(slot, job.dropout.slot_from, turns)
    return Clear(
        caliper=room,
        clearances=found,
        largest=largest(job, placement, tubes),
        unknown=tuple(
            say("clearance.beside", what=beside[why][0], how=beside[why][1])
            if why in beside
            else say("clearance.not_known", names=(_first(names[0]), *names[1:]), why=why)
            for names, why in unknowns(found)
        ),
        travel=worst_over_travel(placement, room, meant, job.dropout.travel),
        way_out=worst_way_out(placement, room, meant),
        crossing=_crossing(tubes),
        no_caliper="" if room.known else _no_caliper(placement),
    )


def _no_caliper(placement: Placement) -> Say:
    """Return that the caliper's room was taken from one for other holes."""
    face = placement.interface
    usual = usual_spacing(face.family, face.end) or face.spacing
    kind = named(f"{face.family}-mount")
    return say("clearance.no_caliper", mount=kind, spacing=face.spacing, usual=usual)


def _first(name: Say) -> Say:
    """Return the name of a clearance as a sentence begins with it."""
    if name.code == "clearance.name.of":
        return paired(_first(name["what"]), name["other"])
    return say(f"clearance.first.{name.code.rpartition('.')[2]}", **dict(name.values))


def largest(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Largest | None:
    """Return the largest disc that the mount takes and that has room; None without a rotor position."""
    face = placement.interface
    return largest_disc(
        placement.rotor,
        tubes,
        takes(bolts(face), face.native, job.mount.rotor),
        wanted=MEETING[placement.end],
        room=_limit(job.clearance.rotor, "rotor"),
        runout=_limit(job.clearance.runout, "runout"),
    )


def largest_words(found: Largest | None, *, row: bool = False) -> Say | str:
    """Return the largest disc in words, with what was asked for; what is missing makes it unknown.

    As a `row` it leaves out what heads the row.
    """
    known = () if found is None else tuple(map(named, found.known))
    if found is None:
        what: Say | str = say("clearance.largest.no_rotor")
    elif not known:
        what = also([say("clearance.largest.unknown"), *found.unknown])
    else:
        code = "clearance.largest.clear_after_runout" if found.runout else "clearance.largest.clear"
        clear = say(code, room=found.room, tubes=known, runout=found.runout)
        if found.diameter is None:
            return say("clearance.largest.none", clear=clear)
        if not found.unknown:
            code = "clearance.largest.found_row" if row else "clearance.largest.found"
            return say(code, clear=clear, diameter=found.diameter)
        what = say("clearance.largest.at_most", diameter=found.diameter, clear=clear)
    return what if row else say("clearance.largest.disc", what=what)


def _crossing(tubes: Mapping[str, Tube]) -> Say | str:
    """Say that the stays run into each other, which no frame's do where both are given; else nothing."""
    if not {"chainstay", "seatstay"} <= {name for name, tube in tubes.items() if tube.placed}:
        return ""
    near = tubes_gap(tubes["chainstay"], tubes["seatstay"])
    if near.distance > 0.0:
        return ""
    x, y, _ = near.second
    return say("clearance.stays_cross", x=x, y=y)


def tilts_of(job: Job, tubes: Mapping[str, Tube]) -> Tilts:
    """Return the tilts at which the mount's clearances hold on its host tube, and its bosses reach it."""
    return _tilts_of(_metal(job), tuple(tubes.items()))


@functools.lru_cache(maxsize=64)
def _tilts_of(job: Job, placed: tuple[tuple[str, Tube], ...]) -> Tilts:
    tubes = dict(placed)
    given = "tilt" in job.mount.model_fields_set
    evaluate = _turned(job, tubes)
    rough = _turned(job, tubes, rough=True)
    return tilts(evaluate, job.mount.host, job.mount.tilt if given else None, rough)


def turning_of(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], *, rough: bool = False
) -> tuple[Clearance, ...]:
    """Return the clearances that turn with the mount about the axle, in a hundredth of a second."""
    return _clearances(job, placement, tubes, turning=True, rough=rough)


def _turned(
    job: Job, tubes: Mapping[str, Tube], *, rough: bool = False
) -> Callable[[float], tuple[tuple[Clearance, ...], Spare]]:
    """Return what judges a job at another tilt: its clearances, and how its mount lies over its host."""

    def evaluate(tilt: float) -> tuple[tuple[Clearance, ...], Spare]:
        turned = _at(job, tilt)
        placement = place_job(turned)
        over = on_host(placement, tubes)
        if rough and over[0] < 0.0:
            return (), over
        found = turning_of(turned, placement, tubes, rough=rough)
        # Lengths take the longest to find, and where the holes leave their host they mean nothing.
        return found, over if over[0] < 0.0 else least([over, _on_length(turned, placement, tubes)])

    return evaluate


def _at(job: Job, tilt: float) -> Job:
    return job.model_copy(update={"mount": job.mount.model_copy(update={"tilt": tilt})})


def _on_length(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> Spare:
    """Return how far the bosses reach past what they have to, as `on_length` does."""
    host, sizes = tubes.get(placement.host), mount_sizes(job, placement)
    lengths = {hole.name: sizes.length_at(hole.name) for hole in placement.holes}
    known = {name: each.value for name, each in lengths.items() if each is not None}
    part = placement.interface.part
    if host is None or not host.placed or part == "tab" or sizes.diameter is None or len(known) < 2:
        return math.inf, ""
    needs = needed(placement, host, sizes.diameter.value)
    return on_length(needs, known, part, placement.host)


def fits(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> tuple[BossFit, ...]:
    """Return how the bosses meet the host tube; nothing for a tab, or without a tube that is placed."""
    return _fits(_metal(job), placement, tubes.get(placement.host))


# The order of work, the findings, loads and wraps all go by it.
@functools.lru_cache(maxsize=64)
def _fits(job: Job, placement: Placement, tube: Tube | None) -> tuple[BossFit, ...]:
    table = job.tubes.given().get(job.mount.host)
    if tube is None or table is None or not tube.placed:
        return ()
    sizes = mount_sizes(job, placement)
    return fit_bosses(
        placement,
        tube,
        diameter=_value(sizes.diameter),
        length=_value(sizes.length),
        near_length=_value(sizes.near_length),
        wall=table.wall,
        sleeve=job.boss.sleeve or 0.0,
    )


def nearer_of(job: Job, tubes: Mapping[str, Tube], found: Iterable[BossFit]) -> Nearer | None:
    """Return a tilt at which bosses that end short would reach their tube and everything known still holds.

    None where they do not end short, or where no turn of the mount helps.
    """
    if not any(fit.short is not None for fit in found):
        return None
    return _nearer_of(_metal(job), tuple(tubes.items()))


@functools.lru_cache(maxsize=64)
def _nearer_of(job: Job, placed: tuple[tuple[str, Tube], ...]) -> Nearer | None:
    tubes = dict(placed)

    def excess(tilt: float) -> float:
        turned = _at(job, tilt)
        return -_on_length(turned, place_job(turned), tubes)[0]

    tilt = nearer(excess, job.mount.tilt)
    if tilt is None:
        return None
    judged, over = _turned(job, tubes)(tilt)
    if over[0] < 0.0 or any(each.state in ("fail", "warn") for each in judged):
        return None
    turned = _at(job, tilt)
    length = made_length(fits(turned, place_job(turned), tubes))
    return None if length is None else Nearer(tilt, length)


def _clearances(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], *, turning: bool, rough: bool = False
) -> tuple[Clearance, ...]:
    heads = job.axle.heads
    return clearances(
        placement,
        tubes,
        wanted=MEETING[placement.end],
        own=own_caliper(job),
        limits=OwnLimits(**job.clearance.model_dump()),
        mount=mount_sizes(job, placement),
        dummy=job.axle.dummy,
        heads=None if heads is None else Heads(*heads),
        plate=plate(job, placement),
        turning=turning,
        rough=rough,
    )


def mount_sizes(job: Job, placement: Placement) -> Mount:
    """Return the mount's sizes: the job's own, or else the table's with their grades."""
    face, boss = placement.interface, job.boss
    return Mount(
        _size(boss.diameter, face.boss_diameter),
        _size(boss.length, face.boss_length),
        _size(boss.thickness, face.tab_thickness),
        _size(boss.near_length, None),
    )


def _limit(own: float | None, name: str) -> float:
    return entry("limits", name).value if own is None else own


def _value(size: Number | None) -> float | None:
    return None if size is None else size.value


def _size(own: float | None, usual: Number | None) -> Number | None:
    return usual if own is None else Number(own, "own", say("clearance.own_size"))


def own_caliper(job: Job) -> OwnCaliper | None:
    """Return the caliper as the job gives it; None where the table's stands in."""
    return None if job.caliper is None else OwnCaliper(**job.caliper.model_dump())

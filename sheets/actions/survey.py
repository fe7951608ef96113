"""The survey of a job: from its readings to where the mount is, a verdict, and the pull record."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path

from geometry.core.errors import DropleafError, InputError, why
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from geometry.mount.placement import Placement
from geometry.survey.errors import ReadingError
from geometry.survey.model import Taken, takeable
from geometry.survey.plan import Asked, further, plan
from geometry.survey.pull import QUANTITIES, Pull, Record, pulls
from geometry.survey.readings import pin_for, readings, unreachable
from geometry.survey.remedy import Shop
from geometry.survey.survey import Survey, survey
from geometry.survey.verdict import Verdict, judge
from geometry.tubes.tube import Tube
from sheets.actions import readings_file as survey_readings
from sheets.actions.readings_file import Read, Row
from sheets.job.read import JobFile, blaming, from_bytes, place_job, tubes_of
from sheets.setup.clearances import clear
from sheets.words.lengths import telling

RESOLUTIONS = (0.001, 1.0)
"""Steps of calipers and rules that are taken, mm: own judgement."""


@dataclass(frozen=True, slots=True)
class Bench:
    """A job ready for its survey: placement, tubes, and every reading that can be taken on the mount.

    `left_out` says of the others, by their keys, why no caliper can take them.
    """

    source: JobFile
    placement: Placement
    tubes: Mapping[str, Tube]
    takeable: tuple[Taken, ...]
    left_out: Mapping[str, Say]

    @property
    def host(self) -> Tube | None:
        """Return the host tube, None where the job does not give it."""
        return self.tubes.get(self.placement.host)

    @property
    def asked(self) -> tuple[Asked, ...]:
        """Return the readings that settle the finished mount, the one that settles most first."""
        return plan(self.placement, self.takeable, self.host, self.source.job.dropout.thickness)


@dataclass(frozen=True, slots=True)
class Surveyed:
    """A survey at one check point with its verdict; `notes` say how readings were read."""

    bench: Bench
    survey: Survey
    verdict: Verdict
    notes: tuple[str, ...]
    pulls: tuple[Pull, ...] = ()
    recorded: bool = False

    @property
    def status(self) -> int:
        """Return the exit status: 0 right or usable with remedy, 1 not usable or cannot tell."""
        return 0 if self.verdict.good else 1


def bench_of(source: JobFile, pin: float | None = None, drilled: float | None = None) -> Bench:
    """Return a job ready for its survey; raise DropleafError as placing does.

    `pin` is what stood in the holes, mm, where it was not what the job's sheets ask for; `drilled` their
    diameter where the sheet that the mount was built to had another than today's row.
    """
    with blaming(source.path):
        job, placement = source.job, place_job(source.job)
        tubes = tubes_of(job)
        hole = placement.interface.hole.diameter.value if drilled is None else drilled
        stands, wide = pin_for(hole, job.bench.pins) if pin is None else pin, max(hole, pin or 0.0)
        found = readings(
            placement,
            axle=job.axle.dummy,
            pin=stands,
            drilled=wide,
            tube=tubes.get(placement.host),
            dropout_thickness=job.dropout.thickness,
            facing=job.process.facing,
        )
        left_out = unreachable(placement, axle=job.axle.dummy, pin=stands, drilled=wide)
        return Bench(source, placement, tubes, takeable(found, placement.interface.family), left_out)


def packet_job(path: Path, attachments: Mapping[str, bytes], name: str) -> JobFile:
    """Return the job attached to a packet under a name; raise InputError, led by the packet."""
    raw = attachments.get(name)
    if raw is None:
        raise InputError.at(str(path), say("survey.ask.not_attached", name=name))
    with blaming(f"{path}: {name}"):
        return from_bytes(raw, path)


def from_packet(path: Path, pin: float | None = None) -> tuple[Bench, Read]:
    """Return the job and the readings in a filled packet; raise InputError for one that has no readings."""
    from sheets.files.apart import apart
    from sheets.files.read.form import read_form
    from sheets.files.record import MANIFEST, NAME

    form = apart(path, read_form, path)
    about = getattr(form, "record", {}).get("job")
    jobs = [each for each in form.attachments if each.endswith(".toml") and each not in (NAME, MANIFEST)]
    name = str(about["name"]) if isinstance(about, Mapping) and "name" in about else (jobs or ["job.toml"])[0]
    drilled = _drilled(form.attachments.get(MANIFEST))
    bench = bench_of(packet_job(path, form.attachments, name), pin, drilled)
    # The sheet that was filled in asks for inches where the job that it was drawn from tells inches alone.
    units = bench.source.job.paper.units
    entries = survey_readings.form_entries(path, form.values, units)
    with telling(units):
        return bench, survey_readings.read(entries, bench.takeable, bench.left_out)


def _drilled(manifest: bytes | None) -> float | None:
    """Return the diameter of the holes that a packet had drawn, mm; None where its manifest does not tell."""
    try:
        return float(json.loads(manifest or b"")["placement"]["holes"][0]["diameter"])
    except (ValueError, LookupError, TypeError):
        return None


PINS = (2.0, 12.0)
"""Pins that are taken, mm: what goes into the smallest and the largest hole of a brake mount."""


def checked_pin(text: str | None) -> float | None:
    """Return a pin's diameter in mm; raise InputError for one that goes into no brake mount."""
    return None if text is None else _within(text, "--pin", PINS, "survey.ask.pin")


def checked_resolution(text: str | None) -> float | None:
    """Return a caliper's step in mm; raise InputError for one that no caliper has."""
    if text is None:
        return None
    return _within(text, "--resolution", RESOLUTIONS, "survey.ask.step")


def _within(text: str, where: str, limits: tuple[float, float], code: str) -> float:
    from sheets.job.units import given, length

    try:
        found = length(text)
    except ValueError as error:
        raise InputError.at(where, why(error)) from error
    low, high = limits
    if not low <= found <= high:
        raise InputError.at(where, say(code, given=given(text), low=low, high=high))
    return found


def surveyed(
    bench: Bench,
    found: Read,
    point: str | None = None,
    resolution: float | None = None,
    history: Sequence[Record] = (),
) -> Surveyed:
    """Return the survey at a check point, by default the last that has readings, judged.

    Raise InputError where that point has none, GeometryError where no mount explains them.
    """
    if not found.rows:
        keys = ", ".join(each.taken.key for each in bench.asked[:3])
        raise InputError.at(str(bench.source.path), say("survey.ask.no_readings", keys=keys))
    if point is not None and point not in found.rows:
        points = ", ".join(found.rows)
        raise InputError.at("--point", say("survey.ask.not_then", point=point, points=points))
    at = point or list(found.rows)[-1]
    return _judged(bench, at, found.rows[at], found.notes, resolution, history)


def _judged(
    bench: Bench,
    point: str,
    rows: Sequence[Row],
    notes: tuple[str, ...],
    resolution: float | None,
    history: Sequence[Record],
) -> Surveyed:
    job, placement = bench.source.job, bench.placement
    with blaming(bench.source.path):
        near = clear(job, placement, bench.tubes)
        one = survey(
            placement,
            rows,
            point=point,
            error=ReadingError(resolution=resolution),
            tube=bench.host,
            thickness=job.dropout.thickness,
            facing=job.process.facing,
            room=near.caliper,
        )
    most = near.largest
    tab = placement.interface.family == "tab"
    table = placement.interface.boss_diameter
    shop = Shop(
        size=job.boss.thickness if tab else job.boss.length,
        width=None if tab else job.boss.diameter or (table.value if table else None),
        largest=None if most is None or not most.known else most.diameter or 0.0,
        certain=most is not None and not most.unknown,
    )
    known = pulls(history, placement.end, placement.interface.family, job.process.method or "")
    then = [each for each in bench.takeable if survey_readings.taken_at(each, point)]
    more = further(one, then, bench.host, job.dropout.thickness)
    return Surveyed(bench, one, judge(one, shop, more), notes, known)


def records(bench: Bench, found: Read, resolution: float | None = None) -> tuple[Record, ...]:
    """Return what the builder's record takes of a job's readings, a check point each.

    A point whose readings contradict each other, or fit no mount, is left out: it would spoil the record.
    """
    kept = []
    for point, rows in found.rows.items():
        try:
            one = _judged(bench, point, rows, (), resolution, ()).survey
        except DropleafError:
            continue
        values = _values(one)
        if values and not one.contradictions:
            form = bench.placement.interface
            method = bench.source.job.process.method or ""
            kept.append(Record(bench.source.job.frame.id, point, form.end, form.family, method, values))
    return tuple(kept)


def _values(one: Survey) -> dict[str, float]:
    """Return a survey's errors by the record's quantities; what is told at both holes counts as its mean."""
    found: dict[str, float] = {}
    for key in QUANTITIES:
        errors = [
            each.error
            for name in (key, f"{key}_near", f"{key}_far")
            if (each := one.miss(name)) is not None and each.error is not None
        ]
        if errors and (len(errors) == 2 or one.miss(key) is not None):
            found[key] = sum(errors) / len(errors)
    return found

"""A job file read and checked, and what geometry makes of it.

Everything that is wrong with a file is reported at once, each problem on a line of its own:
FILE: key: what was given; what is allowed.
"""

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError

from geometry.core.errors import GeometryError, InputError, Problem
from geometry.core.findings import Finding
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import Interface, resolve
from geometry.tubes.tube import Station, Tube
from sheets.files.bounded import LARGEST, blaming, check, read_bytes
from sheets.job import toml as toml_text
from sheets.job.keys import Job
from sheets.job.own_row import Chooser, job_block, nothing, own_row
from sheets.job.own_row import words as had_words
from sheets.job.tube_keys import Seatstay, TubeTable
from sheets.job.units import given
from sheets.words import fits as fit_words
from sheets.words.tell import nearest

__all__ = [
    "LARGEST", "Job", "JobFile", "blaming", "from_bytes", "load", "parse", "place_job", "read", "tubes_of",
]  # fmt: skip

_USUAL = "a job file takes about 2 kB"
_NO_PDF = "give the job file, a TOML text; to a packet drawn here it is attached"
_LONE_REACH = 400.0
"""How far up a tube of a single station is taken to go where the job does not say, mm: about a chainstay."""

_MOST = 40
"""Problems listed one by one."""


@dataclass(frozen=True, slots=True)
class JobFile:
    """A job with the file that it came from; `raw`: its bytes, to be attached to the packet.

    Where the job names a row of the builder's own table, `raw` ends with that row as [interface].
    """

    path: Path
    raw: bytes
    job: Job

    @property
    def name(self) -> str:
        """Return the file's own name, fit to be written anywhere."""
        return self.path.name.encode("utf-8", "replace").decode("utf-8")


def read(file: Path) -> Job:
    """Return the job in a file; raise InputError with all its problems, each led by the file's name."""
    return load(file).job


def load(file: Path, choose: Chooser = nothing) -> JobFile:
    """Return the job in a file, with its bytes; raise InputError as `read` does.

    `choose` looks up rows of the builder's own; a job that was filed brings all of its rows.
    """
    raw = read_bytes(file, _USUAL, folder="the job file", pdf=_NO_PDF)
    with blaming(file):
        return from_bytes(raw, file, choose)


def from_bytes(raw: bytes, file: Path, choose: Chooser = nothing) -> JobFile:
    """Return the job in some bytes; raise InputError with all its problems, led by their keys alone.

    `file` is what the job counts as read from; it is not looked at, and need not be there.
    """
    check(raw, _USUAL, pdf=_NO_PDF)
    document = toml_text.document(raw)
    job = parse(document, choose)
    if job.interface is not None and "interface" not in document:
        # A row of the builder's own table goes with the job, so that what is filed needs no table.
        raw += f"\n# From the builder's own table.\n{job_block(job.interface)}".encode()
    return JobFile(file, raw, job)


def parse(document: Mapping[str, Any], choose: Chooser = nothing) -> Job:
    """Return the job of a parsed document; raise InputError with all problems, led by their keys.

    A row that `choose` has for mount.interface becomes the job's [interface].
    """
    chosen = choose(document)
    if chosen.row is not None:
        document = {**document, "interface": chosen.row}
    try:
        paper = document.get("paper")
        own_face = isinstance(paper, Mapping) and bool(paper.get("font"))
        context = {
            "own row": "interface" in document,
            "own face": own_face,
            "own problem": chosen.problem,
            "own names": chosen.names,
        }
        job = Job.model_validate(document, context=context)
        return job.without_own_rows(chosen.damaged) if chosen.damaged else job
    except ValidationError as error:
        errors: list[dict[str, Any]] = [dict(each) for each in error.errors(include_url=False)]
        meant = {_meant(each["loc"]) for each in errors if each["type"] == "extra_forbidden"}
        # A misspelt key that must be there is one mistake and not two.
        errors = [each for each in errors if each["type"] != "missing" or each["loc"] not in meant]
        problems = [_problem(each) for each in errors]
    if len(problems) > _MOST:
        problems = [*problems[:_MOST], Problem("", f"and {len(problems) - _MOST} more problems")]
    raise InputError(*problems)


def tubes_of(job: Job) -> dict[str, Tube]:
    """Return the job's tubes by name, lengths in mm; a tube of one station gets a second at its far end."""
    return {name: _tube(name, table) for name, table in job.tubes.given().items()}


def place_job(job: Job) -> Placement:
    """Return where the job's mount sits; raise DropleafError with the keys that tables or geometry refuse."""
    mount, seatstay = job.mount, job.tubes.seatstay
    if mount.host == "seatstay" and seatstay is None:
        what = "the table [tubes.seatstay] is missing; give it with included, its angle from the chainstay"
        raise GeometryError(Problem("tubes.seatstay", what))
    own = None if job.interface is None else own_row(job.interface, mount.interface)
    interface = resolve(mount.interface, mount.end, mount.native, mount.rotor, own)
    if job.boss.near_length is not None and not _has_own_near(interface):
        what = (
            f"{job.boss.near_length:g} given, but only posts and a front flat mount's bosses may differ in "
            "length; leave it out"
        )
        raise InputError.at("boss.near_length", what)
    placement = place(
        interface,
        axle(job.axle.system),
        rotor=mount.rotor,
        host=mount.host,
        direction=host_direction(mount.host, seatstay.included if seatstay else None),
        tilt=mount.tilt,
        pocket=job.axle.pocket,
    )
    if job.interface is None:
        return placement
    doubts = fit_words.stamps(interface)
    said = (
        Finding("own-row", "note", each, "interface") for each in had_words(job.interface, mount.interface)
    )
    return replace(placement, findings=(*doubts, *placement.findings, *said))


def _has_own_near(face: Interface) -> bool:
    """Tell whether a mount's near boss may have its own length: no tab, and no screw through both ends."""
    # The near one's line passes the axle at the same distance at every tilt and mostly ends on the dropout,
    # whose outline is not known here, so that its length cannot follow from the tube.
    return face.family == "post" or (face.family == "flat" and face.end == "front")


def _tube(name: str, table: TubeTable) -> Tube:
    stations = tuple(Station(row[0], row[1], row[-1]) for row in table.diameters)
    if len(stations) == 1:
        only = stations[0]
        end = only.s + _LONE_REACH if table.straight_to is None else table.straight_to
        stations = (only, Station(end, only.height, only.width))
    included = table.included if isinstance(table, Seatstay) else None
    return Tube(
        name=name,
        direction=host_direction(name, included),
        stations=stations,
        offset=table.offset,
        outset=table.outset or 0.0,
        splay=table.splay or 0.0,
        straight_to=table.straight_to,
        lacks=tuple(key for key in ("outset", "splay") if getattr(table, key) is None),
    )


def _problem(error: dict[str, Any]) -> Problem:
    """Return a validation error in the words of the job file."""
    loc, kind, value, context = error["loc"], error["type"], error["input"], error.get("ctx", {})
    where = _path(loc)
    if kind == "blame":
        return Problem(context["path"], context["text"])
    if kind == "value_error":
        return Problem(where, str(context["error"]))
    if kind == "missing":
        return Problem(where, f"missing; {_wanted(loc)}")
    if kind == "extra_forbidden":
        meant = _meant(loc)
        hint = f", did you mean {meant[-1]}?" if meant else f"; allowed: {', '.join(_keys(loc[:-1]))}"
        return Problem(where, f"there is no such key{hint}")
    if kind == "literal_error":
        allowed = re.findall(r"'([^']+)'", context["expected"])
        hint = nearest(value, allowed) if isinstance(value, str) else ""
        return Problem(where, f"{given(value)} given{hint}; allowed: {', '.join(allowed)}")
    if kind == "string_type":
        return Problem(where, f"{given(value)} given; a text in quotes is wanted: {_wanted(loc)}")
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return Problem(where, f"{given(value)} given; a table is wanted, beginning with [{where}]")
    if kind in ("tuple_type", "list_type"):
        return Problem(where, f"{given(value)} given; a list is wanted: {_wanted(loc)}")
    if kind == "too_long":
        return Problem(
            where, f"a list of {context['actual_length']} given; at most {context['max_length']} allowed"
        )
    return Problem(where, f"{given(value)} given; {error['msg']}")


def _meant(loc: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Return the place of the known key that is nearest to an unknown one, or an empty place."""
    close = difflib.get_close_matches(str(loc[-1]), _keys(loc[:-1]), n=1, cutoff=0.5)
    return (*loc[:-1], close[0]) if close else ()


def _path(loc: tuple[str | int, ...]) -> str:
    """Return a key's path as the job file writes it: tubes.fork-leg.diameters[1]."""
    text = ""
    for part in loc:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            shown = part if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", part) else given(part)
            text += f".{shown}" if text else shown
    return text


def _model(loc: tuple[str | int, ...]) -> type[BaseModel] | None:
    """Return the model that describes the table at a place, or None where there is none."""
    model: type[BaseModel] | None = Job
    for part in loc:
        fields = model.model_fields.values() if model else ()
        field = next(
            (field for name, field in zip(_keys_of(model), fields, strict=True) if name == part), None
        )
        inside = (field.annotation, *get_args(field.annotation)) if field else ()
        model = next(
            (each for each in inside if isinstance(each, type) and issubclass(each, BaseModel)), None
        )
    return model


def _keys_of(model: type[BaseModel] | None) -> list[str]:
    return [field.alias or name for name, field in model.model_fields.items()] if model else []


def _keys(loc: tuple[str | int, ...]) -> list[str]:
    """Return the keys allowed in the table at a place."""
    return _keys_of(_model(loc))


def _wanted(loc: tuple[str | int, ...]) -> str:
    """Return the description of the key at a place; for a table that must be there, how it begins."""
    model = _model(loc[:-1])
    fields = dict(zip(_keys_of(model), model.model_fields.values(), strict=True)) if model else {}
    field = fields.get(str(loc[-1]))
    text = (field.description if field else None) or "see the samples"
    return f"give [{_path(loc)}]: {text}" if _model(loc) else text

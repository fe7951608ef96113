"""A job file read and checked, and what geometry makes of it.

Everything that is wrong with a file is reported at once, each problem on a line of its own:
FILE: key: what was given; what is allowed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from geometry.core.errors import GeometryError, InputError, Problem
from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.core.shown import Typed
from geometry.mount.placement import Placement, host_direction, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import Interface, resolve
from geometry.tubes.tube import Station, Tube
from sheets.files.bounded import LARGEST, blaming, check, read_bytes, standard_input
from sheets.job import toml as toml_text
from sheets.job.beside import drawn_block, must_be_the_same, table
from sheets.job.closed import Context, Table
from sheets.job.keys import Job
from sheets.job.own_row import Chooser, how_had, job_block, nothing, own_row
from sheets.job.refused import problems
from sheets.job.tube_keys import Seatstay, TubeTable
from sheets.words import fits as fit_words
from sheets.words.tell import tell

__all__ = [
    "LARGEST", "Job", "JobFile", "blaming", "from_bytes", "load", "parse", "place_job", "read", "tubes_of",
]  # fmt: skip

_USUAL, _NO_PDF = say("job.usual_size"), say("job.not_a_pdf")
_LONE_REACH = 400.0
"""How far up a tube of a single station is taken to go where the job does not say, mm: about a chainstay."""

_MOST = 40
"""Problems listed one by one."""


@dataclass(frozen=True, slots=True)
class JobFile:
    """A job with the file that it came from; `raw`: its bytes, to be attached to the packet.

    Where the job names a row of the builder's own table, `raw` ends with that row as [interface], and where
    it names a drawing of the dropout, with what was read from it as [outline].
    """

    path: Path
    raw: bytes
    job: Job

    @property
    def name(self) -> str:
        """Return the file's own name, fit to be written anywhere; of a job from a pipe, its frame's."""
        if str(self.path) == "-":
            return f"{self.job.frame.id}.toml"
        return self.path.name.encode("utf-8", "replace").decode("utf-8")


def read(file: Path) -> Job:
    """Return the job in a file; raise InputError with all its problems, each led by the file's name."""
    return load(file).job


def load(file: Path, choose: Chooser = nothing) -> JobFile:
    """Return the job in a file, with its bytes; raise InputError as `read` does.

    `choose` looks up rows of the builder's own; a job that was filed brings all of its rows. "-" is standard
    input; such a job counts as lying here.
    """
    if str(file) == "-":
        with blaming(tell("files.standard_input")):
            return from_bytes(standard_input(_USUAL, _NO_PDF), file, choose, Path())
    raw = read_bytes(file, _USUAL, folder=say("job.the_file"), pdf=_NO_PDF)
    with blaming(file):
        return from_bytes(raw, file, choose, file.parent)


def from_bytes(raw: bytes, file: Path, choose: Chooser = nothing, beside: Path | None = None) -> JobFile:
    """Return the job in some bytes; raise InputError with all its problems, led by their keys alone.

    `file` is what the job counts as read from; it is not looked at, and need not be there. `beside` is the
    folder of the drawing that it may name; a job that was filed brings what was read from it.
    """
    check(raw, _USUAL, pdf=_NO_PDF)
    document = toml_text.document(raw)
    job = parse(document, choose)
    if job.interface is not None and "interface" not in document:
        # A row of the builder's own table goes with the job, so that what is filed needs no table.
        raw += f"\n# From the builder's own table.\n{job_block(job.interface)}".encode()
    if job.dropout.outline is not None and job.outline is None:
        # What was read from the drawing goes with the job too.
        drawn = drawn_block(job.dropout, beside)
        raw += f"\n# {job.dropout.outline}\n{drawn}".encode()
        check(raw, _USUAL)
        job = parse({**document, "outline": table(drawn)}, choose)
    elif job.outline is not None and beside is not None:
        must_be_the_same(job.outline, beside)
    return JobFile(file, raw, job)


def parse(document: Mapping[str, Any], choose: Chooser = nothing) -> Job:
    """Return the job of a parsed document; raise InputError with all problems, led by their keys.

    A row that `choose` has for mount.interface becomes the job's [interface].
    """
    chosen = choose(document)
    if chosen.row is not None:
        document = {**document, "interface": chosen.row}
    paper = document.get("paper")
    own_face = isinstance(paper, Mapping) and bool(paper.get("font"))
    context = Context("interface" in document, own_face, chosen.problem, chosen.names)
    try:
        job = _as_typed(Job.model_validate(document, context=context))
        return job if chosen.damaged is None else job.without_own_rows(chosen.damaged)
    except ValidationError as error:
        found = problems(error, Job)
    if len(found) > _MOST:
        found = [*found[:_MOST], Problem("", say("refused.more", count=len(found) - _MOST))]
    raise InputError(*found)


def _as_typed(job: Job) -> Job:
    """Return a job whose paper knows what was typed in inches, where it is told in inches."""
    if job.paper.units == "mm" or not (texts := tuple(_typed(job))):
        return job
    return job.model_copy(update={"paper": job.paper.as_typed(texts)})


def _typed(value: object) -> Iterator[str]:
    """Yield every text that was typed in inches, in the order of the keys."""
    if isinstance(value, Typed):
        yield value.text
    inner = value.values() if isinstance(value, Mapping) else value if isinstance(value, tuple) else ()
    for each in (
        (getattr(value, name) for name in type(value).model_fields) if isinstance(value, Table) else inner
    ):
        yield from _typed(each)


def tubes_of(job: Job) -> dict[str, Tube]:
    """Return the job's tubes by name, lengths in mm; a tube of one station gets a second at its far end."""
    return {name: _tube(name, table) for name, table in job.tubes.given().items()}


def place_job(job: Job) -> Placement:
    """Return where the job's mount sits; raise DropleafError with the keys that tables or geometry refuse."""
    mount, seatstay = job.mount, job.tubes.seatstay
    if mount.host == "seatstay" and seatstay is None:
        raise GeometryError(Problem("tubes.seatstay", say("job.no_seatstay")))
    own = None if job.interface is None else own_row(job.interface, mount.interface)
    interface = resolve(mount.interface, mount.end, mount.native, mount.rotor, own)
    if job.boss.near_length is not None and not _has_own_near(interface):
        raise InputError.at("boss.near_length", say("job.no_near_length", length=job.boss.near_length))
    if job.boss.sleeve is not None and interface.family != "flat":
        raise InputError.at("boss.sleeve", say("job.no_sleeve", sleeve=job.boss.sleeve))
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
    had = how_had(job.interface, mount.interface)
    said = (Finding("own-row", "note", had, "interface"),) if had else ()
    return replace(placement, findings=(*fit_words.stamps(interface), *placement.findings, *said))


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

"""The folder at a glance: its jobs and its packets, as far as each is known.

A job is read at once, in a hundredth of a second. What is found of it takes a second or more, and a packet
may be anybody's file: both are worked out by `watch.py` in processes of their own, from the functions here.
"""

import contextlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, get_args

from geometry.core.errors import DropleafError, NoPacketError
from geometry.core.findings import LEVELS, by_level
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named
from geometry.survey.verdict import Word
from sheets.actions.check import report
from sheets.desk.proven import noted, seal
from sheets.desk.state import begun
from sheets.files import record
from sheets.files.read.form import Form, read_form
from sheets.filing.typed_traveller import typed_in as typed_later
from sheets.home.folder import home
from sheets.home.jobs import load
from sheets.job import toml as toml_text
from sheets.job.operations import CHECK_POINTS, operations
from sheets.job.read import JobFile, place_job
from sheets.setup.findings import Verdict, verdict
from sheets.words.lengths import telling
from sheets.words.tell import line, lines, tell, told

Stamp = tuple[Any, ...]
"""What a file is known to be unchanged by, without being read."""
_JOB_TABLES = {"frame", "mount", "axle", "dropout", "tubes"}
_PROVE = "prove-scale"


@dataclass(frozen=True, slots=True)
class Frame:
    """A job of the folder: file name without its ending, the frame's own names, and what it is in words.

    `key` is the digest of all that its findings rest on, `job` that of the job as packets have it; both are
    "" for one that cannot be read, whose `problems` say why. `more` is what can be searched beside the rest,
    `proven` the seals of the packets whose bars a ruler found true.
    """

    name: str
    id: str = ""
    title: str = ""
    what: str = ""
    key: str = ""
    job: str = ""
    more: str = ""
    problems: tuple[str, ...] = ()
    begun: bool = False
    proven: tuple[str, ...] = ()

    @property
    def file(self) -> str:
        """Return the file's whole name."""
        return f"{self.name}.toml"


@dataclass(frozen=True, slots=True)
class Judged:
    """What is found of a job: what it comes to, how many of each level, and each by level in a sentence."""

    key: str
    verdict: Verdict | None = None
    counts: tuple[str, ...] = ()
    said: tuple[tuple[str, str], ...] = ()
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Packet:
    """A PDF of the folder; of one that is no packet `kind` is "" and nothing else counts.

    `survey` is the verdict's word in its last survey, `point` when that was taken, "" for none. `proven`
    tells that somebody filled in the bars' operation, `filled` that anything was filled in. `seal` is what
    the packet is told from every other by (proven.py).
    """

    file: str
    kind: str = ""
    frame: str = ""
    revision: int = 0
    job: str = ""
    proven: bool = False
    filled: bool = False
    survey: str = ""
    point: str = ""
    problem: str = ""
    seal: str = ""


def stamp(file: Path) -> Stamp:
    """Return what a file is known by; nothing of one that is not there."""
    try:
        seen = file.stat()
    except OSError:
        return ()
    return (file.name, seen.st_mtime_ns, seen.st_size, seen.st_ino)


def home_stamp() -> Stamp:
    """Return what the builder's own files are known by: rows and operations change what is found."""
    try:
        return tuple(sorted(stamp(each) for each in home().iterdir()))
    except OSError:
        return ()


def key_of(source: JobFile, kept: Stamp) -> str:
    """Return the digest of what a job's findings rest on: its text, its drawing, and the builder's files."""
    return record.digest(source.raw + repr(kept).encode())


def frame_of(file: Path, kept: Stamp, typed_in: Path | None = None) -> Frame | None:
    """Return what a job file says, or why it cannot be read; None for a TOML file that is no job.

    `typed_in` is where what was typed of its traveller is kept, with its notes of true bars.
    """
    proven = noted(typed_in) if typed_in else ()
    try:
        source = load(file)
    except DropleafError as error:
        if not _is_job(file):
            return None
        problems = tuple(line(each.inside(str(file))) for each in error.problems)
        return Frame(file.stem, _id_in(file), problems=problems, begun=begun(file), proven=proven)
    job = source.job
    with telling(job.paper.units):
        mount: Say | str = job.mount.interface
        with contextlib.suppress(DropleafError):
            # What comes after it is the end, which is told anyway.
            mount = told(place_job(job).interface.title).partition(",")[0]
        what = tell("desk.frames.what", end=named(job.mount.end), mount=mount, rotor=job.mount.rotor)
    more = (
        job.frame.maker,
        job.frame.customer,
        job.frame.note,
        job.mount.interface,
        job.axle.system,
        file.name,
    )
    return Frame(
        file.stem,
        job.frame.id,
        job.frame.name or "",
        what,
        key_of(source, kept),
        record.digest(source.raw),
        " ".join(each for each in more if each),
        begun=begun(file),
        proven=proven,
    )


def _document(file: Path) -> Mapping[str, Any] | None:
    try:
        return toml_text.document_in(file, "")
    except DropleafError:
        return None


def _is_job(file: Path) -> bool:
    """Tell whether a TOML file means to be a job; one that cannot even be parsed may be one."""
    document = _document(file)
    return document is None or bool(_JOB_TABLES & document.keys())


def _id_in(file: Path) -> str:
    table = (_document(file) or {}).get("frame")
    found = table.get("id") if isinstance(table, Mapping) else None
    return found if isinstance(found, str) else ""


def judged(file: Path) -> Judged:
    """Return what is found of a job, for a process in the background; nothing is raised."""
    kept = home_stamp()
    key = ""
    try:
        source = load(file)
        key = key_of(source, kept)
        found = by_level(report(source).findings)
    except DropleafError as error:
        return Judged(key, problems=tuple(lines(error)))
    except Exception as error:
        # One frame's fault is told in its place.
        return Judged(key, problems=(tell("desk.fault", reason=f"{type(error).__name__}: {error}"),))
    with telling(source.job.paper.units):
        counts = []
        for level in LEVELS[:-1]:
            count = sum(each.level == level for each in found)
            if count:
                way = "one" if count == 1 else "more"
                counts.append(tell(f"finding.count_{way}.{level}", count=count))
        said = tuple((each.level, told(each.brief or each.text)) for each in found)
    return Judged(key, verdict(found), tuple(counts), said)


def packets(files: tuple[Path, ...]) -> tuple[Packet, ...]:
    """Return what PDFs are, for a process that the system bounds: they may be anybody's."""
    return tuple(map(_packet, files))


def _packet(file: Path) -> Packet:
    try:
        form = read_form(file)
    except NoPacketError as error:
        return Packet(file.name, error.kind)
    except DropleafError as error:
        return Packet(file.name, "packet", problem=line(error.problems[0].inside(str(file))))
    kept = form.record
    word, point = _survey(form)
    step = f"step.{_step(form)}."
    # What was written on the paper may have been typed in afterwards.
    filled = {**form.values, **typed_later(form.attachments)}
    given = [name for name, value in filled.items() if value and _by_hand(name)]
    return Packet(
        file.name,
        "packet",
        str(kept.get("frame") or ""),
        int(kept["revision"]),
        str((kept.get("job") or {}).get("digest") or ""),
        any(filled.get(f"{step}{part}") for part in ("reading", "done")),
        bool(given),
        word,
        point,
        seal=seal(form.attachments),
    )


def _by_hand(name: str) -> bool:
    """Tell whether a field is drawn empty, so that what is in it was filled in."""
    return name.startswith(("step.", "reading.", "failed."))


def _step(form: Form) -> int:
    """Return the number of the operation that proves the bars, 0 where the order of work has none."""
    with contextlib.suppress(LookupError, TypeError, ValueError):
        listed = json.loads(form.attachments[record.MANIFEST])["job"]["traveller"]["operations"]
        if listed:
            return [each if isinstance(each, str) else each["key"] for each in listed].index(_PROVE) + 1
    return [each.key for each in operations(None, "tab", 0.0)].index(_PROVE) + 1


def _survey(form: Form) -> tuple[str, str]:
    """Return the verdict's word and the check point of a packet's last survey, "" for none."""
    best: tuple[int, str, str, str] = (-1, "", "", "")
    for name, raw in form.attachments.items():
        if not name.startswith("survey"):
            continue
        with contextlib.suppress(LookupError, TypeError, ValueError):
            document = json.loads(raw)
            point = str(document["state"])
            word = str(document["verdict"])
            if word in get_args(Word):
                best = max(best, (CHECK_POINTS.index(point), name, word, point))
    return best[2].replace(" ", "_"), best[3]

"""A filed packet opened again: intact or changed, true to size, and what today's tables make of its job."""

import json
import math
from collections.abc import Mapping
from dataclasses import field
from pathlib import Path
from typing import Any

from geometry.core.errors import DropleafError, InputError, why
from geometry.core.frozen import dataclass
from geometry.core.say import say
from geometry.survey.recall import Recall, effect, recalls
from geometry.survey.remedy import offer
from sheets.files import kinds, record, seal, seeing
from sheets.files.contents import Seen
from sheets.files.read import form
from sheets.filing import one_to_one, replay
from sheets.filing.one_to_one import Measured
from sheets.filing.replay import Difference, finite
from sheets.keeping import lineage
from sheets.setup import tables_used
from sheets.setup.tables_used import Change
from sheets.words.tell import line, tell, told

_MOST = 12
"""Changes listed one by one in text."""
_SAME = 0.005
"""Radii that differ by less are the same number, mm: half of the last place that a row gives."""


@dataclass(frozen=True, slots=True)
class Packet:
    """A packet as opened: bytes, record, what stands in it, and its manifest where that can be read."""

    path: Path
    data: bytes
    record: Mapping[str, Any]
    seen: Seen
    manifest: Mapping[str, Any] | None

    @property
    def job(self) -> bytes | None:
        """Return the attached job file, None where it is gone."""
        return self.seen.attachments.get(str((self.record.get("job") or {}).get("name", "")))


@dataclass(frozen=True, slots=True)
class Verdict:
    """What was found out about a packet.

    `changes` is empty for an intact one; `untouched` tells that not a byte is other than written. `misses`
    keep it from printing 1:1. `differences` are those to its manifest when its job is placed today, None
    where that could not be done, and `unplaced` says why. `tables` are the numbers that changed since,
    `parent` what became of the packet that a revision was made from.
    """

    packet: Packet
    changes: tuple[str, ...]
    untouched: bool
    misses: tuple[str, ...]
    measured: Measured | None
    tables: tuple[Change, ...]
    differences: tuple[Difference, ...] | None = None
    unplaced: str = field(default="")
    recall: Recall | None = None
    parent: lineage.Parent | None = None

    @property
    def intact(self) -> bool:
        """Tell whether all that the digests cover is as it was drawn."""
        return not self.changes

    @property
    def one_to_one(self) -> bool:
        """Tell whether the packet prints at true size, as far as the file can say."""
        return not self.misses and not (self.measured and self.measured.problems)

    @property
    def good(self) -> bool:
        """Tell whether the packet is intact, prints at true size, and its parent was not changed."""
        return self.intact and self.one_to_one and (self.parent is None or self.parent.good)

    @property
    def faults(self) -> tuple[str, ...]:
        """Return, in sentences, all that speaks against the packet."""
        measured = self.measured.problems if self.measured else ()
        parent = () if self.parent is None or self.parent.good else (self.parent.text,)
        return (*self.changes, *self.misses, *measured, *parent)


def opened(path: Path) -> Packet:
    """Return a packet; raise InputError, one clear line, for what cannot be read or is none.

    That is a NoPacketError for a page of ours that is no packet, and for a file from elsewhere.
    """
    data = form.load(path)
    document = form.opened(path, data)
    try:
        seen = seeing.seen(document)
    except ValueError as error:
        raise InputError.at(str(path), say("verify.no_good_copy", reason=why(error))) from error
    kept = form.record_of(path, document, seen.attachments)
    if kind := kinds.of_sheets(kept["pages"]):
        raise form.another(path, kind)
    try:
        manifest = json.loads(seen.attachments[record.MANIFEST])
        replay.pages(manifest)
    except (LookupError, TypeError, ValueError):
        manifest = None
    return Packet(path, data, kept, seen, manifest)


def verify(path: Path) -> Verdict:
    """Return what is to be said of a packet; raise InputError for what cannot be read or is none."""
    packet = opened(path)
    measured = None
    if packet.manifest is not None:
        try:
            pairs = record.paired(packet.seen.pages, packet.record["pages"])
            measured = one_to_one.measured(path, packet.manifest, pairs)
        except (ValueError, LookupError, TypeError) as error:
            measured = Measured(0, 0.0, (tell("verify.not_measured", reason=why(error)),))
    differences, unplaced = placed(packet)
    return Verdict(
        packet,
        tuple(record.changes(packet.seen, packet.record)),
        seal.untouched(packet.data),
        tuple(one_to_one.misses(packet.seen, packet.record, packet.manifest)),
        measured,
        changed_tables(packet),
        differences,
        unplaced,
        recall_of(packet),
        lineage.parent_of(path, packet.record),
    )


def recall_of(packet: Packet) -> Recall | None:
    """Return the numbers, since corrected, that a packet's holes were drawn by; None for any others."""
    rows = (packet.record.get("tables") or {}).get("rows") or {}
    try:
        radii = [math.hypot(*hole["centre"][:2]) for hole in (packet.manifest or {})["placement"]["holes"]]
    except (LookupError, TypeError, ValueError):
        return None
    for each in recalls():
        drawn = f"interfaces.toml, row {each.row}" in rows and len(radii) == 2
        if drawn and all(abs(a - b) < _SAME for a, b in zip(radii, each.radii[:2], strict=True)):
            return each
    return None


def recall_lines(recall: Recall) -> tuple[tuple[str, str], ...]:
    """Return what a recalled packet had wrong, how far each hole lies off, and what to do: mark and text."""
    built = effect(recall)
    return (
        (tell("verify.recall"), f"{told(recall.sentence)} {recall.why}"),
        (tell("verify.off_by"), tell("verify.holes_off", near=built.near, far=built.far)),
        (tell("verify.not_built"), tell("verify.throw_away")),
        (tell("verify.built"), told(offer(built))),
    )


def changed_tables(packet: Packet) -> tuple[Change, ...]:
    """Return what changed since in the rows of the tables that a packet rests on."""
    return tuple(tables_used.changed((packet.record.get("tables") or {}).get("rows") or {}))


def placed(packet: Packet) -> tuple[tuple[Difference, ...] | None, str]:
    """Return what differs when a packet's job is placed today, or None and why that could not be done."""
    if packet.job is None or packet.manifest is None:
        return None, tell("verify.no_job" if packet.job is None else "verify.no_manifest")
    name = Path(str(packet.record["job"]["name"])).name
    try:
        today = replay.placed_again(packet.job, name, packet.path.parent, packet.manifest)
    except DropleafError as error:
        # No file of that name need be there: the job is the packet's own.
        problem = error.problems[0].inside(str(packet.path.parent / name))
        return None, tell("verify.cannot_be_drawn", problem=line(problem))
    try:
        # As a manifest has it: lists for tuples.
        return tuple(replay.differences(packet.manifest, json.loads(json.dumps(today)))), ""
    except (LookupError, TypeError, AttributeError) as error:
        reason = f"{type(error).__name__}: {error}"
        return None, tell("verify.not_compared", reason=reason)


def document(verdict: Verdict) -> dict[str, Any]:
    """Return a verdict as JSON."""
    packet = verdict.packet
    kept, measured = packet.record, verdict.measured
    filled = {each.name: each.value for each in packet.seen.widgets}
    return {
        "packet": str(packet.path),
        "intact": verdict.intact,
        "changes": list(verdict.changes),
        "untouched": verdict.untouched,
        "one_to_one": verdict.one_to_one,
        "misses": [*verdict.misses, *(measured.problems if measured else ())],
        "measured": measured and {"features": measured.features, "largest": finite(measured.largest)},
        "matches_job": None if verdict.differences is None else not verdict.differences,
        "differences": [each.document for each in verdict.differences or ()],
        "unplaced": verdict.unplaced,
        "recall": recall_document(verdict.recall),
        "tables_changed": [
            {"row": each.row, "key": each.key, "was": each.was, "now": each.now} for each in verdict.tables
        ],
        "frame": kept.get("frame"),
        "revision": kept["revision"],
        "parent": kept.get("parent"),
        "parent_found": parent_document(verdict.parent),
        "job": kept.get("job"),
        "dropleaf": kept.get("dropleaf"),
        "tables": (kept.get("tables") or {}).get("digest"),
        "record": record.digest(packet.seen.attachments[record.NAME]),
        "fields": filled,
        "says": record.says(),
    }


def parent_document(parent: lineage.Parent | None) -> dict[str, str] | None:
    """Return what became of a packet's parent as JSON: intact, missing, changed or another; None for none."""
    return None if parent is None else {"state": parent.state, "text": parent.text}


def recall_document(recall: Recall | None) -> dict[str, Any] | None:
    """Return a recall as JSON: the number that was wrong, how far each hole lies off, mm, and what to do."""
    if recall is None:
        return None
    built = effect(recall)
    return {
        "row": recall.row,
        "key": recall.key,
        "was": recall.was,
        "holes": {"near": round(built.near, 3), "far": round(built.far, 3)},
        "pads": {"outward": round(built.outward, 3), "along": round(built.along, 3)},
        "turned": round(built.turned, 3),
        "text": [line for _, line in recall_lines(recall)],
    }


def text(verdict: Verdict) -> str:
    """Return a verdict in lines, the first of which says intact or changed."""
    packet, kept = verdict.packet, verdict.packet.record
    lines = [tell("verify.changed", what=each) for each in verdict.changes[:_MOST]]
    if len(verdict.changes) > _MOST:
        lines.append(tell("verify.changed_more", count=len(verdict.changes) - _MOST))
    if verdict.intact and not verdict.untouched:
        lines.append(tell("verify.saved_again"))
    lines.append(_made_line(kept))
    if parent := kept.get("parent"):
        digest = str(parent.get("record"))[:10]
        lines.append(tell("verify.revision_of", file=str(parent.get("file")), digest=digest))
    if verdict.parent is not None:
        lines.append(parent_line(verdict.parent))
    lines += _size_lines(verdict)
    if verdict.recall is not None:
        lines += [f"{mark}: {line}" for mark, line in recall_lines(verdict.recall)]
    lines += _job_lines(verdict)
    if packet.seen.widgets:
        filled = sum(bool(each.value) for each in packet.seen.widgets)
        lines.append(tell("verify.form", filled=filled, count=len(packet.seen.widgets)))
    first = tell("verify.packet_intact" if verdict.intact else "verify.packet_changed", file=str(packet.path))
    return "\n".join((first, *(f"  {line}" for line in lines)))


def parent_line(parent: lineage.Parent) -> str:
    """Return what became of a packet's parent in a line, loud where something speaks against it."""
    return tell("verify.parent" if parent.good else "verify.parent_bad", what=parent.text)


def _made_line(kept: Mapping[str, Any]) -> str:
    job, tables = kept.get("job"), kept.get("tables")
    return tell(
        "verify.made",
        revision=kept["revision"],
        job=say("verify.made_job", digest=str(job.get("digest"))) if job else "",
        version=kept.get("dropleaf") or say("verify.made_unknown"),
        tables=say("verify.made_tables", digest=str(tables.get("digest"))[:10]) if tables else "",
    )


def _size_lines(verdict: Verdict) -> list[str]:
    measured = verdict.measured
    count = len(verdict.packet.seen.pages)
    if verdict.one_to_one:
        said = say("verify.unmeasured")
        if measured:
            code = "verify.measured_true" if measured.largest < 0.0001 else "verify.measured"
            said = say(code, count=measured.features, largest=measured.largest)
        return [tell("verify.page_true" if count == 1 else "verify.pages_true", count=count, measured=said)]
    lines = [tell("verify.not_true", what=each) for each in verdict.misses]
    return lines + [tell("verify.size", what=each) for each in (measured.problems if measured else ())]


def _job_lines(verdict: Verdict) -> list[str]:
    # A number that the tables have gained since is none that the packet rests on; --json lists it too.
    changes = [each for each in verdict.tables if each.was is not None or not each.key]
    lines = [tell("verify.tables", what=each.sentence) for each in changes]
    if not verdict.packet.record.get("job"):
        return lines
    if verdict.differences is None:
        return [*lines, tell("verify.unplaced", what=verdict.unplaced)]
    if not verdict.differences:
        return [*lines, tell("verify.same_job", least=replay.ON_PAGE)]
    return [*lines, *(tell("verify.placed_again", what=each.sentence) for each in verdict.differences)]

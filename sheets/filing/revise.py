"""A filed packet added to: a new revision beside the old one, which stays as it is."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal

from geometry.core.errors import InputError, Problem, ReadBackError
from geometry.core.say import Say, say
from sheets.actions.version import version
from sheets.files import record
from sheets.files.apart import apart
from sheets.files.read import form
from sheets.files.write.deliver import staging
from sheets.files.write.packet import add_to
from sheets.files.write.pdf import pdf
from sheets.filing import one_to_one
from sheets.filing.verify import Packet, opened
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper, Sheet
from sheets.keeping import lineage
from sheets.pages.running.survey_page import Section, added
from sheets.words.tell import tell

_KEPT = ("dropleaf", "frame", "job", "tables")
"""What a revision's record takes from its parent's: it says how the pages that are measured were made."""


def file_survey(packet_pdf: Path, document: Mapping[str, Any], sections: Sequence[Section]) -> Path:
    """Put a survey into a packet and return the new revision beside it.

    `document` is attached as "survey.json", or "survey-STATE.json" where it has a text under "state", with a
    number where the packet has one already; `sections` stand on a page of their own. Raise DropleafError
    as `revise` does.
    """
    state = document.get("state")
    stem = f"survey-{state}" if isinstance(state, str) and state.isidentifier() else "survey"
    free = free_name(packet_pdf, stem)
    raw = json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    which = " ".join(free.removesuffix(".json").split("-")[1:])
    return revise(packet_pdf, [(free, raw.encode())], sections, "survey", which)


def free_name(packet_pdf: Path, stem: str) -> str:
    """Return the name of an attachment that a packet has none of: STEM.json, or STEM-2.json and so on."""
    taken = opened(packet_pdf).seen.attachments
    names = (
        f"{stem}.json" if number == 1 else f"{stem}-{number}.json" for number in range(1, len(taken) + 2)
    )
    return next(each for each in names if each not in taken)


def revise(
    packet_pdf: Path,
    attachments: Sequence[tuple[str, bytes]],
    sections: Sequence[Section] = (),
    kind: Literal["added", "survey"] = "added",
    which: str = "",
) -> Path:
    """Write a packet's next revision, {id}-rev2.pdf and so on, beside it, and return where it lies.

    It keeps pages, job, manifest and what stands in the form, and gets the attachments and, for `sections`,
    pages that list them, of a `kind` and named for `which` of those. Its record names the digest of its
    parent's, which is attached too. Raise InputError for a packet that is changed, a revision that exists
    already or an attachment of a name that is taken, ReadBackError where the new one is not as it should be.
    """
    # It may be anybody's file.
    packet = apart(packet_pdf, opened, packet_pdf)
    _refuse_changed(packet)
    kept = packet.record
    revision = int(kept["revision"]) + 1
    target = packet_pdf.with_name(f"{kept.get('frame') or packet_pdf.stem}-rev{revision}.pdf")
    if target.exists():
        raise InputError.at(str(packet_pdf), say("revise.is_there", name=target.name))
    if heirs := lineage.children(packet_pdf):
        raise InputError.at(str(packet_pdf), say("revise.has_heir", name=heirs[0].name))
    held = {name: each for name, each in packet.seen.attachments.items() if name != record.NAME}
    before = packet.seen.attachments[record.NAME]
    for name, content in ((f"dropleaf-packet-rev{kept['revision']}.json", before), *attachments):
        if name in held or name == record.NAME:
            raise InputError.at(str(packet_pdf), say("revise.name_taken", name=name))
        held[name] = content
    sheets = _sheets(packet, revision, sections, kind, which)
    base = {
        **{key: kept[key] for key in _KEPT if key in kept},
        "revision": revision,
        "parent": {"file": packet_pdf.name, "revision": kept["revision"], "record": record.digest(before)},
        "revised_with": version(),
    }
    with staging(packet_pdf.parent, say("revise.elsewhere"), fresh=True) as stage:
        pages = pdf(sheets, title="", subject="") if sheets else None
        data = add_to(packet.data, pages, sheets, kept["pages"], held, base)
        (stage / target.name).write_bytes(data)
        _check(packet, stage / target.name, sheets)
    return target


def _refuse_changed(packet: Packet) -> None:
    changes = list(record.changes(packet.seen, packet.record))
    if changes:
        more = say("revise.and_more", count=len(changes) - 1) if len(changes) > 1 else ""
        raise InputError.at(str(packet.path), say("revise.changed", change=changes[0], more=more))


def _sheets(
    packet: Packet, revision: int, sections: Sequence[Section], kind: str, which: str
) -> tuple[Sheet, ...]:
    if not sections:
        return ()
    kept = packet.record
    first = kept["pages"][0]
    paper = PAPERS.get(first["paper"]) or Paper(first["paper"], first["width"], first["height"])
    frame, job = kept.get("frame") or packet.path.stem, kept.get("job") or {}
    digest = job.get("digest") or say("revise.not_recorded")
    aside = tell("revise.aside", revision=revision, parent=kept["revision"], job=digest)
    name = f"{kind}_{which and 'of'}".rstrip("_")
    title, head, bookmark = (
        tell(f"revise.{place}.{name}", frame=frame, which=which) for place in ("title", "head", "bookmark")
    )
    sections = (*sections, Section([tell("revise.record")]))
    return added(paper, kind, (title, bookmark), head, aside, sections)


def _check(old: Packet, file: Path, sheets: Sequence[Sheet]) -> None:
    """Raise ReadBackError unless the new one is intact, measures as drawn, and keeps what was filled in."""
    new = opened(file)
    problems: list[Say | str] = list(record.changes(new.seen, new.record))
    if len(new.seen.pages) != len(old.seen.pages) + len(sheets):
        problems.append(say("revise.pages", count=len(new.seen.pages)))
    if [(each.name, each.value) for each in new.seen.widgets] != [
        (each.name, each.value) for each in old.seen.widgets
    ]:
        problems.append(say("revise.form_differs"))
    if [each.content for each in new.seen.pages[: len(old.seen.pages)]] != [
        each.content for each in old.seen.pages
    ]:
        problems.append(say("revise.pages_differ"))
    if new.manifest is not None:
        pairs = record.paired(new.seen.pages, new.record["pages"])
        problems += one_to_one.measured(file, new.manifest, pairs).problems
    form.read_form(file)
    if problems:
        raise ReadBackError(*(Problem(file.name, each) for each in problems))

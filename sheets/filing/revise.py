"""A filed packet added to: a new revision beside the old one, which stays as it is."""

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, Problem, ReadBackError
from sheets.actions import attached as filed
from sheets.files import record
from sheets.files.read import form
from sheets.files.write.deliver import staging
from sheets.files.write.packet import add_to
from sheets.files.write.pdf import pdf
from sheets.filing import one_to_one
from sheets.filing.verify import Packet, opened
from sheets.ink.paper import PAPERS
from sheets.ink.records import Paper, Sheet
from sheets.keeping import lineage
from sheets.pages.running.survey_page import added

_KEPT = ("dropleaf", "frame", "job", "tables")
"""What a revision's record takes from its parent's: it says how the pages that are measured were made."""


def file_survey(packet_pdf: Path, document: Mapping[str, Any], lines: Sequence[str]) -> Path:
    """Put a survey into a packet and return the new revision beside it.

    `document` is attached as "survey.json", or "survey-STATE.json" where it has a text under "state", with a
    number where the packet has one already; `lines` are listed on a page of their own. Raise DropleafError
    as `revise` does.
    """
    state = document.get("state")
    stem = f"survey-{state}" if isinstance(state, str) and state.isidentifier() else "survey"
    taken = opened(packet_pdf).seen.attachments
    names = (f"{stem}{f'-{number}' if number > 1 else ''}.json" for number in range(1, len(taken) + 2))
    name = next(each for each in names if each not in taken)
    raw = json.dumps(document, indent=2, allow_nan=False, ensure_ascii=False) + "\n"
    title = name.removesuffix(".json").replace("-", " ").capitalize()
    return revise(packet_pdf, [(name, raw.encode())], "survey", title, lines)


def revise(
    packet_pdf: Path,
    attachments: Sequence[tuple[str, bytes]],
    kind: str = "added",
    title: str = "Added",
    lines: Sequence[str] = (),
) -> Path:
    """Write a packet's next revision, {id}-rev2.pdf and so on, beside it, and return where it lies.

    It keeps pages, job, manifest and what stands in the form, and gets the attachments and, for any `lines`,
    pages that list them: `kind` and `title` name those. Its record names the digest of its parent's, which is
    attached too. Raise InputError for a packet that is changed, a revision that exists already or an
    attachment of a name that is taken, ReadBackError where the new one is not as it should be.
    """
    packet = opened(packet_pdf)
    _refuse_changed(packet)
    kept = packet.record
    revision = int(kept["revision"]) + 1
    target = packet_pdf.with_name(f"{kept.get('frame') or packet_pdf.stem}-rev{revision}.pdf")
    if target.exists():
        what = f"its next revision is there already; give {target.name} instead, or its latest"
        raise InputError.at(str(packet_pdf), what)
    if heirs := lineage.children(packet_pdf):
        what = f"{heirs[0].name} was made from it already; give that instead, or its latest"
        raise InputError.at(str(packet_pdf), what)
    held = {name: each for name, each in packet.seen.attachments.items() if name != record.NAME}
    before = packet.seen.attachments[record.NAME]
    for name, content in ((f"dropleaf-packet-rev{kept['revision']}.json", before), *attachments):
        if name in held or name == record.NAME:
            raise InputError.at(str(packet_pdf), f"it has an attachment {name} already; give it another name")
        held[name] = content
    sheets = _sheets(packet, revision, kind, title, lines)
    base = {
        **{key: kept[key] for key in _KEPT if key in kept},
        "revision": revision,
        "parent": {"file": packet_pdf.name, "revision": kept["revision"], "record": record.digest(before)},
        "revised_with": filed.version(),
    }
    with staging(packet_pdf.parent) as stage:
        data = add_to(packet.data, _pages(sheets), sheets, kept["pages"], held, base)
        (stage / target.name).write_bytes(data)
        _check(packet, stage / target.name, sheets)
    return target


def _refuse_changed(packet: Packet) -> None:
    changes = list(record.changes(packet.seen, packet.record))
    if changes:
        more = f" and {len(changes) - 1} more" if len(changes) > 1 else ""
        what = f"it is not as it was drawn ({changes[0]}{more}); add to an intact packet, or draw it again"
        raise InputError.at(str(packet.path), what)


def _sheets(packet: Packet, revision: int, kind: str, title: str, lines: Sequence[str]) -> tuple[Sheet, ...]:
    if not lines:
        return ()
    kept = packet.record
    first = kept["pages"][0]
    paper = PAPERS.get(first["paper"]) or Paper(first["paper"], first["width"], first["height"])
    frame, job = kept.get("frame") or packet.path.stem, kept.get("job") or {}
    aside = (
        f"revision {revision}, added to revision {kept['revision']}; job {job.get('digest', 'not recorded')}"
    )
    said = (*lines, "", "A record, no test and no claim of conformity.")
    return added(paper, kind, f"{frame}: {title[:1].lower()}{title[1:]}", f"{frame}: {title}", aside, said)


def _pages(sheets: Sequence[Sheet]) -> bytes | None:
    if not sheets:
        return None
    return pdf(sheets, title="", subject="")


def _check(old: Packet, file: Path, sheets: Sequence[Sheet]) -> None:
    """Raise ReadBackError unless the new one is intact, measures as drawn, and keeps what was filled in."""
    new = opened(file)
    problems = list(record.changes(new.seen, new.record))
    if len(new.seen.pages) != len(old.seen.pages) + len(sheets):
        problems.append(f"has {len(new.seen.pages)} pages")
    if [(each.name, each.value) for each in new.seen.widgets] != [
        (each.name, each.value) for each in old.seen.widgets
    ]:
        problems.append("its form does not hold what the old one did")
    if [each.content for each in new.seen.pages[: len(old.seen.pages)]] != [
        each.content for each in old.seen.pages
    ]:
        problems.append("its pages are not those of the old one")
    if new.manifest is not None:
        pairs = record.paired(new.seen.pages, new.record["pages"])
        problems += one_to_one.measured(file, new.manifest, pairs).problems
    form.read_form(file)
    if problems:
        raise ReadBackError(*(Problem(file.name, each) for each in problems))

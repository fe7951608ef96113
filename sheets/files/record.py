"""The packet's own record: digests of all that is printed and attached, and what has changed since.

`dropleaf-packet.json` is attached to every packet. Everything in it can be worked out again with SHA-256 and
a program that unpacks PDF streams. The format goes with every record, in the sentences of [scheme]: the seal
on line 2 (seal.py), and the digests of attachments, pages, fields and table rows. A page has three parts:
content, resources in one canonical form (objects.canonical), and boxes. Rows keep their numbers beside the
digest, so that a later change can be named. Form values and appearances are in none of the digests, so that
a packet can be filled in. There is no date, so that equal input gives equal bytes. A revision names its
parent's record by digest and carries it.
"""

import difflib
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from geometry.core.errors import RefusedError, why
from geometry.core.say import Say, say
from sheets.files import seal
from sheets.files.contents import FORM_RESOURCE, PageSeen, Seen, Widget
from sheets.words.tell import tell, told

NAME = "dropleaf-packet.json"
MANIFEST = "dropleaf-manifest.json"
FORMAT, VERSION = "dropleaf-packet", 1

_SCHEME = (
    "digests",
    "file",
    "identifier",
    "attachments",
    "job",
    "content",
    "resources",
    "boxes",
    "fields",
    "setup",
    "parts",
    "tables",
)
"""The record explains its own format, an entry each of the sentences [scheme]."""

HEADER = f"%PDF-1.7\n{seal.line('%âãÏÓ ')}".encode("latin-1")
"""The first lines of a packet, before its digest is known: 1.7 is the first version with all we set, and four
bytes beyond ASCII tell whoever passes a file on that it is no text (ISO 32000-1, 7.5.2)."""
_CLOSE = 0.01
"""How far a box may be off in points, as when another program rounds: a third of the read-back's limit."""
_SHORT = 16
"""Digits kept of the many small digests: they are no signature, and chance needs no more."""
_NAMING = 4
"""Digits kept of each field's set-up, to name it: one digest of them all tells whether any changed."""
_SPOKEN = "/StructTreeRoot"
"""What who listens to a file is told of it, and in which order."""
_FIELD_CLOSE = 0.05
"""The same for a field's box, which viewers round."""


def says() -> str:
    """Return what a packet is a record of, and what its digests are not."""
    return tell("record.says")


def digest(data: bytes) -> str:
    """Return SHA-256 of some bytes in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def build(
    seen: Seen, base: Mapping[str, Any], sheets: Sequence[Mapping[str, Any]], attachments: Mapping[str, bytes]
) -> dict[str, Any]:
    """Return the record of a document: `base` first, then what it prints, shows and carries.

    `sheets` says of each page what sheet it is and on which paper.
    """
    return {
        "format": FORMAT,
        "version": VERSION,
        "says": says(),
        "scheme": [tell(f"record.scheme.{part}") for part in _SCHEME],
        **base,
        "title": seen.title,
        "subject": seen.subject,
        "print_scaling": seen.print_scaling,
        "pages": [{**sheet, **_page(page)} for sheet, page in zip(sheets, seen.pages, strict=True)],
        "fields": [_widget(each) for each in seen.widgets],
        "setups": _setups(seen),
        "parts": {name: digest(part)[:_SHORT] for name, part in sorted(seen.parts.items())},
        "attachments": {name: digest(attachments[name]) for name in sorted(attachments)},
    }


def encoded(record: Mapping[str, Any]) -> bytes:
    """Return a record as the bytes that are attached."""
    return (json.dumps(record, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def identifier(record: bytes) -> bytes:
    """Return the document identifier that goes with a record's bytes."""
    return hashlib.sha256(record).digest()[:16]


def decoded(raw: bytes) -> dict[str, Any]:
    """Return the record in some bytes; raise ValueError, in a few words, for none that can be read."""
    try:
        record = json.loads(raw)
    except ValueError as error:
        raise RefusedError(say("record.damaged", name=NAME, reason=why(error))) from error
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise RefusedError(say("record.no_record", name=NAME))
    if record.get("version") != VERSION:
        given = record.get("version")
        fault = say("record.of_version", name=NAME, given=repr(given))
        raise RefusedError(say("record.newer_version", fault=fault, version=VERSION))
    if wrong := next(_malformed(record), None):
        raise RefusedError(say("record.damaged", name=NAME, reason=wrong))
    return record


def _malformed(record: Mapping[str, Any]) -> Iterator[Say]:
    """Yield what in a record is missing or not of its kind, so that whoever reads it may rely on the rest."""
    wanted = {"pages": list, "fields": list, "attachments": dict, "title": str, "revision": int}
    for key, kind in wanted.items():
        if not isinstance(record.get(key), kind):
            yield say("record.missing_key", key=key, kind=kind.__name__)
            return
    numbers, words = ("width", "height"), ("sheet", "title", "paper", "content", "resources")
    for number, page in enumerate(record["pages"], start=1):
        sizes = isinstance(page, dict) and all(isinstance(page.get(key), int | float) for key in numbers)
        if not sizes or not all(isinstance(page.get(key), str) for key in words):
            yield say("record.incomplete_page", number=number)
        elif not isinstance(page.get("boxes"), dict) or not all(map(_is_box, page["boxes"].values())):
            yield say("record.page_without_boxes", number=number)
    for each in record["fields"]:
        if (
            not isinstance(each, dict)
            or not isinstance(each.get("name"), str)
            or not _is_box(each.get("box"))
        ):
            yield say("record.incomplete_field")
    for key in ("job", "tables", "parent", "parts"):
        if not isinstance(record.get(key), dict | None):
            yield say("record.no_table", key=key)
            return
    rows = (record.get("tables") or {}).get("rows", {})
    if not isinstance(rows, dict) or not all(
        isinstance(row, dict) and isinstance(row.get("numbers"), dict) and "digest" in row
        for row in rows.values()
    ):
        yield say("record.incomplete_rows")


def _is_box(value: Any) -> bool:
    return (
        isinstance(value, list) and len(value) == 4 and all(isinstance(side, int | float) for side in value)
    )


def changes(seen: Seen, record: Mapping[str, Any]) -> Iterator[str]:
    """Yield, a line each, what in a document is not as its record says; nothing for an intact one.

    What is printed comes first: pages, their content and boxes, the print setting; then fields, attachments
    and what the file does on opening.
    """
    yield from map(told, seen.damage)
    yield from _page_changes(seen.pages, record["pages"])
    if seen.print_scaling != record.get("print_scaling"):
        given = seen.print_scaling or tell("record.not_set")
        yield tell("record.scaling", now=given, was=str(record.get("print_scaling")))
    same = len(seen.pages) == len(record["pages"])
    fields = list(_field_changes(seen.widgets, record["fields"], same))
    yield from fields
    if not fields and record.get("setups", _setups(seen)) != _setups(seen):
        yield tell("record.part_changed", where=say("record.in_document"), key="/AcroForm/Fields")
    yield from _attachment_changes(seen, record)
    for name, now in (("title", seen.title), ("subject", seen.subject)):
        if now != record.get(name):
            yield tell("record.text_changed", key=name, now=repr(now), was=repr(record.get(name)))
    for extra in seen.extras:
        yield tell("record.extra", extra=extra)
    # Bookmarks, labels and pages are told by number, and say nothing where the numbers are not those drawn.
    yield from _part_changes(seen.parts, record.get("parts")) if same else ()


def _part_changes(parts: Mapping[str, bytes], kept: Mapping[str, str] | None) -> Iterator[str]:
    """Yield what else was added, changed or taken away; packets of before there were parts tell nothing."""
    if kept is None:
        return
    for name in sorted(parts.keys() | kept.keys()):
        number, _, key = name.partition("/")
        where = say("record.on_page", page=number) if number else say("record.in_document")
        key = told(say("record.spoken")) if name == _SPOKEN else key
        if name not in parts:
            yield tell("record.part_gone", where=where, key=key)
        elif name in kept and digest(parts[name])[:_SHORT] != kept[name]:
            yield tell("record.part_changed", where=where, key=key)
        elif name not in kept and not name.startswith(FORM_RESOURCE):
            yield tell("record.part_added", where=where, key=key)


def _page(page: PageSeen) -> dict[str, Any]:
    return {
        "content": digest(page.content),
        "resources": digest(page.resources),
        "boxes": {name: [round(side, 4) for side in box] for name, box in page.boxes.items()},
    }


def _widget(field: Widget) -> dict[str, Any]:
    return {
        "name": field.name,
        "page": field.page,
        "type": field.kind,
        "box": [round(side, 2) for side in field.box],
        "script": digest(field.script) if field.script else "",
        "setup": digest(field.setup)[:_NAMING],
    }


def _setups(seen: Seen) -> str:
    """Return the digest of how all fields are set up."""
    return digest(b"".join(sorted(each.name.encode() + b"\n" + each.setup for each in seen.widgets)))


def paired(pages: Sequence[PageSeen], kept: Sequence[Mapping[str, Any]]) -> list[tuple[int, int]]:
    """Return which page of a document, from 0, is which of its record's: by place, or else by content.

    Pages are told by what is on them only where there are more or fewer than there were.
    """
    if len(pages) == len(kept):
        return [(index, index) for index in range(len(pages))]
    return list(_matched(pages, kept))


def _page_changes(pages: Sequence[PageSeen], kept: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    known = [each.get("content") for each in kept]
    found = [digest(page.content) for page in pages]
    pairs = paired(pages, kept)
    if len(pages) != len(kept):
        yield tell("record.page_count", now=len(pages), was=len(kept))
        for here in sorted(set(range(len(pages))) - {here for here, _ in pairs}):
            if found[here] in known:
                yield tell("record.page_copied", page=here + 1, of=known.index(found[here]) + 1)
            else:
                yield tell("record.page_added", page=here + 1)
        for there in sorted(set(range(len(kept))) - {there for _, there in pairs}):
            yield tell("record.page_gone", page=there + 1, sheet=str(kept[there].get("sheet", "?")))
    anew = len(pairs) > 1 and all(found[here] != known[there] for here, there in pairs)
    if anew:
        yield (tell("record.all_anew", pages=len(pages)))
    for here, there in pairs:
        page, wanted, number = pages[here], kept[there], here + 1
        if found[here] != known[there] and not anew:
            if found[here] in known:
                yield tell("record.page_swapped", page=number, of=known.index(found[here]) + 1)
            else:
                yield tell("record.page_changed", page=number)
        if digest(page.resources) != wanted.get("resources") and not anew:
            yield tell("record.resources", page=number)
        yield from _box_changes(number, page, wanted.get("boxes") or {})
        if page.rotate % 360:
            yield tell("record.turned", page=number, degrees=page.rotate)
        if page.user_unit != 1.0:
            yield tell("record.user_unit", page=number, unit=page.user_unit)
        yield from (tell("record.annotation", page=number, kind=kind) for kind in page.annotations)
        if page.script:
            yield tell("record.script", page=number)


def _matched(pages: Sequence[PageSeen], kept: Sequence[Mapping[str, Any]]) -> Iterator[tuple[int, int]]:
    """Yield the pairs of pages that have content and size alike, in order, then those of content alone."""
    found = [(digest(page.content), _size(page.boxes.get("MediaBox", ()))) for page in pages]
    known = [(each.get("content"), _size((each.get("boxes") or {}).get("MediaBox", ()))) for each in kept]
    here_left, there_left = set(range(len(found))), set(range(len(known)))
    for block in difflib.SequenceMatcher(None, found, known, autojunk=False).get_matching_blocks():
        for step in range(block.size):
            here_left.discard(block.a + step)
            there_left.discard(block.b + step)
            yield block.a + step, block.b + step
    for there in sorted(there_left):
        here = next((each for each in sorted(here_left) if found[each][0] == known[there][0]), None)
        if here is not None:
            here_left.discard(here)
            yield here, there


def _box_changes(number: int, page: PageSeen, kept: Mapping[str, Sequence[float]]) -> Iterator[str]:
    for name in sorted({*page.boxes, *kept}):
        # A box that is not given is the next larger one; here all are given, or none is told.
        now, was = page.boxes.get(name, page.boxes.get("MediaBox", ())), kept.get(name, ())
        if len(now) != len(was) or any(abs(a - b) > _CLOSE for a, b in zip(now, was, strict=False)):
            yield tell("record.box", page=number, box=name, now=_size(now), was=_size(was))


def _size(box: Sequence[float]) -> str:
    if len(box) != 4:
        return tell("record.no_box")
    left, low, right, top = (side * 25.4 / 72 for side in box)
    if max(abs(left), abs(low)) < 0.001:
        return tell("record.size", width=right - left, height=top - low)
    return tell("record.size_at", width=right - left, height=top - low, left=left, low=low)


def _field_changes(
    widgets: Sequence[Widget], kept: Sequence[Mapping[str, Any]], same_pages: bool
) -> Iterator[str]:
    now, was = {each.name: _widget(each) for each in widgets}, {str(each.get("name")): each for each in kept}
    setups = {each.name: digest(each.setup) for each in widgets}
    if was and not now:
        yield tell("record.form_gone", was=len(was))
        return
    for name in sorted(was.keys() - now.keys()):
        yield tell("record.field_gone", name=name)
    for name in sorted(now.keys() - was.keys()):
        yield tell("record.field_added", name=name, page=now[name]["page"])
    for name in sorted(now.keys() & was.keys()):
        here, there = now[name], was[name]
        if here["page"] != there.get("page") and same_pages:
            yield tell("record.field_moved", name=name, now=here["page"], was=str(there.get("page")))
        elif len(here["box"]) != len(there.get("box", ())) or any(
            abs(a - b) > _FIELD_CLOSE for a, b in zip(here["box"], there["box"], strict=True)
        ):
            yield tell(
                "record.field_resized", name=name, now=_size(here["box"]), was=_size(there.get("box", ()))
            )
        if here["type"] != there.get("type"):
            yield tell("record.field_kind", name=name, now=here["type"], was=str(there.get("type")))
        if here["script"] != there.get("script"):
            yield tell("record.field_script", name=name)
        elif not setups[name].startswith(there.get("setup", "")):
            yield tell("record.field_setup", name=name)
    for each in widgets:
        if not each.plain:
            yield tell("record.field_shows", name=each.name)
    if len(widgets) != len(now):
        yield tell("record.twins", count=len(widgets) - len(now))


def _attachment_changes(seen: Seen, record: Mapping[str, Any]) -> Iterator[str]:
    kept: Mapping[str, str] = record["attachments"]
    for name in sorted(kept.keys() | seen.attachments.keys()):
        if name == NAME:
            continue
        if name not in seen.attachments:
            yield tell("record.attachment_gone", name=name)
        elif name not in kept:
            yield tell("record.attachment_added", name=name)
        elif digest(seen.attachments[name]) != kept[name]:
            yield tell("record.attachment_changed", name=name)
    for name in seen.twice:
        yield tell("record.attachment_twice", name=name)
    if seen.identifier and NAME in seen.attachments and seen.identifier != identifier(seen.attachments[NAME]):
        yield tell("record.other_record", name=NAME)

"""The packet's own record: digests of all that is printed and attached, and what has changed since.

`dropleaf-packet.json` is attached to every packet. Everything in it can be worked out again with SHA-256 and
a program that unpacks PDF streams; `SCHEME` is the format, and goes with every record: the seal on line 2
(seal.py), and the digests of attachments, pages, fields and table rows. A page has three parts: content,
resources in one canonical form (objects.canonical), and boxes. Rows keep their numbers beside the digest, so
that a later change can be named. Form values and appearances are in none of the digests, so that a packet can
be filled in. There is no date, so that equal input gives equal bytes. A revision names its parent's record by
digest and carries it.
"""

import difflib
import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sheets.files import seal
from sheets.files.contents import PageSeen, Seen, Widget

NAME = "dropleaf-packet.json"
MANIFEST = "dropleaf-manifest.json"
FORMAT, VERSION = "dropleaf-packet", 1

SAYS = (
    "This packet is a record of what was drawn. It is no test of a frame and no claim that anything conforms "
    "to a standard. Its digests show that something changed; they are no signature and do not say who did it."
)

SCHEME = (
    "All digests are SHA-256, in lower-case hexadecimal.",
    "file: line 2 of an untouched PDF reads '%dropleaf sha256 ' and the digest of all bytes after that line.",
    "identifier: the first half of the PDF's /ID is the first 16 bytes of the digest of this record.",
    "attachments: the digest of each attached file's bytes, this record left out.",
    "job: the first 10 digits of the digest of the attached job file.",
    "pages, content: the digest of the page's content stream, decoded; several are joined by a line feed.",
    "pages, resources: the digest of <</Group G /Resources R>> without /ProcSet, 'null' for what is not "
    "there, written thus: references followed, '^' for one that leads back; dictionaries as <</Key "
    "value>> with sorted keys and one blank between, /Parent left out; arrays as [ ] with one blank "
    "between; numbers with at most four decimals and no ending zeros; strings as < > in hexadecimal; a "
    "stream as its dictionary without /Length, /Filter, /DecodeParms, /DL, /F, /FFilter, /FDecodeParms, "
    "then 'stream ' and the digest of its decoded data.",
    "pages, boxes: left, low, right and top in points, four decimals.",
    "fields: name, page, type and box in points of each form field, and the digest of its scripts, /A and "
    "/AA, in the same form. Values and how they look are in no digest.",
    "tables: the digest of the lines 'NAME DIGEST' of all table files, sorted, each ended by a line feed; "
    "rows: the digest of the row as JSON with sorted keys, no blanks and characters as they are, in UTF-8.",
)

HEADER = f"%PDF-1.7\n{seal.line('%')}".rstrip("\n")
"""The first lines of a packet, before its digest is known; 1.7 is the first version with all we set."""
_CLOSE = 0.01
"""How far a box may be off in points, as when another program rounds: a third of the read-back's limit."""
_FIELD_CLOSE = 0.05
"""The same for a field's box, which viewers round."""


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
        "says": SAYS,
        "scheme": list(SCHEME),
        **base,
        "title": seen.title,
        "subject": seen.subject,
        "print_scaling": seen.print_scaling,
        "pages": [{**sheet, **_page(page)} for sheet, page in zip(sheets, seen.pages, strict=True)],
        "fields": [_widget(each) for each in seen.widgets],
        "attachments": {name: digest(attachments[name]) for name in sorted(attachments)},
    }


def encoded(record: Mapping[str, Any]) -> bytes:
    """Return a record as the bytes that are attached."""
    return (json.dumps(record, indent=1, ensure_ascii=False) + "\n").encode()


def identifier(record: bytes) -> bytes:
    """Return the document identifier that goes with a record's bytes."""
    return hashlib.sha256(record).digest()[:16]


def decoded(raw: bytes) -> dict[str, Any]:
    """Return the record in some bytes; raise ValueError, in a few words, for none that can be read."""
    try:
        record = json.loads(raw)
    except ValueError as error:
        raise ValueError(f"{NAME} is damaged ({error})") from error
    if not isinstance(record, dict) or record.get("format") != FORMAT:
        raise ValueError(f"{NAME} is no record of a packet")
    if record.get("version") != VERSION:
        given = record.get("version")
        raise ValueError(
            f"{NAME} has version {given!r}; this Dropleaf reads version {VERSION}, use a newer one"
        )
    if wrong := next(_malformed(record), None):
        raise ValueError(f"{NAME} is damaged ({wrong})")
    return record


def _malformed(record: Mapping[str, Any]) -> Iterator[str]:
    """Yield what in a record is missing or not of its kind, so that whoever reads it may rely on the rest."""
    wanted = {"pages": list, "fields": list, "attachments": dict, "title": str, "revision": int}
    for key, kind in wanted.items():
        if not isinstance(record.get(key), kind):
            yield f"{key} is missing or is no {kind.__name__}"
            return
    numbers, words = ("width", "height"), ("sheet", "title", "paper", "content", "resources")
    for number, page in enumerate(record["pages"], start=1):
        sizes = isinstance(page, dict) and all(isinstance(page.get(key), int | float) for key in numbers)
        if not sizes or not all(isinstance(page.get(key), str) for key in words):
            yield f"page {number} is incomplete"
        elif not isinstance(page.get("boxes"), dict) or not all(map(_is_box, page["boxes"].values())):
            yield f"page {number} has no boxes"
    for each in record["fields"]:
        if (
            not isinstance(each, dict)
            or not isinstance(each.get("name"), str)
            or not _is_box(each.get("box"))
        ):
            yield "a field is incomplete"
    for key in ("job", "tables", "parent"):
        if not isinstance(record.get(key), dict | None):
            yield f"{key} is no table"
            return
    rows = (record.get("tables") or {}).get("rows", {})
    if not isinstance(rows, dict) or not all(
        isinstance(row, dict) and isinstance(row.get("numbers"), dict) and "digest" in row
        for row in rows.values()
    ):
        yield "its rows of the tables are incomplete"


def _is_box(value: Any) -> bool:
    return (
        isinstance(value, list) and len(value) == 4 and all(isinstance(side, int | float) for side in value)
    )


def changes(seen: Seen, record: Mapping[str, Any]) -> Iterator[str]:
    """Yield, a line each, what in a document is not as its record says; nothing for an intact one.

    What is printed comes first: pages, their content and boxes, the print setting; then fields, attachments
    and what the file does on opening.
    """
    yield from _page_changes(seen.pages, record["pages"])
    if seen.print_scaling != record.get("print_scaling"):
        given = seen.print_scaling or "not set"
        yield f"PrintScaling: {given}, was {record.get('print_scaling')}; a viewer may now scale the print"
    same = len(seen.pages) == len(record["pages"])
    yield from _field_changes(seen.widgets, record["fields"], same)
    yield from _attachment_changes(seen, record)
    for name, now in (("title", seen.title), ("subject", seen.subject)):
        if now != record.get(name):
            yield f"{name}: {now!r}, was {record.get(name)!r}"
    for extra in seen.extras:
        yield f"document: {extra} was added; a packet has none"


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
    }


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
        yield f"pages: {len(pages)}, were {len(kept)}"
        for here in sorted(set(range(len(pages))) - {here for here, _ in pairs}):
            copy = f"; it is a copy of page {known.index(found[here]) + 1}" if found[here] in known else ""
            yield f"page {here + 1}: added, or its content changed{copy}"
        for there in sorted(set(range(len(kept))) - {there for _, there in pairs}):
            yield f"page {there + 1} as drawn ({kept[there].get('sheet', '?')}): gone, or its content changed"
    anew = len(pairs) > 1 and all(found[here] != known[there] for here, there in pairs)
    if anew:
        yield (
            f"pages 1 to {len(pages)}: the content of all was written anew, as by a program that prints to a "
            "new PDF, or optimises one"
        )
    for here, there in pairs:
        page, wanted, where = pages[here], kept[there], f"page {here + 1}"
        if found[here] != known[there] and not anew:
            moved = f"; it is what page {known.index(found[here]) + 1} was" if found[here] in known else ""
            yield f"{where}: content changed{moved}"
        if digest(page.resources) != wanted.get("resources") and not anew:
            yield f"{where}: fonts or other resources changed"
        yield from (f"{where}: {said}" for said in _box_changes(page, wanted.get("boxes") or {}))
        if page.rotate % 360:
            yield f"{where}: turned by {page.rotate} degrees, was not"
        if page.user_unit != 1.0:
            unit = f"{page.user_unit:g}"
            yield f"{where}: its user unit is {unit}, was 1: it prints {unit} times as large"
        yield from (f"{where}: an annotation was added ({kind})" for kind in page.annotations)
        if page.script:
            yield f"{where}: a script was added"


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


def _box_changes(page: PageSeen, kept: Mapping[str, Sequence[float]]) -> Iterator[str]:
    for name in sorted({*page.boxes, *kept}):
        # A box that is not given is the next larger one; here all are given, or none is told.
        now, was = page.boxes.get(name, page.boxes.get("MediaBox", ())), kept.get(name, ())
        if len(now) != len(was) or any(abs(a - b) > _CLOSE for a, b in zip(now, was, strict=False)):
            yield f"{name} is {_size(now)}, was {_size(was)}"


def _size(box: Sequence[float]) -> str:
    if len(box) != 4:
        return "none"
    left, low, right, top = (side * 25.4 / 72 for side in box)
    at = "" if max(abs(left), abs(low)) < 0.001 else f" at {left:.2f}, {low:.2f}"
    return f"{right - left:.2f} × {top - low:.2f} mm{at}"


def _field_changes(
    widgets: Sequence[Widget], kept: Sequence[Mapping[str, Any]], same_pages: bool
) -> Iterator[str]:
    now, was = {each.name: _widget(each) for each in widgets}, {str(each.get("name")): each for each in kept}
    if was and not now:
        yield f"form: all {len(was)} fields are gone; it was flattened or printed to a new file"
        return
    for name in sorted(was.keys() - now.keys()):
        yield f"field {name}: gone"
    for name in sorted(now.keys() - was.keys()):
        yield f"field {name}: added on page {now[name]['page']}"
    for name in sorted(now.keys() & was.keys()):
        here, there = now[name], was[name]
        if here["page"] != there.get("page") and same_pages:
            yield f"field {name}: on page {here['page']}, was on {there.get('page')}"
        elif len(here["box"]) != len(there.get("box", ())) or any(
            abs(a - b) > _FIELD_CLOSE for a, b in zip(here["box"], there["box"], strict=True)
        ):
            yield f"field {name}: its box is {_size(here['box'])}, was {_size(there.get('box', ()))}"
        if here["type"] != there.get("type"):
            yield f"field {name}: of type {here['type']}, was {there.get('type')}"
        if here["script"] != there.get("script"):
            yield f"field {name}: its script changed"
    if len(widgets) != len(now):
        yield f"form: {len(widgets) - len(now)} more places for fields of the same names"


def _attachment_changes(seen: Seen, record: Mapping[str, Any]) -> Iterator[str]:
    kept: Mapping[str, str] = record["attachments"]
    for name in sorted(kept.keys() | seen.attachments.keys()):
        if name == NAME:
            continue
        if name not in seen.attachments:
            yield f"attachment {name}: gone"
        elif name not in kept:
            yield f"attachment {name}: added"
        elif digest(seen.attachments[name]) != kept[name]:
            yield f"attachment {name}: changed"
    for name in seen.twice:
        yield f"attachment {name}: there is another of the same name"
    if seen.identifier and NAME in seen.attachments and seen.identifier != identifier(seen.attachments[NAME]):
        yield f"attachment {NAME}: it is not the record that this file was written with"

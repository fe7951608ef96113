"""The finished packet: the drawn pages, told not to be scaled, with form, bookmarks, attachments and record.

Keys after ISO 32000-1: viewer preferences 12.2, outline 12.3.3, page labels 12.4.2, embedded files 7.11.4,
file identifiers 14.4; the relationship of an attachment after ISO 32000-2, 7.11.3.
"""

import hashlib
import pathlib
from collections.abc import Mapping, Sequence
from typing import Any

from fonts.faces import face
from fonts.subsets import Subset, in_western, taken, western
from geometry.core.say import named
from sheets.files import objects, record, seal, seeing
from sheets.files.kinds import mark
from sheets.files.objects import Stream, Words
from sheets.files.packing import packed
from sheets.files.write import fields, tags, typefaces
from sheets.files.write.archival import conform
from sheets.ink.records import Field, Sheet
from sheets.words.tell import tell, told

PRODUCER = "Dropleaf"

# At true size, one-sided, on paper of the page's size, whatever the viewer would choose by itself.
_PRINTING = {
    "/PrintScaling": "/None",
    "/Enforce": ["/PrintScaling"],
    "/PickTrayByPDFSize": True,
    "/Duplex": "/Simplex",
    "/DisplayDocTitle": True,
}
_MIME = {".json": "application/json", ".toml": "application/toml"}
_OURS = (record.NAME, record.MANIFEST)


def assemble(
    pages_pdf: pathlib.Path,
    out: pathlib.Path,
    *,
    title: str,
    subject: str,
    attachments: Sequence[tuple[str, bytes]],
    sheets: Sequence[Sheet] = (),
    base: Mapping[str, Any] | None = None,
    kind: str = "",
) -> None:
    """Write the pages of `pages_pdf` to `out` as `assembled` puts them together.

    Raises OSError where a file cannot be read or written, ValueError as `assembled` does.
    """
    out.write_bytes(
        assembled(
            pages_pdf.read_bytes(),
            title=title,
            subject=subject,
            attachments=attachments,
            sheets=sheets,
            base=base,
            kind=kind,
        )
    )


def assembled(
    pages: bytes,
    *,
    title: str,
    subject: str,
    attachments: Sequence[tuple[str, bytes]],
    sheets: Sequence[Sheet] = (),
    base: Mapping[str, Any] | None = None,
    kind: str = "",
) -> bytes:
    """Return a PDF of these pages with preferences for printing, title, subject and attachments.

    Pages and their boxes are copied untouched. An attachment is a file name and its bytes. Where the `sheets`
    of the pages are given, the file is tagged with what they say is what. With `base` too it is a packet: it
    gets their form fields, a bookmark and a label a page, and a record of its digests that begins with what
    `base` says, `dropleaf-packet.json`. `kind` marks pages that are no packet. The same input gives the same
    bytes: the file's identifier is a digest, and no date is written.
    Raises ValueError for an empty attachment, two of one name, or fields that cannot be.
    """
    document = objects.copied(pages)
    conform(document, title, subject, PRODUCER, mark(kind) if kind else "", tagged=bool(sheets))
    objects.catalog(document, {"/Lang": Words(tell("tell.language")), "/ViewerPreferences": _PRINTING})
    if sheets:
        tags.begin(document)
    if base is None:
        tags.tag(document, sheets, 0, {})
        _attach(document, attachments)
        identifier = _identifier(pages, title, subject, attachments)
        return seal.sealed(packed(objects.loose(document), record.HEADER, identifier))
    tags.tag(document, sheets, 0, _fill(document, sheets, 0))
    _navigate(document, [sheet.kind for sheet in sheets], bookmarks(sheets))
    about = [about_sheet(sheet) for sheet in sheets]
    return finish(document, base, about, dict(_once(attachments)))


def add_to(
    data: bytes,
    pages: bytes | None,
    sheets: Sequence[Sheet],
    kept: Sequence[Mapping[str, Any]],
    attachments: Mapping[str, bytes],
    base: Mapping[str, Any],
) -> bytes:
    """Return a packet's bytes with pages and attachments added, and a record that begins with `base`.

    `kept` is what the packet's record says of its pages, `attachments` are all that it shall carry. What
    stands in its form stays. Raises ValueError as `assemble` does.
    """
    document = objects.copied(data)
    before = seeing.bookmarks(document)
    if len(before) != len(kept):
        before = [str(each["title"]) for each in kept]
    if pages is not None:
        objects.append(document, pages)
        tags.tag(document, sheets, len(kept), _fill(document, sheets, len(kept)))
    kinds = [*(str(each["sheet"]) for each in kept), *(sheet.kind for sheet in sheets)]
    _navigate(document, kinds, [*before, *bookmarks(sheets)])
    about = [{key: each[key] for key in _ABOUT} for each in kept]
    return finish(document, base, [*about, *map(about_sheet, sheets)], dict(attachments))


_ABOUT = ("sheet", "title", "paper", "width", "height")


def about_sheet(sheet: Sheet) -> dict[str, Any]:
    """Return what a record says of a page besides its digests: sheet, title and paper, mm."""
    return {
        "sheet": sheet.kind,
        "title": sheet.title,
        "paper": sheet.paper.name,
        "width": sheet.paper.width,
        "height": sheet.paper.height,
    }


def finish(
    document: Any, base: Mapping[str, Any], about: Sequence[Mapping[str, Any]], attachments: dict[str, bytes]
) -> bytes:
    """Return the bytes of a document with its attachments and the record of all that is in it."""
    # Taken from the objects that are about to be written, so that nothing is read twice.
    raw = record.encoded(record.build(seeing.seen(document), base, about, attachments))
    _attach(document, [*attachments.items(), (record.NAME, raw)])
    return seal.sealed(packed(objects.loose(document), record.HEADER, record.identifier(raw)))


def _attach(document: Any, attachments: Sequence[tuple[str, bytes]]) -> None:
    names: list[Any] = []
    # A name tree is searched by halving, so its names must be in order.
    for name, content in _once(attachments):
        names += [Words(name), objects.add(document, _file_specification(document, name, content))]
    if names:
        objects.catalog(document, {"/Names": {"/EmbeddedFiles": {"/Names": names}}, "/AF": names[1::2]})


def _once(attachments: Sequence[tuple[str, bytes]]) -> list[tuple[str, bytes]]:
    """Return attachments in order of their names; raise ValueError for a name twice, or an empty one."""
    ordered = sorted(attachments)
    for index, (name, content) in enumerate(ordered):
        if index and ordered[index - 1][0] == name:
            raise ValueError(f"two attachments are named {name}")
        if not content:
            # PDFium hands out the compressed form of an empty file, so it could not be verified.
            raise ValueError(f"attachment {name} is empty")
    return ordered


def _file_specification(document: Any, name: str, content: bytes) -> dict[str, Any]:
    kind = _MIME.get(pathlib.PurePath(name).suffix.lower(), "application/octet-stream")
    entries = {"/Type": "/EmbeddedFile", "/Subtype": f"/{kind}", "/Params": {"/Size": len(content)}}
    held = objects.add(document, Stream(entries, content))
    return {
        "/Type": "/Filespec",
        "/F": Words(name),
        "/UF": Words(name),
        "/EF": {"/F": held, "/UF": held},
        "/AFRelationship": "/Data" if name in _OURS else "/Source",
    }


def _identifier(pages: bytes, title: str, subject: str, attachments: Sequence[tuple[str, bytes]]) -> bytes:
    """Return an identifier made of the file's content alone, where the library would mix in the clock."""
    parts = [pages, title.encode(), subject.encode()]
    for name, content in attachments:
        parts += [name.encode(), content]
    # Each part's length goes in too, so that moving a byte from one part to the next changes the digest.
    return hashlib.sha256(b"".join(len(part).to_bytes(8, "big") + part for part in parts)).digest()[:16]


def _fill(document: Any, sheets: Sequence[Sheet], first: int) -> dict[str, Any]:
    """Lay the sheets' fields over the pages that begin at index `first`, tabbed in their order.

    Return references to them by name.
    """
    found = [field for sheet in sheets for field in sheet.fields]
    held: dict[str, Any] = {}
    if not found:
        return held
    fields.check(found)
    type_in = _typing(document, found)
    parents: dict[str, list[Any]] = {"": []}
    looks: dict[tuple[str, bytes], Any] = {}
    for index, sheet in enumerate(sheets, start=first):
        placed = [_widget(document, field, index, type_in, looks) for field in sheet.fields]
        held |= zip((field.name for field in sheet.fields), placed, strict=True)
        if placed:
            objects.annotate(document, index, placed)
    # A dot in a full name stands between a field and the one above it, so every part needs an object.
    for name, reference in held.items():
        parts = name.split(".")
        for depth in range(1, len(parts)):
            above = ".".join(parts[:depth])
            if above not in parents:
                parents[above] = []
                parents[".".join(parts[: depth - 1])].append(above)
        parents[".".join(parts[:-1])].append(reference)
    objects.extend_form(
        document, _children(document, parents, "", None), fields.form(type_in("", face("regular").file)[1])
    )
    return held


def _children(document: Any, parents: Mapping[str, list[Any]], name: str, above: Any) -> list[Any]:
    """Return references to what is below a name; what is only a part of names becomes an object here."""
    references = []
    for each in parents[name]:
        if isinstance(each, str):
            reference = objects.add(document, {"/T": Words(each.rpartition(".")[2])})
            below = _children(document, parents, each, reference)
            objects.change(reference, {"/Kids": below})
        else:
            reference = each
        if above is not None:
            objects.change(reference, {"/Parent": above})
        references.append(reference)
    return references


def _typing(document: Any, found: Sequence[Field]) -> fields.Type:
    """Return what sets fields' values: the font that others type in, or a subset where that lacks letters."""
    subsets: list[Subset] = []
    for field in found:
        for row, _, _, file in fields.rows_in(field) if field.kind != "tick" else ():
            if in_western(row, file) is None:
                taken(subsets, row, file)
    fonts = [typefaces.add(document, each.embedded(), each.codes) for each in subsets]
    first = objects.font(document, typefaces.FORM) or typefaces.add(document, western())

    def type_in(row: str, file: pathlib.Path) -> tuple[str, Any, bytes]:
        codes = in_western(row, file)
        if codes is not None:
            return typefaces.FORM, first, codes
        number, codes = taken(subsets, row, file)
        return f"{typefaces.FORM}{number}", fonts[number], codes

    return type_in


def _widget(
    document: Any, field: Field, index: int, type_in: fields.Type, looks: dict[tuple[str, bytes], Any]
) -> Any:
    entries: dict[str, Any] = fields.widget(field, type_in)
    normal = entries["/AP"]["/N"]
    if isinstance(normal, Stream):
        # Never one for several: some viewers write into it what is typed in the field.
        entries["/AP"] = {"/N": objects.add(document, normal)}
    else:
        for state, each in normal.items():
            look = str(each.entries), each.data
            looks[look] = normal[state] = looks.get(look) or objects.add(document, each)
    here = objects.page(document, index, {})
    return objects.add(document, {**entries, "/T": Words(field.name.rpartition(".")[2]), "/P": here})


def _navigate(document: Any, kinds: Sequence[str], bookmarks: Sequence[str]) -> None:
    """Give the document a bookmark a page, and labels such as "wrap 2"."""
    outline = objects.add(document, {"/Type": "/Outlines", "/Count": len(kinds)})
    items = []
    labels: list[Any] = []
    for index, (kind, bookmark) in enumerate(zip(kinds, bookmarks, strict=True)):
        here = objects.page(document, index, {})
        items.append(
            objects.add(document, {"/Title": Words(bookmark), "/Parent": outline, "/Dest": [here, "/Fit"]})
        )
        labels += [index, {"/P": Words(_label(kind, kinds[: index + 1].count(kind), kinds.count(kind)))}]
    for item, before, after in zip(items, [None, *items], [*items[1:], None], strict=False):
        objects.change(item, {"/Prev": before, "/Next": after})
    objects.change(outline, {"/First": items[0], "/Last": items[-1]})
    objects.catalog(document, {"/Outlines": outline, "/PageLabels": {"/Nums": labels}})


def _label(kind: str, number: int, count: int) -> str:
    """Return what a page of a kind is called where pages are counted."""
    try:
        name = told(named(f"sheet.{kind}"))
    except KeyError:
        # A kind of another Dropleaf's.
        name = kind
    return tell("packet.label", name=name, number=number) if count > 1 else name


def bookmarks(sheets: Sequence[Sheet]) -> list[str]:
    """Return what sheets are called among each other, numbered where several are called the same."""
    called = [sheet.bookmark or sheet.title for sheet in sheets]
    return [
        tell("packet.one_of", name=name, number=called[: index + 1].count(name), count=called.count(name))
        if called.count(name) > 1
        else name
        for index, name in enumerate(called)
    ]

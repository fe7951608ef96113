"""PDF objects as plain values, both ways: what a packet is made of, and what stands in a file.

This is the only importer of pypdf. A plain `str` is a PDF name ("/None"), `Words` are a text string,
`bytes` a byte string, `Stream` a dictionary with data; dict, list, numbers, bools are themselves. Documents
are passed about as they are, and looked at only here.
"""

import contextlib
import io
import logging
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from geometry.core.errors import RefusedError, why
from geometry.core.say import say
from sheets.files.canonical import canonical
from sheets.files.contents import PageSeen, Seen, Widget
from sheets.files.packing import Loose

_IDLE = ("/ProcSet",)
"""Resources that say nothing of what is shown: procedure sets are obsolete, and programs drop them."""


class Words(str):
    """A text string, where a plain str is a name."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Stream:
    """A stream: entries of its dictionary, its data before it is compressed, and whether it shall be."""

    entries: Mapping[str, Any]
    data: bytes
    packed: bool = True


class LockedError(RefusedError):
    """The document is encrypted."""


@contextlib.contextmanager
def reading() -> Iterator[None]:
    """Turn whatever a damaged document makes its reader raise into a ValueError of one line."""
    from pypdf.errors import DependencyError, FileNotDecryptedError

    # The reader tells of every repair on the log, and a command's standard error is not its place.
    logging.getLogger("pypdf").setLevel(logging.CRITICAL)
    try:
        yield
    except (LockedError, MemoryError):
        raise
    except (DependencyError, FileNotDecryptedError) as error:
        raise LockedError(say("pdf.encrypted")) from error
    except Exception as error:
        # A damaged file breaks its reader in more ways than can be listed.
        reason = why(error) if isinstance(error, RefusedError) else " ".join(str(error).split())[:120]
        raise RefusedError(say("pdf.damaged", reason=reason or type(error).__name__)) from error


def opened(data: bytes) -> Any:
    """Return the document in some bytes, to be read; raise LockedError or ValueError where it is none."""
    from pypdf import PdfReader

    if b"%PDF-" not in data[:1024]:
        raise RefusedError(say("pdf.no_pdf"))
    with reading():
        document = PdfReader(io.BytesIO(data))
        if document.is_encrypted:
            raise LockedError(say("pdf.encrypted"))
        # Looked up at once, so that a document without pages is refused here.
        if len(document.pages) == 0:
            raise RefusedError(say("pdf.no_pages"))
    return document


def copied(data: bytes) -> Any:
    """Return the document in some bytes, to be added to and written; raise ValueError as `opened` does."""
    from pypdf import PdfWriter

    # Only a clone keeps the page boxes and the document's own settings; appending pages loses the latter.
    with reading():
        return PdfWriter(clone_from=io.BytesIO(data))


def empty() -> Any:
    """Return a document without pages."""
    from pypdf import PdfWriter

    return PdfWriter()


def new_page(document: Any, entries: Mapping[str, Any]) -> None:
    """Put a page after the document's others."""
    _update(document.add_blank_page(1, 1), entries)


def append(document: Any, data: bytes) -> None:
    """Put the pages in some bytes after the document's own."""
    from pypdf import PdfReader

    for page in PdfReader(io.BytesIO(data)).pages:
        document.add_page(page)


def add(document: Any, value: Any) -> Any:
    """Put a plain value into the document as an object of its own and return the reference to it."""
    return document._add_object(_object(value))


def catalog(document: Any, entries: Mapping[str, Any]) -> None:
    """Set entries of the document's catalog; None takes one away."""
    _update(document.root_object, entries)


def change(reference: Any, entries: Mapping[str, Any]) -> None:
    """Set entries of the dictionary that a reference stands for; None takes one away."""
    _update(reference.get_object(), entries)


def page(document: Any, index: int, entries: Mapping[str, Any]) -> Any:
    """Set entries of a page, from 0, and return the reference to it."""
    held = document.pages[index]
    _update(held, entries)
    return held.indirect_reference


def font(document: Any, name: str) -> Any:
    """Return the reference to the font that a page of the document calls so, None where none does."""
    for held in document.pages:
        fonts: Any = _get(_get(held, "/Resources") or {}, "/Font") or {}
        if name in fonts:
            return fonts.raw_get(name)
    return None


def annotate(document: Any, index: int, widgets: list[Any]) -> None:
    """Put widgets, references to them, on a page after those that it has."""
    held = document.pages[index]
    before = list(held["/Annots"].get_object()) if "/Annots" in held else []
    # The order of fields is that of this list: "structure" means that where a document has no structure tree.
    _update(held, {"/Annots": [*before, *widgets], "/Tabs": "/S"})


def extend_form(document: Any, fields: list[Any], empty: Mapping[str, Any]) -> None:
    """Put fields, references to them, into the document's form, which begins as `empty` if there is none."""
    root = document.root_object
    held = root["/AcroForm"].get_object() if "/AcroForm" in root else _object(dict(empty))
    before = list(held["/Fields"].get_object()) if "/Fields" in held else []
    shared = _get(held, "/DR") or _object({"/Font": {}})
    _update(_get(shared, "/Font"), empty["/DR"]["/Font"])
    _update(held, {"/Fields": [*before, *fields], "/DR": shared})
    _update(root, {"/AcroForm": held})


def describe(document: Any, title: str, subject: str, producer: str, keywords: str) -> None:
    """Set the document's metadata; there is no date among them, and no keywords where they are empty."""
    said = {"/Title": title, "/Subject": subject, "/Producer": producer}
    document.metadata = {**said, "/Keywords": keywords} if keywords else said


def loose(document: Any) -> Loose:
    """Return all objects of a document that something in it refers to."""
    root, info = document.root_object.indirect_reference.idnum, document._info.indirect_reference.idnum
    spelt: dict[int, bytes] = {}
    waiting = [root, info]
    while waiting:
        number = waiting.pop()
        if number not in spelt:
            spelt[number] = _spelt(document._objects[number - 1], waiting)
    return Loose(sorted(spelt.items()), root, info)


def _spelt(value: Any, found: list[int]) -> bytes:
    """Return an object as a file has it, in few bytes, and add what it refers to to `found`."""
    from pypdf.generic import DictionaryObject, IndirectObject

    match value:
        case IndirectObject():
            found.append(value.idnum)
            return b"%d 0 R" % value.idnum
        case DictionaryObject():
            parts = ((key.renumber(), _spelt(value.raw_get(key), found)) for key in value)
            spelt = b"".join(b"%b %b" % (key, each) for key, each in parts)
            data = getattr(value, "_data", None)
            if data is None:
                return b"<<%b>>" % spelt
            return b"<<%b/Length %d>>\nstream\n%b\nendstream" % (spelt, len(data), data)
        case list():
            return b"[%b]" % b" ".join(_spelt(each, found) for each in list.__iter__(value))
        case _:
            out = io.BytesIO()
            value.write_to_stream(out)
            return out.getvalue()


def _update(held: Any, entries: Mapping[str, Any]) -> None:
    from pypdf.generic import NameObject

    for key, value in entries.items():
        if value is None:
            held.pop(NameObject(key), None)
        else:
            held[NameObject(key)] = _object(value)


def _object(value: Any) -> Any:
    """Return a plain value as a PDF object; streams and whatever is referred to stay what they are."""
    from pypdf import generic

    match value:
        case generic.PdfObject():
            return value
        case Stream():
            plain = generic.DecodedStreamObject()
            plain.set_data(value.data)
            packed = plain.flate_encode(9) if value.packed else plain
            packed.update(_object(dict(value.entries)))
            return packed
        case dict():
            return generic.DictionaryObject(
                {generic.NameObject(key): _object(each) for key, each in value.items()}
            )
        case list() | tuple():
            return generic.ArrayObject(_object(each) for each in value)
        case bool():
            return generic.BooleanObject(value)
        case int():
            return generic.NumberObject(value)
        case float():
            return generic.FloatObject(f"{value:.4f}")
        case bytes():
            return generic.ByteStringObject(value)
        case Words():
            return generic.TextStringObject(value)
        case _:
            return generic.NameObject(value)


# --- what stands in a document


def seen(document: Any) -> Seen:
    """Return what stands in a document, read or about to be written; raise ValueError for a damaged one."""
    with reading():
        root = document.root_object
        held: dict[int, bytes] = {}
        pages = tuple(_page(each, held) for each in document.pages)
        attachments, twice = _attachments(root)
        info = document.metadata or {}
        preferences = _get(root, "/ViewerPreferences") or {}
        identifiers = _identifiers(document)
        return Seen(
            pages=pages,
            widgets=tuple(
                found
                for number, each in enumerate(document.pages, start=1)
                for found in _widgets(each, number)
            ),
            attachments=attachments,
            print_scaling=str(_get(preferences, "/PrintScaling") or "").removeprefix("/"),
            title=str(info.get("/Title", "")),
            subject=str(info.get("/Subject", "")),
            extras=tuple(_extras(root)),
            identifier=identifiers,
            twice=twice,
        )


def information(document: Any) -> dict[str, str]:
    """Return the document's Title, Producer and Keywords, "" for what it does not say."""
    held: Mapping[str, Any] = {}
    with contextlib.suppress(ValueError), reading():
        held = document.metadata or {}
    return {key: str(held.get(f"/{key}", "")) for key in ("Title", "Producer", "Keywords")}


def bookmarks(document: Any) -> list[str]:
    """Return the titles of the document's bookmarks of the first level; none where they have no end."""
    found: list[str] = []
    held = _get(_get(document.root_object, "/Outlines") or {}, "/First")
    while held is not None and len(found) < len(document.pages):
        found.append(_text(held["/Title"]))
        held = _get(held, "/Next")
    return found if held is None else []


def attachments(document: Any) -> dict[str, bytes]:
    """Return the document's attachments by name; raise ValueError for a damaged document."""
    with reading():
        return _attachments(document.root_object)[0]


def widgets(document: Any) -> tuple[Widget, ...]:
    """Return the places of all form fields, page by page; raise ValueError for a damaged document."""
    with reading():
        return tuple(
            found for number, each in enumerate(document.pages, start=1) for found in _widgets(each, number)
        )


def _get(holder: Any, key: str) -> Any:
    value = holder.get(key)
    return None if value is None else value.get_object()


def _identifiers(document: Any) -> bytes:
    """Return the first, lasting half of the document's identifier, b"" for none."""
    held = document.trailer.get("/ID") if hasattr(document, "trailer") else document._ID
    if not held:
        return b""
    first = held.get_object()[0].get_object()
    return bytes(getattr(first, "original_bytes", first))


def _page(held: Any, memory: dict[int, bytes]) -> PageSeen:
    contents = held.get("/Contents")
    streams = [] if contents is None else contents.get_object()
    parts = [each.get_object().get_data() for each in (streams if isinstance(streams, list) else [streams])]
    names = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox")
    boxes = {}
    for name in names:
        found = _inherited(held, name)
        if found is not None:
            boxes[name[1:]] = tuple(float(each) for each in found)
    resources = dict(_inherited(held, "/Resources") or {})
    group = _get(held, "/Group")
    shown = {key: each for key, each in resources.items() if key not in _IDLE}
    annotations = [each.get_object() for each in _get(held, "/Annots") or []]
    kinds = [str(each.get("/Subtype", "")).removeprefix("/") for each in annotations]
    return PageSeen(
        content=b"\n".join(parts),
        resources=canonical({"/Resources": shown, "/Group": group}, memory),
        boxes=boxes,
        rotate=int(_inherited(held, "/Rotate") or 0),
        user_unit=float(held.get("/UserUnit", 1)),
        annotations=tuple(kind for kind in kinds if kind != "Widget"),
        script="/AA" in held,
    )


def _inherited(held: Any, key: str) -> Any:
    for _ in range(50):
        if key in held:
            return held[key].get_object()
        if "/Parent" not in held:
            break
        held = held["/Parent"].get_object()
    return None


def _widgets(held: Any, number: int) -> Iterator[Widget]:
    for reference in _get(held, "/Annots") or []:
        each = reference.get_object()
        if each.get("/Subtype") != "/Widget":
            continue
        kind = str(_inherited(each, "/FT") or "").removeprefix("/")
        actions = {key: each[key] for key in ("/A", "/AA") if key in each}
        yield Widget(
            name=_full_name(each),
            page=number,
            kind=kind,
            value=_value(each, kind),
            box=tuple(float(side) for side in each.get("/Rect", ())),
            script=canonical(actions, {}) if actions else b"",
        )


def _full_name(held: Any) -> str:
    parts: list[str] = []
    for _ in range(50):
        if "/T" in held:
            parts.append(_text(held["/T"]))
        if "/Parent" not in held:
            break
        held = held["/Parent"].get_object()
    return ".".join(reversed(parts))


def _value(held: Any, kind: str) -> str:
    value = _inherited(held, "/V")
    if kind == "Btn":
        state = value if value is not None else held.get("/AS")
        return "" if state is None or str(state) in ("/Off", "Off", "") else "yes"
    if value is None:
        return ""
    if isinstance(value, list):
        return ", ".join(_text(each) for each in value)
    return _text(value)


def _text(value: Any) -> str:
    """Return a text string, a name or a stream of text with its lines ended as everywhere else."""
    value = value.get_object()
    data = value.get_data() if hasattr(value, "get_data") else value
    if isinstance(data, bytes):
        data = data.decode("utf-16") if data[:2] in (b"\xfe\xff", b"\xff\xfe") else data.decode("latin-1")
    text = str(data)
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _attachments(root: Any) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """Return the attachments by name, and the names that stand twice."""
    tree = _get(_get(root, "/Names") or {}, "/EmbeddedFiles")
    found: dict[str, bytes] = {}
    twice: list[str] = []
    for key, reference in _leaves(tree, 0) if tree is not None else ():
        specification = reference.get_object()
        name = _text(specification.get("/UF") or specification.get("/F") or key)
        files = _get(specification, "/EF") or {}
        stream = _get(files, "/UF") or _get(files, "/F")
        if stream is None:
            continue
        if name in found:
            twice.append(name)
        found[name] = stream.get_data()
    return found, tuple(twice)


def _leaves(node: Any, depth: int) -> Iterator[tuple[Any, Any]]:
    if depth > 50:
        raise RefusedError(say("pdf.endless_attachments"))
    names = _get(node, "/Names") or []
    yield from zip(names[::2], names[1::2], strict=False)
    for kid in _get(node, "/Kids") or []:
        yield from _leaves(kid.get_object(), depth + 1)


def _extras(root: Any) -> Iterator[str]:
    for key in ("/OpenAction", "/AA", "/OCProperties", "/Collection"):
        if key in root:
            yield key.removeprefix("/")
    if "/JavaScript" in (_get(root, "/Names") or {}):
        yield "JavaScript"
    if "/XFA" in (_get(root, "/AcroForm") or {}):
        yield "XFA"

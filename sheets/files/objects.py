"""PDF objects as plain values, both ways: what a packet is made of, and what stands in a file.

This is the only importer of pypdf. A plain `str` is a PDF name ("/None"), `Words` are a text string, `bytes`
a byte string, `Stream` a dictionary with data; dict, list, numbers and bools are themselves. Documents are
passed about as they are, and looked at only here.
"""

import contextlib
import functools
import hashlib
import io
import logging
import re
from collections.abc import Iterator, Mapping
from typing import Any

from geometry.core.errors import RefusedError, why
from geometry.core.frozen import dataclass
from geometry.core.say import say
from sheets.files import spelling
from sheets.files.packing import Loose, deflated

ENCODINGS = frozenset(("/Length", "/Filter", "/DecodeParms", "/DL"))
"""Entries of a stream that say how it is kept, not what it holds."""
_FEW = 3
"""Repairs of a document that are kept: one is enough to tell that it needed any."""


class Words(str):
    """A text string, where a plain str is a name."""

    __slots__ = ()


@dataclass(frozen=True, slots=True)
class Stream:
    """A stream: entries of its dictionary, its data before it is compressed, and whether it shall be."""

    entries: Mapping[str, Any]
    data: bytes
    packed: bool = True


@functools.cache
def _generic() -> Any:
    """Return the library's kinds of objects, loaded when they are needed; asked for at every object."""
    from pypdf import generic

    return generic


class LockedError(RefusedError):
    """The document is encrypted."""


class _Repairs(logging.Handler):
    """What the reader tells of its repairs, on the log; a command's standard error is not its place."""

    def __init__(self, said: list[str]) -> None:
        super().__init__(logging.WARNING)
        self.said = said

    def emit(self, record: logging.LogRecord) -> None:
        """Keep the first few."""
        if len(self.said) < _FEW:
            said = " ".join(record.getMessage().split())
            # Some of its lines show an exception as Python spells it.
            self.said.append(re.sub(r"^\w+Error\((['\"])(.*)\1\)$", r"\2", said)[:120])


@contextlib.contextmanager
def reading(document: Any = None) -> Iterator[list[str]]:
    """Turn whatever a damaged document makes its reader raise into a ValueError of one line.

    What is handed over gets a line for each of the first repairs that the reader makes. Objects are read as
    they are asked for, and once: what was told of a document before stays with it.
    """
    from pypdf.errors import DependencyError, FileNotDecryptedError

    log, repairs = logging.getLogger("pypdf"), _Repairs(getattr(document, "repairs", []))
    log.setLevel(logging.WARNING)
    log.propagate = False
    log.addHandler(repairs)
    try:
        yield repairs.said
    except (LockedError, MemoryError):
        raise
    except (DependencyError, FileNotDecryptedError) as error:
        raise LockedError(say("pdf.encrypted")) from error
    except Exception as error:
        # A damaged file breaks its reader in more ways than can be listed.
        reason = why(error) if isinstance(error, RefusedError) else " ".join(str(error).split())[:120]
        raise RefusedError(say("pdf.damaged", reason=reason or type(error).__name__)) from error
    finally:
        log.removeHandler(repairs)


def opened(data: bytes) -> Any:
    """Return the document in some bytes, to be read; raise LockedError or ValueError where it is none."""
    from pypdf import PdfReader

    if b"%PDF-" not in data[:1024]:
        raise RefusedError(say("pdf.no_pdf"))
    with reading() as repairs:
        document: Any = PdfReader(io.BytesIO(data))
        document.repairs = repairs
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
        fonts: Any = get(get(held, "/Resources") or {}, "/Font") or {}
        if name in fonts:
            return fonts.raw_get(name)
    return None


def structure(document: Any) -> Any:
    """Return the root of the document's structure tree, None where it has none."""
    return get(document.root_object, "/StructTreeRoot")


def extend(held: Any, key: str, values: list[Any]) -> None:
    """Put values after those in a list that a dictionary, or what a reference stands for, has under a key."""
    held.get_object()[key].get_object().extend(map(_object, values))


def annotate(document: Any, index: int, widgets: list[Any]) -> None:
    """Put widgets, references to them, on a page after those that it has."""
    held = document.pages[index]
    before = list(held["/Annots"].get_object()) if "/Annots" in held else []
    # The order of fields is that of the structure tree, and of this list where there is none.
    _update(held, {"/Annots": [*before, *widgets], "/Tabs": "/S"})


def extend_form(document: Any, fields: list[Any], empty: Mapping[str, Any]) -> None:
    """Put fields, references to them, into the document's form, which begins as `empty` if there is none."""
    root = document.root_object
    held = root["/AcroForm"].get_object() if "/AcroForm" in root else _object(dict(empty))
    before = list(held["/Fields"].get_object()) if "/Fields" in held else []
    shared = get(held, "/DR") or _object({"/Font": {}})
    _update(get(shared, "/Font"), empty["/DR"]["/Font"])
    _update(held, {"/Fields": [*before, *fields], "/DR": shared})
    _update(root, {"/AcroForm": held})


def describe(document: Any, title: str, subject: str, producer: str, keywords: str) -> None:
    """Set the document's metadata; there is no date among them, and no keywords where they are empty."""
    said = {"/Title": title, "/Subject": subject, "/Producer": producer}
    document.metadata = {**said, "/Keywords": keywords} if keywords else said


def loose(document: Any) -> Loose:
    """Return all objects of a document that something in it refers to.

    They are numbered anew, streams first and all else by kind, because what is alike is packed well together.
    """
    root, info = document.root_object.indirect_reference, document._info.indirect_reference
    held = _held(document, root.idnum, info.idnum)
    ordered = sorted(held, key=lambda number: (*_kind(held[number]), number))
    anew = {number: place for place, number in enumerate(ordered, start=1)}
    spelt = [(place, _spelt(held[number], anew)) for number, place in anew.items()]
    return Loose(spelt, anew[root.idnum], anew[info.idnum])


def _kind(value: Any) -> tuple[bool, str, str]:
    if not isinstance(value, dict):
        return True, "", ""
    return not hasattr(value, "_data"), str(value.get("/Type", "")), str(value.get("/S", ""))


def _held(document: Any, *numbers: int) -> dict[int, Any]:
    """Return some objects and all that they refer to, by number."""

    held: dict[int, Any] = {}
    waiting: list[Any] = [document._objects[number - 1].indirect_reference for number in numbers]
    while waiting:
        value = waiting.pop()
        if isinstance(value, _generic().IndirectObject):
            if value.idnum not in held:
                held[value.idnum] = document._objects[value.idnum - 1]
                waiting.append(held[value.idnum])
        elif isinstance(value, dict):
            waiting += dict.values(value)
        elif isinstance(value, list):
            waiting += list.__iter__(value)
    return held


def _spelt(value: Any, anew: Mapping[int, int]) -> bytes:
    """Return an object as a file has it, in few bytes, with the new numbers of what it refers to."""
    generic = _generic()
    match value:
        case generic.IndirectObject():
            return b"%d 0 R" % anew[value.idnum]
        case generic.TextStringObject():
            return _quoted(value.get_encoded_bytes())
        case generic.ByteStringObject():
            return _quoted(value)
        case generic.DictionaryObject():
            parts = ((_name_spelt(key), _spelt(value.raw_get(key), anew)) for key in value)
            spelt = b"".join(key + _after(each) for key, each in parts)
            data = getattr(value, "_data", None)
            if data is None:
                return b"<<%b>>" % spelt
            return b"<<%b/Length %d>>\nstream\n%b\nendstream" % (spelt, len(data), data)
        case list():
            return b"[%b]" % b" ".join(_spelt(each, anew) for each in list.__iter__(value))
        case _:
            out = io.BytesIO()
            value.write_to_stream(out)
            return out.getvalue()


# A file has thousands of names, of which few differ.
@functools.lru_cache(maxsize=1024)
def _name_spelt(name: Any) -> bytes:
    spelt: bytes = name.renumber()
    return spelt


def _quoted(held: bytes) -> bytes:
    return b"(%b)" % re.sub(rb"[()\\]", rb"\\\g<0>", held).replace(b"\r", b"\\r")


def _after(spelt: bytes) -> bytes:
    """Return what follows a name, apart from it where it would run on."""
    return spelt if spelt[:1] in (b"/", b"[", b"(", b"<") else b" " + spelt


def _update(held: Any, entries: Mapping[str, Any]) -> None:
    name = _generic().NameObject
    for key, value in entries.items():
        if value is None:
            held.pop(name(key), None)
        else:
            held[name(key)] = _object(value)


def _object(value: Any) -> Any:
    """Return a plain value as a PDF object; streams and whatever is referred to stay what they are."""
    generic = _generic()
    match value:
        case generic.PdfObject():
            return value
        case Stream():
            entries, small = dict(value.entries), deflated(value.data) if value.packed else value.data
            held: Any = generic.DecodedStreamObject()
            if value.packed:
                held, entries = generic.EncodedStreamObject(), {"/Filter": "/FlateDecode", **entries}
            held._data = small
            held.update(_object(entries))
            return held
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


def ill_spelt(document: Any) -> bool:
    """Tell whether a document's bytes are not spelt as the standard has it, or not listed where they are.

    Its reader makes do with much, and other readers with something else. What is written yet has no bytes.
    """
    if not hasattr(document, "xref"):
        return False
    listed = [
        (number, generation, place, _length(document, number, generation))
        for generation, held in document.xref.items()
        for number, place in held.items()
        if number and not document.xref_free_entry.get(generation, {}).get(number)
    ]
    return spelling.ill_spelt(document.stream.getvalue(), listed, _packed(document))


def _packed(document: Any) -> Iterator[tuple[bytes, list[int]]]:
    """Yield what is in each stream of objects, and where in it they begin."""
    for number in {held for held, _ in document.xref_objStm.values()}:
        stream = document.get_object(number)
        data, first = stream.get_data(), int(stream["/First"])
        head = [int(each) for each in re.sub(rb"%[^\r\n]*", b" ", data[:first]).split()]
        yield data, [first + each for each in head[1::2]]


def _length(document: Any, number: int, generation: int) -> int | None:
    """Return how many bytes are in an object's stream as its file keeps them, None where it has none."""
    generic = _generic()
    held = document.get_object(generic.IndirectObject(number, generation, document))
    return len(held._data) if isinstance(held, generic.StreamObject) else None


def get(holder: Any, key: str) -> Any:
    """Return what a dictionary has under a key, None for nothing or null."""
    value = holder.get(key)
    value = None if value is None else value.get_object()
    return None if isinstance(value, _generic().NullObject) else value


def operations(stream: Any) -> list[tuple[list[Any], bytes]]:
    """Return the operators in a content stream, each after its operands."""
    from pypdf.generic import ContentStream

    return ContentStream(stream, None).operations


def text_in(form: Any) -> str:
    """Return the text that a form XObject shows."""
    from pypdf import PageObject

    return PageObject().extract_xform_text(form)


def canonical(value: Any, memory: dict[int, bytes]) -> bytes:
    """Return a PDF object in one form whatever program wrote it.

    References are followed, keys are sorted, numbers have at most four decimals, strings are hexadecimal, and
    a stream is its dictionary, less how it is packed, with the SHA-256 of its decoded data. `memory` holds
    what was followed before.
    """
    return _canonical(value, memory, ())


def _canonical(value: Any, memory: dict[int, bytes], above: tuple[int, ...]) -> bytes:
    number = getattr(value, "idnum", None)
    if number is None:
        return _plain(value, memory, above)
    if number in above:
        return b"^"
    if number not in memory:
        memory[number] = _plain(value.get_object(), memory, (*above, number))
    return memory[number]


def _plain(value: Any, memory: dict[int, bytes], above: tuple[int, ...]) -> bytes:
    generic = _generic()
    match value:
        case None | generic.NullObject():
            return b"null"
        case generic.StreamObject():
            kept = {key: each for key, each in value.items() if key not in ENCODINGS}
            # The library's older versions take the end of line behind an empty stream for what is in it.
            data = value.get_data()
            inside = hashlib.sha256(data if data.strip() else b"").hexdigest()
            return _plain(kept, memory, above) + b"stream " + inside.encode()
        case dict():
            pairs = (
                str(key).encode() + b" " + _canonical(value.raw_get(key), memory, above)
                if isinstance(value, generic.DictionaryObject)
                else str(key).encode() + b" " + _canonical(value[key], memory, above)
                for key in sorted(value)
                if key != "/Parent"
            )
            return b"<<" + b" ".join(pairs) + b">>"
        case list():
            return b"[" + b" ".join(_canonical(each, memory, above) for each in value) + b"]"
        case generic.BooleanObject() | bool():
            return b"true" if value else b"false"
        case int() | float():
            # Adding nothing turns -0.0 round.
            return f"{round(float(value), 4) + 0.0:.4f}".rstrip("0").rstrip(".").encode()
        case generic.NameObject():
            return str(value).encode()
        case generic.TextStringObject():
            return b"<%b>" % value.original_bytes.hex().encode()
        case bytes():
            return b"<" + value.hex().encode() + b">"
        case _:
            return str(value).encode()

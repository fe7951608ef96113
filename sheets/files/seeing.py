"""What stands in a document: pages, form fields, attachments, and all else that a reader may see or set off.

What has a name of its own, such as a page's boxes, is told by that. All else of catalog, pages and fields is
in parts and set-ups in one canonical form, so that nothing can be added where nobody looks. Left out is what
programs write anew as they save a file, and what a user fills in. A page that is pointed at is "page 3".
"""

import contextlib
from collections.abc import Iterator, Mapping
from typing import Any

from geometry.core.errors import RefusedError
from geometry.core.say import Say, say
from sheets.files import seal
from sheets.files.contents import FORM_RESOURCE, PageSeen, Seen, Widget
from sheets.files.objects import ENCODINGS, canonical, get, ill_spelt, reading
from sheets.files.plain import plain

_IDLE = ("/ProcSet",)
"""Resources that say nothing of what is shown: procedure sets are obsolete, and programs drop them."""
_SAVED = ("/Metadata", "/PieceInfo", "/LastModified", "/M", "/NM")
"""Entries of any object that programs write anew when they save a file."""
_BOXES = ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox")
_ACTS = ("/OpenAction", "/AA", "/OCProperties", "/Collection")
_CATALOG = (
    *_SAVED, *_ACTS, "/Pages", "/Names", "/AF", "/AcroForm", "/Outlines", "/ViewerPreferences", "/Version",
    "/Extensions",
)  # fmt: skip
_PAGE = (
    *_SAVED, *_BOXES, "/Parent", "/Contents", "/Resources", "/Rotate", "/UserUnit", "/Group", "/Annots",
    "/AA",
)  # fmt: skip
_FORM = (*_SAVED, "/Fields", "/NeedAppearances", "/DR", "/XFA")
_FIELD = (*_SAVED, "/V", "/AP", "/AS", "/P", "/Parent", "/Kids", "/T", "/Rect")
_LINKS = ("/Parent", "/Prev", "/Next", "/Last")
_MOST_BOOKMARKS = 10_000
_DEEPEST = 50


def seen(document: Any) -> Seen:
    """Return what stands in a document, read or about to be written; raise ValueError for a damaged one."""
    with reading(document):
        root = document.root_object
        held: dict[int, bytes] = {}
        pages = tuple(_page(each, held) for each in document.pages)
        named = dict(_numbered(document))
        attachments, twice = _attachments(root)
        info = document.metadata or {}
        preferences = get(root, "/ViewerPreferences") or {}
        identifiers = _identifiers(document)
        return Seen(
            pages=pages,
            widgets=tuple(
                found
                for number, each in enumerate(document.pages, start=1)
                for found in _widgets(each, number, named)
            ),
            attachments=attachments,
            print_scaling=str(get(preferences, "/PrintScaling") or "").removeprefix("/"),
            title=str(info.get("/Title", "")),
            subject=str(info.get("/Subject", "")),
            extras=tuple(_extras(root, info)),
            identifier=identifiers,
            twice=twice,
            parts={name: canonical(each, named) for name, each in _parts(document, root)},
            damage=tuple(_damage(document, root)),
        )


def information(document: Any) -> dict[str, str]:
    """Return the document's Title, Producer and Keywords, "" for what it does not say."""
    held: Mapping[str, Any] = {}
    with contextlib.suppress(ValueError), reading(document):
        held = document.metadata or {}
    return {key: str(held.get(f"/{key}", "")) for key in ("Title", "Producer", "Keywords")}


def bookmarks(document: Any) -> list[str]:
    """Return the titles of the document's bookmarks of the first level, one more than pages at the most."""
    return [_text(held["/Title"]) for held in _outline(document.root_object, len(document.pages) + 1)]


def _outline(root: Any, most: int) -> Iterator[Any]:
    """Yield the bookmarks of the first level, no more than so many: a chain of them may have no end."""
    held = get(get(root, "/Outlines") or {}, "/First")
    for _ in range(most):
        if held is None:
            break
        yield held
        held = get(held, "/Next")


def attachments(document: Any) -> dict[str, bytes]:
    """Return the document's attachments by name; raise ValueError for a damaged document."""
    with reading(document):
        return _attachments(document.root_object)[0]


def widgets(document: Any) -> tuple[Widget, ...]:
    """Return the places of all form fields, page by page; raise ValueError for a damaged document."""
    with reading(document):
        return tuple(
            found
            for number, each in enumerate(document.pages, start=1)
            for found in _widgets(each, number, None)
        )


def _identifiers(document: Any) -> bytes:
    """Return the first, lasting half of the document's identifier, b"" for none."""
    held = document.trailer.get("/ID") if hasattr(document, "trailer") else document._ID
    if not held:
        return b""
    first = held.get_object()[0].get_object()
    return bytes(getattr(first, "original_bytes", first))


def _page(held: Any, memory: dict[int, bytes]) -> PageSeen:
    boxes = {}
    for name in _BOXES:
        found = _inherited(held, name)
        if found is not None:
            boxes[name[1:]] = tuple(float(each) for each in found)
    resources = dict(_inherited(held, "/Resources") or {})
    group = get(held, "/Group")
    shown = {key: each for key, each in resources.items() if key not in _IDLE}
    annotations = [each.get_object() for each in get(held, "/Annots") or []]
    kinds = [str(each.get("/Subtype", "")).removeprefix("/") for each in annotations]
    return PageSeen(
        content=b"\n".join(each.get_data() for each in _streams(held)),
        resources=canonical({"/Resources": shown, "/Group": group}, memory),
        boxes=boxes,
        rotate=int(_inherited(held, "/Rotate") or 0),
        user_unit=float(held.get("/UserUnit", 1)),
        annotations=tuple(kind for kind in kinds if kind != "Widget"),
        script="/AA" in held,
    )


def _streams(page: Any) -> list[Any]:
    """Return the streams that a page's content is in."""
    held = get(page, "/Contents")
    if held is None:
        return []
    return [each.get_object() for each in held] if isinstance(held, list) else [held]


def _inherited(held: Any, key: str) -> Any:
    for _ in range(50):
        if key in held:
            return held[key].get_object()
        if "/Parent" not in held:
            break
        held = held["/Parent"].get_object()
    return None


def _places(page: Any) -> Iterator[Any]:
    """Yield the places of form fields on a page."""
    for reference in get(page, "/Annots") or []:
        each = reference.get_object()
        if each.get("/Subtype") == "/Widget":
            yield each


def _widgets(held: Any, number: int, named: dict[int, bytes] | None) -> Iterator[Widget]:
    for each in _places(held):
        kind = str(_inherited(each, "/FT") or "").removeprefix("/")
        actions = {key: each[key] for key in ("/A", "/AA") if key in each}
        value, box = _value(each, kind), tuple(float(side) for side in each.get("/Rect", ()))
        script = canonical(actions, {}) if actions else b""
        setup, shows = b"", True
        if named is not None:
            look, ticked = get(each, "/AP"), kind == "Btn"
            setup = canonical([_less(each, _FIELD), _above(each), look if ticked else None], named)
            shows = _marked(each, value) if ticked else plain(look, value, box)
        yield Widget(_full_name(each), number, kind, value, box, script, setup, shows)


def _above(held: Any) -> list[Any]:
    """Return what a field inherits from those above it, without names and values."""
    found = []
    for _ in range(50):
        if "/Parent" not in held:
            break
        held = held["/Parent"].get_object()
        found.append(_less(held, _FIELD))
    return [each for each in found if each]


def _marked(held: Any, value: str) -> bool:
    """Tell whether a tick shows what its value is, in a look that it has."""
    # Without a state some show the first of its looks.
    state = str(held.get("/AS", ""))
    return (state != "/Off") == bool(value) and state in (get(get(held, "/AP") or {}, "/N") or {})


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
    tree = get(get(root, "/Names") or {}, "/EmbeddedFiles")
    found: dict[str, bytes] = {}
    twice: list[str] = []
    for key, reference in _leaves(tree, 0) if tree is not None else ():
        specification = reference.get_object()
        name = _text(specification.get("/UF") or specification.get("/F") or key)
        files = get(specification, "/EF") or {}
        stream = get(files, "/UF") or get(files, "/F")
        if stream is None:
            continue
        # A reader takes one or the other: what they differ in is an attachment that hides behind another.
        names = {_text(specification[each]) for each in ("/UF", "/F") if each in specification}
        held = {each.get_object().get_data() for each in files.values()}
        if name in found or len(names) > 1 or len(held) > 1:
            twice.append(name)
        found[name] = stream.get_data()
    return found, tuple(twice)


def _leaves(node: Any, depth: int) -> Iterator[tuple[Any, Any]]:
    if depth > 50:
        raise RefusedError(say("pdf.endless_attachments"))
    names = get(node, "/Names") or []
    yield from zip(names[::2], names[1::2], strict=False)
    for kid in get(node, "/Kids") or []:
        yield from _leaves(kid.get_object(), depth + 1)


def _extras(root: Any, info: Mapping[str, Any]) -> Iterator[str]:
    for key in _ACTS:
        if key in root:
            yield key.removeprefix("/")
    # Ghostscript opens a collection that stands there too.
    if "/Collection" in info:
        yield "Info/Collection"
    if "/JavaScript" in (get(root, "/Names") or {}):
        yield "JavaScript"
    if "/XFA" in (get(root, "/AcroForm") or {}):
        yield "XFA"


def _less(held: Any, left_out: tuple[str, ...]) -> dict[str, Any]:
    """Return a dictionary without some entries, references left as they are."""
    return {key: held.raw_get(key) for key in held if key not in left_out}


def _parts(document: Any, root: Any) -> Iterator[tuple[str, Any]]:
    """Yield whatever else stands in a document, by where it stands."""
    yield from _less(root, _CATALOG).items()
    yield "/ViewerPreferences", _less(get(root, "/ViewerPreferences") or {}, ("/PrintScaling",))
    if names := get(root, "/Names"):
        for key, each in _less(names, ("/EmbeddedFiles", "/JavaScript")).items():
            yield f"/Names{key}", each
    if held := [_less(each, _LINKS) for each in _outline(root, _MOST_BOOKMARKS)]:
        yield "/Outlines", held
    if form := get(root, "/AcroForm"):
        for key, each in _less(form, _FORM).items():
            yield f"/AcroForm{key}", each
        for key, kind in (get(form, "/DR") or {}).items():
            for name, each in kind.get_object().items():
                yield f"{FORM_RESOURCE}{key}{name}", each
    for number, page in enumerate(document.pages, start=1):
        for key, each in _less(page, _PAGE).items():
            yield f"{number}{key}", each
        for key in sorted({key for each in _streams(page) for key in each} - ENCODINGS):
            # A file that it lies in, or what else some readers heed.
            yield f"{number}/Contents{key}", None


def _numbered(document: Any) -> Iterator[tuple[int, bytes]]:
    """Yield by object numbers what pages and fields are called where they are pointed at.

    A field, of which the structure tree tells who listens, is called by its number there, because what is
    filled in is its reader's.
    """
    for number, page in enumerate(document.pages, start=1):
        yield page.indirect_reference.idnum, b"page %d" % number
        for reference in get(page, "/Annots") or []:
            key = get(reference.get_object(), "/StructParent")
            if key is not None and hasattr(reference, "idnum"):
                yield reference.idnum, b"field %d" % int(key)


def _damage(document: Any, root: Any) -> Iterator[Say]:
    """Yield what shows that a file is not whole, though all in it could be made out."""
    data = document.stream.getvalue() if hasattr(document, "stream") else b""
    if not seal.begins(data):
        yield say("record.bytes")
    if "/XRefStm" in getattr(document, "trailer", ()):
        yield say("record.two_lists")
    # What was sealed was spelt here.
    if not seal.untouched(data) and ill_spelt(document):
        yield say("record.ill_spelt")
    for repair in getattr(document, "repairs", ())[:1]:
        yield say("record.repaired", what=repair)
    if get(root, "/Type") != "/Catalog" or _count(get(root, "/Pages"), 0) != len(document.pages):
        yield say("record.tree")
    held = get(root, "/AcroForm") or {}
    listed = sorted(name for each in get(held, "/Fields") or () for name in _fields(each.get_object(), ()))
    if listed != sorted(_full_name(each) for page in document.pages for each in _places(page)):
        yield say("record.form")


def _count(node: Any, depth: int) -> int:
    """Return how many pages are below a node of their tree, -1 where a node says otherwise or is no node."""
    kids = get(node, "/Kids")
    if kids is None:
        return 1 if get(node, "/Type") == "/Page" else -1
    counts = [_count(each.get_object(), depth + 1) for each in kids] if depth < _DEEPEST else [-1]
    right = get(node, "/Type") == "/Pages" and -1 not in counts and get(node, "/Count") == sum(counts)
    return sum(counts) if right else -1


def _fields(held: Any, above: tuple[str, ...]) -> Iterator[str]:
    """Yield the full names of the fields at and below one of the form."""
    if not hasattr(held, "raw_get"):
        return
    own = (*above, _text(held["/T"])) if "/T" in held else above
    kids = [each.get_object() for each in get(held, "/Kids") or ()] if len(above) < _DEEPEST else []
    if not kids:
        yield ".".join(own)
    for each in kids:
        yield from _fields(each, own)

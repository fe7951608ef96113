"""The finished packet: the drawn pages, told not to be scaled, with the job file inside.

Keys after ISO 32000-1: viewer preferences 12.2, embedded files 7.11.4, file identifiers 14.4; the
relationship of an attachment after ISO 32000-2, 7.11.3.
"""

import hashlib
import io
import pathlib
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pypdf import PdfWriter
    from pypdf.generic import DictionaryObject

PRODUCER = "Dropleaf"

# At true size, one-sided, on paper of the page's size, whatever the viewer would choose by itself.
_PRINTING = {
    "/PrintScaling": "/None",
    "/Enforce": ["/PrintScaling"],
    "/PickTrayByPDFSize": True,
    "/Duplex": "/Simplex",
    "/DisplayDocTitle": True,
}


def assemble(
    pages_pdf: pathlib.Path,
    out: pathlib.Path,
    *,
    title: str,
    subject: str,
    attachments: Sequence[tuple[str, bytes]],
) -> None:
    """Write the pages of `pages_pdf` to `out` with preferences for printing, title, subject and attachments.

    Pages and their boxes are copied untouched. An attachment is a file name and its bytes. The same input
    gives the same bytes: the file's identifier is a digest of them, and no date is written. Raises OSError
    where a file cannot be read or written, ValueError for an empty attachment or two of
    one name.
    """
    # Loading the library takes longer than most commands run, and only drawing needs it.
    from pypdf import PdfWriter
    from pypdf.generic import TextStringObject

    pages = pages_pdf.read_bytes()
    # Only a clone keeps the page boxes and the document's own settings; appending pages loses the latter.
    writer = PdfWriter(clone_from=io.BytesIO(pages))
    # The first version with every preference set below; the drawing library says less.
    writer.pdf_header = "%PDF-1.7"
    writer.metadata = {"/Title": title, "/Subject": subject, "/Producer": PRODUCER}
    writer.root_object.update(_dictionary({"/Lang": TextStringObject("en"), "/ViewerPreferences": _PRINTING}))
    if attachments:
        _attach(writer, attachments)
    _identify(writer, pages, title, subject, attachments)
    finished = io.BytesIO()
    writer.write(finished)
    out.write_bytes(finished.getvalue())


def _attach(writer: "PdfWriter", attachments: Sequence[tuple[str, bytes]]) -> None:
    from pypdf.generic import TextStringObject

    names: list[Any] = []
    # A name tree is searched by halving, so its names must be in order, and each may stand once.
    for name, content in sorted(attachments):
        if TextStringObject(name) in names:
            raise ValueError(f"two attachments are named {name}")
        if not content:
            # PDFium hands out the compressed form of an empty file, so it could not be verified.
            raise ValueError(f"attachment {name} is empty")
        names += [TextStringObject(name), writer._add_object(_file_specification(writer, name, content))]
    writer.root_object.update(
        _dictionary({"/Names": {"/EmbeddedFiles": {"/Names": names}}, "/AF": names[1::2]})
    )


def _file_specification(writer: "PdfWriter", name: str, content: bytes) -> "DictionaryObject":
    from pypdf.generic import DecodedStreamObject, TextStringObject

    plain = DecodedStreamObject()
    plain.set_data(content)
    stream = plain.flate_encode()
    stream.update(_dictionary({"/Type": "/EmbeddedFile", "/Params": {"/Size": len(content)}}))
    held = writer._add_object(stream)
    title = TextStringObject(name)
    return _dictionary(
        {
            "/Type": "/Filespec",
            "/F": title,
            "/UF": title,
            "/EF": {"/F": held, "/UF": held},
            "/AFRelationship": "/Source",
        }
    )


def _identify(
    writer: "PdfWriter", pages: bytes, title: str, subject: str, attachments: Sequence[tuple[str, bytes]]
) -> None:
    """Give the file an identifier made of its content alone, where the library would mix in the clock."""
    from pypdf.generic import ArrayObject, ByteStringObject

    parts = [pages, title.encode(), subject.encode()]
    for name, content in attachments:
        parts += [name.encode(), content]
    # Each part's length goes in too, so that moving a byte from one part to the next changes the digest.
    digest = hashlib.sha256(b"".join(len(part).to_bytes(8, "big") + part for part in parts)).digest()
    identifier = ByteStringObject(digest[:16])
    writer._ID = ArrayObject([identifier, identifier])


def _dictionary(plain: dict[str, Any]) -> "DictionaryObject":
    """Return a PDF dictionary of plain values, in which every plain string is a name."""
    from pypdf.generic import DictionaryObject, NameObject

    return DictionaryObject({NameObject(key): _object(value) for key, value in plain.items()})


def _object(value: Any) -> Any:
    from pypdf.generic import ArrayObject, BooleanObject, NameObject, NumberObject, PdfObject

    match value:
        case PdfObject():
            return value
        case dict():
            return _dictionary(value)
        case list():
            return ArrayObject(map(_object, value))
        case bool():
            return BooleanObject(value)
        case int():
            return NumberObject(value)
        case _:
            return NameObject(value)

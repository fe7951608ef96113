"""Fonts as PDF objects: simple TrueType fonts, embedded, with what each code means (ISO 32000-1, 9.6, 9.8).

A subset of ours has codes of its own, which its map of characters explains to who draws it, "/ToUnicode" to
who searches. What forms are typed in has the encoding of Windows, by which viewers know its characters.
"""

from collections.abc import Mapping
from typing import Any

from fonts.faces import Embedded
from sheets.files import objects
from sheets.files.objects import Stream

FORM = "/Face"
"""The name of the font that has the encoding of Windows."""
_SYMBOLIC, _LATIN = 1 << 2, 1 << 5
_STEM = 80
"""Thickness of upright stems, thousandths: what is asked for and nobody uses."""


def add(document: Any, font: Embedded, codes: Mapping[str, int] | None = None) -> Any:
    """Put a font into a document and return the reference to it.

    `codes` says which characters its codes stand for; without, they are those of Windows' code page 1252.
    """
    file = objects.add(document, Stream({"/Length1": len(font.data)}, font.data))
    descriptor = {
        "/Type": "/FontDescriptor",
        "/FontName": f"/{font.name}",
        "/Flags": _LATIN if codes is None else _SYMBOLIC,
        "/FontBBox": list(font.box),
        "/ItalicAngle": 0,
        "/Ascent": font.ascent,
        "/Descent": font.descent,
        "/CapHeight": font.capital,
        "/StemV": _STEM,
        "/FontFile2": file,
    }
    first, last = min(font.widths), max(font.widths)
    entries: dict[str, Any] = {
        "/Type": "/Font",
        "/Subtype": "/TrueType",
        "/BaseFont": f"/{font.name}",
        "/FirstChar": first,
        "/LastChar": last,
        "/Widths": [font.widths.get(code, 0) for code in range(first, last + 1)],
        "/FontDescriptor": objects.add(document, descriptor),
    }
    if codes is None:
        entries["/Encoding"] = "/WinAnsiEncoding"
    else:
        entries["/ToUnicode"] = objects.add(document, Stream({}, _spelt(codes)))
    return objects.add(document, entries)


def _spelt(codes: Mapping[str, int]) -> bytes:
    """Return a map from codes to text, as 9.10.3 asks for it, at most 100 entries a block."""
    lines = [
        f"<{code:02x}> <{character.encode('utf-16-be').hex()}>"
        for character, code in sorted(codes.items(), key=lambda pair: pair[1])
    ]
    blocks = [lines[start : start + 100] for start in range(0, len(lines), 100)]
    return "\n".join(
        (
            "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
            "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
            "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
            "1 begincodespacerange <00> <ff> endcodespacerange",
            *("\n".join((f"{len(block)} beginbfchar", *block, "endbfchar")) for block in blocks),
            "endcmap CMapName currentdict /CMap defineresource pop end end",
        )
    ).encode()

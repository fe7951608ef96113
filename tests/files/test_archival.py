"""What ISO 19005-3 (PDF/A-3, level a) asks of a file, clause by clause, read by pypdf, fontTools and Pillow.

The clauses are those that a machine can check without drawing the page. They were written down from memory of
the standard and of the rules that open checkers publish, and from ISO 32000-1, which it builds on.
"""

import io
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pypdf
import pytest
from fontTools.ttLib import TTFont
from PIL import ImageCms
from pypdf.generic import ContentStream, DictionaryObject, IndirectObject, StreamObject

from tests.files.forms import FIELDS, filed, form_sheet
from tests.files.shapes import full_sheet
from tests.pages.conftest import delivered as delivered

Clause = Callable[[bytes, pypdf.PdfReader], None]
CLAUSES: dict[str, Clause] = {}


def clause(number: str) -> Callable[[Clause], Clause]:
    """Note what checks a clause."""

    def noted(check: Clause) -> Clause:
        CLAUSES[f"{number} {check.__name__}"] = check
        return check

    return noted


def objects(reader: pypdf.PdfReader) -> Iterator[Any]:
    """Yield every object of a file, those inside others too."""
    for number in range(1, int(reader.trailer["/Size"])):
        if number in reader.xref_objStm or number in reader.xref[0]:
            waiting = [IndirectObject(number, 0, reader).get_object()]
            while waiting:
                one = waiting.pop()
                yield one
                if isinstance(one, DictionaryObject):
                    waiting += [
                        each for key in one if not isinstance(each := one.raw_get(key), IndirectObject)
                    ]
                elif isinstance(one, list):
                    waiting += [each for each in list.__iter__(one) if not isinstance(each, IndirectObject)]


def dictionaries(reader: pypdf.PdfReader) -> Iterator[DictionaryObject]:
    return (each for each in objects(reader) if isinstance(each, DictionaryObject))


def contents(reader: pypdf.PdfReader) -> Iterator[tuple[ContentStream, Any]]:
    """Yield what is shown, pages and the looks of fields, with its resources."""
    for page in reader.pages:
        yield ContentStream(page["/Contents"], reader), page["/Resources"]
        for widget in page.get("/Annots", ()):
            look = widget.get_object()["/AP"]["/N"].get_object()
            for each in [look] if isinstance(look, StreamObject) else look.values():
                yield ContentStream(each.get_object(), reader), each.get_object().get("/Resources", {})


def fonts(reader: pypdf.PdfReader) -> list[DictionaryObject]:
    return [each for each in dictionaries(reader) if each.get("/Type") == "/Font"]


def program(font: DictionaryObject) -> TTFont:
    return TTFont(io.BytesIO(font["/FontDescriptor"]["/FontFile2"].get_data()))


@clause("6.1.2")
def the_header_and_four_bytes_beyond_ascii(data: bytes, reader: pypdf.PdfReader) -> None:
    first, second, _ = data.split(b"\n", 2)
    assert re.fullmatch(rb"%PDF-1\.[0-7]", first)
    assert second[:1] == b"%" and all(byte > 127 for byte in second[1:5])


@clause("6.1.3")
def an_identifier_no_encryption_and_nothing_after_the_end(data: bytes, reader: pypdf.PdfReader) -> None:
    assert len(reader.trailer["/ID"]) == 2
    assert "/Encrypt" not in reader.trailer
    assert data.endswith(b"%%EOF\n") and data.count(b"startxref") == 1


@clause("6.1.7.1")
def streams_are_as_long_as_they_say_and_inside_the_file(data: bytes, reader: pypdf.PdfReader) -> None:
    found = list(re.finditer(rb"/Length (\d+)>>\nstream\n", data))
    assert len(found) > 10
    for each in found:
        assert data[each.end() + int(each[1]) :].startswith(b"\nendstream\nendobj\n")
    for each in dictionaries(reader):
        if isinstance(each, StreamObject):
            assert not {"/F", "/FFilter", "/FDecodeParms"} & set(each)


@clause("6.1.7.2")
def streams_are_packed_by_deflate_alone(data: bytes, reader: pypdf.PdfReader) -> None:
    assert set(re.findall(rb"/Filter ?/?(\[?\w+)", data)) <= {b"FlateDecode"}


@clause("6.1.9")
def objects_begin_and_end_on_lines_of_their_own(data: bytes, reader: pypdf.PdfReader) -> None:
    for place in reader.xref[0].values():
        assert re.match(rb"\d+ 0 obj\n", data[place : place + 20])
        assert place == 0 or data[place - 1 : place] == b"\n"


@clause("6.1.12")
def no_permissions_and_no_requirements(data: bytes, reader: pypdf.PdfReader) -> None:
    assert not {"/Perms", "/Requirements", "/NeedsRendering"} & set(reader.trailer["/Root"])


@clause("6.1.13")
def nothing_is_larger_than_readers_take(data: bytes, reader: pypdf.PdfReader) -> None:
    assert int(reader.trailer["/Size"]) < 8388607
    for each in objects(reader):
        if isinstance(each, str) and each.startswith("/"):
            assert len(each.encode()) <= 128
        if isinstance(each, int) and not isinstance(each, bool):
            assert abs(each) <= 2147483647


_OPERATORS = " w J j M d m l c h re S f* B* BT ET Tf Tm Td Tj TL T* cm q Q W n re g BMC EMC BDC "
"""No more than our writers have: none that paints a picture, a shade, or what a reader need not know."""


@clause("6.2.2")
def content_has_known_operators_and_names_what_it_has(data: bytes, reader: pypdf.PdfReader) -> None:
    shown = 0
    for stream, resources in contents(reader):
        depth = 0
        for operands, operator in stream.operations:
            assert f" {operator.decode()} " in _OPERATORS
            depth += {b"q": 1, b"Q": -1}.get(operator, 0)
            assert 0 <= depth <= 28
            if operator == b"Tf":
                assert operands[0] in resources["/Font"]
                shown += 1
    assert shown


@clause("6.2.3")
def an_output_intent_with_a_profile_of_its_day(data: bytes, reader: pypdf.PdfReader) -> None:
    (intent,) = reader.trailer["/Root"]["/OutputIntents"]
    assert (intent["/S"], "/DestOutputProfileRef" in intent) == ("/GTS_PDFA1", False)
    held = intent["/DestOutputProfile"]
    profile = held.get_data()
    assert (held["/N"], profile[16:20], profile[12:16], profile[8] < 5) == (3, b"RGB ", b"mntr", True)
    said = ImageCms.ImageCmsProfile(io.BytesIO(profile)).profile
    assert "sRGB" in said.profile_description and said.version <= 4.2001
    assert "use freely" in said.copyright


@clause("6.2.4")
def black_is_all_that_is_set_and_nothing_is_see_through(data: bytes, reader: pypdf.PdfReader) -> None:
    for stream, resources in contents(reader):
        assert set(resources) <= {"/Font"}
        assert all(operands == [0] for operands, operator in stream.operations if operator == b"g")
    for page in reader.pages:
        assert "/Group" not in page


@clause("6.2.9")
def no_pictures_no_foreign_content(data: bytes, reader: pypdf.PdfReader) -> None:
    for each in dictionaries(reader):
        assert each.get("/Subtype") not in ("/Image", "/PS")
        assert not {"/OPI", "/Ref", "/PS", "/Subtype2", "/SMask", "/BM", "/TR", "/HTP"} & set(each)


@clause("6.2.11.2")
def fonts_say_what_they_must(data: bytes, reader: pypdf.PdfReader) -> None:
    assert fonts(reader)
    for font in fonts(reader):
        assert (font["/Subtype"], font["/BaseFont"]) == ("/TrueType", font["/FontDescriptor"]["/FontName"])
        assert re.match(r"/[A-Z]{6}\+[!-~]+$", font["/BaseFont"])
        assert len(font["/Widths"]) == font["/LastChar"] - font["/FirstChar"] + 1


@clause("6.2.11.4.1")
def every_font_is_embedded_whole(data: bytes, reader: pypdf.PdfReader) -> None:
    for font in fonts(reader):
        held = font["/FontDescriptor"]["/FontFile2"]
        assert held["/Length1"] == len(held.get_data())
        assert {"glyf", "head", "hhea", "hmtx", "loca", "maxp", "cmap"} <= set(program(font).keys())


def glyph_of(font: DictionaryObject, held: TTFont, code: int) -> str | None:
    (table,) = held["cmap"].tables
    return table.cmap.get(ord(bytes([code]).decode("cp1252")) if "/Encoding" in font else code)


def used(reader: pypdf.PdfReader) -> dict[int, tuple[DictionaryObject, set[int]]]:
    """Return each font that is set with the codes that are shown in it."""
    found: dict[int, tuple[DictionaryObject, set[int]]] = {}
    for stream, resources in contents(reader):
        codes: set[int] = set()
        for operands, operator in stream.operations:
            if operator == b"Tf":
                held = resources["/Font"].raw_get(operands[0])
                _, codes = found.setdefault(held.idnum, (held.get_object(), set()))
            elif operator == b"Tj":
                codes |= set(bytes(getattr(operands[0], "original_bytes", operands[0])))
    return found


@clause("6.2.11.5")
def widths_are_those_of_the_font(data: bytes, reader: pypdf.PdfReader) -> None:
    for font, codes in used(reader).values():
        held = program(font)
        for code in codes:
            wide = held["hmtx"][glyph_of(font, held, code)][0] * 1000 / held["head"].unitsPerEm
            assert abs(font["/Widths"][code - font["/FirstChar"]] - wide) <= 1


@clause("6.2.11.6")
def encodings_are_plain(data: bytes, reader: pypdf.PdfReader) -> None:
    for font in fonts(reader):
        symbolic = bool(font["/FontDescriptor"]["/Flags"] & 4)
        (table,) = program(font)["cmap"].tables
        assert symbolic is ("/Encoding" not in font)
        if not symbolic:
            assert (font["/Encoding"], table.platformID, table.platEncID) == ("/WinAnsiEncoding", 3, 1)


@clause("6.2.11.7.2")
def every_letter_is_known_in_unicode(data: bytes, reader: pypdf.PdfReader) -> None:
    for font, codes in used(reader).values():
        if "/Encoding" in font:
            continue
        said = dict(re.findall(rb"<(\w\w)> <(\w+)>", font["/ToUnicode"].get_data()))
        for code in codes:
            text = bytes.fromhex(said[b"%02x" % code].decode()).decode("utf-16-be")
            assert text and not set(text) & {"\0", "\ufeff", "\ufffe"}
            assert not any("\ue000" <= each <= "\uf8ff" for each in text)


@clause("6.2.11.8")
def no_letter_is_the_sign_for_a_missing_one(data: bytes, reader: pypdf.PdfReader) -> None:
    for font, codes in used(reader).values():
        held = program(font)
        assert codes and all(glyph_of(font, held, code) not in (None, ".notdef") for code in codes)


@clause("6.3")
def fields_print_show_and_do_nothing(data: bytes, reader: pypdf.PdfReader) -> None:
    for page in reader.pages:
        assert not {"/AA", "/PresSteps"} & set(page)
        for each in map(IndirectObject.get_object, page.get("/Annots", ())):
            assert each["/Subtype"] == "/Widget"
            # Printed, and neither hidden, invisible, unviewed nor toggled.
            assert each["/F"] & 0b100100111 == 0b100
            assert set(each["/AP"]) == {"/N"}
            assert isinstance(each["/AP"]["/N"], StreamObject) is (each["/FT"] != "/Btn")


@clause("6.4")
def the_form_has_its_looks_and_no_script(data: bytes, reader: pypdf.PdfReader) -> None:
    form = reader.trailer["/Root"].get("/AcroForm", {})
    assert not form.get("/NeedAppearances", False) and "/XFA" not in form
    for each in dictionaries(reader):
        assert not {"/AA", "/JS"} & set(each)
        # A part of the structure has attributes under that name.
        assert "/A" not in each or "/S" in each["/A"] or each["/A"]["/O"] in ("/Table", "/Layout")
        assert each.get("/Subtype") != "/Widget" or "/A" not in each


@clause("6.5")
def nothing_acts(data: bytes, reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]
    assert not {"/OpenAction", "/AA"} & set(root) and "/JavaScript" not in root.get("/Names", {})
    assert not any(each.get("/Type") == "/Action" or "/URI" in each for each in dictionaries(reader))


@clause("6.6")
def it_says_in_xmp_what_it_is(data: bytes, reader: pypdf.PdfReader) -> None:
    held = reader.trailer["/Root"]["/Metadata"]
    assert (held["/Type"], held["/Subtype"]) == ("/Metadata", "/XML")
    text = held.get_data().decode("utf-8")
    assert text.startswith('<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>')
    found = {each.tag: "".join(each.itertext()).strip() for each in ElementTree.fromstring(text).iter()}
    aid = "{http://www.aiim.org/pdfa/ns/id/}"
    assert (found[f"{aid}part"], found[f"{aid}conformance"]) == ("3", "A")
    # What the old form of description says too is the same.
    info = reader.metadata
    assert found["{http://purl.org/dc/elements/1.1/}title"] == info["/Title"]
    assert found["{http://purl.org/dc/elements/1.1/}description"] == info["/Subject"]
    assert found["{http://ns.adobe.com/pdf/1.3/}Producer"] == info["/Producer"]
    assert found.get("{http://ns.adobe.com/pdf/1.3/}Keywords", "") == info.get("/Keywords", "")
    assert set(info) <= {"/Title", "/Subject", "/Producer", "/Keywords"}


@clause("6.6.2.3.3")
def what_it_says_beyond_the_standard_is_described(data: bytes, reader: pypdf.PdfReader) -> None:
    tree = ElementTree.fromstring(reader.trailer["/Root"]["/Metadata"].get_data().decode("utf-8"))
    (said,) = tree.iter("{http://www.aiim.org/pdfa/ns/extension/}schemas")
    tell = {each.tag.rpartition("}")[2]: each.text for each in said.iter()}
    assert (tell["namespaceURI"], tell["prefix"]) == ("http://www.aiim.org/pdfua/ns/id/", "pdfuaid")
    assert (tell["name"], tell["valueType"], tell["category"]) == ("part", "Integer", "internal")
    assert tell["schema"] and tell["description"]


def parts(reader: pypdf.PdfReader) -> list[DictionaryObject]:
    return [each for each in dictionaries(reader) if "/S" in each and "/P" in each]


@clause("6.7.2.2")
def it_says_that_it_is_tagged(data: bytes, reader: pypdf.PdfReader) -> None:
    marked = reader.trailer["/Root"]["/MarkInfo"]
    assert marked["/Marked"] and not marked.get("/Suspects", False)


@clause("6.7.3.3")
def its_structure_hangs_together(data: bytes, reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]["/StructTreeRoot"]
    assert root["/Type"] == "/StructTreeRoot"
    waiting, seen = [root["/K"]], 0
    while waiting:
        one = waiting.pop()
        seen += 1
        kids = one.get("/K", [])
        for each in kids if isinstance(kids, list) else [kids]:
            each = each.get_object()
            if isinstance(each, DictionaryObject) and "/S" in each:
                assert each["/P"] == one
                waiting.append(each)
    assert seen == len(parts(reader)) > 5


STANDARD = {
    *("/Document", "/Sect", "/H1", "/H2", "/P", "/Figure", "/Form"),
    *("/Table", "/Caption", "/TR", "/TH", "/TD"),
}
"""Types of ISO 32000-1, 14.8.4, that our writer uses."""


@clause("6.7.3.4")
def its_parts_are_of_standard_types(data: bytes, reader: pypdf.PdfReader) -> None:
    assert {each["/S"] for each in parts(reader)} <= STANDARD
    assert "/RoleMap" not in reader.trailer["/Root"]["/StructTreeRoot"]


@clause("6.7.4")
def its_language_is_told(data: bytes, reader: pypdf.PdfReader) -> None:
    assert re.fullmatch(r"[a-z]{2}(-[A-Z]{2})?", reader.trailer["/Root"]["/Lang"])


@clause("6.7.5")
def figures_are_described(data: bytes, reader: pypdf.PdfReader) -> None:
    assert all(each.get("/Alt") for each in parts(reader) if each["/S"] == "/Figure")


@clause("6.7.6")
def fields_say_in_words_what_belongs_there(data: bytes, reader: pypdf.PdfReader) -> None:
    for page in reader.pages:
        assert all(each.get_object()["/TU"] for each in page.get("/Annots", ()))


@clause("6.8")
def attachments_say_their_kind_and_what_they_are_to_the_file(data: bytes, reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]
    held = root["/Names"]["/EmbeddedFiles"]["/Names"][1::2]
    assert list(held) == list(root["/AF"]) and len(held) >= 2
    for each in map(IndirectObject.get_object, held):
        assert each["/F"] == each["/UF"] and each["/AFRelationship"] in ("/Source", "/Data")
        file = each["/EF"]["/F"]
        assert file["/Subtype"] in ("/application/json", "/application/toml")
        assert file["/Params"]["/Size"] == len(file.get_data())


@clause("6.9")
def nothing_is_optional_or_shown_by_turns(data: bytes, reader: pypdf.PdfReader) -> None:
    assert "/OCProperties" not in reader.trailer["/Root"]
    assert "/AlternatePresentations" not in reader.trailer["/Root"].get("/Names", {})
    assert not any("/OC" in each for each in dictionaries(reader))


@pytest.fixture(scope="module")
def packet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a packet with a form of every kind of field, one of them in Polish."""
    polish = FIELDS[0].__class__("name", "Name", (30.0, 230.0, 100.0, 240.0), "text", "Łabędź & <sons>")
    folder = tmp_path_factory.mktemp("archival")
    return filed(folder, [full_sheet(), form_sheet(*FIELDS, polish)])


@pytest.mark.parametrize("number", CLAUSES)
def test_a_form_keeps_the_clause(number: str, packet: Path) -> None:
    CLAUSES[number](packet.read_bytes(), pypdf.PdfReader(packet))


@pytest.mark.parametrize("name", ["dunlin", "curlew"])
def test_a_sample_keeps_every_clause(delivered: dict, name: str) -> None:
    packet = delivered[name, "outboard"].pdf
    reader = pypdf.PdfReader(packet)
    for check in CLAUSES.values():
        check(packet.read_bytes(), reader)


def test_dunlin_takes_no_more_than_150_kb(delivered: dict) -> None:
    assert delivered["dunlin", "outboard"].pdf.stat().st_size <= 150_000


@pytest.mark.parametrize(
    ("number", "old", "new"),
    [
        ("6.1.2", b"\n%\xe2", b"\n%a"),
        ("6.6", b"<pdfaid:part>3<", b"<pdfaid:part>4<"),
        ("6.1.3", b"%%EOF\n", b"%%EOF\nmore"),
        ("6.1.7.1", b"\nendstream", b"\n\nendstre"),
    ],
)
def test_a_file_that_breaks_a_clause_is_told(number: str, old: bytes, new: bytes, packet: Path) -> None:
    data = packet.read_bytes()
    bad = data.replace(old, new, 1) if number != "6.1.3" else data + b"more"
    if number == "6.6":
        writer, out = pypdf.PdfWriter(clone_from=packet), io.BytesIO()
        held = writer.root_object["/Metadata"]
        assert old in held.get_data()
        held.set_data(held.get_data().replace(old, new, 1))
        writer.write(out)
        data, bad = old, out.getvalue()
    assert old in data
    check = next(check for name, check in CLAUSES.items() if name.startswith(f"{number} "))
    with pytest.raises(AssertionError):
        check(bad, pypdf.PdfReader(io.BytesIO(bad)))

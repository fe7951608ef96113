"""What a screen reader is told: what ISO 14289-1 (PDF/UA) asks for, and each page's words, once and in order.

The checks are those of the Matterhorn Protocol 1.1 that a machine can make without drawing a page and that
apply to what our files have, each named by its checkpoint. They were written down from memory of it.
Fonts are checked in test_archival.py. Words are read by poppler and PDFium, which had no part in writing.
"""

import functools
import io
import re
from collections import Counter
from collections.abc import Callable, Iterator
from ctypes import c_ushort
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2
import pytest
from pypdf.generic import ContentStream, DictionaryObject, NameObject, TextStringObject
from pypdfium2 import raw

from sheets.ink.drawing import Drawing
from sheets.words.tell import tell
from tests.files.forms import FIELDS, filed, form_sheet
from tests.files.shapes import full_sheet
from tests.files.test_packet_record import edited
from tests.outside_tools import run
from tests.pages.conftest import Delivered
from tests.pages.conftest import delivered as delivered

Check = Callable[[pypdf.PdfReader], None]
CHECKS: dict[str, Check] = {}


def checkpoint(*numbers: str) -> Callable[[Check], Check]:
    """Note what checks a checkpoint, or several."""

    def noted(check: Check) -> Check:
        CHECKS[f"{' '.join(numbers)} {check.__name__}"] = check
        return check

    return noted


def kids(part: DictionaryObject) -> list[Any]:
    held = part.get("/K", [])
    return [each.get_object() for each in (held if isinstance(held, list) else [held])]


def below(part: DictionaryObject) -> Iterator[DictionaryObject]:
    """Yield a part and all parts below it, in reading order."""
    yield part
    for each in kids(part):
        if isinstance(each, DictionaryObject) and "/S" in each:
            yield from below(each)


def parts(reader: pypdf.PdfReader, kind: str = "") -> list[DictionaryObject]:
    found = below(reader.trailer["/Root"]["/StructTreeRoot"]["/K"].get_object())
    return [each for each in found if not kind or each["/S"] == kind]


PAINTS = {b"S", b"f*", b"B*", b"Tj"}


@checkpoint("01-003", "01-004", "01-005")
def all_that_is_painted_is_tagged_or_an_artifact_and_not_both(reader: pypdf.PdfReader) -> None:
    for page in reader.pages:
        depth, painted, in_text = 0, 0, False
        for operands, operator in ContentStream(page.get_contents(), reader).operations:
            if operator in (b"BDC", b"BMC"):
                assert depth == 0 and (operator == b"BMC") is (operands[0] == "/Artifact")
                depth, began = 1, in_text
            elif operator == b"EMC":
                # What begins in a text object ends there (ISO 32000-1, 14.6.1).
                assert depth == 1 and began is in_text
                depth = 0
            elif operator in (b"BT", b"ET"):
                in_text = operator == b"BT"
            elif operator in PAINTS:
                assert depth == 1
                painted += 1
        assert depth == 0 and painted


@checkpoint("06-001", "06-002", "06-003", "07-001", "07-002")
def it_says_that_it_is_for_all_and_shows_its_title(reader: pypdf.PdfReader) -> None:
    root = reader.trailer["/Root"]
    said = root["/Metadata"].get_data().decode()
    assert "<pdfuaid:part>1</pdfuaid:part>" in said
    assert re.search(r"<dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">[^<]+</rdf:li>", said)
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


@checkpoint("09-004")
def tables_are_of_rows_and_rows_of_as_many_cells(reader: pypdf.PdfReader) -> None:
    for table in parts(reader, "/Table"):
        assert table["/P"]["/S"] == "/Sect"
        caption, *_ = rows = kids(table)
        rows = rows[1:] if caption["/S"] == "/Caption" else rows
        assert rows and {row["/S"] for row in rows} == {"/TR"}
        assert len({len(kids(row)) for row in rows}) == 1
        assert {cell["/S"] for row in rows for cell in kids(row)} <= {"/TH", "/TD"}
    for part in parts(reader):
        if part["/S"] in ("/TR", "/Caption"):
            assert part["/P"]["/S"] == "/Table"
        elif part["/S"] in ("/TH", "/TD"):
            assert part["/P"]["/S"] == "/TR"


@checkpoint("11-001", "11-002", "11-003", "11-004", "11-005", "11-006")
def all_is_in_one_language_that_is_told(reader: pypdf.PdfReader) -> None:
    assert reader.trailer["/Root"]["/Lang"] == "en"


@checkpoint("13-004")
def a_figure_says_what_is_seen_and_where(reader: pypdf.PdfReader) -> None:
    for figure in parts(reader, "/Figure"):
        left, low, right, top = figure["/A"]["/BBox"]
        _, _, wide, high = figure["/Pg"]["/MediaBox"]
        assert len(figure["/Alt"].split()) >= 5
        assert 0 <= left < right <= wide and 0 <= low < top <= high


@checkpoint("14-002", "14-003", "14-006", "14-007")
def headings_begin_at_the_first_and_leave_none_out(reader: pypdf.PdfReader) -> None:
    for section in kids(reader.trailer["/Root"]["/StructTreeRoot"]["/K"].get_object()):
        assert section["/S"] == "/Sect"
        found = [each["/S"] for each in below(section) if re.match(r"/H\d?$", each["/S"])]
        assert found[:1] in (["/H1"], []) and found.count("/H1") <= 1
        assert set(found) <= {"/H1", "/H2"}


@checkpoint("15-003")
def each_head_of_a_table_says_what_it_is_the_head_of(reader: pypdf.PdfReader) -> None:
    for head in parts(reader, "/TH"):
        assert (head["/A"]["/O"], head["/A"]["/Scope"] in ("/Row", "/Column")) == ("/Table", True)


@checkpoint("21-001", "25-001", "26-001")
def attachments_have_both_names_and_nothing_is_locked(reader: pypdf.PdfReader) -> None:
    held = reader.trailer["/Root"]["/Names"]["/EmbeddedFiles"]["/Names"][1::2]
    assert all(each.get_object()["/F"] == each.get_object()["/UF"] for each in held)
    assert "/Encrypt" not in reader.trailer
    assert "/XFA" not in reader.trailer["/Root"].get("/AcroForm", {})


@checkpoint("28-002", "28-005", "28-008", "28-009", "28-010")
def fields_are_told_where_they_stand_and_reached_in_that_order(reader: pypdf.PdfReader) -> None:
    tree = reader.trailer["/Root"]["/StructTreeRoot"]
    numbers = dict(zip(tree["/ParentTree"]["/Nums"][::2], tree["/ParentTree"]["/Nums"][1::2], strict=True))
    forms = parts(reader, "/Form")
    for form in forms:
        (held,) = kids(form)
        assert held["/Type"] == "/OBJR" and form["/P"]["/S"] in ("/P", "/TD")
        assert numbers[held["/Obj"]["/StructParent"]].get_object() == form
    in_order = [kids(form)[0].raw_get("/Obj").idnum for form in forms]
    tabbed = []
    for page in reader.pages:
        widgets = list(page.get("/Annots", ()))
        tabbed += [each.idnum for each in widgets]
        assert all(each.get_object()["/TU"] for each in widgets)
        assert not widgets or page["/Tabs"] == "/S"
    assert in_order == tabbed


@checkpoint("30-002")
def content_is_of_one_part_and_each_knows_the_other(reader: pypdf.PdfReader) -> None:
    tree = reader.trailer["/Root"]["/StructTreeRoot"]
    numbers = dict(zip(tree["/ParentTree"]["/Nums"][::2], tree["/ParentTree"]["/Nums"][1::2], strict=True))
    assert list(numbers) == sorted(numbers) and max(numbers) < tree["/ParentTreeNextKey"]
    held: dict[int, list[int]] = {}
    for part in parts(reader):
        for each in kids(part):
            if isinstance(each, int):
                held.setdefault(part["/Pg"].indirect_reference.idnum, []).append(each)
                above = numbers[part["/Pg"]["/StructParents"]][each].get_object()
                assert above == part
    for page in reader.pages:
        marked = [
            int(operands[1]["/MCID"])
            for operands, operator in ContentStream(page.get_contents(), reader).operations
            if operator == b"BDC"
        ]
        assert marked == list(range(len(marked))) == sorted(held.get(page.indirect_reference.idnum, []))


@pytest.fixture(scope="module")
def packet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    drawing = Drawing()
    drawing.begin_figure()
    for number in range(5):
        drawing.letter(f"label {number}", (40.0, 150.0 + 10.0 * number), 3.5)
    good = full_sheet()
    lettered = replace(
        good,
        records=(*good.records, *drawing.records()),
        figure=drawing.figure,
        alt="Some lines and three circles.",
    )
    return filed(tmp_path_factory.mktemp("spoken"), [lettered, form_sheet(*FIELDS)])


@pytest.mark.parametrize("number", CHECKS)
def test_a_form_meets_the_checkpoint(number: str, packet: Path) -> None:
    CHECKS[number](pypdf.PdfReader(packet))


@pytest.mark.parametrize("name", ["dunlin", "avocet"])
def test_a_sample_meets_every_checkpoint(delivered: dict, name: str) -> None:
    reader = pypdf.PdfReader(delivered[name, "outboard"].pdf)
    for check in CHECKS.values():
        check(reader)


@pytest.mark.parametrize(
    ("number", "old", "new"),
    [
        ("01-003", b"EMC\n", b"q Q\n"),
        ("30-002", b"<</MCID 3>>BDC", b"<</MCID 2>>BDC"),
    ],
)
def test_a_page_that_misses_a_checkpoint_is_told(number: str, old: bytes, new: bytes, packet: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=packet)
    held = writer.pages[0]["/Contents"].get_object()
    assert old in held.get_data()
    held.set_data(held.get_data().replace(old, new, 1))
    out = io.BytesIO()
    writer.write(out)
    check = next(check for name, check in CHECKS.items() if number in name)
    with pytest.raises((AssertionError, KeyError)):
        check(pypdf.PdfReader(out))


def misled(writer: pypdf.PdfWriter) -> None:
    """Tell another text than what a part shows."""
    part = writer.root_object["/StructTreeRoot"]["/ParentTree"]["/Nums"][-1].get_object()
    part[NameObject("/ActualText")] = TextStringObject("12.345")


def reordered(writer: pypdf.PdfWriter) -> None:
    writer.root_object["/StructTreeRoot"]["/K"]["/K"].reverse()


def exchanged(writer: pypdf.PdfWriter) -> None:
    """Let two fields change places where they are told, with the numbers by which they are found."""
    one, other, *_ = (each.get_object() for each in writer.pages[1]["/Annots"])
    key = NameObject("/StructParent")
    one[key], other[key] = other[key], one[key]


def untagged(writer: pypdf.PdfWriter) -> None:
    del writer.root_object[NameObject("/StructTreeRoot")]


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        (misled, "document: what a screen reader is told changed"),
        (reordered, "document: what a screen reader is told changed"),
        (exchanged, "field reading.near: how it is set up changed"),
        (untagged, "document: what a screen reader is told is gone"),
    ],
)
def test_other_words_for_who_listens_are_told(
    edit: Callable[[pypdf.PdfWriter], None], said: str, packet: Path
) -> None:
    first, *_ = edited(packet, edit)
    assert first == said


@functools.cache
def heard(packet: Path) -> list[tuple[str, str]]:
    """Return what poppler reads in a file's structure, page by page: kind of part and its words."""
    found: list[tuple[str, str]] = []
    for line in run("pdfinfo", "-struct-text", packet).splitlines():
        text = re.fullmatch(r' *"(.*)"', line)
        if text is None:
            found.append((line.split()[0].rstrip(":"), ""))
        else:
            kind, before = found[-1]
            found[-1] = kind, f"{before}{text[1]}"
    return [(kind, " ".join(said.split())) for kind, said in found]


def pages_of(packet: Path) -> list[list[tuple[str, str]]]:
    pages: list[list[tuple[str, str]]] = []
    for kind, said in heard(packet):
        if kind == "Sect":
            pages.append([])
        elif said and kind not in ("Figure", "/BBox"):
            pages[-1].append((kind, said))
    return pages


def in_order(said: list[str], *wanted: str) -> None:
    """Fail unless each of these is heard, as a beginning, and in this order."""
    places = [next((i for i, each in enumerate(said) if each.startswith(one)), -1) for one in wanted]
    assert -1 not in places and places == sorted(places), list(zip(places, wanted, strict=True))


def sheets_of(one: Delivered) -> dict[str, list[str]]:
    """Return what is heard of the first page of each kind."""
    kinds = [page["sheet"] for page in one.pdf_pages]
    found = zip(kinds, pages_of(one.pdf), strict=True)
    return {kind: [said for _, said in page] for kind, page in reversed(list(found))}


def test_a_template_is_heard_from_its_head_to_its_labels(delivered: dict) -> None:
    said = sheets_of(delivered["dunlin", "outboard"])["template"]
    assert said[:3] == ["dunlin-1 Dunlin", "Template, seen from outboard", "A4, full size 1 of 1"]
    in_order(said, "Take it to the bench", "1 Both bars", "2 Cut out", "3 Turn it", "4 Bring", "Numbers, mm")
    in_order(said, "4 Bring", "axle: cut out Ø19.05", "near: drill Ø6.2", "far: drill Ø6.2", "disc 160")
    # A label of two lines is heard as one, and nothing of the bars' figures.
    assert said.count("near: drill Ø6.2") == 1 and "50" not in said
    assert said[said.index("axle to near hole") + 1] == "39.90"


def test_a_card_is_heard_down_the_page(delivered: dict) -> None:
    said = sheets_of(delivered["dunlin", "outboard"])["card"]
    assert said[0] == "dunlin-1 Dunlin: setup card"
    in_order(said, "REAR: 51 mm tab", "NOTE Grade C", "outboard", "Stack", "Readings that decide")
    in_order(said, "Order of work", "1 ", "2 ", "3 ", "Screws", "Cautions")
    row = said.index("axle to near, over")
    assert said[row : row + 5] == ["axle to near, over", "52.50", "52.45–52.60", "2.068", "2.065–2.070"]


def test_a_traveller_is_heard_line_by_line(delivered: dict) -> None:
    one = delivered["dunlin", "outboard"]
    said = sheets_of(one)["traveller"]
    assert said[:2] == ["dunlin-1 Dunlin", "Traveller, REAR: 51 mm tab"]
    in_order(
        said,
        "frame",
        "started, year-month-day",
        "What was really used",
        "Operations, in order",
        "1a",
        "1b",
        "2",
    )
    head = said.index("operation")
    columns = ["operation", "target, limits", "reading", "initials", "date", "done"]
    assert said[head : head + 6] == columns
    assert said[head + 7].startswith("Prepare Take tubes and tab from stock")


@pytest.mark.parametrize("name", ["dunlin", "avocet"])
def test_everything_is_heard_once(delivered: dict, name: str) -> None:
    """Each line that is set on a page is heard there as often as it is set, less figures' and artifacts'."""
    packet = delivered[name, "outboard"].pdf
    kinds = [page["sheet"] for page in delivered[name, "outboard"].pdf_pages]
    reader = pypdf.PdfReader(packet)
    for number, page in enumerate(pages_of(packet), start=1):
        heard_here = Counter("".join(said for _, said in page).replace(" ", ""))
        seen = run("pdftotext", "-f", str(number), "-l", str(number), packet, "-")
        seen_here = Counter("".join(seen.split()))
        # No letter is heard that is not seen, and all that are seen are heard but for the figures of bars,
        # the page's number, and the words that are at the foot of each page of the traveller.
        assert not heard_here - seen_here
        unheard = f"page{number}of{len(kinds)}" + 2 * "050100150mm123456in"
        if kinds[number - 1] == "traveller":
            unheard += "".join(tell("traveller.record").split())
        # What is filled in is heard as the field's own value.
        held = [each.get_object() for each in reader.pages[number - 1].get("/Annots", ())]
        unheard += "".join("".join(str(each.get("/V", "")).split()) for each in held)
        assert not seen_here - heard_here - Counter(unheard)


def test_another_reader_has_the_same_words_and_what_the_figure_shows(delivered: dict) -> None:
    """PDFium finds a page's parts by the tree of parents, where poppler goes from the root."""

    def text(call: Any, part: Any) -> str:
        size = call(part, None, 0)
        held = (c_ushort * (size // 2))()
        call(part, held, size)
        return bytes(held)[:-2].decode("utf-16-le") if size else ""

    def kinds(part: Any) -> Iterator[tuple[str, str]]:
        yield text(raw.FPDF_StructElement_GetType, part), text(raw.FPDF_StructElement_GetAltText, part)
        for index in range(raw.FPDF_StructElement_CountChildren(part)):
            if child := raw.FPDF_StructElement_GetChildAtIndex(part, index):
                yield from kinds(child)

    packet = delivered["dunlin", "outboard"].pdf
    with pypdfium2.PdfDocument(packet) as document:
        for page, wanted in zip(document, sections(packet), strict=True):
            tree = raw.FPDF_StructTree_GetForPage(page)
            top = raw.FPDF_StructTree_GetChildAtIndex(tree, 0)
            found = list(kinds(top))
            raw.FPDF_StructTree_Close(tree)
            assert [kind for kind, _ in found if kind in _SHOWN] == wanted
            assert all(said for kind, said in found if kind == "Figure")


_SHOWN = ("H1", "H2", "P", "Caption", "TH", "Figure")
"""Parts that always have content on a page: PDFium has no others."""


def sections(packet: Path) -> list[list[str]]:
    """Return the kinds of parts on each page, in poppler's order."""
    pages: list[list[str]] = []
    for kind, _ in heard(packet):
        if kind == "Sect":
            pages.append([])
        elif kind in _SHOWN:
            pages[-1].append(kind)
    return pages

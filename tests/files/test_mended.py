"""Files whose bytes were damaged and that readers mend, each in its way: told, however they were saved."""

from collections.abc import Callable, Mapping
from pathlib import Path

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheets.files import objects, spelling
from tests.files.forms import JOB, by_appending, filed, form_sheet, told, type_in
from tests.files.shapes import full_sheet
from tests.outside_tools import run

ILL_SPELT = "file: not all of it is spelt or listed as a PDF must be"


@pytest.fixture
def packet(tmp_path: Path) -> Path:
    return filed(tmp_path, (full_sheet(), full_sheet(), form_sheet()), [JOB])


def test_two_lists_of_objects_are_told(packet: Path) -> None:
    """A list for old readers and one for new ones (ISO 32000-1, 7.5.8.4) may lead to different objects."""
    reader = pypdf.PdfReader(packet)
    root, size, prev = reader.trailer.raw_get("/Root").idnum, reader.trailer["/Size"], reader._startxref
    data = packet.read_bytes()
    entry = f"{size} 0 obj <</Type /XRef /Size {size + 1} /W [1 4 1] /Index [{size} 1] /Length 6>> stream\n"
    hidden = entry.encode() + b"\1" + len(data).to_bytes(4, "big") + b"\0\nendstream endobj\n"
    tail = f"trailer <</Size {size + 1} /Root {root} 0 R /Prev {prev} /XRefStm {len(data)}>>\n"
    data += hidden + f"xref\n0 0\n{tail}startxref\n{len(data) + len(hidden)}\n%%EOF\n".encode()
    packet.write_bytes(data)
    assert "file: it lists its objects twice, so that not every program need see the same ones" in told(
        packet, packet
    )


def test_a_byte_that_changed_on_the_disk_is_told(packet: Path, tmp_path: Path) -> None:
    """A program that fills in adds to the end; what was written stays as it was, or was written anew."""
    out = tmp_path / "again.pdf"
    by_appending(packet, out)
    for whole in (packet, out):
        data = bytearray(whole.read_bytes())
        # In the word that ends an object, which readers mend in silence, each in its way.
        data[data.index(b"endobj") + 5] ^= 1
        whole.write_bytes(data)
        assert told(whole, whole)[0].startswith("file: its bytes are not as they were written")


@pytest.mark.parametrize(
    ("was", "now", "said"),
    [
        # Some lose the page of the field, others the field: found by damaging at random.
        (b")\n/P ", b")\n   ", "file: it had to be mended to be read (Expecting a NameObject for key"),
        (b" 0 obj\n<<\n/Type /Annot", b" 0 o~j\n<<\n/Type /Annot", ILL_SPELT),
        (b"\n25 0 obj", b"\n99 0 obj", ILL_SPELT),
        (b">>\n/T (", b">~\n/T (", ILL_SPELT),
        (b"\nxref\n0 ", b"\nxref\n90 ", ILL_SPELT),
        (b"\nendobj", b"\nendobk", ILL_SPELT),
        (b"\n>>\nstartxref", b"\n> \nstartxref", ILL_SPELT),
    ],
)
def test_damage_to_a_file_that_was_saved_again_is_told(
    was: bytes, now: bytes, said: str, packet: Path, tmp_path: Path
) -> None:
    """Once saved again nothing seals the bytes; readers that know nothing of each other must still agree."""
    out = tmp_path / "again.pdf"
    pypdf.PdfWriter(clone_from=packet).write(out)
    data = out.read_bytes()
    assert was in data
    out.write_bytes(data.replace(was, now, 1))
    assert any(each.startswith(said) for each in told(out, packet)), told(out, packet)


def by_qpdf(*options: str) -> Callable[[Path, Path], None]:
    return lambda source, out: run("qpdf", *options, source, out) and None


SPELT_BY: Mapping[str, Callable[[Path, Path], None]] = {
    "qpdf, objects in streams": by_qpdf("--object-streams=generate"),
    "qpdf, for the web": by_qpdf("--linearize"),
    "qpdf, to be looked at": by_qpdf("--qdf"),
    "MuPDF": lambda source, out: run("mutool", "clean", "-gggz", source, out) and None,
    "MuPDF, unpacked": lambda source, out: run("mutool", "clean", "-d", source, out) and None,
    "Ghostscript": lambda source, out: run("gs", "-q", "-sDEVICE=pdfwrite", "-o", out, source) and None,
    "cairo": lambda source, out: run("pdftocairo", "-pdf", source, out) and None,
    "poppler": lambda source, out: run("pdfunite", source, source, out) and None,
    "pypdf, at the end": by_appending,
    "PDFium": lambda source, out: type_in(source, out, {"serial": "SCW-9"}, ["seen"]),
}


@pytest.mark.parametrize("program", SPELT_BY)
def test_what_others_write_is_spelt_as_the_standard_has_it(
    program: str, packet: Path, tmp_path: Path
) -> None:
    """Programs that share no code with this one are right about the standard: none of their files is told."""
    out = tmp_path / "other.pdf"
    SPELT_BY[program](packet, out)
    assert not objects.ill_spelt(objects.opened(out.read_bytes()))


@given(data=st.binary(max_size=40))
def test_no_bytes_hang_or_break_the_look_at_them(data: bytes) -> None:
    whole = b"%PDF-1.7\n1 0 obj " + data + b" endobj\n"
    spelling.ill_spelt(whole, [(1, 0, 9, None)], [(data, [0])])


def test_values_that_never_end_take_no_time_to_look_at() -> None:
    """Objects within each other's strings, and comments that could be split at every sign."""
    nested = b"".join(b"%d 0 obj (" % number for number in range(1, 4000))
    places = [(number, 0, nested.index(b"%d 0 obj (" % number), None) for number in range(1, 4000)]
    assert spelling.ill_spelt(nested, places, [])
    assert spelling.ill_spelt(b"1 0 obj " + b"%" * 200_000, [(1, 0, 0, None)], [])
    assert spelling.ill_spelt(b"1 0 obj " + b"[" * 200_000, [(1, 0, 0, None)], [])

"""Files whose bytes were damaged and that readers mend, each in its way: told, however they were saved."""

from pathlib import Path

import pypdf
import pytest

from tests.files.forms import JOB, by_appending, filed, form_sheet, told
from tests.files.shapes import full_sheet


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
        (b" 0 obj\n<<\n/Type /Annot", b" 0 o~j\n<<\n/Type /Annot", "file: its list of objects leads to"),
        (b"\n25 0 obj", b"\n99 0 obj", "file: its list of objects leads to places"),
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

"""The finished packet: preferences, attachments and metadata, by readers that did not write them."""

import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path as File

import pypdf
import pypdfium2
import pytest

from geometry.core.errors import ReadBackError
from sheets.files.read.readback import verify_pdf
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.ink.paper import PAPERS
from tests.files.shapes import full_sheet
from tests.outside_tools import run

MakePacket = Callable[..., File]
JOB = ("Ø 35 – 日本.toml", '[frame]\nid = "Ø"\r\n'.encode())


def test_it_asks_not_to_be_scaled(make_packet: MakePacket) -> None:
    root = pypdf.PdfReader(make_packet(full_sheet())).trailer["/Root"]
    assert root["/ViewerPreferences"] == {
        "/PrintScaling": "/None",
        "/Enforce": ["/PrintScaling"],
        "/PickTrayByPDFSize": True,
        "/Duplex": "/Simplex",
        "/DisplayDocTitle": True,
    }
    assert root["/Lang"] == "en"


def test_a_packet_that_does_not_ask_is_a_miss(tmp_path: File) -> None:
    file = tmp_path / "pages.pdf"
    write_pdf([full_sheet()], file, title="", subject="")
    with pytest.raises(ReadBackError, match=r"readback\.scaling"):
        verify_pdf(file, [full_sheet()])


def test_pages_and_boxes_are_untouched(make_packet: MakePacket, tmp_path: File) -> None:
    sheets = [full_sheet(paper) for paper in PAPERS.values()]
    finished = pypdf.PdfReader(make_packet(*sheets))
    pages = pypdf.PdfReader(tmp_path / "pages.pdf")
    assert len(finished.pages) == len(sheets)
    for page, before in zip(finished.pages, pages.pages, strict=True):
        for box in ("/MediaBox", "/CropBox", "/BleedBox", "/TrimBox", "/ArtBox"):
            assert page[box] == before[box]
        assert page.get_contents().get_data() == before.get_contents().get_data()


def test_outside_programs_find_nothing_wrong(make_packet: MakePacket) -> None:
    packet = make_packet(full_sheet(), full_sheet(PAPERS["A3"]), attachments=[JOB, ("b.json", b"{}")])
    assert "No syntax or stream encoding errors found" in run("qpdf", "--check", packet)
    assert run("pdffonts", packet).splitlines()[2:] == []
    printed = run("pdfinfo", packet)
    assert "Producer:        Dropleaf" in printed
    assert "Title:           Ø – test" in printed
    assert "Date" not in printed
    assert "2 embedded files" in run("pdfdetach", "-list", packet)


def test_attachments_come_out_as_they_went_in(make_packet: MakePacket, tmp_path: File) -> None:
    attachments = [JOB, ("b.bin", bytes(range(256)) * 9), ("a.txt", b"a")]
    packet = make_packet(full_sheet(), attachments=attachments)
    assert verify_pdf(packet, [full_sheet()], attachments) <= 0.001
    document = pypdfium2.PdfDocument(packet)
    names = [document.get_attachment(index).get_name() for index in range(3)]
    document.close()
    assert names == sorted(name for name, _ in attachments)
    assert pypdf.PdfReader(packet).attachments == {name: [content] for name, content in attachments}
    for number, (_, content) in enumerate(sorted(attachments), start=1):
        out = tmp_path / "out"
        run("pdfdetach", "-save", str(number), "-o", out, packet)
        assert out.read_bytes() == content
    files = pypdf.PdfReader(packet).trailer["/Root"]["/AF"]
    assert {file.get_object()["/AFRelationship"] for file in files} == {"/Source"}


def test_a_missing_or_changed_attachment_is_a_miss(make_packet: MakePacket) -> None:
    packet = make_packet(full_sheet(), attachments=[JOB])
    with pytest.raises(ReadBackError, match=r"readback\.missing\(name='other\.toml'\)"):
        verify_pdf(packet, [full_sheet()], [("other.toml", JOB[1])])
    with pytest.raises(ReadBackError, match=r"readback\.differs"):
        verify_pdf(packet, [full_sheet()], [(JOB[0], JOB[1] + b"\n")])


def test_attachments_that_could_not_be_told_apart_or_read_are_refused(make_packet: MakePacket) -> None:
    with pytest.raises(ValueError, match=r"a\.txt is empty"):
        make_packet(full_sheet(), attachments=[("a.txt", b"")])
    with pytest.raises(ValueError, match=r"two attachments are named a\.txt"):
        make_packet(full_sheet(), attachments=[("a.txt", b"1"), ("a.txt", b"2")])


def test_the_identifier_follows_the_content(tmp_path: File) -> None:
    pages, out = tmp_path / "pages.pdf", tmp_path / "out.pdf"
    write_pdf([full_sheet()], pages, title="t", subject="s")

    def identifier(title: str, subject: str, *attachments: tuple[str, bytes]) -> bytes:
        assemble(pages, out, title=title, subject=subject, attachments=attachments)
        first, second = pypdf.PdfReader(out).trailer["/ID"]
        assert first == second
        return first.original_bytes

    assert identifier("t", "s") == identifier("t", "s")
    different = [
        identifier("t", "s"),
        identifier("ts", ""),
        identifier("t", "s", ("a", b"bc")),
        identifier("t", "s", ("ab", b"c")),
        identifier("t", "s", ("a", b"b"), ("c", b"d")),
    ]
    assert len(set(different)) == len(different)


WRITE = """
import pathlib, sys
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from tests.files.shapes import full_sheet
folder = pathlib.Path(sys.argv[1])
write_pdf([full_sheet()] * 2, folder / "pages.pdf", title="Ø", subject="s")
attachments = [("b.toml", b"b"), ("a.toml", b"a")]
assemble(folder / "pages.pdf", folder / "packet.pdf", title="Ø", subject="s", attachments=attachments)
write_svg(full_sheet(), folder / "sheet.svg")
"""


def test_two_processes_write_the_same_bytes(tmp_path: File) -> None:
    root = File(__file__).parents[2]
    runs = []
    for seed, zone in (("1", "UTC"), ("4242", "Asia/Tokyo")):
        folder = tmp_path / seed
        folder.mkdir()
        # In another second and another zone a clock in the files would show.
        time.sleep(1.1 * len(runs))
        environment = {"PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(root), "PATH": "/usr/bin:/bin"}
        subprocess.run(
            [sys.executable, "-c", WRITE, folder], env=environment, cwd=root, timeout=60, check=True
        )
        runs.append({file.name: file.read_bytes() for file in folder.iterdir()})
    assert set(runs[0]) == {"pages.pdf", "packet.pdf", "sheet.svg"}
    assert runs[0] == runs[1]

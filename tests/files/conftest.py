"""Both ways of writing a sheet and measuring it again, for tests that hold for either."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sheets.files.read.readback import verify_pdf, verify_svg
from sheets.files.write.packet import assemble
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from sheets.ink.records import Sheet

WriteAndVerify = Callable[[Sheet, Sheet], float]


def packet(sheets: list[Sheet], folder: Path, attachments: tuple[tuple[str, bytes], ...] = ()) -> Path:
    pages, out = folder / "pages.pdf", folder / "packet.pdf"
    write_pdf(sheets, pages, title="Ø – test", subject="templates")
    assemble(pages, out, title="Ø – test", subject="templates", attachments=attachments)
    return out


@pytest.fixture(params=["pdf", "svg"])
def write_and_verify(request: pytest.FixtureRequest, tmp_path: Path) -> WriteAndVerify:
    """Return a function that writes its first sheet, measures the file against its second, and returns how
    far it is off, for either kind of file.
    """

    def as_pdf(drawn: Sheet, wanted: Sheet) -> float:
        return verify_pdf(packet([drawn], tmp_path), [wanted])

    def as_svg(drawn: Sheet, wanted: Sheet) -> float:
        write_svg(drawn, tmp_path / "sheet.svg")
        return verify_svg(tmp_path / "sheet.svg", wanted)

    return as_pdf if request.param == "pdf" else as_svg


@pytest.fixture
def make_packet(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes sheets as a finished packet and returns its path."""
    return lambda *sheets, attachments=(): packet(list(sheets), tmp_path, attachments)

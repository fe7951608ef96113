"""A sheet can be had alone: no other is drawn for it, no disk is touched, and it is the packet's own."""

import functools
import io
import re
import tempfile
from pathlib import Path

import pypdfium2
import pytest

from geometry.core.errors import InputError
from sheets.actions import pages
from sheets.actions.draw import draw, plan
from sheets.actions.pages import KINDS, Kind, page, pdf, svg
from sheets.ink.records import Sheet
from sheets.job.read import from_bytes, load
from tests.conftest import forget
from tests.pages.jobs import SAMPLES

MAKERS = {
    "template": ("template", "template_tiles"),
    "face": ("face", "face_tiles"),
    "wrap": ("wraps",),
    "plate": ("plates",),
    "card": ("card",),
    "cautions": ("caution_pages",),
    "loads": ("loads", "bent_page"),
    "traveller": ("traveller",),
    "details": ("detail_pages",),
    "numbers": ("number_pages",),
}
"""What draws each kind, by its name in the module that puts a job's sheets together."""


def _not_asked_for(*_: object, **__: object) -> None:
    raise AssertionError("a sheet was drawn that nobody asked for")


@functools.cache
def _whole(name: str) -> tuple[Sheet, ...]:
    """Return all sheets of a sample, as nothing that is patched drew them."""
    return plan(load(SAMPLES[name]), None, plate=True).sheets


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("name", ["dunlin", "avocet"])
def test_only_what_is_asked_for_is_drawn(name: str, kind: Kind, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = [sheet for sheet in _whole(name) if sheet.kind == kind]
    forget()
    for other in KINDS:
        for maker in MAKERS[other] if other != kind else ():
            monkeypatch.setattr(pages, maker, _not_asked_for)
    # The template's tiles are tried where one page does not fit; both samples fit.
    made = page(from_bytes(SAMPLES[name].read_bytes(), Path("nowhere", f"{name}.toml")), kind, plate=True)
    assert list(made) == whole
    assert bool(made) is (kind != "face" or name == "avocet")


def test_no_disk_is_written(monkeypatch: pytest.MonkeyPatch) -> None:
    raw = SAMPLES["dunlin"].read_bytes()
    for owner, name in ((Path, "write_bytes"), (Path, "write_text"), (Path, "mkdir"), (tempfile, "mkdtemp")):
        monkeypatch.setattr(owner, name, _not_asked_for)
    for kind in ("template", "card", "cautions", "traveller", "details", "numbers"):
        sheets = page(from_bytes(raw, Path("nowhere", "dunlin.toml")), kind)
        assert all(svg(sheet).endswith(b"</svg>\n") for sheet in sheets)
        assert pdf(sheets).startswith(b"%PDF")


def test_a_packet_is_all_kinds_in_their_order() -> None:
    source = load(SAMPLES["avocet"])
    apart = tuple(sheet for kind in KINDS for sheet in page(source, kind))
    assert apart == plan(source, None).sheets
    laid_on_metal = {sheet.kind for sheet in plan(source, None, plate=True).sheets if sheet.full_size}
    assert laid_on_metal == {"template", "face", "wrap", "plate"}


def test_bytes_are_what_files_hold(tmp_path: Path) -> None:
    """Of a page on its own, the same as `draw` delivers; a PDF by its pages, the form is the packet's."""
    source = load(SAMPLES["avocet"])
    draw(plan(source, tmp_path))
    first, second = page(source, "wrap")
    found = {"wrap-1": first, "wrap-2": second} | {
        kind: page(source, kind)[0] for kind in ("template", "face")
    }
    for kind, sheet in found.items():
        delivered = (tmp_path / f"avocet-3-{kind}.svg").read_bytes()
        # A file that travels alone says whose numbers it rests on, and is sealed with that.
        told = re.compile(rb"<desc>.*?</desc>|<!-- dropleaf sha256 \w+ -->")
        assert told.sub(b"", delivered) == told.sub(b"", svg(sheet))
    sheets = page(source, "card")
    with pypdfium2.PdfDocument(io.BytesIO(pdf(sheets))) as document:
        assert len(document) == len(sheets)
        assert document[0].get_size() == pytest.approx(tuple(s * 72 / 25.4 for s in (210.0, 297.0)), abs=0.01)


def test_a_plate_that_the_job_does_not_ask_for() -> None:
    source = load(SAMPLES["dunlin"])
    wanted = [sheet.kind for sheet in plan(source, None, plate=True).sheets].count("plate")
    assert [sheet.kind for sheet in page(source, "plate", plate=True)] == ["plate"] * wanted
    with pytest.raises(InputError, match="--printer"):
        page(source, "card", "no such printer")

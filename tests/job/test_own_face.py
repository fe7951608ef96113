"""A job's own face is a file that may be anybody's: beside the job, plain, and no more than a face needs."""

import time
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from geometry.core.errors import InputError
from geometry.core.say import Say
from sheets.actions.check import report
from sheets.actions.own_face import own_face_of
from sheets.job.read import load
from tests.job.conftest import KNOT
from tests.outside_tools import pipe


def job_with(folder: Path, font: str) -> Path:
    (folder / "knot.toml").write_text(f"{KNOT}[paper]\nfont = '{font}'\n", encoding="utf-8")
    return folder / "knot.toml"


def refused(job: Path) -> Say:
    """Return what `check` and a drawing both refuse a job's face for."""
    said = []
    for asked in (report, own_face_of):
        with pytest.raises(InputError) as caught:
            asked(load(job))
        (problem,) = caught.value.problems
        said.append(problem.what)
    assert said[0] == said[1]
    assert isinstance(said[0], Say)
    return said[0]


def doubling(file: Path, levels: int) -> Path:
    """Write a face of which each character holds the one before twice (OpenType, composite glyphs)."""
    names = [".notdef", "space", *(f"g{level}" for level in range(levels))]
    pen = TTGlyphPen(None)
    for i, point in enumerate(((0, 0), (0, 9), (9, 9))):
        (pen.lineTo if i else pen.moveTo)(point)
    pen.closePath()
    glyphs = {".notdef": pen.glyph(), "space": TTGlyphPen(None).glyph(), "g0": pen.glyph()}
    for level in range(1, levels):
        pen = TTGlyphPen(glyphs)
        for _ in range(2):
            pen.addComponent(f"g{level - 1}", (1, 0, 0, 1, 0, 0))
        glyphs[f"g{level}"] = pen.glyph()
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({32: "space", **{0x4E00 + level: f"g{level}" for level in range(levels)}})
    for each in glyphs.values():
        # Reckoning the boxes would itself take each apart into all its pieces.
        each.xMin, each.yMin, each.xMax, each.yMax = 0, 0, 9, 9
    builder.setupGlyf(glyphs, calcGlyphBounds=False)
    builder.setupHorizontalMetrics(dict.fromkeys(names, (900, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Heap", "styleName": "Regular", "psName": "Heap-Regular"})
    builder.setupOS2(sCapHeight=700)
    builder.setupPost()
    builder.font.recalcBBoxes = False
    builder.save(file)
    return file


@pytest.mark.parametrize(
    "font", ["/etc/face.ttf", "../face.ttf", "a/../../face.ttf", "C:face.ttf", r"\\shop\x"]
)
def test_a_face_is_looked_for_beside_the_job_and_nowhere_else(tmp_path: Path, font: str) -> None:
    with pytest.raises(InputError) as caught:
        load(job_with(tmp_path, font))
    (problem,) = caught.value.problems
    assert isinstance(problem.what, Say)
    assert (problem.what.code, problem.what["name"]) == ("job.font_elsewhere", font)


def test_a_face_is_read_from_no_other_folder_by_a_link(tmp_path: Path) -> None:
    folder = tmp_path / "frames"
    folder.mkdir()
    doubling(tmp_path / "out.ttf", 3)
    (folder / "face.ttf").symlink_to(tmp_path / "out.ttf")
    assert refused(job_with(folder, "face.ttf")).code == "files.linked_out"
    (folder / "away").symlink_to(tmp_path)
    assert refused(job_with(folder, "away/out.ttf")).code == "files.linked_out"
    # One within the folder is followed.
    doubling(folder / "heap.ttf", 3)
    (folder / "near.ttf").symlink_to(folder / "heap.ttf")
    assert own_face_of(load(job_with(folder, "near.ttf"))) is not None


def test_a_pipe_is_no_face_and_is_not_waited_for(tmp_path: Path) -> None:
    pipe(tmp_path / "face.ttf")
    assert refused(job_with(tmp_path, "face.ttf")).code == "files.special"


def test_a_face_of_the_largest_size_is_read_and_no_larger_one(tmp_path: Path) -> None:
    with (tmp_path / "face.ttf").open("wb") as stream:
        stream.truncate(32_000_001)
    assert refused(job_with(tmp_path, "face.ttf")).code == "files.too_large"


def test_check_says_what_is_wrong_with_a_face_as_draw_does(tmp_path: Path) -> None:
    assert refused(job_with(tmp_path, "nowhere.ttf")).code == "files.missing"
    (tmp_path / "text.ttf").write_text("no face")
    assert refused(job_with(tmp_path, "text.ttf")).code == "fonts.face.unreadable"


def test_a_character_heaped_up_of_millions_of_pieces_is_refused_before_it_is_drawn(tmp_path: Path) -> None:
    doubling(tmp_path / "few.ttf", 7)
    assert own_face_of(load(job_with(tmp_path, "few.ttf"))) is not None
    doubling(tmp_path / "heap.ttf", 40)
    began = time.process_time()
    assert refused(job_with(tmp_path, "heap.ttf")).code == "fonts.face.pieces"
    assert time.process_time() - began < 20.0


def test_a_packed_face_is_refused_unread(tmp_path: Path) -> None:
    """A WOFF is a face compressed (W3C WOFF 1.0), and a few bytes of it may unpack to any size."""
    from fontTools.ttLib import TTFont

    with TTFont(doubling(tmp_path / "few.ttf", 2)) as font:
        font.flavor = "woff"
        font.save(tmp_path / "packed.ttf")
    assert refused(job_with(tmp_path, "packed.ttf")).code == "fonts.face.no_outlines"


def test_a_face_whose_licence_forbids_embedding_is_refused(tmp_path: Path) -> None:
    """Bit 1 of fsType alone: "must not be modified, embedded or exchanged" (OpenType, table OS/2)."""
    from fontTools.ttLib import TTFont

    for bits, allowed in ((0x0002, False), (0x0008, True), (0x0004, True)):
        with TTFont(doubling(tmp_path / "few.ttf", 2)) as font:
            font["OS/2"].fsType = bits
            font.save(tmp_path / "licensed.ttf")
        job = job_with(tmp_path, "licensed.ttf")
        if allowed:
            assert own_face_of(load(job)) is not None
        else:
            assert refused(job).code == "fonts.face.restricted"

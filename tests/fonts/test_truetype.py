"""Font files as they are read and made here, beside fontTools, which shares no code with either."""

import io
from pathlib import Path

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.recordingPen import DecomposingRecordingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from fonts import subsets
from fonts.faces import face, own_face, truetype
from fonts.making import built
from fonts.truetype import DAMAGE, KINDS, OTHERS, TrueType
from geometry.core.errors import InputError

FACES = [face("regular").file, face("bold").file]


def drawn(font: TTFont, code: int) -> list[object]:
    """Return what fontTools draws of a character, with the pieces that it is put together of."""
    pen = DecomposingRecordingPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[code]].draw(pen)
    return list(pen.value)


def nameless(folder: Path, kind: int = 4) -> Path:
    """Write a face without names of its glyphs, and with one advance for its last three."""
    names = [".notdef", "space", "a", "b", "c"]
    glyphs = {}
    for name in names:
        pen = TTGlyphPen(None)
        for i, point in enumerate(((-5, 0), (0, 700), (300, 700), (310, -20)) if name != "space" else ()):
            (pen.lineTo if i else pen.moveTo)(point)
        if name != "space":
            pen.closePath()
        glyphs[name] = pen.glyph()
    made = FontBuilder(1000, isTTF=True)
    made.setupGlyphOrder(names)
    codes = {32: "space", 97: "a", 98: "b", 99: "c", 0x1D400: "a"}
    made.setupCharacterMap(codes if kind == 12 else {key: codes[key] for key in (32, 97, 98, 99)})
    made.setupGlyf(glyphs)
    made.setupHorizontalMetrics({name: (250, 0) if name == "space" else (500, -5) for name in names})
    made.setupHorizontalHeader(ascent=800, descent=-200)
    made.setupNameTable({"familyName": "Reed", "styleName": "Regular", "psName": "Reed-Regular"})
    made.setupOS2(sCapHeight=700)
    made.setupPost(keepGlyphNames=False)
    made.save(folder / "reed.ttf")
    return folder / "reed.ttf"


@pytest.mark.parametrize("file", FACES)
def test_a_face_is_read_as_another_program_reads_it(file: Path) -> None:
    ours, theirs = truetype(file), TTFont(file)
    order = theirs.getGlyphOrder()
    assert ours.names == tuple(order)
    assert {code: order[number] for code, number in ours.codes.items()} == theirs.getBestCmap()
    assert ours.advances == tuple(theirs["hmtx"].metrics[name][0] for name in order)
    tops = [getattr(theirs["glyf"][name], "yMax", None) for name in order]
    inked = [theirs["glyf"][name].numberOfContours != 0 for name in order]
    assert [ours.top(number) for number in range(ours.count)] == [
        top if ink else None for top, ink in zip(tops, inked, strict=True)
    ]
    assert ours.name == theirs["name"].getDebugName(6)
    assert (ours.em, ours.capital) == (theirs["head"].unitsPerEm, theirs["OS/2"].sCapHeight)
    assert (ours.ascent, ours.descent) == (theirs["hhea"].ascent, theirs["hhea"].descent)


@pytest.mark.parametrize("kind", [4, 12])
def test_a_face_without_names_and_with_few_advances_is_read_and_cut(tmp_path: Path, kind: int) -> None:
    file = nameless(tmp_path, kind)
    ours, theirs = truetype(file), TTFont(file)
    assert set(ours.names) == {""}
    assert set(ours.codes) == set(theirs.getBestCmap())
    assert ours.advances == (500, 250, 500, 500, 500)
    made = TTFont(io.BytesIO(built(file, {"b": 98, " ": 32}, by_unicode=True).data))
    assert set(made.getBestCmap()) == {32, 98}
    assert drawn(made, 98) == drawn(theirs, 98)


@pytest.mark.parametrize("file", FACES)
def test_what_is_cut_of_a_face_is_drawn_as_in_the_face(file: Path) -> None:
    """Accented letters are put together of others, which come with them under new numbers."""
    text = "Ablauf, Ånåś ½ ﬁ œ 0123"
    made = built(file, {each: ord(each) for each in text}, by_unicode=True)
    ours, theirs = TTFont(io.BytesIO(made.data), checkChecksums=2), TTFont(file)
    for each in text:
        assert drawn(ours, ord(each)) == drawn(theirs, ord(each))
        advance = theirs["hmtx"].metrics[theirs.getBestCmap()[ord(each)]][0]
        assert ours["hmtx"].metrics[ours.getBestCmap()[ord(each)]][0] == advance
    assert not any(hasattr(ours["glyf"][name], "program") and ours["glyf"][name].program.getBytecode()
                   for name in ours.getGlyphOrder())  # fmt: skip


@pytest.mark.parametrize("text", ["Height ÄÖ 49.7 mm", " ", "i"])
@pytest.mark.parametrize("file", [*FACES, None])
def test_what_a_font_says_of_itself_is_what_another_program_would_write(file: Path | None, text: str) -> None:
    """fontTools works the limits, the bounds and the packing out anew as it saves a font."""
    made = built(file, {each: ord(each) for each in text})
    font = TTFont(io.BytesIO(made.data), recalcTimestamp=False)
    font.ensureDecompiled()
    # The library takes a date so early for one that was counted from another day.
    font["head"].created = font["head"].modified = 0
    again = io.BytesIO()
    font.save(again)
    assert again.getvalue() == made.data


def test_codes_of_one_byte_lead_to_their_characters() -> None:
    made = built(face("bold").file, {"é": 130, "e": 101})
    (table,) = TTFont(io.BytesIO(made.data))["cmap"].tables
    coded = {code: name for code, name in table.cmap.items() if name != ".notdef"}
    assert (table.platformID, table.platEncID, table.format, set(coded)) == (1, 0, 0, {101, 130})
    wide = truetype(face("bold").file)
    thousandths = {code: round(1000 * wide.advances[wide.codes[ord(each)]] / wide.em)
                   for each, code in (("é", 130), ("e", 101))}  # fmt: skip
    assert made.widths == thousandths


def test_what_is_typed_into_forms_holds_the_whole_code_page() -> None:
    held = TTFont(io.BytesIO(subsets.western().data)).getBestCmap()
    signs = bytes(range(32, 256)).decode("cp1252", "ignore")
    assert set(held) == {ord(each) for each in signs if ord(each) in face("regular").advances}
    assert len(held) > 200


@given(st.data())
def test_a_damaged_face_is_refused_or_read_and_nothing_else(data: st.DataObject) -> None:
    whole = bytearray(truetype_bytes())
    # The tables whose numbers lead elsewhere lie ahead of the outlines and behind the list of tables.
    for _ in range(data.draw(st.integers(1, 6))):
        at = data.draw(st.one_of(st.integers(0, 600), st.integers(0, len(whole) - 1)))
        whole[at] = data.draw(st.integers(0, 255))
    end = data.draw(st.one_of(st.just(len(whole)), st.integers(0, len(whole))))
    try:
        read = TrueType(bytes(whole[:end]))
        assert len(read.codes) <= 0x110000
        assert len(read.advances) >= 0
        assert len(read.names) >= 0
    except DAMAGE:
        return


def truetype_bytes() -> bytes:
    """Return a small face with all that is read."""
    return subsets.western().data


@pytest.mark.parametrize(
    ("begins", "code"),
    [*((each, "fonts.face.no_outlines") for each in OTHERS), (b"%PDF", "fonts.face.unreadable")],
)
def test_what_is_no_such_face_is_refused_by_its_first_bytes(tmp_path: Path, begins: bytes, code: str) -> None:
    file = tmp_path / f"{begins.hex()}.ttf"
    file.write_bytes(begins + bytes(200))
    with pytest.raises(InputError) as caught:
        own_face(file)
    assert caught.value.problems[0].what.code == code  # type: ignore[union-attr]
    assert begins not in KINDS


def test_a_face_cut_short_is_refused_in_one_line(tmp_path: Path) -> None:
    data = face("regular").file.read_bytes()
    for size in (4, 11, 40, 300, 4000, 20_000):
        file = tmp_path / f"{size}.ttf"
        file.write_bytes(data[:size])
        with pytest.raises(InputError) as caught:
            own_face(file)
        assert caught.value.problems[0].what.code == "fonts.face.unreadable"  # type: ignore[union-attr]

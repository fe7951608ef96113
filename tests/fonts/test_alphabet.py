"""The alphabet file: what it must draw, how its notation reads, and what it says when it is malformed."""

import string
import unicodedata
from itertools import combinations

import pytest

from fonts import drafting, glyphs
from geometry.core.errors import TableError
from geometry.core.say import say

SIGNS = "Øø°±×÷µμ½¼¾–—·•…′″‘’“”≥≤→←↑↓«»¿¡§©€£²³ÆæŒœßẞĐđŁłÞþÐðı\u00a0"
LATIN_1 = "".join(chr(code) for code in range(0xA1, 0x100) if code != 0xAD)
EXTENDED_A = "".join(map(chr, range(0x100, 0x180)))
PRINTABLE = string.ascii_letters + string.digits + string.punctuation + " "
LETTERED = "".join(dict.fromkeys(PRINTABLE + SIGNS + LATIN_1 + EXTENDED_A + "ȘșȚț−⌀≠≈‰™⅛⅜⅝⅞⅓⅔‹›‚„"))

# Characters that mean different things and look the same in any type.
TWINS = {frozenset("µμ"), frozenset("ÐĐ")}

BLOCK = "# a comment\n[A]\n0,0 3,9\n"


@pytest.mark.parametrize("wanted", [PRINTABLE, SIGNS, LATIN_1, EXTENDED_A, LETTERED])
def test_every_required_character_is_drawn(wanted):
    assert drafting.missing(wanted) == ()


def test_only_the_blanks_are_blank():
    blank = {character for character in LETTERED if not drafting.letter(character, 10)}
    assert blank == {" ", "\u00a0"}


def test_no_two_characters_have_the_same_ink(picture):
    pictures = {c: picture(drafting.letter(c, 10)) for c in LETTERED if drafting.letter(c, 10)}
    alike = {
        frozenset((a, b))
        for a, b in combinations(pictures, 2)
        # A twentieth of the ink is one accent moved by its own width.
        if (pictures[a] ^ pictures[b]).sum() < 0.05 * max(pictures[a].sum(), pictures[b].sum())
    }
    assert alike == TWINS


@pytest.mark.parametrize("pair", ["Il", "I1", "l1", "il", "5S", "2Z", "8B", "6G", "O0", "69", "17"])
def test_characters_that_are_often_confused_differ_in_half_their_ink(picture, pair):
    one, other = (picture(drafting.letter(character, 10)) for character in pair)
    assert (one ^ other).sum() > 0.5 * min(one.sum(), other.sum())


@pytest.mark.parametrize("letter", [c for c in LATIN_1 + EXTENDED_A if unicodedata.decomposition(c)])
def test_composed_and_decomposed_text_give_the_same_ink(letter):
    decomposed = unicodedata.normalize("NFD", letter)
    assert drafting.letter(decomposed, 3.5) == drafting.letter(letter, 3.5)


@pytest.mark.parametrize("accented", ["Á", "Ê", "Õ", "Ü", "Å", "Č", "Ğ", "Ő", "Ż", "Ē"])
def test_an_accent_clears_its_capital(accented, ink_box):
    base = len(drafting.letter(unicodedata.normalize("NFD", accented)[0], 10))
    mark = drafting.letter(accented, 10)[base:]
    assert ink_box(mark, 10)[1] >= 10 + 0.5


@pytest.mark.parametrize(("accented", "bare"), [("í", "ı"), ("ĵ", "ȷ"), ("ï", "ı")])
def test_a_dotted_letter_loses_its_dot_under_an_accent(accented, bare):
    mark = drafting.alphabet()[unicodedata.normalize("NFD", accented)[1]]
    strokes = drafting.alphabet()[bare].strokes + mark.strokes
    assert [command[0] for command in drafting.letter(accented, 10)] == [command[0] for command in strokes]


def test_a_stroke_of_each_kind():
    drawn = glyphs.read("[A B] lead=-0.5 box=0,4\n0,0 3,9 h4,8 v3,7 ~1,2 ~2,3 3,4 z\n", "here")
    k = glyphs.KAPPA
    assert drawn["A"] == drawn["B"]
    assert drawn["A"].lead == -0.5
    assert drawn["A"].box[0::2] == (0, 4)
    assert drawn["A"].strokes == (
        ("M", 0, 0),
        ("L", 3, 9),
        ("C", 3 + k, 9, 4, 8 + k, 4, 8),
        ("C", 4, 8 - k, 3 + k, 7, 3, 7),
        ("C", 1, 2, 2, 3, 3, 4),
        ("Z",),
    )


def test_a_quarter_ellipse_keeps_to_the_ellipse():
    # Source: the kappa handle is at most 0.0273 % of the radius off a circle.
    _, (_, x1, y1, x2, y2, x3, y3) = glyphs.read("[A]\n0,1 h1,0\n", "here")["A"].strokes
    for step in range(101):
        t = step / 100
        x = 3 * t * (1 - t) ** 2 * x1 + 3 * t * t * (1 - t) * x2 + t**3 * x3
        y = (1 - t) ** 3 + 3 * t * (1 - t) ** 2 * y1 + 3 * t * t * (1 - t) * y2 + t**3 * y3
        assert x * x + y * y == pytest.approx(1, abs=0.0006)


def test_using_a_character_upside_down_and_smaller():
    drawn = glyphs.read("[[]\n1,0 3,4\n[]]\nuse [ 5,5 -1\n[U+0031]\nuse [ 1,0 0.5\n", "here")
    assert drawn["]"].strokes == (("M", 4, 5), ("L", 2, 1))
    assert drawn["1"].strokes == (("M", 1.5, 0), ("L", 2.5, 2))


def test_the_extent_of_a_curve_that_overshoots_its_ends():
    box = glyphs.extent((("M", 0, 0), ("C", 0, 4, 4, 4, 4, 0)))
    assert box == pytest.approx((0, 0, 4, 3))


@pytest.mark.parametrize(
    ("text", "line", "why"),
    [
        ("0,0 1,1\n", 1, "no_header"),
        (BLOCK + "0,0 1;1\n", 4, "no_point"),
        (BLOCK + "0,0 1,one\n", 4, "no_number"),
        (BLOCK + "0,0 1,inf\n", 4, "no_number"),
        (BLOCK + "0,0\n", 4, "short_stroke"),
        (BLOCK + "0,0 z\n", 4, "short_stroke"),
        (BLOCK + "0,0 ~1,1 2,2\n", 4, "handles"),
        (BLOCK + "0,0 ~1,1 ~1,1 h2,2\n", 4, "handles"),
        (BLOCK + "0,0 ~1,1 ~2,2\n", 4, "handle_last"),
        (BLOCK + "0,0 25,0\n", 2, "reach"),
        (BLOCK + "dot\n", 4, "dot"),
        (BLOCK + "ring 1,1\n", 4, "ring"),
        (BLOCK + "use\n", 4, "use"),
        (BLOCK + "use B 0,0\n", 4, "not_yet"),
        (BLOCK + "\n[A]\n0,0 1,1\n", 5, "twice"),
        (BLOCK + "[AB]\n0,0 1,1\n", 4, "no_character"),
        (BLOCK + "[U+XYZ]\n0,0 1,1\n", 4, "no_character"),
        (BLOCK + "[U+FFFFFFF]\n0,0 1,1\n", 4, "no_character"),
        (BLOCK + "[]\n0,0 1,1\n", 4, "no_header"),
        (BLOCK + "[B\n0,0 1,1\n", 4, "no_header"),
        (BLOCK + "[B] wide=3\n0,0 1,1\n", 4, "no_option"),
        (BLOCK + "[B] lead\n0,0 1,1\n", 4, "no_option"),
        (BLOCK + "[B] box=3\n0,0 1,1\n", 4, "no_option"),
        (BLOCK + "[B] box=3,1\n0,0 1,1\n", 4, "no_box"),
        (BLOCK + "[B]\n", 4, "blank"),
    ],
)
def test_a_malformed_file_names_the_line(text, line, why):
    with pytest.raises(TableError) as caught:
        glyphs.read(text, "fonts/alphabet.txt")
    (problem,) = caught.value.problems
    assert problem.where == say("fonts.alphabet.line", file="fonts/alphabet.txt", number=line)
    assert problem.what.code == f"fonts.alphabet.{why}"
    # What is named is what stands in the line itself.
    assert all(str(value) in text.split("\n")[line - 1] for _, value in problem.what.values if value != 20.0)


def test_an_empty_file_is_refused():
    with pytest.raises(TableError, match=r"fonts\.alphabet\.nothing"):
        glyphs.read("# nothing here\n", "fonts/alphabet.txt")

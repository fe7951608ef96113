"""Lettering: the proportions on the page, the laws of width and wrapping, and what it refuses."""

import math
import string
import unicodedata
from itertools import pairwise

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import translate

from fonts import drafting
from geometry.core.errors import FitError, InputError
from geometry.core.say import say
from sheets.words.tell import line as told_line

ALPHABET = string.ascii_letters + string.digits + string.punctuation + " Øø°±×µ½–—’“”ÅéčŁőÇșẞ\u00a0"
TEXTS = st.text(ALPHABET, min_size=1, max_size=40)
BEYOND_ASCII = [chr(code) for code in (*range(0xA1, 0xAD), *range(0xAE, 0x180), *range(0x218, 0x21C))]
HEIGHTS = st.floats(1, 20)

# Source: "Ecritures normalisees", scribd.com/document/468871584, an extract of NF EN ISO 3098-0, in mm:
# h, c1 lower case, d pen, a letter gap, e word gap, b1, b2 and b3 pitches of lines. The table rounds
# 2.45 to 2.5 and 4.9 to 5.
TABLE = [
    (2.5, 1.75, 0.25, 0.5, 1.5, 4.75, 3.75, 3.25),
    (3.5, 2.45, 0.35, 0.7, 2.1, 6.65, 5.25, 4.55),
    (5.0, 3.5, 0.5, 1.0, 3.0, 9.5, 7.5, 6.5),
    (7.0, 4.9, 0.7, 1.4, 4.2, 13.3, 10.5, 9.1),
]


def points(commands):
    """Return every coordinate of some commands, in order."""
    return [number for command in commands for number in command[1:]]


@pytest.mark.parametrize(("h", "c1", "d", "a", "e", "b1", "b2", "b3"), TABLE)
def test_measured_glyphs_agree_with_the_published_table(h, c1, d, a, e, b1, b2, b3, ink_box):
    for capital in "ABCDEFGHIKLMNOPRSTUVWXYZbdhkl0123456789":
        assert ink_box(drafting.letter(capital, h), h)[1::2] == pytest.approx((0, h)), capital
    for small in "aceomnrsuvwxz":
        assert ink_box(drafting.letter(small, h), h)[1::2] == pytest.approx((0, c1)), small
    stem = ink_box(drafting.letter("I", h), h)
    assert stem[2] - stem[0] == pytest.approx(d)
    assert drafting.width("HH", h) - 2 * drafting.width("H", h) == pytest.approx(a)
    assert drafting.width("H H", h) - 2 * drafting.width("H", h) == pytest.approx(e)
    pitches = (drafting.LINE_PITCH_ACCENTED, drafting.LINE_PITCH, drafting.LINE_PITCH_CAPITALS)
    assert [pitch * h for pitch in pitches] == pytest.approx([b1, b2, b3])


@pytest.mark.parametrize("tailed", "gjpqy")
def test_tails_reach_three_tenths_below_the_baseline(tailed, ink_box):
    # Not in the table above; the share is the usual 3/10 of the type.
    assert ink_box(drafting.letter(tailed, 10), 10)[1] == pytest.approx(-10 * drafting.DESCENDER)


def test_figures_are_all_of_one_width():
    assert len({drafting.width(digit, 5) for digit in string.digits}) == 1
    assert drafting.width("111.11", 5) == pytest.approx(drafting.width("808.96", 5))


def test_the_ink_of_two_letters_never_comes_closer_than_a_pen(strokes):
    # Source: ISO 3098 lets the gap of pairs such as LA and TV shrink by half, to the width of the pen.
    lettered = string.ascii_letters + string.digits + "ÁÏïďľťøÞ.,:/-°±×"
    lines = {
        character: shapely.MultiLineString(strokes(drafting.letter(character, 10))) for character in lettered
    }
    for left in lettered:
        for right in lettered:
            start = drafting.width(left + right, 10) - drafting.width(right, 10)
            moved = translate(lines[right], start)
            assert lines[left].distance(moved) - 1 >= 10 * drafting.STROKE - 1e-6, left + right


@given(TEXTS, HEIGHTS)
def test_lettering_stays_in_its_line(ink_box, text, height):
    commands = drafting.letter(text, height)
    assert all(math.isfinite(number) for number in points(commands))
    if commands:
        left, bottom, right, top = ink_box(commands, height)
        slack = 1e-9 * height
        assert left >= -slack
        assert right <= drafting.width(text, height) + slack
        assert bottom >= -0.3 * height - slack
        assert top <= 1.45 * height + slack


@pytest.mark.parametrize("letter", BEYOND_ASCII)
def test_accented_letters_stay_in_their_line(letter, ink_box):
    left, bottom, right, top = ink_box(drafting.letter(letter, 10), 10)
    assert left >= -1e-9
    assert right <= drafting.width(letter, 10) + 1e-9
    assert bottom >= -3 - 1e-9
    assert top <= 14.5


@given(TEXTS, TEXTS, HEIGHTS)
def test_width_adds_up(one, other, height):
    pair = one[-1] + other[0]
    gap = drafting.width(pair, height) - drafting.width(pair[0], height) - drafting.width(pair[1], height)
    total = drafting.width(one, height) + gap + drafting.width(other, height)
    assert drafting.width(one + other, height) == pytest.approx(total)


@given(TEXTS, HEIGHTS, st.floats(0.1, 10))
def test_lettering_scales_with_its_height(text, height, factor):
    small, large = drafting.letter(text, height), drafting.letter(text, height * factor)
    assert [command[0] for command in small] == [command[0] for command in large]
    assert points(large) == pytest.approx([number * factor for number in points(small)])
    assert drafting.width(text, height * factor) == pytest.approx(drafting.width(text, height) * factor)


@given(TEXTS)
def test_the_form_of_the_text_does_not_matter(text):
    composed, decomposed = (unicodedata.normalize(form, text) for form in ("NFC", "NFD"))
    assert drafting.letter(decomposed, 5) == drafting.letter(composed, 5)
    assert drafting.width(decomposed, 5) == drafting.width(composed, 5)


def test_nothing_is_nothing():
    assert drafting.letter("", 5) == ()
    assert drafting.width("", 5) == 0
    assert drafting.wrap("", 5, 100) == ()
    assert drafting.missing("") == ()


def test_missing_characters_once_and_in_order():
    assert drafting.missing("鶴 A 亀鶴 é\n") == ("鶴", "亀", "\n")
    assert drafting.missing("e\u0304\u0301") == ("ḗ",)
    assert drafting.missing("g\u0328") == ("\u0328",)
    assert drafting.missing("\u0301") == ("\u0301",)
    assert drafting.missing("鶴\u0301") == ("鶴",)
    assert drafting.missing("+\u20d7") == ("\u20d7",)


@pytest.mark.parametrize("call", [drafting.letter, drafting.width])
def test_a_missing_character_is_named(call):
    with pytest.raises(InputError) as caught:
        call("Frame 鶴\u0007", 5)
    crane, bell = caught.value.problems
    assert (crane.what["shown"], crane.what["name"]) == ("鶴 ", "CJK UNIFIED IDEOGRAPH-9DB4")
    assert bell.what["name"] == say("fonts.lettering.nameless")
    assert "鶴 (U+9DB4 CJK UNIFIED IDEOGRAPH-9DB4)" in told_line(crane)
    assert "(U+0007 " in told_line(bell)
    assert "\u0007" not in told_line(bell)


@pytest.mark.parametrize("height", [0, -1, math.inf, math.nan])
def test_a_height_must_be_a_height(height):
    with pytest.raises(InputError, match=r"fonts\.lettering\.no_height"):
        drafting.letter("A", height)


@given(TEXTS, st.floats(20, 200))
def test_wrapped_lines_fit_and_keep_every_word(text, width):
    lines = drafting.wrap(text, 5, width)
    assert all(drafting.width(line, 5) <= width for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert not any(line.startswith(" ") or line.endswith(" ") or "  " in line or not line for line in lines)


@given(st.lists(st.text(string.ascii_letters, min_size=1, max_size=8), min_size=1, max_size=12))
def test_wrapping_is_greedy_and_breaks_only_at_spaces_where_it_can(words):
    width = 90.0
    lines = drafting.wrap(" ".join(words), 5, width)
    assert " ".join(lines).split(" ") == words
    for line, after in pairwise(lines):
        assert drafting.width(f"{line} {after.split(' ')[0]}", 5) > width


def test_a_long_word_breaks_after_its_signs_and_else_anywhere():
    width = drafting.width("jobs/forks/", 5)
    assert drafting.wrap("see jobs/forks/touring.toml", 5, width) == (
        "see",
        "jobs/forks/",
        "touring.",
        "toml",
    )
    assert drafting.wrap("OOOOO", 5, drafting.width("OO", 5)) == ("OO", "OO", "O")


def test_a_no_break_space_does_not_break():
    assert drafting.wrap("51\u00a0mm apart", 5, drafting.width("51 mm", 5)) == ("51\u00a0mm", "apart")


def test_a_line_too_narrow_for_a_letter_is_refused():
    with pytest.raises(FitError, match=r"fonts\.lettering\.too_wide\(character='W', height=5, width=2\)"):
        drafting.wrap("W", 5, 2)
    with pytest.raises(InputError, match=r"fonts\.lettering\.no_line"):
        drafting.wrap("W", 5, 0)

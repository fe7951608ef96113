"""Entries of the builder's files: put in, exchanged and taken out, and all else stays byte for byte."""

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.core.errors import InputError
from sheets.files.bounded import LARGEST
from sheets.home.toml_file import edited, text_of, write
from sheets.words.tell import told
from tests.job.conftest import refused

HERE = Path("own.toml")
BLOCK = '[printer.new]\npaper = "A4"\nacross = 174.5\n'
ROW = '[[row]]\nname = "new"\nh = 1.5\n'

# What a hand writes between two entries, and inside one: blank lines, comments, indents, headings in texts.
_END = st.sampled_from(["\n", "\r\n"])
_ASIDE = st.lists(
    st.sampled_from(["", "", "  ", "# about this", "  # [printer.no]", "#[[row]]", "\t# Ø"]), max_size=3
)
_VALUES = st.lists(
    st.sampled_from(
        [
            "paper = 'A4'",
            "across=174.5# on Monday",
            "  down  =  265 ",
            'note = """\n[printer.new]\n# no comment\n"""',
            "bars = [\n  1, # one\n\n  [2],\n]",
            "uncertainty = { h = 0.05, 'x' = 1 }",
            "date = 2026-01-31\t# a day",
            "far.off = 3",
            '"odd key" = "[[row]]"',
        ]
    ),
    min_size=1,
    max_size=5,
    unique=True,
)
_NAMES = st.lists(
    st.sampled_from(["attic", '"Shop laser"', "'b.c'", "3-d", '"\\u00e9"']),
    min_size=1,
    max_size=4,
    unique=True,
)


@st.composite
def _entry(draw: st.DrawFn, heading: str) -> tuple[str, str]:
    """Return what stands above an entry, and the entry."""
    end = draw(_END)
    above = [*draw(_ASIDE)]
    indent, aside = draw(st.sampled_from(["", "  "])), draw(st.sampled_from(["", "  # old", " "]))
    lines: list[str] = []
    for value in draw(_VALUES):
        lines += [*draw(_ASIDE), value]
    return "".join(line + end for line in above), "".join(
        line.replace("\n", end) + end for line in (f"{indent}{heading}{aside}", *lines)
    )


@st.composite
def _printers(draw: st.DrawFn) -> tuple[list[tuple[str, str]], str]:
    """Return the entries of a file with what stands above each, and what stands below the last."""
    form = draw(st.sampled_from(["[printer.{}]", "[ printer . {} ]", "[printer .{}]"]))
    entries = [draw(_entry(form.format(name))) for name in draw(_NAMES)]
    return entries, "".join(line + "\n" for line in draw(_ASIDE))


@st.composite
def _rows(draw: st.DrawFn) -> tuple[list[tuple[str, str]], str]:
    heading = draw(st.sampled_from(["[[row]]", "[[ row ]]"]))
    entries = [draw(_entry(heading)) for _ in range(draw(st.integers(1, 4)))]
    if draw(st.booleans()):
        above, entry = entries[0]
        entries[0] = above, f"{entry}[row.more]  # of it\nlength = 3\n"
    return entries, "".join(line + "\n" for line in draw(_ASIDE))


def _text(file: tuple[list[tuple[str, str]], str]) -> str:
    return "".join(above + entry for above, entry in file[0]) + file[1]


@settings(max_examples=100, deadline=None)
@given(_printers())
def test_what_is_put_in_and_taken_out_again_leaves_the_bytes(file: tuple[list[tuple[str, str]], str]) -> None:
    text = _text(file)
    more = edited(HERE, text, "printer", None, BLOCK)
    assert more == f"{text}\n{BLOCK}"
    assert edited(HERE, more, "printer", "new", "") == text
    # An editor that ends no last line gets it ended, and nothing else.
    bare = text.rstrip("\r\n")
    more = edited(HERE, bare, "printer", None, BLOCK)
    assert more == f"{bare}\n\n{BLOCK}"
    assert edited(HERE, more, "printer", "new", "") == f"{bare}\n"


@settings(max_examples=100, deadline=None)
@given(_printers(), st.data())
def test_an_exchanged_or_removed_printer_leaves_the_others_and_every_comment_outside_it(
    file: tuple[list[tuple[str, str]], str], data: st.DataObject
) -> None:
    entries, below = file
    number = data.draw(st.integers(0, len(entries) - 1))
    text = _text(file)
    name = list(tomllib.loads(text)["printer"])[number]
    before = _text((entries[:number], entries[number][0]))
    after = _text((entries[number + 1 :], below))
    assert edited(HERE, text, "printer", name, BLOCK) == before + BLOCK + after
    left = edited(HERE, text, "printer", name, "")
    gone = before + after
    assert left.endswith(after)
    # A blank line above it may go with it.
    assert gone.startswith(left[: len(left) - len(after)])
    assert before[len(left) - len(after) :].strip("\r\n") == ""
    assert tomllib.loads(left).get("printer", {}) == tomllib.loads(gone).get("printer", {})


@settings(max_examples=100, deadline=None)
@given(_rows(), st.data())
def test_an_exchanged_row_leaves_the_others_and_every_comment_outside_it(
    file: tuple[list[tuple[str, str]], str], data: st.DataObject
) -> None:
    entries, below = file
    number = data.draw(st.integers(0, len(entries) - 1))
    text = _text(file)
    before = _text((entries[:number], entries[number][0]))
    after = _text((entries[number + 1 :], below))
    assert edited(HERE, text, "row", number, ROW) == before + ROW + after
    assert edited(HERE, text, "row", None, ROW) == f"{text}\n{ROW}"


@pytest.mark.parametrize(
    ("text", "key", "old", "new"),
    [
        ("printer = { a = { x = 1 }, b = { x = 2 } }\n", "printer", "a", BLOCK),
        ("printer = { a = { x = 1 } }\n", "printer", None, BLOCK),
        ("[printer]\na.x = 1\nb = { x = 2 }\n", "printer", "a", BLOCK),
        ("[printer]\nb = { x = 2 }\n", "printer", "b", ""),
        ("printer.a.x = 1\nprinter.b.x = 2\n", "printer", "a", ""),
        ("[printer.a]\nx = 1\n[printer.b]\nx = 2\n[printer.a.more]\nx = 3\n", "printer", "a", ""),
        ("row = [{ x = 1 }]\n", "row", 0, ROW),
        ("row = [{ x = 1 }]\n", "row", None, ROW),
    ],
)
def test_a_form_in_which_more_would_change_is_left_to_its_writer(
    text: str, key: str, old: str | int | None, new: str
) -> None:
    with pytest.raises(InputError) as caught:
        edited(HERE, text, key, old, new)
    [problem] = caught.value.problems
    assert problem.where == "own.toml"
    assert told(problem.what) == (
        f"it is written in a form that is not edited here; change {key} {old} in it by hand"
        if isinstance(old, str)
        else "it is written in a form that is not edited here; change it by hand"
    )


def test_a_file_begins_with_its_head_and_keeps_it() -> None:
    text = edited(HERE, "", "printer", None, BLOCK, "# mine\n")
    assert text == f"# mine\n\n{BLOCK}"
    assert edited(HERE, text, "printer", "new", "") == "# mine\n"


def test_the_head_of_all_printers_stays() -> None:
    text = "[printer]\n# all\n[printer.a]\nx = 1\n"
    assert edited(HERE, text, "printer", "a", "") == "[printer]\n# all\n"


def test_what_could_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    file = tmp_path / "own.toml"
    write(file, "#" * LARGEST)
    assert text_of(file, "") == "#" * LARGEST
    with refused("with this it would be larger than 256 kB; take out"):
        write(file, "#" * (LARGEST + 1))
    # In bytes, not in characters.
    with refused("would be larger"):
        write(file, "#" + "Ø" * (LARGEST // 2))
    assert file.read_text(encoding="utf-8") == "#" * LARGEST


def test_reading_loads_no_editor() -> None:
    """What only reads starts faster without it."""
    code = (
        "import sys, pathlib, sheets.home.printers_file, sheets.home.own_rows_file;"
        "import sheets.home.printers as p;"
        "p.printers_in(pathlib.Path('x'), ''); sys.exit('tomlkit' in sys.modules)"
    )
    assert (
        subprocess.run([sys.executable, "-c", code], cwd=Path(__file__).parents[2], check=False).returncode
        == 0
    )

"""No sentence for people stands outside the tables of sentences, the questions and the help.

Read from the source with ast. Texts for programmers may stay: docstrings, and what is raised as a fault of
the program's own. So may what describes a key of the job file or an option of a command, which is help.
"""

import ast
import re
from pathlib import Path

import pytest

from sheets.files.write import archival

ROOT = Path(__file__).parents[2]
ROOMS = sorted(
    {
        file.parent.relative_to(ROOT).as_posix()
        for room in ("geometry", "fonts", "sheets")
        for file in (ROOT / room).rglob("*.py")
    }
    # What is asked is written as it is asked.
    - {"sheets/guide"}
)
FAULTS = {"ValueError", "TypeError", "KeyError", "AssertionError", "RuntimeError", "NotImplementedError"}
FEATURES = {"Arc", "Circle", "Curve", "Segment", "Slot"}
"""What is drawn under a name, by which files and documents know it, and which is lettered nowhere."""
HELP = {"description", "help", "short_help", "epilog", "metavar"}
TWO_WORDS = re.compile(r"[A-Za-z]{2,}['’]?,?:? \(?[A-Za-z]{2,}")

# What looks like words and is none: operators of PDF, a path's commands, styles, lines of TOML and the like.
NO_WORDS: dict[str, set[str]] = {
    # What the parser of the standard library says.
    "sheets/job/toml.py": {
        r"(?P<what>.*) \(at (?:line (?P<line>\d+), column (?P<column>\d+)|end of document)\)",
    },
    # A packet is known by these bytes, which are the same in every language.
    "sheets/job/read.py": {"\n# From the builder's own table.\n{}"},
    # What PDF's own formats ask for: XMP, the profile's name, an operator's line, maps of characters.
    "sheets/files/write/archival.py": {archival._XMP, archival._MORE, "sRGB IEC61966-2.1"},
    "sheets/files/write/fields.py": {"/Tx BMC\nq {} 0 {} {} re W n BT"},
    "sheets/files/write/typefaces.py": {
        "/CIDInit /ProcSet findresource begin 12 dict begin begincmap",
        "/CIDSystemInfo << /Registry (Adobe) /Ordering (UCS) /Supplement 0 >> def",
        "/CMapName /Adobe-Identity-UCS def /CMapType 2 def",
        "endcmap CMapName currentdict /CMap defineresource pop end end",
    },
    # Macros of man(7), whose heads are the same in every language.
    "sheets/manual.py": {
        '.TH DROPLEAF 1 "" dropleaf',
        *(
            f".SH {head}"
            for head in ("NAME", "SYNOPSIS", "DESCRIPTION", "COMMANDS", "EXIT STATUS", "SEE ALSO")
        ),
    },
    # Verdicts, parts and the like as documents have them, which programs read.
    "geometry/survey/learn.py": {"within tolerance"},
    "geometry/survey/verdict.py": {"usable with remedy", "not usable", "cannot tell"},
    "geometry/survey/remedy_holes.py": {"worse hole", "each hole"},
    "sheets/setup/brake_screen.py": {
        "held by shape",
        "retention needed",
        "not with this slot",
        "top of foot",
    },
    # What clearances are called in documents.
    "geometry/clearance/judged.py": {
        "key at the {hole} screw",
        "the {tube}'s far side",
        "the disc's spoke side",
    },
    # How files of before are known.
    "sheets/files/kinds.py": {"full-size brake-mount template and setup card", "dropleaf page: "},
    # How the library of the command line begins what it says.
    "sheets/cli.py": {"Missing command", "No such command"},
    # A square root sign in plain characters.
    "sheets/console.py": {"root of "},
    "sheets/files/seal.py": {"dropleaf sha256 ", '<?xml version="1.0" encoding="utf-8"?>\n{}'},
    "sheets/files/write/dxf.py": {"python -m pip install ezdxf"},
    "sheets/setup/fixture.py": {
        "bar, side",
        "bar, top",
        "side plate",
        "along the tube",
        "up from the axle",
        "in the plane",
    },
    "sheets/setup/screws.py": {"thread and holes", "head and washer"},
    # Rows of tables, as filed packets know them, and what a record calls a program without a version.
    "sheets/setup/tables_used.py": {
        "Ti-3Al-2.5V, cold worked and stress relieved",
        "air-hardening steel",
        "austenitic stainless, annealed",
        "caliper.toml, pads",
        "commercially pure titanium, grade 2",
        "fasteners.toml, flat_rear",
        "interfaces.toml, disc",
        "materials.toml, material chromoly steel",
        "materials.toml, material 4130 normalised",
        "materials.toml, material {}",
        "mild steel",
        "stainless tube",
    },
    # Kinds of things on the bench as documents have them, and what the record calls a row.
    "sheets/actions/shop.py": {"dummy axle", "fixture plate", "hole saw"},
    "sheets/actions/shop_needs.py": {"fixture plate", "hole saw"},
    "sheets/filing/verify.py": {"interfaces.toml, row {}"},
    # Names of features.
    "sheets/filing/one_to_one.py": {"bar across", "bar down"},
    "sheets/filing/replay.py": {
        "(chainstay|seatstay|fork-leg) (centre line|edge, .*)|rotor edge|brake track, .*",
        "axle reaction",
        "caliper room",
        "caliper seat",
        "slot way out",
    },
    "sheets/filing/seen_features.py": {
        ", left edge",
        "inner face",
        "left edge",
        "lower end,",
        "lower edge",
        "outer face",
        "upper edge",
    },
    "sheets/pages/fixture/bar.py": {"bar outline, top {}"},
    "sheets/pages/fixture/plate.py": {
        "axle bore",
        "bar underside",
        "far side",
        "mount side",
        "plate outline",
        "tube direction",
    },
    "sheets/pages/wraps/boss.py": {"{} wrap, nearest to the disc"},
    "sheets/pages/wraps/brace.py": {"brace, cope at the {}{}", "brace wrap", "{} wrap, brace"},
    "sheets/pages/wraps/strip.py": {"{}, left edge"},
    "sheets/pages/wraps/tube.py": {", {} of {} up the tube", "{}, {} end of the zone"},
    # Editions in the table that are not printed.
    "geometry/tables/cautions.py": {"as in force", "none stated"},
    # Names of features and layers, by which files and read-back know a line.
    "sheets/pages/frame.py": {"card across"},
    "sheets/pages/tiles.py": {"dummy axle", "hole far", "hole near"},
    "sheets/pages/full_size/dropout.py": {"dropout edge", "dropout cut-out {}"},
    "sheets/pages/full_size/face.py": {
        "axle line",
        "disc, inner face",
        "disc, outer face",
        "dropout inner face",
        "holes' middle line",
        "pocket floor",
        "posts' middle line",
        "{} centre line",
        "{} edge, inboard",
        "{} edge, outboard",
    },
    "sheets/pages/full_size/in_place.py": {"rotor edge"},
    "sheets/pages/full_size/loads.py": {"force at tyre", "force on axle", "force on caliper"},
    "sheets/pages/full_size/template.py": {
        " centre line",
        "brake track, inner edge",
        "far side",
        "mount side",
        "rotor edge",
        "{} centre line",
    },
    "sheets/pages/running/proof.py": {"bar across", "bar down"},
}
# Values of job keys and of tables, and a layer of many pages.
KEYS = {"thru axle", "quick release", "title block"}


def _text(node: ast.AST) -> str:
    """Return a text with its places open, "" for what is none."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values)
    return ""


def _passed_over(node: ast.AST) -> list[ast.AST]:
    """Return the parts of a node in which texts may stand."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return [node.value]
    if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
        name = getattr(node.exc.func, "id", "")
        return [node.exc] if name in FAULTS else []
    if isinstance(node, ast.Assert):
        return [node.msg] if node.msg else []
    if isinstance(node, ast.Call):
        names = node.args[:1] if getattr(node.func, "id", "") in FEATURES else []
        return [*names, *(each for each in node.keywords if each.arg in HELP)]
    if isinstance(node, ast.MatchClass) and getattr(node.cls, "id", "") in FEATURES:
        return [*node.patterns, *node.kwd_patterns]
    if isinstance(node, ast.JoinedStr):
        return [each for each in node.values if isinstance(each, ast.Constant)]
    if isinstance(node, ast.AnnAssign):
        return [node.annotation]
    if isinstance(node, ast.FunctionDef):
        return [node.returns] if node.returns else []
    return []


def sentences_in(file: Path) -> list[str]:
    """Return the sentences that stand in a file, each with its line."""
    found = []
    allowed = KEYS | NO_WORDS.get(file.relative_to(ROOT).as_posix(), set())
    waiting: list[ast.AST] = [ast.parse(file.read_text(encoding="utf-8"))]
    while waiting:
        node = waiting.pop()
        text = _text(node)
        if TWO_WORDS.search(text) and text not in allowed:
            found.append(f"{file.relative_to(ROOT)}:{node.lineno}: {text[:90]!r}")  # type: ignore[attr-defined]
        over = _passed_over(node)
        waiting += [child for child in ast.iter_child_nodes(node) if child not in over]
    return sorted(found)


@pytest.mark.parametrize("room", ROOMS)
def test_a_room_has_no_sentences(room: str) -> None:
    found = [each for file in sorted((ROOT / room).glob("*.py")) for each in sentences_in(file)]
    assert not found, "\n".join(found)


# --- pages in a browser

DESK = ROOT / "sheets" / "desk"
WORD = re.compile(r"[A-Za-z]{2,}")
SHOWN = re.compile(r"""\b(?:alt|title|placeholder|aria-label|aria-description|content|value)=["']([^"'{]*)""")
"""What an attribute shows people, up to where something is filled in."""
TOLD_TO_BROWSERS = {"width=device-width, initial-scale=1", "true", "false"}
SCRIPT_TEXT = re.compile(
    r"""//[^\n]*|/\*.*?\*/|"((?:[^"\\\n]|\\.)*)"|'((?:[^'\\\n]|\\.)*)'|`((?:[^`\\]|\\.)*)`""", re.S
)
SELECTOR = re.compile(r"[\[#.>:=]")


@pytest.mark.parametrize("file", sorted(DESK.rglob("*.html")), ids=lambda file: file.name)
def test_a_template_has_no_words_of_its_own_and_no_inline_code(file: Path) -> None:
    text = re.sub(r"\{#.*?#\}", "", file.read_text(encoding="utf-8"), flags=re.S)
    plain = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "{", text, flags=re.S)
    assert [each for each in re.split(r"<[^>]*>", plain) if WORD.search(each)] == []
    shown = {each for each in SHOWN.findall(plain) if WORD.search(each)}
    assert {each for each in shown - TOLD_TO_BROWSERS if " " in each or each.istitle()} == set()
    # What the policy forbids would show in a browser alone.
    assert not re.search(r"<style|<script(?![^>]*\bsrc=)|\sstyle=|\son[a-z]+=|javascript:", plain)
    assert not re.search(r"(?:src|href|action)=[\"'](?:https?:)?//", plain)
    assert "|safe" not in text.replace(" ", "")


@pytest.mark.parametrize("file", sorted(DESK.rglob("*.js")), ids=lambda file: file.name)
def test_a_script_has_no_words_of_its_own_and_makes_no_markup_of_texts(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    texts = ["".join(found) for found in SCRIPT_TEXT.findall(text)]
    assert [each for each in texts if TWO_WORDS.search(each) and not SELECTOR.search(each)] == []
    assert not re.search(r"document\.write|\beval\(|new Function|https?://(?!www\.w3\.org)", text)

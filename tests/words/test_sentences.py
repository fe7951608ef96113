"""Sentences and what says them: every code has its sentence, every sentence is said, and their places agree.

What is said is read from the source with ast, as the house rules are, so that nothing need happen first.
"""

import ast
import functools
import re
import string
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from jinja2 import Environment, nodes

from sheets.words.tell import ENGLISH, sentences

ROOT = Path(__file__).parents[2]
FILES = sorted(file for room in ("geometry", "fonts", "sheets") for file in (ROOT / room).rglob("*.py"))
TEMPLATES = sorted((ROOT / "sheets").rglob("*.html"))
SAYS = {"say", "tell"}
AREAS = sorted(file.stem for file in ENGLISH.glob("*.toml"))


class Use(NamedTuple):
    """Where something is said: its code, "*" for what is filled in, and its values' names, None for any."""

    where: str
    code: str
    names: frozenset[str] | None


def _code(node: ast.expr) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "*" for part in node.values)
    return None


@functools.cache
def uses() -> tuple[Use, ...]:
    """Return everything that is said in the source under a code that can be read there."""
    return tuple(
        use for files, of in ((FILES, _uses), (TEMPLATES, _told_in)) for file in files for use in of(file)
    )


def _told_in(file: Path) -> Iterator[Use]:
    """Yield what a template tells."""
    for call in Environment().parse(file.read_text(encoding="utf-8")).find_all(nodes.Call):
        if isinstance(call.node, nodes.Name) and call.node.name == "tell":
            code = call.args[0]
            parts = code.nodes if isinstance(code, nodes.Concat) else [code]
            text = "".join(str(each.value) if isinstance(each, nodes.Const) else "*" for each in parts)
            names = frozenset(each.key for each in call.kwargs)
            yield Use(f"{file.relative_to(ROOT)}:{call.lineno}", text, None if call.dyn_kwargs else names)


def _uses(file: Path) -> Iterator[Use]:
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        code = _code(node.args[0]) if node.args and node.func.id in (*SAYS, "named") else None
        if node.func.id == "named" and code is not None:
            code = f"name.{code.replace('-', '_')}"
        # Another function of that name takes a sentence.
        if code is None or not re.fullmatch(r"[\w*]+(\.[\w*]+)+", code):
            continue
        names = [keyword.arg for keyword in node.keywords]
        given = None if None in names else frozenset(name for name in names if name)
        yield Use(f"{file.relative_to(ROOT)}:{node.lineno}", code, given)


@functools.cache
def written() -> dict[str, str]:
    """Return all English sentences by code."""
    return {f"{area}.{key}": text for area in AREAS for key, text in sentences(ENGLISH, area).items()}


def places(text: str) -> set[str]:
    """Return the names of the places in a sentence."""
    return {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}


def _meant(code: str) -> list[str]:
    if "*" not in code:
        return [code] if code in written() else []
    form = re.compile(".+".join(re.escape(part) for part in code.split("*")))
    return [each for each in written() if form.fullmatch(each)]


def test_every_code_that_is_said_has_a_sentence() -> None:
    missing = [f"{use.where}: {use.code}" for use in uses() if not _meant(use.code)]
    assert not missing, "\n".join(missing)


def test_every_place_of_a_sentence_is_given_its_value() -> None:
    wrong = [
        f"{use.where}: {code} wants {sorted(places(written()[code]))}, is given {sorted(use.names)}"
        for use in uses()
        if use.names is not None
        for code in _meant(use.code)
        if not places(written()[code]) <= use.names
    ]
    assert not wrong, "\n".join(wrong)


def test_every_sentence_is_said_somewhere() -> None:
    """A code that is chosen before it is said stands in the source as a whole text."""
    text = "\n".join(file.read_text(encoding="utf-8") for file in FILES)
    said = {code for use in uses() for code in _meant(use.code)}
    idle = [code for code in written() if code not in said and f'"{code}"' not in text]
    # What is named by its key is named by a value.
    idle = [code for code in idle if not code.startswith(("name.", "key."))]
    assert not idle, "\n".join(idle)


@pytest.mark.parametrize("area", AREAS)
def test_every_place_has_a_name(area: str) -> None:
    for key, text in sentences(ENGLISH, area).items():
        assert text, key
        assert all(re.fullmatch(r"[a-z_]\w*", name) for name in places(text)), f"{area}.{key}: {text}"


def too_much(language: Path) -> list[str]:
    """Return what a language has that is never said, or that has places which are never filled."""
    found = []
    for file in sorted(language.glob("*.toml")):
        english = sentences(ENGLISH, file.stem) if file.stem in AREAS else {}
        for key, text in sentences(language, file.stem).items():
            if key not in english:
                found.append(f"{language.name} has {file.stem}.{key}, which is never said")
            elif strange := sorted(places(text) - places(english[key])):
                found.append(f"{language.name} has {strange} in {file.stem}.{key}, which are never filled")
    return found


def test_another_language_says_only_what_english_says(tmp_path: Path) -> None:
    """What it lacks is told in English: a misspelt code would never be seen, and a strange place fails."""
    for language in {file.parent for file in ENGLISH.parent.glob("*/*.toml")}:
        assert too_much(language) == []
    (tmp_path / "tell.toml").write_text('also = "{first}; {last}"\nand_moer = "{first}"\n', encoding="utf-8")
    assert [line.split(" has ")[1] for line in too_much(tmp_path)] == [
        "['last'] in tell.also, which are never filled",
        "tell.and_moer, which is never said",
    ]

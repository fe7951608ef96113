"""Mutants that are named by the function they are in, so that the tests that call it are found."""

import shutil
from pathlib import Path

import pytest

from tests.soak.mutate import asked, mutants, place, seen

SOURCE = """\
LIMIT = 2.0


@cached
def twice(length, share=0.5):
    def inner():
        return length + 1.0

    return inner() * LIMIT
"""


def test_a_mutant_is_of_the_innermost_function_and_a_default_of_none(tmp_path: Path) -> None:
    file = tmp_path / "twice.py"
    file.write_text(SOURCE, encoding="utf-8")
    found = {(each.was, each.now): each.function for each in mutants(file)}
    assert found == {
        ("LIMIT = 2.0", "LIMIT = (3.0)"): 0,
        ("def twice(length, share=0.5):", "def twice(length, share=(1.5)):"): 0,
        ("return length + 1.0", "return (length - 1.0)"): 6,
        ("return length + 1.0", "return length + (2.0)"): 6,
        ("return inner() * LIMIT", "return (inner() / LIMIT)"): 4,
    }


def test_only_tests_that_call_its_function_are_asked_the_quick_ones_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = tmp_path / "twice.py"
    file.write_text(SOURCE, encoding="utf-8")
    seen = {
        "slow": (2.0, {f"{file}:6"}),
        "quick": (0.5, {f"{file}:6", f"{file}:4"}),
        "other": (0.1, set[str]()),
    }
    monkeypatch.setattr("tests.soak.mutate.seen", lambda *_: seen)
    (inner, *_) = (each for each in mutants(file) if each.function == 6)
    (outside, *_) = (each for each in mutants(file) if not each.function)
    assert asked(inner, [file], tmp_path) == (["quick", "slow"], 2.5)
    assert asked(outside, [file], tmp_path) == (["other", "quick", "slow"], 2.6)


KEEPING = """\
import functools
from geometry.half import half

@functools.cache
def kept():
    return half(4.0)

def test_one():
    assert kept() == 2.0

def test_other():
    assert kept() > 1.0
"""


def test_each_test_is_seen_to_call_what_the_first_of_them_has_kept(tmp_path: Path) -> None:
    for folder in ("geometry", "tests/soak"):
        (tmp_path / folder).mkdir(parents=True)
    (tmp_path / "geometry" / "__init__.py").touch()
    shutil.copy(Path(__file__).with_name("seen.py"), tmp_path / "tests" / "soak")
    options = '[tool.pytest.ini_options]\naddopts = "--import-mode=importlib"\n'
    (tmp_path / "pyproject.toml").write_text(options, encoding="utf-8")
    code, test = tmp_path / "geometry" / "half.py", tmp_path / "tests" / "test_half.py"
    code.write_text("LIMIT = 2.0\n\ndef half(length):\n    return length / 2.0\n", encoding="utf-8")
    test.write_text(KEEPING, encoding="utf-8")
    found = {name.rpartition("::")[2]: called for name, (_, called) in seen(test, tmp_path).items()}
    assert {name: place(code, 3) in called for name, called in found.items()} == {
        "test_one": True,
        "test_other": True,
    }

"""Mutants that are named by the function they are in, so that the tests that call it are found."""

from pathlib import Path

import pytest

from tests.soak.mutate import asked, mutants

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

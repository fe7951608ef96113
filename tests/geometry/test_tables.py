"""The tables' promise: no number without a listed source and a grade."""

import itertools
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import Problem, TableError
from geometry.core.say import say
from geometry.core.tables import Grade, Number, hint, load, number, unknown, weakest

SOURCES = {"book": "A book, page 5"}


def test_a_number_carries_what_its_entry_says() -> None:
    entry = {"value": 4, "grade": "C", "source": "book", "tolerance": 0.1, "low": 3.5, "high": 4.5}
    assert number(entry, SOURCES, "row") == Number(4.0, "C", "A book, page 5", 0.1, 3.5, 4.5)
    bare = number({"value": 4, "grade": "A", "source": "book"}, SOURCES, "row")
    assert (bare.tolerance, bare.low, bare.high) == (None, None, None)


@pytest.mark.parametrize(
    "entry",
    [
        {"value": 4.0, "grade": "C"},
        {"value": 4.0, "source": "book"},
        {"value": 4.0, "grade": "C", "source": "another book"},
        {"value": 4.0, "grade": "E", "source": "book"},
        {"value": 4.0, "grade": "own", "source": "book"},
    ],
    ids=["no source", "no grade", "unlisted source", "unknown grade", "the job's grade"],
)
def test_a_number_without_source_or_grade_is_refused(entry: dict[str, Any]) -> None:
    with pytest.raises(TableError) as caught:
        number(entry, SOURCES, "is-rear near")
    assert caught.value.problems == (Problem("is-rear near", say("tables.no_source")),)


def test_the_weakest_grade_is_the_latest_letter_and_the_jobs_own_never_weakens() -> None:
    order: tuple[Grade, ...] = ("own", "A", "B", "C", "D")
    for i, j in itertools.product(range(5), repeat=2):
        assert weakest([order[i], order[j]]) == order[max(i, j)]
    assert weakest(order) == "D"


def test_a_hint_offers_what_was_probably_meant_and_nothing_else() -> None:
    assert hint("is-raer", ["is-front", "is-rear", "post"]) == say("tell.did_you_mean", name="is-rear")
    assert hint("zzz", ["is-front", "is-rear", "post"]) == ""
    assert unknown("pots", ["post"]) == say(
        "tables.unknown", name="'pots'", hint=say("tell.did_you_mean", name="post"), known="post"
    )


def test_a_table_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    broken = tmp_path / "mounts.toml"
    broken.write_text("[row\n", encoding="utf-8")
    with pytest.raises(TableError, match=r"^mounts\.toml: tables\.unreadable\("):
        load(broken)
    with pytest.raises(TableError, match=r"^none\.toml: tables\.unreadable\(reason=.\[Errno 2\]"):
        load(tmp_path / "none.toml")
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'a = "\xd8"\n')
    with pytest.raises(TableError, match=r"^latin\.toml: tables\.unreadable"):
        load(latin)


def test_a_table_is_read_as_utf_8(tmp_path: Path) -> None:
    file = tmp_path / "mounts.toml"
    file.write_bytes('title = "Étrier Ø 6"\n'.encode())
    assert load(file) == {"title": "Étrier Ø 6"}

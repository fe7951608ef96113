"""The tables' promise: no number without a listed source and a grade."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import pytest

from geometry.core.errors import Problem, TableError
from geometry.core.say import Say, say
from geometry.core.tables import (
    Grade,
    Itself,
    Number,
    Source,
    Table,
    hint,
    load,
    number,
    numbered,
    unknown,
    weakest,
)

SOURCES = {"book": "A book, page 5"}


def test_a_number_carries_what_its_entry_says() -> None:
    entry = {"value": 4, "grade": "C", "source": "book", "tolerance": 0.1, "low": 3.5, "high": 4.5}
    assert number(entry, SOURCES, "row", {}) == Number(4.0, "C", "A book, page 5", 0.1, 3.5, 4.5)
    bare = number({"value": 4, "grade": "A", "source": "book"}, SOURCES, "row", {})
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
        number(entry, SOURCES, "is-rear near", {})
    assert caught.value.problems == (Problem("is-rear near", say("tables.no_source")),)


def test_the_weakest_grade_is_the_latest_letter_and_the_jobs_own_never_weakens() -> None:
    order: tuple[Grade, ...] = ("own", "A", "M", "B", "C", "D")
    for i, j in itertools.product(range(len(order)), repeat=2):
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


@dataclass(frozen=True, slots=True)
class Post:
    """A part of a row: how long it is, and the screw that it takes."""

    long: Number
    screw: Literal["M5", "M6"] = "M6"


@dataclass(frozen=True, slots=True)
class Mount:
    """A row with a key of every kind that a table's row may have."""

    name: str
    hole: Itself
    posts: Mapping[str, Post]
    sizes: tuple[float, ...]
    from_: float
    book: Source
    slot: Number | None = None


HOLE = {"value": 5, "grade": "D", "source": "book"}
ROW = {
    "name": "post", **HOLE, "posts": {"near": {"long": HOLE, "screw": "M5"}, "far": {"long": HOLE}},
    "sizes": [140, 160], "from": 140, "book": "book", "slot_source": "book",
}  # fmt: skip
FIVE = Number(5.0, "D", SOURCES["book"])


def rows_of(row: Mapping[str, Any]) -> tuple[Mount, ...]:
    """Return the rows of a table that has this one alone."""
    return Table("mounts.toml", {"row": [row]}, SOURCES, {}).rows("row", Mount)


def test_a_row_is_read_as_the_types_of_its_fields_say() -> None:
    posts = {"near": Post(FIVE, "M5"), "far": Post(FIVE)}
    (read,) = rows_of(ROW)
    assert read == Mount("post", FIVE, posts, (140.0, 160.0), 140.0, SOURCES["book"])
    # Every number comes back with the keys that lead to it; the row's own stands under none.
    assert list(numbered(read)) == [("", FIVE), ("posts.near.long", FIVE), ("posts.far.long", FIVE)]


@pytest.mark.parametrize(
    ("change", "place", "code"),
    [
        ({"nmae": "post"}, "nmae", "tables.no_key"),
        ({"name": 5}, "name", "tables.wrong"),
        ({"name": None}, "name", "tables.missing"),
        ({"value": "5"}, "value", "tables.wrong"),
        ({"value": True}, "value", "tables.wrong"),
        ({"value": None}, "value", "tables.wrong"),
        ({"sizes": 140}, "sizes", "tables.wrong"),
        ({"sizes": ["140"]}, "sizes", "tables.wrong"),
        ({"from": None}, "from", "tables.missing"),
        ({"book": "none"}, "book", "tables.wrong"),
        ({"slot_source": "none"}, "slot_source", "tables.wrong"),
        ({"slot": {**HOLE, "vlaue": 5}}, "slot.vlaue", "tables.no_key"),
        ({"slot": 5}, "slot", "tables.wrong"),
        ({"slot": {**HOLE, "low": "4"}}, "slot.low", "tables.wrong"),
        ({"slot": {"value": 5, "grade": "D"}}, "slot", "tables.no_source"),
        ({"posts": {"near": {"long": HOLE, "screw": "M7"}}}, "posts.near.screw", "tables.wrong"),
        ({"posts": {"near": {"screw": "M5"}}}, "posts.near.long", "tables.missing"),
        ({"posts": {"near": 5}}, "posts.near", "tables.wrong"),
        ({"posts": 5}, "posts", "tables.wrong"),
    ],
)  # fmt: skip
def test_a_wrong_row_is_named_with_file_entry_and_key(change: dict[str, Any], place: str, code: str) -> None:
    row = {key: value for key, value in {**ROW, **change}.items() if value is not None}
    with pytest.raises(TableError) as caught:
        rows_of(row)
    (problem,) = caught.value.problems
    name = row.get("name", 1)
    assert str(problem.where) == f"mounts.toml: row {name}.{place}"
    assert isinstance(problem.what, Say) and problem.what.code == code


def test_a_number_that_a_table_lacks_is_named() -> None:
    with pytest.raises(TableError, match=r"^mounts\.toml: rest\.friction: tables\.missing"):
        Table("mounts.toml", {"rest": {"wheel": HOLE}}, SOURCES, {}).number("rest", "friction")

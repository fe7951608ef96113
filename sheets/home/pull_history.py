"""The builder's own record of how far mounts move: pull.jsonl in the builder's folder, a line a point."""

import json
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field, PlainValidator

from geometry.core.errors import InputError, Problem, RefusedError
from geometry.core.say import say
from geometry.survey.pull import QUANTITIES, Record, replaced
from sheets.files.bounded import read_bytes
from sheets.home.entries import checked
from sheets.home.folder import alone, home, put
from sheets.job.closed import Table
from sheets.job.operations import CheckPoint
from sheets.job.units import given
from sheets.words.tell import line

FILE = "pull.jsonl"
LARGEST = 4_000_000
"""Bytes in the largest record that is read; a frame takes about 500."""


def _quantity(key: object) -> str:
    if key not in QUANTITIES:
        raise RefusedError(say("own.pull.no_quantity", key=given(key), known=", ".join(QUANTITIES)))
    return str(key)


class HistoryLine(Table):
    """A line of the record."""

    frame: str = Field(description="the frame's number or name")
    point: CheckPoint = Field(description="the check point at which it was surveyed")
    end: str = Field(description="the end of the bicycle")
    family: str = Field(description="the family of its mount")
    method: str = Field(description="how the mount is joined")
    values: dict[Annotated[str, PlainValidator(_quantity)], Annotated[float, Field(strict=True)]] = Field(
        description="errors against the drawing, mm or degrees"
    )


def file() -> Path:
    """Return the file in which the record is kept; it need not exist yet."""
    return home() / FILE


def known() -> tuple[Record, ...]:
    """Return the record, empty where there is none; raise InputError with a line for each damaged line."""
    where = file()
    usual, instead = say("own.pull.too_large"), say("own.pull.unreadable")
    raw = read_bytes(where, usual, LARGEST, missing=None, instead=instead)
    found: list[Record] = []
    problems: list[Problem] = []
    for number, each in enumerate(raw.splitlines(), 1):
        if not each.strip():
            continue
        try:
            found.append(_record(each))
        except InputError as error:
            what = say("own.pull.no_line", reason=line(error.problems[0]))
            problems.append(Problem(say("own.pull.place", file=str(where), number=number), what))
    if problems:
        raise InputError(*problems)
    return replaced((), found)


@alone()
def keep(new: Iterable[Record]) -> tuple[Record, ...]:
    """Add to the record, in place of what stands there of the same frame, end and check point; return it.

    Raise InputError as `known`, DeliveryError where it cannot be written; it is then as it was.
    """
    after = replaced(known(), new)
    where = file()
    text = "".join(f"{json.dumps(_document(each), ensure_ascii=False)}\n" for each in after)
    put(where, text, "own.pull.elsewhere")
    return after


def _document(each: Record) -> dict[str, Any]:
    return {**asdict(each), "values": {key: round(value, 4) for key, value in each.values.items()}}


def _record(text: bytes) -> Record:
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise InputError.at("", say("own.pull.no_json", reason=str(error))) from error
    return Record(**dict(checked(HistoryLine, raw, '{"frame": ')))

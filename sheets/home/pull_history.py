"""The builder's own record of how far mounts move: pull.jsonl in the builder's folder, a line a point."""

import json
import math
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError, Problem
from geometry.survey.pull import QUANTITIES, Record, replaced
from sheets.files.bounded import read_bytes
from sheets.home.folder import home, put
from sheets.job.operations import CHECK_POINTS
from sheets.job.units import given

FILE = "pull.jsonl"
LARGEST = 4_000_000
"""Bytes in the largest record that is read; a frame takes about 500."""
_TEXTS = ("frame", "point", "end", "family", "method")


def file() -> Path:
    """Return the file in which the record is kept; it need not exist yet."""
    return home() / FILE


def known() -> tuple[Record, ...]:
    """Return the record, empty where there is none; raise InputError with a line for each damaged line."""
    where = file()
    no_record = "or give --no-record"
    raw = read_bytes(where, f"move it aside, {no_record}", LARGEST, missing=None, instead=f"; {no_record}")
    found: list[Record] = []
    problems: list[Problem] = []
    for number, line in enumerate(raw.splitlines(), 1):
        if not line.strip():
            continue
        try:
            found.append(_record(json.loads(line)))
        except (ValueError, RecursionError) as error:
            what = f"not a line of the record: {error}; mend it or move the file aside, or give --no-record"
            problems.append(Problem(f"{where}: line {number}", what))
    if problems:
        raise InputError(*problems)
    return replaced((), found)


def keep(new: Iterable[Record]) -> tuple[Record, ...]:
    """Add to the record, in place of what stands there of the same frame, end and check point; return it.

    Raise InputError as `known`, DeliveryError where it cannot be written; it is then as it was.
    """
    after = replaced(known(), new)
    where = file()
    text = "".join(f"{json.dumps(_document(each), ensure_ascii=False)}\n" for each in after)
    put(where, text, ", or give --no-record")
    return after


def _document(each: Record) -> dict[str, Any]:
    texts = {key: getattr(each, key) for key in _TEXTS}
    return {**texts, "values": {key: round(value, 4) for key, value in each.values.items()}}


def _record(raw: Any) -> Record:
    if not isinstance(raw, dict) or set(raw) != {*_TEXTS, "values"}:
        raise ValueError(f"{given(raw)} given; frame, point, end, family, method and values are wanted")
    for key in _TEXTS:
        if not isinstance(raw[key], str):
            raise ValueError(f"{key} is {given(raw[key])}; a text is wanted")
    if raw["point"] not in CHECK_POINTS:
        raise ValueError(f"point is {given(raw['point'])}; allowed: {', '.join(CHECK_POINTS)}")
    values = raw["values"]
    if not isinstance(values, dict) or not set(values) <= set(QUANTITIES):
        raise ValueError(f"values are {given(values)}; allowed: {', '.join(QUANTITIES)}")
    for key, value in values.items():
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            raise ValueError(f"{key} is {given(value)}; a number is wanted")
    return Record(
        **{key: raw[key] for key in _TEXTS}, values={key: float(each) for key, each in values.items()}
    )

"""The job's table about its traveller: dates, lots, heat numbers, parts really used, the order of work."""

import datetime
import re
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, PlainSerializer, PlainValidator, ValidationInfo, WithJsonSchema, field_validator

from sheets.job.closed import Table
from sheets.job.limits import Text, blame
from sheets.job.operations import CHECK_POINTS
from sheets.job.units import given
from sheets.words.tell import nearest

_KEY = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_KEY = 20
_LONGEST = 120
_MOST = 60
_STOP = "Nobody goes on before this is signed."
_ROW_KEYS = ("key", "text", "hold", "check")
REPLACES = "replaces"


class OperationRow(Table):
    """An operation of the builder's own, as a job or operations.toml writes it."""

    key: str
    text: str | None = None
    hold: str | None = None
    check: str | None = None
    replaces: bool = False


def operation_row(value: object, more: tuple[str, ...] = ()) -> OperationRow:
    """Return an operation written as a table; ValueError names the key that is wrong and what it may be.

    `more` are keys allowed beside key, text, hold and check.
    """
    if not isinstance(value, Mapping):
        raise ValueError(f"{given(value)} given; an operation is a table {{ key, text, hold, check }}")
    allowed = (*_ROW_KEYS, *more)
    for name in value:
        if name not in allowed:
            hint = nearest(str(name), allowed)
            raise ValueError(f"there is no such key as {given(name)}{hint} (known: {', '.join(allowed)})")
    if "key" not in value:
        raise ValueError("key is missing; give the operation a short name such as pickle or stamp-number")
    check, replaces = value.get("check"), value.get(REPLACES, False)
    if check is not None and check not in CHECK_POINTS:
        hint = nearest(str(check), CHECK_POINTS)
        raise ValueError(
            f"check = {given(check)}, which is no check point{hint} (known: {', '.join(CHECK_POINTS)})"
        )
    if not isinstance(replaces, bool):
        raise ValueError(f"replaces = {given(replaces)}; allowed: true or false")
    return OperationRow(
        key=operation_key(value["key"]),
        text=None if value.get("text") is None else _line("text", value["text"]),
        hold=_hold(value.get("hold")),
        check=check,
        replaces=replaces,
    )


def operation_key(value: object) -> str:
    """Return the key of an operation; ValueError where it is no short name in small letters."""
    if not isinstance(value, str) or _KEY.fullmatch(value) is None or len(value) > _LONGEST_KEY:
        raise ValueError(
            f"key = {given(value)}; allowed are up to {_LONGEST_KEY} small letters, digits and single "
            "dashes, beginning with a letter, such as paint-mask"
        )
    return value


def _hold(value: object) -> str | None:
    if value is None:
        return None
    if isinstance(value, bool):
        return _STOP if value else ""
    return _line("hold", value)


def _line(name: str, value: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{name} = {given(value)}; a text in quotes is wanted")
    if not value.strip() or len(value) > _LONGEST or not value.isprintable():
        raise ValueError(
            f"{name} = {given(value)}; allowed is one line of 1 to {_LONGEST} characters, {len(value)} given"
        )
    return value


def _listed(value: object) -> str | OperationRow:
    return operation_key(value) if isinstance(value, str) else operation_row(value)


def _written(value: str | OperationRow) -> str | dict[str, Any]:
    """Return an operation as a job file writes it."""
    return value if isinstance(value, str) else value.model_dump(exclude_none=True, exclude_defaults=True)


def _yes(value: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{given(value)} given; allowed: true or false")
    return value


def _date(value: object) -> str:
    """Return a date as year-month-day, from a date of TOML's own or from a text."""
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return datetime.date.fromisoformat(value).isoformat()
        except ValueError as error:
            raise ValueError(f"{given(value)} given; there is no such day") from error
    raise ValueError(f"{given(value)} given; a date is year-month-day, such as 2031-04-02")


_TEXT: dict[str, Any] = {"type": "string", "minLength": 1, "maxLength": _LONGEST}
_KEY_SCHEMA: dict[str, Any] = {"type": "string", "pattern": f"^{_KEY.pattern}$", "maxLength": _LONGEST_KEY}
_OPERATION_SCHEMA: dict[str, Any] = {
    "anyOf": [
        _KEY_SCHEMA,
        {
            "type": "object",
            "additionalProperties": False,
            "required": ["key"],
            "properties": {
                "key": _KEY_SCHEMA,
                "text": _TEXT,
                "hold": {"anyOf": [{"type": "boolean"}, _TEXT]},
                "check": {"type": "string", "enum": list(CHECK_POINTS)},
            },
        },
    ]
}
Date = Annotated[
    str,
    PlainValidator(_date),
    WithJsonSchema({"type": "string", "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"}),
]
"""A day, year-month-day."""


Listed = Annotated[
    str | OperationRow,
    PlainValidator(_listed),
    PlainSerializer(_written),
    WithJsonSchema(_OPERATION_SCHEMA, mode="validation"),
]
"""An entry of the order of work: a known key, or an operation of the builder's own."""
Yes = Annotated[bool, PlainValidator(_yes), WithJsonSchema({"type": "boolean"})]
"""true or false, and nothing that might be meant for them."""


class Heats(Table):
    """The heat number of each tube, from its label or its maker's paper."""

    chainstay: Text | None = Field(default=None, description="heat number of the chainstay")
    seatstay: Text | None = Field(default=None, description="heat number of the seatstay")
    fork_leg: Text | None = Field(
        default=None, alias="fork-leg", description="heat number of the left fork leg"
    )
    brace: Text | None = Field(default=None, description="heat number of the brace between the stays")

    def given(self) -> dict[str, str]:
        """Return the heat numbers that the job has, by tube."""
        every = {
            "chainstay": self.chainstay,
            "seatstay": self.seatstay,
            "fork-leg": self.fork_leg,
            "brace": self.brace,
        }
        return {name: heat for name, heat in every.items() if heat is not None}


class TravellerTable(Table):
    """The paper that follows the frame through the shop and is filed with it."""

    print: Yes = Field(default=True, description="whether the packet has a traveller")
    started: Date | None = Field(default=None, description="day on which work begins, year-month-day")
    due: Date | None = Field(default=None, description="day on which the frame is due, year-month-day")
    material_lot: Text | None = Field(default=None, description="lot of the mount's and tubes' material")
    filler_lot: Text | None = Field(default=None, description="lot of the filler rod or wire")
    heats: Heats = Field(default=Heats(), description="heat numbers by tube")
    hub: Text | None = Field(default=None, description="the hub really fitted, maker and model")
    caliper: Text | None = Field(default=None, description="the caliper really fitted, maker and model")
    operations: (
        Annotated[
            tuple[Listed, ...],
            Field(max_length=_MOST, json_schema_extra={"minItems": 1}),
        ]
        | None
    ) = Field(
        default=None,
        description="order of work: keys of known operations, or own ones as { key, text, hold, check }; "
        "default the process's usual order",
    )

    @field_validator("due")
    @classmethod
    def _due_after_the_start(cls, due: str | None, info: ValidationInfo) -> str | None:
        started = info.data.get("started")
        if due is not None and started is not None and due < started:
            raise ValueError(f"{due} given; it is before traveller.started, {started}")
        return due

    @field_validator("operations")
    @classmethod
    def _each_once(
        cls, operations: tuple[str | OperationRow, ...] | None
    ) -> tuple[str | OperationRow, ...] | None:
        if operations is None:
            return None
        if not operations:
            raise ValueError("an empty list given; leave the key out for the usual order of work")
        seen: dict[str, int] = {}
        for number, each in enumerate(operations):
            key = each if isinstance(each, str) else each.key
            if key in seen:
                first = f"traveller.operations[{seen[key]}]"
                raise blame(
                    f"traveller.operations[{number}]",
                    f"{given(key)} is there already, as {first}; each operation has one line to sign",
                )
            seen[key] = number
        return operations

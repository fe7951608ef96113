"""The job's table about its traveller: dates, lots, heat numbers, parts really used, the order of work."""

import datetime
import re
from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import Field, PlainSerializer, PlainValidator, ValidationInfo, WithJsonSchema, field_validator

from geometry.core.errors import RefusedError
from geometry.core.say import say
from sheets.job.closed import Table
from sheets.job.limits import Text, text
from sheets.job.operations import CHECK_POINTS, CheckPoint
from sheets.job.units import given

_KEY = re.compile(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)*")
_LONGEST_KEY = 20
_MOST = 60


def operation_key(value: object) -> str:
    """Return the key of an operation; RefusedError where it is no short name in small letters."""
    if not isinstance(value, str) or _KEY.fullmatch(value) is None or len(value) > _LONGEST_KEY:
        raise RefusedError(say("job.no_operation_key", value=given(value), longest=_LONGEST_KEY))
    return value


def _hold(value: object) -> bool | str:
    if isinstance(value, bool):
        return value
    if not isinstance(value, str):
        raise RefusedError(say("job.no_hold", value=given(value)))
    return text(value)


class OperationRow(Table):
    """An operation of the builder's own, as a job or operations.toml writes it.

    `hold` is True for the usual words, False for no hold point.
    """

    key: Annotated[str, PlainValidator(operation_key)] = Field(
        description="a short name such as pickle or stamp-number"
    )
    text: Text | None = Field(default=None, description="what is to be done")
    hold: Annotated[bool | str | None, PlainValidator(_hold)] = Field(
        default=None,
        description="true where nobody goes on unsigned, or what nobody does before",
    )
    check: CheckPoint | None = Field(default=None, description="the check point at which it ends")


def _listed(value: object) -> str | OperationRow:
    if isinstance(value, str):
        return operation_key(value)
    if not isinstance(value, Mapping):
        raise RefusedError(say("job.no_operation", value=given(value)))
    return OperationRow.model_validate(value)


def _written(value: str | OperationRow) -> str | dict[str, Any]:
    """Return an operation as a job file writes it."""
    return value if isinstance(value, str) else value.model_dump(exclude_unset=True)


def _yes(value: object) -> bool:
    if not isinstance(value, bool):
        raise RefusedError(say("refused.no_truth", value=given(value)))
    return value


def _date(value: object) -> str:
    """Return a date as year-month-day, from a date of TOML's own or from a text."""
    if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
        return value.isoformat()
    if isinstance(value, str) and re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        try:
            return datetime.date.fromisoformat(value).isoformat()
        except ValueError as error:
            raise RefusedError(say("job.no_such_day", value=given(value))) from error
    raise RefusedError(say("job.no_date", value=given(value)))


_TEXT: dict[str, Any] = {"type": "string", "minLength": 1, "maxLength": 120}
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
            raise RefusedError(say("job.due_too_soon", due=due, started=started))
        return due

    @field_validator("operations")
    @classmethod
    def _each_once(
        cls, operations: tuple[str | OperationRow, ...] | None
    ) -> tuple[str | OperationRow, ...] | None:
        if operations is None:
            return None
        if not operations:
            raise RefusedError(say("job.no_operations"))
        seen: dict[str, int] = {}
        for number, each in enumerate(operations):
            key = each if isinstance(each, str) else each.key
            if key in seen:
                first = f"traveller.operations[{seen[key]}]"
                what = say("job.operation_twice", key=given(key), first=first)
                raise RefusedError(what, f"operations[{number}]")
            seen[key] = number
        return operations

"""The job's keys of the disc-side dropout: its thickness and slot, and its outline, drawn or as points.

An outline is read from its drawing once, and goes with the job as [outline] from then on, so that a packet
needs no other file. Mirrored and turned it is by the keys of [dropout], whether it was drawn or listed.
"""

import re
from collections.abc import Callable
from pathlib import PurePath
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationInfo, WithJsonSchema, field_validator

from geometry.core.errors import RefusedError
from geometry.core.say import say
from geometry.mount.outline import MOST, Outline, Pad, Round, fault, pad_fault
from sheets.job import limits
from sheets.job.closed import Table
from sheets.job.limits import Range, Text
from sheets.job.units import given
from sheets.words.tell import tell

DRAWINGS = (".svg", ".dxf")
"""How the name of a drawing ends."""
Corner = tuple[float, float]
Hole = tuple[float, float, float]


def _rows(*columns: Range) -> Callable[[object], object]:
    """Return what reads a list of rows of these numbers; RefusedError names the row that is none."""

    def read(value: object) -> object:
        if not isinstance(value, list | tuple):
            raise RefusedError(say("job.no_rows", value=given(value), count=len(columns)))
        if len(value) > MOST:
            raise RefusedError(say("outline.too_many", most=MOST))
        found = []
        for i, row in enumerate(value, start=1):
            if not isinstance(row, list | tuple) or len(row) != len(columns):
                shown = tell("units.list_of", count=len(row)) if isinstance(row, list | tuple) else given(row)
                raise RefusedError(say("job.no_row", number=i, value=shown, count=len(columns)))
            found.append(tuple(column(each) for column, each in zip(columns, row, strict=True)))
        return tuple(found)

    return read


def _schema(*columns: Range, least: int) -> WithJsonSchema:
    items = [column.json_schema() for column in columns]
    row = {"type": "array", "items": items, "minItems": len(items), "maxItems": len(items)}
    return WithJsonSchema({"type": "array", "items": row, "minItems": least, "maxItems": MOST})


_XY = (limits.OUTLINE, limits.OUTLINE)
_XYD = (*_XY, limits.DRILLED)
Corners = Annotated[tuple[Corner, ...], BeforeValidator(_rows(*_XY)), _schema(*_XY, least=3)]
"""A closed line: its corners [x, y] in order, mm from the axle."""
Holes = Annotated[tuple[Hole, ...], BeforeValidator(_rows(*_XYD)), _schema(*_XYD, least=0)]
"""Round holes [x, y, diameter], mm from the axle."""


def _sound(
    points: tuple[Corner, ...], windows: tuple[tuple[Corner, ...], ...], holes: tuple[Hole, ...]
) -> None:
    """Raise RefusedError, blaming `points`, where they make no dropout."""
    if wrong := fault(_made(points, windows, holes)):
        raise RefusedError(wrong, "points")


def _made(
    points: tuple[Corner, ...], windows: tuple[tuple[Corner, ...], ...], holes: tuple[Hole, ...]
) -> Outline:
    return Outline(points, windows, tuple(Round((x, y), d) for x, y, d in holes))


class Dropout(Table):
    """The disc-side dropout."""

    thickness: Annotated[float, limits.DROPOUT] | None = Field(
        default=None, description="thickness from the inner to the outer face, mm"
    )
    slot: Annotated[float, limits.SLOT] | None = Field(
        default=None,
        description="way an open slot lets the wheel out, degrees, + forward; 0 is as slot_from says, which "
        "has no default",
    )
    slot_from: Literal["tube", "plumb"] | None = Field(
        default=None,
        description="what slot is measured from: tube, where 0 runs on down the fork leg's line or square "
        "down from the chainstay's line, or plumb, where 0 is plumb down as the bicycle stands by [stance]",
    )
    travel: Annotated[float, limits.TRAVEL] = Field(
        default=0.0, description="how far the wheel moves in a long slot or slider, mm"
    )
    outline: Text | None = Field(
        default=None, description="a drawing of the dropout's edge beside the job, an SVG or a DXF, full size"
    )
    points: Corners | None = Field(
        default=None,
        description="the dropout's edge as corners [x, y] in order all round, mm from the axle, x to the "
        "right and y up with the bicycle facing left; in place of a drawing",
    )
    holes: Holes = Field(
        default=(), description="round holes [x, y, diameter] in an edge that is given as points, mm"
    )
    outline_from: Literal["tube", "plumb"] | None = Field(
        default=None,
        description="what the outline's x lies along: tube, the chainstay's line, or square to the fork "
        "leg's, or plumb, level ground as the bicycle stands by [stance]; no default",
    )
    outline_turned: Annotated[float, limits.TILT] = Field(
        default=0.0,
        description="turns the outline about the axle, degrees, anticlockwise seen from outboard, after it "
        "was mirrored",
    )
    outline_mirrored: bool = Field(
        default=False,
        description="the outline shows the dropout from inboard, or its fellow on the other side, and is "
        "mirrored left to right; true or false",
    )
    pad: Corners | None = Field(
        default=None,
        description="the edge of a pad on the dropout's inner face that a post or boss stands on, a step or "
        "a block, as corners [x, y] all round, within the dropout's own edge and as that is laid",
    )
    pad_height: Annotated[float, limits.PAD] | None = Field(
        default=None, description="how far the pad reaches inboard of the dropout's inner face, mm"
    )
    outline_unit: Literal["mm", "cm", "in"] | None = Field(
        default=None, description="what a drawing's numbers are in, where it does not say: mm, cm or in"
    )
    outline_layer: Text | None = Field(
        default=None, description="the layer or id of the edge in the drawing; default all of its lines"
    )
    outline_axle: Text | None = Field(
        default=None,
        validate_default=True,
        description="the layer or id of the circle about the axle; default the drawing's origin",
    )

    @field_validator("slot_from")
    @classmethod
    def _slot_from_of_a_slot(cls, reference: str | None, info: ValidationInfo) -> str | None:
        # A slot that is wrong in itself is missing from the data; it counts as given.
        if reference is not None and info.data.get("slot", "wrong") is None:
            raise RefusedError(say("job.slotless", reference=given(reference)))
        return reference

    @field_validator("outline")
    @classmethod
    def _drawing_beside(cls, name: str | None) -> str | None:
        if name is not None and (re.search(r"[/\\:]", name) or name.startswith(".")):
            raise RefusedError(say("job.not_beside", name=given(name)))
        if name is not None and PurePath(name).suffix.lower() not in DRAWINGS:
            raise RefusedError(say("job.no_drawing", name=given(name)))
        return name

    @field_validator("outline_axle")
    @classmethod
    def _one_outline(cls, axle: str | None, info: ValidationInfo) -> str | None:
        # A key that is wrong in itself is missing from the data; it counts as given.
        data = {**info.data, "outline_axle": axle}
        drawn, points = data.get("outline", "wrong"), data.get("points", "wrong")
        if drawn is not None and points is not None:
            raise RefusedError(say("job.two_outlines"), "points")
        if drawn is None:
            for key in ("outline_unit", "outline_layer", "outline_axle"):
                if data.get(key) is not None:
                    raise RefusedError(say("job.of_a_drawing", value=given(data[key])), key)
        if points is None and data.get("holes"):
            raise RefusedError(say("job.holes_alone"), "holes")
        if drawn is None and points is None:
            for key, usual in (("outline_from", None), ("outline_turned", 0.0), ("outline_mirrored", False)):
                if data.get(key, usual) != usual:
                    raise RefusedError(say("job.of_an_outline", value=given(data[key])), key)
        if isinstance(points, tuple) and "holes" in data:
            _sound(points, (), data["holes"])
        _whole_pad(data, drawn, points)
        return axle

    @property
    def shaped(self) -> bool:
        """Return whether the job says what the dropout is shaped like."""
        return self.outline is not None or self.points is not None


def _whole_pad(data: dict[str, Any], drawn: object, points: object) -> None:
    """Raise RefusedError for a pad without its height, the other way, or one that lies on nothing."""
    pad, high = data.get("pad", "wrong"), data.get("pad_height", "wrong")
    if pad is not None and high is None:
        raise RefusedError(say("job.pad_without", key="dropout.pad_height"), "pad_height")
    if high is not None and pad is None:
        raise RefusedError(say("job.pad_without", key="dropout.pad"), "pad")
    if isinstance(pad, tuple) and drawn is None and points is None:
        raise RefusedError(say("job.pad_alone"), "pad")
    if isinstance(pad, tuple) and isinstance(points, tuple) and (wrong := pad_fault(pad, Outline(points))):
        raise RefusedError(wrong, "pad")


class DrawnOutline(Table):
    """What was read from the drawing that dropout.outline names, as it was drawn; a packet brings it."""

    file: Text = Field(description="the drawing's name, that of dropout.outline")
    sha256: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")] = Field(description="SHA-256 of its bytes")
    points: Corners = Field(description="the edge's corners [x, y], mm from the axle")
    windows: tuple[Corners, ...] = Field(
        default=(), max_length=100, description="cut-outs that are not round, each as its corners, mm"
    )
    # Last, because its check needs all three.
    holes: Holes = Field(
        default=(), validate_default=True, description="round holes [x, y, diameter], mm from the axle"
    )

    @field_validator("holes")
    @classmethod
    def _makes_a_dropout(cls, holes: tuple[Hole, ...], info: ValidationInfo) -> tuple[Hole, ...]:
        if "points" in info.data and "windows" in info.data:
            _sound(info.data["points"], info.data["windows"], holes)
        return holes


def as_drawn(dropout: Dropout, drawn: DrawnOutline | None) -> Outline | None:
    """Return the outline that a job has, as it was drawn or listed, mm from the axle; None without one."""
    if dropout.points is not None:
        return _made(dropout.points, (), dropout.holes)
    return None if drawn is None else _made(drawn.points, drawn.windows, drawn.holes)


def pad_of(dropout: Dropout) -> Pad | None:
    """Return the pad that a job has, as it is listed, mm from the axle; None without one."""
    if dropout.pad is None or dropout.pad_height is None:
        return None
    return Pad(dropout.pad, dropout.pad_height)


def as_table(file: str, sha256: str, outline: Outline) -> dict[str, Any]:
    """Return an outline that was read from a file as the entries of the job's [outline]."""
    found: dict[str, Any] = {"file": file, "sha256": sha256, "points": outline.edge}
    if outline.windows:
        found["windows"] = outline.windows
    if outline.holes:
        found["holes"] = tuple((*hole.centre, hole.diameter) for hole in outline.holes)
    return found

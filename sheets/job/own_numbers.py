"""The job's tables about clearances: the builder's own caliper, and the limits that are asked for."""

from typing import Annotated

from pydantic import Field

from sheets.job import limits
from sheets.job.closed import Table


class CaliperTable(Table):
    """The caliper as its owner measured it; then a clash with a tube fails, where a remembered one warns."""

    length: Annotated[float, limits.CALIPER] = Field(
        description="caliper overall along the mount line, hose fitting included, mm"
    )
    height: Annotated[float, limits.CALIPER] = Field(
        description="how far the caliper reaches out beyond the face it is bolted to, mm"
    )
    inboard: Annotated[float, limits.CALIPER] = Field(
        description="from the disc's middle plane to the caliper's wheel side, mm"
    )
    outboard: Annotated[float, limits.CALIPER] = Field(
        description="from the disc's middle plane to the caliper's outer side, mm"
    )
    depth: Annotated[float, limits.CALIPER_DEPTH] | None = Field(
        default=None,
        description="how far the caliper reaches below the face it is bolted to, mm; default the table's",
    )
    offset: Annotated[float, limits.CALIPER_OFFSET] | None = Field(
        default=None,
        description="the caliper's middle from the middle between its screws, mm, + up the tube; default 0",
    )
    pad_height: Annotated[float, limits.CALIPER] | None = Field(
        default=None, description="radial height of the pads, mm"
    )
    track: Annotated[float, limits.CALIPER] | None = Field(
        default=None, description="radial width of the disc's track, mm"
    )


class ClearanceTable(Table):
    """Clearances to ask for; the job's own number is both what is asked for and the least."""

    rotor: Annotated[float, limits.ROOM] | None = Field(
        default=None, description="least from disc to tube, mm; default asks 3 and fails below 2"
    )
    runout: Annotated[float, limits.ROOM] | None = Field(
        default=None, description="taken off for the disc's run-out, mm; default 0.2"
    )
    bolts: Annotated[float, limits.ROOM] | None = Field(
        default=None, description="least from the disc's screws to a tube, mm; default warns below 2"
    )
    caliper: Annotated[float, limits.ROOM] | None = Field(
        default=None, description="least from the caliper's room to a tube, mm; default warns below 2"
    )
    key: Annotated[float, limits.ROOM] | None = Field(
        default=None,
        description="least beside a screw's key to a tube or the disc, mm; default warns below 1",
    )
    mount: Annotated[float, limits.ROOM] | None = Field(
        default=None,
        description="least from posts, bosses or tab to the disc, mm; default asks 2, fails below 1",
    )
    spokes: Annotated[float, limits.ROOM] | None = Field(
        default=None, description="how far the mount stays outboard of the disc's spoke side, mm; default 2"
    )

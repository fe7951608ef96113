"""The job's table about what the bicycle carries and how hard it is braked, for the screen of forces."""

from typing import Annotated, Literal

from pydantic import Field

from sheets.job import limits
from sheets.job.closed import Table


class LoadTable(Table):
    """What braking is reckoned with; what is left out is the table's, and every sheet says which."""

    kind: Literal["solo", "tandem", "cargo"] = Field(
        default="solo", description="solo, tandem or cargo: what the mass is taken from where none is given"
    )
    mass: Annotated[float, limits.MASS] | None = Field(
        default=None, description="rider, bicycle and what they carry, kg"
    )
    deceleration: Annotated[float, limits.DECELERATION] | None = Field(
        default=None, description="how hard it is braked at this end alone, m/s2"
    )
    share: Annotated[float, limits.SHARE] | None = Field(
        default=None, description="share of the weight that stands on the braked wheel then, 0 to 1"
    )
    wheel: Annotated[float, limits.WHEEL] | None = Field(
        default=None, description="the wheel's diameter over the tyre, mm; default a 700c wheel, 690"
    )
    friction: Annotated[float, limits.FRICTION] | None = Field(
        default=None, description="friction under the caliper's screws, a plain number; default 0.15"
    )
    ratio: Annotated[float, limits.RATIO] | None = Field(
        default=None,
        description="yield over a hard stop's stress below which tubes and mount are warned of; default 1",
    )

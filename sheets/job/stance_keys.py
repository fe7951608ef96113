"""The job's table about how the bicycle stands: fork leg and chainstay against level ground."""

from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from geometry.core.errors import RefusedError
from geometry.core.say import say
from geometry.tables.axles import End
from geometry.tables.stance import Stance, leg_of, stance
from sheets.job import limits
from sheets.job.closed import Table

_BLADE = ("head", "rake", "axle_to_crown")
_AGREE = 0.5
"""How far a leg may be off what head, rake and length come to, degrees: what an angle finder shows."""


class StanceTable(Table):
    """How the bicycle stands on level ground, ridden; what is left out is unknown, and the worst counts."""

    # A job may have both ends' angles, as a bicycle does; the one that is not its own end's is no matter.
    leg: Annotated[float, limits.LEG] | None = Field(
        default=None,
        description="angle between the ground and the line from the axle up the fork leg, degrees: 90 "
        "upright, less leaning back",
    )
    head: Annotated[float, limits.HEAD] | None = Field(
        default=None,
        description="head angle, between the ground and the steerer, degrees; with rake and axle_to_crown it "
        "gives a straight blade's leg",
    )
    rake: Annotated[float, limits.RAKE] | None = Field(
        default=None, description="how far the axle lies before the steerer's line, square to it, mm"
    )
    axle_to_crown: Annotated[float, limits.AXLE_TO_CROWN] | None = Field(
        default=None,
        validate_default=True,
        description="from the axle to the crown's seat on the steerer's line, in a straight line, mm",
    )
    chainstay: Annotated[float, limits.CHAINSTAY] | None = Field(
        default=None,
        description="angle between the ground and the chainstay, degrees, + where it falls forward, the "
        "bottom bracket below the rear axle",
    )

    @field_validator("axle_to_crown")
    @classmethod
    def _blade_is_whole_and_agrees(cls, length: float | None, info: ValidationInfo) -> float | None:
        # A key that is wrong in itself is missing from the data; it counts as given.
        data = {**info.data, "axle_to_crown": length}
        lacking = [key for key in _BLADE if data.get(key, "wrong") is None]
        if len(lacking) == len(_BLADE):
            return length
        if lacking:
            keys = tuple(key for key in _BLADE if key not in lacking)
            raise RefusedError(say("job.blade_in_part", keys=keys), lacking[0])
        head, rake, leg = (data.get(key) for key in ("head", "rake", "leg"))
        if head is None or rake is None or length is None:
            return length
        if abs(rake) >= length:
            raise RefusedError(say("job.rake_too_long", rake=rake, length=length), "rake")
        found = leg_of(head, rake, length)
        made = say("job.blade", head=head, rake=rake, length=length, leg=found)
        if leg is not None and abs(leg - found) > _AGREE:
            what = say("job.other_leg", leg=leg, blade=made, off=abs(leg - found))
            raise RefusedError(what, "leg")
        low, high = limits.LEG.low, limits.LEG.high
        if not low <= found <= high:
            raise RefusedError(say("job.no_such_leg", blade=made, low=low, high=high), "head")
        return length

    def of(self, end: End) -> Stance:
        """Return how an end of the bicycle stands, every stance of the table where the job does not say."""
        if end == "rear":
            return stance(end, self.chainstay)
        leg, head, rake, length = self.leg, self.head, self.rake, self.axle_to_crown
        if leg is None and head is not None and rake is not None and length is not None:
            leg = leg_of(head, rake, length)
        return stance(end, leg)

"""The job's tables about tubes: those that meet at the dropout, and a brace between the stays."""

from typing import Annotated, Literal

from pydantic import AfterValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema, field_validator

from geometry.core.errors import RefusedError
from geometry.core.say import named, say
from sheets.job import limits
from sheets.job.closed import Table

Host = Literal["chainstay", "seatstay", "fork-leg"]

Stations = Annotated[
    tuple[
        Annotated[tuple[float, ...], PlainValidator(limits.station), WithJsonSchema(limits.STATION_SCHEMA)],
        ...,
    ],
    Field(max_length=100, json_schema_extra={"minItems": 1}),
    AfterValidator(limits.ascending),
]


class TubeTable(Table):
    """A straight tube, measured up from the axle in the side view."""

    diameters: Stations = Field(
        description="outside along the tube: [s, diameter] or [s, height, width], mm, s ascending; a lone "
        "station holds from there on"
    )
    wall: Annotated[float, limits.WALL] | None = Field(default=None, description="wall thickness, mm")
    # Through the axle unless it was measured beside it; `check` says that this was assumed.
    offset: Annotated[float, limits.ASIDE] = Field(
        default=0.0, description="centre line beside the axle in the side view, mm, + to the mount side"
    )
    # Neither has a default: 0 is a measured tube, and one that was not measured is unknown.
    outset: Annotated[float, limits.ASIDE] | None = Field(
        default=None,
        description="z of the centre line level with the axle, mm, + outboard of the inner face; left out, "
        "what lies beside the tube is not judged",
    )
    splay: Annotated[float, limits.SPLAY] | None = Field(
        default=None,
        description="lean towards the bicycle's middle going up the tube, degrees, 0 for none; left out, "
        "what lies beside the tube is not judged",
    )
    straight_to: Annotated[float, limits.STATION] | None = Field(
        default=None, description="s up to which the tube is straight, mm; what lies beyond is refused"
    )

    @field_validator("wall")
    @classmethod
    def _wall_leaves_a_bore(cls, wall: float | None, info: ValidationInfo) -> float | None:
        stations = info.data.get("diameters")
        if wall is not None and stations:
            smallest = min(min(sizes) for _, *sizes in stations)
            if wall >= smallest / 2.0:
                raise RefusedError(say("job.no_bore", wall=wall, smallest=smallest))
        return wall

    @field_validator("straight_to")
    @classmethod
    def _straight_above_the_start(cls, straight_to: float | None, info: ValidationInfo) -> float | None:
        stations = info.data.get("diameters")
        if straight_to is not None and stations and straight_to <= stations[0][0]:
            raise RefusedError(say("job.straight_below", to=straight_to, first=stations[0][0]))
        return straight_to


class Seatstay(TubeTable):
    """The seatstay, which needs its direction."""

    included: Annotated[float, limits.INCLUDED] = Field(
        description="angle between seatstay and chainstay at the dropout, degrees"
    )


class Brace(Table):
    """A round tube between the stays, from centre line to centre line."""

    diameter: Annotated[float, limits.DIAMETER] = Field(description="outside diameter of the brace, mm")
    on_chainstay: Annotated[float, limits.STATION] = Field(
        description="distance s up the chainstay at which the brace meets its centre line, mm"
    )
    on_seatstay: Annotated[float, limits.STATION] = Field(
        description="distance s up the seatstay at which the brace meets its centre line, mm"
    )
    wall: Annotated[float, limits.WALL] | None = Field(
        default=None, description="wall thickness of the brace, mm"
    )

    @field_validator("wall")
    @classmethod
    def _wall_leaves_a_bore(cls, wall: float | None, info: ValidationInfo) -> float | None:
        diameter = info.data.get("diameter")
        if wall is not None and diameter is not None and wall >= diameter / 2.0:
            raise RefusedError(say("job.no_brace_bore", wall=wall, diameter=diameter))
        return wall


def _met_where_known(name: str, stay: TubeTable | None, s: float) -> None:
    """Raise RefusedError for a brace that meets a stay where nobody knows how that runs."""
    if stay is None:
        return
    first = stay.diameters[0][0]
    if s <= first:
        raise RefusedError(say("job.brace_below", stay=named(name), s=s, first=first))
    if stay.straight_to is not None and s > stay.straight_to:
        raise RefusedError(say("job.brace_beyond", stay=named(name), s=s, to=stay.straight_to))


class Tubes(Table):
    """The tubes that meet at the dropout."""

    chainstay: TubeTable | None = Field(default=None, description="the chainstay on the disc side")
    seatstay: Seatstay | None = Field(default=None, description="the seatstay on the disc side")
    fork_leg: TubeTable | None = Field(default=None, alias="fork-leg", description="the left fork leg")
    brace: Brace | None = Field(default=None, description="a brace tube between the stays")

    @field_validator("brace")
    @classmethod
    def _brace_between_stays(cls, brace: Brace | None, info: ValidationInfo) -> Brace | None:
        # A stay that is wrong in itself is missing from the data; it counts as given.
        lacking = [name for name in ("chainstay", "seatstay") if info.data.get(name, "wrong") is None]
        if brace is not None and lacking:
            what = say("job.no_stays") if lacking[1:] else say("job.no_stay", stay=lacking[0])
            raise RefusedError(what)
        for name in ("chainstay", "seatstay") if brace is not None else ():
            _met_where_known(name, info.data.get(name), getattr(brace, f"on_{name}"))
        return brace

    def given(self) -> dict[Host, TubeTable]:
        """Return the tubes that the job has, by name."""
        every: dict[Host, TubeTable | None] = {
            "chainstay": self.chainstay,
            "seatstay": self.seatstay,
            "fork-leg": self.fork_leg,
        }
        return {name: tube for name, tube in every.items() if tube is not None}

"""The keys of a job file: frozen models, one a table, every key with what it means and its unit.

A JSON schema is made from these, so a description must stand alone. Lengths come out in mm, angles in
degrees, whatever unit the file used. Checks that need two keys sit on the later of them, so that one
reading reports everything that is wrong.
"""

import re
from typing import Annotated, Literal, cast

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationInfo, WithJsonSchema, field_validator

from geometry.core.errors import RefusedError
from geometry.core.findings import Finding
from geometry.core.say import Say, say
from geometry.mount.outline import Outline, pad_fault
from geometry.tables.axles import axles, no_axle
from geometry.tables.interfaces import no_row, rows
from sheets.job import limits
from sheets.job.closed import Table, context
from sheets.job.dropout_keys import DrawnOutline, Dropout
from sheets.job.limits import FileName, Lettered, Note, Text
from sheets.job.load_keys import LoadTable
from sheets.job.own_numbers import CaliperTable, ClearanceTable
from sheets.job.paper_keys import PaperTable, Wrap
from sheets.job.stance_keys import StanceTable
from sheets.job.traveller_keys import TravellerTable
from sheets.job.tube_keys import Host, Tubes
from sheets.job.units import given
from sheets.words.tell import told

End = Literal["rear", "front"]
HOSTS: dict[End, tuple[Host, ...]] = {"rear": ("chainstay", "seatstay"), "front": ("fork-leg",)}


class Frame(Table):
    """Whose paper this is."""

    id: FileName = Field(description="the frame's number or name; it begins the name of every file drawn")
    name: Lettered | None = Field(default=None, description="the frame's name in words")
    maker: Lettered | None = Field(default=None, description="who builds it")
    customer: Text | None = Field(default=None, description="whom it is built for")
    note: Note | None = Field(default=None, description="anything to remember, up to 400 characters")


class Mount(Table):
    """Which mount, where on the bicycle, and for which disc."""

    end: End = Field(description="the end of the bicycle, rear or front")
    interface: Lettered = Field(description="the name of an interface row, such as post or flat-rear")
    rotor: Annotated[float, limits.ROTOR] = Field(description="diameter of the disc fitted, mm")
    native: Annotated[float, limits.ROTOR] | None = Field(
        default=None,
        description="disc size that the mount is made for, mm; default the row's only size, else rotor",
    )
    host: Host = Field(
        default=cast(Host, None),
        validate_default=True,
        description="the tube that carries the mount: chainstay or seatstay (rear), fork-leg (front)",
    )
    tilt: Annotated[float, limits.TILT] = Field(
        default=0.0,
        description="turns the mount from its host tube, degrees, + with the wheel's forward rotation",
    )
    carrier: Lettered | None = Field(
        default=None,
        description="what joins a tab to the frame whose plate passes beside its tube, such as a gusset",
    )

    @field_validator("interface")
    @classmethod
    def _known_row(cls, name: str, info: ValidationInfo) -> str:
        found = context(info)
        if found.problem is not None:
            raise RefusedError(found.problem)
        if found.own_row or name in rows():
            return name
        raise RefusedError(no_row(name, given(name), (*rows(), *found.names)))

    @field_validator("host", mode="before")
    @classmethod
    def _host_of_the_end(cls, host: object, info: ValidationInfo) -> object:
        end: End | None = info.data.get("end")
        if end is None:
            return host or "fork-leg"  # the wrong end is reported; a missing host is not one more problem
        if host is None and end == "front":
            return "fork-leg"
        if host is None:
            raise RefusedError(say("job.no_host"))
        if host not in HOSTS[end] and host in (*HOSTS["rear"], *HOSTS["front"]):
            allowed = {"first": HOSTS[end][0], "last": HOSTS[end][-1]}
            raise RefusedError(say(f"job.host_at_{end}", host=given(host), **allowed))
        return host


class AxleTable(Table):
    """The axle system and the dummy axle on the bench."""

    system: str = Field(description="the name of an axle system, such as 142x12 or 100-qr")
    pocket: Annotated[float, limits.POCKET] | None = Field(
        default=None, description="the dropout's own pocket depth a side, mm; default the axle system's"
    )
    # 3/4 in ground bar is what dummy axles are commonly turned from: common practice, no source.
    dummy: Annotated[float, limits.DUMMY] = Field(
        default=19.05, description="diameter of the dummy axle that the sheet slips over, mm"
    )
    heads: (
        Annotated[tuple[float, float], BeforeValidator(limits.heads), WithJsonSchema(limits.HEADS_SCHEMA)]
        | None
    ) = Field(
        default=None,
        description="the disc's screws, or its lock ring, measured: [across, high], the circle that they "
        "sweep and how far they stand past the disc's outer face, mm; default six screws on 44",
    )

    @field_validator("system", mode="before")
    @classmethod
    def _system_as_written(cls, name: object) -> object:
        # 142 x 12, 142×12 and 135-QR are the same systems as 142x12 and 135-qr.
        if not isinstance(name, str):
            return name
        # Blanks go only where a name is joined: one inside a number is a slip of the pen.
        written = re.sub(r"\s*([x-])\s*", r"\1", name.strip().casefold().replace("×", "x"))
        return written if written in axles() else name

    @field_validator("system")
    @classmethod
    def _known_system(cls, name: str) -> str:
        if name not in axles():
            raise RefusedError(no_axle(name, given(name)))
        return name


class Boss(Table):
    """The builder's own bosses or tab."""

    diameter: Annotated[float, limits.BOSS_DIAMETER] | None = Field(
        default=None, description="boss diameter, mm; default the interface row's"
    )
    length: Annotated[float, limits.BOSS_LENGTH] | None = Field(
        default=None, description="boss length from the faced mount face, mm; default the interface row's"
    )
    thickness: Annotated[float, limits.TAB] | None = Field(
        default=None, description="tab thickness once faced, without the stock for facing, mm"
    )
    near_length: Annotated[float, limits.BOSS_LENGTH] | None = Field(
        default=None,
        description="length of the near post, or of a front flat mount's near boss, where it is not length: "
        "it may have to end on the dropout, clear of the axle, mm",
    )
    share: Annotated[float, limits.SHARE] | None = Field(
        default=None,
        description="share of the tube's wall and stiffness below which a boss's hole is warned of, 0 to 1; "
        "default 0.5",
    )
    sleeve: Annotated[float, limits.SLEEVE] | None = Field(
        default=None,
        description="by how much a sleeve brazed over the host tube, or a plug inside it, thickens its wall "
        "where the bosses are let in, mm; the tube's own wall and its outside, sleeve included, are needed",
    )


class Process(Table):
    """How the mount is joined, for the record."""

    method: Literal["tig", "fillet-braze", "silver-braze"] | None = Field(
        default=None, description="tig, fillet-braze or silver-braze"
    )
    amps: Annotated[float, limits.AMPS] | None = Field(default=None, description="welding current, A")
    filler: Text | None = Field(default=None, description="filler rod or wire")
    material: Text | None = Field(default=None, description="what tube and mount are made of")
    facing: Annotated[float, limits.FACING] = Field(
        default=0.0, description="stock left on the mount face for facing after heat, mm"
    )


class Bench(Table):
    """What lies in the drawer."""

    spacers: tuple[Annotated[float, limits.SPACER], ...] = Field(
        default=(), max_length=500, description="spacers in stock, mm; one entry a piece"
    )
    pins: Annotated[
        tuple[Annotated[float, limits.PIN], ...],
        BeforeValidator(lambda value: value if isinstance(value, list | tuple) else [value]),
        Field(max_length=100),
        WithJsonSchema(limits.PINS_SCHEMA),
    ] = Field(default=(), description="pin diameter or diameters in stock, mm")
    plate: Annotated[float, limits.PLATE] | None = Field(
        default=None, description="thickness of the setting plate, mm"
    )
    plate_bore: Annotated[float, limits.DUMMY] | None = Field(
        default=None, description="bore of the setting plate, mm, where it is not the dummy axle's"
    )
    plate_face: Literal["inside", "outside"] | None = Field(
        default=None, description="the dropout face that the plate lies against, inside or outside"
    )
    plate_material: Literal["steel", "aluminium", "brass"] = Field(
        default="steel", description="what the fixture's plate is made of: steel, aluminium or brass"
    )
    fixture: bool = Field(
        default=False, description="draw patterns for a fixture made from plate and bar; true or false"
    )
    dxf: bool = Field(
        default=False,
        description="draw that fixture, and write what a machine cuts as DXF too, which needs the dxf extra; "
        "true or false",
    )


Measured = Literal["h", "x_near", "x_far", "spacing", "near", "far", "lateral"]
"""The numbers of which a row may say how far they may be off."""


class OwnInterface(Table):
    """The job's own interface row: a mount that the tables lack, or better numbers for one that they have."""

    name: Lettered | None = Field(default=None, description="the row's name; default mount.interface")
    family: Literal["tab", "post", "flat"] | None = Field(
        default=None, description="tab, post or flat; default the family of the table's row of that name"
    )
    native: Annotated[float, limits.ROTOR] | None = Field(
        default=None, description="disc diameter that the mount is made for, mm"
    )
    hole: Annotated[float, limits.HOLE] | None = Field(default=None, description="drill or slot width, mm")
    tolerance: Annotated[float, limits.TOLERANCE] | None = Field(
        default=None, description="plus or minus on the hole positions, mm"
    )
    lateral: Annotated[float, limits.LATERAL] | None = Field(
        default=None, description="tab inner face or middle of the holes from the datum face, mm, + outboard"
    )
    source: Lettered = Field(description="where the numbers come from; it is printed with them")
    second_source: Lettered | None = Field(
        default=None,
        description="where the numbers of a second mount come from that agrees; it is printed too",
    )
    grade: Literal["measured", "own"] = Field(
        default="own", description="measured, on a mount that works, or own; it is printed"
    )
    mounts: Annotated[int, Field(ge=1, le=99)] | None = Field(
        default=None,
        description="how many mounts a measured row was read on, 1 if left out; one alone is warned of",
    )
    makers: Annotated[int, Field(ge=1, le=99)] | None = Field(
        default=None,
        description="of how many makers those mounts are, unknown ones together as one; three make grade M",
    )
    uncertainty: dict[Measured, Annotated[float, limits.TOLERANCE]] = Field(
        default={}, description="plus or minus of each number at about 95 %, mm, such as { h = 0.05 }"
    )
    near: Annotated[float, limits.RADIUS] | None = Field(
        default=None, description="axle to near hole, mm; with far and spacing"
    )
    far: Annotated[float, limits.RADIUS] | None = Field(default=None, description="axle to far hole, mm")
    spacing: Annotated[float, limits.RADIUS] | None = Field(default=None, description="hole to hole, mm")
    h: Annotated[float, limits.HEIGHT] | None = Field(
        default=None,
        description="height of hole line or mount face above the axle, mm; with x_near and x_far",
    )
    x_near: Annotated[float, limits.ALONG] | None = Field(
        default=None, description="near hole along the mount from the foot of the perpendicular, mm"
    )
    # Last, because its check needs all six.
    x_far: Annotated[float, limits.ALONG] | None = Field(
        default=None, validate_default=True, description="far hole from the foot of the perpendicular, mm"
    )

    @field_validator("mounts")
    @classmethod
    def _of_a_measured_row(cls, mounts: int | None, info: ValidationInfo) -> int | None:
        if mounts is not None and info.data.get("grade", "measured") != "measured":
            raise RefusedError(say("job.not_measured", mounts=mounts))
        return mounts

    @field_validator("makers")
    @classmethod
    def _of_those_mounts(cls, makers: int | None, info: ValidationInfo) -> int | None:
        most = info.data.get("mounts", makers) or 1
        if makers is not None and makers > most:
            raise RefusedError(say("job.more_makers", makers=makers, mounts=most))
        return makers

    @field_validator("x_far")
    @classmethod
    def _one_form(cls, x_far: float | None, info: ValidationInfo) -> float | None:
        # A key that is wrong in itself is missing from the data; it counts as given.
        data = {**info.data, "x_far": x_far}
        present = {key for key in (*_RADII, *_LINE) if data.get(key, "wrong") is not None}
        if present not in ({*_RADII}, {*_LINE}):
            found = ", ".join(key for key in (*_RADII, *_LINE) if key in present)
            what = say("job.mixed_forms", keys=found) if found else say("job.no_form")
            raise RefusedError(what, "")
        for low, high in (("near", "far"), ("x_near", "x_far")):
            first, second = data.get(low), data.get(high)
            if first is not None and second is not None and first >= second:
                what = say("job.near_beyond_far", near=first, key=high, far=second)
                raise RefusedError(what, low)
        return x_far


_RADII = ("near", "far", "spacing")
_LINE = ("h", "x_near", "x_far")


class Job(Table):
    """One job file: one mount. Lengths in mm, angles in degrees."""

    frame: Frame = Field(description="whose paper this is")
    mount: Mount = Field(description="which mount, where, and for which disc")
    axle: AxleTable = Field(description="axle system and dummy axle")
    dropout: Dropout = Field(default=Dropout(), description="the disc-side dropout")
    stance: StanceTable = Field(
        default=StanceTable(), validate_default=True, description="how the bicycle stands on level ground"
    )
    outline: DrawnOutline | None = Field(
        default=None, description="what was read from the drawing of dropout.outline; packets bring it"
    )
    tubes: Tubes = Field(default=Tubes(), description="the tubes that meet at the dropout")
    boss: Boss = Field(default=Boss(), description="the builder's own bosses or tab")
    process: Process = Field(default=Process(), description="how the mount is joined")
    bench: Bench = Field(default=Bench(), description="what lies in the drawer")
    paper: PaperTable = Field(default=PaperTable(), description="what it is printed on")
    wrap: Wrap = Field(default=Wrap(), description="the wraps for the tubes")
    caliper: CaliperTable | None = Field(default=None, description="the caliper, measured by its owner")
    clearance: ClearanceTable = Field(default=ClearanceTable(), description="clearances to ask for")
    load: LoadTable = Field(default=LoadTable(), description="what braking is reckoned with")
    traveller: TravellerTable = Field(
        default=TravellerTable(), description="the paper that follows the frame and is filed with it"
    )
    interface: OwnInterface | None = Field(default=None, description="the job's own interface row")
    _damaged: Say | None = PrivateAttr(default=None)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Return what is no sheet's: that the builder's own rows are damaged and left out."""
        if self._damaged is None:
            return ()
        return (Finding("own-rows-damaged", "warn", told(self._damaged), "mount.interface"),)

    def without_own_rows(self, why: Say) -> "Job":
        """Return this job with that warning."""
        job = self.model_copy()
        job._damaged = why
        return job

    @field_validator("stance")
    @classmethod
    def _stance_of_an_outline(cls, stance: StanceTable, info: ValidationInfo) -> StanceTable:
        mount: Mount | None = info.data.get("mount")
        dropout: Dropout | None = info.data.get("dropout")
        if mount is None or dropout is None or dropout.outline_from != "plumb":
            return stance
        if not stance.of(mount.end).known:
            raise RefusedError(say(f"job.outline_by_plumb_{mount.end}"), "dropout.outline_from")
        return stance

    @field_validator("outline")
    @classmethod
    def _outline_of_the_dropout(cls, drawn: DrawnOutline | None, info: ValidationInfo) -> DrawnOutline | None:
        dropout: Dropout | None = info.data.get("dropout")
        if drawn is not None and dropout is not None and drawn.file != dropout.outline:
            raise RefusedError(say("job.other_outline", file=given(drawn.file)), "outline.file")
        pad = None if drawn is None or dropout is None else dropout.pad
        if pad is not None and drawn is not None and (wrong := pad_fault(pad, Outline(drawn.points))):
            raise RefusedError(wrong, "dropout.pad")
        return drawn

    @field_validator("tubes")
    @classmethod
    def _tubes_of_the_end(cls, tubes: Tubes, info: ValidationInfo) -> Tubes:
        mount: Mount | None = info.data.get("mount")
        if mount is None:
            return tubes
        stray = [name for name in tubes.given() if name not in HOSTS[mount.end]]
        if stray:
            what = say("job.other_ends_tubes", tubes=tuple(stray), end=mount.end, allowed=HOSTS[mount.end])
            raise RefusedError(what, f"tubes.{stray[0]}")
        return tubes

    @field_validator("interface")
    @classmethod
    def _row_of_the_mount(cls, own: OwnInterface | None, info: ValidationInfo) -> OwnInterface | None:
        mount: Mount | None = info.data.get("mount")
        if own is None or mount is None:
            return own
        if own.name is not None and own.name != mount.interface:
            what = say("job.other_name", name=given(own.name), interface=given(mount.interface))
            raise RefusedError(what, "interface.name")
        if own.native is not None and mount.native is not None and own.native != mount.native:
            what = say("job.other_native", own=own.native, native=mount.native)
            raise RefusedError(what, "interface.native")
        return own

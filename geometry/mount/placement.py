"""From a job's numbers to where the mount sits: holes, face, rotor and datum, in the axes of the package."""

from geometry.core.errors import GeometryError, TableError
from geometry.core.findings import Finding, Level, texts
from geometry.core.frozen import dataclass
from geometry.core.plane import Point, polar, turned
from geometry.core.say import Say, named, say
from geometry.core.tables import Grade, weakest
from geometry.tables.adapters import Adapter, Disc, adapter, bolts, disc
from geometry.tables.axles import Axle, End, axles
from geometry.tables.interfaces import Interface

Space = tuple[float, float, float]
MEETING: dict[End, tuple[str, ...]] = {"rear": ("chainstay", "seatstay"), "front": ("fork-leg",)}
"""The tubes that meet at the disc-side dropout of either end."""
_ROW = "mount.interface"
_ENOUGH = 2
"""Mounts that must agree before a row that was measured is trusted: one alone may be bent, or made for
another size."""

SLIDE = 1.0
"""How far a caliper slides sideways about its middle, mm: within it a pocket of another depth than usual
is a note, beyond it the pads cannot follow the disc. Grade D, own judgement after slots as remembered."""


@dataclass(frozen=True, slots=True)
class Hole:
    """One hole: its centre (x, y, z), the unit direction a screw or drill goes in, and its diameter, mm."""

    name: str
    centre: Space
    axis: Space
    diameter: float


@dataclass(frozen=True, slots=True)
class Rotor:
    """The disc fitted, mm. The inner face is the one on the hub flange; None where the table lacks it."""

    radius: float
    thickness: float
    track: float
    inner_face_z: float | None
    outer_face_z: float | None


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a mount sits. `t` runs up the host tube and `n` to its mount side, both turned by tilt.

    Hole i is h * n + x_i * t in the side view. `datum_z` is where the datum face lies: 0 at the rear, the
    pocket's floor at the front, and `datum_shift` is that same number. `lateral_z` is the tab's inner face,
    or the middle line of posts or slots. `findings` are what is to be said of it.
    """

    end: End
    host: str
    tilt: float
    t: Point
    n: Point
    interface: Interface
    axle: Axle
    pocket: float
    pocket_grade: Grade
    datum_shift: float
    lateral_z: float
    holes: tuple[Hole, Hole]
    rotor: Rotor
    adapter: Adapter
    grade: Grade
    findings: tuple[Finding, ...]

    @property
    def stamps(self) -> tuple[Say | str, ...]:
        """Return what keeps a row from being trusted as it stands, lettered large on full-size sheets."""
        return texts(each for each in self.findings if each.large)

    @property
    def confirm(self) -> tuple[Say | str, ...]:
        """Return what the grade of the numbers asks for before anything is cut."""
        return texts(each for each in self.findings if each.code in ("grade", "measured"))

    @property
    def quiet(self) -> tuple[Say | str, ...]:
        """Return the sentences that are neither a stamp nor the grade's."""
        return texts(
            each for each in self.findings if not each.large and each.code not in ("grade", "measured")
        )


def host_direction(host: str, included: float | None) -> float:
    """Return the direction of a host tube up from the axle, degrees from +x in the outboard view.

    A chainstay points at 180, a fork leg at 90, a seatstay at 180 less the angle between the stays.
    Raise GeometryError where a seatstay comes without that angle.
    """
    if host == "chainstay":
        return 180.0
    if host == "fork-leg":
        return 90.0
    if included is None:
        raise GeometryError.at("tubes.seatstay.included", say("placement.no_included"))
    return 180.0 - included


def place(
    interface: Interface,
    axle: Axle,
    *,
    rotor: float,
    host: str,
    direction: float,
    tilt: float = 0.0,
    pocket: float | None = None,
) -> Placement:
    """Return the placement of an interface on an axle; `pocket` None takes the axle system's.

    `direction` is the host tube's (see host_direction), `tilt` turns the mount anticlockwise from it.
    Raise TableError where a number that the placement rests on is missing from the tables.
    """
    end = interface.end
    if axle.end != end:
        fitting = ", ".join(name for name, each in axles().items() if each.end == end)
        told = say("placement.other_end", axle=axle.name, its=named(axle.end), end=end, fitting=fitting)
        raise TableError.at("axle.system", told)
    depth, depth_grade, found = _pocket(axle, pocket, end)
    datum = depth if end == "front" else 0.0
    wheel = _rotor(axle, rotor, depth, disc())
    if interface.lateral_rests_on_rotor and wheel.inner_face_z is None:
        told = say("placement.needs_rotor", axle=axle.name, interface=interface.name)
        raise TableError.at("axle.system", told)
    step = adapter(bolts(interface), interface.native, rotor)
    t = polar(direction + tilt)
    n = turned(t, -90.0)
    z = datum + interface.lateral.value
    axis: Space = {"-z": (0.0, 0.0, -1.0), "+n": (*n, 0.0), "-n": (-n[0] + 0.0, -n[1] + 0.0, 0.0)}[
        interface.screw
    ]
    near, far = (
        Hole(
            name,
            (interface.h * n[0] + x * t[0], interface.h * n[1] + x * t[1], z),
            axis,
            interface.hole.diameter.value,
        )
        for name, x in (("near", interface.x_near), ("far", interface.x_far))
    )
    grade = weakest([interface.grade, depth_grade]) if end == "front" else interface.grade
    return Placement(
        end=end,
        host=host,
        tilt=tilt,
        t=t,
        n=n,
        interface=interface,
        axle=axle,
        pocket=depth,
        pocket_grade=depth_grade,
        datum_shift=datum,
        lateral_z=z,
        holes=(near, far),
        rotor=wheel,
        adapter=step,
        grade=grade,
        findings=(*_stamps(interface), *_trust(interface, grade), *found, *_missing(wheel, axle)),
    )


def _pocket(axle: Axle, own: float | None, end: End) -> tuple[float, Grade, tuple[Finding, ...]]:
    """Return the pocket's depth, its grade and what to say of it."""
    if own is None:
        if axle.pocket is None:
            raise TableError.at("axle.pocket", say("placement.no_pocket", axle=axle.name))
        return axle.pocket.value, axle.pocket.grade, ()
    usual = axle.pocket.value if axle.pocket else None
    if end == "rear" and usual is not None and own != usual:
        way = "deeper" if own > usual else "shallower"
        what = say(f"placement.pocket.{way}", own=own, axle=axle.name, usual=usual, by=abs(own - usual))
        far = abs(own - usual) > SLIDE
        brief = say(f"placement.pocket_brief.{way}", own=own, axle=axle.name, by=abs(own - usual))
        do = say("placement.pocket_remedy.far" if far else "placement.pocket_remedy.near", slide=SLIDE)
        level: Level = "warn" if far else "note"
        return own, "own", (Finding("pocket-unusual", level, what, "axle.pocket", brief=brief, remedy=do),)
    return own, "own", ()


def _rotor(axle: Axle, diameter: float, pocket: float, numbers: Disc) -> Rotor:
    """Return the disc; the hub's end seats on the pocket's floor at either end of the bicycle."""
    inner = None if axle.rotor is None else pocket - axle.rotor.value
    outer = None if inner is None else inner + numbers.thickness.value
    return Rotor(diameter / 2.0, numbers.thickness.value, numbers.track.value, inner, outer)


def _stamps(interface: Interface) -> tuple[Finding, ...]:
    """Return what keeps a row from being trusted as it stands: its numbers were derived, or measured once."""
    said = []
    if interface.provisional:
        said.append(Finding("provisional", "note", say("placement.provisional"), _ROW, large=True))
    if interface.mounts is not None and interface.mounts < _ENOUGH:
        said.append(Finding("one-mount", "note", _banded(interface), _ROW, large=True))
    return tuple(said)


def _banded(interface: Interface) -> Say:
    """Return a measured row's numbers with their bands: radii, or height and distances along the mount."""
    near, far = interface.radii
    bands = dict(interface.bands)
    radii = {"near": near, "far": far}
    line = {"h": interface.h, "x_near": interface.x_near, "x_far": interface.x_far}
    by_line = not bands.keys().isdisjoint(line) and bands.keys().isdisjoint(radii)
    shown, which = (line, "line") if by_line else (radii, "radii")
    if interface.lateral.grade == "own":
        shown, which = {**shown, "lateral": interface.lateral.value}, f"{which}_and_lateral"
    return say(
        f"placement.one_mount.{which}",
        **{
            key: say("placement.banded", value=value, band=bands[key])
            if key in bands
            else say("placement.unbanded", value=value)
            for key, value in shown.items()
        },
    )


def _quoted(note: Say | str) -> Say:
    """Return a note of the table as something said, so that its lengths are told like all others."""
    return say("tables.interface.note", said=note) if isinstance(note, str) else note


def _trust(interface: Interface, grade: Grade) -> tuple[Finding, ...]:
    said = [Finding("row", "note", _quoted(each), _ROW) for each in interface.notes]
    if grade == "M" and interface.makers is not None:
        # Nothing is left to confirm but that this caliper is one of that kind.
        measured = say("placement.measured", makers=interface.makers)
        return (Finding("measured", "note", measured, _ROW), *said)
    if grade not in ("C", "D"):
        return tuple(said)
    return (Finding("grade", "note", say("placement.confirm", grade=grade), _ROW), *said)


def _missing(rotor: Rotor, axle: Axle) -> tuple[Finding, ...]:
    if rotor.inner_face_z is not None:
        return ()
    what = say("placement.no_rotor", axle=axle.name)
    return (Finding("no-rotor-position", "unknown", what, "axle.system"),)

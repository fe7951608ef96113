"""Which rows of the tables the page of numbers lists, under which heading, and in which unit."""

from collections.abc import Mapping
from typing import Any

from geometry.braking.strength import joint_of
from geometry.mount.placement import Placement
from sheets.job.read import Job
from sheets.setup.screws import engaged
from sheets.setup.setup import SetUp

GROUPS: dict[tuple[str, str], str] = {
    ("interfaces", "row"): "mount",
    ("interfaces", "second"): "mount",
    ("axles", "axle"): "axle",
    ("caliper", "hub"): "axle",
    ("interfaces", "disc"): "disc",
    ("interfaces", "adapter"): "disc",
    ("interfaces", "adapter_spread"): "disc",
    ("fasteners", "screw"): "screws",
    ("fasteners", "engagement"): "screws",
    ("fasteners", "torque"): "screws",
    ("fasteners", "flat_rear"): "screws",
    ("fasteners", "stock"): "screws",
    ("fasteners", "thread"): "screws",
    ("survey", "limit"): "readings",
    ("survey", "reading"): "readings",
    ("survey", "pin"): "readings",
    ("survey", "jaws"): "readings",
    ("survey", "test"): "readings",
    ("survey", "play"): "readings",
    ("caliper", "limits"): "clearances",
    ("caliper", "room"): "clearances",
    ("caliper", "pads"): "clearances",
    ("caliper", "keys"): "clearances",
    ("caliper", "bolts"): "clearances",
    ("caliper", "metal"): "clearances",
    ("carried", "seam"): "clearances",
    ("carried", "foot"): "clearances",
    ("carried", "hole"): "clearances",
    ("loads", "kind"): "braking",
    ("loads", "end"): "braking",
    ("loads", "rest"): "braking",
    ("loads", "stance"): "braking",
    ("loads", "arm"): "braking",
    ("materials", "material"): "braking",
    ("materials", "near"): "braking",
    ("strength", "line"): "braking",
    ("strength", "length"): "braking",
    ("strength", "wall"): "braking",
    ("strength", "part"): "braking",
    ("strength", "screw"): "braking",
    ("strength", "fatigue"): "braking",
    ("fixture", "number"): "fixture",
    ("fixture", "play"): "fixture",
    ("fixture", "fit"): "fixture",
    ("fixture", "bar"): "fixture",
    ("fixture", "material"): "fixture",
    ("printer", "paper"): "paper",
    ("printer", "span"): "paper",
    ("printer", "check"): "paper",
    ("printer", "printer"): "paper",
    ("cautions", "caution"): "cautions",
}
"""The headings, in the order in which they stand, by table and key. The builder's own numbers come last."""

# Shares are told in per cent, so that 0.65 of the weight is 65 %. What has no unit is a plain number or says
# in its name what it counts. All that is not named here is mm.
_UNITS: dict[tuple[str, str, str], str] = {
    ("interfaces", "row", "path_angle"): "°",
    ("interfaces", "second", "angle"): "°",
    ("fasteners", "engagement", "value"): "",
    ("fasteners", "torque", "low"): "N m",
    ("fasteners", "torque", "high"): "N m",
    ("caliper", "room", "pads_least"): "°",
    ("caliper", "room", "pads_most"): "°",
    ("caliper", "metal", "asked"): "",
    ("caliper", "metal", "least"): "",
    ("carried", "foot", "least"): "%",
    ("survey", "limit", "turn"): "°",
    ("survey", "test", "power"): "",
    ("survey", "test", "critical"): "",
    ("loads", "kind", "mass"): "kg",
    ("loads", "kind", "behind"): "%",
    ("loads", "kind", "height"): "",
    ("loads", "end", "deceleration"): "m/s²",
    ("loads", "end", "share"): "%",
    ("loads", "end", "grip"): "",
    ("loads", "rest", "gravity"): "m/s²",
    ("loads", "rest", "friction"): "",
    ("loads", "rest", "ratio"): "",
    ("loads", "rest", "slot"): "N",
    ("loads", "rest", "secured"): "N",
    ("loads", "stance", "leg_least"): "°",
    ("loads", "stance", "leg_most"): "°",
    ("loads", "stance", "chainstay_least"): "°",
    ("loads", "stance", "chainstay_most"): "°",
    ("materials", "material", "delivered"): "MPa",
    ("materials", "material", "heated"): "MPa",
    ("materials", "material", "modulus"): "MPa",
    ("strength", "line", "look"): "",
    ("strength", "part", "share"): "%",
    ("strength", "screw", "nut_factor"): "",
    ("strength", "screw", "area"): "mm²",
    ("strength", "fatigue", "range"): "MPa",
    ("strength", "fatigue", "cycles"): "",
    ("strength", "fatigue", "slope"): "",
    ("strength", "fatigue", "sum"): "",
    ("strength", "fatigue", "half"): "",
    ("strength", "fatigue", "ordinary"): "",
    ("fixture", "number", "edge"): "",
    ("fixture", "number", "hand"): "N",
    ("fixture", "material", "stiffness"): "MPa",
    ("printer", "paper", "along"): "%",
    ("printer", "paper", "across"): "%",
    ("printer", "span", "share"): "%",
    ("printer", "printer", "most"): "%",
    ("printer", "printer", "repeat"): "%",
    ("printer", "printer", "skew"): "°",
    ("printer", "printer", "most_skew"): "°",
    ("own", "mount", "tilt"): "°",
    ("own", "dropout", "slot"): "°",
    ("own", "dropout", "outline_turned"): "°",
    ("own", "stance", "leg"): "°",
    ("own", "stance", "head"): "°",
    ("own", "stance", "chainstay"): "°",
    ("own", "tubes", "splay"): "°",
    ("own", "tubes", "included"): "°",
    ("own", "boss", "share"): "%",
    ("own", "process", "amps"): "A",
    ("own", "load", "mass"): "kg",
    ("own", "load", "deceleration"): "m/s²",
    ("own", "load", "share"): "%",
    ("own", "load", "friction"): "",
    ("own", "load", "ratio"): "",
}
OF_FORKS = frozenset(
    {("strength", "fatigue", "sum"), ("strength", "fatigue", "half"), ("strength", "fatigue", "ordinary")}
)
"""Numbers that the published fork test alone rests on, which no rear end's packet has."""
METRIC = "metric"
_METRIC = frozenset(
    {
        ("interfaces", "disc", "sizes"),
        ("fasteners", "screw", "pitch"),
        ("fasteners", "screw", "key"),
        ("fasteners", "stock", "lengths"),
        ("fasteners", "flat_rear", "thicknesses"),
        ("interfaces", "adapter", "step"),
        ("own", "mount", "rotor"),
        ("own", "mount", "native"),
    }
)
"""What is known by its mm, whatever the job's units: discs, threads, keys, screws in stock."""
_SIZED = ("at", "near_radius", "turned")
"""Parts of a row that hold something for each native size."""


def name_of(key: str, place: str) -> str:
    """Return under which name a number stands in number.toml, below its table and key.

    It is the number's place without end and native size: its name is the same for all of them.
    """
    parts = [each for each in place.split(".") if each not in ("front", "rear")]
    if parts[0] in _SIZED:
        del parts[1]
    if parts[0] == "at":
        del parts[0]
    if parts[-1] in ("M5", "M6"):
        parts[-1] = {"keys": "reach", "screw": "area", "play": "hole"}[key]
    return "_".join(parts).replace("-", "_") or "value"


def unit_of(table: str, key: str, place: str) -> str:
    """Return the unit in which a number is told: "" for a plain one, METRIC for mm in every job."""
    last = place if table == "own" else name_of(key, place)
    return METRIC if (table, key, last) in _METRIC else _UNITS.get((table, key, last), "mm")


def is_listed(
    table: str, key: str, row: Mapping[str, Any], job: Job, placement: Placement, setup: SetUp
) -> bool:
    """Tell whether a row's numbers are listed: some that a record keeps are of no use in this packet.

    What only fixtures need is left out without one, what only the survey's remedies need is not printed, and
    the values of cautions come from the cautions themselves, those of the fork test among them.
    """
    face, group = placement.interface, GROUPS.get((table, key))
    if group is None or group == "cautions":
        return False
    if (table, key) == ("interfaces", "row"):
        return not face.own
    if (table, key) == ("interfaces", "adapter"):
        disc = job.mount.rotor
        return row.get("end", face.end) == face.end and disc in row.get("only", (disc,))
    if (table, key) == ("fasteners", "thread"):
        return setup.fixture is not None and row["name"] == face.hole.screw
    if group == "fixture":
        return setup.fixture is not None
    if group == "braking" and setup.load is None:
        return False
    if (table, key) == ("strength", "fatigue") and joint_of(job.process.method) == "brazed":
        return False
    if (table, key) == ("loads", "arm"):
        return face.end == "front"
    if (table, key) == ("printer", "printer"):
        return bool(job.paper.printer)
    if (table, key) == ("fasteners", "engagement"):
        return engaged(job, placement) in row["materials"]
    if (table, key) == ("fasteners", "stock"):
        return face.family == "tab"
    return True

"""A job's fixture: worked out where it is asked for, as lines for `check` and as JSON."""

from collections.abc import Mapping
from typing import Any

from geometry.fixture.fixture import Fixture, Means, fixture
from geometry.fixture.play import Chain, Way
from geometry.fixture.shape import Drill, Part
from geometry.mount.placement import Placement
from geometry.mount.stack import PlateFace, sleeve
from geometry.tubes.tube import Tube
from sheets.job.keys import Job
from sheets.words.as_json import as_json, picked
from sheets.words.fixture import checking, giving, heat, make, making, straying, table, through, warnings
from sheets.words.tell import tell, told

_PARTS = {"plate": "side plate", "top": "bar, top", "side": "bar, side", "bar": "bar"}
_WAYS: dict[Way, str] = {
    "along": "along the tube",
    "up": "up from the axle",
    "plane": "in the plane",
    "sideways": "sideways",
}
"""Parts, and ways that a mount strays, as documents have them, which are read by programs."""


def fixture_of(
    job: Job, placement: Placement, tubes: Mapping[str, Tube], face: PlateFace | None
) -> Fixture | None:
    """Return the job's fixture, None where none is asked for; `face` is what the set-up's stack chose.

    Raise GeometryError, naming the job's key, where a number is missing or the parts cannot be made.
    """
    bench, boss = job.bench, job.boss
    if not (bench.fixture or bench.dxf):
        return None
    means = Means(
        face=bench.plate_face or face or "inside",
        bore=bench.plate_bore or job.axle.dummy,
        plate=bench.plate,
        metal=bench.plate_material,
        dropout_thickness=job.dropout.thickness,
        mount_size=boss.thickness if placement.interface.family == "tab" else boss.diameter,
        facing=job.process.facing,
        sleeved=bool(bench.plate_bore and sleeve(bench.plate_bore, job.axle.dummy)),
    )
    return fixture(placement, means, tubes.values())


def fixture_rows(fix: Fixture | None) -> list[tuple[str, str]]:
    """Return the lines of `check` that tell of a fixture, name and text; none without one.

    How it is set up is told with the stack, which is its own.
    """
    if fix is None:
        return []
    said = (*making(fix), *checking(fix), *straying(fix), *heat(fix))
    rows = [(tell("fixture.row.fixture"), each) for each in said]
    for part in fix.parts:
        name = tell(f"fixture.part.{part.name}")
        rows.append((tell("fixture.row.part", part=name), told(part.stock)))
        heads, lines = table(part)
        for hole, *values in lines:
            found = ", ".join(f"{head} {each}" for head, each in zip(heads[1:], values, strict=True) if each)
            rows.append((tell("fixture.row.hole", part=name, hole=hole), found))
    return rows + [(tell("fixture.row.gives"), giving(each)) for each in fix.gives]


def fixture_json(fix: Fixture) -> dict[str, Any]:
    """Return a fixture for JSON: its parts with their drill tables, what gives, room for a torch; mm."""
    return {
        **picked(fix, "face", "plate"),
        "material": fix.metal.name,
        **picked(fix, "bore", "collar", "spacer", "level", "line_in", "facing", "bar"),
        "key_rod": fix.key_rod or None,
        "parts": [
            {
                "name": _PARTS[part.name],
                "stock": part.stock,
                "drill": [
                    _drill(part, hole) for hole in (*part.holes, *((part.relief,) if part.relief else ()))
                ],
            }
            for part in fix.parts
        ],
        "deflection": [
            {"part": _PARTS[each.part], **picked(each, "force", "length", "amount", "grade", "how")}
            for each in fix.gives
        ],
        "play": [_play(chain) for chain in fix.loose.chains],
        "lean": {**as_json(fix.loose.lean), **picked(fix.loose.lean, "degrees", "amount", "pulled")},
        "turn": fix.loose.turn,
        "torch_room": fix.seams,
        "warnings": warnings(fix),
    }


def _drill(part: Part, hole: Drill) -> dict[str, Any]:
    flat = part.name == "top"
    return {
        **picked(hole, "name", "along", "up", "diameter"),
        "make": make(hole),
        "through": through(hole),
        **picked(hole, "pair", "length"),
        "from_edge": part.from_edge(hole),
        "radius": None if flat else hole.radius,
        "angle": None if flat or not hole.radius else hole.angle,
    }


def _play(chain: Chain) -> dict[str, Any]:
    return {"way": _WAYS[chain.way], **picked(chain, "worst_case", "rss", "asked", "grade", "links")}

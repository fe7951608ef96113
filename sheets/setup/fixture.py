"""A job's fixture: worked out where it is asked for, as lines for `check` and as JSON."""

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from geometry.fixture.fixture import Fixture, Means, fixture
from geometry.mount.placement import Placement
from geometry.mount.stack import PlateFace, sleeve
from geometry.tubes.tube import Tube
from sheets.job.keys import Job
from sheets.words.fixture import across, checking, giving, heat, making, straying, table, warnings


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
    rows = [("fixture", each) for each in (*making(fix), *checking(fix), *straying(fix), *heat(fix))]
    for part in fix.parts:
        rows.append((f"fixture, {part.name}", part.stock))
        heads, lines = table(part)
        for name, *values in lines:
            told = ", ".join(f"{head} {each}" for head, each in zip(heads[1:], values, strict=True) if each)
            rows.append((f"{part.name}, {name}", told))
    return rows + [("fixture gives", giving(each)) for each in fix.gives]


def fixture_json(fix: Fixture) -> dict[str, Any]:
    """Return a fixture for JSON: its parts with their drill tables, what gives, room for a torch; mm."""
    return {
        "face": fix.face,
        "plate": fix.plate,
        "material": fix.metal.name,
        "bore": fix.bore,
        "collar": fix.collar,
        "spacer": fix.spacer,
        "level": fix.level,
        "line_in": fix.line_in,
        "facing": fix.facing,
        "bar": fix.bar,
        "key_rod": fix.key_rod or None,
        "parts": [
            {
                "name": part.name,
                "stock": part.stock,
                "drill": [
                    {
                        **asdict(hole),
                        "from_edge": across(part, hole),
                        "radius": hole.radius if part.name != "bar, top" else None,
                        "angle": hole.angle if part.name != "bar, top" and hole.radius else None,
                    }
                    for hole in (*part.holes, *((part.relief,) if part.relief else ()))
                ],
            }
            for part in fix.parts
        ],
        "deflection": [asdict(each) for each in fix.gives],
        "play": [
            {
                "way": chain.way,
                "worst_case": chain.worst_case,
                "rss": chain.rss,
                "asked": chain.asked,
                "grade": chain.grade,
                "links": [asdict(each) for each in chain.links],
            }
            for chain in fix.loose.chains
        ],
        "lean": {
            **asdict(fix.loose.lean),
            "degrees": fix.loose.lean.degrees,
            "amount": fix.loose.lean.amount,
            "pulled": fix.loose.lean.pulled,
        },
        "turn": fix.loose.turn,
        "torch_room": [asdict(each) for each in fix.seams],
        "warnings": list(warnings(fix)),
    }

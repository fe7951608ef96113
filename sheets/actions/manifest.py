"""What was drawn, as one JSON document: the job, the placement, every file, page and named feature.

Lengths in mm, angles in degrees. X, Y are on the printed page, x, y, z in the axes of the bicycle. A
number that the tables lack is null. Floats are rounded to a nanometre, so that a document can be compared.
"""

import json
import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from geometry.clearance.judged import Clearance
from geometry.core.findings import Finding
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from geometry.printing.distortion import Distortion
from sheets.ink.corrected import point_in_file
from sheets.ink.records import Arc, Circle, Curve, Feature, Segment, Sheet, Slot
from sheets.job.keys import Job
from sheets.setup.brake_screen import loaded_json
from sheets.setup.findings import document
from sheets.setup.fixture import fixture_json
from sheets.setup.setup import SetUp
from sheets.words.tell import told

DECIMALS = 6


@dataclass(frozen=True, slots=True)
class Drawn:
    """A delivered file: where it lies, its kind ("pdf", "svg" or "dxf") and the sheets on its pages.

    The sheets are as the paper shall show them; `distortion` is the printer's for which they are corrected.
    """

    path: Path
    kind: str
    sheets: tuple[Sheet, ...]
    distortion: Distortion | None = None


def checked(job: Job, placement: Placement, setup: SetUp, found: Sequence[Finding]) -> dict[str, Any]:
    """Return the document of a job that was computed and not drawn: job, placement, setup, findings."""
    return {
        "job": job_json(job),
        "placement": placement_json(placement),
        "setup": setup_json(setup),
        **_fixture(setup.fixture),
        "findings": document(found),
        "warnings": [told(each.text) for each in found],
    }


def drawn(
    job: Job,
    placement: Placement,
    files: Iterable[Drawn],
    found: Sequence[Finding],
    fixture: Fixture | None = None,
) -> dict[str, Any]:
    """Return the document of a job that was drawn: job, placement, files, the fixture's if any, findings."""
    return {
        "job": job_json(job),
        "placement": placement_json(placement),
        "files": [file_json(file) for file in files],
        **_fixture(fixture),
        "findings": document(found),
        "warnings": [told(each.text) for each in found],
    }


def _fixture(fixture: Fixture | None) -> dict[str, Any]:
    """Return the part of a document that tells of a fixture; a job without one has no such key."""
    return {} if fixture is None else {"fixture": _rounded(fixture_json(fixture))}


def text(document: Any) -> str:
    """Return a document as JSON text; ValueError for a number that is not finite."""
    parts: list[str] = []
    _write(document, "\n", parts.append)
    return "".join(parts)


def _write(value: Any, line: str, add: Callable[[str], None]) -> None:
    """Add JSON as json.dumps(value, indent=2, allow_nan=False) has it; `line` begins a line of this level.

    The library indents in a generator a level, which takes several times as long.
    """
    deeper = line + "  "
    if type(value) is float and math.isfinite(value):
        add(repr(value))
    elif isinstance(value, dict) and value and all(type(key) is str for key in value):
        before = "{" + deeper
        for key, each in value.items():
            add(before + json.dumps(key) + ": ")
            _write(each, deeper, add)
            before = "," + deeper
        add(line + "}")
    elif isinstance(value, list | tuple) and value:
        before = "[" + deeper
        for each in value:
            add(before)
            _write(each, deeper, add)
            before = "," + deeper
        add(line + "]")
    else:
        add(json.dumps(value, indent=2, allow_nan=False))


def job_json(job: Job) -> Any:
    """Return the job as it was given, its keys those of the file, its numbers in mm and degrees."""
    return _rounded(job.model_dump(by_alias=True, exclude_unset=True, exclude_none=True))


def placement_json(placement: Placement) -> dict[str, Any]:
    """Return where the mount sits and what it rests on."""
    interface, axle, rotor = placement.interface, placement.axle, placement.rotor
    near_radius, far_radius = interface.radii
    document = {
        "holes": [
            {"name": hole.name, "centre": hole.centre, "axis": hole.axis, "diameter": hole.diameter}
            for hole in placement.holes
        ],
        "face_height": interface.h,
        "datum_shift": placement.datum_shift,
        "rotor": {
            "radius": rotor.radius,
            "inner_face_z": rotor.inner_face_z,
            "outer_face_z": rotor.outer_face_z,
        },
        "interface": {
            "name": interface.name,
            "family": interface.family,
            "native": interface.native,
            "grade": placement.grade,
            "sources": interface.sources,
            "provisional": interface.provisional,
            "own": interface.own,
            "lateral": interface.lateral.value,
        },
        "adapter": {"step": placement.adapter.step, "name": placement.adapter.name},
        "axle": {
            "system": axle.name,
            "width": axle.width.value if axle.width else None,
            "pocket": placement.pocket,
        },
        "host": placement.host,
        "tilt": placement.tilt,
        "x_near": interface.x_near,
        "x_far": interface.x_far,
        "near_radius": near_radius,
        "far_radius": far_radius,
        "lateral_z": placement.lateral_z,
        "t": placement.t,
        "n": placement.n,
    }
    rounded: dict[str, Any] = _rounded(document)
    return rounded


def setup_json(setup: SetUp) -> Any:
    """Return the card's numbers: stack, readings, screws, disc, order of work and cautions; null: unknown."""
    built, choice, largest = setup.build_up, setup.choice, setup.clear.largest
    return _rounded(
        {
            "stack": built
            and {
                "plate_face": built.plate_face,
                "length": built.length,
                "to_fill": built.stack,
                "links": [asdict(link) for link in built.links],
                "worst_case": built.worst_case,
                "rss": built.rss,
                "unknown": list(built.unknown),
                "interface_tolerance": built.interface_tolerance,
                "adjustment": built.adjustment and built.adjustment.value,
            },
            "stack_words": list(setup.stack_words),
            "pieces": choice
            and {
                "reached": choice.reached,
                "sentence": choice.sentence,
                "best": asdict(choice.best),
                "alternatives": [asdict(other) for other in choice.alternatives],
            },
            "sleeve": setup.sleeve and asdict(setup.sleeve),
            "readings": [
                {
                    "key": reading.key,
                    **asdict(reading),
                    "judged": reading.judged,
                    "printed": {"mm": asdict(reading.mm), "inch": asdict(reading.inch)},
                }
                for reading in setup.readings
            ],
            "screws": dict(setup.screws),
            "bosses": [
                {**asdict(boss), "passes_through": boss.passes_through, "short": boss.short}
                for boss in setup.bosses
            ],
            "boss_words": [
                {"text": told(each.text), "loud": each.level != "note"} for each in setup.boss_words
            ],
            "clearances": [
                {**asdict(each), "left": each.left, "told": each.told, "sentence": each.sentence}
                for each in setup.clear.clearances
            ],
            "caliper": asdict(setup.clear.caliper),
            "travel": setup.clear.travel and asdict(setup.clear.travel),
            "wheel_out": asdict(setup.clear.way_out),
            "tilts": setup.tilts and asdict(setup.tilts),
            "forces": loaded_json(setup.load),
            "unknown": list(setup.clear.unknown),
            "disc_to_tube": _disc(setup.clear.disc),
            "largest_disc": largest and largest.sure,
            "largest_disc_words": setup.clear.largest_words,
            "disc_sizes": [
                {"diameter": size, **asdict(gap)} for size, gap in (largest.gaps if largest else ())
            ],
            "operations": [asdict(step) for step in setup.operations],
            "cautions": [asdict(caution) for caution in setup.cautions],
            "print": list(setup.print_words),
        }
    )


def _disc(least: Clearance | None) -> Any:
    """Return the disc's least clearance to a tube, null where none is known; `told` is what sheets say."""
    return least and {
        "name": least.name,
        "distance": least.distance,
        "runout": least.allowance,
        "left": least.left,
        "told": least.told,
        "state": least.state,
        "at": least.second,
    }


def feature_json(feature: Feature) -> dict[str, Any]:
    """Return a named feature with its kind, in page mm and degrees."""
    rounded: dict[str, Any] = _rounded({"name": feature.name, **_shape(feature)})
    return rounded


def _shape(feature: Feature) -> dict[str, Any]:
    if isinstance(feature, Circle):
        return {"kind": "circle", "centre": feature.centre, "diameter": feature.diameter}
    if isinstance(feature, Segment):
        return {
            "kind": "segment",
            "from": feature.start,
            "to": feature.end,
            "length": math.dist(feature.start, feature.end),
        }
    if isinstance(feature, Arc):
        return {
            "kind": "arc",
            "centre": feature.centre,
            "diameter": feature.diameter,
            "from": feature.start,
            "to": feature.end,
        }
    if isinstance(feature, Slot):
        return {"kind": "slot", "from": feature.start, "to": feature.end, "width": feature.width}
    assert isinstance(feature, Curve)
    flat = {"kind": "curve", "points": feature.points}
    if not feature.space:
        return flat
    return {
        **flat,
        "space": feature.space,
        "tube": feature.tube,
        "paper_thickness": feature.paper_thickness,
    }


def file_json(file: Drawn) -> dict[str, Any]:
    """Return a file with its pages and their named features.

    On a page corrected for a printer every X, Y is what the file says; diameters, lengths, widths and angles
    stay what the paper shall show. A page of several that show one drawing has "tile": its row and column,
    how many there are, and "origin", where the whole drawing's corner lies: drawing = page - origin. A
    corrected page has "scale", what the file is stretched by across and down, and "skew", the printer's in
    degrees.
    """
    pages = [_page(number, sheet, file.distortion) for number, sheet in enumerate(file.sheets, start=1)]
    return {"path": str(file.path), "kind": file.kind, "pages": pages}


_POINTS = ("axle", "centre", "from", "to", "points", "origin")


def _corrected(document: dict[str, Any], sheet: Sheet, distortion: Distortion) -> dict[str, Any]:
    """Return a page or a feature with its points where the corrected file has them."""
    done = dict(document)
    for key in _POINTS:
        value = done.get(key)
        if key == "points" and value is not None:
            done[key] = [point_in_file(point, sheet.paper, distortion) for point in value]
        elif isinstance(value, tuple | list):
            done[key] = point_in_file((value[0], value[1]), sheet.paper, distortion)
    if "tile" in done:
        # Moved like everything else, so that what a file says still joins by plain subtraction.
        done["tile"] = _corrected(done["tile"], sheet, distortion)
    rounded: dict[str, Any] = _rounded(done)
    return rounded


def _page(number: int, sheet: Sheet, distortion: Distortion | None) -> dict[str, Any]:
    head = {
        "number": number,
        "sheet": sheet.kind,
        "paper": sheet.paper.name,
        "width": sheet.paper.width,
        "height": sheet.paper.height,
        "view": sheet.view,
        "axle": sheet.axle,
    }
    if sheet.tile is not None:
        head["tile"] = {
            "row": sheet.tile.row,
            "column": sheet.tile.column,
            "rows": sheet.tile.rows,
            "columns": sheet.tile.columns,
            "origin": sheet.tile.origin,
        }
    features = [feature_json(feature) for feature in sheet.features]
    if distortion is None or not sheet.full_size:
        return {**_rounded(head), "features": features}
    return {
        **_corrected(head, sheet, distortion),
        "scale": _rounded(distortion.factors),
        "skew": _rounded(distortion.skew),
        "features": [_corrected(feature, sheet, distortion) for feature in features],
    }


def _rounded(value: Any) -> Any:
    """Return a value with its floats rounded, no -0.0 among them, and its tuples as lists."""
    if isinstance(value, float):
        # numpy's floats are floats too, and JSON should not depend on how they print.
        return round(float(value), DECIMALS) + 0.0
    if isinstance(value, dict):
        return {key: _rounded(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_rounded(each) for each in value]
    return value

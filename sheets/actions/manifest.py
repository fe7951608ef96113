"""What was drawn, as one JSON document: the job, the placement, every file, page and named feature.

Lengths in mm, angles in degrees. X, Y are on the printed page, x, y, z in the axes of the bicycle. A
number that the tables lack is null.
"""

import json
import math
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from geometry.core.findings import Finding
from geometry.core.frozen import dataclass
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from geometry.printing.distortion import Distortion
from sheets.ink.corrected import point_in_file
from sheets.ink.records import Curve, Feature, Segment, Sheet
from sheets.job.keys import Job
from sheets.setup.brake_screen import loaded_json
from sheets.setup.findings import document
from sheets.setup.fixture import fixture_json
from sheets.setup.outline import outline_json
from sheets.setup.setup import SCREW_LINES, SetUp
from sheets.words.as_json import as_json, headed, picked
from sheets.words.lengths import telling

_READING = (
    *("key", "name", "how", "nominal", "low", "high", "offset", "note", "kind", "at", "jaws", "base", "sign"),
    *("pins", "play", "stage", "limit", "times", "judged"),
)
"""What is told of a reading, in this order."""


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
    with telling(job.paper.units):
        document = _document(job, placement, setup.fixture, found, setup=setup_json(setup))
    return headed("check", document)


def drawn(
    job: Job,
    placement: Placement,
    files: Iterable[Drawn],
    found: Sequence[Finding],
    fixture: Fixture | None = None,
) -> dict[str, Any]:
    """Return the document of a job that was drawn: job, placement, files, the fixture's if any, findings."""
    document = _document(job, placement, fixture, found, files=[file_json(file) for file in files])
    return headed("manifest", document)


def _document(
    job: Job, placement: Placement, fixture: Fixture | None, found: Sequence[Finding], **more: Any
) -> dict[str, Any]:
    # Its numbers are mm whatever the job's units are; what is said is said as on paper.
    with telling(job.paper.units):
        return {
            "job": job_json(job),
            "placement": placement_json(placement),
            **more,
            **({} if fixture is None else {"fixture": as_json(fixture_json(fixture))}),
            "findings": document(found),
            "warnings": as_json([each.text for each in found]),
        }


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
    return as_json(job.model_dump(by_alias=True, exclude_unset=True, exclude_none=True))


def placement_json(placement: Placement) -> Any:
    """Return where the mount sits and what it rests on."""
    interface, axle = placement.interface, placement.axle
    near_radius, far_radius = interface.radii
    return as_json(
        {
            "holes": placement.holes,
            "face_height": interface.h,
            "datum_shift": placement.datum_shift,
            "rotor": picked(placement.rotor, "radius", "inner_face_z", "outer_face_z"),
            "interface": {
                **picked(interface, "name", "family", "native"),
                "grade": placement.grade,
                **picked(interface, "sources", "provisional", "own"),
                "lateral": interface.lateral.value,
            },
            "adapter": picked(placement.adapter, "step", "name"),
            "axle": {
                "system": axle.name,
                "width": axle.width and axle.width.value,
                "pocket": placement.pocket,
            },
            **picked(placement, "host", "tilt"),
            **picked(interface, "x_near", "x_far"),
            "near_radius": near_radius,
            "far_radius": far_radius,
            **picked(placement, "lateral_z", "t", "n"),
        }
    )


def setup_json(setup: SetUp) -> Any:
    """Return the card's numbers: stack, readings, screws, disc, order of work and cautions; null: unknown."""
    built, choice, clear = setup.build_up, setup.choice, setup.clear
    disc, largest = clear.disc, clear.largest
    return as_json(
        {
            "stack": built
            and {
                **picked(built, "plate_face", "length"),
                "to_fill": built.stack,
                **picked(built, "links", "worst_case", "rss", "unknown", "interface_tolerance"),
                "adjustment": built.adjustment and built.adjustment.value,
            },
            "stack_words": setup.stack_words,
            "pieces": choice and picked(choice, "reached", "sentence", "best", "alternatives"),
            "sleeve": setup.sleeve,
            "readings": [
                {
                    **picked(reading, *_READING),
                    "printed": picked(reading, "mm", "inch"),
                }
                for reading in setup.readings
            ],
            "screws": {SCREW_LINES[key]: each for key, each in setup.screws},
            "bosses": [{**as_json(boss), **picked(boss, "passes_through", "short")} for boss in setup.bosses],
            "boss_words": [{"text": each.text, "loud": each.level != "note"} for each in setup.boss_words],
            "clearances": [
                {**as_json(each), **picked(each, "left", "told", "sentence")} for each in clear.clearances
            ],
            "outline": setup.shape and outline_json(setup.shape),
            "caliper": clear.caliper,
            "travel": clear.travel,
            "wheel_out": clear.way_out,
            "tilts": setup.tilts,
            "forces": loaded_json(setup.load),
            "unknown": clear.unknown,
            # `told` is what sheets say.
            "disc_to_tube": disc
            and {
                **picked(disc, "name", "distance"),
                "runout": disc.allowance,
                **picked(disc, "left", "told", "state"),
                "at": disc.second,
            },
            "largest_disc": largest and largest.sure,
            "largest_disc_words": clear.largest_words,
            "disc_sizes": [
                {"diameter": size, **as_json(gap)} for size, gap in (largest.gaps if largest else ())
            ],
            "operations": setup.operations,
            "cautions": setup.cautions,
            "print": setup.print_words,
        }
    )


_ENDS = {"start": "from", "end": "to"}


def feature_json(feature: Feature) -> dict[str, Any]:
    """Return a named feature with its kind, in page mm and degrees."""
    parts = {_ENDS.get(key, key): each for key, each in as_json(feature).items()}
    if isinstance(feature, Segment):
        parts["length"] = as_json(math.dist(feature.start, feature.end))
    if isinstance(feature, Curve) and not feature.space:
        parts = {"points": parts["points"]}
    return {"name": feature.name, "kind": type(feature).__name__.lower(), **parts}


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
    return dict(as_json(done))


def _page(number: int, sheet: Sheet, distortion: Distortion | None) -> dict[str, Any]:
    head = {
        "number": number,
        "sheet": sheet.kind,
        "paper": sheet.paper.name,
        **picked(sheet.paper, "width", "height"),
        **picked(sheet, "view", "axle"),
    }
    if sheet.tile is not None:
        head["tile"] = picked(sheet.tile, "row", "column", "rows", "columns", "origin")
    features = [feature_json(feature) for feature in sheet.features]
    if distortion is None or not sheet.full_size:
        return {**as_json(head), "features": features}
    return {
        **_corrected(head, sheet, distortion),
        "scale": as_json(distortion.factors),
        "skew": as_json(distortion.skew),
        "features": [_corrected(feature, sheet, distortion) for feature in features],
    }

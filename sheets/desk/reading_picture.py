"""Where a caliper's jaws go for one reading of a survey, as the measuring sheet's figure has it."""

from geometry.core.say import Say
from geometry.survey.learn_readings import kinds
from geometry.survey.model import Taken
from geometry.survey.reading import Reading, distance_from
from geometry.survey.readings import pin_for
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from sheets.actions.learn import looked_for
from sheets.actions.pages import svg
from sheets.actions.survey import Bench
from sheets.desk.section_picture import draw_section
from sheets.desk.surroundings import around, body
from sheets.ink.drawing import Drawing
from sheets.ink.placing import Box
from sheets.ink.records import Paper, Sheet
from sheets.pages.running.jaws import SIDEWAYS, Mounted, jaws
from sheets.words.tell import told

_SIDE_VIEW = (88.0, 62.0)
_SECTION = (56.0, 58.0)
"""Width and height of a picture, mm: small, so that its letters are large on a narrow screen."""
_EDGE = 2.0
_USUAL, _AXLE = 160.0, 12.0
"""A disc and an axle to draw a mount with whose own are not known yet, mm."""


def pictures(bench: Bench, taken: Taken) -> tuple[bytes, ...]:
    """Return the pictures of a reading as SVGs: where its jaws go, and at which hole.

    What they show lies as this job has it; jaws and square are there to be seen.
    """
    mount, key = _mount(bench, taken), figure_key(taken.reading)
    if key not in SIDEWAYS:
        return (_picture(mount, key, taken.reading.name, _SIDE_VIEW),)
    drawing = Drawing()
    wide, high = _SECTION
    draw_section(drawing, (_EDGE, _EDGE, wide - _EDGE, high - _EDGE), bench, taken)
    section = _sheet(drawing, taken.reading.name, _SECTION)
    if not mount.at:
        return (section,)
    # The hole is pointed out in a side view without jaws: a section does not tell near from far.
    return section, _picture(mount, key, taken.reading.name, _SIDE_VIEW, pointed=True)


def count(taken: Taken) -> int:
    """Return how many pictures a reading has."""
    return 2 if taken.kind == "side" and taken.at else 1


def learning(family: Family, end: End, key: str) -> bytes:
    """Return the picture of a reading of `learn`, by its key, on a mount as it is shipped."""
    form = looked_for(family, end, _USUAL)
    pin = form.hole.diameter.value
    mount = Mounted(family, end, form.h, form.x_near, form.x_far, _AXLE, pin)
    how = next(each.how for each in kinds(family, end) if each.key == key)
    return _picture(mount, key, how, _SECTION if key in SIDEWAYS else _SIDE_VIEW)


def figure_key(reading: Reading) -> str:
    """Return a reading's key among those of the figure (sheets/pages/running/jaws.py)."""
    way = "between" if reading.jaws == "inside" else "over"
    match reading.kind:
        case "near" | "far":
            return f"along-{reading.kind}-{way}" if "along" in reading.key else f"{reading.kind}-{way}"
        case "spacing":
            return f"spacing-{way}"
        case "face":
            return "face-between" if reading.base == "near" else "face-over"
        case "side":
            return "from-outer" if reading.base == "outer" else "side"
        case "edge":
            return f"edge-{reading.at}"
    return "lean"


def _mount(bench: Bench, taken: Taken) -> Mounted:
    form, job = bench.placement.interface, bench.source.job
    reading = taken.reading
    # The edge lies below its hole by what the reading is meant to show, less what it is read over.
    edge = form.h - distance_from(reading, reading.nominal) if reading.kind == "edge" else None
    side = taken.at if reading.kind == "side" else ""
    return Mounted(
        form.family,
        bench.placement.end,
        form.h,
        form.x_near,
        form.x_far,
        job.axle.dummy,
        pin_for(form.hole.diameter.value, job.bench.pins),
        edge,
        side,
        body(bench),
        around(bench),
        face_at=reading.at if reading.kind == "face" else "",
    )


def _picture(
    mount: Mounted, key: str, name: Say, size: tuple[float, float], *, pointed: bool = False
) -> bytes:
    wide, high = size
    drawing = Drawing()
    zone: Box = (_EDGE, _EDGE, wide - _EDGE, high - _EDGE)
    jaws(drawing, zone, mount, {key: "?"}, pointed=pointed)
    return _sheet(drawing, name, size)


def _sheet(drawing: Drawing, name: Say, size: tuple[float, float]) -> bytes:
    paper = Paper("jaws", *size)
    return svg(
        Sheet(
            "jaws", told(name), paper, 0.0, "outboard", (0.0, 0.0), False, drawing.records(),
            tuple(drawing.features),
        )
    )  # fmt: skip

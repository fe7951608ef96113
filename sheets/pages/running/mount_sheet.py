"""The pages on which a mount that works is measured: three ways to do it, and boxes for what was read."""

import contextlib
from collections.abc import Callable, Sequence

from geometry.core.errors import FitError
from geometry.survey.learn_readings import kinds
from geometry.tables.interfaces import resolve
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, THIN, box
from sheets.ink.placing import Box
from sheets.ink.records import Paper, Sheet
from sheets.pages.flow import PITCHES, READ, SMALL, Column, Flow
from sheets.pages.frame import Page, finish, live_zone
from sheets.pages.running.jaws import Mounted, jaws
from sheets.pages.running.mount_ways import HEIGHT, ways
from sheets.words.tell import tell, told

MARGIN = 10.0
"""Border left white, mm: common practice, no source."""
_LAYER = "form"
_HEAD, _GAP, _BOX, _CAPTION = 16.0, 3.0, 8.0, 2.5
_FIGURE, _LOW_FIGURE = 76.0, 58.0
"""Height of the figure, and where words leave less room, mm."""
_WRITE = 17.0
"""Width of a box for one reading, mm."""
_BOXES = (
    (("on", 2.2), ("kind", 1.2), ("maker", 1.6), ("model", 1.2)),
    (("year", 0.6), ("date", 0.9), ("temperature", 1.0), ("instrument", 1.3)),
    (("family", 1.0), ("end", 0.9), ("native", 1.0), ("hole", 1.0)),
    (("resolution", 1.0), ("caliper", 1.1), ("play", 1.0)),
)
_TIMES = ("first", "second", "third")
_KEYS = (
    *("axle", "pin", "face-over", "along-near-over", "along-far-over", "near-over", "far-over"),
    *("spacing-over", "spacing-between", "side", "side-inner", "pocket"),
)
"""What is asked for: every way has its readings here, and those of a fork too."""


def mount_sheet(paper: Paper) -> tuple[Sheet, ...]:
    """Return both pages: how a mount is measured, and where it is noted; FitError for too small a paper."""
    return tuple(_page(paper, _easiest(paper, draw)) for draw in (_how, _note))


def _easiest(paper: Paper, draw: Callable[[Paper, float, float], Drawing]) -> Drawing:
    """Return a page as easily read as it fits; raise FitError where it fits no way.

    Lines come together first; only then is it set small.
    """
    tries = [(pitch, size) for size in (READ, SMALL) for pitch in PITCHES[1:]]
    for pitch, size in tries[:-1]:
        with contextlib.suppress(FitError):
            return draw(paper, pitch, size)
    return draw(paper, *tries[-1])


def _page(paper: Paper, drawing: Drawing) -> Sheet:
    live = live_zone(paper, MARGIN)
    page = Page(paper, MARGIN, drawing, live)
    title = tell("mount_sheet.title", paper=paper.name)
    return finish(page, "mount-blank", title, "outboard", (live[0], live[1]), full_size=False)


def _head(drawing: Drawing, live: Box, heading: str, lines: Sequence[str], pitch: float) -> float:
    left, _, right, top = live
    drawing.draw(box((left, top - _HEAD + 4.0), (right, top)), THICK, _LAYER)
    drawing.letter(heading, (left + 2.0, top - 9.4), 7.0, layer=_LAYER, part=drawing.part("H1"))
    drawing.letter(tell("mount_sheet.no_scale"), (right - 2.0, top - 9.4), 2.5, 1.0, layer=_LAYER)
    flow = _flow(drawing, (left + 1.0, top - 60.0, right - 1.0, top - _HEAD + 2.6), pitch)
    for line in lines:
        flow.paragraph(line)
    return flow.y - 1.5


def _flow(drawing: Drawing, zone: Box, pitch: float) -> Flow:
    left, low, right, top = zone

    def turn() -> tuple[Drawing, float]:
        # There is no other page to go on to: what does not fit is refused by its height.
        return drawing, low

    return Flow(drawing, left, right, top, low, None, turn, pitch)


def _how(paper: Paper, pitch: float, size: float) -> Drawing:
    """Draw the page that says how: three ways side by side, each with its figure."""
    drawing, live = Drawing(), live_zone(paper, MARGIN)
    left, low, right, _ = live
    lines = [tell(f"mount_sheet.say.{part}") for part in ("head_1", "head_2")]
    y = _head(drawing, live, tell("mount_sheet.how_heading"), lines, pitch)
    flow = _flow(drawing, (left + 1.0, low, right - 1.0, y), pitch)
    flow.paragraph(tell("mount_sheet.say.tools"), size)
    y = flow.y - 4.0
    wide = (right - left - 2.0 * _GAP) / 3.0
    columns = [left + k * (wide + _GAP) for k in range(3)]
    first, second, third = ((x, y - 8.0 - HEIGHT, x + wide, y - 8.0) for x in columns)
    drawing.begin_figure()
    ways(drawing, (first, second, third))
    feet = []
    for number, x in enumerate(columns, start=1):
        drawing.draw(box((x, y - 8.0 - HEIGHT), (x + wide, y)), THIN, _LAYER)
        name, head = tell(f"mount_sheet.way.{number}.name"), drawing.part("H2")
        drawing.letter(name, (x + 2.0, y - 5.6), 3.5, layer=_LAYER, part=head)
        flow = _flow(drawing, (x + 1.0, low, x + wide - 1.0, y - 9.5 - HEIGHT), pitch)
        for step in (1, 2, 3):
            flow.paragraph(tell(f"mount_sheet.way.{number}.step_{step}"), size)
            flow.space(1.5)
        feet.append(flow.y)
    flow = _flow(drawing, (left + 1.0, low, right - 1.0, min(feet) - 3.0), pitch)
    for part in ("careful", "front", "after"):
        flow.paragraph(tell(f"mount_sheet.say.{part}"), size)
        flow.space(2.0)
    return drawing


def _note(paper: Paper, pitch: float, size: float) -> Drawing:
    """Draw the page to write on: what was measured, the figure with numbers, and a row for each reading."""
    drawing, live = Drawing(), live_zone(paper, MARGIN)
    left, low, right, _ = live
    lines = [tell(f"mount_sheet.say.{part}") for part in ("note_head_1", "note_head_2")]
    y = _head(drawing, live, tell("mount_sheet.note_heading"), lines, pitch)
    for row in _BOXES:
        y = _boxes(drawing, (left, right), y, row)
    figure = _FIGURE if size == READ else _LOW_FIGURE
    form = resolve("flat-rear", "rear", 140, 140)
    shown = Mounted("flat", "front", form.h, form.x_near, form.x_far, 12.0, 5.0)
    numbers = {key: str(number) for number, key in enumerate(_KEYS, start=1)}
    jaws(drawing, (left + 2.0, y - figure, right - 2.0, y), shown, numbers)
    known = {kind.key: told(kind.how) for kind in kinds("flat", "front")}
    rear = next(told(kind.how) for kind in kinds("flat", "rear") if kind.key == "side")
    known["side"] = tell("mount_sheet.side", rear=rear, front=known["side"])
    flow = _flow(drawing, (left + 1.0, low, right - 1.0, y - figure - 1.0), pitch)
    room = right - left - 2.0 - 3.0 * _WRITE - 9.0 - 30.0
    columns = [
        Column(tell("mount_sheet.column.number"), 9.0),
        Column(tell("mount_sheet.column.key"), 30.0),
        Column(tell("mount_sheet.column.how"), room),
        *(
            Column(tell(f"mount_sheet.column.{each}"), _WRITE, box=True)
            for each in ("first", "second", "third")
        ),
    ]
    flow.table(columns, [(numbers[key], key, known[key], "", "", "") for key in _KEYS], SMALL)
    return drawing


def _boxes(
    drawing: Drawing, across: tuple[float, float], top: float, row: Sequence[tuple[str, float]]
) -> float:
    """Draw a row of captioned boxes to write in and return where the next row begins."""
    left, right = across
    room = right - left - _GAP * (len(row) - 1)
    share = sum(part for _, part in row)
    x = left
    for key, part in row:
        wide = room * part / share
        drawing.letter(tell(f"mount_sheet.box.{key}"), (x, top - _CAPTION - 0.4), _CAPTION, layer=_LAYER)
        drawing.draw(box((x, top - 4.0 - _BOX), (x + wide, top - 4.0)), THIN, _LAYER)
        x += wide + _GAP
    return top - 4.0 - _BOX - 2.0

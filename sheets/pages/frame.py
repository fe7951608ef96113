"""What every full-size sheet has round its drawing: title block, scale bars, card, directions, numbers."""

import itertools
from collections.abc import Iterator, Sequence

from fonts.drafting import LINE_PITCH, rise, sink, width, wrap
from geometry.core.errors import FitError, Problem
from geometry.core.frozen import dataclass
from geometry.core.plane import along, polar
from geometry.core.say import named, say
from sheets.ink.bounds import sheet_bounds
from sheets.ink.drawing import Drawing
from sheets.ink.marks import (
    CARD,
    INCH_BAR,
    SOLID,
    THICK,
    THIN,
    arc,
    arrow_head,
    bar,
    box,
    label,
    polyline,
)
from sheets.ink.placing import Box, grown
from sheets.ink.records import Field, Paper, Point, Segment, Sheet, View
from sheets.pages.title_block import TitleLine, title_block
from sheets.words.tell import tell

BAR_STRIP = 16.5
"""Width of the strip that holds a scale bar between its two letterings, mm."""

_PAD = 2.0
_READ = 3.5
_SMALL = 2.5
_STAMP = 5.0
_NAMED = 7.0
_STEP = 7.0
"""Column of the steps' numbers, mm."""
_LEADING = 0.45
"""White between two lines of steps, in letter heights; less than elsewhere, for they are one block."""
_UNDER = 3.1
"""From the last step's baseline to what comes below its rule, mm."""
_SHARES = (1.0, 0.85, 0.7, 0.6, 0.5, 0.45, 0.4, 0.36, 0.33, 0.3, 0.27)
"""Shares of the page's width that steps beside the drawing are tried at."""
_CLEAR = 0.6
"""White kept between an accent and the frame over it, mm."""
_PAPER_WORDS = 30.0
"""Least length of the strip over the bar down in which anything is said, mm."""
_CARD_WORDS = 58.0
"""Width of the words in the outline of a card, mm."""
_ASIDE = 4.0
"""White kept on both sides of the arrows of direction where the page has it, beyond the usual, mm."""
_BETWEEN = 8.0
"""Between two columns of numbers, mm."""


@dataclass(frozen=True, slots=True)
class Headed:
    """What a full-size sheet says of itself: the title block's lines, and what to do, step by step."""

    lines: Sequence[TitleLine]
    steps: Sequence[str]


@dataclass(frozen=True, slots=True)
class Page:
    """A page with title block and bars drawn, and the zone that is left for the drawing itself.

    `number_at` is where the title block keeps room for the page's number in the packet, `steps` what
    `steps_beside` has to letter yet.
    """

    paper: Paper
    margin: float
    drawing: Drawing
    zone: Box
    number_at: Point | None = None
    steps: tuple[str, ...] = ()


def furnish(paper: Paper, margin: float, headed: Headed, stamp: str = "", *, beside: bool = False) -> Page:
    """Return an empty page with steps, title block and bars; raise FitError where those alone do not fit.

    The steps stand at the head of the page, because they are to be read first, or else `beside` the drawing,
    where `steps_beside` puts them. The bar down runs along the left edge, the title block along the foot
    beside it, and the bar across on top of the title block. `stamp` is a warning lettered large over the
    title block.
    """
    left, low, right, top = live_zone(paper, margin)
    drawing = Drawing()
    side = left + BAR_STRIP
    head, number_at = title_block(drawing, (side, low, right, top), headed.lines, stamp)
    if not beside:
        top = _steps(drawing, (left, low, right, top), headed.steps)
    across, down = (side + 1.0, head + BAR_STRIP / 2.0 + 1.0), (left + BAR_STRIP / 2.0, low + 1.0)
    over = max(across[0] + INCH_BAR + 3.0 - right, down[1] + INCH_BAR + 3.0 - top, across[1] - top)
    if over > 0.0:
        raise FitError(
            Problem(
                "paper.size",
                say("paper.no_room_bars", paper=paper.name, margin=margin, over=over),
            )
        )
    drawing.begin_figure()
    for start, turn in ((across, 0.0), (down, 90.0)):
        spines, ticks, words = bar(start, turn)
        for spine in spines:
            drawing.show(spine, THIN, "scale")
        drawing.draw(ticks, THIN, "scale")
        drawing.figures(words, "scale")
    _paper_words(drawing, (left, down[1] + INCH_BAR + 10.0, side, top), paper)
    zone = (side + 2.5, head + BAR_STRIP + 2.0, right, top)
    return Page(paper, margin, drawing, zone, number_at, tuple(headed.steps) if beside else ())


def _paper_words(drawing: Drawing, strip: Box, paper: Paper) -> None:
    """Letter over the bar down, where it has room, what other paper does to the sheet."""
    left, low, right, top = strip
    if top - low < _PAPER_WORDS:
        return
    text = tell("frame.paper", paper=paper.name)
    for height in (_READ, _SMALL):
        rows, pitch = wrap(text, height, top - low - 1.0), LINE_PITCH * height
        if len(rows) * pitch <= right - left - 1.0:
            part = drawing.part("P")
            for i, row in enumerate(rows, start=1):
                at = left + i * pitch - 0.35 * height, low
                drawing.figures((label(row, at, height, 0.0, 90.0, part),), "scale")
            return


def steps_beside(page: Page) -> None:
    """Letter the steps that a page has yet to letter, where it has room; raise FitError where it has none.

    They are lettered small only where no place on the page takes them as they are read at the bench.
    """
    left, _, right, _ = page.zone
    for height, share in itertools.product((_READ, _SMALL) if page.steps else (), _SHARES):
        wide = share * (right - left)
        high = sum(fall for _, _, fall in _stepped(page.steps, wide, height)) + _UNDER
        found = page.drawing.free_box((wide, high), page.zone)
        if found is not None:
            _steps(page.drawing, found, page.steps, height)
            page.drawing.reserve(found)
            return
    if page.steps:
        raise FitError(Problem("paper.size", say("paper.no_room_steps")))


def _stepped(steps: Sequence[str], wide: float, height: float) -> Iterator[tuple[str, str, float]]:
    """Yield the rows of numbered steps, mm wide: the number of a step that begins, the row, and its fall."""
    first = True
    for number, step in enumerate(steps, start=1):
        for i, row in enumerate(wrap(step, height, wide - _STEP - _PAD)):
            lead = 0.0 if first else _LEADING * height
            yield (f"{number}" if i == 0 else "", row, height + rise(row, height) + lead)
            first = False


def _steps(drawing: Drawing, live: Box, steps: Sequence[str], height: float = _READ) -> float:
    """Letter the numbered steps from the top of a box down and return the height at which they end."""
    left, _, right, top = live
    y = top
    for number, row, fall in _stepped(steps, right - left, height):
        y -= fall
        if number:
            part = drawing.part("P")
            drawing.letter(number, (left + _STEP / 2.0, y), height, 0.5, layer="steps", part=part)
        drawing.letter(row, (left + _STEP, y), height, layer="steps", part=part)
    y -= _UNDER - 1.0
    drawing.draw(polyline(((left, y), (right, y))), THIN, "steps")
    # A view is laid out to a hundredth: below steps of any height it comes to lie as far from their foot.
    return round(y - 1.0, 2)


def live_zone(paper: Paper, margin: float) -> Box:
    """Return the zone of a page inside its margin, mm: a frame drawn round it keeps off the border."""
    inset = margin + THICK.width
    return inset, inset, paper.width - inset, paper.height - inset


def titled(
    paper: Paper,
    margin: float,
    drawings: Sequence[Drawing],
    kind: str,
    title: str,
    heights: Sequence[float] = (5.0,),
) -> tuple[Sheet, ...]:
    """Return drawings as pages of a kind; each bears its title, numbered where there are several.

    It is lettered in the first of `heights`, mm, that fits.
    """
    live = live_zone(paper, margin)
    sheets = []
    for number, drawing in enumerate(drawings, start=1):
        headed = title
        if len(drawings) > 1:
            headed = tell("frame.page_of", title=title, number=number, count=len(drawings))
        text, height = fitting([(headed, each) for each in heights], live[2] - live[0] - 4.0)
        drawing.letter(text, (live[0] + 2.0, live[3] - 8.0), height, layer="title block", part=((0, "H1"),))
        page = Page(paper, margin, drawing, live)
        sheets.append(finish(page, kind, headed, "outboard", (live[0], live[1]), full_size=False))
    return tuple(sheets)


def fitting(tried: Sequence[tuple[str, float]], room: float) -> tuple[str, float]:
    """Return the first text with its height that fits a room, mm, or as much of the last as fits."""
    found = next((each for each in tried if width(*each) <= room), None)
    text, height = found or tried[-1]
    return wrap(text, height, room)[0], height


def lowered(text: str, height: float, white: float) -> float:
    """Return by how much a header's line is set lower, mm, for its accents to stay clear of the frame.

    `white` is what lies between its capitals and the middle of the frame's line, mm.
    """
    return max(0.0, rise(text, height) + THICK.width / 2.0 + _CLEAR - white)


def in_frame(text: str, height: float, high: float) -> tuple[float, float]:
    """Return how high the frame of a header of one line is, mm, and how far over its foot the baseline lies.

    It is `high`, or as much more as accents and letters like p take to stay clear of its lines. What the
    line does not need of it lies half over the line and half under it.
    """
    edge = THICK.width / 2.0 + _CLEAR
    over, under = rise(text, height) + edge, sink(text, height) + edge
    whole = max(high, over + height + under)
    return whole, under + (whole - over - height - under) / 2.0


def directions(page: Page, arrows: Sequence[tuple[str, float]], turning: float, note: str) -> None:
    """Draw the figure that tells directions: arrows with their names, a turning arrow, and a note below.

    An arrow is (name, heading on the page, about 0, 90 or 180 degrees). `turning` is +1 for a wheel that
    turns anticlockwise on the page, -1 for clockwise, 0 for none. Raise FitError where the page has no room.
    """
    reach, gap = 12.0, 1.5
    side = {heading: 90.0 * (round(heading / 90.0) % 4) for _, heading in arrows}
    aside = {side[at]: width(name, _READ) + gap for name, at in arrows if side[at] != 90.0}
    off = max(abs(polar(at)[0]) for _, at in arrows if side[at] == 90.0) * (reach + gap)
    upright = (width(name, _READ) / 2.0 + off for name, at in arrows if side[at] == 90.0)
    half = max(reach, width(note, _READ) / 2.0, *upright)
    west, east = max(half, reach + aside.get(180.0, 0.0)), max(half, reach + aside.get(0.0, 0.0))
    low = (13.0 if turning else 3.0) + LINE_PITCH * _READ
    size = (west + east, low + reach + gap + _READ)
    # Beside a table a name must not seem to go on from its last column; no other row is taken for that.
    wider = page.drawing.free_box((size[0] + 2.0 * _ASIDE, size[1]), page.zone)
    found = page.drawing.free_box(size, page.zone)
    if wider is not None and found is not None and wider[1] == found[1]:
        found = wider[0] + _ASIDE, wider[1], wider[2] - _ASIDE, wider[3]
    if found is None:
        raise FitError(Problem("paper.size", say("paper.no_room_arrows")))
    # A label beside the figure must not seem to go on from its words.
    page.drawing.reserve(grown(found, 2.0))
    centre = (found[0] + west, found[1] + low)
    for name, heading in arrows:
        way = polar(heading)
        tip = along(centre, (reach, way))
        page.drawing.draw(polyline((along(centre, (2.0, way)), along(tip, (-1.5, way)))), THICK, "directions")
        page.drawing.draw(arrow_head(tip, heading), SOLID, "directions")
        x, y = along(tip, (gap, way))
        anchor = {0.0: 0.0, 180.0: 1.0}.get(side[heading], 0.5)
        drop = 0.0 if side[heading] == 90.0 else -_READ / 2.0
        page.drawing.letter(name, (x, y + drop), _READ, anchor, layer="directions")
    if turning:
        # The arrows may be askew together, and the turning one with them.
        tilt = (arrows[0][1] - side[arrows[0][1]] + 180.0) % 360.0 - 180.0
        start, end = (tilt + at for at in ((200.0, 335.0) if turning > 0.0 else (340.0, 205.0)))
        page.drawing.draw(arc(centre, 9.0, start, end), THICK, "directions")
        tip = along(centre, (9.0, polar(end)), (2.0, polar(end + 90.0 * turning)))
        page.drawing.draw(arrow_head(tip, end + 97.0 * turning), SOLID, "directions")
    page.drawing.letter(note, (centre[0], found[1] + 0.4 * _READ), _READ, 0.5, layer="directions")


def name_view(page: Page, view: View, text: str, later: Drawing | None = None) -> bool:
    """Letter the view large, in these words, where the page has room left; return whether it had.

    `later` is the page as it will be once all is drawn on it: its box stands clear of that where it can.

    The inboard view, the mirrored one, has a double frame, so that the two differ at arm's length and to one
    who does not read the words.
    """
    for feature in page.drawing.features:
        if isinstance(feature, Segment) and feature.name == "card across":
            x, y = feature.start
            page.drawing.reserve((x, y, x + CARD[0], y + CARD[1]))
            if later is not None:
                later.reserve((x, y, x + CARD[0], y + CARD[1]))
    drawings = (page.drawing,) if later is None else (later, page.drawing)
    for drawing, height in itertools.product(drawings, (_NAMED, _STAMP)):
        inset = 0.6 * height
        wide, high = width(text, height) + 2.0 * inset, height + 2.0 * inset
        found = drawing.free_box((wide + 1.0, high + 1.0), page.zone)
        if found is None:
            continue
        left, low = found[0] + 0.5, found[1] + 0.5
        for step in (0.0, 1.2) if view == "inboard" else (0.0,):
            corners = (left + step, low + step), (left + wide - step, low + high - step)
            page.drawing.draw(box(*corners), THICK, "view")
        page.drawing.letter(text, (left + inset, low + inset), height, layer="view")
        page.drawing.reserve(found)
        return True
    return False


def numbers(page: Page, heading: str, rows: Sequence[tuple[str, str]], foot: str) -> None:
    """Letter a table of names and values, with a foot note, where the page has room; else raise FitError.

    It stands in one column, or in two side by side where the page has room for no taller one.
    """
    pitch, note_pitch = LINE_PITCH * _READ, LINE_PITCH * _SMALL
    half = (len(rows) + 1) // 2
    for columns in ([rows], [rows[:half], rows[half:]]):
        wides = [max(width(name, _READ) + 4.0 + width(value, _READ) for name, value in c) for c in columns]
        wide = sum(wides) + _BETWEEN * (len(columns) - 1)
        notes = wrap(foot, _SMALL, wide)
        size = (wide, pitch * (len(columns[0]) + 1) + note_pitch * (len(notes) + 0.5))
        found = page.drawing.free_box(size, page.zone)
        if found is not None:
            break
    else:
        raise FitError(Problem("paper.size", say("paper.no_room_numbers")))
    left, _, right, top = found
    y = top - _READ
    part = page.drawing.part
    table = part("Table")
    page.drawing.letter(heading, (left, y), _READ, layer="numbers", part=part("Caption", table))
    y -= 0.45 * _READ
    page.drawing.draw(polyline(((left, y), (right, y))), THIN, "numbers")
    first = y - pitch + 0.15 * _READ
    x = left
    for column, across in zip(columns, wides, strict=True):
        for i, (name, value) in enumerate(column):
            at, line = first - i * pitch, part("TR", table)
            page.drawing.letter(name, (x, at), _READ, layer="numbers", part=part("Row", line))
            page.drawing.letter(value, (x + across, at), _READ, 1.0, layer="numbers", part=part("TD", line))
        x += across + _BETWEEN
    y, below = first - (len(columns[0]) - 1) * pitch - 0.5 * _SMALL, part("P")
    for note in notes:
        y -= note_pitch
        page.drawing.letter(note, (left, y), _SMALL, layer="numbers", part=below)
    page.drawing.reserve(found)


def card(page: Page) -> bool:
    """Draw the outline of an ID-1 card where the page has room; return whether it had."""
    found = page.drawing.free_box((CARD[0] + 1.0, CARD[1] + 1.0), page.zone)
    if found is None:
        return False
    corner = (found[0] + 0.5, found[1] + 0.5)
    across, up = polar(0.0), polar(90.0)
    opposite = along(corner, (CARD[0], across), (CARD[1], up))
    page.drawing.show(Segment("card across", corner, (opposite[0], corner[1])), THIN, "card")
    page.drawing.show(Segment("card down", corner, (corner[0], opposite[1])), THIN, "card")
    page.drawing.draw(polyline(((opposite[0], corner[1]), opposite, (corner[0], opposite[1]))), THIN, "card")
    middle = (corner[0] + opposite[0]) / 2.0
    lines = wrap(tell("frame.card", wide=CARD[0], high=CARD[1]), _READ, _CARD_WORDS)
    part = page.drawing.part("P")
    for i, line in enumerate(lines):
        y = corner[1] + CARD[1] / 2.0 + (len(lines) / 2.0 - 0.9 - i) * LINE_PITCH * _READ
        page.drawing.letter(line, (middle, y), _READ, 0.5, layer="card", part=part)
    return True


def note(page: Page, text: str) -> bool:
    """Letter a small note where the page has room for it in a few rows; return whether it had."""
    left, _, right, _ = page.zone
    pitch = LINE_PITCH * _SMALL
    for share in _SHARES[1:]:
        rows = wrap(text, _SMALL, share * (right - left))
        wide = max(width(row, _SMALL) for row in rows)
        found = page.drawing.free_box((wide, pitch * len(rows) + 1.0), page.zone)
        if found is not None:
            part = page.drawing.part("P")
            for i, row in enumerate(rows, start=1):
                page.drawing.letter(row, (found[0], found[3] - i * pitch), _SMALL, layer="notes", part=part)
            return True
    return False


def finish(
    page: Page,
    kind: str,
    title: str,
    view: View,
    axle: Point,
    fields: Sequence[Field] = (),
    *,
    full_size: bool,
    bookmark: str = "",
    number_at: Point | None = None,
) -> Sheet:
    """Return the page as a Sheet; raise FitError where any ink would enter the keep-out margin.

    `title` names the sheet anywhere, `bookmark` in its packet, where it is not called the same there.
    `fields` are the boxes of a fillable form that lie on it, in the order in which they are tabbed.
    `full_size` tells a sheet that is laid on metal or measured from, and so is corrected for a printer.
    `number_at` is where the number in the packet ends, where no title block keeps room for it.
    """
    records = page.drawing.records()
    left, low, right, top = sheet_bounds(records)
    paper, margin = page.paper, page.margin
    over = max(margin - left, margin - low, right - (paper.width - margin), top - (paper.height - margin))
    if over > 1e-9:
        raise FitError(
            Problem(
                "paper.size",
                say(
                    "paper.too_large",
                    sheet=named(f"sheet.{kind}"),
                    over=over,
                    paper=paper.name,
                    margin=margin,
                ),
            )
        )
    features = tuple(page.drawing.features)
    return Sheet(
        kind,
        title,
        paper,
        margin,
        view,
        axle,
        full_size,
        records,
        features,
        tuple(fields),
        bookmark=bookmark,
        number_at=number_at or page.number_at,
        figure=page.drawing.figure,
        alt=tell(f"packet.figure.{kind}") if page.drawing.figure else "",
        vacant=tuple(page.drawing.vacant),
    )

"""What heads every running page of a packet: frame, page, what it is for; and text in columns below it."""

from fonts.faces import Face
from sheets.ink.drawing import Drawing
from sheets.ink.marks import THICK, box
from sheets.ink.paper import PAPERS
from sheets.ink.placing import Box
from sheets.ink.records import Point, Sheet
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.pages.flow import SMALL, Flow
from sheets.pages.frame import Page, finish, fitting, in_frame, live_zone
from sheets.pages.title_block import NUMBER_ROOM
from sheets.words.tell import tell

_PAD = 2.0
_TALL, _LOW = 11.0, 8.5
"""Least height of the header of a page that is looked for, and of one that is leafed to, mm."""
_UNDER = 1.2
_BETWEEN = 6.0
"""White between two columns, mm."""


def live_of(job: Job) -> Box:
    """Return the zone of a job's page that may be printed on."""
    return live_zone(PAPERS[job.paper.size], job.paper.margin)


def header(
    drawing: Drawing, job: Job, kind: str, own: Face | None, *, large: bool = False
) -> tuple[float, Point]:
    """Draw a page's header; return where the text below begins, and where the page's number ends.

    The frame stands at the left, large where the page is one to be looked for, and the page's name with it
    as far as there is room. Below is what the page is for. `kind` is the sheet's.
    """
    left, _, right, top = live_of(job)
    room = right - left - 2.0 * _PAD - NUMBER_ROOM
    heading, name = words.heading(job), tell(f"head.page.{kind}")
    both = tell("head.both", heading=heading, page=name)
    heights = (7.0, 5.0) if large else (5.0,)
    tried = [(text, height) for height in heights for text in (both, heading)]
    title, height = fitting([*tried, (job.frame.id, 5.0), (job.frame.id, 3.5)], room)
    high, lift = in_frame(title, height, _TALL if large else _LOW)
    foot = top - high
    base = foot + lift
    drawing.draw(box((left, foot), (right, top)), THICK, "title block")
    drawing.letter(title, (left + _PAD, base), height, layer="title block", part=drawing.part("H1"))
    flow = Flow(drawing, left + 1.0, right - 1.0, foot - _UNDER, foot - 30.0, own, _no_more, 1.17)
    said = tell(f"packet.use.{kind}")
    if name not in title:
        said = tell("head.named", page=f"{name[:1].upper()}{name[1:]}", use=said)
    flow.paragraph(said, SMALL)
    return flow.y, (right - _PAD, base)


def _no_more() -> tuple[Drawing, float]:
    raise AssertionError("what a page is for takes a line or two")


def signed(drawing: Drawing, job: Job, kind: str, number: int, axle: Point | None, at: Point) -> Sheet:
    """Return a running page as a sheet; `number` is which page of its kind it is, 0 where there is one."""
    live = live_of(job)
    page = Page(PAPERS[job.paper.size], job.paper.margin, drawing, live)
    code = "page" if number else "only"
    name = tell(f"head.page.{kind}")
    return finish(
        page,
        kind,
        tell(f"head.title.{code}", id=job.frame.id, page=name, number=number),
        "outboard",
        (live[0], live[1]) if axle is None else axle,
        full_size=False,
        bookmark=tell(f"head.bookmark.{code}", page=name[:1].upper() + name[1:], number=number),
        number_at=at,
    )


class Columns:
    """Pages of running text in columns, which are filled one after the other; `flow` is where text goes."""

    def __init__(self, job: Job, kind: str, own: Face | None, pitch: float, count: int = 2) -> None:
        """Start the first page; `count` is how many columns each has."""
        self._job, self._kind, self._own, self._count = job, kind, own, count
        self.pages: list[Drawing] = []
        self.number_at: list[Point] = []
        self._column, self._top = 0, 0.0
        left, low, right, _ = live_of(job)
        self._wide = (right - left - 2.0 - (count - 1) * _BETWEEN) / count
        self._left = left + 1.0
        drawing, top = self._page()
        self.flow = Flow(drawing, self._left, self._left + self._wide, top, low, own, self._turn, pitch)

    def _page(self) -> tuple[Drawing, float]:
        drawing = Drawing()
        self.pages.append(drawing)
        self._top, at = header(drawing, self._job, self._kind, self._own)
        self.number_at.append(at)
        self._column = 0
        return drawing, self._top

    def _turn(self) -> tuple[Drawing, float]:
        """Go on to the next column, or to the first of a new page."""
        if self._column + 1 < self._count:
            self._column += 1
            found = self.pages[-1], self._top
        else:
            found = self._page()
        self.flow.left = self._left + self._column * (self._wide + _BETWEEN)
        self.flow.right = self.flow.left + self._wide
        return found

    def sheets(self) -> tuple[Sheet, ...]:
        """Return the pages as sheets."""
        several = len(self.pages) > 1
        return tuple(
            signed(drawing, self._job, self._kind, number if several else 0, None, at)
            for number, (drawing, at) in enumerate(zip(self.pages, self.number_at, strict=True), start=1)
        )

"""The page of frames: the folder at a glance, new frames, the bench list, and the week's packets."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from geometry.core.errors import InputError, Problem
from geometry.core.say import say
from sheets.actions import samples, shop
from sheets.actions.workers import in_order
from sheets.desk.beginning import begin
from sheets.desk.glance import counts, marks
from sheets.desk.shown import desk_of, given, json_answer, page, rendered
from sheets.desk.watch import Glance, Row, states
from sheets.files.record import digest
from sheets.setup.findings import several
from sheets.words.tell import line

_MARK = {"stop": "stop", "warn": "look", "unknown": "look", "confirm": "look", "good": "go"}
"""How a verdict is set off beside its words."""


def frames(request: Request) -> Response:
    """Show the folder's frames, with what is known of them by now."""
    glance = request.app.state.watch.glance()
    told = {name: samples.about(job) for name, job in samples.samples().items()}
    values = _listed(glance) | {"folder": str(desk_of(request).folder), "samples": told}
    return page(request, "frames.html", **values)


def listed(request: Request) -> Response:
    """Return the list of frames alone, for a page that is open."""
    return HTMLResponse(rendered("frames_list.html", **_listed(request.app.state.watch.glance())))


def _listed(glance: Glance) -> dict[str, Any]:
    rows = [
        {"row": row, "mark": _mark(row), "packets": _packets(row), "is": " ".join(marks(row))}
        for row in glance.rows
    ]
    for row in rows:
        row["version"] = digest(repr(row).encode())[:16]
    verdicts = [row.judged.verdict for row in glance.rows if row.judged and row.judged.verdict]
    return {
        "rows": rows,
        "counts": counts(glance.rows),
        "others": [(packet, states(packet, None)) for packet in glance.others],
        "outside": glance.outside,
        "busy": glance.busy,
        "summary": "" if glance.busy else several(verdicts, len(glance.rows)),
    }


def _mark(row: Row) -> str:
    verdict = row.judged.verdict if row.judged else None
    return _MARK[verdict] if verdict else "stop"


def _packets(row: Row) -> list[tuple[Any, list[str]]]:
    return [(packet, states(packet, row.frame)) for packet in row.packets]


async def new(request: Request) -> Response:
    """Begin a frame, and answer where its page is."""
    asked = await given(request)
    name, way, of = (str(asked.get(key, "")) for key in ("name", "way", "of"))
    made = await run_in_threadpool(begin, desk_of(request), name, way, of)
    return json_answer({"frame": made})


def bench_list(request: Request) -> Response:
    """Show what must be on the bench for some frames."""
    names = request.query_params.getlist("frame")
    if not names:
        raise InputError.at("", say("desk.shop.none"))
    files = [desk_of(request).job_path(name) for name in dict.fromkeys(names)]
    # It takes a second or more a frame, and the desk stays live meanwhile.
    ((found, problems),) = in_order(_gathered, [files], 1, here=False)
    return page(
        request,
        "shop.html",
        shop=found,
        problems=[line(each) for each in problems],
        lines=[(shop.called(each.kind), each, shop.stock_words(each)) for each in found.lines],
        missing=[(shop.called(each.kind), each) for each in found.missing],
        spacers=shop.spacer_words(found),
    )


def _gathered(files: Sequence[Path]) -> tuple[shop.Shop, list[Problem]]:
    return shop.gather(shop.worked_out(files), None)


async def draw(request: Request) -> Response:
    """Begin to draw the packets of some frames."""
    asked = await given(request)
    names = asked.get("frames")
    if not isinstance(names, list) or not all(isinstance(each, str) for each in names):
        raise InputError.at("", say("desk.no_json"))
    await run_in_threadpool(request.app.state.batch.start, names, asked.get("replace") is True)
    return json_answer(request.app.state.batch.state())


async def give_up(request: Request) -> Response:
    """Draw no more of those packets."""
    request.app.state.batch.cancel()
    return json_answer(request.app.state.batch.state())


async def progress(request: Request) -> Response:
    """Answer how far the packets are."""
    return json_answer(request.app.state.batch.state())


ROUTES = [
    Route("/", frames),
    Route("/frames/list", listed),
    Route("/new", new, methods=["POST"]),
    Route("/shop", bench_list),
    Route("/batch", draw, methods=["POST"]),
    Route("/batch", progress),
    Route("/batch/cancel", give_up, methods=["POST"]),
]

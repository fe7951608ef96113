"""A frame's sheets: the packet's very pages, the packet itself, and its bars once it is printed."""

import datetime
from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from geometry.core.errors import DropleafError
from geometry.core.findings import by_level
from geometry.printing.distortion import numbers
from sheets.actions import draw as drawing
from sheets.actions.pages import ready
from sheets.actions.printer import bars_read
from sheets.actions.readings_file import with_unit
from sheets.actions.writing import read_back
from sheets.desk import packet_pages, proven, typed
from sheets.desk.fields import number, of_frame, text
from sheets.desk.heat import latest, revisions
from sheets.desk.printers_page import listed
from sheets.desk.shown import desk_of, not_there, page, picture, worked
from sheets.desk.state import Desk
from sheets.desk.traveller_page import TABLE, kept_in
from sheets.home.jobs import load
from sheets.ink.paper import PAPERS
from sheets.job.read import JobFile
from sheets.words.lengths import telling
from sheets.words.tell import lines, on_paper, tell, told

_TYPES = {".pdf": "application/pdf", ".svg": "image/svg+xml", ".dxf": "image/vnd.dxf"}
"""Files of the folder that the desk hands out."""
_PROVE = "prove-scale"
"""The operation in which the bars are read."""
_WANTED = ("plate", "dxf", "cutter", "svg_text")


async def sheets(request: Request) -> Response:
    """Show what the packet will hold, page by page."""
    desk, name = desk_of(request), request.path_params["name"]
    asked = request.query_params

    def shown() -> dict[str, Any]:
        plan = _plan(desk, name, asked)
        job = plan.source.job
        with telling(job.paper.units):
            bar = numbers()["check.bar"].value
            return {
                **of_frame(plan.source),
                "paper": job.paper.size,
                "units": job.paper.units,
                "pages": packet_pages.pages(plan),
                "printers": listed(),
                "printer": _printer(plan),
                "query": _query(asked),
                "plate": bool(asked.get("plate")),
                "stops": [told(each.text) for each in plan.findings if each.level == "stop"],
                "revisions": revisions(desk, job.frame.id),
                "bar": bar,
                "papers": tuple(PAPERS),
            }

    return page(request, "sheets.html", **await run_in_threadpool(shown))


async def sheet(request: Request) -> Response:
    """Return a page of the packet to come as SVG."""
    desk, name, number = desk_of(request), request.path_params["name"], request.path_params["number"]
    asked = request.query_params
    drawn = await run_in_threadpool(lambda: packet_pages.picture(_plan(desk, name, asked), number))
    return picture(request, drawn)


async def make(request: Request) -> Response:
    """Write the packet as `dropleaf draw` does, and return what was measured, found and written."""
    return await worked(request, _make)


async def bars(request: Request) -> Response:
    """Return what the ruler's readings on both bars come to."""
    return await worked(request, _bars)


async def file(request: Request) -> Response:
    """Return a file that was drawn into the folder."""
    found = desk_of(request).path(request.path_params["name"])
    if found.suffix.lower() not in _TYPES or not found.is_file():
        return not_there(request)
    kind = _TYPES[found.suffix.lower()]
    return FileResponse(found, media_type=kind, filename=found.name, content_disposition_type="inline")


ROUTES = [
    Route("/frame/{name}/sheets", sheets),
    Route("/frame/{name}/sheet/{number:int}.svg", sheet),
    Route("/frame/{name}/sheets/make", make, methods=["POST"]),
    Route("/frame/{name}/sheets/bars", bars, methods=["POST"]),
    Route("/file/{name}", file),
]


def _plan(desk: Desk, name: str, asked: Mapping[str, Any]) -> drawing.Plan:
    """Return the sheets of a job for the printer that is chosen, else for its own."""
    wanted = {key: bool(asked.get(key)) for key in _WANTED}
    return drawing.plan(load(desk.job_path(name)), None, text(asked, "printer") or None, **wanted)


def _query(asked: Mapping[str, Any]) -> str:
    """Return what an address has to say for the same pages."""
    pairs = [("printer", text(asked, "printer")), ("plate", "1" if asked.get("plate") else "")]
    said = "&".join(f"{key}={quote(value, safe='')}" for key, value in pairs if value)
    return f"?{said}" if said else ""


def _printer(plan: drawing.Plan) -> str:
    """Return the name of the printer that the sheets are corrected for, "" for none."""
    paper = plan.source.job.paper
    return paper.printer or "" if paper.correction else ""


def _bars(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    source = load(desk.job_path(name))
    paper = source.job.paper
    with telling(paper.units):
        typed_in = [with_unit(number(value, key), paper.units) for key in ("across", "down")]
        found = bars_read(PAPERS[paper.size], *typed_in)
        return {
            "state": found.state,
            "said": found.said,
            "noted": _noted(desk, source, "; ".join(typed_in) if found.state == "go" else ""),
        }


def _noted(desk: Desk, source: JobFile, read: str) -> list[str]:
    """Note what was read on true bars, "" for bars that are not true; return what is told of that."""
    said = []
    packet = latest(desk, source.job.frame.id)
    if packet is not None:
        try:
            proven.note(kept_in(desk, source.path.stem), TABLE, packet, read)
            said += [tell("desk_sheets.print.proven", file=packet.name)] if read else []
        except DropleafError as error:
            # What the ruler says counts all the same.
            said += lines(error)
    if read and _in_traveller(desk, source, read):
        said.append(tell("desk_sheets.print.noted"))
    return said


def _in_traveller(desk: Desk, source: JobFile, read: str) -> bool:
    """Note true bars in the traveller; tell whether its order of work has them proven at all."""
    keys = [step.key for step in ready(source).setup.operations]
    if _PROVE not in keys:
        return False
    step, today = f"step.{keys.index(_PROVE) + 1}", datetime.date.today().isoformat()
    texts = {f"{step}.reading": read, f"{step}.date": today, f"{step}.done": "yes"}
    typed.keep(kept_in(desk, source.path.stem), TABLE, texts)
    return True


def _make(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    plan = _plan(desk, name, value)
    drawing.spare(plan, frozenset({drawing.same_file(plan.source.path)}))
    worst = drawing.draw(plan, replace_kept=value.get("replace") is True)
    with telling(plan.source.job.paper.units), on_paper():
        return {
            "said": read_back(plan.packet.path.name, worst),
            "files": [
                {"name": each.path.name, "path": f"/file/{quote(each.path.name, safe='')}"}
                for each in plan.files
            ],
            "findings": [
                {
                    "level": each.level,
                    "name": tell(f"finding.level.{each.level}"),
                    "text": told(each.brief or each.text),
                    "remedy": told(each.remedy),
                }
                for each in by_level(plan.findings)
            ],
            "packet": f"/file/{quote(plan.packet.path.name, safe='')}",
            "open": tell("desk_sheets.make.open", file=plan.packet.path.name),
        }

"""Printers: those that are kept, a proof to measure one by, and what a ruler read on it."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import InputError, Problem
from sheets.actions.one_sheet import paper_named, write_proof
from sheets.actions.printer import Given, described, judged
from sheets.actions.writing import read_back
from sheets.desk.fields import number, text
from sheets.desk.shown import desk_of, given, json_answer, page
from sheets.desk.state import Desk
from sheets.home import printers, printers_file
from sheets.ink.long_bars import bars_of
from sheets.ink.paper import PAPERS
from sheets.words.tell import tell, told


async def shown(request: Request) -> Response:
    """Show the printers that are kept, and the form for another."""
    kept, file = await run_in_threadpool(listed), str(printers.file())
    return page(request, "printers.html", printers=kept, papers=tuple(PAPERS), file=file, paper="A4")


async def proof(request: Request) -> Response:
    """Write a paper's proof into the folder, corrected for a printer where one is named."""
    desk, value = desk_of(request), await given(request)
    return json_answer(await run_in_threadpool(_proof, desk, value))


async def add(request: Request) -> Response:
    """Keep a printer as it was read, and return what is to be said of it."""
    value = await given(request)
    return json_answer(await run_in_threadpool(_add, value))


async def remove(request: Request) -> Response:
    """Forget a printer."""
    value = await given(request)
    gone = await run_in_threadpool(printers_file.remove, text(value, "name"))
    return json_answer({"said": [tell("printer.removed", name=gone.name, file=str(printers.file()))]})


ROUTES = [
    Route("/printers", shown),
    Route("/printers/proof", proof, methods=["POST"]),
    Route("/printers/add", add, methods=["POST"]),
    Route("/printers/remove", remove, methods=["POST"]),
]


def listed() -> list[dict[str, str]]:
    """Return the printers that are kept: the name of each, and what is told of it in a line."""
    return [{"name": each.name, "line": described(each)} for each in printers.known().values()]


def _proof(desk: Desk, value: Mapping[str, Any]) -> dict[str, Any]:
    size, name = paper_named(text(value, "paper")), text(value, "printer")
    files, worst = write_proof(size, printers.find(name, "") if name else None, desk.folder)
    bars = bars_of(size)
    drawn = tell("command.proof_drawn", across=bars.across, down=bars.down, diagonal=bars.diagonal)
    return {
        "said": [read_back(tell("command.proof_for", paper=size.name), worst), drawn],
        "files": [
            {"name": each.path.name, "path": f"/file/{quote(each.path.name, safe='')}"} for each in files
        ],
    }


def _field(where: str) -> str:
    """Return how the page calls what an error of the command blames, by its options."""
    for key in ("across", "down", "rising", "falling", "ruler", "paper", "note"):
        where = where.replace(f"--{key}", tell(f"desk_sheets.printer.{key}"))
    return tell("desk_sheets.printer.name") if where == "NAME" else where


def _add(value: Mapping[str, Any]) -> dict[str, Any]:
    typed = Given(
        name=text(value, "name"),
        paper=paper_named(text(value, "paper")),
        across=number(value, "across"),
        down=number(value, "down"),
        rising=number(value, "rising") or None,
        falling=number(value, "falling") or None,
        ruler=number(value, "ruler") or "0.5",
        date=text(value, "date") or None,
        note=text(value, "note"),
    )
    try:
        found, said = judged(typed)
        printers_file.keep((found,), value.get("replace") is True)
    except InputError as error:
        raise InputError(
            *(Problem(_field(told(each.where)), each.what) for each in error.problems)
        ) from error
    return {
        "name": found.name,
        "said": [described(found), *said, tell("printer.kept_in", file=str(printers.file()))],
    }

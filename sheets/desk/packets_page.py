"""The packets of the folder, told as `dropleaf verify` tells them: all at a glance, and each by itself."""

from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sheets.desk.shown import desk_of, page
from sheets.desk.state import Desk
from sheets.files.apart import apart
from sheets.files.record import says
from sheets.filing.filed_packets import look_through
from sheets.filing.filed_packets import text as folder_text
from sheets.filing.verify import text, verify


async def packets(request: Request) -> Response:
    """Show the packets of the folder, and what speaks against any of them."""
    return page(request, "packets.html", **await run_in_threadpool(_packets, desk_of(request)))


async def packet(request: Request) -> Response:
    """Show what is found out about one packet."""
    desk, name = desk_of(request), request.path_params["name"]
    return page(request, "packet.html", **await run_in_threadpool(_packet, desk, name))


ROUTES = [Route("/packets", packets), Route("/packets/{name}", packet)]


def _packets(desk: Desk) -> dict[str, Any]:
    files = [desk.path(each.name) for each in _pdfs(desk.folder)]
    return {
        "files": [{"name": each.name, "path": quote(each.name, safe="")} for each in files],
        "said": folder_text(desk.folder, look_through(files)).splitlines() if files else [],
    }


def _pdfs(folder: Path) -> list[Path]:
    """Return the folder's PDFs that lie in it by themselves; links may lead out of it."""
    found = (each for each in folder.iterdir() if each.suffix.lower() == ".pdf" and not each.is_symlink())
    return sorted(each for each in found if each.is_file() and not each.name.startswith("."))


def _packet(desk: Desk, name: str) -> dict[str, Any]:
    file = desk.path(name)
    good, said = apart(file, _verified, file)
    return {
        "name": file.name,
        "path": quote(file.name, safe=""),
        "good": good,
        "said": said,
        "says": says(),
    }


def _verified(file: Path) -> tuple[bool, list[str]]:
    verdict = verify(file)
    # The page speaks of the folder's files by their names.
    said = text(verdict).replace(str(file), file.name)
    return verdict.good, [each.strip() for each in said.splitlines()]

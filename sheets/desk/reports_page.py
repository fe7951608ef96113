"""Measured mounts of several makers put together: the readings and reports that lie in the folder."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import say
from sheets.actions import learn, pool_words
from sheets.actions.learn import READINGS
from sheets.actions.pool import LARGEST, Pool, pool
from sheets.actions.pool_keep import outcome
from sheets.desk.fields import text
from sheets.desk.learn_page import at_name
from sheets.desk.shown import desk_of, given, json_answer, page, part
from sheets.desk.state import Desk
from sheets.files.apart import apart
from sheets.job import toml
from sheets.words.tell import tell


async def shown(request: Request) -> Response:
    """Show which files of the folder have readings on a mount that works."""
    desk = desk_of(request)
    found = await run_in_threadpool(lambda: apart(desk.folder, readings_in, _candidates(desk)))
    return page(request, "reports.html", files=found)


async def together(request: Request) -> Response:
    """Return what files come to together, and keep their rows under a name where one is given."""
    desk, value = desk_of(request), await given(request)
    return json_answer(await run_in_threadpool(_together, desk, value))


ROUTES = [Route("/reports", shown), Route("/reports/pool", together, methods=["POST"])]


def _candidates(desk: Desk) -> tuple[Path, ...]:
    """Return the folder's TOML files that are small enough to be readings, but no links out of it."""
    found = []
    for each in sorted(desk.folder.glob("*.toml")):
        try:
            file = desk.path(each.name)
            if file.is_file() and file.stat().st_size <= LARGEST:
                found.append(file)
        except (DropleafError, OSError):
            continue
    return tuple(found)


def readings_in(files: tuple[Path, ...]) -> list[str]:
    """Return the names of those files that have readings on a mount, right or wrong ones, for a child."""
    found = []
    for file in files:
        try:
            document = toml.document(file.read_bytes())
        except (DropleafError, OSError):
            continue
        if READINGS in document and ("family" in document or "native" in document):
            found.append(file.name)
    return found


def _together(desk: Desk, value: Mapping[str, Any]) -> dict[str, Any]:
    names = value.get("files")
    if not isinstance(names, list) or not all(isinstance(each, str) for each in names):
        raise InputError.at("", say("desk.no_json"))
    if not names:
        raise InputError.at("", say("desk_sheets.reports.none_ticked"))
    files = [desk.path(name) for name in dict.fromkeys(names)]
    save, despite = text(value, "save").strip() or None, value.get("despite") is True
    replaces, replace = (value.get(key) is True for key in ("replaces", "replace"))
    if save is not None:
        at_name(lambda: learn.check_new_name(save, replaces))
    found: Pool = apart(desk.folder, pool, files, despite)
    done = at_name(lambda: outcome(found, save, replaces, replace, despite))
    told = pool_words.text(found, ["" for _ in done.shown])
    for file in files:
        # The page speaks of the folder's files by their names.
        told = told.replace(str(file), file.name)
    said = [each.replace(f"{desk.folder}/", "") for each in done.said]
    kept = [tell("lesson.kept", file=done.kept, name=str(save))] if done.kept else []
    html = part(
        "pooled.html",
        told=told,
        said=said,
        good=done.good,
        shown=[each for each in done.shown if each],
        kept=kept,
    )
    return {"kept": kept, "html": html}

"""The builder's own operations: what is kept, one more, and one less."""

from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.say import named
from sheets.desk.fields import text
from sheets.desk.shown import given, json_answer, page
from sheets.home import own_operations_file
from sheets.home.own_operations import own_operations
from sheets.job.operations import CHECK_POINTS, operations
from sheets.words.tell import lines, tell, told

_FIELDS = ("key", "text", "hold", "check", "replaces")


async def shown(request: Request) -> Response:
    """Show the operations that are kept, and the form for another."""
    return page(request, "operations.html", **await run_in_threadpool(_shown))


async def add(request: Request) -> Response:
    """Keep an operation."""
    return json_answer(await run_in_threadpool(_add, await given(request)))


async def remove(request: Request) -> Response:
    """Forget an operation."""
    value = await given(request)
    await run_in_threadpool(own_operations_file.remove, text(value, "key"))
    return json_answer({"said": tell("desk_sheets.operations.removed", key=text(value, "key"))})


ROUTES = [
    Route("/operations", shown),
    Route("/operations/add", add, methods=["POST"]),
    Route("/operations/remove", remove, methods=["POST"]),
]


def _shown() -> dict[str, Any]:
    file, wrong = own_operations_file.file(), []
    try:
        kept = own_operations(file)
    except DropleafError as error:
        kept, wrong = (), lines(error)
    return {
        "kept": [
            {
                "key": each.key,
                "text": each.text,
                "hold": tell("operations.unsigned") if each.hold is True else each.hold or "",
                "check": told(named(each.check)) if each.check else "",
                "replaces": each.replaces,
            }
            for each in kept
        ],
        "wrong": wrong,
        "file": str(file),
        "points": [(each, told(named(each))) for each in CHECK_POINTS],
        "shipped": [(each.key, each.title) for each in operations(None, "tab", 0.0)],
    }


def _add(value: Mapping[str, Any]) -> dict[str, Any]:
    wanted: dict[str, str | bool] = {
        key: " ".join(text(value, key).split())
        for key in ("key", "text", "check")
        if text(value, key).strip()
    }
    if hold := " ".join(text(value, "hold").split()):
        wanted["hold"] = hold
    elif value.get("unsigned") is True:
        wanted["hold"] = True
    if value.get("replaces") is True:
        wanted["replaces"] = True
    try:
        row = own_operations_file.keep(wanted, value.get("replace") is True)
    except InputError as error:
        raise InputError(
            *(Problem(_field(told(each.where)), each.what) for each in error.problems)
        ) from error
    return {"said": tell("desk_sheets.operations.added", key=row.key, file=str(own_operations_file.file()))}


def _field(where: str) -> str:
    """Return how the page calls what an error blames by the file's key."""
    return tell(f"desk_sheets.operation_field.{where}") if where in _FIELDS else where

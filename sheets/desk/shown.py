"""What the desk answers: pages from templates, JSON, and problems in either form.

Whatever is put into a template is escaped; what a template lacks is a fault, not an empty place.
"""

import functools
import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.types import Scope

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.say import Say, say
from sheets.desk.state import Desk
from sheets.words.as_json import as_json
from sheets.words.lengths import measured
from sheets.words.tell import tell, told, visible

HERE = Path(__file__).parent
STATIC = HERE / "static"
_TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
"""Said here: a system may have another mind of what a script is, and a browser would not run it."""
PLACES = (
    ("/", "frames"), ("/packets", "packets"), ("/printers", "printers"), ("/learn", "learn"),
    ("/reports", "reports"), ("/rows", "rows"), ("/operations", "operations"), ("/mounts", "mounts"),
    ("/book", "book"),
)  # fmt: skip
"""The pages that every page links to, with the last part of what they are called: desk.nav."""


@functools.cache
def _environment() -> Environment:
    made = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals.update(tell=tell, told=told, visible=visible, measured=measured)
    return made


def rendered(template: str, **values: Any) -> str:
    """Return a template filled with values."""
    return _environment().get_template(template).render(**values)


class Made(str):
    """Markup that was made here, of values that were escaped: a template takes it as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        """Return the markup."""
        return self


def part(template: str, **values: Any) -> Made:
    """Return a part of a page, to stand in another template or to be sent to a script."""
    return Made(rendered(template, **values))


def page(request: Request, template: str, status: int = 200, **values: Any) -> Response:
    """Return a page; its template stands on base.html and sets `title`."""
    known = {getattr(route, "path", "") for route in request.app.routes}
    here = request.url.path
    places = [(path, name, path == here) for path, name in PLACES if path in known]
    return HTMLResponse(rendered(template, places=places, **values), status)


def json_answer(value: Any, status: int = 200) -> Response:
    """Return a value as JSON: dataclasses by their fields, what is said told."""
    text = json.dumps(as_json(value), ensure_ascii=False, allow_nan=False)
    return Response(text, status, media_type="application/json")


def problems(found: Iterable[Problem]) -> list[dict[str, str]]:
    """Return what problems say: where, and what is wrong there; `offer` is what would be taken instead."""
    listed = []
    for each in found:
        instead = (
            each.what["instead"] if isinstance(each.what, Say) and "instead" in dict(each.what.values) else ""
        )
        listed.append({"where": told(each.where), "text": told(each.what), "offer": str(instead)})
    return listed


def refusal(scope: Scope, status: int, said: Sequence[str] | DropleafError) -> Response:
    """Return why a request is refused: as a plain page for whoever reads, as JSON for a script."""
    listed = (
        problems(said.problems)
        if isinstance(said, DropleafError)
        else [{"where": "", "text": each} for each in said]
    )
    accepts = dict(scope["headers"]).get(b"accept", b"")
    if scope["method"] not in ("GET", "HEAD") or b"application/json" in accepts:
        return json_answer({"problems": listed}, status)
    return HTMLResponse(rendered("refused.html", problems=listed), status)


def not_there(request: Request) -> Response:
    """Return that nothing is to be had at an address."""
    return refusal(request.scope, 404, [tell("desk.refused.404")])


def picture(request: Request, made: bytes | None) -> Response:
    """Return an SVG, or that there is none."""
    return not_there(request) if made is None else Response(made, media_type=_TYPES[".svg"])


async def worked(request: Request, work: Callable[[Desk, str, Mapping[str, Any]], Any]) -> Response:
    """Return as JSON what `work` makes, beside the loop, of desk, frame and what the frame's page sent."""
    name, value = request.path_params["name"], await given(request)
    return json_answer(await run_in_threadpool(work, desk_of(request), name, value))


def desk_of(request: Request) -> Desk:
    """Return the desk that a request came to."""
    found: Desk = request.app.state.desk
    return found


async def given(request: Request) -> Mapping[str, Any]:
    """Return the JSON object that a request brings; raise InputError for anything else."""
    try:
        value = json.loads(await request.body())
    except (ValueError, RecursionError) as error:
        raise InputError.at("", say("desk.no_json")) from error
    if not isinstance(value, dict):
        raise InputError.at("", say("desk.no_json"))
    return value


async def static(request: Request) -> Response:
    """Return one of the desk's own files, by a name that is among them."""
    file = next((each for each in STATIC.iterdir() if each.name == request.path_params["name"]), None)
    if file is None or file.suffix not in _TYPES:
        return not_there(request)
    return Response(file.read_bytes(), media_type=_TYPES[file.suffix])

"""The traveller that was filled in on paper, typed in: its fields as the paper has them, a step at a time."""

import datetime
import itertools
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.actions.pages import page as sheets_of
from sheets.actions.readings_file import FIELD
from sheets.desk import proven, typed
from sheets.desk.fields import WHO, of_frame, text, who_and_when
from sheets.desk.heat import latest, revising
from sheets.desk.shown import desk_of, page, worked
from sheets.desk.state import Desk
from sheets.filing.typed_traveller import file_traveller
from sheets.home.jobs import load
from sheets.ink.records import Field
from sheets.job.read import JobFile
from sheets.words.lengths import telling
from sheets.words.tell import tell

TABLE = "traveller"
"""The one table of that file."""
_MOST = 2000
"""Characters in a field: an inspection note takes a few lines."""
_ALONE = ("step", "failed")
"""Fields whose number is part of what they belong to: a step each, a line each."""
_INPUTS = {"number": "text", "tick": "checkbox", "date": "date", "text": "text"}


async def shown(request: Request) -> Response:
    """Show the traveller's fields with what was typed so far."""
    desk, name = desk_of(request), request.path_params["name"]
    return page(request, "traveller.html", **await run_in_threadpool(_shown, desk, name))


async def write(request: Request) -> Response:
    """Keep what was typed into one field."""
    return await worked(request, _write)


async def file(request: Request) -> Response:
    """File what was typed in the packet's next revision, with who and when."""
    return await worked(request, _file)


ROUTES = [
    Route("/frame/{name}/traveller", shown),
    Route("/frame/{name}/traveller/write", write, methods=["POST"]),
    Route("/frame/{name}/traveller/file", file, methods=["POST"]),
]


def kept_in(desk: Desk, name: str) -> Path:
    """Return where what is typed of a frame's traveller is kept."""
    return desk.path(f"{name}{proven.ENDING}")


def _fields(source: JobFile) -> list[Field]:
    """Return the traveller's fields but its readings, which have a page of their own."""
    sheets = sheets_of(source, "traveller")
    return [each for sheet in sheets for each in sheet.fields if not each.name.startswith(FIELD)]


def _part(field: Field) -> str:
    """Return what a field belongs to: "head", "step.3", "failed.1"."""
    first, second, *_ = field.name.split(".")
    return f"{first}.{second}" if first in _ALONE else "used" if first in ("tube", "part") else first


def _shown(desk: Desk, name: str) -> dict[str, Any]:
    source = load(desk.job_path(name))
    with telling(source.job.paper.units):
        packet = latest(desk, source.job.frame.id)
        kept = proven.of_this_packet(kept_in(desk, name), TABLE, packet)
        parts = []
        for part, fields in itertools.groupby(_fields(source), _part):
            listed = list(fields)
            head = listed[0].label.partition(": ")[0] if "." in part else tell(f"desk_sheets.part.{part}")
            parts.append({"head": head, "fields": [_field(each, kept, "." in part) for each in listed]})
        return {
            **of_frame(source),
            "parts": parts,
            "packet": packet and packet.name,
            "today": datetime.date.today().isoformat(),
            "who": WHO,
        }


def _field(each: Field, kept: Mapping[str, str], short: bool) -> dict[str, Any]:
    label = each.label.partition(": ")[2] if short else each.label
    value = kept.get(each.name, each.value)
    return {
        "name": each.name,
        "label": label[:1].upper() + label[1:],
        "kind": each.kind,
        "input": _INPUTS.get(each.kind, "text"),
        "value": value,
        "typed": each.name in kept,
    }


def _write(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    key, typed_in = text(value, "field"), text(value, "value")
    fields = {each.name for each in _fields(load(desk.job_path(name)))}
    if key not in fields or len(typed_in) > _MOST:
        raise InputError.at("", say("desk_sheets.traveller.no_field", most=_MOST))
    typed.keep(kept_in(desk, name), TABLE, {key: typed_in})
    return {"said": tell("desk_sheets.traveller.kept")}


def _file(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    source = load(desk.job_path(name))
    who, when = who_and_when(value)
    with telling(source.job.paper.units):
        if not typed.kept(kept_in(desk, name)).get(TABLE, {}):
            raise InputError.at("", say("desk_sheets.traveller.nothing"))
        with revising(desk, source.job.frame.id) as packet:
            kept = proven.of_this_packet(kept_in(desk, name), TABLE, packet)
            if not kept:
                raise InputError.at("", say("desk_sheets.traveller.nothing"))
            filed = file_traveller(packet, _fields(source), kept, who, when)
        said = tell("survey.ask.filed", file=filed.name, packet=packet.name)
        return {"filed": filed.name, "said": [said]}

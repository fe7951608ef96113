"""Learning a row of one's own from readings on a mount that works."""

import datetime
import itertools
from collections.abc import Iterator, Mapping
from typing import Any, get_args

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.survey.learn_readings import Kind, kinds
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import rows
from sheets.actions import learn, learn_keep, learn_words
from sheets.actions.readings_file import with_point
from sheets.desk.fields import number, text
from sheets.desk.reading_picture import learning
from sheets.desk.shown import given, json_answer, page, part, picture
from sheets.words.tell import tell, told

_HEAD = ("native", "on", "date", "by", "hole", "resolution", "caliper", "play", "maker", "model", "adapter")
_NEEDED = ("native", "on", "date", "by")


async def shown(request: Request) -> Response:
    """Show what can be read on a mount of a family at an end."""
    offered, (family, end) = _offered(request)
    listed = [_reading(each) for each in kinds(family, end)]
    # What is worked out from others comes last: whoever has a caliper reads.
    stems = {each["key"].rpartition("-")[0] for each in listed if each["key"].endswith(("-over", "-between"))}
    values: dict[str, Any] = {
        "family": family,
        "end": end,
        "offered": offered,
        "readings": [each for each in listed if each["key"] not in stems],
        "worked_out": [each for each in listed if each["key"] in stems],
        "head": [{"key": key, "wanted": told(learn.wanted(key)), "needed": key in _NEEDED} for key in _HEAD],
        "today": datetime.date.today().isoformat(),
    }
    return page(request, "learn.html", **values)


async def jaws(request: Request) -> Response:
    """Return a picture of where the jaws go."""
    _, (family, end) = _offered(request)
    key = request.path_params["key"]
    known = any(each.key == key for each in kinds(family, end))
    drawn = await run_in_threadpool(learning, family, end, key) if known else None
    return picture(request, drawn)


async def judge(request: Request) -> Response:
    """Return what the readings come to, and keep the row under a name where one is given."""
    return json_answer(await run_in_threadpool(_judged, await given(request)))


ROUTES = [
    Route("/learn", shown),
    Route("/learn/{key}.svg", jaws),
    Route("/learn/judge", judge, methods=["POST"]),
]


def _offered(request: Request) -> tuple[list[tuple[Family, End]], tuple[Family, End]]:
    """Return the families of mounts at each end that there are, and the one that is asked for."""
    pairs: Iterator[tuple[Family, End]] = itertools.product(get_args(Family), get_args(End))
    offered = [
        (family, end)
        for family, end in pairs
        if any(row.family == family and end in row.ends for row in rows().values())
    ]
    asked = tuple(request.query_params.get(key) for key in ("family", "end"))
    return offered, next((each for each in offered if each == asked), offered[0])


def _reading(kind: Kind) -> dict[str, str]:
    return {"key": kind.key, "how": told(kind.how)}


def _judged(value: Mapping[str, Any]) -> dict[str, Any]:
    head = {key: number(value, key) for key in ("family", "end", *_HEAD) if text(value, key).strip()}
    sent = value.get("readings", {})
    readings = {
        key: [with_point(part) for part in each.split(";")]
        for key, each in (sent.items() if isinstance(sent, dict) else ())
        if isinstance(each, str) and each.strip()
    }
    save, ticked = (
        text(value, "save") or None,
        {key: value.get(key) is True for key in ("replaces", "replace", "despite")},
    )
    if save is not None:
        _at_name(lambda: learn.check_new_name(save, ticked["replaces"]))
    lesson = learn.lesson(learn.measured({**head, learn.READINGS: readings}))
    found = _at_name(lambda: learn_keep.kept(lesson, save, **ticked))
    said = [tell("lesson.kept", file=each, name=str(save)) for each in found.files]
    beside = {each.measured.key: each for each in lesson.compared}
    provisional = lesson.shipped is not None and lesson.shipped.provisional
    return {
        "kept": said,
        "html": part(
            "learned.html",
            against=[*lesson.doubts, *lesson.questions, *([found.apart] if found.apart else [])],
            numbers=[
                (
                    told(each.name),
                    f"{each.value:.2f} ±{learn_words.up(each.band):.2f}",
                    learn_words.change(beside[each.key], provisional) if each.key in beside else "",
                )
                for each in lesson.learned.quantities
            ],
            said=learn_words.sentences(lesson, found.joined),
            shown=found.shown,
            kept=said,
        ),
    }


def _at_name(what: Any) -> Any:
    """Do something whose errors blame the command's option for the name: the page has a field for it."""
    try:
        return what()
    except DropleafError as error:
        name = tell("desk_sheets.learn.save")
        problems = [
            Problem(name if told(each.where) == "--save" else each.where, each.what)
            for each in error.problems
        ]
        raise InputError(*problems) from error

"""Learning a row of one's own from readings on a mount that works."""

import datetime
import itertools
from collections.abc import Callable, Iterator, Mapping
from typing import Any, TypeVar, get_args

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError, Problem, RefusedError
from geometry.core.say import say
from geometry.survey.learn_readings import Kind, kinds
from geometry.tables.axles import End
from geometry.tables.interface_rows import Family
from geometry.tables.interfaces import rows
from sheets.actions import learn, learn_keep, learn_words
from sheets.actions.mount_report import write_report
from sheets.actions.one_sheet import paper_named
from sheets.actions.readings_file import with_point
from sheets.desk.fields import number, text
from sheets.desk.reading_picture import learning
from sheets.desk.shown import desk_of, given, json_answer, page, part, picture
from sheets.desk.state import Desk
from sheets.ink.paper import PAPERS
from sheets.job.limits import lettered
from sheets.words.tell import tell, told

Done = TypeVar("Done")

_HEAD = ("native", "on", "date", "by", "hole", "resolution", "caliper", "play", "maker", "model", "adapter")
_MORE = tuple(key for key in learn.MORE if key not in _HEAD)
"""What a report says besides."""
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
        "more": [{"key": key, "wanted": told(learn.wanted(key))} for key in _MORE],
        "papers": tuple(PAPERS),
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
    return json_answer(await run_in_threadpool(_judged, desk_of(request), await given(request)))


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


def _judged(desk: Desk, value: Mapping[str, Any]) -> dict[str, Any]:
    head = {key: number(value, key) for key in ("family", "end", *_HEAD, *_MORE) if text(value, key).strip()}
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
        at_name(lambda: learn.check_new_name(save, ticked["replaces"]))
    lesson = learn.lesson(learn.measured({**head, learn.READINGS: readings}))
    found = at_name(lambda: learn_keep.kept(lesson, save, **ticked))
    report = _report(desk, lesson, value) if value.get("report") is True else None
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
            report=report,
        ),
    }


def _report(desk: Desk, lesson: learn.Lesson, value: Mapping[str, Any]) -> dict[str, Any]:
    """Write a report into the folder; return what is told of it, and its page to be opened."""
    if lesson.doubts:
        return {"said": [tell("report.not_written", where=lesson.measured.on)], "page": None}
    given_name = " ".join(text(value, "name").split())
    try:
        name = lettered(given_name) if given_name else ""
    except RefusedError as error:
        raise InputError.at(say("desk_sheets.learn.name"), error.what) from error
    paper = paper_named(text(value, "paper") or "A4")
    done = write_report(lesson, desk.folder, paper, name)
    return {"said": done.lines, "page": done.page.path.name}


def at_name(what: Callable[[], Done]) -> Done:
    """Do something whose errors blame the command's option for a row's name: pages have a field for it."""
    try:
        return what()
    except DropleafError as error:
        name = tell("desk_sheets.learn.save")
        problems = [
            Problem(name if told(each.where) == "--save" else each.where, each.what)
            for each in error.problems
        ]
        raise InputError(*problems) from error

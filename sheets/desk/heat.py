"""After the heat: readings one at a time, the verdict that grows with each, and its filing."""

import contextlib
import datetime
import functools
import itertools
import threading
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path
from typing import Any, Literal
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import named, say
from geometry.survey.plan import Asked, is_asked
from sheets.actions import readings_file, survey, survey_report
from sheets.actions.readings_file import Read
from sheets.actions.survey import Bench, Surveyed
from sheets.desk import typed, verdict_picture
from sheets.desk.fields import WHO, of_frame, text, who_and_when
from sheets.desk.meanings import used
from sheets.desk.reading_picture import count, pictures
from sheets.desk.shown import desk_of, page, part, picture, problems, worked
from sheets.desk.state import Desk
from sheets.files.apart import apart
from sheets.filing import surveying
from sheets.filing.verify import opened
from sheets.guide.survey_readings import asked_at, target
from sheets.home.jobs import from_bytes, load
from sheets.job.identity import job_digest
from sheets.job.operations import CHECK_POINTS
from sheets.pages.running.survey_page import Section
from sheets.words.lengths import telling
from sheets.words.readings import often
from sheets.words.tell import lines, on_paper, tell, told

_revising = threading.Lock()
_Stands = Literal["open", "begun", "done"]
"""How far the readings of a check point are."""


async def heat(request: Request) -> Response:
    """Show the readings of a check point, and the verdict on what was read so far."""
    desk, name = desk_of(request), request.path_params["name"]
    values = await run_in_threadpool(_shown, desk, name, request.query_params.get("point", ""))
    return page(request, "heat.html", **values)


async def jaws(request: Request) -> Response:
    """Return a picture of where the jaws go for a reading."""
    desk, name = desk_of(request), request.path_params["name"]
    key, number = request.path_params["key"], request.path_params["number"]

    def drawn() -> bytes | None:
        bench = _bench(desk, name)
        taken = next((each for each in bench.takeable if each.key == key), None)
        with telling(bench.source.job.paper.units):
            made = () if taken is None else pictures(bench, taken)
        return made[number] if number < len(made) else None

    return picture(request, await run_in_threadpool(drawn))


async def read(request: Request) -> Response:
    """Keep one reading and return the verdict with it; what is wrong with it keeps it out."""
    return await worked(request, _read)


async def file(request: Request) -> Response:
    """File the survey in the packet's next revision, with who and when."""
    return await worked(request, _file)


ROUTES = [
    Route("/frame/{name}/heat", heat),
    Route("/frame/{name}/heat/{key}-{number:int}.svg", jaws),
    Route("/frame/{name}/heat/read", read, methods=["POST"]),
    Route("/frame/{name}/heat/file", file, methods=["POST"]),
]


def revisions(desk: Desk, frame: str) -> list[Path]:
    """Return the revisions of a frame's packet in the folder by their names, the newest last.

    One that was given another name is found out when it is revised, and named then.
    """
    names = itertools.chain([f"{frame}.pdf"], (f"{frame}-rev{number}.pdf" for number in itertools.count(2)))
    return list(itertools.takewhile(Path.exists, map(desk.path, names)))


def latest(desk: Desk, frame: str) -> Path | None:
    """Return the last revision of a frame's packet in the folder, None where none was made."""
    return next(reversed(revisions(desk, frame)), None)


@contextlib.contextmanager
def revising(desk: Desk, frame: str) -> Iterator[Path]:
    """Give the packet that the next revision is made from, and let nobody else here make one meanwhile.

    Raise InputError where the frame has no packet yet.
    """
    with _revising:
        found = latest(desk, frame)
        if found is None:
            raise InputError.at("", say("desk_sheets.file.no_packet"))
        yield found


def _bench(desk: Desk, name: str) -> Bench:
    return survey.bench_of(load(desk.job_path(name)))


def _point(point: str) -> str:
    if point not in CHECK_POINTS:
        raise InputError.at("", readings_file.no_point(point))
    return point


def _kept_in(desk: Desk, name: str) -> Path:
    return desk.path(f"{name}{readings_file.KEPT}")


def _shown(desk: Desk, name: str, point: str) -> dict[str, Any]:
    bench = _bench(desk, name)
    job = bench.source.job
    every = typed.kept(_kept_in(desk, name))
    packet, filed = _packet_of(desk, bench)
    # The row of check points waits for the verdicts: a point that was green while its verdict could not tell
    # yet sent builders on. Each is worked out once, and kept.
    words = {each: _word(bench, each, every.get(each, {})) for each in CHECK_POINTS}
    stands = {each: _stands(bench, each, every.get(each, {}), filed, words[each]) for each in CHECK_POINTS}
    at = _point(point) if point else _first_open(stands)
    # A builder at the page knows a job's keys by what they are called.
    with telling(job.paper.units), on_paper():
        kept = every.get(at, {})
        asked = asked_at(bench, at)
        first = {each.taken.key for each in asked}
        # What may be asked for next once these are read, or was read already.
        more = [
            Asked(each, 1)
            for each in bench.takeable
            if each.key not in first
            and (each.key in kept or (is_asked(each) and readings_file.taken_at(each, at)))
        ]
        cards = [
            {**_card(bench, each, kept.get(each.taken.key, "")), "more": each.taken.key not in first}
            for each in (*asked, *more)
        ]
        judged = _judged(bench, at, kept)
        return {
            **of_frame(bench.source),
            "points": [
                {
                    "key": each,
                    "called": told(named(each)),
                    "means": tell(f"reading.point_means.{each}"),
                    "now": each == at,
                    **_told_of(words[each], each in filed),
                }
                for each in CHECK_POINTS
            ],
            "point": at,
            "readings": cards,
            "words": used(f"{each['name']} {each['how']} {each['note']}" for each in cards),
            "units": job.paper.units,
            "verdict": judged["verdict"],
            "next": judged["next"],
            "packet": packet,
            "today": datetime.date.today().isoformat(),
            "who": WHO,
        }


def _stands(bench: Bench, point: str, kept: Mapping[str, str], filed: Collection[str], word: str) -> _Stands:
    """Return how far a check point is: done once its survey is filed, or all is read and is right.

    To go on each reading is taken once; the last point is done when each was taken as often as is asked. What
    does not say "right" is not gone on from by itself: whoever comes back finds it.
    """
    if point in filed:
        return "done"
    if kept and word != "right":
        return "begun"
    last = point == CHECK_POINTS[-1]
    lacks = [
        each
        for each in asked_at(bench, point)
        if _taken(kept.get(each.taken.key, "")) < (each.times if last else 1)
    ]
    return "begun" if lacks and kept else "open" if lacks else "done"


def _first_open(stands: Mapping[str, _Stands]) -> str:
    """Return the check point at which the work stands: one that is begun, or the one after the last done.

    What was passed over is not gone back to by itself; with all done it is the last.
    """
    touched = [number for number, point in enumerate(CHECK_POINTS) if stands[point] != "open"]
    if not touched:
        return CHECK_POINTS[0]
    last = touched[-1]
    return CHECK_POINTS[min(last + (stands[CHECK_POINTS[last]] == "done"), len(CHECK_POINTS) - 1)]


def _taken(value: str) -> int:
    """Return how many readings stand in a text."""
    return sum(bool(part.strip()) for part in value.split(";"))


def _word(bench: Bench, point: str, kept: Mapping[str, str]) -> str:
    """Return the verdict's word on what is kept of a check point, "" without a reading."""
    with contextlib.suppress(InputError):
        result = _surveyed(bench, point, kept)
        return result.verdict.word if result else ""
    return ""


def _told_of(word: str, filed: bool) -> dict[str, str]:
    """Return what stands beside a check point: that it is filed, or its verdict, and how that looks."""
    if filed:
        return {"said": tell("desk_sheets.heat.filed"), "state": "go"}
    if not word:
        return {"said": "", "state": ""}
    key = word.replace(" ", "_")
    return {"said": tell(f"survey.word.{key}"), "state": _LOOKS[key]}


_LOOKS = {"right": "go", "usable_with_remedy": "look", "not_usable": "stop", "cannot_tell": "quiet"}
"""How a verdict looks in the row of check points; one that cannot tell yet is no colour."""


def _surveyed(bench: Bench, point: str, kept: Mapping[str, str]) -> Surveyed | None:
    """Return the survey of what is kept of a check point, None for nothing; raise InputError as `_found`.

    Nobody changes it: the page that is opened and the row of its check points are told by one.
    """
    if not any(each.strip() for each in kept.values()):
        return None
    source = bench.source
    return _known(source.path, source.raw, source.job.paper.units, point, tuple(kept.items()))


@functools.lru_cache(maxsize=16)
def _known(
    path: Path, raw: bytes, units: str, point: str, kept: tuple[tuple[str, str], ...]
) -> Surveyed | None:
    bench = survey.bench_of(from_bytes(raw, path))
    with telling(bench.source.job.paper.units), on_paper():
        found = _found(bench, point, dict(kept))
        return survey.surveyed(bench, found, point) if found.rows else None


def _packet_of(desk: Desk, bench: Bench) -> tuple[dict[str, Any] | None, set[str]]:
    """Return the packet that a survey is filed in, and the check points whose survey is in it already.

    It is told whether another job's text was drawn in it. None where there is none. One that cannot be read
    is a problem of filing alone: readings are taken all the same.
    """
    try:
        found = latest(desk, bench.source.job.frame.id)
        if found is None:
            return None, set()
        packet = apart(found, opened, found)
    except DropleafError as error:
        return {"problems": problems(error.problems)}, set()
    kept = packet.record
    same = (kept.get("job") or {}).get("digest") == job_digest(bench.source.raw)
    # survey-cold.json, or survey-cold-2.json where there was one already.
    names = (each.removesuffix(".json").split("-") for each in packet.seen.attachments)
    return {
        "name": found.name,
        "path": quote(found.name, safe=""),
        "revision": kept["revision"],
        "same": same,
        "problems": [],
    }, {parts[1] for parts in names if parts[0] == "survey" and len(parts) > 1}


def _card(bench: Bench, asked: Asked, value: str) -> dict[str, Any]:
    """Return what is shown of a reading."""
    reading = asked.taken.reading
    return {
        "key": reading.key,
        "name": told(reading.name),
        "how": told(reading.how),
        "note": told(reading.note),
        "often": told(often(asked.times)),
        "times": asked.times,
        "target": told(target(reading, bench.source.job.paper.units)),
        "pictures": count(asked.taken),
        "value": value,
    }


def _found(bench: Bench, point: str, kept: Mapping[str, str]) -> Read:
    """Return kept readings, mm; raise InputError with what is wrong, led by the reading's name.

    A bare one is mm, whatever the job asks for by now.
    """
    names = {each.key: told(each.reading.name) for each in bench.takeable}
    entries = [
        readings_file.Entry(names.get(key, key), point, key, part)
        for key, whole in kept.items()
        for part in whole.split(";")
        if part.strip()
    ]
    return readings_file.read(entries, bench.takeable, bench.left_out)


def _judged(bench: Bench, point: str, kept: Mapping[str, str]) -> dict[str, Any]:
    """Return the verdict on what was read so far as a part of a page, and the readings to take next."""
    try:
        result = _surveyed(bench, point, kept)
    except InputError as error:
        told_of = part("verdict.html", found=None, problems=problems(error.problems))
        return {"verdict": told_of, "next": [], "stands": _told_of("", False)}
    if result is None:
        told_of = part("verdict.html", found=None, problems=[])
        return {"verdict": told_of, "next": _first(bench, point), "stands": _told_of("", False)}
    one = result.survey
    shown = {
        "word": survey_report.word(result.verdict),
        "state": result.verdict.word.replace(" ", "_"),
        "views": verdict_picture.pictures(one),
        "larger": verdict_picture.larger(one),
        "reasons": result.verdict.reasons,
        "remedies": [each.text for each in result.verdict.remedies],
        "errors": [(each, survey_report.cells(each)) for each in one.misses],
        "effects": survey_report.effects(one),
        "stock": one.stock,
        "unseen": result.verdict.unseen,
        "notes": result.notes,
        "says": result.verdict.says,
    }
    return {
        "verdict": part("verdict.html", found=shown, problems=[]),
        "next": list(result.verdict.next),
        "stands": _told_of(result.verdict.word, False),
    }


def _first(bench: Bench, point: str) -> list[str]:
    return [each.taken.key for each in asked_at(bench, point)[:1]]


def _read(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    bench, point = _bench(desk, name), _point(text(value, "point"))
    where = _kept_in(desk, name)
    units = bench.source.job.paper.units
    with telling(units), on_paper():
        if value.get("anew") is True:
            typed.forget(where, point)
            return {**_judged(bench, point, {}), "readings": {}}
        key, texts = text(value, "key"), {}
        if key:
            parts = filter(None, map(str.strip, text(value, "value").split(";")))
            texts = {key: "; ".join(readings_file.with_unit(part, units) for part in parts)}
            # One that is wrong is told and not kept: it would spoil what was read before.
            _found(bench, point, texts)
        kept = typed.keep(where, point, texts)[point] if texts else typed.kept(where).get(point, {})
        return {**_judged(bench, point, kept), "readings": kept}


def _file(desk: Desk, name: str, value: Mapping[str, Any]) -> dict[str, Any]:
    bench, point = _bench(desk, name), _point(text(value, "point"))
    who, when = who_and_when(value)
    with telling(bench.source.job.paper.units), revising(desk, bench.source.job.frame.id) as packet:
        found = _found(bench, point, typed.kept(_kept_in(desk, name)).get(point, {}))
        done = surveying.run(
            bench,
            found,
            point,
            record=value.get("record") is not False,
            packet=packet,
            more={"filed_by": who, "filed_on": when},
            sections=(Section([tell("desk_sheets.file.line", who=who, when=when)]),),
        )
        if done.filed is None and done.failed is not None:
            raise done.failed
        assert done.filed is not None
        said = [tell("survey.ask.filed", file=done.filed.name, packet=packet.name)]
        said += [tell("survey.text.recorded")] if done.result.recorded else []
        said += lines(done.failed) if done.failed else []
        return {"filed": done.filed.name, "said": said}

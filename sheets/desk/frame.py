"""The page of one frame: its pictures, its answers, what is found of it, and the file that all of it is.

A keystroke is seen (`see`) before it is kept; an answer that is done is kept in the draft at once (`set`);
the file is written when that is asked for (`write`). Each brings the digest of the file that the page knows:
where another lies there, the answer is the conflict, and nothing is kept or written.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError
from geometry.core.say import say
from sheets.desk.answers import echo, groups, layout
from sheets.desk.cures import cures
from sheets.desk.edit import Now, answered, drafted, edited, now, settled, written
from sheets.desk.found import found, meets
from sheets.desk.judging import Judge
from sheets.desk.live import pictures, seen
from sheets.desk.shown import desk_of, given, json_answer, page, problems, rendered
from sheets.guide.changing import changes_between
from sheets.guide.entries import document_with, entries, entry_of
from sheets.guide.explain import described, keys
from sheets.home.toml_file import document_of
from sheets.words.lengths import telling
from sheets.words.tell import tell


def _judge(request: Request) -> Judge:
    """Return the child of the desk that a request came to, made when it is first asked."""
    state = request.app.state
    if not hasattr(state, "judge"):
        state.judge = Judge()
    judge: Judge = state.judge
    return judge


def _file(request: Request) -> Path:
    return desk_of(request).job_path(request.path_params["name"])


def _text(value: Mapping[str, Any], key: str) -> str:
    """Return a text that a request brings, "" where it brings none."""
    found = value.get(key, "")
    if not isinstance(found, str):
        raise InputError.at(key, say("desk.no_json"))
    return found


async def shown(request: Request) -> Response:
    """Show the page of a frame, with all its answers as they stand in its draft."""
    file = _file(request)
    job = await run_in_threadpool(now, file)
    listed = entries(document_of(file, job.text))
    return page(
        request, "frame.html", name=file.stem, job=job, groups=groups(listed), layout=layout(listed),
        url=f"/frame/{quote(file.stem, safe='')}",
    )  # fmt: skip


async def listed(request: Request) -> Response:
    """Return the list of answers anew: other questions come up where another mount is chosen."""
    file = _file(request)
    job = await run_in_threadpool(now, file)
    found = entries(document_of(file, job.text))
    return json_answer({"html": rendered("answers.html", groups=groups(found)), "layout": layout(found)})


async def explained(request: Request) -> Response:
    """Return what every key of a job file means, for whoever edits its text."""
    return json_answer({key: described(key) for key in keys()})


async def see(request: Request) -> Response:
    """Return the pictures of a job as it would be with one more answer, or with another text."""
    file, value = _file(request), await given(request)

    def drawn() -> dict[str, Any]:
        job = now(file)
        return _state(job, _tried(job, value), value)

    # A drawing of the dropout may be read on the way, which takes what it takes: nobody else waits for it.
    return json_answer(await run_in_threadpool(drawn))


async def set_(request: Request) -> Response:
    """Keep one answer in the draft, or a text that was edited, which says which draft it was typed over."""
    file, value = _file(request), await given(request)
    seen = _text(value, "digest")
    if "text" in value:
        text = _whole(await run_in_threadpool(now, file), value)
        # Who says nothing of a draft has seen none: then the draft's text is the file's.
        job = await run_in_threadpool(edited, file, text, seen, _text(value, "draft") or seen)
    else:
        job = await run_in_threadpool(answered, file, seen, lambda was: _answer(was, value))
    return await _stands(job, value)


async def write(request: Request) -> Response:
    """Write the draft into the file, unless that is another one than the page knows."""
    file, value = _file(request), await given(request)
    job = await run_in_threadpool(written, file, _text(value, "digest"))
    return await _stands(job, value)


async def settle(request: Request) -> Response:
    """Settle a conflict: with the page's changes on top of the file as it is now, or without them."""
    file, value = _file(request), await given(request)
    text = _whole(await run_in_threadpool(now, file), value) if "text" in value else None
    job = await run_in_threadpool(settled, file, value.get("mine") is True, _text(value, "digest"), text)
    return await _stands(job, value)


async def judge(request: Request) -> Response:
    """Return what is found of a job, what it meets while it is dragged, or what would cure a finding."""
    file, value = _file(request), await given(request)
    document = await run_in_threadpool(lambda: _tried(now(file), value))
    what, child = _text(value, "what"), _judge(request)
    if what == "meets":
        answer = await child.ask(str(file), meets, document, file, _text(value, "key"))
    elif what == "cures":
        answer = await child.ask(
            str(file), cures, document, file, _text(value, "code"), _text(value, "subject")
        )
    else:
        answer = await child.ask(str(file), found, document, file)
    return json_answer({"superseded": True} if answer is None else answer)


def _tried(job: Now, value: Mapping[str, Any]) -> dict[str, Any]:
    """Return a job's document with what a request would change of it."""
    if "text" in value:
        return document_of(job.file, _whole(job, value))
    document = document_of(job.file, job.text)
    if "answer" not in value:
        return document
    return document_with(document, *_answer(job, value))


def _whole(job: Now, value: Mapping[str, Any]) -> str:
    """Return a text that was edited, its lines ended as the file's are: a browser gives line feeds alone."""
    text = _text(value, "text").replace("\r\n", "\n")
    return text.replace("\n", "\r\n") if "\r\n" in job.filed else text


def _answer(job: Now, value: Mapping[str, Any]) -> tuple[str, str]:
    """Return key and answer as they are kept: a decimal comma is taken too, where no list can be meant."""
    key, answer = _text(value, "key"), _text(value, "answer")
    if "," not in answer:
        return key, answer
    document = document_of(job.file, job.text)
    entry = entry_of(entries(document), key)
    pointed = answer.replace(",", ".")
    try:
        document_with(document, key, answer)
    except DropleafError:
        meant = entry.question.means(answer, {}) if entry.question else ""
        return key, meant or pointed
    return key, pointed if entry.question is None and entry.shape else answer


async def _stands(job: Now, value: Mapping[str, Any]) -> Response:
    """Answer with all that the page shows of a job as it stands, worked out beside the loop."""
    return json_answer(await run_in_threadpool(lambda: _state(job, document_of(job.file, job.text), value)))


def _state(job: Now, document: dict[str, Any], value: Mapping[str, Any]) -> dict[str, Any]:
    """Return all that the page shows of a job at once: its pictures, its values, and how its file stands."""
    listed = entries(document)
    told_of = {"digest": job.digest, "draft": job.draft, "changed": job.changed, "layout": layout(listed)}
    told_of |= {"values": {each.key: each.value for each in listed if each.value}, "problems": []}
    told_of |= {"text": job.text if value.get("whole") is True else None, "conflict": None, "echo": ""}
    key = value.get("key")
    entry = next((each for each in listed if each.key == key), None)
    told_of["echo"] = echo(entry) if entry else ""
    if job.stale or job.conflict:
        told_of["conflict"] = _conflict(job, value)
    try:
        drawn = seen(document, job.file)
    except DropleafError as error:
        return {**told_of, "problems": problems(error.problems)}
    with telling(drawn.job.paper.units):
        told_of["problems"] = problems(drawn.problems)
        screens = value.get("screens")
        return {**told_of, **pictures(drawn, listed, screens if isinstance(screens, Mapping) else {})}


def _conflict(job: Now, value: Mapping[str, Any]) -> dict[str, Any]:
    """Return both versions of a job: what stands there, and what is mine, which is the text if one was sent.

    It is between file and draft, or between the draft and a text that was typed over an older one.
    """
    of = job.stale if job.stale == "draft" else "broken" if job.broken else "file"
    theirs = job.text if of == "draft" else job.filed
    mine = _whole(job, value) if "text" in value else drafted(job.file) if job.broken else job.text
    broken = problems(job.broken.problems) if job.broken else []
    reason = "; ".join(f"{each['where']}: {each['text']}" for each in broken)
    told_as = {key: tell(f"desk_frame.conflict.{of}.{key}", reason=reason) for key in _CONFLICT}
    changes = {} if job.broken else changes_between(job.file, theirs, mine)
    return {"of": of, "theirs": theirs, "mine": mine, "changes": changes, "told": told_as}


_CONFLICT = ("title", "what", "mine", "theirs", "on_disk", "here")
"""What the page says of a conflict."""


ROUTES = [
    Route("/frame/{name}", shown),
    Route("/frame/{name}/answers", listed),
    Route("/frame/{name}/keys", explained),
    Route("/frame/{name}/see", see, methods=["POST"]),
    Route("/frame/{name}/set", set_, methods=["POST"]),
    Route("/frame/{name}/write", write, methods=["POST"]),
    Route("/frame/{name}/settle", settle, methods=["POST"]),
    Route("/frame/{name}/judge", judge, methods=["POST"]),
]

"""The page of one frame: its pictures, its answers, what is found of it, and the file that all of it is.

A keystroke is seen (`see`) before it is kept; an answer that is done is kept in the draft at once (`set`);
the file is written when that is asked for (`write`). Each brings the digest of the file that the page knows:
where another lies there, the answer is the conflict, and nothing is kept or written.
"""

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.core.say import say
from sheets.desk.answers import called, echo, groups, layout
from sheets.desk.cures import cures
from sheets.desk.edit import Now, answered, drafted, edited, now, settled, written
from sheets.desk.found import found, meets
from sheets.desk.judging import Judge
from sheets.desk.lacking import offer, plain
from sheets.desk.live import pictures, seen
from sheets.desk.shown import desk_of, given, json_answer, page, rendered
from sheets.guide.changing import changes_between
from sheets.guide.entries import document_with, entries, entry_of
from sheets.guide.explain import described, keys
from sheets.home.toml_file import document_of
from sheets.words.lengths import telling
from sheets.words.tell import tell

_PAGE = 64
"""Characters of the name that an open page gives itself."""


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
    listed = groups(entries(document_of(file, job.text)))
    return page(
        request, "frame.html", name=file.stem, job=job, groups=listed, layout=layout(listed),
        url=f"/frame/{quote(file.stem, safe='')}",
    )  # fmt: skip


async def listed(request: Request) -> Response:
    """Return the list of answers anew: other questions come up where another mount is chosen."""
    file = _file(request)
    job = await run_in_threadpool(now, file)
    found = groups(entries(document_of(file, job.text)))
    return json_answer({"html": rendered("answers.html", groups=found), "layout": layout(found)})


async def stands(request: Request) -> Response:
    """Return by which digests a page knows that something was changed elsewhere: it asks now and then."""
    job = await run_in_threadpool(now, _file(request))
    return json_answer({"digest": job.digest, "draft": job.draft})


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
    return await _plainly(file, value, drawn)


async def set_(request: Request) -> Response:
    """Keep one answer in the draft, or a text that was edited, which says which draft it was typed over."""
    file, value = _file(request), await given(request)
    seen = _text(value, "digest")

    def kept() -> dict[str, Any]:
        if "text" in value:
            # Who says nothing of a draft has seen none: then the draft's text is the file's.
            job = edited(file, _whole(now(file), value), seen, _text(value, "draft") or seen)
        else:
            job = answered(file, seen, lambda was: _answer(was, value))
        return _stands(job, value)

    return await _plainly(file, value, kept)


async def write(request: Request) -> Response:
    """Write the draft into the file, unless that is another one than the page knows."""
    file, value = _file(request), await given(request)
    seen = _text(value, "digest")
    return await _plainly(file, value, lambda: _stands(written(file, seen), value))


async def settle(request: Request) -> Response:
    """Settle a conflict: with the page's changes on top of the file as it is now, or without them."""
    file, value = _file(request), await given(request)
    seen, mine = _text(value, "digest"), value.get("mine") is True

    def done() -> dict[str, Any]:
        text = _whole(now(file), value) if "text" in value else None
        return _stands(settled(file, mine, seen, text), value)

    return await _plainly(file, value, done)


async def _plainly(file: Path, value: Mapping[str, Any], work: Callable[[], dict[str, Any]]) -> Response:
    """Answer with what work beside the loop makes of a frame, or with why it is refused, in plain words."""
    try:
        return json_answer(await run_in_threadpool(work))
    except DropleafError as error:
        found = error.problems
    return json_answer(await run_in_threadpool(_refused, file, value, found), 400)


def _refused(file: Path, value: Mapping[str, Any], found: Sequence[Problem]) -> dict[str, Any]:
    """Return problems, with the answer that was meant where one can be told."""
    try:
        document = document_of(file, now(file).text)
    except DropleafError:
        document = {}
    key, answer = value.get("key"), value.get("answer")
    told_of = plain(found, document, str(key) if answer else "")
    if isinstance(key, str) and isinstance(answer, str):
        meant = offer(key, answer, document)
        told_of = [{**each, "offer": meant} if each["where"] == key else each for each in told_of]
    return {"problems": told_of}


async def judge(request: Request) -> Response:
    """Return what is found of a job, what it meets while it is dragged, or what would cure a finding."""
    file, value = _file(request), await given(request)
    document = await run_in_threadpool(lambda: _tried(now(file), value))
    what, child = _text(value, "what"), _judge(request)
    # Two pages may show one frame: each is answered.
    page_ = f"{file}\n{_text(value, 'page')[:_PAGE]}"
    if what == "meets":
        answer = await child.ask(page_, meets, document, file, _text(value, "key"))
    elif what == "cures":
        answer = await child.ask(page_, cures, document, file, _text(value, "code"), _text(value, "subject"))
    else:
        answer = await child.ask(page_, found, document, file)
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


def _stands(job: Now, value: Mapping[str, Any]) -> dict[str, Any]:
    """Return all that the page shows of a job as it stands."""
    return _state(job, document_of(job.file, job.text), value)


def _state(job: Now, document: dict[str, Any], value: Mapping[str, Any]) -> dict[str, Any]:
    """Return all that the page shows of a job at once: its pictures, its values, and how its file stands."""
    listed = entries(document)
    told_of = {"digest": job.digest, "draft": job.draft, "changed": job.changed, "layout": None}
    told_of |= {"values": {each.key: each.value for each in listed if each.value}, "problems": []}
    told_of |= {"text": None, "conflict": None, "echo": ""}
    if value.get("whole") is True:
        told_of |= {"text": job.text, "layout": layout(groups(listed))}
    key = value.get("key")
    entry = next((each for each in listed if each.key == key), None)
    told_of["echo"] = echo(entry) if entry else ""
    if job.stale or job.conflict:
        told_of["conflict"] = _conflict(job, value)
    try:
        drawn = seen(document, job.file)
    except DropleafError as error:
        return {**told_of, "problems": plain(error.problems, document)}
    with telling(drawn.job.paper.units):
        told_of["problems"] = plain(drawn.problems, document)
        screens = value.get("screens")
        return {**told_of, **pictures(drawn, listed, screens if isinstance(screens, Mapping) else {})}


def _conflict(job: Now, value: Mapping[str, Any]) -> dict[str, Any]:
    """Return both versions of a job: what stands there, and what is mine, which is the text if one was sent.

    It is between file and draft, or between the draft and a text that was typed over an older one.
    """
    of = job.stale if job.stale == "draft" else "broken" if job.broken else "file"
    theirs = job.text if of == "draft" else job.filed
    mine = _whole(job, value) if "text" in value else drafted(job.file) if job.broken else job.text
    broken = plain(job.broken.problems, {}) if job.broken else []
    reason = "; ".join(
        f"{each['label']}: {each['text']}" if each["label"] else each["text"] for each in broken
    )
    told_as = {key: tell(f"desk_frame.conflict.{of}.{key}", reason=reason) for key in _CONFLICT}
    changes = {} if job.broken else changes_between(job.file, theirs, mine)
    changes = {called(key): each for key, each in changes.items()}
    return {"of": of, "theirs": theirs, "mine": mine, "changes": changes, "told": told_as}


_CONFLICT = ("title", "what", "mine", "theirs", "on_disk", "here")
"""What the page says of a conflict."""


ROUTES = [
    Route("/frame/{name}", shown),
    Route("/frame/{name}/answers", listed),
    Route("/frame/{name}/stands", stands),
    Route("/frame/{name}/keys", explained),
    Route("/frame/{name}/see", see, methods=["POST"]),
    Route("/frame/{name}/set", set_, methods=["POST"]),
    Route("/frame/{name}/write", write, methods=["POST"]),
    Route("/frame/{name}/settle", settle, methods=["POST"]),
    Route("/frame/{name}/judge", judge, methods=["POST"]),
]

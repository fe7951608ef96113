"""The child that judges frames: a newer question ends an older one, and a child that is gone is noticed."""

import asyncio
import os
import time
import types
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from geometry.core.errors import InputError
from sheets.desk import judging
from sheets.desk.judging import Judge


def looped(asked: Callable[[], Coroutine[Any, Any, Any]]) -> Any:
    """Return what is asked in a loop of its own: the browser of other tests has one in this thread."""
    with ThreadPoolExecutor(1) as other:
        return other.submit(lambda: asyncio.run(asked())).result()


def _slow(seconds: float) -> str:
    time.sleep(seconds)
    return "done"


def test_a_newer_question_ends_its_pages_older_one_and_leaves_other_pages() -> None:
    async def asked() -> list[str | None]:
        judge, start = Judge(), time.monotonic()
        older = asyncio.create_task(judge.ask("dunlin", _slow, 50.0))
        await asyncio.sleep(0.2)
        newer = asyncio.create_task(judge.ask("dunlin", _slow, 0.0))
        other = asyncio.create_task(judge.ask("dunlin, another page", _slow, 0.0))
        found = [await each for each in (older, newer, other)]
        assert time.monotonic() - start < 20.0
        judge.stop()
        # What is not waited for any more is forgotten: pages come and go.
        assert judge.newest == judge.waiting == {}
        return found

    assert looped(asked) == [None, "done", "done"]


def test_two_pages_of_one_frame_that_ask_in_turn_are_both_answered() -> None:
    async def asked() -> list[str | None]:
        judge = Judge()
        pages = [asyncio.create_task(judge.ask(f"dunlin {i % 2}", _slow, 0.05)) for i in range(6)]
        found = [await each for each in pages]
        judge.stop()
        return found

    # Each page's last question is its newest.
    assert looped(asked)[-2:] == ["done", "done"]


def test_a_question_whose_child_is_only_being_started_is_ended_too(monkeypatch: pytest.MonkeyPatch) -> None:
    plain = Judge._start

    def slowly(judge: Judge) -> None:
        time.sleep(0.3)
        plain(judge)

    monkeypatch.setattr(Judge, "_start", slowly)

    async def asked() -> list[str | None]:
        judge, start = Judge(), time.monotonic()
        older = asyncio.create_task(judge.ask("dunlin", _slow, 50.0))
        await asyncio.sleep(0.1)
        found = [await judge.ask("dunlin", _slow, 0.0), await older]
        assert time.monotonic() - start < 20.0
        judge.stop()
        return found

    assert looped(asked) == ["done", None]


def test_a_child_that_breaks_is_told_and_the_next_question_is_answered() -> None:
    async def asked() -> str | None:
        judge = Judge()
        with pytest.raises(InputError):
            await judge.ask("dunlin", os._exit, 3)
        with pytest.raises(InputError):
            await judge.ask("dunlin", _slow, "no number")
        answer = await judge.ask("dunlin", _slow, 0.0)
        judge.stop()
        return answer

    assert looped(asked) == "done"


def test_a_child_that_is_gone_is_noticed_while_its_pipe_is_held_open(monkeypatch: pytest.MonkeyPatch) -> None:
    real, held = judging.processes(), []

    def pipe() -> Any:
        ours, theirs = real.Pipe()
        # As another thread's child holds it that began before this end was closed here.
        held.append(os.dup(theirs.fileno()))
        return ours, theirs

    made = types.SimpleNamespace(
        Pipe=pipe, Process=real.Process, get_start_method=lambda: real.get_start_method()
    )
    monkeypatch.setattr(judging, "processes", lambda: made)
    monkeypatch.setattr(judging, "SECONDS", 20.0)

    async def asked() -> str | None:
        judge = Judge()
        with pytest.raises(InputError):
            await asyncio.wait_for(judge.ask("dunlin", os._exit, 3), 10)
        answer = await asyncio.wait_for(judge.ask("dunlin", _slow, 0.0), 10)
        judge.stop()
        return answer

    assert looped(asked) == "done"
    for each in held:
        os.close(each)

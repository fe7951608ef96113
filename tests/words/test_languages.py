"""A second language is a second folder: it changes every word on paper, and nothing else."""

import functools
import io
import json
import random
import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any
from unittest.mock import patch

import pypdf
import pytest

from fonts import drafting, faces
from geometry.core.errors import InputError
from sheets.actions.pages import KINDS, ready, sheets_of
from sheets.files.write.packet import assembled
from sheets.ink import marks
from sheets.ink.bounds import sheet_bounds
from sheets.ink.records import Sheet, Text
from sheets.job.read import load
from sheets.pages import frame
from sheets.pages.flow import Flow
from sheets.words.tell import speak, tell
from tests.commands.conftest import Run
from tests.pages.jobs import SAMPLES, catch, sample
from tests.pages.jobs import on_paper as resized
from tests.pages.test_clean import faults
from tests.words.languages import codes, garbled, pseudo, spoken, write

ROOT = Path(__file__).parents[2]
PLAIN = re.compile("[A-Za-z]{3,}")
VOWEL = re.compile("[aeiouAEIOU]")
UNITS = {"min", "kPa", "psi", "MPa", "cycles"}


@pytest.fixture(scope="module")
def pseudo_language(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the folder of the pseudo-language."""
    return write(tmp_path_factory.mktemp("languages") / "pseudo", lambda _, text: pseudo(text))


LARGER = {"avocet", "godwit", "greenshank", "lapwing", "redshank", "sanderling", "whimbrel"}
"""Samples whose words, a third longer, want A3."""


def on_paper(name: str, size: str = "") -> tuple[list[Sheet], set[str]]:
    """Return all sheets of a sample, on another paper if one is named, and every text on them or a trial.

    A text that was broken into lines is there whole, and not its lines.
    """
    texts: set[str] = set()
    whole: set[str] = set()
    lines: set[str] = set()
    plain, fill = marks.letter, faces.fill

    def letter(text: str, height: float) -> Any:
        texts.add(text)
        return plain(text, height)

    def filled(text: str, *rest: Any) -> tuple[str, ...]:
        found = fill(text, *rest)
        if len(found) > 1:
            whole.add(text)
            lines.update(found)
        return found

    run_in = Flow.run_in

    def ran_in(flow: Flow, parts: Any, *rest: Any) -> None:
        put = flow.put

        def noted(text: str, *where: Any) -> None:
            lines.add(text)
            put(text, *where)

        whole.update(text for text, _ in parts)
        with patch.object(flow, "put", noted):
            run_in(flow, parts, *rest)

    # What was broken before is kept, and would not be seen being broken.
    drafting.wrap.cache_clear()
    faces.break_lines.cache_clear()
    with (
        patch.object(marks, "letter", letter),
        patch.object(faces, "fill", filled),
        patch.object(drafting, "fill", filled),
        patch.object(Flow, "run_in", ran_in),
    ):
        source = load(SAMPLES[name])
        job = resized(source.job, size=size) if size else source.job
        one = ready(replace(source, job=job))
        sheets = [sheet for kind in KINDS for sheet in sheets_of(one, kind).sheets]
    for sheet in sheets:
        texts |= {record.text for record in sheet.records if isinstance(record, Text)}
        texts |= {text for field in sheet.fields for text in (field.label, field.value)}
    return sheets, (texts - lines) | whole


def _texts(value: Any) -> Iterator[str]:
    """Return every text in the values of a table or a job, read as TOML."""
    if isinstance(value, dict):
        for each in value.values():
            yield from _texts(each)
    elif isinstance(value, list):
        for each in value:
            yield from _texts(each)
    elif isinstance(value, str):
        yield " ".join(value.split())


def _words(text: str) -> tuple[str, ...]:
    """Return the words of a text, without numbers, units, ids and places to be filled."""
    bare = re.sub(
        r"\[[\d, ]+\]|\{\w*\}|[\w.-]*\d[\w.-]*|[a-z_]+(?:\.[a-z_]+)+|\([a-z]+(-[a-z]+)?\)", " ", text
    )
    return tuple(word for word in re.findall(r"[^\W\d_]{3,}", bare) if word not in UNITS)


def data(name: str) -> set[tuple[str, ...]]:
    """Return what the texts of the tables of numbers and of the job account for: pairs of words, whole texts.

    Those texts are data, in no language.
    """
    files = [SAMPLES[name], *sorted((ROOT / "geometry").rglob("*.toml"))]
    texts = {text for file in files for text in _texts(tomllib.loads(file.read_text(encoding="utf-8")))}
    rows = [_words(text) for text in texts]
    pairs = {words[k : k + 2] for words in rows for k in range(len(words) - 1)}
    return pairs | set(rows)


def english_in(line: str, rows: set[tuple[str, ...]]) -> list[str]:
    """Return the plain words in a line that no text of a table accounts for.

    It accounts for two words in succession, for a line that it is itself, and a name of one word for itself.
    """
    words = _words(line)
    # A word alone is a label, such as "near", though a table may have it too.
    if len(words) == 1 and line.islower() and line.isalpha():
        return [word for word in words if PLAIN.fullmatch(word) and VOWEL.search(word)]
    left = []
    for i, word in enumerate(words):
        if not PLAIN.fullmatch(word) or not VOWEL.search(word):
            continue
        known = words[max(0, i - 1) : i + 1] in rows or words[i : i + 2] in rows
        if not (known or (word,) in rows):
            left.append(word)
    return left


@pytest.mark.parametrize("name", SAMPLES)
def test_no_english_is_left_on_paper_and_longer_words_still_fit(name: str, pseudo_language: Path) -> None:
    """Nothing runs off a page either; posts and flats, whose numbers are many, may need a larger paper."""
    rows = data(name)
    with spoken(pseudo_language):
        sheets, texts = on_paper(name, "A3" if name in LARGER else "")
        wrong = [fault for each in catch(sample(name)) for fault in faults(each)] if name == "dunlin" else []
    for sheet in sheets:
        left, low, right, high = sheet_bounds(sheet.records)
        white = min(left, low, sheet.paper.width - right, sheet.paper.height - high)
        if white < sheet.margin - 0.01:
            wrong.append(f"{sheet.title}: {sheet.margin - white:.2f} mm into the margin")
    wrong += [f"{line!r} has {found}" for line in sorted(texts) if (found := english_in(line, rows))]
    assert not wrong, "\n".join(wrong)


def _bare(value: Any) -> Any:
    """Return a document without its sentences: numbers, keys and codes stay."""
    if isinstance(value, dict):
        # What is written down at an operation is told, "amps" for one.
        return {key: _bare(each) for key, each in value.items() if key != "record"}
    if isinstance(value, list):
        return [_bare(each) for each in value]
    if isinstance(value, str) and not re.fullmatch(r"[a-z][a-z0-9.-]*", value):
        return "text"
    return value


_WHERE_THERE_IS_ROOM = {"card across", "card down", "caliper room", "caliper seat"}
"""What a page has if its words leave room: the outlines of a bank card and of the caliper's room."""


def seen(run: Run, name: str, *, whole: bool) -> dict[str, Any]:
    """Return what a sample comes to without its sentences; a template alone unless `whole`."""
    stamped: list[bool] = []
    block = frame.title_block

    def noted(drawing: Any, live: Any, title: Any, stamp: str) -> float:
        stamped.append(bool(stamp))
        return block(drawing, live, title, stamp)

    checked = run("check", SAMPLES[name], "--json")
    with patch.object(frame, "title_block", noted):
        one = ready(load(SAMPLES[name]))
        sheets = [s for kind in (KINDS if whole else ("template",)) for s in sheets_of(one, kind).sheets]
    document = json.loads(checked.out)
    return {
        "status": checked.status,
        "check": _bare(document),
        "findings": [(each["code"], each["level"], each["subject"]) for each in document["findings"]],
        "stamped": set(stamped),
        # Which page of a kind they come to lie on is a matter of room, and so are lines for what fails.
        "fields": sorted(f.name for sheet in sheets for f in sheet.fields if not f.name.startswith("failed")),
        "features": sorted(
            {(s.kind, f.name) for s in sheets for f in s.features if f.name not in _WHERE_THERE_IS_ROOM}
        ),
    }


def verdicts(run: Run) -> list[Any]:
    """Return what surveys of the shipped readings come to without their sentences."""
    found = []
    for job, *options in (("dunlin", "--readings", ROOT / "samples" / "readings" / "dunlin.toml"),):
        ran = run("survey", SAMPLES[job], *options, "--no-record", "--json")
        found.append((ran.status, _bare(json.loads(ran.out))))
    return found


@pytest.mark.parametrize("line", ["near", "outer", "edges must meet at the seam"])
def test_english_is_seen(line: str) -> None:
    assert english_in(line, data("dunlin"))


@functools.cache
def in_english(run: Run, name: str) -> tuple[dict[str, Any], list[Any]]:
    """Return what a sample and the surveys come to in English, worked out once."""
    return seen(run, name, whole=False), verdicts(run)


def test_all_sentences_garbled_change_nothing_that_decides(run: Run, tmp_path: Path) -> None:
    plain = [seen(run, name, whole=True) for name in SAMPLES]
    judged = verdicts(run)
    with spoken(write(tmp_path / "garbled", lambda _, text: garbled(text))):
        assert [seen(run, name, whole=True) for name in SAMPLES] == plain
        assert verdicts(run) == judged


@pytest.mark.parametrize("name", SAMPLES)
def test_half_of_the_sentences_garbled_change_nothing_that_decides(
    name: str, run: Run, tmp_path: Path
) -> None:
    """Whatever is decided by one sentence, or by two being alike, is seen by every second half.

    What is kept without words stays: garbling all of them at once proved that it rests on none.
    """
    half = set(random.Random(name).sample(codes(), len(codes()) // 2))
    some = write(tmp_path / "some", lambda each, text: garbled(text) if each in half else text)
    with spoken(some, told=True):
        found = seen(run, name, whole=False), verdicts(run)
    assert found == in_english(run, name)


def test_what_a_language_lacks_is_told_in_english(tmp_path: Path) -> None:
    (tmp_path / "welsh").mkdir()
    (tmp_path / "welsh" / "tell.toml").write_text(
        'language = "cy"\nand = "{first} a {last}"\n', encoding="utf-8"
    )
    with spoken(tmp_path / "welsh"):
        empty, page = io.BytesIO(), pypdf.PdfWriter()
        page.add_blank_page(100, 100)
        page.write(empty)
        packet = assembled(empty.getvalue(), title="a", subject="b", attachments=())
        assert pypdf.PdfReader(io.BytesIO(packet)).root_object["/Lang"] == "cy"
        assert tell("tell.and", first="un", last="dau") == "un a dau"
        assert tell("tell.under", place="a.toml", where="tilt") == "a.toml: tilt"


def test_a_language_that_is_not_there_is_said_to_be_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DROPLEAF_LANGUAGE", "volapük")
    speak(None)
    try:
        with pytest.raises(InputError, match=r"tell\.no_language"):
            tell("tell.and", first="a", last="b")
    finally:
        monkeypatch.delenv("DROPLEAF_LANGUAGE")
        speak(None)

"""`dropleaf learn`: from a readings file or a terminal to a row that a job uses, and what it refuses."""

import re
import subprocess
import time
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sheets.actions import learn
from sheets.home import folder as home
from sheets.job.read import parse, place_job
from sheets.words.tell import ENGLISH, told
from tests.commands.terminal import CTRL_C, typed
from tests.words import languages

SAMPLE = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"
SOURCE = "measured on a works frame with its caliper fitted, 2026-01-31, by Saltmarsh Cycle Works"
PROMPT = "]: "


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give each test a builder's folder of its own."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    yield tmp_path / "home"


def changed(file: Path, *changes: tuple[str, str]) -> Path:
    """Write the sample with texts replaced, and return the file."""
    text = SAMPLE.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return file


def test_a_provisional_row_is_told_what_the_readings_would_change(run: Callable) -> None:
    ran = run("learn", "--readings", SAMPLE)
    # Face 36.9167 less half an axle of 12: own arithmetic.
    height = r"h +30\.92 ±0\.06 +shipped 30\.50, \+0\.42: would change, inside its derived band 27 to 34"
    assert re.search(height, ran.out)
    assert "flat-rear is PROVISIONAL: these readings would change h by +0.42, x near by" in ran.out
    # 17 readings of 7 distances.
    assert "10 repeats; one reading's spread 0.027 mm, from the repeats" in ran.out
    assert "off by up to 0.03 mm, and pins that are loose by up to 0.1 mm" in ran.out
    block = tomllib.loads(ran.out[ran.out.index("[interface]") :])["interface"]
    assert block["source"] == SOURCE
    assert block["h"] == pytest.approx(30.917, abs=0.001)


def test_the_block_is_a_row_that_a_job_takes(run: Callable, write: Callable, tmp_path: Path) -> None:
    told = run("learn", "--readings", SAMPLE, "--json").json
    assert told["saved"] is None
    file = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    document = {**tomllib.loads(file.read_text()), **tomllib.loads(told["block"])}
    interface = place_job(parse(document)).interface
    assert interface.own
    assert interface.h == pytest.approx(told["numbers"]["h"]["value"], abs=0.0006)
    assert interface.x_far == pytest.approx(told["numbers"]["x_far"]["value"], abs=0.0006)
    assert interface.lateral.value == pytest.approx(told["numbers"]["lateral"]["value"], abs=0.0006)


def test_a_saved_row_draws_and_its_source_is_on_the_sheets(
    run: Callable, write: Callable, tmp_path: Path, own_home: Path
) -> None:
    own_home.mkdir()
    table = own_home / "interfaces.toml"
    table.write_text("# kept by hand\n", encoding="utf-8")
    told = run("learn", "--readings", SAMPLE, "--save", "shop-flat", "--json").json
    assert told["saved"] == str(table)
    assert table.read_text(encoding="utf-8").startswith("# kept by hand\n")
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop-flat"'), ("160", "140"))
    drawn = run("draw", job, "--json")
    placed = drawn.json["placement"]
    assert placed["face_height"] == pytest.approx(told["numbers"]["h"]["value"], abs=0.0006)
    assert placed["interface"]["grade"] == "own"
    assert SOURCE in placed["interface"]["sources"]
    seen = subprocess.run(["pdftotext", "-raw", tmp_path / "knot-1.pdf", "-"], capture_output=True, text=True)
    assert SOURCE in " ".join(seen.stdout.split())


def test_names_that_are_taken(run: Callable, own_home: Path) -> None:
    taken = run("learn", "--readings", SAMPLE, "--save", "flat-rear")
    assert (taken.status, len(taken.errors)) == (2, 1)
    assert "give --replaces" in taken.errors[0]
    assert not own_home.exists()
    assert run("learn", "--readings", SAMPLE, "--save", "flat-rear", "--replaces").status == 0
    again = run("learn", "--readings", SAMPLE, "--save", "flat-rear", "--replaces")
    assert again.status == 2 and "one mount that is read again is no second mount" in again.errors[0]
    assert "--replace" in again.errors[0]
    assert run("learn", "--readings", SAMPLE, "--save", "flat-rear", "--replaces", "--replace").status == 0
    assert (own_home / "interfaces.toml").read_text(encoding="utf-8").count("[[row]]") == 1


@pytest.mark.parametrize("first", ["english", "garbled"])
def test_a_mount_is_known_again_by_its_source_in_any_language(
    run: Callable, tmp_path: Path, own_home: Path, first: str
) -> None:
    """A row keeps what was measured in its source alone, which was told in the language of that day."""
    garbled = languages.write(tmp_path / "garbled", lambda _, text: languages.garbled(text))
    with languages.spoken(ENGLISH if first == "english" else garbled):
        assert run("learn", "--readings", SAMPLE, "--save", "shop").status == 0
    assert (SOURCE in (own_home / "interfaces.toml").read_text(encoding="utf-8")) == (first == "english")
    with languages.spoken(garbled):
        assert run("learn", "--readings", SAMPLE, "--save", "shop").status == 2
        second = ("--on", "a second frame", "--date", "2026-02-01", "--save", "shop")
        assert run("learn", "--readings", SAMPLE, *second).status == 0


def test_readings_that_contradict_are_told_and_not_saved(
    run: Callable, tmp_path: Path, own_home: Path
) -> None:
    slip = changed(tmp_path / "slip.toml", ("[67.6, 67.65, 67.6]", "[67.6, 67.65, 68.6]"))
    ran = run("learn", "--readings", slip, "--save", "shop")
    assert (ran.status, len(ran.errors)) == (1, 1)
    # 68.6 beside the mean of the others, 33.633 + 39.0 - 5 and 67.625: about 0.97 (own arithmetic).
    assert re.search(r"along-far-over 68\.6 contradicts the other readings by 0\.98 mm", ran.errors[0])
    assert ran.errors[0].endswith("shop was not kept")
    assert not own_home.exists()


@pytest.mark.parametrize(
    ("old", "new", "where", "what"),
    [
        ('family = "flat"', 'family = "flats"', "family", "did you mean flat?"),
        ('end = "rear"', 'end = "left"', "end", "allowed: front, rear"),
        ("native = 140", "native = 14", "native", "allowed 100 to 260 mm"),
        ("date = 2026-01-31", 'date = "May"', "date", "such as 2026-01-31"),
        ("date = 2026-01-31\n", "", "date", "missing; when"),
        ('by = "Saltmarsh Cycle Works"\n', "", "by", "missing; who measured"),
        ('on = "a works', 'on = "' + 90 * "x" + '" #', "on", "at most 120"),
        ("resolution = 0.05", "resolution = 0", "resolution", "allowed 0.001 to 1 mm"),
        ("resolution = 0.05", "resolutoin = 0.05", "resolutoin", "did you mean resolution?"),
        ("resolution = 0.05", "play = 2", "play", "allowed 0 to 1 mm"),
        ("axle = [12.0, 12.0]", "axle = 400", "readings.axle", "allowed 4 to 60 mm"),
        ("axle = [12.0, 12.0]\n", "", "readings.axle", "missing; face-over is read over it"),
        ("spacing-over", "spacing-ovr", "readings.spacing-ovr", "did you mean spacing-over?"),
        ("[39.0, 38.95]", '"39,0"', "readings.spacing-over", "39,0"),
        ("[readings]", "[reading]", "reading", "did you mean readings?"),
        ("[39.0, 38.95]", "[1.0", "", "not TOML"),
    ],
)
def test_a_wrong_file_is_one_clear_line(
    run: Callable, tmp_path: Path, old: str, new: str, where: str, what: str
) -> None:
    file = changed(tmp_path / "wrong.toml", (old, new))
    ran = run("learn", "--readings", file)
    assert (ran.status, ran.out, len(ran.errors)) == (2, "", 1)
    assert ran.errors[0].startswith(f"dropleaf: {file}: {where}")
    assert what in ran.errors[0]


@pytest.mark.parametrize(
    ("arguments", "where", "what"),
    [
        (("--readings", "none.toml"), "none.toml", "there is no such file"),
        (("--replaces",), "--replaces", "given without --save"),
        (("--despite",), "--despite", "given without --save"),
        (("--play", "3"), "--play", "allowed 0 to 1 mm"),
        (("--caliper", "good"), "--caliper", "is not a number"),
        (("--readings", "."), ".", "this is a folder; give the file of readings in it"),
        (("--save", "my flat!"), "--save", "allowed are up to 64 letters"),
        (("--save", "-flat"), "--save", "beginning with a letter"),
        (("--save", "x" * 65), "--save", "up to 64"),
        (("--save", "post"), "--save", "post is a shipped row; choose another name, or give --replaces"),
        (("--date", "soon"), "--date", "such as 2026-01-31"),
        (("--native", "wide"), "--native", "is not a number"),
        (("--family", "tap"), "--family", "did you mean tab?"),
    ],
)
def test_a_wrong_command_line_is_one_clear_line(
    run: Callable, arguments: tuple[str, ...], where: str, what: str
) -> None:
    ran = run("learn", *arguments)
    assert (ran.status, len(ran.errors)) == (2, 1)
    assert ran.errors[0].startswith(f"dropleaf: {where}: ")
    assert what in ran.errors[0]


def test_a_row_that_nothing_places_sideways_is_not_kept_under_a_new_name(
    run: Callable, tmp_path: Path, own_home: Path
) -> None:
    file = changed(tmp_path / "bare.toml", ("side = [-3.05, -3.0]\n", ""))
    ran = run("learn", "--readings", file, "--save", "shop")
    assert (ran.status, len(ran.errors)) == (2, 1)
    assert "no reading places the mount sideways" in ran.errors[0]
    assert run("learn", "--readings", file, "--json").json["numbers"].get("lateral") is None
    assert not own_home.exists()


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('[frame]\nid = "knot-1"\n[mount]\nend = "rear"\n', "this is a job file"),
        ("[tacked]\nspacing = 51\n", "these are readings for dropleaf survey"),
    ],
)
def test_a_file_for_another_command_is_told_in_one_line(
    run: Callable, tmp_path: Path, text: str, what: str
) -> None:
    file = tmp_path / "other.toml"
    file.write_text(text, encoding="utf-8")
    ran = run("learn", "--readings", file)
    assert (ran.status, len(ran.errors)) == (2, 1)
    assert ran.errors[0].startswith(f"dropleaf: {file}: {what}")


def test_typed_at_a_terminal_with_a_way_back(tmp_path: Path) -> None:
    exact = {
        "axle": "19.05",
        "pin": "6",
        "near-over": "52.4; 52.45",
        "far-over": "90.6; 90.65; x",
        "side": "0",
    }
    answers = {
        "Which family": ["b", "tap", "tab"],
        "Which end": ["b", "rear"],
        "Which disc": ["140"],
        "What do you measure": ["a frame that works"],
        "When?": ["2026-01-31"],
        "By whom?": ["", "Saltmarsh Cycle Works"],
        "How loose are the pins": ["?", ""],
        "spacing-over:": ["57"],
    }

    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        left = next((texts for words, texts in answers.items() if words in question), None)
        if left is not None:
            # Back at the family it is asked again, and takes the last answer.
            return left.pop(0) if len(left) > 1 else left[0]
        key = question.strip().partition(":")[0]
        return exact.pop(key, "").removesuffix("; x") if key in exact else ""

    ran = typed(["learn", "--save", "shop-tab"], answer, PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    # A long path takes a line alone, and what follows it the next.
    shown = " ".join(ran.shown.split())
    for words in (
        "This is the first question.",
        "did you mean tab?",
        "An answer is needed here",
        "the hole's width less the pin's",
        "row shop-tab kept",
    ):
        assert words in shown, words
    text = (tmp_path / "home" / "interfaces.toml").read_text(encoding="utf-8")
    row = tomllib.loads(text)["row"][0]
    # Law of cosines on the means 39.9, 78.1 and 51 (own arithmetic).
    near, far, s = 52.425 - 12.525, 90.625 - 12.525, 51.0
    assert row["x_near"] == pytest.approx((far**2 - near**2 - s**2) / (2 * s), abs=0.001)
    assert row["source"] == "measured on a frame that works, 2026-01-31, by Saltmarsh Cycle Works"


def test_ctrl_c_keeps_what_was_typed_and_says_where(tmp_path: Path) -> None:
    lines = iter(["tab", "rear"])

    def answer(shown: str) -> str:
        line = next(lines, CTRL_C)
        if line == CTRL_C:
            # Between showing its prompt and reading, the interpreter hears no interrupt till the next key.
            time.sleep(0.2)
        return line

    ran = typed(["learn", "--save", "shop"], answer, PROMPT, tmp_path)
    assert ran.status == 130
    assert ran.shown.rstrip().endswith("dropleaf: interrupted; no file is half written")
    # Of a row nothing is written; what was typed is a readings file to go on with.
    assert "kept in learn-readings.toml; add what lacks" in ran.shown
    assert [each.name for each in tmp_path.iterdir()] == ["learn-readings.toml"]
    kept = tomllib.loads((tmp_path / "learn-readings.toml").read_text(encoding="utf-8"))
    assert kept == {"family": "tab", "end": "rear", "readings": {}}


@pytest.mark.parametrize("key", [*learn.HEAD, *learn.MORE])
def test_every_question_on_a_mount_is_explained(key: str) -> None:
    # What is not needed was not, and "?" ended in a fault.
    assert len(told(learn.wanted(key))) > 10

"""`dropleaf survey`: readings from a file, a form or the keyboard, a verdict, and the pull history."""

import json
import time
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import DeliveryError
from geometry.core.say import say
from sheets.actions.readings_file import Read, taken_at
from sheets.actions.survey import bench_of, surveyed
from sheets.home import pull_history
from sheets.home.folder import home
from sheets.home.pull_history import FILE
from sheets.job.read import load
from tests.commands.conftest import Run
from tests.commands.terminal import CTRL_C, CTRL_D, ROOT, typed

GOOD = """
axle-to-near-over = [52.5, 52.5]
axle-to-near-between = [27.3, 27.3]
axle-to-far-over = [90.7, 90.7]
axle-to-far-between = [65.5, 65.5]
near-to-far-over = [57.15, "57.15 mm"]
near-to-far-between = [44.85, 44.85]
inner-face-to-tab-at-near = [0, 0, 0, 0]
inner-face-to-tab-at-far = [0, 0, 0, 0]
outer-face-to-tab-at-near = 6.35
outer-face-to-tab-at-far = 6.35
square-across-in-50 = [0, 0]
far-hole-to-chainstay = 23.75
"""
PROMPT = "]: "
PINS = ("[dropout]", '[bench]\npins = 6.15\n[process]\nmethod = "fillet-braze"\n[dropout]')


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give each test a folder of its own for the pull history."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))


@pytest.fixture
def survey(run: Run, write: Callable[..., Path], tmp_path: Path) -> Callable[..., Any]:
    """Return a function that surveys a job with the text of a readings file."""
    job = write(tmp_path / "knot.toml", PINS)

    def command(text: str, *options: object, name: str = "readings.toml") -> Any:
        file = tmp_path / name
        file.write_text(text, encoding="utf-8")
        return run("survey", job, "--readings", file, *options)

    return command


def test_a_mount_as_drawn_is_right(survey: Callable[..., Any]) -> None:
    ran = survey(f"[finished]{GOOD}")
    assert ran.status == 0
    assert "when finished: RIGHT" in ran.out
    assert "no test and no claim that anything conforms" in ran.out
    assert "out of tolerance is not ridden" in ran.out


def test_the_json_tells_the_same(survey: Callable[..., Any]) -> None:
    found = survey(f"[cold]{GOOD}", "--json").json
    assert (found["state"], found["verdict"], found["remedies"]) == ("cold", "right", [])
    assert {each["key"]: each["state"] for each in found["errors"]}["near"] == "within"
    assert [hole["name"] for hole in found["holes"]] == ["near", "far"]
    assert found["holes"][0]["ellipse"]["long"] > found["holes"][0]["ellipse"]["short"] > 0.0
    assert found["reading_error"]["hand"] == {"value": 0.03, "grade": "D"}
    assert "no test" in found["says"]


def test_the_last_point_with_readings_is_surveyed_unless_one_is_named(survey: Callable[..., Any]) -> None:
    text = f"[tacked]{GOOD}\n[cold]{GOOD.replace('90.7', '93.0')}"
    assert survey(text, "--json", "--no-record").json["state"] == "cold"
    assert survey(text, "--json", "--point", "tacked", "--no-record").json["verdict"] == "right"
    assert survey(text, "--point", "faced").errors == [
        "dropleaf: --point: faced has no readings; there are some for tacked, cold"
    ]
    assert "did you mean cold?" in survey(text, "--point", "cld").errors[0]


def test_a_mount_beyond_help_fails(survey: Callable[..., Any]) -> None:
    text = GOOD.replace("57.15", "58.15").replace("44.85", "45.85")
    ran = survey(f"[finished]{text}")
    assert ran.status == 1
    assert "Cut the mount off and set a new one" in ran.out
    assert len(ran.errors) == 1 and "not usable" in ran.errors[0]


def test_a_contradiction_is_named_and_nothing_kept(survey: Callable[..., Any]) -> None:
    ran = survey(f"[cold]{GOOD.replace('[52.5, 52.5]', '[52.5, 53.6]')}", "--json")
    assert ran.status == 1
    assert ran.json["contradictions"][0]["readings"] == ["axle-to-near-over"]
    assert ran.json["contradictions"][0]["shown"] == [53.6]
    assert ran.json["recorded"] is False
    assert not (home() / FILE).exists()


def test_what_is_missing_for_a_verdict_is_said(survey: Callable[..., Any]) -> None:
    ran = survey("[finished]\naxle-to-near-over = 52.5\n")
    assert ran.status == 1
    for name in ("axle to far", "near to far", "sideways"):
        assert f"{name}: not measured" in ran.out


RIDDLES = ("straddl", "95 %", "ellipse", "settle", " band", "not to be told")
"""Words of whoever works it out, not of whoever reads it."""


@pytest.mark.parametrize(("readings", "options"), [("", ()), (GOOD, ()), (GOOD, ("--resolution", "0.5"))])
def test_a_verdict_is_told_in_words_that_a_builder_knows(
    survey: Callable[..., Any], readings: str, options: tuple[str, ...]
) -> None:
    out = survey(f"[finished]{readings or chr(10) + 'axle-to-near-over = 52.5'}\n", *options).out
    assert [each for each in RIDDLES if each in out] == []
    # The number that the words stand for is told once.
    assert out.count("in 95 of 100 surveys the true error lies within it") == 1


def test_a_comma_is_taken_and_said(survey: Callable[..., Any]) -> None:
    ran = survey(f"[finished]{GOOD}".replace("[90.7, 90.7]", '"90,7"'))
    assert ran.status == 0
    assert "'90,7' is read as 90.7" in ran.out


def test_a_coarse_caliper_cannot_tell(survey: Callable[..., Any]) -> None:
    ran = survey(f"[finished]{GOOD}", "--resolution", "0.5")
    assert ran.status == 1
    assert "these readings do not tell which: read it again" in ran.errors[0]
    assert survey(GOOD, "--resolution", "coarse").status == 2
    assert "between 0.001 and 1 mm" in survey(GOOD, "--resolution", "3").errors[0]


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("axle-to-nar-over = 52.5", "did you mean axle-to-near-over?"),
        ("axle-to-near-over = 2.07", 'this looks like inches: write "2.07 in"'),
        ('axle-to-near-over = "52.5 in"', "this looks like mm written as inches"),
        ("axle-to-near-over = 152.5", "more than 20 is a slip"),
        ('axle-to-near-over = "abc"', "'abc' is not a number with a unit"),
        ('axle-to-near-over = "52.5 deg"', "is an angle; a length is wanted"),
        ('axle-to-near-over = "52.5 ells"', "the unit ells is not known"),
        ("axle-to-near-over = true", "true given; a length is wanted"),
        ("axle-to-near-over = [[1]]", "a list given; a length is wanted"),
        ("axle-to-near-over = 52,5", "decimals stand after a point"),
        ("axle-to-near-over = nan", "it must be a finite number"),
        ("axle-to-near-over = ", "not TOML"),
    ],
)
def test_a_wrong_reading_is_refused_in_a_line(survey: Callable[..., Any], line: str, told: str) -> None:
    ran = survey(f"[cold]\n{line}\n")
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.errors) == 1
    assert told in ran.errors[0]
    assert not (home() / FILE).exists()


def test_what_is_wrong_alike_in_a_list_is_told_once(survey: Callable[..., Any]) -> None:
    named = survey("[cold]\naxle-to-nar-over = [52.5, 52.55, 52.5]\n")
    assert len(named.errors) == 1 and "did you mean axle-to-near-over?" in named.errors[0]
    assert len(survey('[cold]\naxle-to-near-over = ["x", "x", "x"]\n').errors) == 1
    assert len(survey('[cold]\naxle-to-near-over = ["x", "y", "x"]\n').errors) == 2
    ran = survey(f"[finished]{GOOD}".replace("[90.7, 90.7]", '["90,7", "90,7"]'))
    assert ran.out.count("'90,7' is read as 90.7") == 1


def test_a_remedy_is_not_gainsaid_by_the_closing_words(survey: Callable[..., Any]) -> None:
    lateral = GOOD.replace("[0, 0, 0, 0]", "[0.4, 0.4, 0.4, 0.4]")
    ran = survey(f"[finished]{lateral}".replace("= 6.35", "= 5.95"))
    assert "USABLE WITH REMEDY" in ran.out
    assert ran.out.rstrip().endswith("Until its remedy is done and looked over, it is not ridden.")


def test_every_problem_is_told_at_once(survey: Callable[..., Any]) -> None:
    ran = survey('[cold]\naxle-to-near-over = "x"\nnonsense = 5\n[hot]\nnear-to-far-over = 57\n')
    assert ran.status == 2
    assert len(ran.errors) == 3
    assert "[cold]" in survey("axle-to-near-over = 52.5").errors[0]
    assert "no readings given" in survey("").errors[0]
    assert "no readings given" in survey("[cold]\n").errors[0]


CSV = """point,reading,value,unit
cold,axle-to-near-over,52.5,mm
cold,"axle to far, over",3.570866,in
cold,near-to-far-over,57.15,
cold,inner-face-to-tab,0,mm
cold,near-to-far-between,,
"""


def test_a_csv_is_read_by_its_columns(survey: Callable[..., Any]) -> None:
    found = survey(CSV, "--json", name="readings.csv").json
    assert [each["reading"] for each in found["readings"]] == [
        "axle-to-near-over", "axle-to-far-over", "near-to-far-over", "inner-face-to-tab",
    ]  # fmt: skip
    assert found["readings"][1]["shown"] == pytest.approx(90.7, abs=1e-4)
    semicolons = (
        CSV.replace(",", ";").replace("axle to far; over", "axle to far, over").replace("57.15", "57,15")
    )
    told = survey(semicolons, "--json", name="readings.csv").json
    assert [each["shown"] for each in told["readings"]] == pytest.approx([52.5, 90.7, 57.15, 0.0])
    assert len(told["notes"]) == 1 and "line 4: '57,15' is read as 57.15" in told["notes"][0]
    quoted = survey(CSV.replace("52.5,mm", '"52,5",mm'), name="readings.csv")
    assert "line 2: '52,5 mm' is read as 52.5 mm" in quoted.out


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("point,reading,value,unit", "point,what,value", "wanted: point, reading, value and perhaps unit"),
        ("52.5,mm", "52,5,mm", "put a decimal comma in quotes"),
        ("52.5,mm", "52.5,ells", "line 2: '52.5 ells': the unit ells is not known"),
        ("cold,near", "cool,near", "did you mean cold?"),
        (CSV, "", "columns none given"),
        ('"axle', '"axle"', "not CSV"),
    ],
)
def test_a_wrong_csv_is_refused(survey: Callable[..., Any], old: str, new: str, told: str) -> None:
    ran = survey(CSV.replace(old, new), name="readings.csv")
    assert ran.status == 2
    assert told in ran.errors[0]


def test_files_that_are_none_are_refused(run: Run, job: Path, tmp_path: Path) -> None:
    assert "there is no such file" in run("survey", job, "--readings", tmp_path / "none.toml").errors[0]
    assert "not a file of readings" in run("survey", job, "--readings", tmp_path).errors[0]
    (tmp_path / "a.csv").write_bytes(b"\xff\xfe")
    assert "not UTF-8" in run("survey", job, "--readings", tmp_path / "a.csv").errors[0]
    (tmp_path / "b.toml").mkdir()
    assert run("survey", job, "--readings", tmp_path / "b.toml").status == 2
    (tmp_path / "c.toml").write_bytes(b"#" * 300_000)
    assert "larger than" in run("survey", job, "--readings", tmp_path / "c.toml").errors[0]
    (tmp_path / "d.pdf").write_bytes(b"%PDF-1.7\n")
    assert run("survey", tmp_path / "d.pdf").status == 2
    assert (
        "has its readings in it"
        in run("survey", tmp_path / "d.pdf", "--readings", tmp_path / "c.toml").errors[0]
    )


@pytest.mark.parametrize("sample", sorted((ROOT / "samples").glob("*.toml")), ids=lambda file: file.stem)
@pytest.mark.parametrize("point", ["cold", "finished"])
def test_a_sample_that_reads_what_its_card_prints_is_right(sample: Path, point: str) -> None:
    bench = bench_of(load(sample))
    facing = bench.source.job.process.facing if point == "cold" else 0.0
    rows = []
    for each in bench.takeable:
        if taken_at(each, point):
            # The stock lies between a face and the tube too, until it is faced off.
            stock = facing if each.kind == "edge" and bench.placement.interface.family != "tab" else 0.0
            rows.append((each, float(each.reading.mm.nominal) + stock))
    found = surveyed(bench, Read({point: tuple(rows)}, ()))
    assert found.verdict.word == "right", found.verdict.reasons
    assert found.verdict.remedies == ()


# --- the pull history


def _frame(run: Run, write: Callable[..., Path], tmp_path: Path, number: int, moved: float) -> Any:
    job = write(tmp_path / f"knot-{number}.toml", PINS, ('"knot-1"', f'"knot-{number}"'))
    cold = GOOD
    for each in ("52.5", "27.3", "90.7", "65.5"):
        cold = cold.replace(each, f"{float(each) + moved}")
    file = tmp_path / f"{number}.toml"
    file.write_text(f"[tacked]{GOOD}\n[cold]{cold}", encoding="utf-8")
    return run("survey", job, "--readings", file, "--json")


def test_the_third_frame_brings_what_to_set_against_the_pull(
    run: Run, write: Callable[..., Path], tmp_path: Path
) -> None:
    assert _frame(run, write, tmp_path, 1, 0.04).json["pull"] == []
    assert _frame(run, write, tmp_path, 2, 0.05).json["pull"] == []
    # The second frame surveyed again replaces itself, and is not a third.
    assert _frame(run, write, tmp_path, 2, 0.05).json["pull"] == []
    found = _frame(run, write, tmp_path, 3, 0.06).json
    assert found["recorded"] is True
    lines = [json.loads(line) for line in (home() / FILE).read_text("utf-8").splitlines()]
    assert len(lines) == 6
    assert {each["method"] for each in lines} == {"fillet-braze"}
    along = {each["quantity"]: each for each in found["pull"]}["along_far"]
    assert along["frames"] == 3
    assert along["interval"][0] < along["mean"] < along["interval"][1]
    assert "standard deviation" in along["text"]


def test_nothing_is_kept_unasked(survey: Callable[..., Any]) -> None:
    assert survey(f"[cold]{GOOD}", "--no-record", "--json").json["recorded"] is False
    assert not (home() / FILE).exists()


def test_a_history_that_cannot_be_written_says_where_else(survey: Callable[..., Any]) -> None:
    home().parent.mkdir(parents=True, exist_ok=True)
    home().write_text("a file, not a folder", encoding="utf-8")
    ran = survey(f"[cold]{GOOD}")
    assert ran.status == 2
    assert "--no-record" in ran.errors[0] and "--out" not in ran.errors[0]


def test_a_record_that_cannot_be_written_hides_no_verdict(
    survey: Callable[..., Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise DeliveryError.at(str(home()), say("own.file.held", seconds=20.0))

    monkeypatch.setattr(pull_history, "put", full)
    ran = survey(f"[cold]{GOOD}")
    assert (ran.status, len(ran.errors)) == (2, 1)
    assert "when cold: RIGHT" in ran.out
    as_json = survey(f"[cold]{GOOD}", "--json")
    assert (as_json.status, as_json.json["verdict"], as_json.json["recorded"]) == (2, "right", False)
    assert as_json.json["errors"] == [ran.errors[0].removeprefix("dropleaf: ")]


def test_a_damaged_history_is_told_and_left_alone(survey: Callable[..., Any]) -> None:
    home().mkdir(parents=True)
    text = '{"frame": 1}\nnonsense\n'
    (home() / FILE).write_text(text, encoding="utf-8")
    ran = survey(f"[cold]{GOOD}")
    assert ran.status == 2
    assert len(ran.errors) == 2 and "line 2" in ran.errors[1] and "--no-record" in ran.errors[1]
    assert (home() / FILE).read_text("utf-8") == text
    assert survey(f"[cold]{GOOD}", "--no-record").status == 0


# --- asked for at the keyboard


def test_readings_are_asked_for_one_by_one(job: Path, tmp_path: Path) -> None:
    answers = iter(["cold", "0.05; 0.1", "b", "0,05", "0", "nonsense"])
    ran = typed(["survey", str(job), "--no-record"], lambda shown: next(answers, ""), PROMPT, tmp_path)
    assert "did you" not in ran.shown
    assert "is not a number with a unit" in ran.shown
    assert "'0,05' is read as 0.05" in ran.shown
    # What settles most comes first, with how often the verdict needs it.
    assert "1 of 12  inner face to tab, at near, 4 times: " in ran.shown
    assert "CANNOT TELL" in ran.shown
    assert ran.status == 1


@pytest.mark.parametrize("end", [CTRL_C, CTRL_D])
def test_leaving_records_nothing_and_keeps_what_was_read(
    job: Path, tmp_path: Path, end: str, run: Run
) -> None:
    answers = iter(["", "?", "-0.3; -0.35"])

    def answer(shown: str) -> str:
        # An interrupt that comes while the line editor is still setting itself up may be missed.
        time.sleep(0.2)
        return next(answers, end)

    ran = typed(["survey", str(job)], answer, PROMPT, tmp_path)
    assert ran.status == 130
    assert "Traceback" not in ran.shown
    assert not (home() / FILE).exists()
    kept = job.with_name(f"{job.stem}-readings.toml")
    assert f"kept in {kept}; add what lacks" in ran.shown
    read = tomllib.loads(kept.read_text(encoding="utf-8"))
    assert [list(each.values()) for each in read.values()] == [[[-0.3, -0.35]]]
    # It is a readings file, from which a verdict comes.
    assert run("survey", job, "--readings", kept).status == 1

"""`dropleaf survey` on what was not measured, cannot be measured, or is judged as card and check print it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.commands.conftest import Run
from tests.commands.terminal import ROOT
from tests.commands.test_survey import GOOD, PINS


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Give each test a folder of its own for the pull history."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))


@pytest.fixture
def survey(run: Run, write: Callable[..., Path], tmp_path: Path) -> Callable[..., Any]:
    """Return a function that surveys a job with the text of a readings file."""
    job = write(tmp_path / "knot.toml", PINS)

    def command(text: str, *options: object) -> Any:
        file = tmp_path / "readings.toml"
        file.write_text(text, encoding="utf-8")
        return run("survey", job, "--readings", file, *options)

    return command


def test_what_has_a_limit_and_was_not_read_is_asked_for_next(survey: Callable[..., Any]) -> None:
    """A tab that leans 6 in 50 is not right because nobody looked."""
    lines = [line for line in GOOD.splitlines() if not line.startswith(("square", "far-hole"))]
    text = "\n".join(["[finished]", *lines])
    found = survey(text, "--json").json
    assert found["verdict"] == "cannot tell"
    assert found["unmeasured"] == ["square_across", "turn"]
    assert found["next"] == ["far-hole-to-chainstay", "square-across-in-50"]
    ran = survey(text)
    assert ran.status == 1
    asked = "Read next, in this order: far hole to chainstay; square across in 50 (2 times)."
    assert "out of square across, in 50: not measured" in ran.out and asked in ran.out
    leans = survey(
        f"{text}\nsquare-across-in-50 = [6.0, 6.0]\nfar-hole-to-chainstay = 23.75\n", "--json"
    ).json
    assert (leans["verdict"], leans["unmeasured"]) == ("cannot tell", [])
    assert [each["kind"] for each in leans["remedies"]] == ["ask"]


def test_without_its_tube_a_turn_is_said_to_be_unjudged(
    run: Run, write: Callable[..., Path], tmp_path: Path
) -> None:
    tube = '[tubes.chainstay]\ndiameters = [[25, 16], [180, 19], [380, 22]]\noutset = 5\nsplay = "3 deg"\n'
    job = write(tmp_path / "knot.toml", PINS, (tube, ""))
    file = tmp_path / "readings.toml"
    text = "\n".join(line for line in GOOD.splitlines() if not line.startswith("far-hole"))
    file.write_text(f"[finished]{text}", encoding="utf-8")
    ran = run("survey", job, "--readings", file)
    assert (ran.status, "when finished: RIGHT" in ran.out) == (0, True)
    assert "do not see a turn about the axle" in ran.out and "it is not judged" in ran.out
    assert run("survey", job, "--readings", file, "--json").json["unmeasured"] == []


def test_readings_that_no_caliper_can_take_are_left_out_of_old_sheets(run: Run, tmp_path: Path) -> None:
    """Avocet's near pin stands in the axle's shadow: whoever filled in its old sheet measured the axle."""
    file = tmp_path / "readings.toml"
    file.write_text("[faced]\naxle-to-near-along-the-face-over = 19.05\nnear-to-far-over = 79.2\n", "utf-8")
    ran = run("survey", ROOT / "samples" / "avocet.toml", "--readings", file, "--json", "--no-record")
    assert [each["reading"] for each in ran.json["readings"]] == ["near-to-far-over"]
    assert "axle-to-near-along-the-face-over is left out" in ran.json["notes"][0]
    assert "jaws over both meet the axle" in ran.json["notes"][0]


# --- one table of limits

LIMITED = {
    "near": "near", "far": "far", "spacing": "spacing", "lean": "square_across",
    "face near": "height_near", "face far": "height_far", "side near": "lateral_near",
    "side far": "lateral_far",
}  # fmt: skip
"""Which error a reading is judged by: its kind, and the hole where it is read at one."""


@pytest.mark.parametrize(
    "sample", ["dunlin", "curlew", "avocet", "godwit", "redshank", "lapwing", "whimbrel"]
)
def test_check_prints_the_limits_that_survey_judges_by(run: Run, tmp_path: Path, sample: str) -> None:
    """A tab, a post and a flat mount at both ends; whimbrel's numbers are published twice, and differ."""
    job = ROOT / "samples" / f"{sample}.toml"
    printed = run("check", job, "--json").json["setup"]["readings"]
    file = tmp_path / "readings.toml"
    lines = [f"{each['key']} = {each['nominal']:.3f}" for each in printed if each["stage"] != "before"]
    file.write_text("\n".join(["[finished]", *lines]), encoding="utf-8")
    errors = {
        each["key"]: each
        for each in run("survey", job, "--readings", file, "--no-record", "--json").json["errors"]
    }
    tab = errors["near"]["limit"] is not None if "near" in errors else False
    compared = set()
    for each in printed:
        kind = f"{each['kind']} {each['at']}".strip() if each["kind"] in ("face", "side") else each["kind"]
        key = LIMITED.get(kind)
        if each["kind"] in ("near", "far") and not tab:
            key = f"along_{each['kind']}"
        if key is None:
            continue
        low, high = (each["nominal"] + each["sign"] * off for off in errors[key]["allowed"])
        assert (each["low"], each["high"]) == pytest.approx(tuple(sorted((low, high))), abs=1e-6), key
        assert each["limit"]["grade"] == errors[key]["grade"]
        assert each["judged"] == (errors[key]["grade"] == "D")
        compared.add(key)
    # Every error with a limit is read for: out of square along is the difference of two, a turn is an angle.
    limited = {key for key, each in errors.items() if each["limit"] is not None}
    derived = {"square_along", "turn"} | ({"along_near"} if "along_near" not in compared else set())
    assert limited - derived == compared

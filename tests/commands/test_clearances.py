"""A failed clearance on the command line: exit 1, said in the warnings, stamped, and every file delivered."""

import json
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from tests.pages.jobs import SAMPLES

# At the disc's rim, s = 80, the stay is 17.1 thick and has come in by 80 tan 3 = 4.2: its side then lies at
# 0.7 - 4.2 - 8.5 = -12.0, and the disc's outer face at -13.45.
NEAR = ("outset = 5", "outset = 0.7")
STAMP = "CLEARANCE FAILS: disc 160 to chainstay"


def text_of(pdf: Path) -> str:
    """Return the running text of a packet; lettering is strokes and is not in it."""
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(pdf).pages).split())


def clearances(document: dict, kind: str) -> dict[str, dict]:
    """Return the clearances of a kind by name."""
    return {each["name"]: each for each in document["setup"]["clearances"] if each["kind"] == kind}


def test_a_failed_clearance_is_drawn_stamped_warned_of_and_exits_1(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    job = write(tmp_path / "near.toml", NEAR)
    ran = run("draw", job, "--out", tmp_path / "paper", "--json")
    assert ran.status == 1
    (line,) = ran.errors
    assert STAMP in line and "at least 2" in line
    document = ran.json
    assert [warning for warning in document["warnings"] if warning.startswith(STAMP)]
    paths = [Path(file["path"]) for file in document["files"]]
    assert len(paths) >= 2 and all(path.exists() for path in paths)
    good = write(tmp_path / "good.toml")
    fine = run("draw", good, "--out", tmp_path / "good", "--json")
    assert fine.status == 0 and not any("CLEARANCE FAILS" in each for each in fine.json["warnings"])
    assert len(fine.json["files"]) == len(paths)


def test_check_says_the_same_and_exits_1(run: Callable, write: Callable, tmp_path: Path) -> None:
    job = write(tmp_path / "near.toml", NEAR)
    ran = run("check", job)
    assert ran.status == 1 and "CLEARANCE FAILS" in ran.out and "warning: CLEARANCE FAILS" in ran.out
    document = run("check", job, "--json").json
    one = clearances(document, "rotor")["disc 160 to chainstay"]
    assert one["state"] == "fail" and one["left"] < one["least"] == 2.0
    assert one["left"] == pytest.approx(one["distance"] - 0.2)
    assert one["distance"] == pytest.approx(13.45 - 12.0, abs=0.1)
    assert document["setup"]["disc_to_tube"]["distance"] == pytest.approx(one["distance"], abs=1e-6)
    assert document["setup"]["tilts"]["sentences"]
    assert "caliper" in document["setup"] and "wheel_out" in document["setup"]


def test_one_failed_job_does_not_keep_the_others(run: Callable, write: Callable, tmp_path: Path) -> None:
    bad = write(tmp_path / "near.toml", NEAR, ("knot-1", "knot-2"))
    ran = run("draw", write(tmp_path / "good.toml"), bad, "--out", tmp_path / "paper", "--json")
    assert ran.status == 1
    assert all(Path(file["path"]).exists() for entry in ran.json for file in entry["files"])


def test_a_tube_that_is_roughly_given_never_fails(run: Callable, write: Callable, tmp_path: Path) -> None:
    job = write(
        tmp_path / "rough.toml", ("outset = 5\n", ""), ("[[25, 16], [180, 19]", "[[25, 30], [180, 30]")
    )
    ran = run("check", job, "--json")
    assert ran.status == 0
    one = clearances(ran.json, "rotor")["disc 160 to chainstay"]
    assert (one["state"], one["distance"]) == ("unknown", None)
    assert "tubes.chainstay.outset is not given" in one["why"]


def test_the_jobs_own_limits_and_caliper(run: Callable, write: Callable, tmp_path: Path) -> None:
    asked = write(tmp_path / "asked.toml", ("[dropout]", "[clearance]\nrotor = 9\nrunout = 0\n[dropout]"))
    ran = run("check", asked, "--json")
    assert ran.status == 1
    one = clearances(ran.json, "rotor")["disc 160 to chainstay"]
    assert (one["asked"], one["least"], one["allowance"], one["grade"]) == (9.0, 9.0, 0.0, "own")
    own = "[caliper]\nlength = 100\nheight = 40\ndepth = 60\ninboard = 20\noutboard = 25\n[dropout]"
    ran = run("check", write(tmp_path / "own.toml", ("[dropout]", own)), "--json")
    assert ran.status == 1 and "caliper to chainstay" in ran.errors[0]


def test_what_is_missing_or_wrong_in_the_new_tables(run: Callable, write: Callable, tmp_path: Path) -> None:
    for table, said in (
        ("[caliper]\nlength = 60\n", "caliper.height"),
        ("[clearance]\nrotors = 2\n", "did you mean rotor"),
        ("[clearance]\nrotor = -1\n", "allowed 0 to 20"),
    ):
        ran = run("check", write(tmp_path / "wrong.toml", ("[dropout]", f"{table}[dropout]")))
        assert ran.status == 2 and any(said in line for line in ran.errors)


def test_travel_is_said(run: Callable, write: Callable, tmp_path: Path) -> None:
    job = write(tmp_path / "moves.toml", ("[dropout]", "[dropout]\nslot = -90\ntravel = 15"))
    ran = run("check", job, "--json")
    travel = ran.json["setup"]["travel"]
    assert travel["travel"] == 15.0 and travel["reach"] < 15.0 and not travel["ok"]
    assert any("leave the track" in warning for warning in ran.json["warnings"])
    assert any("drawn from the slider" in warning for warning in ran.json["warnings"])
    run("draw", job, "--out", tmp_path / "paper")
    assert "drawn from the slider" in text_of(tmp_path / "paper" / "knot-1.pdf")


@pytest.mark.parametrize("name", SAMPLES)
def test_no_sample_fails_a_clearance(run: Callable, name: str) -> None:
    ran = run("check", SAMPLES[name], "--json")
    assert ran.status == 0
    states = {each["state"] for each in ran.json["setup"]["clearances"]}
    assert "fail" not in states and "ok" in states
    assert json.dumps(ran.json["setup"]["tilts"])


def test_stays_that_cross_are_told_in_one_line(run: Callable, tmp_path: Path) -> None:
    job = tmp_path / "cross.toml"
    text = (
        '[frame]\nid = "cross-1"\n[mount]\nend = "rear"\ninterface = "is-rear"\nrotor = 160\n'
        'host = "chainstay"\n[axle]\nsystem = "135-qr"\n[tubes.chainstay]\n'
        "diameters = [[10, 20], [380, 22]]\noutset = 4\n[tubes.seatstay]\n"
        "diameters = [[10, 20], [380, 14]]\nincluded = {}\noutset = 4\n"
    )
    for included, crossing in (("25", 1), ("110", 0)):
        job.write_text(text.format(included), encoding="utf-8")
        warnings = run("check", job, "--json").json["warnings"]
        assert sum("run into each other" in warning for warning in warnings) == crossing


def test_a_tube_that_begins_beyond_the_mount_is_warned_of(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    # 300 for 30 is a slip of the pen that leaves nothing under the mount.
    job = write(tmp_path / "slip.toml", ("[[25, 16], [180, 19], [380, 22]]", "[[300, 16], [380, 22]]"))
    warnings = run("check", job, "--json").json["warnings"]
    assert any("begins 300 mm from the axle, beyond the far hole" in each for each in warnings)

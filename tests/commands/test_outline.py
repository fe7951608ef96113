"""A dropout's outline from job file to filed packet: on the sheet, in the answer, without its drawing."""

import io
import json
import math
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import svgelements

from sheets.actions.pages import page
from sheets.actions.survey import packet_job
from sheets.files.read.form import read_form
from sheets.filing.revise import file_survey
from sheets.ink.records import Circle, Curve, Sheet
from sheets.job.read import load
from sheets.pages.running.survey_page import Section
from tests.commands.conftest import Ran

Run = Callable[..., Ran]
DRAWN = Path(__file__).parents[2] / "samples" / "dropouts"


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return the sample with its drawing in a folder of its own."""
    for name in ("stint.toml", "stint-dropout.svg"):
        shutil.copy(DRAWN / name, tmp_path)
    return tmp_path / "stint.toml"


def changed(job: Path, *changes: tuple[str, str]) -> Path:
    """Return the job with texts of job or drawing put in place of others."""
    for file in (job, job.with_name("stint-dropout.svg")):
        text = file.read_text(encoding="utf-8")
        for old, new in changes:
            text = text.replace(old, new)
        file.write_text(text, encoding="utf-8")
    return job


def template(job: Path) -> Sheet:
    (sheet,) = page(load(job), "template")
    return sheet


def edge(sheet: Sheet) -> list[tuple[float, float]]:
    """Return the dropout's edge on a sheet, from its axle."""
    (line,) = [each for each in sheet.features if each.name == "dropout edge"]
    assert isinstance(line, Curve) and line.points[0] == line.points[-1]
    return [(x - sheet.axle[0], y - sheet.axle[1]) for x, y in line.points]


def drawing() -> list[tuple[float, float]]:
    """Return the corners of the sample's edge as svgelements reads them, y up."""
    raw = io.BytesIO((DRAWN / "stint-dropout.svg").read_bytes())
    (path,) = svgelements.SVG.parse(raw, reify=False).select(lambda e: isinstance(e, svgelements.Path))
    # Without the page's own scale: a unit of the drawing is a millimetre.
    plain = svgelements.Path(path.values["attributes"]["d"])
    return [(each.end.x, -each.end.y) for each in plain if not isinstance(each, svgelements.Close)]


def test_the_edge_lies_on_the_template_where_it_was_drawn(job: Path) -> None:
    found, wanted = edge(template(job)), drawing()
    assert len(found) == len(wanted) + 1
    assert max(math.dist(a, b) for a, b in zip(found, wanted, strict=False)) < 1e-6


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (("[paper]", '[paper]\nview = "inboard"'), lambda x, y: (-x, y)),
        (('outline_from = "tube"', 'outline_from = "tube"\noutline_mirrored = true'), lambda x, y: (-x, y)),
        (('outline_from = "tube"', 'outline_from = "tube"\noutline_turned = 90'), lambda x, y: (-y, x)),
        # A chainstay that falls 9 degrees forward: level ground is turned 9 clockwise in the tube's axes.
        (('outline_from = "tube"', 'outline_from = "plumb"'),
         lambda x, y: (x * math.cos(math.radians(9)) + y * math.sin(math.radians(9)),
                       y * math.cos(math.radians(9)) - x * math.sin(math.radians(9)))),
    ],
    ids=["inboard", "mirrored", "turned", "plumb"],
)  # fmt: skip
def test_mirrored_and_turned_as_it_is_said(job: Path, change: tuple[str, str], place: Any) -> None:
    sheet = template(changed(job, change, ('size = "A4"', 'size = "A3"')))
    found = edge(sheet)
    wanted = [place(x, y) for x, y in drawing()]
    assert max(math.dist(a, b) for a, b in zip(found, wanted, strict=False)) < 1e-6


def test_holes_that_are_the_mounts_are_not_drawn_twice_and_others_are(job: Path) -> None:
    def drawn(sheet: Sheet) -> list[Circle]:
        return [
            each
            for each in sheet.features
            if isinstance(each, Circle) and each.name.startswith("dropout hole")
        ]

    assert drawn(template(job)) == []
    # Turned by a degree, the far hole of 78.1 is carried 1.36 mm.
    turned = changed(job, ('outline_from = "tube"', 'outline_from = "tube"\noutline_turned = 1'))
    assert [each.diameter for each in drawn(template(turned))] == [6.2, 6.2]


def codes(ran: Ran) -> dict[str, str]:
    return {
        each["code"]: each["level"] for each in ran.json["findings"] if each["code"].startswith("outline")
    }


def test_check_tells_the_outline_and_judges_the_tab(run: Run, job: Path) -> None:
    ran = run("check", job, "--json")
    assert ran.status == 0 and codes(ran) == {"outline-tab": "note"}
    told = ran.json["setup"]["outline"]
    assert told["file"] == "stint-dropout.svg" and told["direction_given"]
    assert told["tab"]["fit"] == "fits" and abs(told["tab"]["turn"]) < 0.01
    assert {each["name"]: round(each["metal"], 1) for each in told["holes"]} == {"near": 9.9, "far": 9.9}
    beside = [each for each in ran.json["setup"]["clearances"] if each["kind"] == "dropout"]
    assert len(beside) == 3 and {each["state"] for each in beside} == {"ok"}
    whole = run("check", job, "--all").out
    assert "stint-dropout.svg" in whole and "1.59 diameters" in whole


def test_holes_that_do_not_fit_stop_and_set_the_exit_status(run: Run, job: Path) -> None:
    ran = run("check", changed(job, ('cy="-77.979"', 'cy="-79.5"')))
    assert ran.status == 1
    assert ran.out.startswith("STOP: stint-1")
    # By hand: the hole of 78.098 at (-4.317, 77.979) is at (-4.317, 79.5), 79.617 from the axle.
    assert "+1.52 mm" in ran.out and "DO NOT FIT" in ran.out


def test_a_turned_tab_names_the_tilt_at_which_the_sheet_lies_over_it(run: Run, job: Path) -> None:
    turned = changed(job, ('outline_from = "tube"', 'outline_from = "tube"\noutline_turned = 3'))
    ran = run("check", turned, "--json")
    assert codes(ran) == {"outline-tab": "note", "outline-tab-turned": "warn"}
    (text,) = [each["text"] for each in ran.json["findings"] if each["code"] == "outline-tab-turned"]
    assert "Turn the mount to 3.00 degrees (mount.tilt)" in text
    again = run("check", changed(turned, ('host = "seatstay"', 'host = "seatstay"\ntilt = 3')), "--json")
    assert codes(again) == {"outline-tab": "note"}


@pytest.mark.parametrize(
    ("slot", "said"),
    [("24", None), ("40", "20 degrees further rearward"), ("0", "20 degrees further forward")],
)
def test_a_slot_that_is_drawn_otherwise_than_it_is_said_is_told(
    run: Run, job: Path, slot: str, said: str | None
) -> None:
    """The sample's slot is drawn 20 degrees forward of square down from the chainstay."""
    ran = run("check", changed(job, ("slot = 20", f"slot = {slot}")), "--json")
    found = [each["text"] for each in ran.json["findings"] if each["code"] == "outline-opens"]
    assert len(found) == (said is not None) and (said is None or said in found[0])


def test_what_is_not_said_is_asked_for_and_not_judged(run: Run, job: Path) -> None:
    bare = changed(job, ('outline_from = "tube"', "#"), ("[dropout]\nthickness = 7", "[dropout]"))
    ran = run("check", bare, "--json")
    assert codes(ran) == {
        "outline-direction": "unknown", "outline-thickness": "unknown", "outline-tab": "note",
    }  # fmt: skip
    assert not ran.json["setup"]["outline"]["direction_given"]


def test_a_mirrored_drawing_is_found_out_by_its_holes(run: Run, job: Path) -> None:
    mirrored = changed(job, ('outline_from = "tube"', 'outline_from = "tube"\noutline_mirrored = true'))
    assert codes(run("check", mirrored, "--json"))["outline-mirrored"] == "warn"


@pytest.mark.parametrize(("between", "level"), [(1.6, None), (1.4, "note"), (0.9, "warn")])
def test_little_metal_beside_the_mounts_hole_is_told_or_warned_of(
    run: Run, job: Path, between: float, level: str | None
) -> None:
    """Common practice: 1.5 diameters from rim to rim; hole centre to edge 1.5, which leaves 1.0 of metal."""
    beside = round(-4.317 - (1.0 + between) * 6.2, 3)
    holes = f"[[21.183, 33.811, 6.2], [-4.317, 77.979, 6.2], [{beside}, 77.979, 6.2]]"
    points = f"points = [[-60, -20], [60, -20], [60, 100], [-60, 100]]\nholes = {holes}"
    changed(job, ('outline = "stint-dropout.svg"', points), ('outline_layer = "edge"', ""))
    found = [each for each in run("check", job, "--json").json["findings"] if each["code"] == "outline-metal"]
    levels = [each["level"] for each in found if "far hole" in each["text"]]
    assert levels == ([level] if level else [])


def test_a_packet_needs_no_drawing_to_be_verified_read_and_revised(
    run: Run, job: Path, tmp_path: Path
) -> None:
    assert run("draw", job, "--out", tmp_path / "filed").status == 0
    packet = tmp_path / "filed" / "stint-1.pdf"
    source, attached = load(job), read_form(packet).attachments
    assert attached["stint.toml"] == source.raw
    job.with_name("stint-dropout.svg").unlink()
    ran = run("verify", packet)
    assert ran.status == 0
    assert "it comes out the same" in ran.out
    assert packet_job(packet, attached, "stint.toml").job == source.job
    second = file_survey(packet, {"state": "cold"}, [Section(["near hole: 0.10 mm rearward"], "Cold")])
    assert run("verify", second).status == 0
    document = json.loads(attached["dropleaf-manifest.json"])
    names = {each["name"] for each in document["files"][0]["pages"][0]["features"]}
    assert "dropout edge" in names

"""After the heat, at the desk: readings one at a time, the verdict, and what is filed."""

import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from playwright.sync_api import Page, expect

from sheets.actions import survey
from sheets.actions.pages import svg
from sheets.actions.readings_file import Read, entries_of, read
from sheets.desk import reading_picture
from sheets.desk.folder import _packet
from sheets.desk.reading_picture import count, figure_key, pictures
from sheets.desk.verdict_picture import larger
from sheets.desk.verdict_picture import pictures as views
from sheets.filing.revise import file_survey
from sheets.filing.verify import verify
from sheets.home.jobs import load
from sheets.home.pull_history import known
from sheets.ink.bounds import sheet_bounds
from sheets.ink.records import Sheet
from sheets.job.operations import CHECK_POINTS
from sheets.words.tell import tell
from tests.desk.conftest import SAMPLES, Client, accessible
from tests.desk.test_sheets import Drawn, placed

READ = tomllib.loads((SAMPLES / "readings" / "dunlin.toml").read_text(encoding="utf-8"))["finished"]
WORDS = {"none": "Nothing was read yet", "open": "cannot tell", "right": "right"}


def _typed(value: Any) -> str:
    return "; ".join(map(str, value if isinstance(value, list) else [value]))


def _read(client: Client, key: str, value: str, **more: Any) -> Any:
    answer = client.post("/frame/dunlin/heat/read", {"point": "finished", "key": key, "value": value, **more})
    assert answer.status == 200, answer.text
    return answer.json


# --- pictures


@pytest.mark.parametrize("name", ["dunlin", "godwit", "avocet", "sanderling"])
def test_every_reading_has_its_picture_and_no_ink_leaves_it(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    sheets: list[Sheet] = []
    monkeypatch.setattr(reading_picture, "svg", lambda sheet: sheets.append(sheet) or svg(sheet))
    bench = survey.bench_of(load(SAMPLES / f"{name}.toml"))
    for each in bench.takeable:
        sheets.clear()
        made = pictures(bench, each)
        assert len(made) == count(each)
        for sheet in sheets:
            left, low, right, top = sheet_bounds(sheet.records)
            assert left >= 0.0 and low >= 0.0, each.key
            assert right <= sheet.paper.width and top <= sheet.paper.height, each.key
        for one in made:
            root = ElementTree.fromstring(one)
            wide, high = (float(root.get(side, "").removesuffix("mm")) for side in ("width", "height"))
            assert b"?" in one, each.key
            assert (wide, high) in ((88.0, 62.0), (56.0, 58.0))
    ways = {figure_key(each.reading) for each in bench.takeable}
    assert {"lean", "side"} <= ways


def test_the_picture_shows_errors_as_much_larger_as_it_says() -> None:
    bench = survey.bench_of(load(SAMPLES / "dunlin.toml"))
    # Both holes read 0.3 mm too far along the tube and the tab 0.3 outboard: by hand, from axle to hole.
    keys = {"axle-to-near-over": 0.3, "axle-to-far-over": 0.3, "near-to-far-over": 0.0}
    keys |= {"inner-face-to-tab-at-near": 0.3, "inner-face-to-tab-at-far": 0.3}
    rows = tuple((each, each.reading.nominal + keys[each.key]) for each in bench.takeable if each.key in keys)
    found = survey.surveyed(bench, Read({"finished": rows}, ())).survey
    factor = larger(found)
    above = ElementTree.fromstring(views(found)[2])
    circles = [each for each in above.iter() if each.tag.endswith("circle")]
    wanted = [each for each in circles if each.get("class") == "wanted"]
    seen = [each for each in circles if str(each.get("class")).startswith("found")]
    # Outboard is drawn downward, and a mm of error takes as many units as the picture says.
    off = float(seen[0].get("cy", "")) - float(wanted[0].get("cy", ""))
    error = found.miss("lateral_near")
    assert error is not None and error.error is not None
    assert off == pytest.approx(factor * error.error, abs=0.02)
    assert error.error == pytest.approx(0.3, abs=0.01)
    assert factor > 1
    outboard = views(found)[0]
    assert "style=" not in "".join(views(found))
    assert f"{factor} times as large" in outboard


def test_a_hole_that_nobody_read_is_not_drawn_as_found() -> None:
    bench = survey.bench_of(load(SAMPLES / "dunlin.toml"))
    (near,) = [each for each in bench.takeable if each.key == "inner-face-to-tab-at-near"]
    rows = ((near, near.reading.nominal + 0.2),)
    found = survey.surveyed(bench, Read({"finished": rows}, ())).survey
    _, behind, above = map(ElementTree.fromstring, views(found))
    assert not [each for each in above.iter() if str(each.get("class")).startswith("found")]
    assert {"near ?", "far ?"} <= {each.text for each in above.iter() if each.tag.endswith("text")}
    # A tab that is flush with the inner face stands on the dropout in its line: nothing is drawn apart.
    dropout, tab = (
        [tuple(map(float, each.split(","))) for each in str(shape.get("points")).split()]
        for shape in behind.iter()
        if shape.get("class") in ("solid", "wanted")
    )
    assert max(x for x, _ in dropout) == max(x for x, _ in tab)
    assert min(y for _, y in dropout) == max(y for _, y in tab)
    # How far the tab stands sideways is told by one hole too, and drawn where no hole is told apart.
    assert [each for each in behind.iter() if str(each.get("class")).startswith("found")]


@pytest.mark.parametrize("name", ["avocet", "lapwing"])
def test_posts_and_bosses_that_were_read_at_each_hole_are_drawn_where_they_were_found(name: str) -> None:
    bench = survey.bench_of(load(SAMPLES / f"{name}.toml"))
    rows = tuple((each, each.reading.nominal) for each in bench.takeable if each.reading.stage != "before")
    above = ElementTree.fromstring(views(survey.surveyed(bench, Read({"finished": rows}, ())).survey)[2])
    circles = [each for each in above.iter() if each.tag.endswith("circle")]
    assert [str(each.get("class")).partition(" ")[0] for each in circles] == ["wanted", "found"] * 2
    assert {"near", "far"} <= {each.text for each in above.iter() if each.tag.endswith("text")}


# --- readings, kept and judged


def test_the_verdict_grows_to_that_of_the_command(client: Client, delivered: Drawn) -> None:
    job = placed(client, delivered["dunlin", "outboard"], packet=True)
    first = client.get("/frame/dunlin/heat")
    assert WORDS["none"] in first.text
    told = _read(client, "axle-to-near-over", _typed(READ["axle-to-near-over"]))
    assert WORDS["open"] in told["verdict"]
    assert told["next"]
    for key, value in READ.items():
        told = _read(client, key, _typed(value))
    assert "<strong>right</strong>" in told["verdict"]
    assert "Errors and lean are drawn" in told["verdict"] and "times as large" in told["verdict"]
    assert told["verdict"].count(tell("survey.text.surely")) == 1 and "95 %" not in told["verdict"]
    assert told["next"] == []
    # What was typed is a file of readings, which the command judges alike.
    kept = client.desk.folder / "dunlin.readings"
    bench = survey.bench_of(load(job))
    mine = survey.surveyed(bench, read(entries_of(kept), bench.takeable, bench.left_out))
    theirs = entries_of(SAMPLES / "readings" / "dunlin.toml")
    sample = survey.surveyed(bench, read(theirs, bench.takeable, bench.left_out), "finished")
    assert mine.verdict == sample.verdict
    assert sorted(mine.survey.shown) == sorted(sample.survey.shown)
    answer = client.post("/frame/dunlin/heat/file", {"point": "finished", "who": " ", "when": "2026-13-01"})
    assert answer.status == 400 and "who" in answer.problems
    sent = {"point": "finished", "who": "A. Builder", "when": "2026-11-29", "record": True}
    answer = client.post("/frame/dunlin/heat/file", sent)
    assert answer.status == 200, answer.text
    filed = client.desk.folder / answer.json["filed"]
    assert filed.name == "dunlin-1-rev2.pdf"
    verdict = verify(filed)
    assert verdict.good and not verdict.changes
    document = json.loads(verdict.packet.seen.attachments["survey-finished.json"])
    assert (document["filed_by"], document["filed_on"]) == ("A. Builder", "2026-11-29")
    assert document["verdict"] == "right"
    assert [each.point for each in known()] == ["finished"]
    _traveller_filed(client)


def _traveller_filed(client: Client) -> None:
    """Type in a traveller, and file it in the revision that comes after the survey's."""
    nothing = client.post("/frame/dunlin/traveller/file", {"who": "A", "when": "2026-11-29"})
    assert nothing.status == 400
    for key, value in {
        "step.6.initials": "AB",
        "step.6.done": "yes",
        "inspection.note": "look\nhere",
    }.items():
        assert client.post("/frame/dunlin/traveller/write", {"field": key, "value": value}).status == 200
    answer = client.post("/frame/dunlin/traveller/file", {"who": "A. Builder", "when": "2026-11-29"})
    assert answer.status == 200, answer.text
    assert answer.json["filed"] == "dunlin-1-rev3.pdf"
    verdict = verify(client.desk.folder / "dunlin-1-rev3.pdf")
    assert verdict.good and verdict.parent is not None
    document = json.loads(verdict.packet.seen.attachments["traveller.json"])
    assert document["fields"]["step.6.initials"] == "AB"
    # The folder's list knows it as it knows a form that was filled in.
    before, after = (_packet(client.desk.folder / f"dunlin-1{end}.pdf") for end in ("-rev2", "-rev3"))
    assert (before.filled, after.filled) == (False, True)
    assert document["filed_by"] == "A. Builder"


def test_a_wrong_reading_is_told_and_spoils_nothing(client: Client, delivered: Drawn) -> None:
    placed(client, delivered["dunlin", "outboard"])
    _read(client, "axle-to-near-over", "52,6")
    for wrong in ("fifty", "2.07", "520"):
        answer = client.post(
            "/frame/dunlin/heat/read", {"point": "finished", "key": "axle-to-far-over", "value": wrong}
        )
        assert answer.status == 400
        assert "axle to far, over" in answer.problems
    told = _read(client, "", "")
    assert told["readings"] == {"axle-to-near-over": "52,6"}
    assert "52,6" in told["verdict"] and "52.6" in told["verdict"]
    assert client.get("/frame/dunlin/heat?point=never").status == 400
    assert _read(client, "", "", anew=True)["readings"] == {}
    assert not (client.desk.folder / "dunlin.readings").exists()
    answer = client.post("/frame/dunlin/heat/file", {"point": "finished", "who": "A", "when": "2026-11-29"})
    assert answer.status == 400


def test_a_reading_means_the_same_when_the_job_asks_for_other_units(client: Client, delivered: Drawn) -> None:
    job = placed(client, delivered["dunlin", "outboard"])
    mm = job.read_text(encoding="utf-8")
    assert "[paper]\n" in mm
    inches = mm.replace("[paper]\n", '[paper]\nunits = "in"\n')
    bench = survey.bench_of(load(job))
    kept = job.with_suffix(".readings")

    def read_as() -> Any:
        (rows,) = read(entries_of(kept), bench.takeable, bench.left_out).rows.values()
        return [value for _, value in rows]

    job.write_text(inches, encoding="utf-8")
    # An inch is 25.4 mm: the international yard and pound agreement of 1959.
    assert _read(client, "axle-to-near-over", "2.07; 2.06")["readings"] == {
        "axle-to-near-over": "2.07 in; 2.06 in"
    }
    assert read_as() == pytest.approx([52.578, 52.324], abs=1e-9)
    for text in (mm, inches):
        job.write_text(text, encoding="utf-8")
        told = _read(client, "", "")
        assert (
            told["readings"] == {"axle-to-near-over": "2.07 in; 2.06 in"} and WORDS["open"] in told["verdict"]
        )
    job.write_text(mm, encoding="utf-8")
    assert _read(client, "axle-to-near-over", "52.5")["readings"] == {"axle-to-near-over": "52.5"}
    # Bare inches of 52.5 would be refused as far off.
    job.write_text(inches, encoding="utf-8")
    assert WORDS["open"] in _read(client, "", "")["verdict"] and read_as() == [52.5]


@pytest.mark.parametrize("what", ["damaged", "a link out"])
def test_a_packet_that_cannot_be_read_keeps_nobody_from_typing_readings(
    client: Client, delivered: Drawn, tmp_path: Path, what: str
) -> None:
    packet = placed(client, delivered["dunlin", "outboard"], packet=True).with_name("dunlin-1.pdf")
    if what == "damaged":
        packet.write_bytes(packet.read_bytes()[:2_000])
    else:
        packet.rename(tmp_path / "out.pdf")
        packet.symlink_to(tmp_path / "out.pdf")
    shown = client.get("/frame/dunlin/heat")
    assert shown.status == 200 and 'data-key="axle-to-near-over"' in shown.text
    (problem,) = re.findall(r'<p class="problem">(.*?)</p>', shown.text)
    assert "dunlin-1.pdf: " in problem and ("links that lead out" in problem) == (what != "damaged")
    assert 'class="main" disabled' in shown.text
    assert _read(client, "axle-to-near-over", "52.55")["readings"] == {"axle-to-near-over": "52.55"}


def test_two_pages_at_once_lose_no_reading(client: Client, delivered: Drawn) -> None:
    placed(client, delivered["dunlin", "outboard"])
    _read(client, "axle-to-near-over", "52.55")
    # Another page, which was opened before that, reads something else; and a check point has its own.
    told = _read(client, "axle-to-far-over", "90.7")
    client.post("/frame/dunlin/heat/read", {"point": "tacked", "key": "near-to-far-over", "value": "57.2"})
    assert told["readings"] == {"axle-to-near-over": "52.55", "axle-to-far-over": "90.7"}
    assert set(_read(client, "", "")["readings"]) == {"axle-to-near-over", "axle-to-far-over"}


def test_two_desks_on_one_folder_lose_no_reading(tmp_path: Path) -> None:
    """Each is a process of its own, which knows nothing of the other but by what lies there."""
    script = (
        "import pathlib, sys\nfrom sheets.desk.typed import keep\nfile, who = sys.argv[1:]\n"
        "for i in range(15):\n    keep(pathlib.Path(file), 'finished', {f'{who}{i}': '1'})"
    )
    file = tmp_path / "dunlin.readings"
    run = [subprocess.Popen([sys.executable, "-c", script, file, who]) for who in "ab"]
    assert [each.wait(timeout=120) for each in run] == [0, 0]
    assert len(tomllib.loads(file.read_text(encoding="utf-8"))["finished"]) == 30


def _at(client: Client) -> str:
    (point,) = re.findall(r'data-point="(\w+)"', client.get("/frame/dunlin/heat").text)
    return str(point)


def test_the_page_opens_where_the_work_stands_and_tells_what_the_check_points_are(
    client: Client, delivered: Drawn
) -> None:
    packet = placed(client, delivered["dunlin", "outboard"], packet=True).with_name("dunlin-1.pdf")
    assert _at(client) == "tacked"
    shown = client.get("/frame/dunlin/heat").text
    for point in CHECK_POINTS:
        assert shown.count(f"<dd>{escape(tell(f'reading.point_means.{point}'), quote=False)}</dd>") == 1
    # To go on each is read once; what is begun is gone on with, wherever it is.
    for at, key in enumerate(READ):
        assert _at(client) == ("cold" if at else "tacked")
        value = _typed(READ[key]).partition(";")[0]
        _read(client, key, value, point="cold")
    assert _at(client) == "aligned"
    # Whoever comes back to readings that do not say "right" finds them, until they are filed.
    near = _typed(READ["axle-to-near-over"]).partition(";")[0]
    _read(client, "axle-to-near-over", "55", point="cold")
    assert _at(client) == "cold"
    _read(client, "axle-to-near-over", near, point="cold")
    assert _at(client) == "aligned"
    # At the last each counts as often as is asked.
    _read(client, "axle-to-near-over", _typed(READ["axle-to-near-over"]).partition(";")[0])
    assert _at(client) == "finished"
    _read(client, "", "", anew=True)
    assert _at(client) == "aligned"
    file_survey(packet, {"state": "faced", "verdict": "right"}, [])
    assert _at(client) == "finished"


def test_the_page_begins_with_the_first_reading_that_is_not_taken_and_keeps_what_was_refused(
    client: Client, delivered: Drawn, opened: Callable[..., Page]
) -> None:
    placed(client, delivered["dunlin", "outboard"])
    page = opened(client, "/frame/dunlin/heat", viewport={"width": 360, "height": 800})
    now = page.locator("#readings [aria-current]")
    order = page.locator("#readings li:not(.more) button").evaluate_all("all => all.map(e => e.dataset.key)")
    expect(now).to_have_attribute("data-key", order[0])
    field = page.locator("#value")
    field.fill("1,2,3")
    field.press("Enter")
    problem = page.locator("#read .problem")
    expect(problem).to_contain_text("1,2,3")
    expect(field).to_have_value("1,2,3")
    expect(field).to_have_attribute("aria-invalid", "true")
    accessible(page)
    # Whoever looks at another reading meanwhile finds it again, with what is wrong with it.
    page.locator("#readings button").nth(1).click()
    expect(field).to_have_value("")
    expect(field).not_to_have_attribute("aria-invalid", "true")
    page.locator("#readings button").nth(0).click()
    expect(field).to_have_value("1,2,3")
    expect(problem).to_contain_text("1,2,3")
    field.fill(_typed(READ[order[0]]).replace(".", ","))
    field.press("Enter")
    expect(now).to_have_attribute("data-key", order[1])
    expect(page.locator("#settles")).not_to_be_empty()
    page.reload()
    expect(now).to_have_attribute("data-key", order[1])


def test_two_pages_of_a_browser_and_a_terminal_on_one_frame_lose_no_reading(
    client: Client, delivered: Drawn, opened: Callable[..., Page]
) -> None:
    job = placed(client, delivered["dunlin", "outboard"])
    pages = [opened(client, "/frame/dunlin/heat?point=finished") for _ in range(2)]
    for page in pages:
        expect(page.locator("#reading-name")).not_to_be_empty()
    script = (
        "import pathlib, sys\nfrom sheets.desk.typed import keep\n"
        "for i in range(10):\n    keep(pathlib.Path(sys.argv[1]), 'cold', {'axle-to-near-over': f'52.{i}'})"
    )
    run = subprocess.Popen([sys.executable, "-c", script, job.with_suffix(".readings")])
    keys = list(READ)
    for at, key in enumerate(keys):
        # Each page has the others' readings from before, or not at all.
        page = pages[at % 2]
        page.locator(f"#readings [data-key='{key}']").click()
        page.locator("#value").fill(_typed(READ[key]))
        page.locator("#value").press("Enter")
        expect(page.locator(f"#readings [data-key='{key}'] .taken")).to_have_text(_typed(READ[key]))
    assert run.wait(timeout=120) == 0
    kept = tomllib.loads(job.with_suffix(".readings").read_text(encoding="utf-8"))
    assert set(kept["finished"]) == set(keys) and kept["cold"] == {"axle-to-near-over": "52.9"}
    # The page that typed last tells the verdict on the readings of both.
    expect(pages[(len(keys) - 1) % 2].locator("#verdict .verdict")).to_have_text("right")


def test_readings_by_keyboard_and_by_the_keys_on_the_screen(
    client: Client, delivered: Drawn, opened: Callable[..., Page]
) -> None:
    placed(client, delivered["dunlin", "outboard"], packet=True)
    page = opened(client, "/frame/dunlin/heat?point=finished", viewport={"width": 1024, "height": 800})
    accessible(page)
    field = page.locator("#value")
    name = page.locator("#readings [aria-current]")
    for number in range(len(READ)):
        key = name.get_attribute("data-key") or ""
        value = _typed(READ[key])
        if number == 2:
            # As a gloved finger would; a sign too many is erased.
            page.click("#keypad [data-key='9']")
            page.click("#keypad [data-key=back]")
            for sign in value.replace("; ", ";"):
                page.click(f"#keypad [data-key='{sign}']" if sign != ";" else "#keypad [data-key='; ']")
            page.click("#read [type=submit]")
        else:
            field.fill(value)
            field.press("Enter")
        expect(page.locator(f"#readings [data-key='{key}'] .taken")).to_have_text(value)
    expect(page.locator("#verdict .verdict")).to_have_text("right")
    expect(page.locator("#settles")).to_contain_text(tell("desk_sheets.heat.all_read"))
    expect(page.locator("#verdict svg.view")).to_have_count(3)
    accessible(page)
    page.locator("[name=who]").fill("A. Builder")
    page.locator("[name=who]").press("Enter")
    page.wait_for_selector("#filed a", timeout=60_000)
    assert verify(client.desk.folder / "dunlin-1-rev2.pdf").good
    page.reload()
    expect(page.locator("[name=who]")).to_have_value("A. Builder")


# --- the traveller


def test_the_travellers_fields_are_those_of_the_paper_but_its_readings(
    client: Client, delivered: Drawn
) -> None:
    placed(client, delivered["dunlin", "outboard"])
    shown = client.get("/frame/dunlin/traveller")
    assert 'name="step.6.initials"' in shown.text
    assert 'name="reading.' not in shown.text
    write = "/frame/dunlin/traveller/write"
    assert client.post(write, {"field": "other", "value": "x"}).status == 400
    assert client.post(write, {"field": "inspection.note", "value": "<b>look"}).status == 200
    again = client.get("/frame/dunlin/traveller").text
    assert "&lt;b&gt;look" in again and "<b>look" not in again


@pytest.mark.parametrize("note", ["bent;\nthen set;; ok", " led in\n", "a; b", 'say "x" \\ #; y'])
def test_a_note_on_the_traveller_stays_as_it_was_typed(client: Client, delivered: Drawn, note: str) -> None:
    placed(client, delivered["dunlin", "outboard"])
    write = "/frame/dunlin/traveller/write"
    assert client.post(write, {"field": "inspection.note", "value": note}).status == 200
    # Another field's writing writes all anew.
    assert client.post(write, {"field": "step.6.initials", "value": "AB"}).status == 200
    kept = tomllib.loads((client.desk.folder / "dunlin.traveller").read_text(encoding="utf-8"))
    assert kept["traveller"] == {"inspection.note": note, "step.6.initials": "AB"}
    assert escape(note, quote=False) in client.get("/frame/dunlin/traveller").text.replace("&#34;", '"')


def test_the_traveller_can_be_used_by_everybody(
    client: Client, delivered: Drawn, opened: Callable[..., Page]
) -> None:
    placed(client, delivered["dunlin", "outboard"], packet=True)
    page = opened(client, "/frame/dunlin/traveller", viewport={"width": 360, "height": 800})
    accessible(page)
    page.fill("[name='head.customer']", "somebody")
    page.press("[name='head.customer']", "Tab")
    expect(page.locator("#kept")).to_have_text("Kept.")
    assert "somebody" in (client.desk.folder / "dunlin.traveller").read_text(encoding="utf-8")

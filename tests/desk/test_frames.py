"""The folder at a glance: what is known of each frame, new frames, the bench list, packets in one go."""

import shutil
import time
from collections.abc import Callable
from html import escape
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader, PdfWriter

from sheets.desk import batch, folder, watch
from sheets.desk.state import Desk
from sheets.desk.watch import Glance, Watch, states
from sheets.filing.revise import file_survey
from sheets.home.jobs import load
from sheets.words.tell import tell
from tests.desk.conftest import SAMPLES, Client, accessible
from tests.pages.conftest import delivered as delivered

MARKUP = "<img src=x onerror=alert(1)><script>alert(2)</script>&amp;"


def put(place: Path, name: str, *changes: tuple[str, str], to: str = "") -> Path:
    """Put a sample into a folder, changed by replacing texts, and return it."""
    text = (SAMPLES / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    place.mkdir(exist_ok=True)
    file = place / f"{to or name}.toml"
    file.write_text(text, encoding="utf-8")
    return file


def until(said: Callable[[], Any], seconds: float = 120.0) -> Any:
    """Return what comes to be true; fail where it does not in time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := said():
            return found
        time.sleep(0.05)
    return pytest.fail(f"not in {seconds} s")


def known(watch: Watch) -> Glance:
    """Return a folder when all of it is worked out."""

    def settled() -> Glance | None:
        glance = watch.glance()
        return None if glance.busy else glance

    found: Glance = until(settled)
    return found


# --- what is known


def test_an_empty_folder_says_how_to_begin(client: Client) -> None:
    said = client.get("/").text
    assert "There is no frame in this folder yet" in said
    assert "dunlin: " in said


def test_a_glance_tells_each_job_at_once_and_what_is_found_of_it_when_it_is_known(client: Client) -> None:
    place = client.desk.folder
    put(place, "turnstone")
    (place / "broken.toml").write_text('[frame]\nid = "knot-9"\n[mount\n', encoding="utf-8")
    (place / "readings.toml").write_text("[finished]\naxle-to-near-over = [52.6]\n", encoding="utf-8")
    first = client.get("/").text
    assert "turnstone-4" in first and "rear: post mount, disc 140" in first
    assert "Not complete yet: 1 to give or to mend" in first and "line 3" in first
    assert "readings" not in first.partition('id="list"')[2]
    assert "being judged" in first
    until(lambda: 'data-busy="false"' in client.get("/frames/list").text)
    said = client.get("/frames/list").text
    assert "May be drawn, but not all of it is judged" in said and "2 things are not known" in said
    assert "2 jobs: 1 is not judged whole and 1 could not be read." in said


@pytest.mark.parametrize("ending", [".changes", ".edited"])
def test_either_kind_of_draft_is_told_as_soon_as_it_is_there(client: Client, ending: str) -> None:
    file = put(client.desk.folder, "turnstone")
    pages = ("/frames/list", "/frame/turnstone/traveller")
    said = {
        page: tell(f"{code}.begun") for page, code in zip(pages, ("desk.frames", "desk_sheets"), strict=True)
    }
    for there in (False, True, False):
        if there:
            file.with_suffix(ending).write_text("", encoding="utf-8")
        else:
            file.with_suffix(ending).unlink(missing_ok=True)
        for page in pages:
            assert (escape(said[page]) in client.get(page).text) is there


def test_what_is_found_is_kept_by_content(tmp_path: Path, own_home: Path) -> None:
    file = put(tmp_path / "f", "turnstone")
    watch = Watch(Desk(file.parent, 1))
    (row,) = known(watch).rows
    assert row.judged is not None and row.judged.verdict == "unknown"
    text = file.read_text(encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    assert not watch.glance().busy
    file.write_text(text.replace("rotor = 140", "rotor = 160"), encoding="utf-8")
    assert watch.glance().busy
    # What the builder keeps changes what is found, too.
    known(watch)
    own_home.mkdir()
    (own_home / "operations.toml").write_text("", encoding="utf-8")
    assert watch.glance().busy
    watch.end()


def test_a_job_that_breaks_the_program_is_told_in_its_place(
    tmp_path: Path, own_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    put(tmp_path / "f", "turnstone")
    monkeypatch.setattr(folder, "report", broken)
    (row,) = known(Watch(Desk(tmp_path / "f", 1))).rows
    assert row.judged is not None
    assert (
        "this is a fault in dropleaf, not in your job: ZeroDivisionError: by nothing"
        in row.judged.problems[0]
    )


def test_a_job_is_no_pdf_whatever_its_capitals(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[str] = []
    monkeypatch.setattr(
        watch, "_read", lambda files: tuple(read.append(f.name) or folder.Packet(f.name) for f in files)
    )
    file = put(client.desk.folder, "turnstone")
    file.rename(file.with_suffix(".TOML"))
    (client.desk.folder / "other.PDF").write_bytes(b"%PDF-1.7")
    until(lambda: 'data-busy="false"' in client.get("/frames/list").text)
    assert read == ["other.PDF"]
    # A disk that folds case has both names, as this link does.
    file.symlink_to(file.with_suffix(".TOML"))
    assert client.get("/frames/list").text.count("turnstone-4") == 1


def test_links_that_lead_out_are_told_and_not_read(client: Client, tmp_path: Path) -> None:
    away = put(tmp_path / "elsewhere", "turnstone")
    (client.desk.folder / "away.toml").symlink_to(away)
    (client.desk.folder / "away.pdf").symlink_to(away)
    said = client.get("/").text
    assert "away.toml is a link that leads out of this folder" in said
    assert "turnstone-4" not in said
    for answer in (
        client.get("/shop?frame=away"),
        client.post("/batch", {"frames": ["away"]}),
        client.post("/new", {"name": "mine", "way": "copy", "of": "away"}),
        client.post("/new", {"name": "away", "way": "blank"}),
    ):
        assert answer.status == 400
        assert "links that lead out of it are not followed" in answer.text


# --- packets


def filled(packet: Path, values: dict[str, str]) -> None:
    """Fill a packet's form in with another library than the one that reads it."""
    writer = PdfWriter()
    writer.clone_document_from_reader(PdfReader(packet))
    for page in writer.pages:
        if "/Annots" in page:
            writer.update_page_form_field_values(page, values, auto_regenerate=False)
    writer.write(packet)


def test_a_packet_tells_its_revision_and_what_became_of_it(
    tmp_path: Path, own_home: Path, delivered: Any
) -> None:
    place = tmp_path / "f"
    place.mkdir()
    files = [Path(each["path"]) for each in delivered["dunlin", "outboard"].document["files"]]
    job = shutil.copy(files[0].parents[1] / "dunlin.toml", place / "dunlin.toml")
    packet = Path(shutil.copy(files[0], place))
    frame = folder.frame_of(Path(job), ())
    assert frame is not None
    (found,) = folder.packets((packet,))
    assert (found.frame, found.revision) == ("dunlin-1", 1)
    assert states(found, frame) == ["drawn from the job as it is", "bars not read as true yet"]
    later = file_survey(packet, {"state": "cold", "verdict": "usable with remedy"}, [])
    last = file_survey(later, {"state": "finished", "verdict": "right"}, [])
    found, again = folder.packets((packet, last))
    assert (again.revision, again.survey, again.point) == (3, "right", "finished")
    assert "surveyed when finished: right" in states(again, frame)
    filled(packet, {"step.2.reading": "150.0"})
    (found,) = folder.packets((packet,))
    assert states(found, frame)[1:] == ["bars proven", "filled in"]
    text = Path(job).read_text(encoding="utf-8")
    Path(job).write_text(text.replace("rotor = 160", "rotor = 180"), encoding="utf-8")
    changed = folder.frame_of(Path(job), ())
    assert changed is not None
    assert states(found, changed)[0] == "the job was changed since it was drawn"
    assert states(found, None)[0] == "its job is not in this folder"


def test_other_pdfs_are_no_packets_and_a_broken_one_hides_no_other(tmp_path: Path, own_home: Path) -> None:
    place = tmp_path / "f"
    place.mkdir()
    writer = PdfWriter()
    writer.add_blank_page(100, 100)
    writer.write(place / "other.pdf")
    (place / "broken.pdf").write_bytes(b"%PDF-1.7\nnothing")
    glance = known(Watch(Desk(place, 1)))
    assert [(each.file, bool(each.problem)) for each in glance.others] == [("broken.pdf", True)]


# --- new


def test_a_frame_begins_from_nothing_from_a_sample_and_from_a_copy(client: Client) -> None:
    place = client.desk.folder
    assert client.post("/new", {"name": " knot-1 ", "way": "blank"}).json == {"frame": "knot-1"}
    assert (place / "knot-1.toml").read_text(encoding="utf-8").endswith('[frame]\nid = "knot-1"\n')
    assert client.post("/new", {"name": "knot-2", "way": "sample", "of": "stint"}).status == 200
    job = load(place / "knot-2.toml").job
    # It brings its drawing, and says nothing of the sample's own frame.
    assert (job.frame.id, job.frame.name, job.frame.maker) == ("knot-2", None, None)
    assert job.outline is not None
    assert client.post("/new", {"name": "knot-3", "way": "copy", "of": "knot-2"}).status == 200
    one, other = ((place / f"knot-{n}.toml").read_text(encoding="utf-8") for n in (2, 3))
    assert other == one.replace("knot-2", "knot-3")
    assert (place / "job.schema.json").exists()


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"name": "knot-1", "way": "blank"}, "is there already"),
        ({"name": "../knot", "way": "blank"}, "no name of a file"),
        ({"name": "", "way": "blank"}, ""),
        ({"name": ".hidden", "way": "blank"}, "no name of a file"),
        ({"name": "a:b", "way": "blank"}, ""),
        ({"name": "knot-2", "way": "sample", "of": "nothing"}, "known: avocet"),
        ({"name": "knot-2", "way": "sample", "of": "../../etc/passwd"}, "known: avocet"),
        ({"name": "knot-2", "way": "copy", "of": "not-there"}, "no such file"),
        ({"name": ["knot"], "way": {}}, ""),
        ([], "cannot be read"),
    ],
)
def test_what_cannot_begin_says_why_and_leaves_nothing(client: Client, asked: Any, said: str) -> None:
    (client.desk.folder / "knot-1.toml").write_text('[frame]\nid = "knot-1"\n', encoding="utf-8")
    answer = client.post("/new", asked)
    assert answer.status == 400
    assert said in answer.problems
    assert [each.name for each in client.desk.folder.iterdir()] == ["knot-1.toml"]


# --- the bench


def test_the_bench_list_is_that_of_the_frames_ticked(client: Client) -> None:
    put(client.desk.folder, "turnstone")
    put(client.desk.folder, "turnstone", ("turnstone-4", "knot-1"), to="knot")
    (client.desk.folder / "broken.toml").write_text("[frame]\n", encoding="utf-8")
    answer = client.get("/shop?frame=turnstone&frame=knot&frame=broken")
    assert answer.status == 200
    assert "Frames: turnstone-4, knot-1" in answer.text and "dummy axle" in answer.text
    assert "broken.toml" in answer.text
    assert "Tick the frames first" in client.get("/shop").text


# --- packets in one go


def drawn(client: Client) -> Any:
    """Return how the run of drawing ended."""

    def ended() -> Any:
        state = client.get("/batch").json
        return None if state["running"] else state

    return until(ended)


def test_packets_are_drawn_byte_for_byte_as_the_command_draws_them_and_failures_say_why(
    client: Client, delivered: Any
) -> None:
    place = client.desk.folder
    files = [Path(each["path"]) for each in delivered["dunlin", "outboard"].document["files"]]
    shutil.copy(files[0].parents[1] / "dunlin.toml", place)
    # Two that would write one packet, and one that cannot be read.
    put(place, "turnstone")
    put(place, "turnstone", to="twin")
    (place / "broken.toml").write_text("[frame]\n", encoding="utf-8")
    begun = client.post("/batch", {"frames": ["dunlin", "turnstone", "twin", "broken"]})
    assert begun.status == 200 and begun.json["running"] and begun.json["total"] == 4
    assert client.post("/batch", {"frames": ["dunlin"]}).problems == (
        ": Packets are being drawn already; wait until they are done, or give them up."
    )
    state = drawn(client)
    assert state["said"] == "All 4 are done, 3 of them failed."
    told = {each["frame"]: each for each in state["frames"]}
    assert [told[name]["state"] for name in ("dunlin", "turnstone", "twin", "broken")] == [
        "drawn", *["failed"] * 3,
    ]  # fmt: skip
    assert told["dunlin"]["packet"] == "dunlin-1.pdf" and "deviation" in told["dunlin"]["said"][0]
    assert "twin.toml" in told["turnstone"]["said"][0]
    for file in files:
        assert (place / file.name).read_bytes() == file.read_bytes()


def slow(task: batch.Task) -> batch.Outcome:
    """Draw nothing, and the first in no time."""
    time.sleep(0.0 if task.name == "knot-0" else 60.0)
    return batch.Outcome(task.name, "drawn")


def test_drawing_is_given_up_and_what_is_under_way_leaves_nothing(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(batch, "drawn", slow)
    for number in range(5):
        put(client.desk.folder, "turnstone", ("turnstone-4", f"knot-{number}"), to=f"knot-{number}")
    client.post("/batch", {"frames": [f"knot-{number}" for number in range(5)]})
    until(lambda: client.get("/batch").json["done"])
    began = time.monotonic()
    assert client.post("/batch/cancel").status == 200
    state = drawn(client)
    assert time.monotonic() - began < 10.0
    assert [each["state"] for each in state["frames"]] == ["drawn", *["left"] * 4]
    assert "Given up: 1 of 5 were done" in state["said"]


@pytest.mark.parametrize("frames", [[], None, "dunlin", [1], ["../dunlin"], [".."]])
def test_nothing_is_drawn_of_what_is_no_frame(client: Client, frames: Any) -> None:
    assert client.post("/batch", {"frames": frames}).status == 400
    assert client.get("/batch").json["total"] == 0


# --- many


def test_forty_frames_are_shown_at_once(tmp_path: Path, own_home: Path) -> None:
    for number in range(40):
        put(tmp_path / "f", "turnstone", ("turnstone-4", f"knot-{number}"), to=f"knot-{number}")
    watch = Watch(Desk(tmp_path / "f", 1))
    began = time.process_time()
    assert len(watch.glance().rows) == 40
    first = time.process_time() - began
    again = time.process_time()
    watch.glance()
    watch.end()
    # Own processor time: what works in the background stands back.
    assert first < 2.0
    assert time.process_time() - again < 0.5


# --- in a browser


def test_the_whole_page_by_keyboard_alone(client: Client, opened: Callable[..., Page]) -> None:
    place = client.desk.folder
    put(place, "turnstone")
    put(place, "turnstone", ("turnstone-4", "knot-1"), to="knot-1")
    page = opened(client)
    expect(page.locator("#list")).to_have_attribute("data-busy", "false", timeout=60_000)
    accessible(page)
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.locator("#search").focus()
    page.keyboard.type("KNOT")
    expect(page.locator(".frame:visible")).to_have_count(1)
    page.keyboard.press("Tab")
    page.keyboard.press("Space")
    assert [each.is_checked() for each in page.locator("input[name=frame]").all()] == [True, False]
    page.locator("#draw").focus()
    page.keyboard.press("Enter")
    expect(page.locator("#batch-said")).to_have_text("All 1 are done, 0 of them failed.", timeout=90_000)
    expect(page.locator(".frame:visible .packet")).to_contain_text(
        "drawn from the job as it is", timeout=60_000
    )
    assert (place / "knot-1.pdf").exists()
    accessible(page)
    page.locator("#new-name").focus()
    page.keyboard.type("turnstone")
    page.keyboard.press("Enter")
    expect(page.locator("#new-problems")).to_contain_text("is there already")


def test_a_terminal_and_the_page_see_each_others_work(client: Client, opened: Callable[..., Page]) -> None:
    page = opened(client)
    expect(page.locator(".frame")).to_have_count(0)
    put(client.desk.folder, "turnstone")
    expect(page.locator(".frame")).to_have_count(1, timeout=15_000)


def test_what_a_stranger_wrote_is_text_and_never_markup(client: Client, opened: Callable[..., Page]) -> None:
    place = client.desk.folder
    put(place, "turnstone", ('name = "Turnstone"', f"name = '{MARKUP}'"), to=MARKUP.replace("/", ""))
    (place / "broken.toml").write_text(f"[frame]\nid = '{MARKUP}'\nmaker = 3\n", encoding="utf-8")
    page = opened(client)
    page.on("dialog", lambda dialog: pytest.fail(dialog.message))
    expect(page.locator(".frame")).to_have_count(2)
    assert MARKUP in page.locator(".frame").all_inner_texts()[0]
    assert page.locator("main img").count() == 0
    page.locator(".frame input[name=frame]").first.check()
    page.locator("#draw").click()
    expect(page.locator("#batch-said")).to_contain_text("done", timeout=90_000)
    assert page.locator("main img").count() == 0 and page.locator("main script").count() == 0
    accessible(page)

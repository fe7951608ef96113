"""What stopped people at the desk who had never seen it: each once, as it was met."""

import math
import re
import shutil
import time
import tomllib
from collections.abc import Callable, Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from geometry.tubes.tube import section
from sheets.actions import survey
from sheets.desk import heat
from sheets.desk.answers import groups
from sheets.desk.folder import Frame, Packet
from sheets.desk.live import pictures, seen
from sheets.desk.meanings import used
from sheets.desk.watch import states
from sheets.guide.entries import entries
from sheets.home import folder as home
from sheets.home.jobs import load
from sheets.job.read import tubes_of
from tests.desk.conftest import SAMPLES, Client, accessible, served
from tests.desk.test_hand import field, frame

Door = Callable[..., Page]
FORK = """\
[frame]
id = "knot-1"

[mount]
end = "front"
interface = "post"
rotor = 160
host = "fork-leg"

[axle]
system = "100x15"
"""
LEG = "\n[tubes.fork-leg]\ndiameters = [[25, 24]]\n"
"""Invented: a fork of which hardly anything is measured."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """Return a client of one desk for all of these tests, with every sample and forks hardly measured."""
    root = tmp_path_factory.mktemp("newcomer")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(root / "home"))
        shutil.copytree(SAMPLES, root / "frames", ignore=shutil.ignore_patterns("*.p*", "*.json", "*.md"))
        for name in ("row", "late", "list", "taken", "order", "help"):
            (root / "frames" / f"{name}.toml").write_text(FORK if name == "row" else FORK + LEG)
        with served(root / "frames") as one:
            yield one


def box(page: Page, key: str) -> Any:
    return page.locator(f"[data-measure='{key}']").first


# --- answers in a row

GONE = """() => {
  window.gone = [];
  new MutationObserver((changes) => {
    for (const change of changes) for (const each of change.removedNodes) {
      const key = each.dataset?.key;
      // What is only put elsewhere in the order is there again at once.
      if (each.matches?.(".box") && !document.querySelector(`.box[data-key="${key}"]`)) window.gone.push(key);
    }
  }).observe(document.querySelector(".pictures"), { childList: true, subtree: true });
}"""


def test_no_box_goes_and_comes_again_while_answers_arrive_in_a_row(opened: Door, bench: Client) -> None:
    """A picture drawn without the answer that was on its way took away the boxes which that one brings."""
    page = frame(opened, bench, "row")
    box(page, "tubes.fork-leg.place.1").click()
    page.keyboard.type("25: 24")
    # What is typed is drawn at once: the leg's own measures are asked for.
    box(page, "tubes.fork-leg.wall").wait_for(state="attached")
    page.evaluate(GONE)
    held: list[Any] = []
    through: list[bool] = []
    page.route("**/set", lambda route: route.continue_() if through else held.append(route))
    page.keyboard.press("Enter")
    box(page, "axle.dummy").click()
    page.keyboard.type("20")
    until = time.monotonic() + 30.0
    while not held and time.monotonic() < until:
        page.wait_for_timeout(50)
    # Long enough for a picture that does not wait for the answer before it.
    page.wait_for_timeout(1_000)
    [first] = held
    through.append(True)
    first.continue_()
    expect(page.locator("#state")).to_contain_text("not saved yet")
    page.keyboard.press("Enter")
    expect(field(page, "axle.dummy")).to_have_value("20")
    assert page.evaluate("window.gone") == []
    assert bench.post("/frame/row/see", {"whole": True}).json["values"]["axle.dummy"] == "20"


def test_a_look_that_is_late_is_not_shown_after_a_newer_answer(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "late")
    held: list[Any] = []
    through: list[bool] = []
    page.route("**/see", lambda route: route.continue_() if through else held.append(route))
    page.set_viewport_size({"width": 900, "height": 700})
    until = time.monotonic() + 30.0
    while not held and time.monotonic() < until:
        page.wait_for_timeout(100)
    answers = [each.fetch() for each in held]
    through.append(True)
    box(page, "dropout.thickness").fill("7")
    box(page, "dropout.thickness").press("Enter")
    expect(field(page, "dropout.thickness")).to_have_value("7")
    expect(page.locator("#state")).to_contain_text("not saved yet")
    page.evaluate(
        """() => {
          window.lost = 0;
          const here = document.querySelector("[data-answer='dropout.thickness']");
          setInterval(() => { if (here.value !== "7") window.lost += 1; }, 5);
        }"""
    )
    for route, answer in zip(held, answers, strict=True):
        route.fulfill(response=answer)
    page.wait_for_timeout(1_000)
    assert page.evaluate("window.lost") == 0


# --- what comes up moves nothing that is in the hand

PLACES = """() => Object.fromEntries([...document.querySelectorAll("#answers [data-answer]")]
  .filter((each) => each.checkVisibility() && !each.closest(".rare"))
  .map((each) => {
    const here = each.getBoundingClientRect(), fold = each.closest(".table").getBoundingClientRect();
    return [each.dataset.answer, [Math.round(here.left - fold.left), Math.round(here.top - fold.top)]];
  }))"""


def test_a_field_that_comes_up_moves_no_other(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "list", viewport={"width": 1920, "height": 900})
    page.locator("#t-tubes-fork-leg > summary").click()
    page.locator("#t-mount > summary").click()
    page.locator("#t-boss > summary").click()
    before = page.evaluate(PLACES)
    assert "tubes.fork-leg.place.3" not in before
    field(page, "tubes.fork-leg.place.2").fill("200: 28")
    field(page, "tubes.fork-leg.place.2").press("Enter")
    expect(field(page, "tubes.fork-leg.place.3")).to_be_visible()
    after = page.evaluate(PLACES)
    assert {key: after[key] for key in before} == before
    # A tab is not asked how long it is: that goes and leaves its place empty, and comes back to it.
    long = page.locator("#t-boss > .answers [data-answer='boss.length']")
    field(page, "mount.interface").select_option("is-front")
    expect(long).to_have_count(0)
    last = page.evaluate(PLACES)
    stay = [key for key in after if key in last]
    assert "mount.rotor" in stay and {key: last[key] for key in stay} == {key: after[key] for key in stay}
    field(page, "mount.interface").select_option("post")
    expect(long).to_be_visible()
    last = page.evaluate(PLACES)
    assert {key: last[key] for key in after} == after


def test_what_is_found_moves_nothing_that_is_typed_into(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "list", viewport={"width": 1024, "height": 700})
    page.wait_for_selector(".finding")
    page.locator("#t-axle > summary").click()
    here = field(page, "axle.dummy")
    here.scroll_into_view_if_needed()
    here.focus()
    top = here.bounding_box()["y"]
    page.evaluate("document.getElementById('findings').lastElementChild.dataset.old = 'yes'")
    page.keyboard.type("20")
    page.keyboard.press("Shift+Tab")
    expect(page.locator("#findings [data-old]")).to_have_count(0)
    assert here.bounding_box()["y"] == pytest.approx(top, abs=1.0)


# --- what is taken for an answer that is not given


def test_what_is_taken_for_an_answer_is_told_beside_its_field_until_one_is_given(
    opened: Door, bench: Client
) -> None:
    page = frame(opened, bench, "taken", viewport={"width": 1280, "height": 900})
    page.locator("#t-axle > summary").click()
    said = page.locator("#k-axle-pocket")
    # geometry/tables/axles.toml: 100 x 15 has 3 mm, grade D.
    expect(said).to_have_text("Not given: 3 mm is taken, as is usual with 100 × 15 thru axle (grade D).")
    assert "k-axle-pocket" in (field(page, "axle.pocket").get_attribute("aria-describedby") or "")
    assert box(page, "axle.pocket").get_attribute("placeholder") == "(3)"
    box(page, "axle.pocket").focus()
    expect(page.locator("#asked .assumed")).to_contain_text("3 mm is taken")
    before = page.evaluate(PLACES)
    field(page, "axle.pocket").fill("2,5")
    field(page, "axle.pocket").press("Enter")
    expect(said).to_be_empty()
    assert page.evaluate(PLACES) == before
    # Before the axle is known nothing is said of its pocket.
    nothing = bench.post("/frame/row/see", {"key": "axle.system", "answer": ""}).json
    assert "axle.pocket" not in nothing["assumed"] and "boss.diameter" in nothing["assumed"]


def test_the_angle_of_a_leg_stands_beside_its_leg() -> None:
    names = [each.name for each in groups(entries(tomllib.loads(FORK + LEG)))]
    assert ("tubes.fork-leg", "stance") in list(pairwise(names))


# --- the order of what is asked, and its help


def test_tab_and_enter_go_in_the_order_of_the_list(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "order", viewport={"width": 1280, "height": 900})
    asked = page.evaluate(
        "[...document.querySelectorAll('#answers [data-answer]')].map((each) => each.dataset.answer)"
    )
    for view in ("#side", "#behind"):
        boxes = page.locator(f"{view} [data-measure]").evaluate_all(
            "all => all.map((e) => e.dataset.measure)"
        )
        assert boxes == sorted(boxes, key=asked.index), view
    drawn = {key: None for key in asked if page.locator(f".view [data-measure='{key}']").count()}
    box(page, next(iter(drawn))).focus()
    met = []
    for _ in drawn:
        met.append(page.evaluate("document.activeElement.dataset.measure"))
        page.keyboard.press("Enter")
    assert met == list(drawn)
    # A wrong answer is not gone on from.
    box(page, "dropout.thickness").fill("seven")
    box(page, "dropout.thickness").press("Enter")
    expect(page.locator("#refused")).to_contain_text("seven")
    expect(box(page, "dropout.thickness")).to_be_focused()


def test_help_stands_beside_what_is_typed_into_and_is_reached_by_tab(opened: Door, bench: Client) -> None:
    for size in ((1280, 900), (360, 740)):
        page = frame(opened, bench, "help", viewport={"width": size[0], "height": size[1]})
        for key in ("tubes.fork-leg.outset", "dropout.thickness", "tubes.fork-leg.place.1"):
            here = box(page, key)
            here.focus()
            here.scroll_into_view_if_needed()
            card = page.locator("#asked")
            expect(card.locator(".question")).to_be_visible()
            one, other = card.bounding_box(), here.locator("..").bounding_box()
            across = max(other["x"] - one["x"] - one["width"], one["x"] - other["x"] - other["width"])
            along = max(other["y"] - one["y"] - one["height"], one["y"] - other["y"] - other["height"])
            # Beside it, on no part of it, and not far.
            assert 0.0 <= max(across, along) < 30.0, (size, key)
            assert one["x"] >= 0 and one["x"] + one["width"] <= size[0]
        accessible(page)
        page.keyboard.press("Tab")
        expect(page.locator("#asked summary")).to_be_focused()
        page.keyboard.press("Enter")
        expect(page.locator("#asked details p").first).to_be_visible()
        page.keyboard.press("Escape")
        expect(box(page, "tubes.fork-leg.place.1")).to_be_focused()
        page.keyboard.press("Escape")
        expect(page.locator("#asked")).to_be_hidden()


@pytest.mark.parametrize("name", sorted(each.stem for each in SAMPLES.glob("*.toml")))
def test_boxes_stand_beside_the_tubes_and_not_on_them(name: str) -> None:
    file = SAMPLES / f"{name}.toml"
    document = tomllib.loads(file.read_text(encoding="utf-8"))
    job = seen(document, file)
    for size in ((640, 560), (1030, 820)):
        view = pictures(job, entries(document), {"side": size, "behind": size})["views"]["side"]
        (x0, y0), scale = view["origin"], view["scale"]
        # Angles about the axle are no measures of a tube, and on a small screen may lie over one.
        for each in (one for one in view["boxes"] if one["key"].startswith("tubes.")):
            x, y = (each["at"][0] - x0) / scale, (y0 - each["at"][1]) / scale
            for tube in tubes_of(job.job).values():
                (tx, ty), (nx, ny) = tube.t0, tube.n0
                s, up = x * tx + y * ty, x * nx + y * ny - tube.offset
                low, high = tube.span
                inside = low < s < high and abs(up) < section(tube, s).height / 2.0
                assert not inside, (each["key"], tube.name, math.hypot(x, y))


# --- words


def test_words_that_findings_use_are_explained_beside_them_out_of_the_book(
    opened: Door, bench: Client
) -> None:
    page = frame(opened, bench, "redshank")
    page.wait_for_selector(".finding")
    found = page.locator("#findings").inner_text()
    words = page.locator("#words")
    assert "run-out" in found
    words.locator("summary").press("Enter")
    expect(words.locator("dt", has_text="run-out")).to_be_visible()
    book = bench.get("/book/words").text
    told = words.locator("dd").all_inner_texts()
    assert told and all(each.split(".")[0] in re.sub(r"<[^>]*>", "", book) for each in told)
    accessible(page)
    named = [each["word"] for each in used(["The fork test's 1000 N; grade D; jaws over both pins; coped"])]
    assert named == ["over", "cope", "grade", "N", "pin"]
    # What only sounds alike is not explained.
    assert used(["write over it; a grade is given; N is a letter"]) == []


# --- readings


def at_the_bench(opened: Door, bench: Client, name: str = "dunlin", point: str = "cold") -> Page:
    page = opened(bench, f"/frame/{name}/heat?point={point}", viewport={"width": 1280, "height": 900})
    page.locator("#reading-name").wait_for()
    return page


def test_a_reading_asked_for_three_times_is_asked_for_until_it_is_taken_so_often(
    opened: Door, bench: Client
) -> None:
    page = at_the_bench(opened, bench)
    several = page.locator("#readings button:not([data-times='1'])").first
    times = int(several.get_attribute("data-times") or 0)
    several.click()
    key = several.get_attribute("data-key") or ""
    taken = {each.key: each for each in survey.bench_of(load(bench.desk.folder / "dunlin.toml")).takeable}
    value = f"{taken[key].reading.nominal:.2f}"
    for number in range(1, times):
        page.locator("#value").focus()
        page.keyboard.press("End")
        page.keyboard.type(value)
        page.keyboard.press("Enter")
        expect(page.locator("#again")).to_contain_text(f"{number} of {times}")
        expect(several.locator(".taken")).to_contain_text(f"({number} of {times})")
        expect(several).to_have_attribute("aria-current", "true")
    accessible(page)
    page.keyboard.type(value)
    page.keyboard.press("Enter")
    expect(several.locator(".taken")).to_have_text("; ".join([value] * times))
    expect(several).not_to_have_attribute("aria-current", "true")
    expect(page.locator("#again")).to_be_empty()
    # Enter alone says that there is no more: it goes on.
    other = page.locator("#readings button:not([data-times='1'])").nth(1)
    other.click()
    page.locator("#value").fill(f"{taken[other.get_attribute('data-key') or ''].reading.nominal:.2f}")
    page.keyboard.press("Enter")
    expect(page.locator("#again")).to_contain_text("1 of")
    page.keyboard.press("Enter")
    expect(other).not_to_have_attribute("aria-current", "true")


def test_a_check_point_shows_its_verdict_and_is_no_green_before_it(
    opened: Door, bench: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    name, url = "curlew", "/frame/curlew/heat"
    one = survey.bench_of(load(bench.desk.folder / f"{name}.toml"))
    first, *others = [each.taken for each in one.asked]
    nominal = f"{first.reading.nominal:.2f}"
    bench.post(f"{url}/read", {"point": "cold", "key": first.key, "value": nominal})
    page = at_the_bench(opened, bench, name)
    chip = page.locator("[aria-current=true] .stands")
    expect(chip).to_have_text("cannot tell")
    assert "go" not in (chip.get_attribute("class") or "").split()
    for each in others:
        value = "; ".join([f"{each.reading.nominal:.2f}"] * 3)
        bench.post(f"{url}/read", {"point": "cold", "key": each.key, "value": value})
    page.locator("#readings button").first.click()
    page.locator("#value").fill("; ".join([nominal] * 3))
    page.keyboard.press("Enter")
    # It follows the verdict at once.
    expect(chip).to_have_text("right")
    assert "go" in (chip.get_attribute("class") or "").split()
    # The page is opened by one survey for the row and the verdict, and by none where nothing has changed.
    done = []
    real = survey.surveyed
    monkeypatch.setattr(heat.survey, "surveyed", lambda *given: done.append(1) or real(*given))
    bench.get(url)
    assert done == []
    heat._known.cache_clear()
    bench.get(url)
    assert len(done) == 1


# --- sheets


def test_the_answer_on_the_bars_is_in_sight_and_each_packet_is_opened_by_its_name(
    opened: Door, bench: Client, delivered: dict[tuple[str, str], Any]
) -> None:
    folder = bench.desk.folder
    drawn = delivered["dunlin", "outboard"].pdf
    shutil.copy(drawn, folder / "dunlin-1.pdf")
    page = opened(bench, "/frame/dunlin/sheets", viewport={"width": 1024, "height": 500})
    expect(page.locator("#made a")).to_have_text("Open dunlin-1.pdf")
    page.locator("#bars [name=across]").fill("150")
    page.locator("#bars [name=down]").fill("150")
    page.locator("#bars [name=down]").evaluate("each => each.scrollIntoView({ block: 'end' })")
    page.locator("#bars [name=down]").press("Enter")
    answer = page.locator("#bars-said strong")
    expect(answer).to_contain_text("GO")
    expect(answer).to_be_in_viewport(ratio=1)
    accessible(page)
    shutil.copy(drawn, folder / "dunlin-1-rev2.pdf")
    page.reload()
    expect(page.locator("#made a")).to_have_text(["Open dunlin-1-rev2.pdf, the newest", "Open dunlin-1.pdf"])
    Path(folder / "dunlin-1-rev2.pdf").unlink()


def test_a_revision_of_an_older_job_does_not_say_that_it_is_older_than_itself() -> None:
    """Made a minute ago, it said that the job was changed since it was drawn: its sheets are older."""
    job = Frame("dunlin", id="dunlin-1", job="b" * 64)
    first, second = (Packet("a.pdf", frame="dunlin-1", revision=each, job="a" * 64) for each in (1, 2))
    assert states(first, job)[0] == "the job was changed since it was drawn"
    assert states(second, job)[0] == "its sheets were drawn before the job was changed"
    same = Packet("a.pdf", frame="dunlin-1", revision=2, job="b" * 64)
    assert states(same, job)[0] == "drawn from the job as it is"

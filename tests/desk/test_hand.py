"""A frame's page stays still under the hand (order, folds, focus, what is typed), and speaks plainly."""

import re
import shutil
import tomllib
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from sheets.desk.answers import groups
from sheets.guide.entries import document_with, entries
from sheets.guide.explain import keys
from sheets.home import folder as home
from tests.desk.conftest import SAMPLES, Client, served

Door = Callable[..., Page]
BLANK = '[frame]\nid = "blank"\n'
SOFTWARE = re.compile(
    r"\b(draft|job file|TOML|token|keys? (?:of|means)|JSON)\b|\[(?:mount|axle|tubes)\b", re.I
)


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Client]:
    """Return a client of one desk for all of these tests, with every sample and a frame without answers."""
    root = tmp_path_factory.mktemp("hand")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(root / "home"))
        shutil.copytree(SAMPLES, root / "frames", ignore=shutil.ignore_patterns("*.p*", "*.json", "*.md"))
        for name in ("blank", "order", "still", "typed", "two", "offered", "lacks"):
            (root / "frames" / f"{name}.toml").write_text(BLANK)
        plain = (SAMPLES / "dunlin.toml").read_text()
        # So far outboard that the tab's plate, 6 thick from the inner face, passes beside the stay.
        (root / "frames" / "joined.toml").write_text(plain)
        (root / "frames" / "astray.toml").write_text(plain.replace("outset = 4.5", "outset = 20"))
        with served(root / "frames") as one:
            yield one


def frame(opened: Door, bench: Client, name: str, **options: Any) -> Page:
    """Return a frame's page with its pictures drawn."""
    page = opened(bench, f"/frame/{name}", **options)
    page.wait_for_selector("#behind svg")
    return page


def field(page: Page, key: str) -> Any:
    return page.locator(f"[data-answer='{key}']")


def placed(document: dict[str, Any]) -> dict[str, bool]:
    """Return every field in the order of the page, with whether it stands among the rare ones."""
    return {
        each.key: each.rare
        for group in groups(entries(document))
        for part in (group.usual, group.rare)
        for each in part
    }


GIVEN = {
    "axle.system": "135-qr", "mount.interface": "post", "mount.rotor": "160", "mount.end": "rear",
    "tubes.seatstay.place.1": "25: 14", "bench.plate": "8", "mount.host": "seatstay", "paper.size": "Letter",
    "tubes.seatstay.outset": "4.5", "mount.tilt": "3", "tubes.seatstay.place.2": "120: 16",
    "load.mass": "110", "dropout.travel": "3", "frame.customer": "somebody",
}  # fmt: skip


def test_no_answer_moves_when_it_or_another_one_is_given() -> None:
    document = tomllib.loads(BLANK)
    steps = [placed(document)]
    for key, answer in GIVEN.items():
        document = document_with(document, key, answer)
        steps.append(placed(document))
    for (before, after), key in zip(pairwise(steps), GIVEN, strict=True):
        # What was answered stays in its part, and nothing passes anything else within a part.
        assert after[key] == before[key], key
        for rare in (True, False):
            both = [each for each in before if before[each] == rare == after.get(each)]
            assert [each for each in after if each in set(both)] == both, key


def test_folds_focus_and_caret_stay_when_other_questions_come_up(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "still")
    page.locator("#t-mount > summary").click()
    page.locator("#t-process > summary").click()
    page.locator("#t-mount .rare > summary").click()
    filler = field(page, "process.filler")
    field(page, "mount.end").select_option("front")
    filler.fill("bronze rod")
    filler.evaluate("each => { each.mark = 1; each.setSelectionRange(3, 6); }")
    # Which tube carries the mount is no question at a fork, and the leg's angle is one.
    expect(page.locator("#t-stance > .answers [data-answer='stance.leg']")).to_have_count(1)
    assert filler.evaluate(
        "each => [document.activeElement === each, each.mark, each.value, each.selectionStart,"
        " each.selectionEnd]"
    ) == [True, 1, "bronze rod", 3, 6]
    for fold in ("#t-frame", "#t-mount", "#t-process", "#t-mount .rare"):
        assert page.locator(fold).evaluate("each => each.open"), fold


def test_what_is_typed_while_an_answer_is_kept_is_not_lost(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "typed")
    held: list[Any] = []
    # A function of a list's own takes no notes, which Playwright would make on it.
    page.route("**/set", lambda route: held.append(route))
    field(page, "frame.name").fill("Knot")
    field(page, "frame.maker").focus()
    page.keyboard.type("Salt")
    expect(field(page, "frame.maker")).to_have_value("Salt")
    [only] = held
    only.continue_()
    expect(page.locator("#state")).to_contain_text("not saved yet")
    page.keyboard.type("marsh")
    expect(field(page, "frame.maker")).to_have_value("Saltmarsh")


def test_a_refused_answer_stays_as_it_was_typed_beside_what_is_wrong_with_it(
    opened: Door, bench: Client
) -> None:
    page = frame(opened, bench, "avocet")
    box = page.locator("[data-measure='dropout.thickness']").first
    box.click()
    page.keyboard.type("seven")
    page.keyboard.press("Tab")
    said = page.locator("#p-dropout-thickness")
    expect(page.locator("#refused")).to_contain_text("seven")
    # Another answer is kept meanwhile, and all fields are filled anew.
    page.locator("#t-frame").evaluate("each => each.open = true")
    field(page, "frame.name").fill("Avocet the second")
    page.keyboard.press("Enter")
    expect(page.locator("#state")).to_contain_text("not saved yet")
    for control in (box, field(page, "dropout.thickness")):
        expect(control).to_have_value("seven")
        expect(control).to_have_attribute("aria-invalid", "true")
        assert "p-dropout-thickness" in (control.get_attribute("aria-describedby") or "")
    expect(said).to_contain_text("seven")
    box.fill("7,5")
    page.keyboard.press("Enter")
    expect(page.locator("#refused")).to_be_empty()
    expect(said).to_be_empty()
    expect(box).to_have_value("7.5")
    assert box.get_attribute("aria-invalid") is None


def test_a_name_with_a_space_is_told_so_and_one_press_takes_a_hyphen(opened: Door, bench: Client) -> None:
    page = opened(bench, "/")
    page.locator("#new-name").fill("sea plover")
    page.locator("#new [type=submit], #new button").first.click()
    problems = page.locator("#new-problems")
    expect(problems).to_contain_text("has a space")
    expect(page.locator("#new-name")).to_have_value("sea plover")
    assert "frame.id" not in problems.inner_text()
    problems.get_by_role("button", name="sea-plover").click()
    page.wait_for_url("**/frame/sea-plover")
    assert (bench.desk.folder / "sea-plover.toml").exists()
    page = frame(opened, bench, "offered")
    field(page, "frame.id").fill("ringed plover")
    page.keyboard.press("Enter")
    expect(page.locator("#p-frame-id")).to_contain_text("has a space")
    page.locator("#p-frame-id .take").click()
    expect(field(page, "frame.id")).to_have_value("ringed-plover")
    expect(page.locator("#refused")).to_be_empty()


def test_two_pages_typed_on_in_turn_end_at_the_same_state_and_both_are_judged(
    browser: Browser, opened: Door, bench: Client
) -> None:
    one, two = (frame(opened, bench, "dunlin") for _ in range(2))
    for i, answer in enumerate(("5.5", "5.25", "5.75", "5")):
        page = (one, two)[i % 2]
        box = page.locator("#behind [data-measure='tubes.seatstay.outset']")
        box.click()
        box.fill(answer)
        # Two answers that are under way at once are kept as they arrive, in whichever order that is.
        with page.expect_response("**/set"):
            page.keyboard.press("Enter")
    for page in (one, two):
        expect(page.locator("#behind [data-measure='tubes.seatstay.outset']")).to_have_value("5")
        expect(page.locator("#state")).to_contain_text("not saved yet")
        expect(page.locator("#findings")).not_to_have_attribute("aria-busy", "true")
        expect(page.locator(".finding").first).to_be_visible()
        expect(page.locator("#conflict")).to_be_hidden()


def test_a_page_shows_what_another_one_changed(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "two")
    digest = bench.post("/frame/two/see", {}).json["digest"]
    bench.post("/frame/two/set", {"key": "frame.name", "answer": "Two", "digest": digest})
    expect(field(page, "frame.name")).to_have_value("Two")


@pytest.mark.parametrize("name", ["blank", "turnstone", "redshank", "greenshank"])
def test_no_key_and_no_word_of_software_stands_on_a_frames_page(bench: Client, name: str) -> None:
    text = bench.get(f"/frame/{name}").text
    shown = re.sub(r'<p class="quiet in-file">.*?</p>|<details id="whole".*', "", text, flags=re.S)
    words = re.sub(r"<[^>]*>", " ", shown)
    said = bench.post(f"/frame/{name}/judge", {"what": "found"}).json
    told = [f"{each['text']} {each['remedy']}" for each in said.get("findings", [])]
    told += [said.get("answer", ""), *(each["label"] for each in said.get("problems", []) if "label" in each)]
    lacking = bench.post(f"/frame/{name}/see", {"screens": {}}).json["problems"]
    told += [f"{each['label']} {each['text']}" for each in lacking]
    known = [key for key in keys() if "." in key]
    for each in (words, *told):
        assert [key for key in known if re.search(rf"\b{re.escape(key)}\b", each)] == []
        assert SOFTWARE.search(each) is None, SOFTWARE.search(each)


def test_the_keys_stand_there_while_the_text_is_edited(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "blank")
    beside = page.locator("#t-frame .in-file").first
    expect(beside).to_be_hidden()
    page.locator("#whole > summary").click()
    expect(beside).to_have_text("In the file: frame.id")


def test_grades_are_explained_where_they_are_told(opened: Door, bench: Client) -> None:
    page = frame(opened, bench, "dunlin")
    expect(page.locator(".finding", has_text="Grade C")).to_have_count(1)
    expect(page.locator("#grades")).to_contain_text("C one")
    page.locator("#grades a").click()
    expect(page.locator("h1")).to_have_text("What a grade is")


OVER = """() => {
  const found = [];
  for (const stage of document.querySelectorAll(".stage")) {
    const every = [...stage.querySelectorAll(".box, .handle, svg text")];
    const boxes = every.map((each) => [each, each.getBoundingClientRect()]);
    boxes.forEach(([one, a], i) => boxes.slice(i + 1).forEach(([other, b]) => {
      if (one.matches(".handle") && other.matches(".handle")) return;
      if (a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom)
        found.push(`${one.dataset.key ?? one.textContent} on ${other.dataset.key ?? other.textContent}`);
    }));
  }
  return found;
}"""


@pytest.mark.parametrize("name", ["dunlin", "godwit", "curlew", "blank"])
def test_no_label_lies_on_another_as_the_browser_lays_them_out(
    opened: Door, bench: Client, name: str
) -> None:
    page = frame(opened, bench, name, viewport={"width": 1024, "height": 800})
    # As 1920 is at 100 and 200 %, a laptop, a tablet held upright, and a telephone.
    for width in (1920, 1280, 960, 768, 360):
        page.set_viewport_size({"width": width, "height": 800})
        page.wait_for_function(
            "() => Math.abs(document.querySelector('#side svg').getBoundingClientRect().width"
            " - document.querySelector('#side .stage').clientWidth) < 3"
        )
        assert page.evaluate(OVER) == [], width


def test_what_joins_a_tab_is_told_or_asked_for(opened: Door, bench: Client) -> None:
    told = bench.post("/frame/joined/judge", {"what": "found"}).json
    assert [each for each in told["findings"] if "carrie" in each["code"]] == []
    # The hole line lies 35.25 over the stay's line (the tab's row), and the stay's half is 7 at its thin end
    # and 7.5 to 8 at the tab's far end; 4.5 beside its middle it is sqrt(7^2 - 4.5^2) = 5.4: 27.5 to 29.9.
    [said] = told["joined"]
    low, high = (float(each) for each in re.findall(r"\d+\.\d", said))
    assert 27.2 < low < 28.3 and 29.5 < high < 30.2 and "seatstay" in said
    page = frame(opened, bench, "astray")
    asks = page.locator(".finding.level-unknown", has_text="What joins the tab")
    asks.focus()
    expect(page.locator(".answer.lit [data-answer='mount.carrier']")).to_have_count(1)
    asks.locator(".jump").press("Enter")
    expect(field(page, "mount.carrier")).to_be_focused()
    page.keyboard.type("a gusset of 4 mm plate")
    page.keyboard.press("Enter")
    expect(page.locator(".finding", has_text="a gusset of 4 mm plate joins it")).to_have_count(1)
    expect(asks).to_have_count(0)


def test_a_tab_is_drawn_down_to_its_tube(bench: Client) -> None:
    view = bench.post("/frame/dunlin/see", {"screens": {"side": [900, 820]}}).json["views"]["side"]
    [mount] = re.findall(r'<g[^>]*data-what="mount".*?</g>', view["svg"], re.S)
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", re.findall(r' d="([^"]*)"', mount)[0])
    x0, y0 = view["origin"]
    across = [
        # Square to a stay that stands 62 degrees over a level chainstay, + behind it.
        ((float(x) - x0) * 0.8829 + (y0 - float(y)) * 0.4695) / view["scale"]
        for x, y in pairs
    ]
    # From where the stay's side is, 7 to 8 from its line, to the eyes' tops over the hole line at 35.25.
    assert 6.9 < min(across) < 8.1 and max(across) > 40.0


def test_an_axle_of_another_kind_can_be_chosen_once_one_is_given(bench: Client) -> None:
    document = document_with(tomllib.loads(BLANK), "axle.system", "135-qr")
    [axle] = [
        each for group in groups(entries(document)) for each in group.usual if each.key == "axle.system"
    ]
    assert {"135-qr", "142x12", "100-qr"} <= {value for value, _ in axle.choices}
    state = bench.post("/frame/dunlin/see", {"key": "axle.system", "answer": "142x12"}).json
    assert state["values"]["axle.system"] == "142x12"


def test_what_is_needed_first_is_named_also_where_its_field_only_now_comes_up(
    opened: Door, bench: Client
) -> None:
    """A front mount needs its fork leg, whose fields come with the end: "Needed first:" stood there alone."""
    page = frame(opened, bench, "lacks")
    needed = page.locator("#lacking .wanted")
    expect(needed.locator("button").first).to_be_visible()
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    field(page, "mount.end").select_option("front")
    expect(field(page, "tubes.fork-leg.wall").or_(field(page, "mount.host")).first).to_be_attached()
    # Each is a way to its field once that has come up, and none is nothing at all.
    expect(needed).to_have_text(re.compile(r"Needed first: \S+"))
    expect(needed.locator("button").first).to_be_visible()

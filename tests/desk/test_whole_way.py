"""The whole way at the desk, from an empty folder to a verdict: by the keyboard alone, and by the mouse.

For a tab and for a flat mount. The packet made on the way is byte for byte the command's of the same job.
"""

import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sheets.actions import survey
from sheets.home import folder as home
from sheets.home.jobs import load
from tests.desk.conftest import Client, served
from tests.pages.conftest import draw

MOUNTS: dict[str, dict[str, str]] = {
    # What is chosen is given by how its words begin, what is measured as it is typed into its box.
    "wigeon": {
        "mount.end": "the frame",
        "mount.interface": "51",
        "mount.host": "seat",
        "mount.rotor": "160",
        "axle.system": "135",
        "axle.dummy": "3/4 in",
        "dropout.thickness": "7",
        "tubes.seatstay.place.1": "28: 14",
        "tubes.seatstay.included": "62",
        "tubes.seatstay.outset": "4,5",
        "tubes.seatstay.splay": "2.5",
        "tubes.chainstay.place.1": "30: 14",
        "tubes.chainstay.outset": "5",
        "tubes.chainstay.splay": "3.5",
        "boss.thickness": "6",
    },
    "pintail": {
        "mount.end": "the frame",
        "mount.interface": "flat",
        "mount.native": "160",
        "mount.host": "chain",
        "mount.rotor": "160",
        "axle.system": "142",
        "axle.dummy": "20",
        "dropout.thickness": "7",
        "tubes.chainstay.place.1": "30: 22.2",
        "tubes.chainstay.outset": "1",
        "tubes.chainstay.splay": "0",
        "boss.length": "35",
    },
}
"""Invented, and near the samples of the same kind of mount."""
CHOSEN = ("mount.end", "mount.interface", "mount.native", "mount.host", "mount.rotor", "axle.system")


class Keyboard:
    """Goes with Tab, types, and presses Enter, Space and arrows; nothing else touches the page."""

    def __init__(self, page: Page) -> None:
        """Work on a page."""
        self.page = page

    def to(self, wanted: str) -> None:
        """Go to what is wanted by as many Tabs as it takes, back where it stands before."""
        for _ in range(400):
            # An answer may be drawn anew, or go and come again, while the page takes up the answer before it.
            self.page.wait_for_selector(wanted, state="attached")
            way = self.page.evaluate(WAY, wanted)
            if way == "here":
                return
            if way != "gone":
                self.page.keyboard.press(way)
        pytest.fail(f"no Tab leads to {wanted}")

    def press(self, wanted: str) -> None:
        """Press a button, follow a link, or open a fold."""
        self.to(wanted)
        self.page.keyboard.press("Enter")

    def type(self, wanted: str, text: str) -> None:
        """Type into a field in place of what stands there, and be done with it."""
        self.to(wanted)
        self.page.keyboard.press("ControlOrMeta+a")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Enter")

    def choose(self, wanted: str, beginning: str) -> None:
        """Choose by typing how the words begin."""
        self.to(wanted)
        self.page.keyboard.type(beginning)

    def turn(self, wanted: str, steps: int) -> None:
        """Turn a handle by steps."""
        self.to(wanted)
        for _ in range(abs(steps)):
            self.page.keyboard.press("ArrowUp" if steps > 0 else "ArrowDown")
        self.page.keyboard.press("Tab")


WAY = """wanted => {
  const here = document.activeElement;
  if (here?.matches(wanted)) return "here";
  const there = document.querySelector(wanted);
  if (!there) return "gone";
  const before = here && here !== document.body && here.compareDocumentPosition(there) & 2;
  return before ? "Shift+Tab" : "Tab";
}"""


class Mouse:
    """Clicks and drags, and types where something is to be typed."""

    def __init__(self, page: Page) -> None:
        """Work on a page."""
        self.page = page

    def press(self, wanted: str) -> None:
        """Click a button, a link or a fold."""
        self.page.locator(wanted).first.click()

    def type(self, wanted: str, text: str) -> None:
        """Click into a field, type in place of what stands there, and click beside it."""
        self.page.locator(wanted).first.click(click_count=3)
        self.page.keyboard.type(text)
        self.page.locator("h1").first.click()

    def choose(self, wanted: str, beginning: str) -> None:
        """Choose an entry of a list by how its words begin."""
        field = self.page.locator(wanted)
        # Whoever opens a list stands on it, so that it is not made anew under the hand.
        field.focus()
        words = next(each for each in field.locator("option").all_inner_texts() if each.startswith(beginning))
        field.select_option(label=words)

    def turn(self, wanted: str, steps: int) -> None:
        """Drag a handle by so many steps, roughly: a screen has no exact places."""
        handle = self.page.locator(wanted)
        handle.scroll_into_view_if_needed()
        box = handle.bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2.0, box["y"] + box["height"] / 2.0
        self.page.mouse.move(x, y)
        self.page.mouse.down()
        self.page.mouse.move(x, y - 2.0 * steps, steps=3)
        self.page.mouse.up()


@pytest.fixture(scope="module")
def root(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Return a folder for these tests, with a builder's home of its own."""
    place = tmp_path_factory.mktemp("way")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(place / "home"))
        yield place


@pytest.fixture(scope="module")
def empty(root: Path) -> Iterator[Client]:
    """Return a client of one desk for all of these tests, whose folder is empty at first."""
    with served(root / "frames") as one:
        yield one


@pytest.mark.parametrize("name", list(MOUNTS))
@pytest.mark.parametrize("hand", [Keyboard, Mouse], ids=["keyboard", "mouse"])
def test_from_an_empty_folder_to_a_verdict(
    hand: Callable[[Page], Any], name: str, empty: Client, opened: Callable[..., Page], root: Path
) -> None:
    for each in empty.desk.folder.iterdir():
        each.unlink()
    page = opened(empty, viewport={"width": 1280, "height": 900})
    hand_ = hand(page)
    hand_.type("#new-name", name)
    if hand is Mouse:
        hand_.press("#new button")
    page.wait_for_url(f"**/frame/{name}")
    page.wait_for_selector("#behind svg")
    _answered(page, hand_, MOUNTS[name])
    hand_.press("#write")
    expect(page.locator("#state")).to_have_text("Saved.")
    hand_.press(".do a[href$='/sheets']")
    page.wait_for_url("**/sheets")
    hand_.press("#make [type=submit]")
    page.wait_for_selector("#made ul", timeout=120_000)
    _same_as_the_command(empty.desk.folder / f"{name}.toml", root / f"{hand.__name__}-{name}")
    hand_.type("#bars [name=across]", "150")
    hand_.type("#bars [name=down]", "150.1")
    if hand is Mouse:
        hand_.press("#bars [type=submit]")
    expect(page.locator("#bars-said strong")).to_contain_text("GO")
    hand_.press(".ways a[href$='/heat']")
    page.wait_for_url("**/heat")
    _read(page, hand_, empty.desk.folder / f"{name}.toml")
    expect(page.locator("#verdict .verdict")).to_have_text("right")


def _answered(page: Page, hand: Any, answers: dict[str, str]) -> None:
    """Answer what is needed first by the list, and the rest on the pictures."""
    hand.press("#lacking .jump")
    expect(page.locator("[data-answer='mount.end']")).to_be_focused()
    for key in CHOSEN:
        if key not in answers:
            continue
        field = f"[data-answer='{key}']"
        fold = f"#t-{key.partition('.')[0]}"
        if not page.locator(fold).evaluate("each => each.open"):
            hand.press(f"{fold} > summary")
        page.wait_for_selector(f"{fold} > .answers {field}")
        hand.choose(field, answers[key])
        expect(page.locator(f"{field} option:checked")).to_have_text(re.compile(f"^{answers[key]}"))
    for key, answer in answers.items():
        if key not in CHOSEN:
            hand.type(f"[data-measure='{key}']", answer)
            expect(page.locator(f"[data-measure='{key}']").first).to_have_value(answer.replace(",", "."))
    if answers["mount.interface"] == "flat":
        hand.turn(".handle.turn", -4)
        expect(page.locator("[data-measure='mount.tilt']").first).to_have_value(re.compile(r"^-?[\d.]*[1-9]"))
    expect(page.locator("#lacking")).to_be_empty()
    expect(page.locator("#refused")).to_be_empty()


def _same_as_the_command(job: Path, out: Path) -> None:
    """Fail where a packet at the desk is not the command's of the same job, byte for byte."""
    out.mkdir()
    made = {each.name: each.read_bytes() for each in job.parent.glob("*.pdf")}
    drawn = draw(Path(shutil.copy(job, out)), out / "drawn")
    assert made == {drawn.pdf.name: drawn.pdf.read_bytes()}


def _read(page: Page, hand: Any, job: Path) -> None:
    """Type a mount that is as it was drawn: every reading as it should be, as often as it is asked for."""
    bench = survey.bench_of(load(job))
    wanted = {each.key: each.reading.nominal for each in bench.takeable}
    asked = page.locator("#readings li:not(.more) button")
    for number in range(asked.count()):
        key = asked.nth(number).get_attribute("data-key") or ""
        # Each is asked for as often as the page says, and it stays with one until it is taken so often.
        times = int(asked.nth(number).get_attribute("data-times") or 1)
        hand.type("#value", "; ".join([f"{wanted[key]:.2f}"] * times))
        if isinstance(hand, Mouse):
            hand.press("#read [type=submit]")
        expect(page.locator(f"#readings [data-key='{key}'] .taken")).not_to_be_empty()

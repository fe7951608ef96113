"""One frame's page in a browser: by keyboard, by mouse, a drag that meets a tube, undo, two versions."""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from playwright.sync_api import Page, expect

from tests.desk.conftest import Client, accessible

OUTSET = "#behind [data-measure='tubes.seatstay.outset']"
Door = Callable[..., Page]


def frame(opened: Door, desk: Client, **options: Any) -> Page:
    """Return the frame's page with its picture drawn."""
    page = opened(desk, "/frame/dunlin", **options)
    page.wait_for_selector("#behind svg")
    return page


def saved(page: Page, words: str) -> None:
    """Wait until the page says how its file stands."""
    expect(page.locator("#state")).to_contain_text(words)


def test_by_keyboard_alone_a_measure_is_typed_taken_back_and_written(
    opened: Door, desk: Client, folder: Path
) -> None:
    page = frame(opened, desk)
    file = folder / "dunlin.toml"
    before = page.locator("#behind svg").inner_html()
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.dataset.measure") == "tubes.seatstay.outset":
            break
    # What is reached is lit up on the picture, and asked in words below it.
    expect(page.locator("g.measure.lit[data-key='tubes.seatstay.outset']")).to_have_count(1)
    expect(page.locator("#asked")).to_contain_text("how far outboard")
    page.keyboard.type("1/4 in")
    expect(page.locator("#echo")).to_contain_text("6.35 mm")
    page.wait_for_function("before => document.querySelector('#behind svg').innerHTML !== before", arg=before)
    assert not (folder / "dunlin.changes").exists()
    page.keyboard.press("Enter")
    saved(page, "Changed")
    assert "1/4 in" in (folder / "dunlin.changes").read_text()
    page.keyboard.press("Control+z")
    saved(page, "Saved.")
    expect(page.locator(OUTSET)).to_have_value("4.5")
    page.keyboard.press("Control+y")
    saved(page, "Changed")
    page.locator("#write").focus()
    page.keyboard.press("Enter")
    saved(page, "Saved.")
    assert 'outset = "1/4 in"' in file.read_text() and "# middle of the tube" in file.read_text()


def test_by_mouse_a_wrong_answer_is_told_and_nothing_of_it_is_kept(
    opened: Door, desk: Client, folder: Path
) -> None:
    page = frame(opened, desk)
    page.locator(OUTSET).click()
    page.keyboard.type("wide")
    page.keyboard.press("Enter")
    expect(page.locator(OUTSET)).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#echo")).to_contain_text("wide")
    page.locator(OUTSET).fill("5,5")
    page.locator("h1").click()
    saved(page, "Changed")
    expect(page.locator(OUTSET)).to_have_value("5.5")
    page.locator("#undo").click()
    expect(page.locator(OUTSET)).to_have_value("4.5")


def test_a_turn_that_meets_a_tube_names_it_and_shows_where(opened: Door, desk: Client, folder: Path) -> None:
    page = frame(opened, desk, viewport={"width": 1400, "height": 1000})
    page.wait_for_selector(".finding")
    handle = page.locator(".handle.turn")
    box, axle = handle.bounding_box(), page.evaluate(
        "(() => { const c = document.querySelector('#side [data-what=disc] circle').getBoundingClientRect();"
        " return [c.x + c.width / 2, c.y + c.height / 2]; })()"
    )  # fmt: skip
    assert box is not None
    x, y = box["x"] + 12.0, box["y"] + 12.0
    page.mouse.move(x, y)
    page.mouse.down()
    # Turned about the axle by 40 degrees on the screen, towards the chainstay.
    across, up = x - axle[0], axle[1] - y
    page.mouse.move(axle[0] + 0.766 * across - 0.643 * up, axle[1] - 0.643 * across - 0.766 * up, steps=6)
    expect(page.locator("#drag")).to_contain_text("seatstay", timeout=20000)
    expect(page.locator("#side .mark-near")).to_have_count(2)
    page.mouse.up()
    saved(page, "Changed")
    assert "mount.tilt" in (folder / "dunlin.changes").read_text()


def test_a_tilt_is_stepped_with_the_keyboard(opened: Door, desk: Client) -> None:
    page = frame(opened, desk)
    handle = page.locator(".handle.turn")
    handle.focus()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("ArrowUp")
    expect(page.locator("[data-measure='mount.tilt'], [data-answer='mount.tilt']").first).to_have_value("1")
    expect(handle).to_have_attribute("aria-valuenow", "1.0")
    expect(page.locator("#drag")).to_contain_text("Clear", timeout=20000)


def test_two_versions_are_shown_and_the_builder_chooses(opened: Door, desk: Client, folder: Path) -> None:
    page, file = frame(opened, desk), folder / "dunlin.toml"
    page.locator(OUTSET).fill("5.5")
    page.keyboard.press("Enter")
    saved(page, "Changed")
    file.write_text(file.read_text().replace("thickness = 7 ", "thickness = 8 "))
    page.locator("#write").click()
    expect(page.locator("#conflict")).to_be_visible()
    expect(page.locator("#text-theirs")).to_contain_text("thickness = 8")
    expect(page.locator("#text-mine")).to_contain_text("outset = 5.5")
    assert "outset = 5.5" not in file.read_text()
    accessible(page)
    page.locator("#mine").click()
    expect(page.locator("#conflict")).to_be_hidden()
    page.locator("#write").click()
    saved(page, "Saved.")
    assert "outset = 5.5" in file.read_text() and "thickness = 8" in file.read_text()


def test_a_finding_lights_up_what_it_is_about_and_a_cure_is_taken(
    opened: Door, desk: Client, folder: Path
) -> None:
    file = folder / "dunlin.toml"
    file.write_text(file.read_text().replace('splay = "3.5 deg"', "splay = 9"))
    page = frame(opened, desk)
    stop = page.locator(".finding.level-stop")
    stop.focus(timeout=20000)
    expect(page.locator("#side .part.lit[data-what='chainstay']")).to_have_count(1)
    expect(page.locator("#behind .part.lit[data-what='disc']")).to_have_count(1)
    cure = stop.locator(".cure", has_text="outset")
    cure.click(timeout=30000)
    saved(page, "Changed")
    expect(page.locator(".finding.level-stop")).to_have_count(0, timeout=20000)


def test_the_page_is_accessible_and_no_wider_than_its_window(opened: Door, desk: Client) -> None:
    page = frame(opened, desk)
    page.wait_for_selector(".finding")
    for width, scheme in ((360, "light"), (1024, "dark"), (1920, "light")):
        page.set_viewport_size({"width": width, "height": 900})
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_a_text_is_edited_with_the_schema_beside_it(opened: Door, desk: Client, folder: Path) -> None:
    page = frame(opened, desk)
    page.locator("#whole summary").click()
    text = page.locator("#text")
    text.fill(text.input_value().replace("rotor = 160", "rotor = 180"))
    text.evaluate("each => { const at = each.value.indexOf('rotor ='); each.setSelectionRange(at, at); }")
    text.press("ArrowRight")
    expect(page.locator("#text-key")).to_contain_text("diameter of the disc fitted")
    page.locator("#keep").click()
    saved(page, "Changed")
    expect(page.locator("#side [data-measure='mount.rotor']")).to_have_value("180")
    page.locator("#undo").click()
    saved(page, "Saved.")


def test_a_text_that_is_not_kept_outlives_answers_writing_and_another_page(
    opened: Door, desk: Client, folder: Path
) -> None:
    page, file = frame(opened, desk), folder / "dunlin.toml"
    page.locator("#whole summary").click()
    text = page.locator("#text")
    text.fill(text.input_value().replace("# A clean model", "# My own model"))
    page.locator(OUTSET).fill("5.5")
    page.keyboard.press("Enter")
    saved(page, "Changed")
    expect(text).to_have_value(re.compile(r"# My own model[\s\S]*outset = 5.5"))
    text.fill(text.input_value().replace("# My own model", "# My other model"))
    page.locator("#write").click()
    saved(page, "Saved.")
    assert "# My other model" in file.read_text() and "outset = 5.5" in file.read_text()
    text.fill(text.input_value().replace("# My other model", "# My third model"))
    state = desk.post("/frame/dunlin/see", {}).json
    desk.post("/frame/dunlin/set", {"key": "mount.tilt", "answer": "3", "digest": state["digest"]})
    page.locator("#keep").click()
    expect(page.locator("#conflict-title")).to_contain_text("Another page changed")
    expect(page.locator("#text-mine")).to_contain_text("# My third model")
    expect(text).to_have_value(re.compile("# My third model"))
    page.locator("#mine").click()
    expect(page.locator("#conflict")).to_be_hidden()
    assert "# My third model" in (folder / "dunlin.edited").read_text()

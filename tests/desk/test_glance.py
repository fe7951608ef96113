"""Forty frames at a glance: counted by how they stand, and found by whatever is said of them."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from sheets.filing.revise import file_survey
from sheets.home import folder as home
from tests.desk.conftest import SAMPLES, Client, accessible, served
from tests.desk.test_frames import put, until
from tests.pages.conftest import delivered as delivered


@pytest.fixture(scope="module")
def forty(tmp_path_factory: pytest.TempPathFactory, delivered: Any) -> Iterator[Client]:
    """Return a desk on forty frames of every kind, one with packets; nothing here changes them."""
    base = tmp_path_factory.mktemp("forty")
    place = base / "f"
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(base / "home"))
        for number in range(37):
            name = ("turnstone", "lapwing", "curlew")[number % 3]
            text = (SAMPLES / f"{name}.toml").read_text(encoding="utf-8")
            old = next(line for line in text.splitlines() if line.startswith("id = "))
            put(place, name, (old, f'id = "knot-{number}"'), to=f"knot-{number}")
        # A disc that the mount cannot carry, and one that cannot be read.
        put(place, "greenshank", ("outset = 2.6 ", "outset = -9 "), ("greenshank-1", "ruff-1"), to="ruff-1")
        (place / "ruff-2.toml").write_text("[frame]\n", encoding="utf-8")
        drawn = delivered["dunlin", "outboard"]
        shutil.copy(next(drawn.pdf.parents[1].glob("*.toml")), place)
        packet = Path(shutil.copy(drawn.pdf, place))
        file_survey(packet, {"state": "finished", "verdict": "right"}, [])
        with served(place) as client:
            assert client.post("/frame/dunlin/sheets/bars", {"across": "150", "down": "150"}).json["noted"]
            until(lambda: 'data-busy="false"' in client.get("/frames/list").text)
            yield client


def test_forty_frames_are_counted_and_each_count_lists_its_own(
    forty: Client, opened: Callable[..., Page]
) -> None:
    page = opened(forty, viewport={"width": 1024, "height": 900})
    rows, counts = page.locator(".frame:visible"), page.locator(".counts button")
    expect(rows).to_have_count(40)
    told = {each.get_attribute("data-is"): each.inner_text() for each in counts.all()}
    # By hand: 37 sound samples and dunlin, one that meets its disc, one that cannot be read.
    numbers = {name: int(text.split()[-1]) for name, text in told.items()}
    assert (numbers["stop"], numbers["wrong"], numbers["no-packet"]) == (1, 1, 39)
    assert (numbers["drawn"], numbers["proven"], numbers["surveyed"]) == (1, 1, 1)
    stands = ("stop", "wrong", "warn", "unknown", "confirm", "good")
    assert sum(numbers.get(each, 0) for each in stands) == 40
    for name, number in numbers.items():
        button = page.locator(f".counts [data-is='{name}']")
        button.click()
        expect(rows).to_have_count(number)
        expect(button).to_have_attribute("aria-pressed", "true")
        button.click()
    expect(rows).to_have_count(40)
    accessible(page)


@pytest.mark.parametrize(
    ("sought", "count"),
    [
        ("front", 24),  # lapwing and curlew, 12 each of 37
        ("front flat", 12),
        ("51 mm tab", 13),
        ('"disc 160"', 26),
        ("ruff-1 stop", 1),
        ("turnstone unknown", 13),
        ('"revision 2"', 1),
        ('"bars proven"', 1),
        ("surveyed right", 1),
        ("dunlin-1-rev2.pdf", 1),
        ("cycle works", 39),
        ("knot-36", 1),
        ("nothing of this kind", 0),
    ],
)
def test_any_of_forty_frames_is_found_by_whatever_is_said_of_it(
    forty: Client, found_in: Page, sought: str, count: int
) -> None:
    found_in.fill("#search", sought)
    expect(found_in.locator(".frame:visible")).to_have_count(count)


@pytest.fixture(scope="module")
def found_in(forty: Client, browser: Browser) -> Iterator[Page]:
    """Return that desk's page of frames, opened once for all that is sought."""
    context = browser.new_context(viewport={"width": 1024, "height": 900})
    page = context.new_page()
    page.goto(forty.desk.address)
    yield page
    context.close()

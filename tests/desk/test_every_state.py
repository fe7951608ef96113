"""Every page in the states that an answer brings, as axe-core judges it, contrast too, in light and dark."""

import shutil
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sheets.actions import survey
from sheets.home import folder as home
from sheets.home.jobs import load
from tests.desk.conftest import SAMPLES, Client, accessible, served

Door = Callable[..., Page]
State = Callable[[Page, Client], None]


@pytest.fixture(scope="module")
def bench(
    tmp_path_factory: pytest.TempPathFactory, delivered: dict[tuple[str, str], Any]
) -> Iterator[Client]:
    """Return a client of one desk for all of these tests: frames, a packet with its revision, readings."""
    root = tmp_path_factory.mktemp("states")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv(home.HOME, str(root / "home"))
        place = root / "frames"
        place.mkdir()
        for name in ("dunlin", "curlew", "redshank", "turnstone"):
            shutil.copy(SAMPLES / f"{name}.toml", place)
        shutil.copy(SAMPLES / "readings" / "flat-rear.toml", place / "readings.toml")
        (place / "blank.toml").write_text('[frame]\nid = "blank"\n')
        shutil.copy(delivered["dunlin", "outboard"].pdf, place / "dunlin-1.pdf")
        (place / "broken.toml").write_text("[frame\n")
        (place / "other.pdf").write_bytes(b"no PDF at all")
        with served(place) as one:
            yield one


def refused(page: Page, desk: Client) -> None:
    """Type what is refused, into a box and into a field."""
    page.wait_for_selector("#behind svg")
    box = page.locator("[data-measure='dropout.thickness']").first
    box.fill("seven")
    box.press("Enter")
    expect(page.locator("#refused")).to_contain_text("seven")
    expect(page.locator("#asked")).to_be_visible()


def lit(page: Page, desk: Client) -> None:
    """Stand on a finding, with its words and its answers open."""
    page.wait_for_selector(".finding")
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    page.locator(".finding").first.focus()


def conflict(page: Page, desk: Client) -> None:
    """Change the file while an answer is given."""
    page.wait_for_selector("#behind svg")
    file = desk.desk.folder / "turnstone.toml"
    file.write_text(file.read_text(encoding="utf-8") + "\n# changed elsewhere\n", encoding="utf-8")
    box = page.locator("[data-measure='dropout.thickness']").first
    box.fill("7.5")
    box.press("Enter")
    expect(page.locator("#conflict")).to_be_visible()


def batch(page: Page, desk: Client) -> None:
    """Ask for the packets of nothing: what is wrong is told."""
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
    page.get_by_role("button", name="Draw the packets of those ticked").click()
    expect(page.locator("main .problem").filter(has_text="Tick").first).to_be_visible()


def no_name(page: Page, desk: Client) -> None:
    """Begin a frame with a name that is refused."""
    page.locator("#new-name").fill("sea plover")
    page.locator("#new button").first.click()
    expect(page.locator("#new-problems")).to_contain_text("space")


def bars(*read: str) -> State:
    """Return what types the ruler's readings on both bars."""

    def typed(page: Page, desk: Client) -> None:
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        for key, value in zip(("across", "down"), read, strict=True):
            page.locator(f"#bars [name={key}]").fill(value)
        page.locator("#bars [type=submit]").click()
        expect(page.locator("#bars-said strong, #bars .problem").first).to_be_visible()

    return typed


def reading(*parts: str) -> State:
    """Return what types the first reading: a wrong one, one of several, or all there are."""

    def typed(page: Page, desk: Client) -> None:
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        bench = survey.bench_of(load(desk.desk.folder / "dunlin.toml"))
        nominal = {each.key: f"{each.reading.nominal:.2f}" for each in bench.takeable}
        asked = page.locator("#readings li:not(.more) button")
        for number in range(asked.count() if parts == ("all",) else 1):
            each = asked.nth(number)
            each.click()
            times = int(each.get_attribute("data-times") or 1)
            value = nominal[each.get_attribute("data-key") or ""]
            said = {"all": "; ".join([value] * times), "one": value}.get(parts[0], parts[0])
            page.locator("#value").fill(said)
            page.keyboard.press("Enter")
            wanted = "#wrong" if parts[0] not in ("all", "one") else "#verdict .verdict"
            expect(page.locator(wanted)).not_to_be_empty()

    return typed


def pressed(wanted: str, shown: str) -> State:
    """Return what presses a button and waits for what it shows."""

    def done(page: Page, desk: Client) -> None:
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        # What the browser itself would hold back is refused by the desk.
        page.evaluate("document.querySelectorAll('form').forEach((each) => { each.noValidate = true; })")
        page.locator(wanted).first.click()
        expect(page.locator(shown).first).not_to_be_empty()

    return done


def as_it_is(page: Page, desk: Client) -> None:
    """Open all that can be opened."""
    page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")


STATES: dict[str, tuple[str, State]] = {
    "an answer refused": ("/frame/dunlin", refused),
    "a finding lit up": ("/frame/redshank", lit),
    "nothing given yet": ("/frame/blank", lambda page, desk: page.wait_for_selector("#lacking .jump")),
    "two versions": ("/frame/turnstone", conflict),
    "a frame that cannot be read": ("/frame/broken", as_it_is),
    "nothing ticked": ("/", batch),
    "a name refused": ("/", no_name),
    "bars that go": ("/frame/dunlin/sheets", bars("150", "150")),
    "bars to correct": ("/frame/dunlin/sheets", bars("151", "151")),
    "bars that stop": ("/frame/dunlin/sheets", bars("141", "141")),
    "bars refused": ("/frame/dunlin/sheets", bars("six", "6")),
    "sheets with a stop": ("/frame/redshank/sheets", as_it_is),
    "a reading refused": ("/frame/dunlin/heat?point=cold", reading("wide")),
    "one reading of several": ("/frame/curlew/heat?point=cold", as_it_is),
    "a verdict that cannot tell": ("/frame/dunlin/heat?point=aligned", reading("one")),
    "a verdict": ("/frame/dunlin/heat?point=cold", reading("all")),
    "a traveller": ("/frame/dunlin/traveller", as_it_is),
    "what a mount comes to": ("/learn", pressed("main form [type=submit]", "main .problem, #found > *")),
    "a printer refused": ("/printers", pressed("main form [type=submit]", "main .problem")),
    "reports, none ticked": ("/reports", as_it_is),
    "an operation refused": ("/operations", pressed("main form [type=submit]", "main .problem")),
    "a packet": ("/packets/dunlin-1.pdf", as_it_is),
    "no packet": ("/packets/other.pdf", as_it_is),
    "packets": ("/packets", as_it_is),
    "no such page": ("/nowhere", as_it_is),
}
"""The page of each state, and what brings it about."""


@pytest.mark.parametrize("name", STATES)
def test_a_state_is_read_by_who_cannot_see_and_nothing_runs_off(
    bench: Client, opened: Door, name: str
) -> None:
    path, brings = STATES[name]
    page = opened(bench, path, viewport={"width": 1024, "height": 800})
    brings(page, bench)
    for width, scheme in ((1024, "light"), (360, "dark")):
        page.set_viewport_size({"width": width, "height": 800})
        page.emulate_media(color_scheme=scheme)
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0, width
        accessible(page)

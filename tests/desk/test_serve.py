"""The command and its end, and what holds on every page: faults, widths, colours, the wheel's own files."""

import colorsys
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import Page, expect

from sheets.cli import dropleaf, main
from sheets.desk import frames
from sheets.desk.serve import bound
from sheets.desk.shown import HERE, STATIC
from tests.commands.conftest import Run
from tests.commands.conftest import run as run
from tests.commands.terminal import CTRL_C, typed
from tests.desk.conftest import Client, accessible, served
from tests.desk.test_frames import put, until

ROOT = Path(__file__).parents[2]


def test_ctrl_c_ends_it_without_a_fault_while_frames_are_judged(tmp_path: Path) -> None:
    put(tmp_path / "f", "dunlin")
    ran = typed(["desk", "f", "--no-browser"], lambda shown: CTRL_C, "?token=", tmp_path)
    assert ran.status == 0
    assert re.search(r"http://127\.0\.0\.1:\d+/\?token=[\w-]{40,}", ran.shown)
    assert "The desk is closed." in ran.shown and "Traceback" not in ran.shown


def test_the_browser_is_not_started_with_the_key_that_is_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # What stands for a browser keeps its command line, as every user of the machine can read it.
    (tmp_path / "f").mkdir()
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\nprintf %s "$1" > {tmp_path}/new && mv {tmp_path}/new {tmp_path}/line\n')
    browser.chmod(0o755)
    monkeypatch.setenv("BROWSER", f"{browser} %s")

    def ended(_: str) -> str:
        until((tmp_path / "line").exists)
        return CTRL_C

    ran = typed(["desk", "f"], ended, "?token=", tmp_path)
    assert ran.status == 0, ran.shown
    (printed,) = re.findall(r"/\?token=([\w-]{40,})", ran.shown)
    (given,) = re.findall(r"/\?token=([\w-]{40,})", (tmp_path / "line").read_text(encoding="utf-8"))
    assert given != printed


def test_without_a_folder_or_a_port_it_says_so_in_a_line(run: Run, tmp_path: Path, client: Client) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    for folder, said in (("none", "is not there"), ("file", "is a file")):
        ran = run("desk", tmp_path / folder, "--no-browser")
        assert ran.status == 2 and len(ran.errors) == 1 and said in ran.errors[0]
    ran = run("desk", tmp_path, "--no-browser", "--port", client.desk.port)
    assert ran.status == 2 and f"port {client.desk.port} cannot be had" in ran.errors[0]
    assert main(["desk", str(tmp_path), "--port", "70000"]) == 2


def test_a_desk_that_was_ended_is_started_again_at_its_port(tmp_path: Path) -> None:
    with served(tmp_path) as one:
        assert one.get("/").status == 200
    _, place = bound(tmp_path, one.desk.port)
    place.close()


def test_there_is_no_option_for_another_address(run: Run) -> None:
    text = run("desk", "--help").out
    assert set(re.findall(r"--[a-z-]+", text)) == {"--port", "--no-browser", "--help"}


def test_tab_offers_folders() -> None:
    environment = {"_DROPLEAF_COMPLETE": "bash_complete", "COMP_WORDS": "dropleaf desk ", "COMP_CWORD": "2"}
    told = CliRunner().invoke(dropleaf, [], env=environment, prog_name="dropleaf").output
    assert told.startswith("dir,")


def test_only_this_command_loads_the_server() -> None:
    look = (
        "import sys; from sheets.cli import main; main(['mounts']); "
        "print({'starlette', 'uvicorn', 'jinja2'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", look], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "set()"


def test_a_fault_is_one_answer_and_the_desk_goes_on(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setattr(frames, "begin", broken)
    answer = client.post("/new", {"name": "knot-1"})
    assert answer.status == 500
    assert "this is a fault in dropleaf, not in your job: ZeroDivisionError: by nothing" in answer.problems
    assert "default-src" in answer.headers["content-security-policy"]
    assert client.get("/").status == 200


def test_nothing_is_fetched_from_outside() -> None:
    """Addresses in what a browser gets are names of formats alone."""
    texts = [file.read_text(encoding="utf-8") for file in (*HERE.rglob("*.html"), *STATIC.iterdir())]
    found = {
        address for text in texts for address in re.findall(r"\b(?:https?:)?//[\w.-]+\.[a-z]+[^\s\"']*", text)
    }
    assert found <= {"http://www.w3.org/2000/svg"}
    assert not [text for text in texts if "@import" in text or "url(" in text]


# --- colours


def _colours(text: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z]+): (#[0-9a-f]{6});", text))


def _light(colour: str) -> float:
    """Return a colour's relative luminance, by WCAG 2.2, "relative luminance"."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    low, high = sorted((_light(one), _light(other)))
    return (high + 0.05) / (low + 0.05)


def test_words_stand_out_by_4_5_and_edges_of_fields_by_3_in_light_and_dark() -> None:
    # WCAG 2.2, 1.4.3 and 1.4.11; black on white has 21.
    assert _contrast("#000000", "#ffffff") == pytest.approx(21.0)
    light, dark = (STATIC / "desk.css").read_text(encoding="utf-8").split("(prefers-color-scheme: dark)")
    for colours in (_colours(light), _colours(dark.partition("@media")[0])):
        for ground in ("paper", "sheet"):
            for name in ("ink", "quiet", "go", "look", "stop", "focus"):
                assert _contrast(colours[name], colours[ground]) >= 4.5, (name, ground)
            assert _contrast(colours["field"], colours[ground]) >= 3.0
        hue = {name: colorsys.rgb_to_hls(*_parts(colours[name]))[0] for name in ("go", "look", "stop")}
        assert len(set(hue.values())) == 3


def _parts(colour: str) -> tuple[float, float, float]:
    return tuple(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))  # type: ignore[return-value]


OWN = "/frame/turnstone"
PAGES = ("/", "/shop?frame=turnstone", OWN, f"{OWN}/sheets", f"{OWN}/heat", f"{OWN}/traveller", "/printers")
PAGES += ("/learn", "/rows", "/packets", "/mounts", "/operations", "/reports", "/book", "/book/grades")
PAGES += ("/book/words",)


@pytest.mark.parametrize("path", PAGES)
def test_every_page_is_read_at_every_width_in_light_and_dark_and_by_who_cannot_see(
    client: Client, opened: Callable[..., Page], path: str
) -> None:
    put(client.desk.folder, "turnstone")
    for width, scheme in ((360, "light"), (1024, "dark"), (1920, "light")):
        page = opened(client, path, viewport={"width": width, "height": 900}, color_scheme=scheme)
        # Nothing runs off to the side.
        assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
        small = page.locator("button:visible").evaluate_all(
            "all => all.filter(e => e.getBoundingClientRect().height < 43.9).map(e => e.outerHTML)"
        )
        assert small == []
        accessible(page)


def test_paper_is_light_and_has_no_buttons_whatever_the_screen_is(
    client: Client, opened: Callable[..., Page]
) -> None:
    put(client.desk.folder, "turnstone")
    page = opened(client, color_scheme="dark")
    colour = "e => getComputedStyle(document.documentElement).getPropertyValue('--sheet').trim()"
    assert page.evaluate(colour) != "#ffffff"
    page.emulate_media(media="print", color_scheme="dark")
    assert page.evaluate(colour) == "#ffffff"
    for hidden in (".frame .tick", "#new", ".top", "button", "nav"):
        expect(page.locator(hidden).first).to_be_hidden()
    expect(page.locator(".frame h2")).to_be_visible()

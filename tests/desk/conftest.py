"""A desk served in this process, a client that asks it as its page would, and one browser for all tests."""

import contextlib
import http.client
import json
import shutil
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT, AxeResults
from playwright.sync_api import Browser, Page, expect, sync_playwright

from sheets.desk.app import app
from sheets.desk.serve import bound, server
from sheets.desk.state import Desk
from sheets.home import folder as home
from tests import outside_tools
from tests.pages.conftest import delivered as delivered

SAMPLES = Path(__file__).parents[2] / "samples"


@dataclass(frozen=True)
class Answer:
    """What the desk answered."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def text(self) -> str:
        """Return the body as text."""
        return self.body.decode("utf-8")

    @property
    def json(self) -> Any:
        """Return the body as a document."""
        assert self.headers["content-type"].startswith("application/json"), self.text
        return json.loads(self.body, parse_constant=pytest.fail)

    @property
    def problems(self) -> str:
        """Return what is wrong, a line a problem."""
        return "\n".join(f"{each['where']}: {each['text']}" for each in self.json["problems"])


@dataclass(frozen=True)
class Client:
    """Asks a desk as its own page does, but for what a test changes: headers to None are left out."""

    desk: Desk

    @property
    def own(self) -> dict[str, str | None]:
        """Return the headers of a request that comes from the desk's page."""
        return {
            "Host": self.desk.host,
            "Cookie": f"{self.desk.cookie}={self.desk.session}",
            "Origin": self.desk.origin,
            "Content-Type": "application/json",
        }

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str | None) -> Answer:
        """Return what a request gets; header names have _ for -."""
        named = {name.replace("_", "-").title(): value for name, value in headers.items()}
        if method == "GET":
            named = {"Origin": None, "Content-Type": None, **named}
        line = http.client.HTTPConnection("127.0.0.1", self.desk.port, timeout=600)
        with contextlib.closing(line):
            line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            for name, value in {**self.own, **named}.items():
                if value is not None:
                    line.putheader(name, value)
            if body is not None and "Content-Length" not in named:
                line.putheader("Content-Length", str(len(body)))
            line.endheaders(body)
            answer = line.getresponse()
            told = {name.lower(): value for name, value in answer.getheaders()}
            return Answer(answer.status, told, answer.read())

    def get(self, path: str, **headers: str | None) -> Answer:
        """Return what a GET gets."""
        return self.ask("GET", path, **headers)

    def post(self, path: str, value: Any = None, **headers: str | None) -> Answer:
        """Return what a POST of a value as JSON gets."""
        return self.ask("POST", path, json.dumps({} if value is None else value).encode(), **headers)


@contextlib.contextmanager
def served(folder: Path) -> Iterator[Client]:
    """Serve a folder in this process for a while."""
    folder.mkdir(parents=True, exist_ok=True)
    desk, place = bound(folder, 0)
    made = app(desk)
    running = server(made)
    thread = threading.Thread(target=running.run, kwargs={"sockets": [place]}, daemon=True)
    thread.start()
    while not running.started:
        assert thread.is_alive()
        time.sleep(0.002)
    try:
        yield Client(desk)
    finally:
        running.should_exit = True
        thread.join(10)
        place.close()
        made.state.watch.end()
        made.state.batch.cancel()


@pytest.fixture
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give a test a builder's folder of its own."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture
def client(tmp_path: Path, own_home: Path) -> Iterator[Client]:
    """Return a client of a desk whose folder is empty, with a home of its own."""
    with served(tmp_path / "frames") as one:
        yield one


@pytest.fixture
def folder(tmp_path: Path, own_home: Path) -> Path:
    """Return a folder with two jobs of its own."""
    place = tmp_path / "frames"
    place.mkdir()
    for name in ("dunlin", "greenshank"):
        shutil.copy(SAMPLES / f"{name}.toml", place)
    return place


@pytest.fixture
def desk(folder: Path) -> Iterator[Client]:
    """Return a client of that folder's desk."""
    with served(folder) as one:
        yield one


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Return the distribution's Chromium."""
    # How long what is expected may take to come, which on a busy machine is longer than the usual 5 s.
    expect.set_options(timeout=30_000)
    with sync_playwright() as player:
        # As root, as CI may be, it has no sandbox of its own.
        one = player.chromium.launch(executable_path=outside_tools.browser(), args=["--no-sandbox"])
        yield one
        one.close()


@pytest.fixture
def opened(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Return a function that opens a desk in a browser window; a fault in a script or policy fails the test.

    Options are those of Playwright's contexts, such as `color_scheme` or `viewport`.
    """
    contexts, faults = [], []

    def door(client: Client, path: str = "/", **options: Any) -> Page:
        context = browser.new_context(**options)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if "Content Security" in said.text else None)
        if path == "/":
            page.goto(client.desk.address)
        else:
            # As a tab that is opened behind the first one: the address with its key was exchanged for this.
            held = {"name": client.desk.cookie, "value": client.desk.session, "url": client.desk.origin}
            context.add_cookies([{**held, "httpOnly": True, "sameSite": "Strict"}])
            page.goto(client.desk.origin + path)
        return page

    yield door
    for context in contexts:
        context.close()
    assert faults == []


def accessible(page: Page) -> None:
    """Fail for whatever axe-core finds against a page."""
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    # Nothing but violations leaves the browser: there are a hundred rules, and most of them pass.
    found = AxeResults(
        page.evaluate("axe.run({resultTypes: ['violations']}).then(({violations}) => ({violations}))")
    )
    assert found.violations_count == 0, found.generate_report()


@pytest.fixture(scope="session")
def samples_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a copy of every sample's job file, not to be changed."""
    folder = tmp_path_factory.mktemp("desk") / "samples"
    shutil.copytree(SAMPLES, folder, ignore=shutil.ignore_patterns("*.p*"))
    return folder

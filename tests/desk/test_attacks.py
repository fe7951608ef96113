"""Every page and every action, whoever made it, against what should not come in: read from the routes."""

import contextlib
import re
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from starlette.routing import Route

from sheets.desk.app import ROUTES
from sheets.guide.draft import changes_in
from sheets.home.jobs import load
from tests.commands.conftest import write
from tests.desk.conftest import Client, served
from tests.desk.test_frames import MARKUP, put

PLACES = sorted(
    {(method, each.path) for each in ROUTES if isinstance(each, Route) for method in each.methods or ()}
    - {("HEAD", each.path) for each in ROUTES if isinstance(each, Route)}
)
# What keys mean is the same for every frame.
OF_A_FRAME = [place for place in PLACES if "{name}" in place[1] and not place[1].endswith("/keys")]
GARBAGE: tuple[Any, ...] = (
    None, [], "text", 7, {}, {"frames": {}}, {"name": []}, {"key": 3, "answer": []},
    {"key": "mount.rotor", "answer": "1e999", "digest": "", "screens": {"side": ["x", None]}},
    {"key": "\x00", "answer": "\x00" * 99, "text": "\ud800", "what": "cures", "code": "x", "subject": 1},
    {"text": "[" * 20_000}, {"across": "150", "down": []}, {"readings": {"a": [1]}, "point": "x"},
    {"answer": "9" * 5_000, "key": "tubes.chainstay.place.1"}, {"printer": "../x", "paper": "A9"},
    {"screens": ["side"], "digest": ""},
)  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """Return a client of a desk with a frame, in a home of its own."""
    base = tmp_path_factory.mktemp("attacks")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DROPLEAF_HOME", str(base / "home"))
        put(base / "frames", "turnstone")
        with served(base / "frames") as one:
            yield one


def filled(path: str, name: str = "turnstone") -> str:
    """Return the address of a route."""
    whole = name if path.startswith("/frame/") or name != "away" else f"{name}.pdf"
    values = {"name": whole, "number:int": "1", "family": "tab", "end": "rear"}
    return re.sub(r"{(.*?)}", lambda part: values.get(part[1], "x"), path)


def asked(client: Client, method: str, path: str, **headers: str | None) -> int:
    """Return the status of a request."""
    ask = client.post if method == "POST" else client.get
    return ask(path, **headers).status


def test_the_routes_were_found() -> None:
    assert ("POST", "/new") in PLACES and ("GET", "/frame/{name}") in OF_A_FRAME
    assert len(PLACES) >= 20


@pytest.mark.parametrize(("method", "path"), PLACES)
def test_nobody_else_gets_anywhere(client: Client, method: str, path: str) -> None:
    before = {file.name: file.read_bytes() for file in client.desk.folder.iterdir()}
    place = filled(path)
    assert asked(client, method, place, cookie=None) == 401
    assert asked(client, method, place, host="example.org") == 403
    assert asked(client, method, place, origin="http://example.org") == 403
    if method == "POST":
        assert asked(client, method, place, origin=None) == 403
        assert asked(client, method, place, content_type="text/plain") == 415
        assert client.ask("POST", place, b"", content_length="100000000").status == 413
    assert {file.name: file.read_bytes() for file in client.desk.folder.iterdir()} == before


@pytest.mark.parametrize(("method", "path"), OF_A_FRAME)
@pytest.mark.parametrize(
    "name", ["..%2f..%2fetc%2fpasswd", "%2e%2e", "..%5cx", "x%00", "%0a", ".hidden", "away", "beside", "none"]
)
def test_no_name_leads_out_of_the_folder(client: Client, method: str, path: str, name: str) -> None:
    folder = client.desk.folder
    away = put(folder.parent / "elsewhere", "turnstone")
    with contextlib.suppress(FileExistsError):
        for ending in (".toml", ".pdf", ".svg"):
            (folder / f"away{ending}").symlink_to(away)
        (folder / "beside.changes").symlink_to(away)
    kept = {file: file.read_bytes() for file in away.parent.iterdir()}
    # A packet that is not there is told on a page.
    told = {200} if path.startswith("/packets/") and name in ("none", "beside") else set()
    assert asked(client, method, filled(path, name)) in {400, 404, 405} | told
    assert {file: file.read_bytes() for file in away.parent.iterdir()} == kept


@pytest.mark.parametrize("path", [path for method, path in PLACES if method == "POST"])
def test_garbage_is_refused_in_words_and_breaks_nothing(client: Client, path: str) -> None:
    # A packet takes seconds, and all but its options is the job's.
    place = filled(path, "none" if path.endswith("/make") else "turnstone")
    for value in GARBAGE:
        answer = client.post(place, value)
        assert answer.status in (200, 400), (value, answer.text)
        assert answer.status == 200 or answer.json["problems"]
    for raw in (b"", b"{", b"\xff\xfe", b"[" * 100_000, b'{"a": NaN}', b"1" * 10_000):
        assert client.ask("POST", place, raw).status in (200, 400), raw[:20]
    assert client.get("/").status == 200
    client.post("/batch/cancel")


def test_two_hundred_edits_at_once_lose_nothing(client: Client, tmp_path: Path) -> None:
    folder = client.desk.folder
    file = write(folder / "knot-200.toml")
    text = file.read_bytes()
    keys = ("frame.note", "frame.customer", "frame.maker", "frame.name", "bench.plate")
    known = client.post("/frame/knot-200/see", {}).json["digest"]

    def edit(number: int) -> int:
        key = keys[number % len(keys)]
        answer = f"{5 + number / 100}" if key == "bench.plate" else f"edit {number}"
        return client.post("/frame/knot-200/set", {"key": key, "answer": answer, "digest": known}).status

    with ThreadPoolExecutor(200) as pool:
        statuses = list(pool.map(edit, range(200)))
    assert set(statuses) == {200}
    # The file itself is as it was, and of each key one of its answers is kept.
    assert file.read_bytes() == text
    kept = changes_in(file.with_suffix(".changes"))
    assert set(kept) == set(keys)
    assert all(
        value.startswith("edit ") and int(value.split()[1]) % len(keys) == keys.index(key)
        for key, value in kept.items()
        if key != "bench.plate"
    )
    assert client.post("/frame/knot-200/write", {"digest": known}).json["conflict"] is None
    job = load(shutil.copy(file, tmp_path / "knot-200.toml")).job
    assert job.frame.customer == kept["frame.customer"]


def test_what_a_stranger_wrote_is_text_on_every_page(client: Client, opened: Any) -> None:
    folder = client.desk.folder
    name = "<marquee>knot"
    changes = (('name = "Knot"', f"name = '{MARKUP}'\nmaker = '{MARKUP}'\ncustomer = '{MARKUP}'"),)
    write(folder / f"{name}.toml", *changes)
    # Answers that are kept beside it come from anybody, too.
    (folder / f"{name}.changes").write_text(f"\"frame.note\" = '{MARKUP}'\n", encoding="utf-8")
    (folder / "stranger.toml").write_text(
        f"[frame]\nid = '{MARKUP}'\n'{MARKUP}' = '{MARKUP}'\n", encoding="utf-8"
    )
    shown = []
    page = opened(client)
    page.on("dialog", lambda dialog: shown.append(dialog.message))
    for path in sorted(
        path for method, path in PLACES if method == "GET" and path.startswith("/frame/{name}")
    ):
        for frame in (name, "stranger"):
            if path.endswith((".svg", "/keys", "/answers")):
                continue
            page.goto(client.desk.origin + filled(path, quote(frame, safe="")))
            page.wait_for_timeout(200)
            assert page.locator("img[src=x], marquee, main script").count() == 0, path
    for path in ("/", "/packets", f"/shop?frame={quote(name)}&frame=stranger"):
        page.goto(client.desk.origin + path)
        assert page.locator("img[src=x], marquee, main script").count() == 0, path
        assert "<img src=x" in page.locator("main").inner_text() or path == "/packets", path
    assert shown == []
    for each in folder.glob("*knot*"):
        each.unlink()

"""The desk's plain pages: learn, printers, own rows, packets, mounts."""

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from playwright.sync_api import Page, expect

from geometry.tables.interfaces import rows
from sheets.home.own_rows import read
from sheets.home.printers import known
from tests.desk.conftest import Client, accessible
from tests.desk.test_sheets import Drawn

READINGS = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"
ADDED = {"name": "shop", "paper": "A4", "across": "174.5", "down": "266", "rising": "229.5", "falling": "229"}


def test_a_printer_is_added_proven_and_forgotten(client: Client) -> None:
    answer = client.post("/printers/add", {**ADDED, "across": "six"})
    assert answer.status == 400
    assert "bar across" in answer.problems and "--" not in answer.problems
    assert client.post("/printers/add", ADDED).status == 200
    # By hand: 174.5 of the 175 mm that an A4 proof's bar has.
    assert known()["shop"].distortion.across == pytest.approx(174.5 / 175.0)
    twice = client.post("/printers/add", ADDED)
    assert twice.status == 400 and "name" in twice.problems
    assert client.post("/printers/add", {**ADDED, "replace": True}).status == 200
    answer = client.post("/printers/proof", {"paper": "A4", "printer": "shop"})
    assert {each["name"] for each in answer.json["files"]} == {"proof-A4-shop.pdf", "proof-A4-shop.svg"}
    assert client.get(answer.json["files"][0]["path"]).body.startswith(b"%PDF")
    assert "shop" in client.get("/printers").text
    assert client.post("/printers/remove", {"name": "shop"}).status == 200
    assert known() == {}


def test_a_row_is_learned_kept_and_listed(client: Client) -> None:
    document = tomllib.loads(READINGS.read_text(encoding="utf-8"))
    taken = {
        key: "; ".join(map(str, each if isinstance(each, list) else [each]))
        for key, each in document.pop("readings").items()
    }
    sent = {**{key: str(value) for key, value in document.items()}, "readings": taken}
    told = client.post("/learn/judge", sent)
    assert told.status == 200, told.text
    assert told.json["kept"] == [] and read().rows == ()
    assert "[interface]" in told.json["html"]
    refused = client.post("/learn/judge", {**sent, "save": "post"})
    assert refused.status == 400 and "post is a shipped row" in refused.problems
    assert client.post("/learn/judge", {**sent, "save": "shop-flat"}).json["kept"]
    (row,) = read().rows
    assert (row.name, row.native, row.mounts) == ("shop-flat", 140.0, 1)
    assert "shop-flat" in client.get("/rows").text
    # The same mount again is no second one, and the program says so.
    again = client.post("/learn/judge", {**sent, "save": "shop-flat"})
    assert again.status == 400
    wrong = client.post("/learn/judge", {**sent, "readings": {**taken, "axle": "<b>"}})
    assert wrong.status == 400 and "readings.axle" in wrong.problems


def test_every_mount_is_shown_with_the_source_of_each_number(client: Client) -> None:
    text = client.get("/mounts").text
    for name, row in rows().items():
        assert f"{name}  {row.title}" in text
    assert "ISO 965 6g" in text
    assert text.count("grade ") > 60


def test_packets_are_looked_at(client: Client, delivered: Drawn) -> None:
    assert "no PDF in this folder yet" in client.get("/packets").text
    packet = Path(shutil.copy(delivered["dunlin", "outboard"].pdf, client.desk.folder))
    assert "1 packet" in client.get("/packets").text
    shown = client.get(f"/packets/{packet.name}").text
    assert f"{packet.name}: intact" in shown and str(client.desk.folder) not in shown
    # Another title, as an editor would write it: the record tells.
    raw = packet.read_bytes()
    editor = pypdf.PdfWriter(clone_from=packet)
    editor.add_metadata({"/Title": "dunlin-2"})
    editor.write(packet)
    assert 'class="verdict stop"' in client.get(f"/packets/{packet.name}").text
    packet.write_bytes(raw[: len(raw) // 2])
    assert client.get(f"/packets/{packet.name}").status == 400
    assert client.get("/packets").status == 200
    assert client.get("/packets/%2e%2e%2fx.pdf").status in (400, 404)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_plain_pages_can_be_used_by_everybody(
    client: Client, opened: Callable[..., Page], scheme: str
) -> None:
    client.post("/printers/add", ADDED)
    page = opened(client, viewport={"width": 360, "height": 800}, color_scheme=scheme)
    for path in ("/learn?family=post&end=rear", "/printers", "/rows", "/packets", "/mounts"):
        page.goto(client.desk.origin + path)
        expect(page.locator("h1")).to_be_visible()
        if page.locator("summary").count():
            page.locator("summary").first.click()
        accessible(page)
        assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth"), path

"""Reports of measured mounts, mounts put together, and the builder's own operations, at the desk."""

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from sheets.home.own_operations import own_operations
from sheets.home.own_operations_file import file as operations_file
from sheets.home.own_rows import read
from tests.commands.conftest import Run
from tests.commands.conftest import run as run
from tests.desk.conftest import Client, accessible

READINGS = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"


def sent(**more: Any) -> dict[str, Any]:
    """Return the sample's readings as the page sends them."""
    document = tomllib.loads(READINGS.read_text(encoding="utf-8"))
    taken = {
        key: "; ".join(map(str, each if isinstance(each, list) else [each]))
        for key, each in document.pop("readings").items()
    }
    return {**{key: str(value) for key, value in document.items()}, "readings": taken, **more}


def test_a_report_is_the_commands_byte_for_byte_and_names_nobody_unasked(
    client: Client, run: Run, tmp_path: Path
) -> None:
    answer = client.post("/learn/judge", sent(report=True, paper="A4"))
    assert answer.status == 200, answer.text
    made = sorted(client.desk.folder.iterdir())
    run("learn", "--readings", READINGS, "--report", tmp_path / "out")
    theirs = sorted((tmp_path / "out").iterdir())
    assert [each.name for each in made] == [each.name for each in theirs]
    assert [each.read_bytes() for each in made] == [each.read_bytes() for each in theirs]
    page = next(each for each in made if each.suffix == ".pdf")
    assert f"/file/{page.name}" in answer.json["html"]
    # Another name, or another paper, is another report.
    assert client.post("/learn/judge", sent(report=True, name="A. Builder")).status == 200
    assert any(b"A. Builder" in each.read_bytes() for each in client.desk.folder.glob("*.toml"))
    wrong = client.post("/learn/judge", sent(report=True, name="\u0001"))
    assert wrong.status == 400 and "who measured" in wrong.problems


def test_mounts_are_put_together_as_the_command_does_it(client: Client, run: Run) -> None:
    place = client.desk.folder
    assert "No file of readings or report" in client.get("/reports").text
    client.post("/learn/judge", sent(report=True))
    (mine,) = place.glob("*.toml")
    text = READINGS.read_text(encoding="utf-8")
    (place / "other.toml").write_text(
        text.replace("37.1", "37.12").replace("34.4", "34.38"), encoding="utf-8"
    )
    (place / "job.toml").write_text('[frame]\nid = "knot-1"\n', encoding="utf-8")
    (place / "bad.toml").write_text("[readings]\nfamily = \n", encoding="utf-8")
    shown = client.get("/reports").text
    assert f'value="{mine.name}"' in shown and 'value="other.toml"' in shown
    assert "job.toml" not in shown and "bad.toml" not in shown
    files = [mine.name, "other.toml"]
    assert "Tick the files first" in client.post("/reports/pool", {"files": []}).problems
    assert client.post("/reports/pool", {"files": ["../x.toml"]}).status == 400
    alone = client.post("/reports/pool", {"files": files[:1]})
    said = run("learn", "--pool", mine).out
    assert alone.json["kept"] == [] and read().rows == ()
    # Line by line what the terminal says of them, without the folder before the names.
    for line in said.replace(f"{place}/", "").splitlines()[:4]:
        assert line.replace("'", "&#39;") in alone.json["html"]
    refused = client.post("/reports/pool", {"files": files[:1], "save": "post"})
    assert refused.status == 400 and "name of the row" in refused.problems
    assert "post is a shipped row" in refused.problems
    kept = client.post("/reports/pool", {"files": files, "save": "shop-flat", "despite": True})
    assert kept.status == 200, kept.text
    (row,) = read().rows
    assert row.name == "shop-flat" and kept.json["kept"]
    (wrong,) = [place / "wrong.toml"]
    wrong.write_text(text.replace("native = 140", 'native = "<b>"'), encoding="utf-8")
    told = client.post("/reports/pool", {"files": ["wrong.toml", *files]}).json["html"]
    assert "wrong.toml" in told and "<b>" not in told and str(place) not in told


def test_own_operations_are_listed_added_and_forgotten(client: Client, own_home: Path) -> None:
    add, remove = "/operations/add", "/operations/remove"
    stamp = {"key": "stamp-number", "text": "Stamp the number  under the shell.", "unsigned": True}
    assert client.post(add, stamp).status == 200
    again = client.post(add, stamp)
    assert again.status == 400 and "is kept in" in again.problems
    assert (
        client.post(add, {**stamp, "text": "Stamp it.", "hold": "No paint before.", "replace": True}).status
        == 200
    )
    (one,) = own_operations(operations_file())
    assert (one.key, one.text, one.hold, one.check) == ("stamp-number", "Stamp it.", "No paint before.", None)
    for value, said in (
        ({"key": "Stamp it", "text": "x"}, "key: small letters"),
        ({"key": "stamp"}, "what is to be done"),
        ({"key": "heat", "text": "Braze."}, "heat"),
        ({"key": "warm", "text": "Warm it.", "replaces": True}, "no shipped operation"),
        ({"key": "warm", "text": "Warm it.", "check": "never"}, "check point at which it ends"),
    ):
        refused = client.post(add, value)
        assert refused.status == 400 and said in refused.problems, refused.problems
    assert client.post(add, {"key": "heat", "text": "Braze in the jig.", "replaces": True}).status == 200
    # The file is the builder's own: what else stands in it stays.
    file = own_home / "operations.toml"
    file.write_text("# mine\n" + file.read_text(encoding="utf-8") + "# the end\n", encoding="utf-8")
    shown = client.get("/operations").text
    assert "Stamp it." in shown and "No paint before." in shown and "Braze in the jig." in shown
    assert client.post(remove, {"key": "stamp-number"}).status == 200
    assert client.post(remove, {"key": "stamp-number"}).status == 400
    kept = file.read_text(encoding="utf-8")
    assert kept.startswith("# mine\n") and kept.endswith("# the end\n")
    assert [each.key for each in own_operations(file)] == ["heat"]
    file.write_text("[[operation]]\nkey = 3\n", encoding="utf-8")
    broken = client.get("/operations")
    assert broken.status == 200 and 'class="problem"' in broken.text


def test_an_own_operation_is_used_by_a_job(client: Client) -> None:
    client.post("/operations/add", {"key": "prepare", "text": "Fetch it all.", "replaces": True})
    shutil.copy(READINGS.parents[1] / "turnstone.toml", client.desk.folder)
    assert client.get("/frame/turnstone/traveller").status == 200
    assert b"Fetch it all." in _lettered(client)


def _lettered(client: Client) -> bytes:
    number = client.get("/frame/turnstone/sheets").text.count("<option value=") - 1
    return b"".join(client.get(f"/frame/turnstone/sheet/{each}.svg").body for each in range(1, number + 1))


@pytest.mark.parametrize("width", [360, 1024])
def test_both_pages_can_be_used_by_everybody(client: Client, opened: Callable[..., Page], width: int) -> None:
    client.post("/learn/judge", sent(report=True))
    page = opened(client, "/operations", viewport={"width": width, "height": 800})
    page.fill("[name=key]", "stamp number")
    page.fill("[name=text]", "Stamp it.")
    page.press("[name=key]", "Enter")
    expect(page.locator("#add .problem")).to_contain_text("key: small letters")
    expect(page.locator("[name=text]")).to_have_value("Stamp it.")
    page.fill("[name=key]", "stamp-number")
    page.press("[name=key]", "Enter")
    expect(page.locator("#kept h2")).to_have_text("stamp-number")
    expect(page.locator("#done")).to_contain_text("stamp-number is kept")
    accessible(page)
    page.click("#kept .remove")
    expect(page.locator("#kept .remove")).to_contain_text("Press again")
    page.click("#kept .remove")
    expect(page.locator("#kept")).to_have_count(0)
    page.goto(client.desk.origin + "/reports")
    page.click("[type=submit]")
    expect(page.locator("#pooled pre").first).to_be_visible()
    accessible(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")

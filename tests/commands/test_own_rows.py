"""Rows of the builder's own table in the commands: listed, drawn, filed and verified without the table."""

import json
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from sheets.filing import replay
from sheets.home import own_rows as own_tables

SOURCE = "measured on Godwit's rear mount, 2026-01-31, by the bench"
ROW = f"""\
[[row]]
name = "shop-tab"
end = "rear"
family = "tab"
native = 140
near = 40.1
far = 79.4
spacing = 51.05
lateral = 0.2
hole = 6.2
uncertainty = {{ near = 0.06, lateral = 0.05 }}
source = "{SOURCE}"
grade = "measured"
"""


@pytest.fixture
def table(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return the builder's table with one row, in a home of its own."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))
    file = own_tables.file()
    file.parent.mkdir()
    file.write_text(ROW, encoding="utf-8")
    return file


def test_mounts_lists_own_rows_with_their_grade_and_source(run: Callable, table: Path) -> None:
    row = run("mounts", "--json").json["interfaces"][-1]
    assert (row["name"], row["ends"], row["native"], row["own"]) == ("shop-tab", ["rear"], [140.0], True)
    assert row["numbers"]["near"] == {
        "value": 40.1, "tolerance": 0.06, "low": None, "high": None, "grade": "measured", "source": SOURCE,
        "check": None,
    }  # fmt: skip
    out = " ".join(run("mounts").out.split())
    assert f"near 40.1 ±0.06 grade measured, {SOURCE}" in out
    table.unlink()
    assert all(not row["own"] for row in run("mounts", "--json").json["interfaces"])


def test_mounts_tells_what_is_damaged_and_lists_the_rest(run: Callable, table: Path) -> None:
    table.write_text(ROW.replace("near = 40.1", 'near = "far"'), encoding="utf-8")
    ran = run("mounts")
    assert ran.status == 2
    [line] = ran.errors
    assert line.startswith(f"dropleaf: {table}: row 1 (shop-tab): near: 'far' is not a number")
    assert "\nis-rear  " in ran.out and "shop-tab" not in ran.out


def test_a_drawn_own_row_is_on_the_sheet_in_the_manifest_and_in_the_packet(
    run: Callable, write: Callable, tmp_path: Path, table: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = write(tmp_path / "jobs" / "knot.toml", ('"is-rear"', '"shop-tab"'))
    out = tmp_path / "drawn"
    placement = run("draw", job, "--out", out, "--json").json["placement"]
    # The foot of the perpendicular by the law of cosines: own arithmetic.
    x = (79.4**2 - 40.1**2 - 51.05**2) / (2 * 51.05)
    assert placement["x_near"] == pytest.approx(x, abs=1e-6)
    assert placement["face_height"] == pytest.approx((40.1**2 - x**2) ** 0.5, abs=1e-6)
    interface = placement["interface"]
    assert (interface["own"], interface["lateral"], interface["sources"]) == (True, 0.2, [SOURCE])
    packet = out / "knot-1.pdf"
    reader = pypdf.PdfReader(packet)
    card = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert SOURCE in card
    filed = json.loads(reader.attachments["dropleaf-manifest.json"][0])
    assert filed["job"]["interface"]["near"] == 40.1
    assert filed["placement"]["interface"] == interface
    attached = reader.attachments["knot.toml"][0].decode()
    assert attached.startswith(job.read_text(encoding="utf-8"))
    assert "near = 40.1\n" in attached and SOURCE in attached
    # On another machine, with no table at all, the packet is placed again and comes out the same.
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "nobody"))
    verdict = run("verify", packet, "--json").json
    assert (verdict["intact"], verdict["matches_job"], verdict["differences"]) == (True, True, [])
    # What the row is warned of goes with it: placed again it is warned of as it was.
    banner = (
        "MEASURED ON ONE MOUNT: near 40.10 ±0.06, far 79.40 ± unknown, sideways 0.20 ±0.05; measure a second "
        "mount before you trust it."
    )
    assert banner in filed["warnings"]
    raw = reader.attachments["knot.toml"][0]
    assert banner in replay.placed_again(raw, "knot.toml", out, filed)["warnings"]
    # The job file itself needs the table.
    assert "'shop-tab' is not in the table" in run("check", job).errors[0]


def test_a_damaged_table_warns_and_changes_no_sheet(
    run: Callable, job: Path, tmp_path: Path, table: Path
) -> None:
    good = run("draw", job, "--out", tmp_path / "good", "--json").json
    table.write_text("[[row]\n", encoding="utf-8")
    bad = run("draw", job, "--out", tmp_path / "bad", "--json").json
    [warning] = [each for each in bad["warnings"] if each not in good["warnings"]]
    assert warning.startswith(f"{table}: not TOML")
    assert "is-rear is the shipped row" in warning
    assert warning in run("check", job, "--json").json["warnings"]
    assert good["files"][0]["pages"] == bad["files"][0]["pages"]


def test_shop_takes_own_rows(run: Callable, write: Callable, tmp_path: Path, table: Path) -> None:
    job = write(tmp_path / "jobs" / "knot.toml", ('"is-rear"', '"shop-tab"'))
    needs = {(need["kind"], need["what"]) for need in run("shop", job, "--json").json["needs"]}
    assert ("drill", "Ø6.2") in needs


def test_mounts_prints_the_checks_between_rows_and_which_one_fails(run: Callable) -> None:
    text = run("mounts").out
    # 15.25 less 14.50: tab face to disc by either row's numbers.
    assert "DISAGREES: 0.75 mm where 0.00 mm" in text and "14.50 or 15.25?" in text
    checks = run("mounts", "--json").json["checks"]
    assert [each["code"] for each in checks if each["state"] != "holds"] == ["sides-tab"]
    assert {"tab-angle", "adapter-far", "pads", "size-step"} <= {each["code"] for each in checks}


def test_mounts_open_says_what_to_measure_next(run: Callable) -> None:
    text = run("mounts", "--open").out
    assert text.index("flat-front") < text.index("is-rear") and "PROVISIONAL" in text
    assert "fastest on a factory fork with its wheel out, made for 140" in text
    assert "flat-rear height of all sizes together" in text and "post path.angle, downward" in text
    found = run("mounts", "--open", "--json").json
    assert [each["code"] for each in found["failing"]] == ["sides-tab"]
    keys = {(each["row"], each["key"]) for each in found["unnoticed"]}
    assert ("flat-front", "spacing") in keys and ("is-rear", "lateral.rear") not in keys
    assert "To settle it: tab's inner face to disc's inner face on a factory frame or fork" in text
    flat = next(each for each in found["rows"] if each["name"] == "flat-rear")
    assert {"at.140.h", "spacing"} <= {each["key"] for each in flat["open"]}
    assert flat["readings"][0]["steps"][0]["band"] < flat["readings"][0]["band"]
    # All that nothing bears out stands in it, of discs and axles too.
    assert {each["row"] for each in found["others"]} >= {"disc", "100-qr"}

"""`shop`: what must be on the bench for several jobs, as text, JSON, CSV and one page."""

import csv
import io
import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

SAMPLES = Path(__file__).parents[2] / "samples"


@pytest.fixture
def bench(tmp_path: Path) -> Path:
    """Return a folder with three jobs."""
    folder = tmp_path / "jobs"
    folder.mkdir()
    for name in ("dunlin", "avocet", "greenshank"):
        shutil.copy(SAMPLES / f"{name}.toml", folder)
    return folder


def test_a_folder_is_gathered_and_every_stack_served(run: Callable, bench: Path) -> None:
    document = run("shop", bench, "--json").json
    assert document["frames"] == ["avocet-3", "dunlin-1", "greenshank-1"]
    needs = {(need["kind"], need["what"]): need for need in document["needs"]}
    # M6 into posts: drill 5.0, ISO 2306 (remembered). The tab: 6.2, a dimensioned drawing.
    assert needs["drill", "Ø5"]["frames"] == ["avocet-3"]
    assert needs["drill", "Ø6.2"]["frames"] == ["dunlin-1"]
    assert needs["adapter", "a +20 tab adapter, disc 160"]["count"] == 1
    assert sum(need["count"] for (kind, _), need in needs.items() if kind == "screw") == 6
    pieces = document["smallest_set"]["pieces"]
    assert document["smallest_set"]["exact"]
    lengths = {stack["frame"]: stack["length"] for stack in document["stacks"]}
    # The same lengths as check says, by its own way.
    for name in ("avocet", "greenshank"):
        setup = run("check", bench / f"{name}.toml", "--json").json["setup"]
        frame = next(frame for frame in lengths if frame.startswith(name))
        assert lengths[frame] == pytest.approx(setup["stack"]["to_fill"], abs=1e-6)
        sums = {0.0}
        for piece in pieces:
            sums |= {total + piece for total in sums}
        assert min(abs(total - lengths[frame]) for total in sums) <= 0.05 + 1e-9


def test_stock_tells_what_is_missing(run: Callable, bench: Path, tmp_path: Path) -> None:
    stock = tmp_path / "stock.toml"
    stock.write_text('spacers = [5]\npins = ["1/4 in", 5.0, 5.0, 5.5, 5.5]\ndrills = [5]\n', encoding="utf-8")
    needs = run("shop", bench, "--stock", stock, "--json").json["needs"]
    found = {(need["kind"], need["what"]): (need["stock"], need["missing"]) for need in needs}
    assert found["drill", "Ø5"] == (1, 0)
    assert found["drill", "Ø6.2"] == (0, 1)
    assert found["pin", "Ø5.5"] == (2, 0)
    assert found["pin", "Ø5"] == (2, 0)
    # Nothing is said of screws, so nothing is claimed.
    assert all(stock is None for (kind, _), (stock, _) in found.items() if kind == "screw")
    text = run("shop", bench, "--stock", stock).out
    assert "To get:" in text and "1 × drill Ø6.2" in text


def test_csv_has_a_row_a_line(run: Callable, bench: Path) -> None:
    ran = run("shop", bench, "--csv")
    rows = list(csv.DictReader(io.StringIO(ran.out)))
    assert len(rows) == len(run("shop", bench, "--json").json["needs"])
    assert {row["kind"] for row in rows} >= {"dummy axle", "screw", "drill", "pin", "boss"}


def test_the_page_holds_every_line_of_all_samples(run: Callable, tmp_path: Path) -> None:
    page = tmp_path / "paper" / "bench.pdf"
    document = run("shop", SAMPLES, "--pdf", page, "--json").json
    assert document["pdf"] == str(page)
    reader = pypdf.PdfReader(page)
    assert len(reader.pages) == 1
    words = "".join(reader.pages[0].extract_text().split())
    for need in document["needs"]:
        assert "".join(need["what"].split()) in words
    for number, frame in enumerate(document["frames"], start=1):
        assert f"{number}{frame}" in words


def test_bad_jobs_are_told_and_the_others_listed(run: Callable, bench: Path, tmp_path: Path) -> None:
    (bench / "broken.toml").write_text("[frame]\n", encoding="utf-8")
    ran = run("shop", bench, "--json")
    assert ran.status == 2
    assert any("broken.toml" in line for line in ran.errors)
    assert len(ran.json["frames"]) == 3
    (tmp_path / "empty").mkdir()
    for arguments, told in (
        ((tmp_path / "empty",), "no .toml file lies in this folder"),
        ((tmp_path / "none.toml",), "none.toml"),
        ((bench, "--pdf", tmp_path / "list.txt"), "does not end in .pdf"),
        ((bench, "--csv", "--json"), "give --csv or --json, not both"),
        ((bench, "--stock", tmp_path / "none.toml"), "cannot be read"),
    ):
        ran = run("shop", *arguments)
        assert ran.status == 2
        assert any(told in line for line in ran.errors), ran.errors
    stock = tmp_path / "stock.toml"
    stock.write_text('spacer = [5]\npins = ["thick"]\n', encoding="utf-8")
    ran = run("shop", bench, "--stock", stock)
    assert [line for line in ran.errors if "did you mean spacers?" in line]
    assert [line for line in ran.errors if "pins: 'thick' is not a number" in line]


def test_frames_of_one_id_are_told_apart_by_their_files(run: Callable, tmp_path: Path) -> None:
    files = [tmp_path / name for name in ("a.toml", "b.toml", "other/b.toml")]
    for file in files:
        file.parent.mkdir(exist_ok=True)
        shutil.copy(SAMPLES / "dunlin.toml", file)
    names = [f"dunlin-1 ({told})" for told in ("a.toml", str(files[1]), str(files[2]))]
    document = run("shop", *files, "--json").json
    assert document["frames"] == names
    assert [stack["frame"] for stack in document["stacks"]] == names
    # Two screws a mount, and no frame hides another.
    assert next(need["count"] for need in document["needs"] if need["kind"] == "screw") == 6
    rows = list(csv.DictReader(io.StringIO(run("shop", *files[:2], "--csv").out)))
    assert rows[0]["frames"].split("; ") == ["dunlin-1 (a.toml)", "dunlin-1 (b.toml)"]
    page = tmp_path / "bench.pdf"
    shutil.copy(files[0], tmp_path / "кулик.toml")
    assert run("shop", files[0], tmp_path / "кулик.toml", "--pdf", page).status == 0
    assert "dunlin-1 (a.toml)" in " ".join(pypdf.PdfReader(page).pages[0].extract_text().split())


def test_one_bar_a_diameter_names_its_axle_systems(run: Callable) -> None:
    needs = run("shop", SAMPLES, "--json").json["needs"]
    bars = [need["what"].partition(" for ") for need in needs if need["kind"] == "dummy axle"]
    assert len({size for size, _, _ in bars}) == len(bars)
    systems = {size: named.split(", ") for size, _, named in bars}["Ø19.05"]
    assert {"135-qr", "142x12"} <= set(systems)
    assert len(set(systems)) == len(systems)


def test_pdfs_and_slips_in_the_stock_are_named(run: Callable, bench: Path, tmp_path: Path) -> None:
    stock = tmp_path / "stock.toml"
    for text, told in (("%PDF-1.7", "this is a PDF; give a file of sizes"), ("pins = 6,35\n", ": 6.35")):
        stock.write_text(text, encoding="utf-8")
        (line,) = run("shop", bench, "--stock", stock).errors
        assert line.startswith(f"dropleaf: {stock}: ") and told in line

"""`shop`: what must be on the bench for several jobs, as text, JSON, CSV and pages."""

import csv
import io
import re
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


def test_two_jobs_at_once_give_the_list_and_words_of_one_after_the_other(run: Callable, bench: Path) -> None:
    (bench / "wrong.toml").write_text("[frame]\n", encoding="utf-8")
    alone, both = (run("shop", bench, "--jobs", count) for count in ("1", "2"))
    assert alone.status == both.status == 2 and "wrong.toml" in "".join(both.errors)
    assert (alone.out, alone.errors) == (both.out, both.errors)
    assert "avocet-3" in both.out


def test_stock_tells_what_is_missing(run: Callable, bench: Path, tmp_path: Path) -> None:
    stock = tmp_path / "stock.toml"
    stock.write_text('spacers = [5]\npins = ["1/4 in", 5.0, 5.0, 5.5, 5.5]\ndrills = [5]\n', encoding="utf-8")
    needs = run("shop", bench, "--stock", stock, "--json").json["needs"]
    found = {(need["kind"], need["what"]): (need["stock"], need["missing"]) for need in needs}
    assert found["drill", "Ø5"] == (1, 0)
    assert found["drill", "Ø6.2"] == (0, 1)
    # 6.55 and 8.50 to fill: their cards would have 1.55 and 3.5 turned beside the 5.
    assert found["spacer", "5"] == (1, 0)
    assert found["spacer", "1.55, to turn"] == (0, 1)
    assert found["spacer", "3.5, to turn"] == (0, 1)
    # A reading's pin may be the shank of the hole's own drill, so that none is asked for.
    assert found["pin", "Ø6.2, or shanks of that drill"] == (None, 0)
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


@pytest.mark.parametrize("filler", ["=HYPERLINK(1)", "+1", "-2+3", "@SUM(1)", " =1"])
def test_no_cell_is_run_by_a_spreadsheet(run: Callable, job: Path, filler: str) -> None:
    """What begins a formula is after OWASP, "CSV Injection" (owasp.org), as remembered."""
    text = job.read_text(encoding="utf-8")
    job.write_text(f'{text}\n[process]\nmethod = "silver-braze"\nfiller = "{filler}"\n', encoding="utf-8")
    rows = csv.DictReader(io.StringIO(run("shop", job, "--csv").out))
    assert [row["what"] for row in rows if row["kind"] == "filler"] == [f"'{filler}"]


def test_the_page_holds_every_line_of_all_samples(run: Callable, tmp_path: Path) -> None:
    page = tmp_path / "paper" / "bench.pdf"
    document = run("shop", SAMPLES, "--pdf", page, "--json").json
    assert document["pdf"] == str(page)
    reader = pypdf.PdfReader(page)
    # Ten frames take a second page, which is no reason to refuse the list.
    assert len(reader.pages) == 2
    words = "".join("".join(sheet.extract_text().split()) for sheet in reader.pages)
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


def test_what_the_drawers_make_is_not_asked_for_and_is_what_the_cards_say(run: Callable) -> None:
    document = run("shop", SAMPLES, "--json").json
    needs = document["needs"]
    assert [need for need in needs if need["kind"] == "spacer"] != []
    assert [need for need in needs if need["kind"] in ("spacer", "pin") and need["missing"]] == []
    stacks = {stack["frame"]: stack for stack in document["stacks"]}
    for name in ("avocet", "curlew", "godwit", "redshank", "turnstone"):
        pieces = run("check", SAMPLES / f"{name}.toml", "--json").json["setup"]["pieces"]
        stack = next(each for frame, each in stacks.items() if frame.startswith(name))
        assert pieces["reached"] and stack["pieces"] == pieces["best"]["pieces"] and stack["make"] is None
    # One job has no spacers of its own: 7.05 to fill, and the others' drawers make it to 0.05.
    assert stacks["sanderling-1"]["pieces"] == [6.0, 1.0]
    assert "Nothing that stock is kept of is missing." in run("shop", SAMPLES).out


def test_bosses_are_as_long_as_their_card_has_them_made(run: Callable, tmp_path: Path) -> None:
    """A card's demand and the list's length are one number, with the stock for facing added by hand."""
    for file in SAMPLES.glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        unsaid = text if file.stem == "greenshank" else re.sub(r"(?m)^(near_)?length = .*$", "", text)
        (tmp_path / file.name).write_text(unsaid, encoding="utf-8")
    bosses = [need for need in run("shop", tmp_path, "--json").json["needs"] if need["kind"] == "boss"]
    listed = {frame: need["what"] for need in bosses for frame in need["frames"]}
    demands = 0
    for file in sorted(tmp_path.glob("*.toml")):
        document = run("check", file, "--json").json
        setup, stock = document["setup"], document["job"].get("process", {}).get("facing", 0.0)
        asked = [re.search(r"make it (\d+\.\d+) or longer", each["text"]) for each in setup["boss_words"]]
        what = listed.get(document["job"]["frame"]["id"], "")
        for found in filter(None, asked):
            demands += 1
            long = f"{float(found[1]) + stock:.2f}"
            assert f"× {long} or longer" in what
            before = [each["text"] for each in setup["boss_words"] if "Before facing" in each["text"]]
            assert all(f"The post is {long} long before facing" in each for each in before)
    assert demands >= 4
    assert listed["greenshank-1"] == "boss Ø11 × 35.3 before facing, which takes 0.3 off"


def test_a_fixtures_parts_are_on_the_list(run: Callable, bench: Path) -> None:
    shutil.copy(SAMPLES / "godwit.toml", bench)
    for file in bench.glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        file.write_text(text.replace("[bench]\n", "[bench]\nfixture = true\n"), encoding="utf-8")
    document = run("shop", bench, "--json").json
    needs = {(need["kind"], need["what"]): need for need in document["needs"]}
    # The plate's hull: 69.69 along and both rims, 19.525 round the axle and 9.3 at the far end, 44.55 up.
    assert needs["fixture plate", "steel 8 × 99 × 65, bore 19.05"]["frames"] == ["dunlin-1"]
    assert needs["collar", "0.5 long, bore 20"]["frames"] == ["godwit-2"]
    assert needs["bar", "steel 25 × 20 × 70"]["frames"] == ["greenshank-1"]
    assert needs["reamer", "Ø6.2 H7"]["frames"] == ["dunlin-1"]
    assert set(needs["reamer", "Ø5 H7"]["frames"]) == {"avocet-3", "godwit-2", "greenshank-1"}
    assert needs["rod", "M8 × 76, bare, two nuts each, filed to key the slots"]["count"] == 2
    # A bar asks for no spacers, and the card of such a frame lists none.
    assert {stack["frame"]: stack["length"] for stack in document["stacks"]} == {
        "avocet-3": None, "dunlin-1": 0.0, "godwit-2": None, "greenshank-1": None,
    }  # fmt: skip
    assert document["unknown"] == []
    assert not any(kind in ("spacer", "plate") for kind, _ in needs)


def test_a_fixtures_spacers_are_two_alike(run: Callable, tmp_path: Path) -> None:
    text = (
        (SAMPLES / "curlew.toml")
        .read_text(encoding="utf-8")
        .replace("[bench]\n", "[bench]\nfixture = true\n")
    )
    job = tmp_path / "curlew.toml"
    job.write_text(text, encoding="utf-8")
    (line,) = [need for need in run("shop", job, "--json").json["needs"] if need["kind"] == "spacer"]
    assert (line["what"], line["count"], line["missing"]) == ("4, to turn, alike", 2, 2)
    stock = tmp_path / "stock.toml"
    stock.write_text("spacers = [3, 3, 1, 1]\n", encoding="utf-8")
    document = run("shop", job, "--stock", stock, "--json").json
    counts = {
        need["what"]: (need["count"], need["missing"])
        for need in document["needs"]
        if need["kind"] == "spacer"
    }
    assert counts == {"3": (2, 0), "1": (2, 0)}

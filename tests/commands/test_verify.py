"""What `verify` says of packets: intact or changed, true to size, matching their job and today's tables."""

import json
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pypdf
import pytest
from pypdf import Transformation

from geometry.core.errors import InputError
from geometry.tables import axles, interfaces
from sheets.actions.survey import packet_job
from sheets.files.read.form import read_form
from sheets.filing import replay, verify
from sheets.filing.verify import opened
from sheets.ink.long_bars import bars_of
from sheets.ink.paper import PAPERS
from sheets.job.read import load
from sheets.setup import tables_used
from tests.commands.conftest import REAR, Ran
from tests.files.forms import type_in

Run = Callable[..., Ran]


@pytest.fixture(scope="module")
def drawn(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a packet, its job file, and a picture's worth of other things."""
    folder = tmp_path_factory.mktemp("filed")
    (folder / "knot.toml").write_text(REAR, encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    return folder


@pytest.fixture
def packet(drawn: Path, tmp_path: Path) -> Path:
    """Return a packet alone in its folder, as it was drawn."""
    shutil.copy(drawn / "knot-1.pdf", tmp_path)
    return tmp_path / "knot-1.pdf"


def edited(packet: Path, edit: Callable[[pypdf.PdfWriter], object]) -> Path:
    writer = pypdf.PdfWriter(clone_from=packet)
    edit(writer)
    writer.write(packet)
    return packet


def test_a_fresh_packet_is_intact_and_one_to_one(run: Run, packet: Path) -> None:
    ran = run("verify", packet)
    assert ran.status == 0
    lines = ran.out.splitlines()
    assert lines[0] == f"{packet}: intact"
    assert "saved again" not in ran.out
    assert any(line.startswith("  revision 1, job ") and "made by dropleaf" in line for line in lines)
    assert any("pages are 1:1" in line and "features measured" in line for line in lines)
    assert any("it comes out the same" in line for line in lines)
    assert "no test of a frame and no claim that anything conforms to a standard" in lines[-1]
    assert "no signature" in lines[-1]


def test_its_document(run: Run, packet: Path, drawn: Path) -> None:
    ran = run("verify", packet, "--json")
    document = ran.json
    assert (document["intact"], document["untouched"], document["one_to_one"]) == (True, True, True)
    assert document["matches_job"] is True
    assert document["measured"]["features"] > 10
    assert document["measured"]["largest"] < 0.001
    assert document["changes"] == document["misses"] == document["differences"] == []
    assert document["tables_changed"] == []
    assert document["revision"] == 1
    assert document["parent"] is None
    assert document["job"]["name"] == "knot.toml"
    assert document["tables"] == tables_used.digest_of_all()
    assert set(document["fields"]) == set(read_form(packet).values)


def test_a_filled_form_stays_intact(run: Run, packet: Path) -> None:
    form = read_form(packet)
    name = next(name for name, value in form.values.items() if not value and name.startswith("head."))
    filled = packet.with_name("filled.pdf")
    type_in(packet, filled, {name: "A. Heron"})
    assert read_form(filled).values == {**form.values, name: "A. Heron"}
    ran = run("verify", filled)
    assert ran.status == 0
    assert f"{filled}: intact" in ran.out
    assert "saved again by another program" in ran.out


def test_a_scaled_page_says_by_how_much(run: Run, packet: Path) -> None:
    edited(packet, lambda writer: writer.pages[0].add_transformation(Transformation().scale(0.97)))
    ran = run("verify", packet)
    assert ran.status == 1
    assert f"{packet}: changed\n  changed: page 1: content changed\n" in ran.out
    assert "both bars read 97.00% of their length" in ran.out
    assert ran.errors == [f"dropleaf: {packet}: page 1: content changed (and 1 more)"]


def test_a_page_scaled_with_its_boxes(run: Run, packet: Path) -> None:
    document = run("verify", edited(packet, lambda writer: writer.pages[0].scale_by(0.5)), "--json").json
    assert (document["intact"], document["one_to_one"]) == (False, False)
    assert "page 1: MediaBox is 105.00 × 148.50 mm, the paper is A4, 210 × 297" in document["misses"]
    assert any("both bars read 50.00% of their length" in each for each in document["misses"])


def test_a_packet_that_may_be_scaled_in_print_is_not_one_to_one(run: Run, packet: Path) -> None:
    def unset(writer: pypdf.PdfWriter) -> None:
        del writer.root_object["/ViewerPreferences"]["/PrintScaling"]

    document = run("verify", edited(packet, unset), "--json").json
    assert document["intact"] is False
    assert document["misses"] == ["PrintScaling is not set, must be None"]
    assert document["matches_job"] is True


def test_what_is_no_packet_exits_2_and_the_others_are_still_told(
    run: Run, packet: Path, tmp_path: Path
) -> None:
    (tmp_path / "other.pdf").write_bytes(b"%PDF-1.4\n")
    ran = run("verify", tmp_path / "other.pdf", packet, "--json")
    assert ran.status == 2
    first, second = ran.json
    assert first == {
        "format": "dropleaf-errors",
        "version": 1,
        "packet": str(tmp_path / "other.pdf"),
        "errors": [ran.errors[0].removeprefix("dropleaf: ")],
    }
    assert second["intact"] is True
    assert len(ran.errors) == 1
    assert run("verify").errors[0].startswith("dropleaf: PDF: no packet given")
    assert run("verify", packet, "--all", tmp_path).status == 2


# --- numbers that change later


def _forget(module: ModuleType) -> None:
    for held in vars(module).values():
        if hasattr(held, "cache_clear"):
            held.cache_clear()


@pytest.fixture
def change(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str, str, str], None]]:
    """Return a function that changes a text in a table, for geometry and for the record alike."""
    tables = tmp_path / "tables"
    shutil.copytree(tables_used.FOLDER, tables, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    modules = (interfaces, axles)

    def changed(table: str, old: str, new: str) -> None:
        (file,) = tables.rglob(table)
        text = file.read_text(encoding="utf-8")
        assert text.count(old) == 1
        file.write_text(text.replace(old, new), encoding="utf-8")
        monkeypatch.setattr(tables_used, "FOLDER", tables)
        for module in modules:
            (own,) = tables.rglob(f"{module.__name__.rpartition('.')[2]}.toml")
            monkeypatch.setattr(module, "_FILE", own)
            _forget(module)

    yield changed
    monkeypatch.undo()
    for module in modules:
        _forget(module)


NEAR = "radii.near = { value = 39.9, "


def test_all_finds_nothing_where_nothing_changed(run: Run, drawn: Path, tmp_path: Path) -> None:
    (tmp_path / "2026" / "spring").mkdir(parents=True)
    shutil.copy(drawn / "knot-1.pdf", tmp_path / "2026" / "spring")
    document = run("verify", "--all", tmp_path, "--json").json
    assert (document["packets"], document["other_pdfs"]) == (1, 0)
    assert document["affected"] == document["changed"] == document["unreadable"] == []


def test_all_names_the_number_and_the_packets_that_rest_on_it(
    run: Run, drawn: Path, tmp_path: Path, change: Callable[[str, str, str], None]
) -> None:
    folder = tmp_path / "filed"
    folder.mkdir()
    front = (
        REAR.replace('"rear"', '"front"').replace('"is-rear"', '"is-front"').replace('"135-qr"', '"100-qr"')
    )
    front = front.replace('"chainstay"', '"fork-leg"').replace("tubes.chainstay", "tubes.fork-leg")
    front = front.replace("outset = 5", "outset = 9")
    (tmp_path / "teal.toml").write_text(front.replace("knot-1", "teal-1"), encoding="utf-8")
    assert run("draw", tmp_path / "teal.toml", "--out", folder).status == 0
    shutil.copy(drawn / "knot-1.pdf", folder)
    change("interfaces.toml", NEAR, NEAR.replace("39.9", "40.4"))
    ran = run("verify", "--all", folder, "--json")
    assert ran.status == 1
    assert ran.json["packets"] == 2
    (affected,) = ran.json["affected"]
    assert affected["packet"] == str(folder / "knot-1.pdf")
    assert affected["numbers"] == [
        {"row": "interfaces.toml, row is-rear", "key": "radii.near", "was": 39.9, "now": 40.4}
    ]
    assert any(line.startswith("hole near, centre: moves by 0.") for line in affected["today"])
    assert ran.json["changed"] == []
    text = run("verify", "--all", folder).out
    assert "  interfaces.toml, row is-rear: radii.near was 39.9, is 40.4\n" in text
    assert f"    {folder / 'knot-1.pdf'}\n" in text
    assert "teal" not in text


def test_verify_says_by_how_much_the_holes_move(
    run: Run, packet: Path, change: Callable[[str, str, str], None]
) -> None:
    """Both radii 0.5 more with the same spacing: the holes move outward; own arithmetic, no source."""
    change("interfaces.toml", NEAR, NEAR.replace("39.9", "40.4"))
    document = run("verify", packet, "--json").json
    assert document["intact"] is True
    assert document["matches_job"] is False
    found = {each["what"]: each for each in document["differences"]}
    near = found["hole near, centre"]
    assert near["by"] == pytest.approx(
        sum((a - b) ** 2 for a, b in zip(near["was"], near["now"], strict=True)) ** 0.5, abs=1e-6
    )
    assert sum(side * side for side in near["was"][:2]) ** 0.5 == pytest.approx(39.9, abs=1e-4)
    assert sum(side * side for side in near["now"][:2]) ** 0.5 == pytest.approx(40.4, abs=1e-4)
    assert any(what.startswith("sheet template, ") for what in found)


def test_a_key_that_was_renamed_is_no_number_that_changed() -> None:
    """Lists as the first version filed them: steps of 5 from 10 to 35, 13 beyond and a slack of 0.2."""
    steps = {f"codes.values[{i}]": 10 + 5 * i for i in range(6)}
    row = "fasteners.toml, flat_rear"
    filed = {row: {"digest": "of then", "numbers": {"beyond": 13.0, "slack": 0.2, **steps}}}
    (only,) = tables_used.changed(filed)
    assert (only.row, only.key) == (row, "")
    filed[row]["numbers"]["codes.values[5]"] = 36
    assert [each.key for each in tables_used.changed(filed)] == ["thicknesses.values[5]"]


def test_words_and_numbers_of_another_end_affect_nothing(
    run: Run, drawn: Path, change: Callable[[str, str, str], None]
) -> None:
    change("axles.toml", "100 mm quick release", "100 mm skewer")
    change("interfaces.toml", 'tabface = "Bicycles', 'tabface = "The Bicycles')
    assert run("verify", "--all", drawn, "--json").json["affected"] == []


def test_the_record_has_every_number_of_its_interface_and_axle(packet: Path) -> None:
    rows = json.loads(read_form(packet).attachments["dropleaf-packet.json"])["tables"]["rows"]
    numbers = rows["interfaces.toml, row is-rear"]["numbers"]
    assert (numbers["radii.near"], numbers["radii.far"], numbers["radii.spacing"]) == (39.9, 78.1, 51.0)
    assert numbers["lateral.rear"] == 0.0
    assert "axles.toml, axle 135-qr" in rows
    assert not any("axle 142x12" in name or "row post" in name for name in rows)


def test_all_tells_changed_unreadable_and_other_pdfs(run: Run, drawn: Path, tmp_path: Path) -> None:
    shutil.copy(drawn / "knot-1.pdf", tmp_path / "good.pdf")
    data = (drawn / "knot-1.pdf").read_bytes()
    (tmp_path / "half.PDF").write_bytes(data[: len(data) // 2])
    plain = pypdf.PdfWriter()
    plain.add_blank_page(100, 100)
    plain.write(tmp_path / "plain.pdf")
    shutil.copy(drawn / "knot-1.pdf", tmp_path / "less.pdf")
    edited(tmp_path / "less.pdf", lambda writer: writer.remove_page(0))
    ran = run("verify", "--all", tmp_path, "--json")
    assert ran.status == 2
    assert (ran.json["packets"], ran.json["other_pdfs"]) == (2, 1)
    (changed,) = ran.json["changed"]
    assert changed["packet"] == str(tmp_path / "less.pdf")
    assert len(ran.json["unreadable"]) == 1
    assert "half.PDF" in ran.json["unreadable"][0]
    one, two = (run("verify", "--all", tmp_path, "--jobs", count) for count in ("1", "2"))
    assert (one.status, one.out, one.errors) == (two.status, two.out, two.errors)
    first, second, third, *_ = two.out.splitlines()
    assert first.endswith("1 cannot be read, 1 changed since drawn, 0 affected by changed table numbers")
    assert "half.PDF" in second
    assert third == f"  {tmp_path / 'less.pdf'}: changed since it was drawn"
    assert run("verify", "--all", tmp_path / "none").status == 2


def test_a_job_drawn_for_a_printer_still_matches(
    run: Run, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A corrected packet is measured as its printer would print it."""
    monkeypatch.setenv("DROPLEAF_HOME", str(tmp_path / "home"))
    bars = bars_of(PAPERS["A4"])
    read = ("--across", f"{bars.across * 1.004:.2f}", "--down", f"{bars.down * 0.997:.2f}")
    assert run("printer", "add", "back-room", "--paper", "A4", *read).status == 0
    assert run("draw", job, "--printer", "back-room").status == 0
    document = run("verify", job.parent / "knot-1.pdf", "--json").json
    assert (document["intact"], document["one_to_one"]) == (True, True)
    assert document["measured"]["largest"] < 0.01
    assert document["matches_job"] is True, document["differences"]
    assert load(job).job.paper.printer is None


def test_an_attached_job_is_read_where_it_is(packet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither placing it again nor surveying it writes a file, so that a full disk hinders neither."""
    seen = opened(packet)
    assert seen.job is not None and seen.manifest is not None
    monkeypatch.setattr(tempfile, "mkdtemp", _none_needed)
    today = replay.placed_again(seen.job, "knot.toml", packet.parent, seen.manifest)
    assert today["placement"]["holes"][0]["name"] == "near"
    source = packet_job(packet, {"knot.toml": seen.job}, "knot.toml")
    assert (source.job.frame.id, source.raw, source.path) == ("knot-1", seen.job, packet)
    with pytest.raises(InputError) as wrong:
        packet_job(packet, {"knot.toml": b"frame = 1\n"}, "knot.toml")
    assert all(str(each).startswith(f"{packet}: knot.toml: ") for each in wrong.value.problems)


def _none_needed(*_: object, **__: object) -> str:
    raise AssertionError("a folder was made to read what is at hand")


def test_a_job_that_cannot_be_drawn_today_is_told_without_a_file_that_is_not_there(packet: Path) -> None:
    seen = opened(packet)
    assert seen.job is not None
    unplaced = seen.job + b"[boss]\nnear_length = 20\n"
    for job, told in ((b"frame = 1\n", "frame: 1 given"), (unplaced, "boss.near_length: 20 given")):
        held = replace(seen.seen, attachments={**seen.seen.attachments, "knot.toml": job})
        found, why = verify.placed(replace(seen, seen=held))
        assert found is None
        assert why.startswith(f"its job cannot be drawn today: {told}")

"""A packet that a revision was made from: never drawn over, and missed where it is gone or another."""

import json
import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pypdf
import pytest

from geometry.core.errors import InputError
from sheets.files import record, sets
from sheets.files.read.form import read_form
from sheets.files.read.pdf import attached
from sheets.filing.filed_packets import look_through, packets_in
from sheets.filing.revise import file_survey, revise
from sheets.keeping import lineage
from sheets.pages.running.survey_page import Section
from tests.commands.conftest import REAR, Ran
from tests.files.forms import filed, form_sheet, type_in
from tests.files.shapes import full_sheet

Run = Callable[..., Ran]
READ = [Section(["near hole: 0.10 mm rearward"])]


@pytest.fixture(scope="module")
def pair(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a job, its packet and a revision made from that."""
    folder = tmp_path_factory.mktemp("pair")
    (folder / "knot.toml").write_text(REAR, encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    assert file_survey(folder / "knot-1.pdf", {"state": "cold"}, READ).name == "knot-1-rev2.pdf"
    return folder


@pytest.fixture
def folder(pair: Path, tmp_path: Path) -> Path:
    """Return such a folder to change."""
    shutil.copytree(pair, tmp_path / "shop")
    return tmp_path / "shop"


def edited(folder: Path) -> Path:
    job = folder / "knot.toml"
    job.write_text(REAR.replace("rotor = 160", "rotor = 180"), encoding="utf-8")
    return job


def held(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir() if file.suffix not in (".toml", "")}


def saved_again(packet: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=packet)
    writer.write(packet)


# --- never drawn over


@pytest.mark.parametrize("option", [(), ("--replace",)], ids=["plain", "replace"])
@pytest.mark.parametrize("child", ["as filed", "renamed", "filled in", "saved again"])
def test_a_parent_is_never_drawn_over(run: Run, folder: Path, option: tuple[str, ...], child: str) -> None:
    revision = folder / "knot-1-rev2.pdf"
    if child == "renamed":
        revision = revision.rename(folder / "customer copy.PDF")
    if child == "filled in":
        name = next(name for name, value in read_form(revision).values.items() if not value)
        type_in(revision, folder / "typed.tmp", {name: "A. Heron"})
        (folder / "typed.tmp").replace(revision)
    if child == "saved again":
        saved_again(revision)
    before = held(folder)
    ran = run("draw", edited(folder), *option)
    assert ran.status == 2
    assert ran.errors == [
        f"dropleaf: {folder / 'knot-1.pdf'}: {revision.name} rests on the packet of this name as its parent, "
        "so no other may take its place; give the changed job a name of its own (frame.id), or draw it into "
        "another folder (--out)"
    ]
    assert held(folder) == before


def test_a_parent_changed_past_reading_is_kept_by_its_name(run: Run, folder: Path) -> None:
    packet = folder / "knot-1.pdf"
    packet.write_bytes(packet.read_bytes()[:5000])
    before = held(folder)
    assert run("draw", edited(folder), "--replace").status == 2
    assert held(folder) == before


def test_none_but_the_parent_itself_comes_where_it_was(run: Run, folder: Path) -> None:
    """Moved away, it must not be mistaken for what is drawn after it; drawn again it is itself again."""
    (folder / "knot-1.pdf").rename(folder.parent / "kept.pdf")
    before = held(folder)
    for option in ((), ("--replace",)):
        ran = run("draw", edited(folder), *option)
        assert ran.status == 2
        assert "no other may take its place" in ran.errors[0]
        assert held(folder) == before
    (folder / "knot.toml").write_text(REAR, encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    assert found(run, folder / "knot-1-rev2.pdf")[:2][1]["state"] == "intact"


def test_a_renamed_parent_is_known_by_its_record(folder: Path) -> None:
    renamed = (folder / "knot-1.pdf").rename(folder / "first.pdf")
    assert lineage.children(renamed) == (folder / "knot-1-rev2.pdf",)
    assert lineage.children(folder / "knot-1-rev2.pdf") == ()


def test_the_same_job_and_the_ways_out_that_are_named(run: Run, folder: Path) -> None:
    before = held(folder)
    assert run("draw", folder / "knot.toml").status == 0
    assert held(folder) == before
    assert run("draw", edited(folder), "--out", folder / "new").status == 0
    (folder / "knot.toml").write_text(REAR.replace("knot-1", "knot-1b"), encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    assert {**before, **held(folder)}["knot-1.pdf"] == before["knot-1.pdf"]


def test_there_is_no_second_child_of_one_parent(tmp_path: Path) -> None:
    packet = filed(tmp_path, [full_sheet(), form_sheet()])
    revise(packet, [("a.txt", b"1")]).rename(tmp_path / "elsewhere.pdf")
    with pytest.raises(InputError, match=r"revise\.has_heir\(name='elsewhere\.pdf'\)"):
        revise(packet, [("b.txt", b"1")])


def test_a_name_that_cannot_be_looked_at_hides_no_child(run: Run, folder: Path) -> None:
    """A link to a name longer than any may be: the system refuses to look at what it leads to."""
    before, astray = held(folder), folder / "astray.pdf"
    astray.symlink_to("a" * 300)
    assert lineage.children(folder / "knot-1.pdf") == (folder / "knot-1-rev2.pdf",)
    ended = run("draw", edited(folder), "--replace")
    assert ended.status == 2 and any("knot-1-rev2.pdf" in each for each in ended.errors)
    assert run("verify", "--all", folder).status == 0
    astray.unlink()
    assert held(folder) == before


# --- each packet of a folder is read once


def older(folder: Path) -> None:
    """Have a folder's files be some time old, as what nobody is writing is."""
    for file in folder.iterdir():
        when = file.stat().st_mtime - 100.0
        os.utime(file, (when, when))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[list[str]]]:
    """Return what files were read, at each look in turn; nothing was read before."""
    looks: list[list[str]] = []
    plain = lineage._each_apart

    def heard(files: Sequence[Path]) -> Sequence[lineage.Kin | None]:
        looks.append([file.name for file in files])
        return plain(files)

    monkeypatch.setattr(lineage, "_each_apart", heard)
    monkeypatch.setattr(lineage, "_READ", {})
    yield looks


@pytest.fixture
def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a file with a line for each packet that was read, by children too; nothing was read before."""
    log, plain = tmp_path / "read", lineage._kin

    def heard(file: Path) -> lineage.Kin | None:
        with log.open("a", encoding="utf-8") as told:
            told.write(f"{file.name}\n")
        return plain(file)

    monkeypatch.setattr(lineage, "_kin", heard)
    monkeypatch.setattr(lineage, "_READ", {})
    return log


def test_a_packet_that_is_as_it_was_is_read_once(folder: Path, asked: list[list[str]]) -> None:
    older(folder)
    (folder / "notes.pdf").write_bytes(b"no packet")
    parent, child = folder / "knot-1.pdf", folder / "knot-1-rev2.pdf"
    for _ in range(2):
        assert lineage.children(parent) == (child,)
    assert asked == [["knot-1.pdf"], ["knot-1-rev2.pdf", "notes.pdf"], [], ["notes.pdf"]]


def test_a_packet_that_may_still_be_written_is_read_each_time(folder: Path, asked: list[list[str]]) -> None:
    for _ in range(2):
        (folder / "knot-1-rev2.pdf").touch()
        assert lineage.children(folder / "knot-1.pdf") == (folder / "knot-1-rev2.pdf",)
    assert [each for each in asked if "knot-1-rev2.pdf" in each] == [["knot-1-rev2.pdf"]] * 2


@pytest.mark.parametrize("way", ["in place", "exchanged"])
def test_another_packet_of_the_same_size_is_read_anew(folder: Path, way: str) -> None:
    """Where a revision becomes another file, nobody is held to be its parent any more."""
    older(folder)
    parent, child = folder / "knot-1.pdf", folder / "knot-1-rev2.pdf"
    assert lineage.children(parent) == (child,)
    size, raw = child.stat().st_size, parent.read_bytes()
    # Blanks behind a file's end change nothing in it.
    other = raw.ljust(size) if len(raw) <= size else b"%PDF-1.7".ljust(size)
    if way == "exchanged":
        child.rename(folder / "aside.txt")
    child.write_bytes(other)
    os.utime(child, (child.stat().st_mtime - 50.0,) * 2)
    assert child.stat().st_size == size
    assert lineage.children(parent) == ()


def test_a_folder_is_read_once_for_all_its_revisions(folder: Path, read: Path) -> None:
    """Each revision's parent is sought by a process of its own, which would read them all."""
    for number in range(3):
        shutil.copy(folder / "knot-1-rev2.pdf", folder / f"copy-{number}.pdf")
    older(folder)
    found = look_through(packets_in(folder), 2)
    assert (found.packets, found.orphans, found.status) == (5, (), 0)
    assert sorted(read.read_text(encoding="utf-8").split()) == sorted(
        each.name for each in folder.glob("*.pdf")
    )
    (folder / "knot-1.pdf").unlink()
    gone = look_through(packets_in(folder), 2).orphans
    assert {(path.name, parent.state) for path, parent in gone} == {
        (f"{name}.pdf", "missing") for name in ("knot-1-rev2", "copy-0", "copy-1", "copy-2")
    }


def test_many_packets_verified_by_name_read_their_folder_once(run: Run, folder: Path, read: Path) -> None:
    revisions = [folder / "knot-1-rev2.pdf", *(folder / f"copy-{number}.pdf" for number in range(9))]
    for each in revisions[1:]:
        shutil.copy(revisions[0], each)
    older(folder)
    assert run("verify", *revisions).status == 0
    assert sorted(read.read_text(encoding="utf-8").split()) == sorted(
        each.name for each in folder.glob("*.pdf")
    )


def test_what_is_kept_has_a_bound(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lineage, "_READ", {})
    monkeypatch.setattr(lineage, "_MOST", 2)
    for number in range(4):
        shutil.copy(folder / "knot-1-rev2.pdf", folder / f"copy-{number}.pdf")
    older(folder)
    assert len(lineage.children(folder / "knot-1.pdf")) == 5
    assert len(lineage._READ) == 2


def test_a_folder_where_a_run_is_alive_is_looked_through_once_for_all_that_is_read(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each look goes through all names of the folder, and a drawing reads all packets while it is alive."""
    older(folder)
    looks: list[Path] = []
    plain = sets._staging_in

    def heard(place: Path) -> list[Path]:
        looks.append(place)
        return plain(place)

    monkeypatch.setattr(sets, "_staging_in", heard)
    with sets.stage_in(folder):
        looks.clear()
        assert all(lineage._each([folder / "knot-1.pdf", folder / "knot-1-rev2.pdf"] * 5))
        assert 1 <= len(looks) <= 2
        looks.clear()
        sets.recover(folder)
        assert looks


@pytest.mark.parametrize("way", ["cut", "version"])
def test_a_parent_whose_record_cannot_be_read_is_told_as_that(folder: Path, way: str) -> None:
    """A first packet's record is not taken apart where it is only asked whose it is."""
    parent, child = folder / "knot-1.pdf", folder / "knot-1-rev2.pdf"
    said = attached(child.read_bytes(), record.NAME)
    assert said is not None
    raw = attached(parent.read_bytes(), record.NAME)
    assert raw is not None
    damaged = raw[:-3] if way == "cut" else raw.replace(b'"version":1', b'"version":2', 1)
    writer = pypdf.PdfWriter(clone_from=parent)
    for each in writer.attachment_list:
        if each.name == record.NAME:
            each.content = damaged
    writer.write(parent)
    told = lineage.parent_of(child, record.decoded(said))
    assert told is not None and (told.state, "no longer be read" in told.text) == ("changed", True)


def test_a_key_that_is_spelt_otherwise_is_read_too(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    child = folder / "knot-1-rev2.pdf"
    raw = attached(child.read_bytes(), record.NAME)
    assert raw is not None
    odd = b'{"parent":null,' + raw[1:].replace(b'"parent"', b'"p\\u0061rent"', 1)
    assert json.loads(odd) == json.loads(raw)
    monkeypatch.setattr(lineage, "attached", lambda *_: odd)
    kin = lineage._kin(child)
    assert kin is not None and kin.parent == "knot-1.pdf"


# --- missed


def found(run: Run, child: Path) -> tuple[int, dict[str, str], list[str]]:
    ran = run("verify", child, "--json")
    assert ran.json["intact"] is True
    return ran.status, ran.json["parent_found"], ran.errors


def test_an_intact_parent_is_told(run: Run, folder: Path) -> None:
    status, parent, _ = found(run, folder / "knot-1-rev2.pdf")
    assert (status, parent) == (0, {"state": "intact", "text": "its parent knot-1.pdf is beside it, intact"})
    assert (
        "  parent: its parent knot-1.pdf is beside it, intact\n"
        in run("verify", folder / "knot-1-rev2.pdf").out
    )
    assert run("verify", folder / "knot-1.pdf", "--json").json["parent_found"] is None
    assert run("verify", "--all", folder, "--json").json["parents"] == []


def test_a_filled_parent_is_still_the_parent(run: Run, folder: Path) -> None:
    packet = folder / "knot-1.pdf"
    name = next(name for name, value in read_form(packet).values.items() if not value)
    type_in(packet, folder / "typed.tmp", {name: "A. Heron"})
    (folder / "typed.tmp").replace(packet)
    assert found(run, folder / "knot-1-rev2.pdf")[:2] == (
        0, {"state": "intact", "text": "its parent knot-1.pdf is beside it, intact"},
    )  # fmt: skip


def test_a_parent_that_is_not_there_is_missed_and_no_fault(run: Run, folder: Path) -> None:
    (folder / "knot-1.pdf").unlink()
    status, parent, _ = found(run, folder / "knot-1-rev2.pdf")
    assert (status, parent["state"]) == (0, "missing")
    assert parent["text"] == "its parent knot-1.pdf is not beside it; keep both in one folder"
    document = run("verify", "--all", folder, "--json").json
    assert [each["state"] for each in document["parents"]] == ["missing"]


def test_a_parent_of_another_name_is_found(run: Run, folder: Path) -> None:
    (folder / "knot-1.pdf").rename(folder / "first.pdf")
    status, parent, _ = found(run, folder / "knot-1-rev2.pdf")
    assert (status, parent["text"]) == (0, "its parent lies beside it as first.pdf, intact")


def test_a_parent_that_was_drawn_over_is_a_fault(run: Run, folder: Path) -> None:
    """What an earlier version let happen; played by drawing elsewhere and moving the file."""
    assert run("draw", edited(folder), "--out", folder / "new").status == 0
    (folder / "new" / "knot-1.pdf").replace(folder / "knot-1.pdf")
    child = folder / "knot-1-rev2.pdf"
    status, parent, errors = found(run, child)
    assert (status, parent["state"]) == (1, "another")
    said = (
        "knot-1.pdf beside it is not the packet that it was made from: that one was drawn over, or is "
        "elsewhere"
    )
    assert parent["text"] == said
    assert errors == [f"dropleaf: {child}: {said}"]
    assert f"  PARENT: {said}\n" in run("verify", child).out
    ran = run("verify", "--all", folder, "--json")
    assert ran.status == 1
    assert ran.json["parents"] == [{"packet": str(child), "state": "another", "text": said}]
    assert f"  {child}: PARENT: {said}\n" in run("verify", "--all", folder).out


def test_a_parent_that_was_changed_is_a_fault(run: Run, folder: Path) -> None:
    packet = folder / "knot-1.pdf"
    writer = pypdf.PdfWriter(clone_from=packet)
    writer.remove_page(0)
    writer.write(packet)
    status, parent, _ = found(run, folder / "knot-1-rev2.pdf")
    assert (status, parent["state"]) == (1, "changed")
    assert parent["text"].startswith(
        "its parent knot-1.pdf is beside it, and is not as it was drawn: pages: "
    )
    packet.write_bytes(packet.read_bytes()[:5000])
    status, parent, _ = found(run, folder / "knot-1-rev2.pdf")
    assert (status, parent["state"]) == (1, "changed")
    assert "can no longer be read as a packet" in parent["text"]


def test_the_chain_is_followed_from_revision_to_revision(run: Run, folder: Path) -> None:
    third = file_survey(folder / "knot-1-rev2.pdf", {"state": "aligned"}, READ)
    record = json.loads(read_form(third).attachments["dropleaf-packet.json"])
    assert record["parent"]["file"] == "knot-1-rev2.pdf"
    assert lineage.children(folder / "knot-1-rev2.pdf") == (third,)
    (folder / "knot-1-rev2.pdf").unlink()
    document = run("verify", "--all", folder, "--json").json
    assert [(Path(each["packet"]).name, each["state"]) for each in document["parents"]] == [
        ("knot-1-rev3.pdf", "missing")
    ]

"""Pages of ours that are no packets: told apart, passed by in a folder, and named where one is verified."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from sheets.actions import book
from sheets.files import kinds
from tests.commands.conftest import Ran

Run = Callable[..., Ran]
ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
FIRST = Path(__file__).parents[1] / "filed" / "first"


@pytest.fixture(scope="module")
def folder(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder as the book fills it: a packet, the shop's list, a proof and a measuring sheet."""
    drawn = tmp_path_factory.mktemp("drawn")
    assert run("draw", SAMPLES / "dunlin.toml", "--out", drawn).status == 0
    assert run("shop", SAMPLES, "--pdf", drawn / "bench.pdf").status == 0
    assert run("proof", "--out", drawn).status == 0
    assert run("blank", "--out", drawn).status == 0
    return drawn


def test_the_book_writes_the_list_into_the_folder_that_it_verifies() -> None:
    text = "".join(map(book.text, book.pages()))
    for line in (
        "dropleaf draw samples/dunlin.toml --out drawn",
        "dropleaf shop samples --pdf drawn/bench.pdf",
        "dropleaf verify --all drawn\n",
    ):
        assert line in text


def test_a_folder_with_all_of_them_is_sound(run: Run, folder: Path) -> None:
    ran = run("verify", "--all", folder, "--json")
    assert ran.status == 0
    assert ran.errors == []
    assert (ran.json["packets"], ran.json["other_pdfs"], ran.json["unreadable"]) == (1, 0, [])
    assert ran.json["other_pages"] == {"shop": 1, "proof": 1, "blank": 1}
    first = run("verify", "--all", folder).out.splitlines()[0]
    assert first.startswith(f"{folder}: 1 packet, ")
    assert all(
        f", {said}" in first for said in ("a list for the bench", "a printer's proof", "a measuring sheet")
    )


@pytest.mark.parametrize(
    ("file", "what"),
    [
        ("bench.pdf", "a list for the bench"),
        ("proof-A4.pdf", "a printer's proof"),
        ("measuring-sheet-A4.pdf", "a measuring sheet"),
    ],
)
def test_one_of_them_alone_says_what_it_is(run: Run, folder: Path, file: str, what: str) -> None:
    ran = run("verify", folder / file)
    assert ran.status == 2
    assert ran.errors == [
        f"dropleaf: {folder / file}: this is {what}, no packet of a frame; give a PDF that dropleaf draw "
        "wrote"
    ]
    assert ran.out == ""


def test_the_recall_page_is_told_too_and_written_again(run: Run, tmp_path: Path) -> None:
    shutil.copy(FIRST / "dunlin-1.pdf", tmp_path)
    for _ in range(2):
        ran = run("verify", "--all", tmp_path, "--pdf", tmp_path / "recall.pdf", "--json")
        assert ran.status == 1
        assert ran.json["packets"] == 1
    assert ran.json["other_pages"] == {"recall": 1}
    assert "this is a recall page" in run("verify", tmp_path / "recall.pdf").errors[0]


def test_a_mark_outlives_another_program(run: Run, folder: Path, tmp_path: Path) -> None:
    for name in ("bench.pdf", "measuring-sheet-A4.pdf"):
        writer = pypdf.PdfWriter(clone_from=folder / name)
        writer.write(tmp_path / name)
    assert run("verify", "--all", tmp_path, "--json").json["other_pages"] == {"shop": 1, "blank": 1}


def test_pages_of_before_there_were_marks_are_other_pdfs(run: Run, folder: Path, tmp_path: Path) -> None:
    for name in ("bench.pdf", "proof-A4.pdf"):
        writer = pypdf.PdfWriter(clone_from=folder / name)
        said = {"/Title": "On the bench", "/Producer": "Dropleaf"}
        writer.metadata = said
        writer.write(tmp_path / name)
    shutil.copy(folder / "dunlin-1.pdf", tmp_path)
    ran = run("verify", "--all", tmp_path, "--json")
    assert ran.status == 0
    assert (ran.json["packets"], ran.json["other_pdfs"], ran.json["other_pages"]) == (1, 2, {})


def test_a_packet_without_its_record_is_still_no_other_pdf(run: Run, folder: Path, tmp_path: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=folder / "dunlin-1.pdf")
    del writer.root_object["/Names"]
    writer.write(tmp_path / "dunlin-1.pdf")
    ran = run("verify", "--all", tmp_path, "--json")
    assert ran.status == 2
    assert "the attachment dropleaf-packet.json is missing" in ran.json["unreadable"][0]


def test_what_an_interrupt_left_in_a_folder_is_passed_by(run: Run, folder: Path, tmp_path: Path) -> None:
    left = tmp_path / ".dropleaf-1234" / "new"
    left.mkdir(parents=True)
    shutil.copy(folder / "dunlin-1.pdf", left)
    shutil.copy(folder / "dunlin-1.pdf", tmp_path)
    assert run("verify", "--all", tmp_path, "--json").json["packets"] == 1


def test_start_wants_a_measuring_sheet_and_no_other_page(run: Run, folder: Path) -> None:
    ran = run("start", "--from", folder / "proof-A4.pdf", "--yes")
    assert ran.status == 2
    assert ran.errors == [
        f"dropleaf: {folder / 'proof-A4.pdf'}: this is no measuring sheet; dropleaf blank makes one"
    ]


def test_marks_are_of_known_kinds_alone() -> None:
    assert {kinds.kind_of(kinds.mark(kind)) for kind in kinds.PAGES} == set(kinds.PAGES)
    assert kinds.kind_of("") == kinds.kind_of("bicycles") == kinds.kind_of("dropleaf page: poem") == ""
    with pytest.raises(ValueError, match="poem"):
        kinds.mark("poem")
    assert kinds.called("proof", 2) == "2 printers' proofs"

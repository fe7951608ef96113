"""The one reader of files that somebody gives: bounded, and each refusal says where, what and what to do."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.core.errors import InputError, Problem
from geometry.core.say import Say, say
from sheets.actions.learn import document_of
from sheets.actions.readings_file import entries_of
from sheets.actions.shop import stock_file
from sheets.files.bounded import LARGEST, decoded, read_bytes
from sheets.files.read import form
from sheets.guide.starting import answers_file
from sheets.home.own_operations import own_operations
from sheets.home.printers import known
from sheets.job.read import read
from sheets.words.tell import lines
from tests.outside_tools import device, pipe

OR = "; or leave it out"
READERS: list[Callable[[Path], object]] = [
    answers_file, document_of, entries_of, known, own_operations, read, stock_file,
]  # fmt: skip


@pytest.mark.parametrize("reader", READERS)
def test_a_text_that_is_too_large_is_refused_by_every_reader(
    reader: Callable[[Path], object], tmp_path: Path
) -> None:
    file = tmp_path / "large.toml"
    file.write_bytes(b"#" * (LARGEST + 1))
    with pytest.raises(InputError) as caught:
        reader(file)
    (problem,) = caught.value.problems
    assert problem.where == str(file)
    assert problem.what.code == "files.too_large"
    assert problem.what["fault"]["size"] == "256 kB"


@pytest.mark.parametrize("reader", READERS)
def test_what_never_ends_is_refused_by_every_reader(reader: Callable[[Path], object], tmp_path: Path) -> None:
    """Neither waits: a pipe that nobody writes to would hang whoever opens it plainly (POSIX, open)."""
    zeros = tmp_path / "zeros.toml"
    zeros.symlink_to(device("/dev/zero"))
    for file, kind in ((pipe(tmp_path / "pipe.toml"), "fifo"), (zeros, "device")):
        with pytest.raises(InputError) as caught:
            reader(file)
        (problem,) = caught.value.problems
        assert (problem.where, problem.what) == (
            str(file),
            say("files.special", kind=say(f"files.special_kind.{kind}")),
        )


def test_a_file_is_read_no_further_than_it_may_be_large(tmp_path: Path) -> None:
    large = tmp_path / "large.pdf"
    with large.open("wb") as stream:
        stream.truncate(form.LARGEST + 1)
    with pytest.raises(
        InputError, match=r"files\.too_large\(fault=files\.larger\(size='100 MB'\), usual=form\.no_packet\)"
    ):
        form.load(large)


def test_as_many_bytes_as_allowed_are_read(tmp_path: Path) -> None:
    (tmp_path / "full").write_bytes(b"abc")
    assert read_bytes(tmp_path / "full", "", 3) == b"abc"
    with pytest.raises(
        InputError, match=r"files\.too_large\(fault=files\.larger\(size='0 kB'\), usual='short'\)"
    ):
        read_bytes(tmp_path / "full", "short", 2)


def test_a_missing_file_is_told_with_its_neighbour_or_has_no_bytes(tmp_path: Path) -> None:
    (tmp_path / "herring.toml").write_bytes(b"")
    (tmp_path / "herin.pdf").write_bytes(b"")
    (tmp_path / "herin").mkdir()
    missing = tmp_path / "hering.toml"
    assert read_bytes(missing, "", missing=None) == b""
    with pytest.raises(InputError) as caught:
        read_bytes(missing, "")
    assert lines(caught.value) == [f"{missing}: there is no such file, did you mean herring.toml?"]
    with pytest.raises(InputError, match=r"herin\.pdf"):
        read_bytes(tmp_path / "heron.pdf", "")


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (PermissionError(13, "Permission denied"), say("files.no_permission", instead=OR)),
        (
            OSError(5, "Input/output error"),
            say("files.unreadable", reason="Input/output error", instead=OR),
        ),
    ],
)
def test_what_the_system_refuses_is_told(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, error: OSError, said: Say
) -> None:
    def refuse(*_: object) -> None:
        raise error

    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(InputError) as caught:
        read_bytes(tmp_path / "a", "", instead=OR)
    assert caught.value.problems == (Problem(str(tmp_path / "a"), said),)


def test_a_folder_or_a_pdf_is_told_with_what_to_give_in_its_place(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"files\.a_folder\(folder='the list'\)"):
        read_bytes(tmp_path, "", folder="the list")
    with pytest.raises(InputError, match=r"files\.unreadable"):
        read_bytes(tmp_path, "")
    # Too large as well: that it is a PDF helps more.
    (tmp_path / "a.pdf").write_bytes(b"%PDF-1.7")
    with pytest.raises(InputError, match=r"files\.a_pdf\(instead='give a text'\)"):
        read_bytes(tmp_path / "a.pdf", "", 5, pdf="give a text")


def test_a_byte_that_is_no_text_is_told_with_its_line() -> None:
    assert decoded("\ufeffØ".encode(), "") == "Ø"
    with pytest.raises(InputError, match=r"^files\.line\(line=2\): files\.not_utf8_byte\(byte='0xff'\)$"):
        decoded(b"a\n\xff", "files.not_utf8_byte")

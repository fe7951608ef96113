"""A frame's draft, its file and its text by what a page gets: two lose nothing of each other."""

import contextlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sheets.desk import edit
from sheets.files import sets
from tests.desk.conftest import Client
from tests.desk.test_frame import keep, see

TILT = "By how many degrees is the mount turned about the axle from its tube?"


def kept_text(desk: Client, text: str, state: Any) -> Any:
    """Return what the page gets when a text is kept that was typed over what it has seen."""
    value = {"text": text, "digest": state["digest"], "draft": state["draft"], "whole": True}
    return desk.post("/frame/dunlin/set", value).json


def test_a_text_typed_over_an_older_draft_does_not_take_another_pages_answer_away(
    desk: Client, folder: Path
) -> None:
    older = see(desk)
    text = (folder / "dunlin.toml").read_text().replace("# A clean model", "# My own model")
    keep(desk, older["digest"], "mount.tilt", "3")
    told = kept_text(desk, text, older)
    assert see(desk)["values"]["mount.tilt"] == "3" and not (folder / "dunlin.edited").exists()
    conflict = told["conflict"]
    assert conflict["of"] == "draft" and conflict["mine"] == text and "tilt = 3" in conflict["theirs"]
    assert conflict["changes"] == {TILT: ""}
    # Who has seen the draft as it is may put a text in its place.
    assert kept_text(desk, text, told)["conflict"] is None
    assert "mount.tilt" not in see(desk)["values"]


def test_a_text_that_meets_another_file_is_in_the_conflict_and_may_be_kept_on_it(
    desk: Client, folder: Path
) -> None:
    file, older = folder / "dunlin.toml", see(desk)
    text = file.read_text().replace("# A clean model", "# My own model")
    file.write_text(file.read_text() + "\n# Measured again on Monday.\n")
    other = file.read_text()
    conflict = kept_text(desk, text, older)["conflict"]
    assert (conflict["of"], conflict["theirs"], conflict["mine"]) == ("file", other, text)
    settle = {"mine": True, "digest": see(desk)["digest"], "text": text, "whole": True}
    settled = desk.post("/frame/dunlin/settle", settle).json
    assert settled["conflict"] is None and settled["text"] == text and file.read_text() == other
    desk.post("/frame/dunlin/write", {"digest": settled["digest"]})
    assert file.read_text() == text


def test_a_file_that_changes_just_before_an_answer_is_kept_is_a_conflict(
    desk: Client, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, digest = folder / "dunlin.toml", see(desk)["digest"]

    @contextlib.contextmanager
    def late(of: Path) -> Iterator[None]:
        file.write_text(file.read_text() + "# Monday\n")
        with edit_alone(of):
            yield

    edit_alone = edit.alone
    monkeypatch.setattr(edit, "alone", late)
    assert keep(desk, digest, "mount.tilt", "3")["conflict"] is not None
    assert not (folder / "dunlin.changes").exists()


def test_a_draft_that_the_file_cannot_take_is_a_conflict_and_may_be_dropped(
    desk: Client, folder: Path
) -> None:
    file = folder / "dunlin.toml"
    shorter = file.read_text().replace("[[28, 14], [120, 16], [380, 16]]", "[[28, 14]]")
    assert keep(desk, see(desk)["digest"], "tubes.seatstay.place.3", "22@380")["changed"]
    draft = (folder / "dunlin.changes").read_bytes()
    file.write_text(shorter)
    assert desk.get("/frame/dunlin").status == 200
    state = see(desk)
    assert "380: 22" in state["conflict"]["mine"] and state["conflict"]["theirs"] == shorter
    assert state["conflict"]["of"] == "broken" and "A third place" in state["conflict"]["told"]["what"]
    refused = desk.post("/frame/dunlin/settle", {"mine": True, "digest": state["digest"]})
    assert refused.status == 400 and (folder / "dunlin.changes").read_bytes() == draft
    settled = desk.post("/frame/dunlin/settle", {"mine": False, "digest": state["digest"]}).json
    assert settled["conflict"] is None and not settled["changed"] and file.read_text() == shorter


def test_a_text_too_large_to_be_read_again_is_not_kept(desk: Client, folder: Path) -> None:
    state = see(desk)
    value = {"digest": state["digest"]}
    value["text"] = (folder / "dunlin.toml").read_text() + "# a line that says nothing at all\n" * 9000
    refused = desk.post("/frame/dunlin/set", value)
    assert refused.status == 400 and "kB" in refused.problems
    assert see(desk)["conflict"] is None and not (folder / "dunlin.edited").exists()


def test_a_file_that_changes_while_a_draft_is_staged_is_not_overwritten(
    desk: Client, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file, digest = folder / "dunlin.toml", see(desk)["digest"]
    keep(desk, digest, "mount.tilt", "3")
    other, recover = file.read_text() + "# Monday\n", sets.recover_alone

    def late(target: Path) -> None:
        recover(target)
        if any((each / "new" / file.name).exists() for each in target.glob(f"{sets.PREFIX}*")):
            # What another program does once the new file is staged.
            file.write_text(other)

    monkeypatch.setattr(sets, "recover_alone", late)
    told = desk.post("/frame/dunlin/write", {"digest": digest})
    assert told.status == 400 and "dunlin.toml" in told.problems and file.read_text() == other
    assert see(desk)["conflict"]["changes"] == {TILT: "3"}

"""Sets of files whose run was killed at any point, and the run after it too: whole sets, nothing else."""

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from geometry.core.errors import DeliveryError
from sheets.actions.samples import all_copied
from sheets.files import sets
from sheets.files.bounded import read_bytes
from sheets.files.write.deliver import staging
from sheets.filing.filed_packets import packets_in
from sheets.guide.draft import changes_of, keep_changes
from tests.soak import kills
from tests.soak.kills import CASES, NEVER, Bench, child, strike_all, tree

OLD = {"a": b"old a", "c": b"old c"}
NEW = {"a": b"new a", "b": b"new b", "c": b"new c"}


def _put(target: Path, fresh: bool = False) -> int:
    with staging(target, fresh=fresh) as stage:
        for name, raw in NEW.items():
            (stage / name).write_bytes(raw)
    return 0


def _begun(target: Path, files: dict[str, bytes]) -> Path:
    target.mkdir()
    for name, raw in files.items():
        (target / name).write_bytes(raw)
    return target


def _recovered(target: Path) -> int:
    sets.recover(target)
    return 0


@pytest.mark.parametrize(("links", "fresh"), [(True, False), (False, False), (True, True), (False, True)])
def test_a_set_is_old_or_new_wherever_it_and_the_next_run_were_killed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, links: bool, fresh: bool
) -> None:
    if not links:
        # As a memory card has it.
        def refuse(self: Path, target: Path) -> None:
            raise OSError(errno.EPERM, os.strerror(errno.EPERM))

        monkeypatch.setattr(Path, "hardlink_to", refuse)
    old = {"other": b"other"} if fresh else OLD
    ends: set[bool] = set()
    _begun(tmp_path / "whole", old)
    _, points, _ = child(lambda: _put(tmp_path / "whole", fresh))
    for at in range(1, points + 1):
        target = tmp_path / f"{at}"
        _begun(target, old)
        assert child(lambda t=target: _put(t, fresh), at)[0] == -9  # type: ignore[misc]
        _, more, _ = child(lambda t=target: _recovered(t), NEVER)  # type: ignore[misc]
        assert tree(target) in (old, old | NEW)
        assert not kills.staging_in(target)
        ends.add(tree(target) == old | NEW)
        # The next run is killed as well, and the one after it mends what both left.
        for later in range(1 + at % 9, more + 1, 9):
            again = tmp_path / f"{at}-{later}"
            _begun(again, old)
            child(lambda t=again: _put(t, fresh), at)  # type: ignore[misc]
            assert child(lambda t=again: _recovered(t), later)[0] == -9  # type: ignore[misc]
            sets.recover(again)
            assert (tree(again), kills.staging_in(again)) == (tree(target), [])
    assert ends == {False, True}


@pytest.mark.parametrize(
    "case", [each for each in CASES if each.name in ("printer", "start")], ids=lambda each: each.name
)
def test_a_command_struck_at_any_point_leaves_old_or_new(case: kills.Case, tmp_path: Path) -> None:
    bench = Bench(case, tmp_path)
    assert bench.points > 15
    assert strike_all(bench, 8) == []


def test_samples_are_whole_after_the_next_run_wherever_one_was_killed(tmp_path: Path) -> None:
    all_copied(tmp_path / "whole")
    count = len(tree(tmp_path / "whole"))
    # A file is put in place by a link.
    for at in (1, 5, count - 3, count):
        target, links = tmp_path / f"{at}", 0

        def die(what: str, file: str, at: int = at) -> None:
            nonlocal links
            links += what == "os.link"
            if links == at:
                kills.killed(what, file)

        assert child(lambda t=target: len(all_copied(t)), 1, die, lasting=True)[0] == -9  # type: ignore[misc]
        all_copied(target)
        assert (tree(target), kills.staging_in(target)) == (tree(tmp_path / "whole"), [])


def test_a_disk_that_takes_no_writing_refuses_to_delete_a_draft_and_not_where_there_is_none(
    tmp_path: Path,
) -> None:
    job = tmp_path / "knot.toml"

    def tell() -> int:
        with pytest.raises(DeliveryError, match="cannot be deleted: Read-only file system"):
            keep_changes(job, {})
        return 0

    # Such a disk refuses to delete even what is not there, before it looks.
    assert child(lambda: keep_changes(job, {}) or 0, 1, kills.read_only, lasting=True)[0] == 0
    changes_of(job).write_text("", encoding="utf-8")
    assert child(tell, 1, kills.read_only, lasting=True)[0] == 0


def test_a_living_run_is_let_be(tmp_path: Path) -> None:
    _begun(tmp_path / "x", OLD)
    with staging(tmp_path / "x") as stage:
        (stage / "a").write_bytes(b"new a")
        assert child(lambda: _recovered(tmp_path / "x"))[0] == 0
        assert stage.is_dir()
    assert tree(tmp_path / "x") == OLD | {"a": b"new a"}


def _half(target: Path, name: str = "b") -> None:
    """Leave a set of which the file `name` is the first that is not in place."""
    _begun(target, OLD)
    count = 0

    def die(what: str, file: str) -> None:
        nonlocal count
        count += what == "os.rename"
        # The first rename puts the journal in place.
        if count == 2 + sorted(NEW).index(name):
            kills.killed(what, file)

    assert child(lambda: _put(target), 1, die, lasting=True)[0] == -9
    assert len(kills.staging_in(target)) > 0


def test_who_reads_a_folder_counts_no_staging_and_finds_whole_sets(tmp_path: Path) -> None:
    with staging(tmp_path) as stage:
        for place in (stage, tmp_path):
            (place / "1.pdf").write_bytes(b"%PDF")
        assert packets_in(tmp_path) == [tmp_path / "1.pdf"]
    _half(tmp_path / "below")
    assert (tmp_path / "below" / "c").read_bytes() == b"old c"
    assert packets_in(tmp_path) == [tmp_path / "1.pdf"]
    assert tree(tmp_path / "below") == NEW
    _half(tmp_path / "read")
    assert read_bytes(tmp_path / "read" / "c", "") == b"new c"
    assert tree(tmp_path / "read") == NEW


def test_what_somebody_changed_since_is_not_written_over(tmp_path: Path) -> None:
    target = tmp_path / "x"
    _half(target)
    assert tree(target)["a"] == b"new a"
    (target / "c").write_bytes(b"mended by hand")
    sets.recover(target)
    assert tree(target) == NEW | {"c": b"mended by hand"}


@pytest.mark.parametrize(
    "journal",
    [
        '[["../x", [1, 1], null]]', '[["..", [1, 1], null]]', '[["", [1, 1], null]]', "[[1, 2, 3]]", "[",
        "[" * 100_000, "{}", '[["/tmp/x", [1, 1], null]]', '["a"]',
    ],
)  # fmt: skip
def test_a_journal_that_is_not_ours_moves_nothing(tmp_path: Path, journal: str) -> None:
    target = tmp_path / "in" / "x"
    target.parent.mkdir()
    (tmp_path / "in" / "y").write_bytes(b"mine")
    _half(target)
    (stage,) = target.glob(f"{sets.PREFIX}*")
    (stage / "go.json").write_text(journal, encoding="utf-8")
    before = tree(tmp_path)
    sets.recover(target)
    outside = {name: raw for name, raw in tree(tmp_path).items() if stage.name not in name}
    assert outside == {name: raw for name, raw in before.items() if stage.name not in name}


def test_what_dead_runs_left_before_there_were_locks_goes_too(tmp_path: Path) -> None:
    target = _begun(tmp_path / "x", OLD)
    for name in ("1", "2"):
        for place in ("new", "kept"):
            (target / f"{sets.PREFIX}{name}" / place).mkdir(parents=True)
        (target / f"{sets.PREFIX}{name}" / "new" / "b").write_bytes(b"half")
    only = target / f"{sets.PREFIX}2" / "kept" / "a"
    only.write_bytes(b"the only copy")
    sets.recover(target)
    assert kills.staging_in(target) == [only.parents[1].name]
    assert only.read_bytes() == b"the only copy"


def test_a_staging_folder_that_leads_elsewhere_moves_nothing(tmp_path: Path) -> None:
    target = tmp_path / "x"
    _half(target)
    (stage,) = target.glob(f"{sets.PREFIX}*")
    _begun(tmp_path / "mine", {"b": b"mine"})
    (stage / "new").rename(tmp_path / "aside")
    (stage / "new").symlink_to(tmp_path / "mine")
    sets.recover(target)
    assert tree(tmp_path / "mine") == {"b": b"mine"}


def test_another_run_that_is_never_done_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with (
        sets.alone_in(tmp_path),
        pytest.raises(DeliveryError, match=r"deliver\.busy\(seconds=0\.03\)"),
        sets.alone_in(tmp_path, 0.03),
    ):
        pass
    ran: list[bool] = []
    held: Callable[[int], bool] = _no_locks
    monkeypatch.setattr(sets, "_grip", held)
    with sets.alone_in(tmp_path), sets.alone_in(tmp_path):
        ran.append(_put(tmp_path / "new") == 0)
    assert ran == [True]
    assert tree(tmp_path / "new") == NEW


def _no_locks(_: int) -> bool:
    raise OSError(errno.ENOLCK, os.strerror(errno.ENOLCK))

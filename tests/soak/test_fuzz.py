"""The small profiles of what is run by hand at length: seeds that every run tries alike."""

import pytest

from tests.soak import fuzz_jobs, fuzz_packets


def test_damaged_packets_are_told_or_show_what_was_drawn() -> None:
    table = fuzz_packets.run(seed=1, count=40, renderers=("poppler",))
    assert table.told == []
    assert table.seen["files"] == 40
    assert table.seen["intact"] and table.seen["changed"] and table.seen["refused"]


@pytest.mark.parametrize(
    ("command", "plain", "count"), [("check", False, 40), ("check", True, 5), ("draw", True, 1)]
)
def test_mutated_jobs_are_placed_told_or_refused(command: str, plain: bool, count: int) -> None:
    table = fuzz_jobs.run(1, count, command, plain)
    assert table.told == []
    assert table.seen["files"] == count
    # Of one drawn job nothing is promised but that it breaks nothing.
    assert table.seen["done"] + table.seen["told"] > 0 or count == 1

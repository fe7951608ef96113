"""The small profiles of what is run by hand at length: seeds that every run tries alike."""

from tests.soak import fuzz_packets


def test_damaged_packets_are_told_or_show_what_was_drawn() -> None:
    table = fuzz_packets.run(seed=1, count=40, renderers=("poppler",))
    assert table.told == []
    assert table.seen["files"] == 40
    assert table.seen["intact"] and table.seen["changed"] and table.seen["refused"]

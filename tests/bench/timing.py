"""How the benches time a piece of work."""

import time
from collections.abc import Callable

ROUNDS = 5
"""Runs that are timed."""


def took(work: Callable[[], object]) -> list[float]:
    """Return the processor times of some runs, ms, after one that is not counted."""
    work()
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(1000.0 * (time.process_time() - start))
    return times

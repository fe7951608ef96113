"""Eight runs at once on one folder, half of them killed."""

from pathlib import Path

import pytest

from tests.soak.at_once import sets_at_once


@pytest.mark.parametrize("seed", [1, 2])
def test_no_set_is_of_two_runs_and_no_success_is_lost(tmp_path: Path, seed: int) -> None:
    assert sets_at_once(tmp_path, 8, 3, seed) == []

"""Which measured mounts are of one maker: names, misspelt names, codes, and nobody."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sheets.actions.makers import makers
from tests.commands.measured_mounts import by, mount


@pytest.mark.parametrize(
    ("names", "count"),
    [
        (("Saltmarsh", "Mudflat", "Reedbed"), 3),
        # One name in several spellings, and a maker with his models.
        (("Saltmarsh", "salt-marsh", "Saltmarsch"), 1),
        (("Saltmarsh 1", "Saltmarsh 2"), 1),
        # One name between two that are unlike makes them one.
        (("Saltmarsh 1", "Saltmarsh Cycle Works", "Saltmarsh"), 1),
        (("Saltmarsh 1", "Mudflat", "Saltmarsh Cycle Works", "Saltmarsh"), 2),
        # Nobody wants to name them: a code is another's, however like it the others look.
        (("maker A", "maker B", "maker C"), 3),
        (("A", "Maker A", "maker-a"), 1),
        (("maker 1", "maker 2", "maker 12"), 3),
        # Whoever is meant by a code may be one of those that others name.
        (("Saltmarsh", "Mudflat", "maker A"), 2),
        (("maker A", "maker B", "Saltmarsh"), 2),
        (("maker A", "maker B", "maker C", "Saltmarsh", "Mudflat"), 3),
        (("", "unknown", "n/a"), 1),
    ],
)
def test_makers_are_counted_as_few_as_they_may_be(names: tuple[str, ...], count: int) -> None:
    found = makers(names)
    assert len(set(found)) == count
    # Whatever the order in which their files are given.
    assert len(set(makers(names[::-1]))) == count


def test_mounts_of_three_makers_that_nobody_names_make_grade_m(run: Callable, tmp_path: Path) -> None:
    files = [
        mount(tmp_path / f"{code}.toml", f"frame {code}", up, by(f"maker {code}"))
        for code, up in (("A", 0.0), ("B", 0.1), ("C", -0.1))
    ]
    ran = run("learn", "--pool", *files, "--json")
    (group,) = ran.json["groups"]
    assert (ran.status, group["makers"], group["grade"]) == (0, 3, "M")


def test_a_maker_in_code_may_be_one_that_is_named(run: Callable, tmp_path: Path) -> None:
    files = [
        mount(tmp_path / f"{place}.toml", f"frame {place}", up, by(maker))
        for place, (maker, up) in enumerate((("Saltmarsh", 0.0), ("Mudflat", 0.1), ("maker A", -0.1)))
    ]
    (group,) = run("learn", "--pool", *files, "--json").json["groups"]
    assert (group["makers"], group["grade"]) == (2, "own")
    assert "Saltmarsh and maker A may be one maker, and count as one." in group["sentences"]

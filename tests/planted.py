"""Rows planted in a copy of the tables, as somebody adds a new standard: for geometry and for records."""

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import ModuleType

import pytest

from geometry.survey import open_numbers
from geometry.tables import adapters, interfaces
from sheets.setup import tables_used

# Like a post mount, but with its holes 82.0 apart: invented, no source.
POST_82 = """
[[row]]
name = "post-82"
title = "post mount 82, rear"
family = "post"
ends = ["rear"]
provisional = true
screw = "-n"
note = "Invented: no caliper for it is known."
at.180.h = { value = 66.56, grade = "D", source = "post82" }
at.180.x_near = { value = 5.2, low = 5.2, high = 11.8, grade = "D", source = "post82" }
at.203.h = { value = 76.52, grade = "D", source = "post82" }
at.203.x_near = { value = 11.0, low = 11.0, high = 17.55, grade = "D", source = "post82" }
spacing = { value = 82.0, grade = "D", source = "post82" }
lateral.rear = { value = -3.75, tolerance = 1.0, grade = "D", source = "post82", rests_on = "rotor" }
hole = { kind = "thread", value = 5.0, grade = "D", source = "iso2306", screw = "M6", screw_source = "m6" }
boss.diameter = { value = 13.0, grade = "D", source = "post82" }
boss.length = { value = 15.0, grade = "D", source = "post82" }
"""
_SOURCE = 'post82 = "invented, no source: a post mount with its holes further apart"\n'
_CACHES: tuple[ModuleType, ...] = (interfaces, adapters, open_numbers)


@contextmanager
def planted(folder: Path, row: str = POST_82) -> Iterator[None]:
    """Work with tables that have one row more, behind all others; the folder is to hold the copy."""
    tables = folder / "tables"
    shutil.copytree(tables_used.FOLDER, tables, ignore=shutil.ignore_patterns("*.py", "__pycache__"))
    (file,) = tables.rglob("interfaces.toml")
    text = file.read_text(encoding="utf-8").replace("[sources]\n", f"[sources]\n{_SOURCE}", 1)
    head, mark, rest = text.partition("# A second published set")
    assert mark
    file.write_text(f"{head}{row.lstrip()}\n{mark}{rest}", encoding="utf-8")
    with pytest.MonkeyPatch.context() as patching:
        patching.setattr(tables_used, "FOLDER", tables)
        patching.setattr(interfaces, "_FILE", file)
        _forget()
        try:
            yield
        finally:
            patching.undo()
            _forget()


def _forget() -> None:
    for module in _CACHES:
        for held in vars(module).values():
            if hasattr(held, "cache_clear"):
                held.cache_clear()

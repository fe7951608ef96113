"""Writes the manual page, made from the commands' help, before a wheel is built, which takes it in."""

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class ManualPage(BuildHookInterface):
    """The build's own hook, by the name that pyproject.toml gives its file."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Write build/dropleaf.1; of the program's libraries only click is needed for that."""
        sys.path.insert(0, self.root)
        import click

        from sheets.cli import dropleaf
        from sheets.manual import manual

        page = Path(self.root) / "build" / "dropleaf.1"
        page.parent.mkdir(exist_ok=True)
        with click.Context(dropleaf, info_name="dropleaf") as top:
            page.write_text(f"{manual(top)}\n", encoding="utf-8", newline="\n")

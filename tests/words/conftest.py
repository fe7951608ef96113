"""What tests of sentences share with those of commands."""

from tests.commands.conftest import run

__all__ = ["run"]

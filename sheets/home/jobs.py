"""Job files as their builder means them: with the rows of the builder's own table."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sheets.home.own_rows import choose
from sheets.job import read
from sheets.job.read import Job, JobFile


def load(file: Path) -> JobFile:
    """Return the job in a file, with its bytes; raise InputError with all its problems."""
    return read.load(file, choose)


def from_bytes(raw: bytes, file: Path) -> JobFile:
    """Return the job in bytes as if `file` held them; raise InputError, its problems led by their keys."""
    return read.from_bytes(raw, file, choose)


def parse(document: Mapping[str, Any]) -> Job:
    """Return the job of a parsed document; raise InputError with all problems, led by their keys."""
    return read.parse(document, choose)

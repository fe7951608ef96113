"""What goes into a packet besides its pages: job file, manifest, and what its record says of their making."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from importlib.metadata import PackageNotFoundError
from importlib.metadata import version as installed
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.findings import Finding
from geometry.core.say import say
from geometry.fixture.fixture import Fixture
from geometry.mount.placement import Placement
from sheets.actions import manifest
from sheets.actions.manifest import Drawn
from sheets.files import record
from sheets.job.identity import REVISION, job_digest
from sheets.job.read import JobFile
from sheets.setup import tables_used

Attachments = tuple[tuple[str, bytes], ...]


def version() -> str:
    """Return this Dropleaf's version; "from source" where it is run without being installed."""
    try:
        return installed("dropleaf")
    except PackageNotFoundError:
        return "from source"


def attachments(
    source: JobFile,
    placement: Placement,
    files: Sequence[Drawn],
    found: Sequence[Finding],
    fixture: Fixture | None = None,
) -> Attachments:
    """Return a packet's attachments: the job file and the JSON of `draw`, of its files the packet alone.

    The others show again what stands on one of its pages, and it does not carry them.

    Raise InputError for a job file that is called like one of the packet's own.
    """
    if source.name in (record.NAME, record.MANIFEST):
        raise InputError.at(str(source.path), say("draw.taken_name"))
    bare = [replace(file, path=Path(file.path.name)) for file in files if file.kind == "pdf"]
    document = manifest.drawn(source.job, placement, bare, found, fixture)
    text = json.dumps(document, allow_nan=False, separators=(",", ":"))
    return (source.name, source.raw), (record.MANIFEST, f"{text}\n".encode())


def base(source: JobFile, placement: Placement, cautions: Iterable[str]) -> dict[str, Any]:
    """Return how a new packet's record begins: program, revision, frame, job and tables; there is no date."""
    return {
        "dropleaf": version(),
        "revision": REVISION,
        "parent": None,
        "frame": source.job.frame.id,
        "job": {"name": source.name, "digest": job_digest(source.raw)},
        "tables": {
            "digest": tables_used.digest_of_all(),
            "rows": tables_used.used(source.job, placement, cautions),
        },
    }

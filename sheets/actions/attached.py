"""What goes into a packet besides its pages: job file, manifest, and what its record says of their making."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.findings import Finding
from geometry.core.say import say
from geometry.mount.placement import Placement
from sheets.actions import manifest
from sheets.actions.manifest import Drawn
from sheets.actions.version import version
from sheets.files import record
from sheets.job.identity import REVISION, job_digest
from sheets.job.read import JobFile
from sheets.setup import tables_used
from sheets.setup.cited import cited, cited_json
from sheets.setup.setup import SetUp

_FACTORS = ("scale", "skew")
Attachments = tuple[tuple[str, bytes], ...]


def attachments(
    source: JobFile,
    placement: Placement,
    files: Sequence[Drawn],
    found: Sequence[Finding],
    setup: SetUp,
) -> Attachments:
    """Return a packet's attachments: the job file and the JSON of `draw`, of its files the packet alone.

    The others show again what stands on one of its pages, and it does not carry them.

    The JSON has every number and caution of the packet too, with its sources in full.
    Raise InputError for a job file that is called like one of the packet's own.
    """
    if source.name in (record.NAME, record.MANIFEST):
        raise InputError.at(str(source.path), say("draw.taken_name"))
    bare = [replace(file, path=Path(file.path.name)) for file in files if file.kind == "pdf"]
    document = manifest.drawn(source.job, placement, bare, found, setup.fixture)
    document |= cited_json(cited(source.job, placement, setup), setup.cautions)
    document["files"] = shorter(document["files"])
    text = json.dumps(document, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return (source.name, source.raw), (record.MANIFEST, f"{text}\n".encode())


def shorter(value: Any, places: int = 4) -> Any:
    """Return what pages show with its numbers to a tenth of what the pages themselves have, 0.0001 mm.

    Of the many points of a line they are to 0.001 mm, rounded as pages have them. What a page is corrected by
    keeps all its places: it is no length, but what each length is multiplied by.
    """
    if isinstance(value, dict):
        return {key: each if key in _FACTORS else shorter(each) for key, each in value.items()}
    if isinstance(value, list):
        return [shorter(each, 3 if isinstance(each, list) else places) for each in value]
    return round(value * 10**places) / 10**places if isinstance(value, float) else value


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

"""Packets damaged by seed, judged by `verify` and `survey`; what is called intact must look as it was drawn.

Each damage is small: an entry of one object changed, taken away, added or led elsewhere, or a few bytes of
the file. It goes round the kinds of objects, so that each gets its turn, on packets as drawn, as filled in by
PDFium, as filled in at the end of the file, and as saved again. Where a field's value was damaged, pictures
say nothing; what was filled in may look otherwise as long as its letters or its tick are seen there.
By hand: `python -m tests.soak.fuzz_packets --count 10000`.
"""

import argparse
import contextlib
import functools
import io
import json
import os
import random
import resource
import sys
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pypdf
from pypdf import generic

from fonts.faces import face
from sheets.cli import main
from sheets.files.read.form import read_form
from sheets.ink.paper import PAPERS
from sheets.ink.records import Text
from tests.files.forms import JOB, filed, form_sheet, type_in
from tests.files.shapes import EVERY_KIND, full_sheet, sheet
from tests.soak.shown import RENDERERS, beside, filled_in, readable
from tests.soak.table import Table

SLOW = 10.0
"""Processor seconds after which one file is told as a hang; an honest one takes a fifth of a second."""


# --- what is damaged


def drawn(folder: Path) -> Path:
    """Return a small packet with every kind of object that packets have."""
    plain = face("regular").file
    letters = Text("Greenshank 12.5 mm", (40.0, 100.0), 5.0, plain, 60.0)
    worded = sheet(*EVERY_KIND[:5], paper=PAPERS["A5"] if "A5" in PAPERS else PAPERS["A4"])
    worded = replace(
        worded, kind="card", title="knot: card", full_size=False, records=(*worded.records, letters)
    )
    return filed(
        folder, (full_sheet(), worded, form_sheet()), [JOB, ("dropleaf-manifest.json", b'{"files": []}\n')]
    )


def bases(folder: Path) -> dict[str, Path]:
    """Return the packet as drawn, filled in by PDFium, filled in at its end, and saved again by pypdf."""
    fresh = drawn(folder)
    found = {name: folder / f"{name}.pdf" for name in ("filled", "appended", "saved")}
    type_in(fresh, found["filled"], {"serial": "SCW-9", "note": "as\nmeasured"}, ["seen"])
    writer = pypdf.PdfWriter(fresh, incremental=True)
    writer.update_page_form_field_values(writer.pages[2], {"serial": "SCW-9"}, auto_regenerate=False)
    writer.write(found["appended"])
    pypdf.PdfWriter(clone_from=fresh).write(found["saved"])
    return {"fresh": fresh, **found}


# --- how


@dataclass(frozen=True, slots=True)
class Place:
    """Where an entry stands: its kind, by the way from the root, and what holds it under which key."""

    kind: str
    holder: Any
    key: Any


def places(writer: pypdf.PdfWriter) -> list[Place]:
    """Return every entry of every object that can be reached from the root, each once."""
    found: list[Place] = []
    seen: set[int] = set()

    def walk(value: Any, kind: str) -> None:
        if isinstance(value, generic.IndirectObject):
            if value.idnum in seen:
                return
            seen.add(value.idnum)
            value = value.get_object()
        if isinstance(value, generic.StreamObject):
            found.append(Place(f"{kind}:data", value, None))
        if isinstance(value, generic.DictionaryObject):
            found.append(Place(f"{kind}:more", value, None))
            for key in list(value):
                found.append(Place(f"{kind}{key}", value, key))
                walk(value.raw_get(key), f"{kind}{key}" if len(kind) < 80 else key)
        elif isinstance(value, generic.ArrayObject):
            for index, each in enumerate(value):
                found.append(Place(f"{kind}[]", value, index))
                walk(each, f"{kind}[]")

    walk(writer.root_object, "")
    walk(writer._info, "/Info")
    return found


_MORE = (
    "/AA", "/OC", "/Rotate", "/UserUnit", "/Thumb", "/CropBox", "/F", "/AS", "/A", "/BE", "/Matrix",
    "/Resources", "/OCProperties", "/Group", "/Decode", "/SMask", "/NeedAppearances", "/Collection",
    "/Contents", "/Names",
)  # fmt: skip
"""Entries that may do something where they were not before."""


def _other(value: Any, rng: random.Random, pool: list[Any]) -> Any:
    """Return another value of the same type, or at times any from elsewhere in the file."""
    if rng.random() < 0.15:
        return rng.choice(pool)
    match value:
        case generic.BooleanObject():
            return generic.BooleanObject(not value.value)
        case generic.NumberObject() | generic.FloatObject():
            number = float(value)
            options = (number + 1, -number, number * 1.1, 0.0, number + 100, number / 2, 2.0**31)
            return generic.FloatObject(rng.choice(options))
        case generic.NameObject():
            names = [each for each in pool if isinstance(each, generic.NameObject)]
            return rng.choice([generic.NameObject(f"{value}x"), *names])
        case generic.TextStringObject():
            where = rng.randrange(len(value) + 1)
            return generic.TextStringObject(
                value[:where] + rng.choice("7x") + value[where + rng.randrange(2) :]
            )
        case generic.IndirectObject():
            return rng.choice([each for each in pool if isinstance(each, generic.IndirectObject)])
    return rng.choice(pool)


def _in_stream(stream: Any, rng: random.Random) -> None:
    data = bytearray(stream.get_data())
    where = rng.randrange(len(data) + 1)
    match rng.randrange(4):
        case 0:
            data[where:where] = rng.choice((b"\n0 0 m 99 99 l S\n", b" 9 ", b"\nQ\n", b"\n1 g\n"))
        case 1:
            del data[where : where + rng.randrange(1, 20)]
        case 2 if data:
            data[where % len(data)] ^= 1 << rng.randrange(8)
        case _:
            data += rng.choice((b"\n0 0 m 99 99 l S\n", b"\nBT ET", b"\n"))
    plain = generic.DecodedStreamObject()
    plain.set_data(bytes(data))
    packed = plain.flate_encode()
    stream._data = packed._data
    stream[generic.NameObject("/Filter")] = packed["/Filter"]
    stream.pop("/DecodeParms", None)


def damaged_object(data: bytes, rng: random.Random) -> tuple[bytes, str]:
    """Return a file with one entry of one object damaged, and the kind of that."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    found = places(writer)
    kinds = sorted({each.kind for each in found})
    kind = rng.choice(kinds)
    place = rng.choice([each for each in found if each.kind == kind])
    held = [
        each.holder.raw_get(each.key)
        if isinstance(each.holder, dict)
        else list.__getitem__(each.holder, each.key)
        for each in found
        if each.key is not None
    ]
    # What holds others is led to by reference, so that nothing is put into itself and cannot be written.
    pool = [each for each in held if not isinstance(each, dict | list)]
    how = rng.choice(("change", "change", "drop", "twice"))
    holder, key = place.holder, place.key
    if kind.endswith(":data"):
        _in_stream(holder, rng)
        how = "data"
    elif kind.endswith(":more"):
        how = rng.choice(_MORE)
        holder[generic.NameObject(how)] = rng.choice(pool)
    elif isinstance(holder, dict):
        if how == "drop":
            del holder[key]
        elif how == "twice":
            holder[generic.NameObject(f"{key}x")] = holder.raw_get(key)
            del holder[key]
        else:
            holder[generic.NameObject(key)] = _other(holder.raw_get(key), rng, pool)
    elif how == "drop":
        list.__delitem__(holder, key)
    elif how == "twice":
        list.insert(holder, key, list.__getitem__(holder, key))
    else:
        list.__setitem__(holder, key, _other(list.__getitem__(holder, key), rng, pool))
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue(), f"{kind} {how}"


def damaged_bytes(data: bytes, rng: random.Random) -> tuple[bytes, str]:
    """Return a file with a few bytes damaged, most often where its structure stands, and how."""
    marks = [
        where
        for mark in (b"obj", b"<<", b"/", b"xref", b"trailer", b"startxref", b"stream", b" R")
        for where in _all(data, mark)
    ]
    where = rng.choice(marks) + rng.randrange(12) if rng.random() < 0.8 else rng.randrange(len(data))
    how = rng.choice(("flip", "cut", "put", "blank", "end", "swap"))
    held = bytearray(data)
    match how:
        case "flip":
            held[where % len(held)] ^= 1 << rng.randrange(8)
        case "cut":
            del held[where : where + rng.randrange(1, 30)]
        case "put":
            held[where:where] = rng.choice(
                (b" 0 ", b"/", b">>", b"(", b"9", b"\x00", data[where : where + 40])
            )
        case "blank":
            held[where : where + 4] = b"    "
        case "end":
            del held[where:]
        case "swap":
            other = rng.choice(marks)
            held[where : where + 6], held[other : other + 6] = (
                held[other : other + 6],
                held[where : where + 6],
            )
    return bytes(held), f"bytes {how}"


def _all(data: bytes, mark: bytes) -> Iterator[int]:
    where = data.find(mark)
    while where >= 0:
        yield where
        where = data.find(mark, where + 1)


# --- what comes of it


WHAT = ("files", "intact", "changed", "refused", "filled otherwise", "shown otherwise", "faults", "slow")
"""What a table counts."""


def judged(file: Path, command: str = "verify") -> tuple[int, str, str]:
    """Return a command's status, what it prints and what it complains of."""
    out, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        try:
            status = main([command, str(file), "--json"])
        except Exception:
            return 70, "", traceback.format_exc()
    return status, out.getvalue(), errors.getvalue()


def run(
    seed: int, count: int, renderers: Sequence[str] = tuple(RENDERERS), keep: Path | None = None
) -> Table:
    """Damage so many packets, seed by seed, and return what came of it; `keep` gets those that are told."""
    table = Table()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sources = bases(folder)
        values = {source: dict(read_form(file).values) for source, file in sources.items()}
        shown = functools.cache(lambda renderer, source: RENDERERS[renderer](sources[source]))
        for number in range(seed, seed + count):
            rng = random.Random(number)
            source = rng.choice(sorted(sources))
            damage = damaged_bytes if rng.random() < 0.35 else damaged_object
            bad, kind = damage(sources[source].read_bytes(), rng)
            file = folder / "bad.pdf"
            file.write_bytes(bad)
            line = f"{number} {source} {kind}"
            before = len(table.told)
            document = _judge(table, file, line, kind)
            # Where the value was damaged, it is told as what it is now.
            if document.get("intact") and document["fields"] == values[source]:
                filled = filled_in(sources[source])
                for each in renderers:
                    now, was = RENDERERS[each](file), shown(each, source)
                    if now == was:
                        continue
                    if len(now) == len(was) and beside(now, filled) == beside(was, filled):
                        table.seen["filled otherwise"] += 1
                        if readable(file, filled):
                            continue
                    table.tell("shown otherwise", f"{line}: by {each}")
            if keep and len(table.told) > before:
                (keep / f"{number}.pdf").write_bytes(bad)
    return table


def _judge(table: Table, file: Path, line: str, kind: str) -> dict[str, Any]:
    """Judge a packet by both commands, count what comes of it, and return verify's document."""
    start = sum(os.times()[:4])
    status, out, errors = judged(file)
    surveyed, _, complaint = judged(file, "survey")
    took = sum(os.times()[:4]) - start
    table.seen["files"] += 1
    table.kinds.add(kind.rpartition(" ")[0])
    if took > SLOW:
        table.tell("slow", f"{line}: {took:.1f} s")
    if not {status, surveyed} <= {0, 1, 2} or "Traceback" in errors + complaint:
        table.tell("faults", f"{line}: status {status} and {surveyed}: {errors}{complaint}")
    document: dict[str, Any] = json.loads(out) if status < 2 else {}
    table.seen["refused" if status == 2 else "intact" if document.get("intact") else "changed"] += 1
    return document


def command_line() -> None:
    """Run a profile by hand and print its table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=10_000)
    parser.add_argument("--keep", type=Path)
    given = parser.parse_args()
    if given.keep:
        given.keep.mkdir(parents=True, exist_ok=True)
    table = run(given.seed, given.count, keep=given.keep)
    usage = (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    memory = max(resource.getrusage(who).ru_maxrss for who in usage) // 1000
    sys.stdout.write(
        table.text(f"seed {given.seed}, {len(table.kinds)} kinds of objects, {memory} MB at most", WHAT)
    )


if __name__ == "__main__":
    command_line()

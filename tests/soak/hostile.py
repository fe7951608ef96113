"""Packets that were tampered with to take all memory or time of whoever opens them, or to forge what is said.

Each takes a good packet's bytes and returns the bad one's. They are written with pypdf, as a stranger would.
`python -m tests.soak.hostile` gives each to `verify` under the real limits and prints what it took.
"""

import io
import json
import zlib
from collections.abc import Callable
from typing import Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import (
    ArrayObject,
    DecodedStreamObject,
    DictionaryObject,
    EncodedStreamObject,
    NameObject,
    StreamObject,
    TextStringObject,
)

LEVELS = 40
"""How often a small thing doubles: 2 to the 40th is more than any machine holds."""
RECORD = "dropleaf-packet.json"


def _written(writer: PdfWriter) -> bytes:
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _named(**entries: Any) -> DictionaryObject:
    return DictionaryObject({NameObject(f"/{name}"): value for name, value in entries.items()})


def doubled_resources(good: bytes) -> bytes:
    """Return a packet whose first page's resources hold each other twice, level below level."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    inner: Any = _named(Leaf=TextStringObject("x"))
    for _ in range(LEVELS):
        reference = writer._add_object(inner)
        inner = _named(A=reference, B=reference)
    writer.pages[0][NameObject("/Resources")] = inner
    return _written(writer)


def doubled_names(good: bytes) -> bytes:
    """Return a packet whose tree of attachments holds each branch twice, level below level."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    names = writer.root_object["/Names"].get_object()
    branch: Any = writer._add_object(names["/EmbeddedFiles"].get_object())
    for _ in range(LEVELS):
        branch = writer._add_object(_named(Kids=ArrayObject([branch, branch])))
    names[NameObject("/EmbeddedFiles")] = branch
    return _written(writer)


def endless_names(good: bytes) -> bytes:
    """Return a packet whose tree of attachments is a branch of itself."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    names = writer.root_object["/Names"].get_object()
    node = _named()
    reference = writer._add_object(node)
    node[NameObject("/Kids")] = ArrayObject([reference, reference])
    names[NameObject("/EmbeddedFiles")] = reference
    return _written(writer)


def _packed(data: bytes, filters: ArrayObject) -> StreamObject:
    stream = EncodedStreamObject()
    stream._data = data
    stream[NameObject("/Filter")] = filters
    return stream


def bomb(good: bytes) -> bytes:
    """Return a packet whose first page's content unpacks to 600 MB, by flate within flate."""
    compressor, thin = zlib.compressobj(9), bytearray()
    for _ in range(60):
        thin += compressor.compress(bytes(10_000_000))
    thin += compressor.flush()
    flate = NameObject("/FlateDecode")
    writer = PdfWriter(clone_from=io.BytesIO(good))
    stream = _packed(zlib.compress(bytes(thin), 9), ArrayObject([flate, flate]))
    writer.pages[0][NameObject("/Contents")] = writer._add_object(stream)
    return _written(writer)


def letters(good: bytes) -> bytes:
    """Return a packet whose first page's content is many zeros in base 85, thinly packed ("z" is four)."""
    thin = zlib.compress(b"z" * 40_000_000 + b"~>", 9)
    filters = ArrayObject([NameObject("/FlateDecode"), NameObject("/ASCII85Decode")])
    writer = PdfWriter(clone_from=io.BytesIO(good))
    writer.pages[0][NameObject("/Contents")] = writer._add_object(_packed(thin, filters))
    return _written(writer)


def many_attachments(good: bytes) -> bytes:
    """Return a packet with forty attachments of 70 MB, each of which takes 70 kB."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    for number in range(40):
        writer.add_attachment(f"{number}.bin", bytes(10))
    tree = writer.root_object["/Names"]["/EmbeddedFiles"].get_object()
    packed = writer._add_object(
        _packed(zlib.compress(bytes(70_000_000), 9), ArrayObject([NameObject("/FlateDecode")]))
    )
    for entry in tree["/Names"][1::2]:
        file = entry.get_object()["/EF"].get_object()
        if str(entry.get_object()["/F"]).endswith(".bin"):
            file[NameObject("/F")] = file[NameObject("/UF")] = packed
    return _written(writer)


def endless_lines(good: bytes) -> bytes:
    """Return a packet with two million lines more on its first page."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    stream = DecodedStreamObject()
    stream.set_data(b"0 0 m 9 9 l S\n" * 2_000_000)
    old = writer.pages[0].get_contents()
    assert old is not None
    packed = stream.flate_encode()
    before = DecodedStreamObject()
    before.set_data(old.get_data())
    both = ArrayObject([writer._add_object(before), writer._add_object(packed)])
    writer.pages[0][NameObject("/Contents")] = both
    return _written(writer)


def deep_record(good: bytes) -> bytes:
    """Return a packet whose record nests lists a hundred thousand deep."""
    return recorded(good, lambda _: b"[" * 100_000 + b"]" * 100_000)


def recorded(good: bytes, change: Callable[[bytes], bytes]) -> bytes:
    """Return a packet with its record changed."""
    writer = PdfWriter(clone_from=io.BytesIO(good))
    tree = writer.root_object["/Names"]["/EmbeddedFiles"].get_object()
    names = tree["/Names"]
    for name, entry in zip(names[::2], names[1::2], strict=True):
        if str(name) == RECORD:
            files = entry.get_object()["/EF"].get_object()
            new = DecodedStreamObject()
            new.set_data(change(files["/F"].get_object().get_data()))
            files[NameObject("/F")] = files[NameObject("/UF")] = writer._add_object(new)
            return _written(writer)
    raise AssertionError(f"no {RECORD}")


def record_with(good: bytes, **entries: Any) -> bytes:
    """Return a packet whose record has other entries."""
    return recorded(good, lambda raw: json.dumps({**json.loads(raw), **entries}).encode())


HOGS: tuple[Callable[[bytes], bytes], ...] = (
    doubled_resources, doubled_names, endless_names, bomb, letters, many_attachments, endless_lines,
)  # fmt: skip
"""What asks for more memory or time than there is."""


def record_of(good: bytes) -> dict[str, Any]:
    """Return a packet's record."""
    held: dict[str, Any] = json.loads(PdfReader(io.BytesIO(good)).attachments[RECORD][0])
    return held


def command_line() -> None:
    """Judge each under the real limits: seconds of processor, memory, status, and what is told."""
    import os
    import resource
    import sys
    import tempfile
    from pathlib import Path

    from tests.soak.fuzz_packets import drawn, judged

    with tempfile.TemporaryDirectory() as name:
        file = Path(name, "hostile.pdf")
        good = drawn(Path(name)).read_bytes()
        for make in (*HOGS, deep_record):
            file.write_bytes(make(good))
            start = sum(os.times()[:4])
            status, _, told = judged(file)
            took, memory = sum(os.times()[:4]) - start, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
            sys.stdout.write(f"{make.__name__}: {took:.1f} s, {memory // 1000} MB, {status}: {told[:90]}\n")


if __name__ == "__main__":
    command_line()

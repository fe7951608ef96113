"""A packet's objects in the one form of which digests are made."""

from pypdf.generic import DecodedStreamObject

from sheets.files import objects


def test_an_empty_stream_is_the_same_whatever_version_of_the_library_reads_it() -> None:
    """pypdf 5 and 6 take the end of line before "endstream" for what is in a stream of length 0."""
    empty, old, drawn = DecodedStreamObject(), DecodedStreamObject(), DecodedStreamObject()
    old.set_data(b"\n")
    drawn.set_data(b"\nf")
    assert objects.canonical(empty, {}) == objects.canonical(old, {}) != objects.canonical(drawn, {})

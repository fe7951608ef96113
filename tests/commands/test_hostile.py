"""Packets made to hurt whoever opens them: each is one refused line, the others of the run are judged."""

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sheets.files import apart
from tests.commands.conftest import REAR, Ran
from tests.outside_tools import limits_of_memory
from tests.soak import hostile

Run = Callable[..., Ran]


@pytest.fixture(scope="module")
def good(run: Run, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Return the bytes of a packet as it was drawn."""
    folder = tmp_path_factory.mktemp("hostile")
    (folder / "knot.toml").write_text(REAR, encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    return (folder / "knot-1.pdf").read_bytes()


@pytest.fixture
def tight(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Lower the limits, so that no test waits for a large machine's worth of either; a packet needs less."""
    limits_of_memory()
    monkeypatch.setattr(apart, "SECONDS", 3)
    monkeypatch.setattr(apart, "MEMORY", 300_000_000)
    yield


@pytest.mark.usefixtures("tight")
def test_each_hog_is_refused_in_one_line_and_hides_no_other(run: Run, good: bytes, tmp_path: Path) -> None:
    hogs = [tmp_path / f"{make.__name__}.pdf" for make in hostile.HOGS]
    for hog, make in zip(hogs, hostile.HOGS, strict=True):
        hog.write_bytes(make(good))
    (tmp_path / "knot-1.pdf").write_bytes(good)
    ran = run("verify", *hogs, tmp_path / "knot-1.pdf", "--json")
    *bad, intact = ran.json
    assert ran.status == 2
    for hog, each in zip(hogs, bad, strict=True):
        assert [error.startswith(f"{hog}: ") for error in each.get("errors", ())] == [True], each
    assert intact["intact"] and intact["one_to_one"]
    assert len(ran.errors) == len(hogs)


@pytest.mark.usefixtures("tight")
def test_a_hog_beside_them_keeps_neither_a_drawing_nor_a_folder_from_being_looked_at(
    run: Run, good: bytes, tmp_path: Path
) -> None:
    (tmp_path / "knot.toml").write_text(REAR, encoding="utf-8")
    (tmp_path / "hog.pdf").write_bytes(hostile.doubled_names(good))
    assert run("draw", tmp_path / "knot.toml").status == 0
    assert (tmp_path / "knot-1.pdf").read_bytes() == good
    ran = run("verify", "--all", tmp_path, "--json")
    assert (ran.status, ran.json["packets"]) == (2, 1)
    (line,) = ran.json["unreadable"]
    assert line.startswith(f"{tmp_path / 'hog.pdf'}: ")


def test_a_record_too_deep_to_be_read_is_damaged(run: Run, good: bytes, tmp_path: Path) -> None:
    (tmp_path / "deep.pdf").write_bytes(hostile.deep_record(good))
    ran = run("verify", tmp_path / "deep.pdf")
    assert ran.status == 2
    assert len(ran.errors) == 1


HIDDEN = "\n\r\x1b\x07\u202e\u2066\u2028\u200b\x85\ud800"
"""A line feed and its kin, an escape, direction marks, a blank of no width, and half a character."""


def test_no_value_of_a_strangers_record_forges_a_line(run: Run, good: bytes, tmp_path: Path) -> None:
    forged = "".join(f"1.0{sign}other.pdf: intact" for sign in HIDDEN)
    record = hostile.record_of(good)
    bad = hostile.record_with(
        good, dropleaf=forged, frame=forged, title=forged, job={**record["job"], "digest": forged},
        parent={"file": forged, "record": forged, "revision": 1},
    )  # fmt: skip
    (tmp_path / "bad.pdf").write_bytes(bad)
    ran = run("verify", tmp_path / "bad.pdf")
    shown = ran.out + "".join(ran.errors)
    assert "1.0\\nother.pdf: intact1.0\\rother.pdf" in shown
    assert not set(HIDDEN) - {"\n"} & set(shown)
    assert not re.search(r"^\s*other\.pdf", shown, re.MULTILINE)
    with_json = run("verify", tmp_path / "bad.pdf", "--json")
    assert with_json.json["frame"] == forged
    assert not set(HIDDEN) - {"\n"} & set(with_json.out)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats() | st.text("ab\n\u202e/.", max_size=6),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc", max_size=3), inner, max_size=3)
    ),
    max_leaves=6,
)


# Each takes two whole judgements, in a process of its own, so that a plain run tries few.
@settings(max_examples=max(5, settings().max_examples // 10))
@given(st.data())
def test_a_mutated_record_is_judged_or_refused_and_never_a_fault(
    run: Run, good: bytes, tmp_path_factory: pytest.TempPathFactory, data: st.DataObject
) -> None:
    record = hostile.record_of(good)
    key = data.draw(st.sampled_from(sorted(record)))
    inner = record[key]
    if isinstance(inner, dict) and inner and data.draw(st.booleans()):
        bad = hostile.record_with(
            good, **{key: {**inner, data.draw(st.sampled_from(sorted(inner))): data.draw(JSON)}}
        )
    else:
        bad = hostile.record_with(good, **{key: data.draw(JSON)})
    file = tmp_path_factory.mktemp("mutated") / "knot-1.pdf"
    file.write_bytes(bad)
    verified = run("verify", file)
    assert verified.status in (1, 2), key
    surveyed = run("survey", file)
    assert surveyed.status in (1, 2), key

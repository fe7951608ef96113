"""The schema of a job file against the models, judged by the jsonschema library."""

import copy
import json
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import InputError
from sheets.job.read import parse
from sheets.job.schema import FILE, schema
from sheets.job.units import angle, current, length, pattern, share

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
VALIDATOR = jsonschema.Draft7Validator(schema())
Place = tuple[str | int, ...]

# One job with every table, so that a fault can be planted at every key.
FULL: dict[str, Any] = {
    "frame": {"id": "knot-1", "name": "Knot", "maker": "Saltmarsh", "customer": "club", "note": "grey"},
    "mount": {
        "end": "rear", "interface": "post", "rotor": 160, "native": 160, "host": "chainstay", "tilt": "2 deg",
    },
    "axle": {"system": "142x12", "pocket": 3.5, "dummy": "3/4 in"},
    "dropout": {"thickness": 6, "slot": -90, "slot_from": "tube", "travel": 4},
    "stance": {"leg": 65.4, "head": 72, "rake": "45 mm", "axle_to_crown": 390, "chainstay": "9 deg"},
    "tubes": {
        "chainstay": {
            "diameters": [[30, 16], ["160 mm", 22, 18]], "wall": 0.9, "offset": 1, "outset": 5,
            "splay": "3 deg", "straight_to": 350,
        },
        "seatstay": {"diameters": [[30, 14]], "included": "62 deg"},
        "brace": {"diameter": 10, "on_chainstay": 150, "on_seatstay": 150, "wall": 0.9},
    },
    "boss": {"diameter": 14, "length": 20, "thickness": 6, "share": "50 %"},
    "process": {"method": "tig", "amps": "60 A", "filler": "ER70S-2", "material": "CrMo", "facing": 0.5},
    "bench": {
        "spacers": [1, "2 mm"], "pins": ["1/4 in"], "plate": 8, "plate_bore": 19.05, "plate_face": "inside",
    },
    "paper": {"size": "A4", "view": "outboard", "margin": 10},
    "wrap": {"paper": 0.1, "clear": 40},
    "caliper": {"length": 70, "height": 30, "inboard": 15, "outboard": 30, "depth": 5, "offset": 0},
    "clearance": {"rotor": 3, "runout": 0.2, "bolts": 2, "caliper": 2, "key": 1, "mount": 2, "spokes": 2},
    "traveller": {
        "print": True, "started": "2031-04-02", "due": "2031-05-01", "material_lot": "a", "filler_lot": "b",
        "heats": {"chainstay": "c", "seatstay": "d", "brace": "e"}, "hub": "f", "caliper": "g",
        "operations": ["prepare", {"key": "pickle", "text": "Pickle.", "hold": True, "check": "tacked"}],
    },
    "interface": {
        "source": "measured", "family": "post", "h": 55.9, "x_near": 6.8, "x_far": 81, "native": 160,
        "hole": 5, "tolerance": 0.2, "lateral": -4.25,
    },
}  # fmt: skip


def _refused(document: dict[str, Any]) -> bool:
    try:
        parse(document)
    except InputError:
        return True
    return False


def _leaves(node: Any, place: Place = ()) -> Iterator[Place]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _leaves(value, (*place, key))
    else:
        yield place


def _tables(node: Any, place: Place = ()) -> Iterator[Place]:
    if isinstance(node, dict):
        yield place
        for key, value in node.items():
            yield from _tables(value, (*place, key))


def _changed(place: Place, value: Any, *, drop: bool = False) -> dict[str, Any]:
    document = copy.deepcopy(FULL)
    *way, last = place
    node: Any = document
    for part in way:
        node = node[part]
    if drop:
        del node[last]
    else:
        node[last] = value
    return document


def test_the_schema_is_one() -> None:
    jsonschema.Draft7Validator.check_schema(schema())
    assert VALIDATOR.is_valid(FULL)
    assert not _refused(FULL)


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_every_sample_keeps_the_schema_and_names_it_to_editors(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    assert [error.message for error in VALIDATOR.iter_errors(tomllib.loads(text))] == []
    assert text.startswith(f"#:schema {FILE}\n")


def test_the_samples_schema_is_todays() -> None:
    beside = json.loads((SAMPLES[0].parent / FILE).read_text(encoding="utf-8"))
    assert beside == json.loads(json.dumps(schema())), (
        "run: dropleaf check --schema > samples/job.schema.json"
    )


def test_every_key_is_described() -> None:
    document = schema()
    lacking = [
        f"{table}.{key}"
        for table, node in document["definitions"].items()
        for key, each in node["properties"].items()
        if "description" not in each and "$ref" not in each
    ]
    assert lacking == []


@pytest.mark.parametrize("place", list(_tables(FULL)), ids=lambda place: ".".join(place) or "top")
def test_an_unknown_key_is_refused_by_both(place: Place) -> None:
    document = _changed((*place, "colour"), "green")
    assert _refused(document)
    assert not VALIDATOR.is_valid(document)


@pytest.mark.parametrize("place", list(_leaves(FULL)), ids=lambda place: ".".join(place))
def test_a_fault_of_one_key_is_refused_by_both(place: Place) -> None:
    # Lists inside lists, tables, truth values, words and units that no key knows, numbers out of all range.
    for wrong in ({"a": 1}, True, [[["x"]]], "twelve furlongs", "3 parsec", "", 1e9, -1e9, "\x07"):
        document = _changed(place, wrong)
        if _refused(document):
            assert not VALIDATOR.is_valid(document), (place, wrong)


@pytest.mark.parametrize("place", [*_leaves(FULL), *_tables(FULL)][0:], ids=lambda place: ".".join(place))
def test_a_missing_key_is_refused_by_both(place: Place) -> None:
    if not place:
        return
    # These need each other, a rule that spans keys and is exempt.
    if place[:1] == ("interface",) and place[-1] in ("h", "x_near", "x_far"):
        assert VALIDATOR.is_valid(_changed(place, None, drop=True))
        return
    if place in (("tubes", "chainstay"), ("tubes", "seatstay")):
        return
    document = _changed(place, None, drop=True)
    assert _refused(document) == (not VALIDATOR.is_valid(document))


@given(st.sampled_from(list(_leaves(FULL))), st.data())
def test_what_the_schema_refuses_the_models_refuse(place: Place, data: st.DataObject) -> None:
    words = st.sampled_from(
        ["rear", "front", "tig", "A4", "post", "inside", "142x12", "flat", "3/4 in", "1 mm"]
    )
    value = data.draw(st.one_of(words, st.integers(-300, 300), st.floats(-300, 300), st.text(max_size=12)))
    document = _changed(place, value)
    if not VALIDATOR.is_valid(document):
        assert _refused(document), value


@pytest.mark.parametrize(
    ("place", "written", "taken"),
    [
        (("axle", "system"), "142 x 12", True),
        (("axle", "system"), " 142×12 ", True),
        (("axle", "system"), "135 - QR", True),
        (("axle", "system"), "14 2x12", False),
        (("axle", "system"), "142 x 13", False),
        (("paper", "size"), "letter", True),
        (("paper", "size"), "a3 ", True),
        (("paper", "size"), "a 3", False),
    ],
)
def test_schema_and_models_take_the_same_spellings(place: Place, written: str, taken: bool) -> None:
    document = _changed(place, written)
    assert (VALIDATOR.is_valid(document), _refused(document)) == (taken, not taken)


@pytest.mark.parametrize("parse_one", [length, angle, current, share])
@given(
    text=st.from_regex(
        r"[-+−]?[0-9 ]{0,3}[./ ½-]?[0-9]{0,2} ?(mm|in|deg|°|cm|A|%|\"|furlong)?\.?", fullmatch=True
    )
)
def test_the_pattern_of_units_reads_what_the_parser_reads(parse_one: Any, text: str) -> None:
    import re

    matched = re.search(pattern(parse_one), text) is not None
    try:
        parse_one(text)
    except ValueError as error:
        assert not matched or "divided by 0" in str(error)
    else:
        assert matched

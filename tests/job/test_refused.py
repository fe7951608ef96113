"""What a model refuses, as problems of its file: each led by its key, and in sentences of ours."""

from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from sheets.home.own_operations import KeptOperation
from sheets.home.own_rows import KeptRow
from sheets.home.printers import PrinterTable
from sheets.home.pull_history import HistoryLine
from sheets.job.keys import Job
from sheets.job.refused import BUILT_IN, problems
from sheets.words.tell import line, told

MODELS: tuple[type[BaseModel], ...] = (Job, KeptRow, KeptOperation, PrinterTable, HistoryLine)
ROW = {"name": "a", "end": "rear", "family": "tab", "native": 140, "source": "own", "lateral": 1}
LINE = {"h": 30, "x_near": 20, "x_far": 50}
PLACES = [
    (model, place)
    for model in MODELS
    for name, field in model.model_fields.items()
    for inside in [
        next(
            (each for each in (field.annotation, *get_args(field.annotation)) if isinstance(each, type)), str
        )
    ]
    for place in [
        (field.alias or name,),
        *(
            (field.alias or name, each.alias or key)
            for key, each in getattr(inside, "model_fields", {}).items()
        ),
    ]
]
ANYTHING = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=4),
        st.sampled_from(["rear", "tig", "h"]),
        st.dates(),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(["h", "key", "x"]), inner, max_size=2)
    ),
    max_leaves=4,
)


def refused(model: type[BaseModel], document: Any, begins: str = "") -> list[str]:
    """Return what is said of a document, a line a problem."""
    with pytest.raises(ValidationError) as caught:
        model.model_validate(document)
    return [line(each) for each in problems(caught.value, model, begins)]


@given(st.sampled_from(PLACES), ANYTHING)
def test_whatever_is_refused_is_told_in_our_words(
    place: tuple[type[BaseModel], tuple[str, ...]], value: Any
) -> None:
    model, (first, *rest) = place
    document = {first: {rest[0]: value} if rest else value}
    with pytest.raises(ValidationError) as caught:
        model.model_validate(document)
    for each in problems(caught.value, model, "[[row]]"):
        said = told(each.what)
        assert getattr(each.what, "code", "refused.other") != "refused.other", said
        assert "\n" not in said and not said.endswith(": ")


@pytest.mark.parametrize(
    ("document", "said"),
    [
        (3, "3 given; a table is wanted, beginning with [[row]]"),
        (
            {**ROW, **LINE, "uncertainty": 4},
            "uncertainty: 4 given; a table is wanted, beginning with [row.uncertainty]",
        ),
        (
            {**ROW, **LINE, "uncertainty": {"q": 1}},
            "uncertainty.q: 'q' given; allowed: h, x_near, x_far, spacing",
        ),
        ({**ROW, "h": 30, "near": 40}, "near, h given; give near, far and spacing, or h, x_near and x_far"),
        ({**ROW, **LINE, "x_near": 60}, "x_near: 60 given; the near hole comes first, below x_far 50"),
        (
            {**ROW, **LINE, "grade": "measured", "mounts": 1.5},
            "mounts: 1.5 given; a whole number is wanted: how",
        ),
        (
            {**ROW, **LINE, "grade": "measured", "mounts": 100},
            "mounts: 100 given; at most 99 is wanted: how many",
        ),
        ({**ROW, **LINE, "replaces": 3}, "replaces: 3 given; allowed: true or false"),
        ({**ROW, **LINE, "source": 3}, "source: 3 given; a text in quotes is wanted: where the numbers come"),
        ({**ROW, **LINE, "odd key": 3}, "'odd key': there is no such key; allowed: name, family, native"),
    ],
)
def test_a_row_says_what_is_wrong_by_its_keys(document: Any, said: str) -> None:
    [told_of] = refused(KeptRow, document, "[[row]]")
    assert told_of.startswith(said)


def test_a_rule_between_keys_blames_a_key_of_its_own_table() -> None:
    """A row blames its keys alike where it is a file's table and where it is one in a job."""
    row = {**LINE, "x_near": 60, "family": "tab", "lateral": 1, "source": "own"}
    job = {
        "frame": {"id": "knot-1"},
        "mount": {"end": "rear", "interface": "a", "rotor": 140, "host": "chainstay"},
        "axle": {"system": "142x12"},
    }
    [in_job] = refused(Job, {**job, "mount": {**job["mount"], "interface": "post"}, "interface": row})
    [in_file] = refused(KeptRow, {**row, "name": "a", "end": "rear", "native": 140})
    assert in_job == f"interface.{in_file}"
    tubes = {"fork-leg": {"diameters": [[20, 16]]}}
    [stray] = refused(Job, {**job, "mount": {**job["mount"], "interface": "post"}, "tubes": tubes})
    assert stray.startswith("tubes.fork-leg: fork-leg given, but the job says end = 'rear'")


KINDS: list[tuple[str, type[BaseModel], Any]] = [
    ("missing", Job, {}),
    ("extra_forbidden", Job, {"fraem": {}}),
    ("literal_error", Job, {"mount": {"end": "reer"}}),
    ("string_type", Job, {"frame": {"id": 3}}),
    ("model_type", Job, {"frame": 3}),
    ("dict_type", Job, {"interface": {"uncertainty": 3}}),
    ("tuple_type", Job, {"bench": {"spacers": 3}}),
    ("too_long", Job, {"bench": {"spacers": [1] * 501}}),
    ("bool_type", Job, {"bench": {"fixture": []}}),
    ("bool_parsing", Job, {"bench": {"fixture": "perhaps"}}),
    ("int_type", KeptRow, {"mounts": []}),
    ("int_parsing", KeptRow, {"mounts": "many"}),
    ("int_parsing_size", KeptRow, {"mounts": "9" * 5000}),
    ("int_from_float", KeptRow, {"mounts": 1.5}),
    ("finite_number", KeptRow, {"mounts": float("nan")}),
    ("greater_than_equal", KeptRow, {"mounts": 0}),
    ("less_than_equal", KeptRow, {"mounts": 100}),
    ("float_type", HistoryLine, {"values": {"height": "x"}}),
]


@pytest.mark.parametrize(("kind", "model", "document"), KINDS)
def test_each_kind_of_refusal_has_its_sentence(kind: str, model: type[BaseModel], document: Any) -> None:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(document)
    assert kind in [each["type"] for each in caught.value.errors()]
    for each in problems(caught.value, model):
        assert getattr(each.what, "code", "") not in ("", "refused.other"), each


def test_no_sentence_is_for_what_is_never_refused() -> None:
    assert {kind for kind, _, _ in KINDS} == set(BUILT_IN)

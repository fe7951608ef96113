"""The program's own JSON text against Python's library, whose indented form is the one that it promises."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sheets.actions.manifest import text

LEAVES = st.one_of(st.none(), st.booleans(), st.integers(), st.floats(allow_nan=False, allow_infinity=False))
DOCUMENTS = st.recursive(
    LEAVES | st.text(),
    lambda inner: st.lists(inner) | st.lists(inner).map(tuple) | st.dictionaries(st.text(), inner),
    max_leaves=40,
)


@given(DOCUMENTS)
def test_it_is_the_librarys_text(document: object) -> None:
    assert text(document) == json.dumps(document, indent=2, allow_nan=False)


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_refused(number: float) -> None:
    with pytest.raises(ValueError):
        text({"h": [1.0, number]})

"""What people type for a name: meant by usage, by spelling, or by nothing."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.meant import far, leaves_out, meant
from geometry.core.say import say
from geometry.core.tables import hint

ENDS = ["rear", "front"]
AXLES = ["quick release", "thru axle"]
THROUGH = ["100x12", "100x15", "110x15", "110x12"]
REAR, FRONT = ["is-rear", "post", "flat-rear"], ["is-front", "post", "flat-front"]


# The left column is what workshops and catalogues say; common practice, no source.
@pytest.mark.parametrize(
    ("typed", "known", "name"),
    [
        ("fork", ENDS, "front"),
        ("the fork", ENDS, "front"),
        ("Fornt", ENDS, "front"),
        ("rear end", ENDS, "rear"),
        ("back", ENDS, "rear"),
        ("frame", ENDS, "rear"),
        ("QR", AXLES, "quick release"),
        ("quick-release", AXLES, "quick release"),
        ("the Q/R one", AXLES, "quick release"),
        ("TA", AXLES, "thru axle"),
        ("12", THROUGH, "100x12"),
        ("12mm", THROUGH, "100x12"),
        ("12 mm thru axle", THROUGH, "100x12"),
        ("100", THROUGH, "100x12"),
        ("15", THROUGH, "100x15"),
        ("13", THROUGH, ""),
        ("QR", ["135-qr", "130-qr", "141-qr"], "135-qr"),
        ("through axle", AXLES, "thru axle"),
        ("IS", REAR, "is-rear"),
        ("IS", FRONT, "is-front"),
        ("Post Mount", REAR, "post"),
        ("PM", FRONT, "post"),
        ("FM", REAR, "flat-rear"),
        ("flat mount", FRONT, "flat-front"),
        ("steel", ["steel", "aluminium", "brass"], "steel"),
        ("alu", ["steel", "aluminium", "brass"], "aluminium"),
        ("chain stay", ["chainstay", "seatstay"], "chainstay"),
        ("ground", ["tube", "plumb"], "plumb"),
        ("welded", ["tig", "fillet-braze", "silver-braze"], "tig"),
        ("US Letter", ["A4", "Letter"], "Letter"),
        ("disc", ["interface", "rotor", "native"], "rotor"),
        ("mount.and", ["mount.end", "mount.rotor"], "mount.end"),
        ("sideways", ENDS, ""),
        ("xyzzy", REAR, ""),
        ("", ENDS, ""),
    ],
)
def test_what_is_typed_means(typed: str, known: list[str], name: str) -> None:
    assert meant(typed, known) == name


def test_a_hint_names_what_is_meant() -> None:
    # By spelling alone "fork" is as far from front as from rear.
    assert hint("fork", ENDS) == say("tell.did_you_mean", name="front")


# Textbook values of the optimal string alignment distance; "ca" to "abc" tells it from the unrestricted one,
# which is 2.
@pytest.mark.parametrize(
    ("one", "other", "slips"),
    [("kitten", "sitting", 3), ("fornt", "front", 1), ("ca", "abc", 3), ("", "abc", 3), ("post", "post", 0)],
)
def test_slips_are_counted(one: str, other: str, slips: int) -> None:
    assert far(one, other) == slips


@given(st.text(max_size=8), st.text(max_size=8))
def test_slips_are_a_distance(one: str, other: str) -> None:
    assert far(one, other) == far(other, one)
    assert (far(one, other) == 0) == (one == other)
    assert abs(len(one) - len(other)) <= far(one, other) <= max(len(one), len(other))


@given(st.text(), st.lists(st.text(), max_size=6))
def test_only_what_is_known_is_ever_meant(typed: str, known: list[str]) -> None:
    assert meant(typed, known) in ("", *known)


@pytest.mark.parametrize("text", ["don't know", "N/A", "unknown", "not measured", "skip"])
def test_no_answer_has_many_names(text: str) -> None:
    assert leaves_out(text)
    assert not leaves_out(f"{text} 5")

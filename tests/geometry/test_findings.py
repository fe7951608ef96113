"""The order in which findings are told."""

from geometry.core.findings import LEVELS, Finding, by_level


def test_what_may_hurt_a_rider_comes_before_all_else_of_its_level() -> None:
    """A card has room for the first few. Of equals each stays where it came."""
    codes = ("wrap-open", "tube-near", "plate-meets", "mount-near", "slot-on-pads")
    found = [Finding(code, level, "") for level in reversed(LEVELS) for code in codes]
    wanted = [
        (level, code)
        for level in ("stop", "warn", "unknown", "note")
        for code in ("tube-near", "mount-near", "slot-on-pads", "wrap-open", "plate-meets")
    ]
    assert [(each.level, each.code) for each in by_level(found)] == wanted

"""The safety statements: no number without a row, a source and a grade, and none that is only remembered."""

import functools
import itertools
import re
from typing import Any, get_args

import pytest

from geometry.core.errors import InputError, Problem, TableError
from geometry.core.say import say
from geometry.core.tables import Number
from geometry.tables import cautions as module
from geometry.tables.cautions import (
    UNITS,
    Caution,
    Method,
    Value,
    cautions,
    material_kinds,
    refuse_cadmium,
    values,
)

METHODS: tuple[Method, ...] = get_args(Method)
# Machinery's Handbook 31 Part B, tables 1a and 1b after AWS A5.8-1981: solidus and liquidus F (C), range F.
MELTS = {
    "BAg-24": (1220, 660, 1305, 707, 1305, 1550),
    "BAg-7": (1145, 618, 1205, 652, 1205, 1400),
    "BAg-5": (1250, 677, 1370, 743, 1370, 1550),
    "BAg-6": (1270, 688, 1425, 774, 1425, 1600),
    "BAg-20": (1250, 677, 1410, 766, 1410, 1600),
    "BAg-22": (1260, 682, 1290, 699, 1290, 1525),
    "BAg-4": (1240, 671, 1435, 779, 1435, 1650),
    "RBCuZn-A": (1630, 888, 1650, 899, 1670, 1750),
    "RBCuZn-C": (1590, 866, 1630, 888, 1670, 1750),
    "RBCuZn-D": (1690, 921, 1715, 935, 1720, 1800),
}
FILLERS = [None, "something odd", "BAg-36", "ER70S-2", "ER80S-D2", *MELTS]
# A name with digits in it is no value: standards, and fillers as the table spells them.
NAMES = ["TBIS 4210-6:2019", "ISO 4210-6:2023", "ER70S-2", "ER70S-6", "ER80S-D2", "BAg-36", *MELTS]


@functools.cache
def _every() -> dict[str, set[Caution]]:
    """Return every statement that any process comes to, by its id."""
    found: dict[str, set[Caution]] = {}
    for method, material, filler, amps, family in itertools.product(
        (None, *METHODS),
        (None, "4130", "stainless", "titanium"),
        FILLERS,
        (None, 40.0, 120.0, 200.0, 501.0),
        (None, "tab", "flat"),
    ):
        for each in cautions(method, material, filler, amps, family):  # type: ignore[arg-type]
            found.setdefault(each.id, set()).add(each)
    return found


def _text(name: str, *asked: Any) -> str:
    (found,) = [each for each in cautions(*asked) if each.id == name]
    return found.text


def _ids(*asked: Any) -> set[str]:
    return {each.id for each in cautions(*asked)}


# --- the table


def test_every_value_has_a_unit_a_source_an_edition_and_a_grade() -> None:
    found = values()
    assert len(found) > 80
    for value in found:
        assert value.unit in UNITS, value.where
        assert value.number.source, value.where
        assert value.edition, value.where
        assert value.number.grade in "ABCD", value.where


def test_a_value_that_no_text_gives_says_so_and_has_grade_d_and_nothing_else_has() -> None:
    for value in values():
        told = any(
            words in str(value.number.source) for words in ("remembered", "common practice, no source")
        )
        assert told == (value.number.grade == "D"), value.where
    unread = {value.where.split(".")[0] for value in values() if value.number.grade == "D"}
    assert unread >= {"titanium-argon", "test-iso", "BAg-36"}


def test_either_temperature_brings_the_other_along() -> None:
    # By the definition of the scales: 800 F is 426.7 C, 400 C is 752 F.
    degrees = Number(800.0, "C", "a text"), Number(400.0, "C", "a text")
    assert str(Value("x", degrees[0], "F", "2000")) == "800 °F (427 °C)"
    assert str(Value("x", degrees[1], "C", "2000")) == "400 °C (752 °F)"


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"unit": "K"}, r"tables\.caution\.no_unit\(unit='K', known='A, C, F, "),
        ({"unit": None}, r"tables\.caution\.no_unit"),
        ({"source": "practice"}, r"tables\.caution\.no_edition\(source='practice'"),
    ],
)
def test_a_value_without_unit_or_edition_is_refused_where_the_table_is_read(
    change: dict[str, Any], why: str
) -> None:
    value = {"value": 400.0, "unit": "C", "grade": "D", "source": "titanium"}
    module._check_value("caution.x.cold", value, {"titanium": "not read"})
    with pytest.raises(TableError, match=rf"^caution\.x\.cold: {why}"):
        module._check_value("caution.x.cold", value | change, {"titanium": "not read"})


def test_no_number_stands_in_a_text_that_is_not_a_value_of_the_table() -> None:
    known: set[str] = set()
    for value in values():
        if value.number.grade == "D":
            continue
        known.add(f"{value.number.value:g}")
        if value.unit == "F":
            known.add(f"{(value.number.value - 32.0) * 5.0 / 9.0:.0f}")
    seen = 0
    for each in (caution for group in _every().values() for caution in group):
        text = each.text
        for name in NAMES:
            text = text.replace(name, "")
        for digits in re.findall(r"[0-9]+(?:\.[0-9]+)?", text):
            seen += 1
            assert digits in known, (each.id, digits, each.text)
    assert seen > 50


def test_every_statement_can_be_reached_and_carries_source_and_grade() -> None:
    table = module._table()
    assert {row["id"] for row in table["caution"]} <= _every().keys()
    for each in (caution for group in _every().values() for caution in group):
        assert each.source
        assert each.grade in "ABCD"
        assert each.group in table["order"]
        assert "{" not in each.text
        assert len(each.text) <= 140, each.text
        # Sentences end, and begin with a capital or a name.
        assert re.fullmatch(r"[A-Z].*\.", each.text), each.text


@pytest.mark.parametrize(
    "row",
    [
        {"id": "x", "text": "Stand 3 m back."},
        {"id": "x", "text": "Stand {far} back."},
        {"id": "x", "text": "Stand {far} back.", "values": {"far": {"grade": "D"}}},
        {
            "id": "x",
            "text": "Stand {far} back.",
            "plain": "Stand {far} away.",
            "values": {"far": {"grade": "D"}},
        },
        {
            "id": "x",
            "text": "Stand {far} back.",
            "plain": "Stand 3 m back.",
            "values": {"far": {"grade": "D"}},
        },
    ],
    ids=["bare number", "unknown value", "remembered", "remembered in plain", "bare number in plain"],
)
def test_a_row_that_would_print_an_unsourced_number_is_refused(row: dict[str, Any]) -> None:
    with pytest.raises(TableError, match=r"^caution\.x: "):
        module._check(row)


# --- published values


@pytest.mark.parametrize(
    ("amps", "shade"),
    [(5.0, 8), (49.9, 8), (50.0, 8), (149.9, 8), (150.0, 10), (300.0, 10), (500.0, 10)],
)
def test_the_shade_for_tig_by_current(amps: float, shade: int) -> None:
    # 29 CFR 1910.133(a)(5), GTAW: below 50 A 8, 50 to 150 A 8, 150 to 500 A 10; the darker where bands meet.
    assert _text("shade-tig", "tig", "steel", None, amps) == (
        f"TIG at this current: filter shade {shade} or darker."
    )


def test_the_shades_where_the_current_is_not_given_or_not_on_file() -> None:
    assert _text("shade-tig", "tig", "steel", None, None) == (
        "TIG: filter shade 8 or darker below 150 A, 10 from there up."
    )
    assert "No filter shade is on file above 500 A" in _text("shade-tig", "tig", "steel", None, 501.0)
    assert "shade-tig" not in _ids("silver-braze", "steel", None, 100.0)
    for amps in (0.0, -5.0, float("nan")):
        with pytest.raises(InputError, match=r"^process\.amps: tables\.caution\.no_current"):
            cautions("tig", "steel", None, amps)


@pytest.mark.parametrize(
    ("name", "method", "parts"),
    [
        # 29 CFR 1910.133(a)(5), torch brazing 3; state tables after the older E-2 say 3 or 4.
        ("shade-torch", "fillet-braze", ["shade 3 or darker", "3 or 4"]),
        # NFPA 51B 2019: 1 h; 29 CFR 1910.252(a)(2)(iii)(B): 30 min.
        ("fire-watch", "tig", ["60 min after", "OSHA floor: 30 min"]),
        # 29 CFR 1910.252(a)(2)(vii): 35 ft.
        ("combustibles", "tig", ["10.7 m (35 ft)"]),
        # 29 CFR 1910.253(a)(2): 15 psig, 103 kPa.
        ("acetylene", "silver-braze", ["103 kPa (15 psi)"]),
        # 29 CFR 1910.253(b)(4)(iii): 20 ft, 6.1 m.
        ("oxygen", "silver-braze", ["6.1 m (20 ft)"]),
        # 29 CFR 1910.252(c)(2): 100 ft/min at the work.
        ("hood", "tig", ["30 m/min (100 ft/min)"]),
        # 29 CFR 1910.215: rest 1/8 in, tongue guard 1/4 in.
        ("grinder", "tig", ["3.2 mm (0.125 in)", "6.4 mm (0.25 in)"]),
        # A filler maker's bulletin on 4130: under 0.120 in usually none, metal at 70 F (21 C).
        ("preheat", "tig", ["3.05 mm (0.12 in)", "70 °F (21 °C)"]),
        # Machinery's Handbook Part B: 0.002 to 0.005 in for BAg.
        ("gap", "silver-braze", ["0.05 mm to 0.13 mm", "0.002 in to 0.005 in"]),
        # constructionmanuals.tpub.com 14250 p. 125: flux clear near 1100 F (593 C).
        ("flux-clear", "silver-braze", ["1100 °F (593 °C)"]),
        # TBIS 15194:2019 4.3.8.7, mirroring TBIS 4210-6:2019 5.6.
        ("test-fork", "tig", ["TBIS 4210-6:2019", "1000 N", "600 N for 14400", "700 N for 12000"]),
        ("test-racing", "tig", ["24000 cycles at 600 N", "20000 cycles at 700 N"]),
    ],
)
def test_published_numbers(name: str, method: str, parts: list[str]) -> None:
    text = _text(name, method, "4130", None, None)
    for part in parts:
        assert part in text


@pytest.mark.parametrize("name", MELTS)
def test_filler_ranges_are_the_handbooks(name: str) -> None:
    solidus, solid_c, liquidus, liquid_c, low, high = MELTS[name]
    for written in (name, name.lower(), name.replace("-", ""), f"  {name.replace('-', ' ')} rod, 1/16 in"):
        text = _text("filler-range", "silver-braze", "steel", written, None)
        assert text.startswith(
            f"{name}: solid below {solidus} °F ({solid_c} °C), liquid above {liquidus} °F ({liquid_c} °C)."
        )
        assert re.search(rf"Braze at {low} °F \([0-9]+ °C\) to {high} °F ", text)


def test_fillers_that_are_not_on_file_get_no_number() -> None:
    assert "No range is on file" in _text("filler-range", "silver-braze", "steel", "BAg-99", None)
    assert "No range is on file" in _text("filler-range", "silver-braze", "steel", "red rod 45", None)
    assert "names no filler" in _text("filler-range", "silver-braze", "steel", None, None)
    assert "names no filler" in _text("filler-range", "silver-braze", "steel", "  ", None)
    # Remembered, not read.
    assert "no melting range read" in _text("filler-range", "silver-braze", "steel", "bag36", None)
    assert "TIG rod for chromoly" in _text("filler-range", "tig", "steel", "er 80s-d2", None)


# --- cadmium


@pytest.mark.parametrize("name", ["BAg-1", "BAg-1a", "BAg-2", "BAg-2a", "BAg-3", "BAg-27", "BAg-33"])
def test_each_cadmium_class_is_refused_however_it_is_written(name: str) -> None:
    # Machinery's Handbook tables 1a and 1b after AWS A5.8; BAg-33 is remembered.
    assert name in module._cadmium_classes()
    for written in (
        name,
        name.upper(),
        name.lower().replace("-", ""),
        name.replace("-", " "),
        name.replace("-", "–"),
        name.replace("BAg", "B Ag"),
        f"old stock {name} 1/16 in",
        f"BAg-7 or {name}",
        f"cadmium-free {name}",
    ):
        for method in METHODS:
            with pytest.raises(InputError) as caught:
                cautions(method, "steel", written, None)
            refused = say("tables.caution.cadmium_class", filler=name)
            assert caught.value.problems == (Problem("process.filler", refused),)


@pytest.mark.parametrize("written", ["45 % silver with cadmium", "Ag 340", "AG304", "Cd 20 Ag 45"])
def test_cadmium_in_other_words_is_refused(written: str) -> None:
    with pytest.raises(InputError, match=r"^process\.filler: tables\.caution\.cadmium"):
        refuse_cadmium(written)


@pytest.mark.parametrize(
    "written",
    [None, "", "BAg-7", "BAg-13a", "BAg-24", "cadmium-free BAg-7", "BAg-7, no cadmium", "Cd free", "ER70S-2"],
)
def test_fillers_without_cadmium_pass(written: str | None) -> None:
    refuse_cadmium(written)


# --- who gets what


def test_the_order_is_heat_first_and_the_last_words_at_the_end() -> None:
    for method in METHODS:
        groups = [each.group for each in cautions(method, "4130", "BAg-7", 80.0)]
        order = ["heat", "eyes", "fume", "gas", "fire", "machine", "after", "end"]
        assert groups == sorted(groups, key=order.index)
        assert set(groups) == set(order)
        last = [each.id for each in cautions(method, "4130", "BAg-7", 80.0) if each.group == "end"]
        assert last[0] == "governs"
        assert {"test-fork", "test-iso", "test-frame"} <= set(last)


def test_a_fork_s_tests_are_told_of_forks_alone() -> None:
    forks, frames = {"test-fork", "test-racing", "test-iso"}, {"test-frame"}
    for end, told, untold in (("front", forks, frames), ("rear", frames, forks)):
        found = _ids("tig", "4130", None, 80.0, "post", end)
        assert told <= found and not untold & found
        text = " ".join(each.text for each in cautions("tig", "4130", None, 80.0, "post", end))  # type: ignore[arg-type]
        assert "Test a new design" in text and ("fork" in text) == (end == "front")


def test_everyone_gets_what_concerns_everyone() -> None:
    for method, material in itertools.product(METHODS, ("steel", "stainless", "titanium")):
        found = _ids(method, material, None, None, "tab")
        for name in ("vent", "patterns", "clean-dry", "zinc", "chrome-plate", "nickel", "cylinders", "hood"):
            assert name in found
        for name in ("fire-watch", "combustibles", "hole-saw", "grinder", "cold-clean", "governs"):
            assert name in found


def test_process_material_and_family_choose() -> None:
    tig, silver = _ids("tig", "titanium", None, None), _ids("silver-braze", "stainless", None, None)
    assert {"argon", "magnets", "titanium-argon", "shade-tig"} <= tig
    assert not {"acetylene", "flashback", "fluoride", "gap", "preheat", "chromium", "quench"} & tig
    assert {"acetylene", "flashback", "fluoride", "cadmium", "gap", "chromium", "quench"} <= silver
    assert not {"argon", "magnets", "titanium-argon", "shade-tig", "preheat"} & silver
    assert "gap" not in _ids("fillet-braze", "steel", None, None)
    assert "threads" in _ids("tig", "steel", None, None, "post")
    assert "threads" not in _ids("tig", "steel", None, None, "tab")


def test_what_the_job_does_not_say_leaves_nothing_out() -> None:
    whole = _ids(None, None, None, None)
    for method, material in itertools.product(METHODS, ("steel", "stainless", "titanium", "bamboo")):
        assert _ids(method, material, None, None) <= whole
    assert {row["id"] for row in module._table()["caution"]} <= whole
    assert _ids("tig", "bamboo", None, None) == _ids("tig", None, None, None)


@pytest.mark.parametrize(
    ("written", "kinds"),
    [
        ("4130", {"steel"}),
        ("25CrMo4 tube", {"steel"}),
        ("an 853 alloy steel", {"steel"}),
        ("stainless steel", {"stainless"}),
        ("17-4 PH", {"stainless"}),
        ("steel tube, stainless-steel tab", {"steel", "stainless"}),
        ("Ti 3Al-2.5V", {"titanium"}),
        ("titanium", {"titanium"}),
        ("15.5 mm tube", {"steel", "stainless", "titanium"}),
        (None, {"steel", "stainless", "titanium"}),
    ],
)
def test_materials_as_builders_write_them(written: str | None, kinds: set[str]) -> None:
    assert material_kinds(written) == kinds


def test_a_statement_is_graded_by_the_weakest_that_it_prints() -> None:
    (shade,) = [each for each in cautions("fillet-braze", "steel", None, None) if each.id == "shade-torch"]
    # The rule's shade has grade A, the states' second one B.
    assert shade.grade == "B"
    assert "1910.133(a)(5), current to 2024-11" in shade.source
    assert "8 CCR 3382" in shade.source
    (iso,) = [each for each in cautions("tig", "steel", None, None) if each.id == "test-iso"]
    assert iso.grade == "D"
    assert "remembered" in iso.source

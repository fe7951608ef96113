"""The frame solver against handbooks' beams and frames, against a general frame library, and its laws."""

import math
from collections.abc import Mapping
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from geometry.braking.plane_frame import Floats, Member, Solved, Stiffness, solve
from geometry.core.errors import GeometryError
from geometry.core.plane import Point

E, AREA, SECOND = 205_000.0, 60.0, 2_000.0
CLAMPED, HINGED = (True, True, True), (True, True, False)


def even(area: float = AREA, second: float = SECOND) -> Stiffness:
    return lambda at: (np.full_like(at, E * area), np.full_like(at, E * second))


def beam(
    length: float, loads: Mapping[float, float], left: tuple[bool, bool, bool], right: tuple[bool, bool, bool]
) -> Solved:
    """Return a level beam with downward loads at places along it."""
    stops = sorted({0.0, length, *loads})
    nodes = {f"{x:g}": (x, 0.0) for x in stops}
    members = [Member(f"{a:g}", f"{b:g}", even()) for a, b in pairwise(stops)]
    held = {name: ways for name, ways in (("0", left), (f"{length:g}", right)) if any(ways)}
    return solve(nodes, members, held, {f"{x:g}": (0.0, -p, 0.0) for x, p in loads.items()})


# Roark's Formulas for Stress and Strain, 7th ed., table 8.1, single loads W at a from the left (remembered
# formulas, each checked below by its own derivation in the comment).
def test_a_cantilever_with_a_load_at_its_end() -> None:
    found = beam(300.0, {300.0: 50.0}, CLAMPED, (False, False, False))
    assert found.moves["300"][1] == pytest.approx(-50.0 * 300.0**3 / (3.0 * E * SECOND), rel=1e-9)
    assert found.moves["300"][2] == pytest.approx(-50.0 * 300.0**2 / (2.0 * E * SECOND), rel=1e-9)
    assert found.reactions["0"] == pytest.approx((0.0, 50.0, 50.0 * 300.0))


def test_a_propped_cantilever_with_a_load_amid() -> None:
    # Clamped left, hinged right, W amid: the hinge takes 5/16 W, the clamp a moment of 3/16 W L.
    found = beam(400.0, {200.0: 80.0}, CLAMPED, HINGED)
    assert found.reactions["400"][1] == pytest.approx(5.0 / 16.0 * 80.0, rel=1e-9)
    assert found.reactions["0"][2] == pytest.approx(3.0 / 16.0 * 80.0 * 400.0, rel=1e-9)


def test_a_beam_clamped_at_both_ends() -> None:
    # W at a from the left, b from the right: moments W a b^2 / L^2 and W a^2 b / L^2.
    length, a, load = 500.0, 150.0, 120.0
    b = length - a
    found = beam(length, {a: load}, CLAMPED, CLAMPED)
    assert found.reactions["0"][2] == pytest.approx(load * a * b * b / length**2, rel=1e-9)
    assert found.reactions["500"][2] == pytest.approx(-load * a * a * b / length**2, rel=1e-9)


def test_a_portal_frame_with_a_side_load() -> None:
    """Kleinlogel, Rigid Frame Formulas, frame with hinged feet and a level load at its corner.

    Feet hinged: by symmetry each takes half of the load sideways, the corners bend with W h / 2 (remembered,
    and plain from antisymmetry; stretch of the members is made negligible).
    """
    high, wide, load = 300.0, 400.0, 100.0
    stiff = even(area=1e9)
    nodes: dict[str, Point] = {"a": (0.0, 0.0), "b": (0.0, high), "c": (wide, high), "d": (wide, 0.0)}
    members = [Member("a", "b", stiff), Member("b", "c", stiff), Member("c", "d", stiff)]
    found = solve(nodes, members, {"a": HINGED, "d": HINGED}, {"b": (load, 0.0, 0.0)})
    assert found.reactions["a"][0] == pytest.approx(-load / 2.0, rel=1e-5)
    assert abs(found.ends[0][1][2]) == pytest.approx(load * high / 2.0, rel=1e-5)
    assert found.reactions["d"][1] == pytest.approx(load * high / wide, rel=1e-5)


@given(
    first=st.floats(10.0, 30.0),
    last=st.floats(10.0, 30.0),
    wall=st.floats(0.5, 1.5),
    long=st.floats(50.0, 400.0),
)
def test_a_tapered_cantilever_is_exact_without_a_mesh(
    first: float, last: float, wall: float, long: float
) -> None:
    """The end's deflection is the integral of P u^2 / EI, by scipy's quadrature."""

    def second(s: float) -> float:
        d = first + (last - first) * s / long
        return math.pi / 64.0 * (d**4 - (d - 2.0 * wall) ** 4)

    def taper(at: Floats) -> tuple[Floats, Floats]:
        return np.full_like(at, E * AREA), E * np.array([second(float(s)) for s in at])

    found = solve(
        {"a": (0.0, 0.0), "b": (long, 0.0)},
        [Member("a", "b", taper)],
        {"a": CLAMPED},
        {"b": (0.0, -40.0, 0.0)},
    )
    wanted = quad(lambda s: 40.0 * (long - s) ** 2 / (E * second(s)), 0.0, long)[0]
    assert found.moves["b"][1] == pytest.approx(-wanted, rel=1e-6)


def test_a_corner_of_the_taper_is_kept() -> None:
    """Two straight tapers in one member are the same as in two members."""

    def taper(at: Floats) -> tuple[Floats, Floats]:
        d = np.interp(at, [0.0, 100.0, 300.0], [14.0, 20.0, 20.0])
        return np.full_like(at, E * AREA), E * math.pi / 64.0 * d**4

    nodes: dict[str, Point] = {"a": (0.0, 0.0), "m": (100.0, 0.0), "b": (300.0, 0.0)}
    load = {"b": (0.0, -40.0, 0.0)}
    one = solve(
        nodes | {}, [Member("a", "b", taper, (100.0,)), Member("a", "m", even())], {"a": CLAMPED}, load
    )
    two = solve(
        nodes,
        [Member("a", "m", taper), Member("m", "b", lambda at: taper(at + 100.0))],
        {"a": CLAMPED},
        load,
    )
    assert one.moves["b"][1] == pytest.approx(two.moves["b"][1], rel=1e-9)


# --- a general frame library as reference

angles = st.floats(0.1, 1.4)
sizes = st.floats(100.0, 400.0)
pulls = st.floats(-500.0, 500.0)


@st.composite
def rear_ends(
    draw: st.DrawFn,
) -> tuple[dict[str, Point], list[tuple[str, str, float, float]], dict[str, float]]:
    """Draw two stays from one joint and a brace: nodes, members with area and second moment, loads."""
    a, b = draw(sizes), draw(sizes)
    turn = draw(angles)
    share = draw(st.floats(0.2, 0.8))
    c, s = math.cos(turn), math.sin(turn)
    nodes: dict[str, Point] = {
        "o": (0.0, 0.0),
        "p": (-a * share, 0.0),
        "q": (-b * share * c, b * share * s),
        "u": (-a, 0.0),
        "v": (-b * c, b * s),
    }
    members = [
        (start, end, draw(st.floats(20.0, 90.0)), draw(st.floats(300.0, 9000.0)))
        for start, end in (("o", "p"), ("p", "u"), ("o", "q"), ("q", "v"), ("p", "q"))
    ]
    return nodes, members, {"o": draw(pulls), "p": draw(pulls), "q": draw(pulls)}


@given(rear_ends(), st.booleans())
def test_it_agrees_with_a_frame_library(
    drawn: tuple[dict[str, Point], list[tuple[str, str, float, float]], dict[str, float]], clamped: bool
) -> None:
    """PyNite, a general library for frames: moves and end moments within 0.1 %."""
    nodes, members, pull = drawn
    loads = {"o": (pull["o"], -pull["p"], 1000.0), "p": (0.0, pull["p"], 0.0), "q": (pull["q"], 0.0, -500.0)}
    held = CLAMPED if clamped else HINGED
    ours = solve(
        nodes, [Member(a, b, even(area, i)) for a, b, area, i in members], {"u": held, "v": held}, loads
    )
    # It brings all of matplotlib, which no other test needs.
    from Pynite import FEModel3D

    model = FEModel3D()
    model.add_material("steel", E, E / 2.6, 0.3, 1e-9)
    for name, (x, y) in nodes.items():
        model.add_node(name, x, y, 0.0)
        flat = name in "uv"
        model.def_support(name, flat, flat, True, True, True, flat and clamped)
    for i, (a, b, area, second) in enumerate(members):
        model.add_section(f"s{i}", area, second, second, second)
        model.add_member(f"m{i}", a, b, "steel", f"s{i}")
    for name, (fx, fy, m) in loads.items():
        for way, amount in (("FX", fx), ("FY", fy), ("MZ", m)):
            model.add_node_load(name, way, amount)
    model.analyze_linear()
    most = max(abs(each) for moves in ours.moves.values() for each in moves[:2]) + 1e-9
    for name, moves in ours.moves.items():
        node = model.nodes[name]
        assert moves[0] == pytest.approx(node.DX["Combo 1"], rel=1e-3, abs=1e-6 * most)
        assert moves[1] == pytest.approx(node.DY["Combo 1"], rel=1e-3, abs=1e-6 * most)
        assert moves[2] == pytest.approx(node.RZ["Combo 1"], rel=1e-3, abs=1e-6 * most / 100.0)


# --- laws


@given(rear_ends(), st.booleans())
def test_the_supports_hold_the_loads_in_balance(
    drawn: tuple[dict[str, Point], list[tuple[str, str, float, float]], dict[str, float]], clamped: bool
) -> None:
    nodes, members, pull = drawn
    loads = {"o": (pull["o"], -pull["p"], 1000.0), "p": (0.0, pull["p"], 0.0), "q": (pull["q"], 0.0, -500.0)}
    held = CLAMPED if clamped else HINGED
    found = solve(
        nodes, [Member(a, b, even(area, i)) for a, b, area, i in members], {"u": held, "v": held}, loads
    )
    acting = [*loads.items(), *found.reactions.items()]
    scale = sum(abs(each) for load in loads.values() for each in load[:2]) + 1.0
    for way in (0, 1):
        assert math.fsum(load[way] for _, load in acting) == pytest.approx(0.0, abs=1e-9 * scale * 100.0)
    moment = math.fsum(nodes[name][0] * f[1] - nodes[name][1] * f[0] + f[2] for name, f in acting)
    assert moment == pytest.approx(0.0, abs=1e-9 * scale * 1e4)


def test_mirrored_loads_on_a_mirrored_frame_move_it_mirrored() -> None:
    nodes: dict[str, Point] = {"l": (-100.0, 0.0), "m": (0.0, 80.0), "r": (100.0, 0.0)}
    members = [Member("l", "m", even()), Member("r", "m", even())]
    one = solve(nodes, members, {"l": CLAMPED, "r": CLAMPED}, {"m": (30.0, -50.0, 700.0)})
    two = solve(nodes, members, {"l": CLAMPED, "r": CLAMPED}, {"m": (-30.0, -50.0, -700.0)})
    x, y, turn = one.moves["m"]
    assert two.moves["m"] == pytest.approx((-x, y, -turn), rel=1e-9)


def test_a_very_stiff_neighbour_takes_all_and_a_hinge_takes_no_moment() -> None:
    nodes: dict[str, Point] = {"o": (0.0, 0.0), "u": (-300.0, 0.0), "v": (-150.0, 260.0)}

    def shared(factor: float) -> float:
        members = [Member("o", "u", even()), Member("o", "v", even(AREA * factor, SECOND * factor))]
        ends = solve(nodes, members, {"u": CLAMPED, "v": CLAMPED}, {"o": (0.0, 0.0, 1e5)}).ends
        return ends[1][0][2] / 1e5

    assert shared(1e6) == pytest.approx(1.0, abs=1e-3)
    assert shared(1e-6) == pytest.approx(0.0, abs=1e-3)
    members = [Member("o", "u", even()), Member("o", "v", even())]
    hinged = solve(nodes, members, {"u": HINGED, "v": CLAMPED}, {"o": (0.0, -90.0, 1e5)})
    assert hinged.ends[0][1][2] == pytest.approx(0.0, abs=1e-6)
    assert hinged.reactions["u"][2] == 0.0


def test_a_mechanism_and_a_member_without_length_are_refused() -> None:
    nodes: dict[str, Point] = {"a": (0.0, 0.0), "b": (100.0, 0.0)}
    with pytest.raises(GeometryError, match=r"frame\.mechanism"):
        solve(nodes, [Member("a", "b", even())], {"a": HINGED}, {"b": (0.0, -1.0, 0.0)})
    with pytest.raises(GeometryError, match=r"frame\.no_length"):
        solve({"a": (0.0, 0.0), "b": (0.0, 0.0)}, [Member("a", "b", even())], {"a": CLAMPED}, {})
    with pytest.raises(GeometryError, match=r"frame\.held_by_nothing"):
        solve(nodes | {"c": (5.0, 5.0)}, [Member("a", "b", even())], {"a": CLAMPED}, {})

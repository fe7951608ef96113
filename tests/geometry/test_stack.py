"""The lateral build-up, and the choice of spacers against an exhaustive search in exact fractions."""

import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import GeometryError
from geometry.core.say import named, say
from geometry.mount.placement import Placement, place
from geometry.mount.spacers import choose
from geometry.mount.stack import PlateFace, Sleeve, build_up, rss, sleeve, worst_case
from geometry.survey.readings import readings
from geometry.tables.axles import End, axle
from geometry.tables.interfaces import OwnRow, resolve
from sheets.words.tell import told


def _placed(name: str, end: End, system: str, native: float = 160.0, **more: float) -> Placement:
    host, direction = ("chainstay", 180.0) if end == "rear" else ("fork-leg", 90.0)
    interface = resolve(name, end, native, native)
    return place(interface, axle(system), rotor=native, host=host, direction=direction, **more)


def _inside(placement: Placement, plate: float | None = 8.0) -> float:
    return build_up(placement, plate_face="inside", plate=plate, dropout_thickness=None).length


# --- tolerances: published worked examples


@pytest.mark.parametrize(
    ("tolerances", "worst", "root"),
    [
        # Published RSS examples: ten parts of 0.1 give 0.316; 0.20, 0.10 and 0.15 give 0.269.
        ([0.1] * 10, 1.0, 0.316228),
        ([0.20, 0.10, 0.15], 0.45, 0.269258),
        # metricmech.com, worked example of a tolerance stack-up: bore, spacer, ring, shoulder.
        ([0.10, 0.05, 0.03, 0.05], 0.23, 0.12610),
    ],
)
def test_worst_case_and_rss_of_published_stacks(tolerances: list[float], worst: float, root: float) -> None:
    assert worst_case(tolerances) == pytest.approx(worst, abs=1e-9)
    assert rss(tolerances) == pytest.approx(root, abs=5e-6)
    # The sign of a tolerance says nothing of its size.
    assert worst_case([-each for each in tolerances]) == worst_case(tolerances)


def test_a_published_stack_leaves_its_gap_through_the_signed_links() -> None:
    # metricmech.com: bore 40 less spacer 25, ring 2 and shoulder 10 leaves 3.00.
    assert choose(40.0 - 25.0 - 2.0 - 10.0, [3.0]).best.leftover == 0.0


# --- the chain


def test_the_rear_stack_does_not_know_the_axle_system() -> None:
    for name, native in (("is-rear", 140.0), ("post", 160.0), ("flat-rear", 160.0)):
        for face, thickness in (("inside", None), ("outside", 6.0)):
            found = {
                system: build_up(
                    _placed(name, "rear", system, native),
                    plate_face=face,  # type: ignore[arg-type]
                    plate=20.0,
                    dropout_thickness=thickness,
                )
                for system in ("135-qr", "142x12", "148x12")
            }
            first = found["135-qr"]
            for each in found.values():
                assert (each.length, each.stack, each.links) == (first.length, first.stack, first.links)
                assert say("stack.rear_ends") in each.sentences


def test_the_rear_lengths_are_the_laterals_of_the_table() -> None:
    # interfaces reference: tab inner face 0, post line -4.25, slot reference -3.05 from the inner face.
    assert _inside(_placed("is-rear", "rear", "142x12", 140.0), None) == 0.0
    assert _inside(_placed("post", "rear", "142x12"), 20.0) == pytest.approx(-4.25)
    assert _inside(_placed("flat-rear", "rear", "142x12"), 20.0) == pytest.approx(-3.05)


def test_front_12_and_15_mm_axles_stand_2_and_3_mm_further_out_than_quick_release() -> None:
    # 2.0 peterverdone.com, Clearing up FM140; 3.0 common practice, no source.
    for name in ("is-front", "post", "flat-front"):
        quick = _inside(_placed(name, "front", "100-qr"), 20.0)
        assert _inside(_placed(name, "front", "100x12"), 20.0) - quick == pytest.approx(2.0)
        assert _inside(_placed(name, "front", "100x15"), 20.0) - quick == pytest.approx(3.0)
        assert _inside(_placed(name, "front", "100x15", pocket=4.5), 20.0) - quick == pytest.approx(4.5)
    assert _inside(_placed("is-front", "front", "100x15")) == pytest.approx(7.0)
    told = build_up(
        _placed("is-front", "front", "100x12"), plate_face="inside", plate=8.0, dropout_thickness=None
    ).sentences
    assert told == (say("stack.front_ends", thin="2", thick="3"), say("stack.front_pocket", deep="2"))


@given(
    st.sampled_from(["inside", "outside"]),
    st.floats(3.0, 15.0),
    st.floats(0.0, 6.0),
    st.floats(-15.0, 15.0),
    st.booleans(),
)
def test_the_links_add_up_and_the_two_faces_see_one_mount(
    face: PlateFace, thickness: float, pocket: float, lateral: float, front: bool
) -> None:
    end: End = "front" if front else "rear"
    own = OwnRow("mine", "bench", "post", 160.0, 5.0, None, lateral, line=(50.0, 5.0, 79.0))
    where = place(
        resolve("mine", end, 160.0, 160.0, own),
        axle("100x15" if front else "142x12"),
        rotor=160.0,
        host="fork-leg",
        direction=90.0,
        pocket=pocket,
    )
    found = build_up(where, plate_face=face, plate=30.0, dropout_thickness=thickness)
    assert math.fsum(link.length for link in found.links) == pytest.approx(found.length, abs=1e-9)
    z = lateral + (pocket if front else 0.0)
    way = {"inside": 1.0, "outside": -1.0}[face]
    assert found.start_z + way * found.length == pytest.approx(z, abs=1e-9)
    other = build_up(where, plate_face="inside", plate=30.0, dropout_thickness=thickness)
    opposite = build_up(where, plate_face="outside", plate=30.0, dropout_thickness=thickness)
    assert other.length + opposite.length == pytest.approx(thickness, abs=1e-9)


def test_what_the_mount_itself_fills_is_taken_off() -> None:
    tab = _placed("is-rear", "rear", "142x12", 140.0)
    outside = build_up(tab, plate_face="outside", plate=8.0, dropout_thickness=10.0, mount_size=7.0)
    assert (outside.length, outside.stack) == (10.0, 3.0)
    unknown = build_up(tab, plate_face="outside", plate=8.0, dropout_thickness=10.0)
    assert unknown.stack is None
    assert say("stack.no_size.tab", length="10") in unknown.sentences
    # A tab touches the pieces with its datum when the plate lies inside, however thick it is.
    assert build_up(tab, plate_face="inside", plate=8.0, dropout_thickness=None, mount_size=7.0).stack == 0.0
    post = _placed("post", "rear", "142x12")
    found = build_up(post, plate_face="outside", plate=8.0, dropout_thickness=6.0)
    assert found.length == pytest.approx(10.25)
    assert found.stack == pytest.approx(10.25 - 14.0 / 2.0)
    wide = build_up(post, plate_face="outside", plate=8.0, dropout_thickness=6.0, mount_size=12.0)
    assert wide.stack == pytest.approx(10.25 - 6.0)


@given(st.sampled_from(["is-rear", "is-front"]), st.floats(0.0, 3.0), st.floats(4.0, 9.0))
def test_a_tab_is_set_with_its_stock_on_and_ends_where_it_belongs(
    name: str, stock: float, thick: float
) -> None:
    """Own arithmetic: stock of the inner face stands inboard of the datum until it is faced off."""
    end, system = ("rear", "142x12") if name == "is-rear" else ("front", "100x15")
    where = _placed(name, end, system, 140.0 if end == "rear" else 160.0)  # type: ignore[arg-type]
    inside = build_up(where, plate_face="inside", plate=20.0, dropout_thickness=10.0, facing=stock)
    assert inside.stack is not None
    raw = inside.start_z + inside.stack
    assert raw + stock == pytest.approx(where.lateral_z, abs=1e-9)
    # What the card asks to be read before facing is the same face, read from the same dropout.
    before = [
        each for each in readings(where, axle=19.05, facing=stock) if "before facing" in told(each.name)
    ]
    if stock:
        way = 1.0 if where.lateral_z >= 0.0 else -1.0
        assert before[0].nominal * way == pytest.approx(raw, abs=1e-9)
    # A plate outside touches the outer face, which nobody faces: thickness is what is left at the end.
    outside = build_up(
        where, plate_face="outside", plate=20.0, dropout_thickness=10.0, mount_size=thick, facing=stock
    )
    assert outside.stack is not None
    assert outside.start_z - outside.stack == pytest.approx(where.lateral_z + thick, abs=1e-9)


def test_stock_that_reaches_into_the_plate_is_told_as_any_relief() -> None:
    rear = _placed("is-rear", "rear", "135-qr", 140.0)
    found = build_up(rear, plate_face="inside", plate=8.0, dropout_thickness=7.0, mount_size=6.0, facing=0.5)
    assert (found.length, found.stack) == (0.0, -0.5)
    relief = say("stack.relieve", deep="0.5", left="7.5")
    assert say("stack.reaches", deep="0.5", relief=relief, other=named("outside")) in found.sentences
    assert say("stack.facing_blank", facing="0.5", thick="6.5") in found.sentences
    filled = "plate to mount 0.00 mm, less stock left for facing 0.50: the mount reaches 0.50 into the plate"
    assert told(found.filling) == filled
    taken = "Take off 0.50 (stock left for facing): the mount reaches 0.50 into the plate."
    assert told(found.filling_sentence) == f"From plate to mount it is 0.00 mm. {taken}"


def test_an_end_without_a_pocket_is_told_of_none() -> None:
    quick, pocket = (
        build_up(_placed("is-front", "front", axle), plate_face="inside", plate=8.0, dropout_thickness=7.0)
        for axle in ("100-qr", "100x15")
    )
    assert "stack.front_pocket" not in {each.code for each in quick.sentences}
    assert "stack.front_pocket" in {each.code for each in pocket.sentences}


def test_stock_of_posts_and_flats_stands_along_the_normal_and_moves_nothing_sideways() -> None:
    for name in ("post", "flat-rear"):
        where = _placed(name, "rear", "142x12")
        for face in ("inside", "outside"):
            bare, left = (
                build_up(
                    where,
                    plate_face=face,  # type: ignore[arg-type]
                    plate=20.0,
                    dropout_thickness=6.0,
                    facing=stock,
                )
                for stock in (0.0, 0.5)
            )
            assert bare == left


def test_the_chains_tolerance_stands_beside_the_interfaces_own() -> None:
    found = build_up(
        _placed("is-front", "front", "100x12"), plate_face="inside", plate=8.0, dropout_thickness=None
    )
    # The tab's lateral 0.1 (forum.cruzbike.com 11450) and the pieces' 0.05; no text gives the pocket's.
    assert found.interface_tolerance == 0.1
    assert found.worst_case == pytest.approx(0.15)
    assert found.rss == pytest.approx(math.sqrt(0.1**2 + 0.05**2))
    assert found.unknown == (say("stack.link.pocket"),)
    # Front and rear tab disagree sideways, so that the front's number is no better than D.
    assert found.grade == "D"
    assert all(link.source for link in found.links)


def test_a_pocket_comes_with_its_own_source() -> None:
    """That of the table's number, or the job's key for one's own."""
    for own in (None, 2.5):
        found = build_up(
            _placed("is-front", "front", "100x12", pocket=own),
            plate_face="inside", plate=8.0, dropout_thickness=None,
        )  # fmt: skip
        (link,) = (each for each in found.links if each.name == say("stack.link.pocket"))
        pocket = axle("100x12").pocket
        assert pocket is not None and link.source == (pocket.source if own is None else "axle.pocket")
        assert (link.length, link.grade) == ((pocket.value, pocket.grade) if own is None else (own, "own"))


def test_the_calipers_own_adjustment_is_known_for_slots_alone() -> None:
    slot = build_up(
        _placed("flat-rear", "rear", "142x12"), plate_face="outside", plate=8.0, dropout_thickness=6.0
    ).adjustment
    assert slot is not None
    assert (slot.value, slot.grade) == (1.5, "D")
    for name, end, system in (("post", "rear", "142x12"), ("flat-front", "front", "100x12")):
        where = _placed(name, end, system)  # type: ignore[arg-type]
        assert build_up(where, plate_face="inside", plate=30.0, dropout_thickness=None).adjustment is None


def test_missing_numbers_are_named_by_their_key() -> None:
    post = _placed("post", "rear", "142x12")
    with pytest.raises(GeometryError, match=r"^dropout\.thickness: stack\.no_thickness"):
        build_up(post, plate_face="outside", plate=8.0, dropout_thickness=None)
    with pytest.raises(
        GeometryError, match=r"^bench\.plate: stack\.no_plate\(deep='11\.25', other='outside'"
    ):
        build_up(post, plate_face="inside", plate=None, dropout_thickness=None)
    # Where the plate's thickness changes nothing it is not asked for.
    build_up(post, plate_face="outside", plate=None, dropout_thickness=6.0)


def test_a_mount_that_reaches_into_the_plate_says_how_deep() -> None:
    post = _placed("post", "rear", "142x12")
    thin = build_up(post, plate_face="inside", plate=8.0, dropout_thickness=None)
    assert thin.stack == pytest.approx(-11.25)
    assert thin.sentences[-1]["relief"] == say("stack.cut_through", plate="8")
    thick = build_up(post, plate_face="inside", plate=15.0, dropout_thickness=None)
    assert thick.sentences[-1]["relief"] == say("stack.relieve", deep="11.25", left="3.75")
    flush = build_up(
        _placed("is-rear", "rear", "142x12", 140.0), plate_face="inside", plate=8.0, dropout_thickness=None
    )
    assert "stack.reaches" not in {said.code for said in flush.sentences}


# --- spacers

# Metric and inch drawers as builders keep them; 1/64 in is 0.396875 mm exactly.
SIZES = st.one_of(
    st.sampled_from([0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 0.396875, 0.79375, 1.5875, 3.175, 6.35, 0.254]),
    st.integers(1, 400).map(lambda n: n / 50.0),
)
STOCK = st.lists(SIZES, max_size=9)


def _exact(value: float) -> Fraction:
    return Fraction(str(value))


def _all_sets(stock: list[float]) -> set[tuple[float, ...]]:
    ordered = sorted(stock, reverse=True)
    return {each for n in range(len(ordered) + 1) for each in itertools.combinations(ordered, n)}


def _ranked(length: float, stock: list[float], tolerance: float) -> tuple[bool, list[tuple[float, ...]]]:
    """Every set of the stock, the best first, in exact fractions."""
    goal, play = _exact(length), _exact(tolerance)
    totals = {pieces: sum((_exact(piece) for piece in pieces), Fraction()) for pieces in _all_sets(stock)}

    def taste(pieces: tuple[float, ...]) -> tuple[int, list[float]]:
        return len(set(pieces)), [-piece for piece in pieces]

    near = [pieces for pieces, total in totals.items() if abs(total - goal) <= play]
    if near:
        return True, sorted(near, key=lambda each: (len(each), abs(totals[each] - goal), *taste(each)))
    below = [pieces for pieces, total in totals.items() if total <= goal]
    return False, sorted(below, key=lambda each: (-totals[each], len(each), *taste(each)))


@given(STOCK, st.integers(0, 1200).map(lambda n: n / 50.0), st.sampled_from([0.0, 0.02, 0.05, 0.1]))
def test_no_choice_is_worse_than_an_exhaustive_search(
    stock: list[float], length: float, tolerance: float
) -> None:
    found = choose(length, stock, tolerance)
    reached, ranked = _ranked(length, stock, tolerance)
    assert found.reached == reached
    assert found.best.pieces == ranked[0]
    if found.best.pieces or not reached:
        assert [each.pieces for each in found.alternatives] == ranked[1:3]
    for each in (found.best, *found.alternatives):
        rest = _exact(length) - sum((_exact(piece) for piece in each.pieces), Fraction())
        assert each.leftover == pytest.approx(float(rest), abs=1e-7)
        assert each.total + each.leftover == pytest.approx(length, abs=1e-9)
        # Closing the gap takes exactly this piece.
        assert each.make == (None if reached else each.leftover)


@given(st.lists(st.floats(0.05, 8.0), max_size=9), st.floats(0.0, 30.0))
def test_odd_sizes_too_are_never_worse_than_an_exhaustive_search(stock: list[float], length: float) -> None:
    # Sizes that share no step are taken to the micrometre: nine pieces may be off by half of one each.
    off = 0.0045 + 1e-6
    found = choose(length, stock)
    totals = {pieces: math.fsum(pieces) for pieces in _all_sets(stock)}
    inner = [pieces for pieces, total in totals.items() if abs(total - length) <= 0.05 - off]
    if inner:
        assert found.reached
        assert len(found.best.pieces) <= min(len(pieces) for pieces in inner)
    if found.reached:
        assert abs(found.best.leftover) <= 0.05 + off
    else:
        most = max((total for total in totals.values() if total <= length - off), default=0.0)
        assert found.best.total >= most - 2.0 * off
    # Every piece named is a piece of the drawer, and none is used twice.
    drawer = list(stock)
    for piece in found.best.pieces:
        drawer.remove(piece)


def test_ties_go_to_the_nearer_then_to_fewer_sizes_then_to_the_longer_piece() -> None:
    assert choose(10.0, [9.97, 10.02]).best.pieces == (10.02,)
    assert choose(10.0, [9.98, 10.03]).best.pieces == (9.98,)
    # Two alike rather than two sizes, though one of those is longer.
    assert choose(6.0, [4.0, 3.0, 3.0, 2.0]).best.pieces == (3.0, 3.0)
    found = choose(6.0, [4.0, 5.0, 2.0, 1.0])
    assert found.best.pieces == (5.0, 1.0)
    assert [each.pieces for each in found.alternatives] == [(4.0, 2.0)]
    # Fewer pieces come before a smaller leftover.
    assert choose(6.0, [6.04, 5.0, 1.0]).best.pieces == (6.04,)


def test_words_at_the_bench() -> None:
    stock = [10.0, 5.0, 5.0, 0.2, 0.1]
    assert told(choose(10.2, stock).sentence) == "10 + 0.2 = 10.2 mm, nothing left over."
    assert told(choose(10.25, stock).sentence) == "10 + 0.2 = 10.2 mm, 0.05 mm short: within ±0.05."
    assert told(choose(9.97, stock).sentence) == "10 = 10 mm, 0.03 mm over: within ±0.05."
    assert told(choose(0.0, stock).sentence) == "No spacers: 0 mm to make up."
    assert choose(0.0, stock).best.pieces == ()
    assert choose(0.0, stock).alternatives == ()
    assert told(choose(3.0, [5.0]).sentence) == "No spacer in stock fits: cut or turn one piece of 3 mm."
    assert choose(3.0, [5.0]).best.make == 3.0
    assert told(choose(7.0, [5.0]).sentence) == (
        "The stock does not come within 0.05 mm of 7 mm: stack 5 = 5 mm and cut or turn one piece of 2 mm."
    )
    assert "use shim, or in place of the 1 turn one of 1.3 mm" in told(choose(3.3, [2.0, 1.0]).sentence)
    assert choose(0.3, []).sentence["make"] == say("spacers.make.thin", size="0.3")


def test_a_negative_length_lies_on_the_other_side_of_the_plate() -> None:
    found = choose(-4.25, [5.0, 1.0])
    assert not found.reached
    assert found.best.pieces == ()
    assert found.best.leftover == -4.25
    assert found.sentence == say("spacers.beyond_plate", by="4.25")


def test_counts_are_limited_and_inch_pieces_are_exact() -> None:
    assert choose(4.0, [2.0]).reached is False
    assert choose(4.0, [2.0, 2.0]).best.pieces == (2.0, 2.0)
    # 1/8 in + 1/64 in = 3.571875 mm by definition of the inch.
    assert choose(3.571875, [3.175, 0.396875], 0.0).best.pieces == (3.175, 0.396875)


@pytest.mark.parametrize("piece", [0.0, -1.0, math.nan, math.inf])
def test_a_piece_that_is_no_length_is_refused(piece: float) -> None:
    with pytest.raises(GeometryError, match=r"^bench\.spacers: spacers\.no_spacer"):
        choose(5.0, [1.0, piece])


@pytest.mark.parametrize(("length", "tolerance"), [(math.nan, 0.05), (math.inf, 0.05), (5.0, -0.1)])
def test_a_length_that_is_none_is_refused(length: float, tolerance: float) -> None:
    with pytest.raises(GeometryError):
        choose(length, [1.0], tolerance)


def test_a_large_drawer_of_odd_sizes_is_still_searched() -> None:
    # Sixty pieces of one odd drawer: every tenth, and no two alike, far from any common step.
    sixty = [round(0.3 + i * math.sqrt(2.0) / 17.0, 4) for i in range(60)]
    for length in (12.34, 25.0, 60.0):
        assert choose(length, sixty, 0.0005).best.pieces
    # Nearly the whole drawer, and more than the whole drawer.
    assert choose(sum(sixty) - 0.4, sixty).reached
    assert len(choose(1e6, sixty).best.pieces) == 60


# --- dummy axle and sleeve


def test_the_sleeve_between_two_dummy_axles() -> None:
    # 3/4 and 1 in ground bar: common practice, no source; the inch is 25.4 mm by definition.
    assert sleeve(25.4, 19.05) == Sleeve(19.05, 25.4)
    assert Sleeve(19.05, 25.4).wall == pytest.approx(3.175)
    assert sleeve(19.05, 19.05) is None
    with pytest.raises(
        GeometryError, match=r"^axle\.dummy: stack\.axle_too_thick\(axle='25\.4', .* over='6\.35'"
    ):
        sleeve(19.05, 25.4)

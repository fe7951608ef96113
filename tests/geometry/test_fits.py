"""Which shipped size a mount fits. What lies how far apart is hand arithmetic from the table's numbers."""

import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from geometry.survey.fits import Across, Fitting, Place, fitting
from geometry.survey.recall import recalls
from geometry.tables import interfaces
from geometry.tables.axles import End
from geometry.tables.interfaces import Interface, resolve, rows

BANDS = {"h": 0.08, "x_near": 0.08, "x_far": 0.11, "near": 0.09, "far": 0.11, "spacing": 0.09}


def place(form: Interface, up: float = 0.0, along: float = 0.0) -> Place:
    return Place(form.h + up, form.x_near + along, form.x_far + along, BANDS)


def called(form: Interface, native: float | None = None, up: float = 0.0, along: float = 0.0) -> Fitting:
    """Return what a mount of a row fits that is called by its own size, or another."""
    size = form.native if native is None else native
    return fitting(form.family, form.end, size, place(form, up, along))


def shipped() -> Iterator[Interface]:
    for name, row in rows().items():
        sizes = (140.0, 160.0, 180.0, 200.0, 203.0, 220.0) if row.path is not None else row.sizes
        for end in row.ends:
            yield from (resolve(name, end, size, size) for size in sizes)


EVERY = tuple(shipped())
NAMES = [f"{each.name}-{each.end}-{each.native:g}" for each in EVERY]


@pytest.mark.parametrize("form", EVERY, ids=NAMES)
def test_a_good_mount_called_by_its_size_is_not_doubted(form: Interface) -> None:
    # Off by what a survey lets a mount be off (survey.toml, own judgement): it is still that size's.
    for up, along in ((0.0, 0.0), (0.3, 0.5), (-0.3, -0.5), (0.3, -0.5)):
        found = called(form, None, up, along)
        assert not found.doubtful
        assert found.named is not None
        assert found.named.off == pytest.approx(math.hypot(up, along), abs=1e-9)


@pytest.mark.parametrize("form", EVERY, ids=NAMES)
@pytest.mark.parametrize("step", [-20.0, 20.0])
def test_a_mount_called_by_the_next_size_is_told_its_own(form: Interface, step: float) -> None:
    found = called(form, form.native + step, 0.3, -0.3)
    if form.name == "flat-front" and form.native + step in rows()["flat-front"].sizes:
        # Its plate is turned end for end: 140 and 160 are one mount.
        assert found.other is None
        return
    assert found.doubtful and found.other is not None
    assert (found.other.row, found.other.end) == (form.name, form.end)
    assert found.other.native == form.native or form.name == "flat-front"


def test_a_140_flat_mount_called_160_lies_ten_millimetres_away() -> None:
    # Shipped 140: 30.5 and 25.4, shipped 160: 35.6 and 34.0; read 30.92 and 25.14.
    found = fitting("flat", "rear", 160, Place(30.92, 25.14, 59.12, BANDS))
    assert found.named is not None and found.other is not None
    assert found.other.native == 140
    assert found.other.off == pytest.approx(math.hypot(0.42, 0.28))
    assert found.named.off == pytest.approx(math.hypot(4.68, 8.88))


def test_a_posts_size_is_found_along_its_path() -> None:
    # 3 in disc size is 1.5 at the mount: more than adapters of different makers differ by.
    post = resolve("post", "rear", 203, 203)
    wrong = called(post, 200)
    assert wrong.other is not None and wrong.other.native == 203
    assert wrong.named is not None and wrong.named.off == pytest.approx(1.5)
    # A size that nobody sells is told as it is: 190 lies 5 from 180 and from 200.
    between = called(resolve("post", "rear", 190, 190), 180)
    assert between.other is not None and between.other.native == 190
    # Beyond the path's end nothing is known: 240 would be 10 beyond 220.
    assert called(resolve("post", "rear", 220, 220), 220, 8.66, 5.0).stray


def test_a_post_of_the_second_published_set_is_not_doubted() -> None:
    # 203 lies 21.5 up its path from 160; the other set's path is turned by 60 less 57.55 degrees: a chord.
    post = resolve("post", "front", 203, 203)
    assert post.second is not None
    found = called(post, None, post.second.up, post.second.along)
    assert found.named is not None and found.named.off == pytest.approx(43 * math.sin(math.radians(1.225)))
    assert not found.doubtful


def test_a_size_that_no_row_has_is_always_asked_about() -> None:
    tab = resolve("is-rear", "rear", 140, 140)
    found = called(tab, 160)
    assert found.named is None and found.other is not None and found.other.native == 140
    away = called(tab, 160, 5.0)
    assert away.other is None and away.stray


def test_the_other_end_is_told_where_its_row_fits() -> None:
    front = resolve("is-front", "front", 160, 160)
    found = fitting("tab", "rear", 140, place(front))
    assert found.other is not None and (found.other.row, found.other.end) == ("is-front", "front")


def test_a_mount_of_another_family_is_told_by_the_row_that_it_fits_best() -> None:
    # A flat mount for 140 called a tab. The flat for 160 lies 10.0 away, the tab 12.4 (own arithmetic from
    # the table): known to within 9, each of both flat mounts is near, and no tab.
    flat = resolve("flat-rear", "rear", 140, 140)
    for band in (0.08, 6.4):
        found = fitting("tab", "rear", 140, replace(place(flat), bands=dict.fromkeys(BANDS, band)))
        assert found.stray and found.stranger is not None
        assert (found.stranger.row, found.stranger.native) == ("flat-rear", 140.0)
        assert found.stranger.off == pytest.approx(0.0)
    # What fits no row of any family is nobody's.
    away = Place(flat.h + 25.0, flat.x_near, flat.x_far, BANDS)
    assert fitting("tab", "rear", 140, away).stranger is None


def test_derived_numbers_are_near_over_the_band_they_were_derived_to() -> None:
    # flat-rear 140: 27 to 34 up, 19 to 30 along (interfaces.toml). Nothing else lies so far off and is near.
    assert not fitting("flat", "rear", 140, Place(27.5, 20.0, 54.0, BANDS)).doubtful
    assert fitting("flat", "rear", 140, Place(26.5, 20.0, 54.0, BANDS)).stray
    # 160 has no such band: its numbers can be read in three ways, and the mount of another is asked about.
    assert fitting("flat", "rear", 160, Place(38.9, 30.8, 64.8, BANDS)).stray
    # Holes 6 further apart than the row's are another mount.
    assert fitting("flat", "rear", 140, Place(30.5, 25.4, 65.4, BANDS)).stray


def test_a_wide_band_does_not_tell_one_size_from_another() -> None:
    wide = dict.fromkeys(BANDS, 7.0)
    assert fitting("flat", "rear", 160, Place(30.92, 25.14, 59.12, wide)).other is None


@pytest.mark.parametrize("recall", recalls(), ids=lambda each: each.row)
def test_a_tab_of_recalled_numbers_is_told(recall) -> None:  # type: ignore[no-untyped-def]
    near, far, s = recall.radii
    x = (far**2 - near**2 - s**2) / (2 * s)
    h = math.sqrt(near**2 - x**2)
    native = resolve(recall.row, recall.end, None, 0).native
    sharp = dict.fromkeys(BANDS, 0.05)
    found = fitting("tab", recall.end, native, Place(h, x, x + s, sharp))
    assert found.recall == recall and found.surely and found.doubtful
    # The front's old number is 0.2 off, half of which any tab may be: rough readings fit both.
    rough = fitting("tab", recall.end, native, Place(h, x, x + s, BANDS | {"near": 0.15}))
    assert rough.recall == recall
    assert rough.surely is (recall.row == "is-rear")


def test_a_tab_of_today_is_not_taken_for_a_recalled_one() -> None:
    tab = resolve("is-rear", "rear", 140, 140)
    assert called(tab).recall is None
    # Halfway between 78.1 and 79.1 it is neither.
    x = (78.6**2 - 39.9**2 - 51.0**2) / 102.0
    found = fitting("tab", "rear", 140, Place(math.sqrt(39.9**2 - x**2), x, x + 51.0, BANDS))
    assert found.recall is None


def test_every_row_of_a_family_counts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    text = Path(interfaces.__file__).with_name("interfaces.toml").read_text(encoding="utf-8")
    start = text.index('[[row]]\nname = "is-rear"')
    row = text[start : text.index("[[row]]", start + 1)]
    second = row.replace("is-rear", "is-rear-wide").replace("39.9", "59.9").replace("78.1", "95.0")
    file = tmp_path / "interfaces.toml"
    file.write_text(text[:start] + row + second + text[start + len(row) :], encoding="utf-8")
    monkeypatch.setattr(interfaces, "_FILE", file)
    caches = interfaces.table, interfaces.rows
    for each in caches:
        each.cache_clear()
    try:
        wide = resolve("is-rear-wide", "rear", 140, 140)
        found = called(wide)
        assert (found.best.row, found.named) == ("is-rear-wide", found.best)
        assert not found.doubtful
        assert {each.row for each in found.fits} >= {"is-rear", "is-rear-wide"}
    finally:
        monkeypatch.undo()
        for each in caches:
            each.cache_clear()


def test_a_band_counts_for_a_row_that_is_just_out_of_reach() -> None:
    tab = resolve("is-rear", "rear", 140, 140)
    exact = Place(tab.h + 2.1, tab.x_near, tab.x_far, {})
    assert fitting("tab", "rear", 140, exact).stray
    assert not fitting("tab", "rear", 140, replace(exact, bands={"h": 0.2})).stray


def across(end: End, lateral: float | None, band: float = 0.1) -> Across:
    """Return how a post mount for 160 lies sideways that is called by this end."""
    form = resolve("post", end, 160, 160)
    found = fitting(
        "post", end, 160, Place(form.h, form.x_near, form.x_far, BANDS | {"lateral": band}, lateral)
    )
    assert found.across is not None and found.doubtful == found.across.other_end
    return found.across


@pytest.mark.parametrize(
    ("end", "lateral", "other", "untold"),
    [
        # The table's places: -4.25 at the rear, 0.5 at the front, each within 1 (derived, grade D).
        ("rear", -4.25, False, False),
        ("front", 0.5, False, False),
        ("rear", 0.5, True, False),
        ("front", -4.25, True, False),
        # A front mount read from the inner face lies its pocket's 2 further out, a rear one read from its
        # pocket's floor 3.5 further in: peterverdone.com, Clearing up FM140, for both pockets.
        ("rear", 2.5, True, False),
        ("front", -7.75, True, False),
        # Midway nobody can tell.
        ("rear", -1.9, False, True),
        ("rear", None, False, True),
        ("front", None, False, True),
    ],
)
def test_sideways_tells_a_front_post_from_a_rear_one(
    end: End, lateral: float | None, other: bool, untold: bool
) -> None:
    found = across(end, lateral)
    assert (found.other_end, found.untold) == (other, untold)


def test_no_end_is_doubted_by_a_sideways_number_that_is_as_open_as_both_lie_apart() -> None:
    assert not across("rear", 0.5, 4.0).other_end


@pytest.mark.parametrize(
    ("row", "end", "native", "alike"),
    [("flat-front", "front", 140, (160.0,)), ("flat-front", "front", 160, (140.0,)),
     ("flat-rear", "rear", 160, ()), ("post", "front", 180, ()), ("is-rear", "rear", 140, ())],
)  # fmt: skip
def test_sizes_that_lie_at_one_place_are_said_to(row: str, end: End, native: float, alike: tuple) -> None:
    # One plate, turned end for end, serves both: nomulabworkshop.com post 5063; cranksmith.com.
    form = resolve(row, end, native, native)
    assert fitting(form.family, end, native, place(form)).alike == alike

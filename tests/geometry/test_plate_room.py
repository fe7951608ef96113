"""What stands in the room of a setting plate and of the dummy axle, both ways, by hand."""

import numpy as np
import pytest

from geometry.clearance.plate_room import Held, axle_meets, in_plate, least_plate
from geometry.core.polygon import inside
from geometry.mount.outline import Pad
from geometry.mount.placement import Placement, place
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve
from geometry.tubes.tube import Station, Tube
from sheets.job.read import parse, place_job, tubes_of
from sheets.pages.running.numbers import detail_pages
from sheets.setup.setup import set_up
from sheets.words.tell import told
from tests.frames import Document, front
from tests.pages.jobs import SAMPLES, sample

HELD = Held(19.0, 12.0, {"near": 30.0, "far": 30.0})
SQUARE = ((-10.0, -10.0), (40.0, -10.0), (40.0, 40.0), (-10.0, 40.0))


def post() -> Placement:
    """Return a front post for 160: t runs up the leg (y), n rearward (x); face 55.9 out, near hole 6.8 up."""
    return place(
        resolve("post", "front", 160, 160), axle("100x12"), rotor=160, host="fork-leg", direction=90.0
    )


def leg(outset: float, start: float = 20.0) -> Tube:
    return Tube("fork-leg", 90.0, (Station(start, 24.0, 24.0), Station(380.0, 24.0, 24.0)), outset=outset)


@pytest.mark.parametrize(
    ("outset", "face", "thickness", "by"),
    [
        (12.0, "inside", 8.0, None),  # its inboard side lies at 0, flush with the face
        (10.0, "inside", 8.0, 2.0),  # at -2
        (10.0, "outside", 8.0, 14.0),  # its outboard side at 22, the face at 8
        (10.0, "outside", None, None),  # where the outer face is, nobody knows
        (-4.0, "outside", 8.0, None),  # at 8
    ],
)
def test_a_tube_past_the_face_stands_in_the_plates_room(
    outset: float, face: str, thickness: float | None, by: float | None
) -> None:
    """The leg is 24 thick, so that its sides lie 12 either way of its middle."""
    met = in_plate(post(), {"fork-leg": leg(outset)}, [SQUARE], face, thickness)  # type: ignore[arg-type]
    assert [each.what for each in met] == ([] if by is None else ["fork-leg"])
    if by is not None:
        assert met[0].by == pytest.approx(by, abs=0.01) and inside(SQUARE, met[0].at)


def test_a_tube_beside_the_plate_is_not_in_its_way() -> None:
    assert in_plate(post(), {"fork-leg": leg(10.0, 45.0)}, [SQUARE], "inside", 8.0) == ()


def test_what_is_not_placed_is_not_judged() -> None:
    unknown = Tube("fork-leg", 90.0, leg(10.0).stations, outset=10.0, lacks=("outset",))
    assert in_plate(post(), {"fork-leg": unknown}, [SQUARE], "inside", 8.0) == ()


def test_a_pad_is_in_the_way_on_its_own_face_alone() -> None:
    """Its ring is in x rearward and y up: along t and up n it is turned."""
    pad = Pad(((20.0, 5.0), (30.0, 5.0), (30.0, 15.0), (20.0, 15.0)), 3.5)
    (met,) = in_plate(post(), {}, [SQUARE], "inside", 8.0, pad)
    assert (met.what, met.by) == ("pad", 3.5) and met.at == pytest.approx((10.0, 25.0))
    assert in_plate(post(), {}, [SQUARE], "outside", 8.0, pad) == ()
    away = Pad(tuple((x + 60.0, y) for x, y in pad.ring), 3.5)
    assert in_plate(post(), {}, [SQUARE], "inside", 8.0, away) == ()


def test_the_least_plate_goes_round_its_bore_and_what_it_holds() -> None:
    """Of metal there are 5 round the bore and beside the posts, which are held over 12 of their length."""
    found = least_plate(post(), HELD, {}, "inside", 8.0)
    form = post().interface
    held = [
        (x + u, form.h - v) for x in (form.x_near, form.x_far) for u in (-10.9, 10.9) for v in (0.1, 11.9)
    ]
    for point in [(-14.0, 0.0), (0.0, -14.0), *held]:
        assert any(inside(arm, point) for arm in found.arms)
    # The corner towards the leg is free: a hull of all would cover it.
    assert not any(inside(arm, (form.x_far - 11.0, form.h - 20.0)) for arm in found.arms)


def test_by_hand_how_far_the_least_plate_reaches() -> None:
    """5 past the bore of 19 and past posts of 12, up to the face and no further; so that nothing that is
    beside it is called in its way.
    """
    form = post().interface
    u, v = np.concatenate([np.array(arm) for arm in least_plate(post(), HELD, {}, "inside", 8.0).arms]).T
    assert (u.min(), u.max()) == pytest.approx((-14.5, form.x_far + 11.0))
    assert (v.min(), v.max()) == pytest.approx((-14.5, form.h))


def test_of_two_shapes_the_one_that_meets_less_is_taken() -> None:
    """A flat mount's near boss stands over its stay: a plate straight to it would lie on the stay."""
    job = sample("greenshank")
    setup = set_up(job, place_job(job), tubes_of(job))
    assert setup.plate is not None and len(setup.plate.arms) == 3 and setup.plate.meets == ()


@pytest.mark.parametrize("name", SAMPLES)
def test_no_sample_has_a_plate_that_cannot_lie(name: str) -> None:
    job = sample(name)
    setup = set_up(job, place_job(job), tubes_of(job))
    assert setup.plate is not None
    assert [each.what for each in setup.plate.meets] == (["pad"] if name == "whimbrel" else [])
    assert {each.level for each in setup.in_the_way} <= {"note"}


def fork(outset: float, start: float = 12.0) -> Document:
    """Return a fork whose plate lies inside, its leg's inboard side 12 inboard of its middle."""
    tube = {"diameters": [[start, 24], [380, 24]], "wall": 1.5, "outset": outset, "splay": 0}
    boss = {"diameter": 12, "length": 50}
    made = front("post", 160, "100x12", tube, boss=boss, process={"material": "CrMo"})
    return made | {"dropout": {"thickness": 8}, "bench": {"plate": 10, "plate_face": "inside"}}


def test_a_leg_in_the_way_is_warned_of_with_what_helps_and_shown() -> None:
    for outset, wanted in ((4.0, ["plate-meets"]), (12.5, [])):
        job = parse(fork(outset))
        placement = place_job(job)
        setup = set_up(job, placement, tubes_of(job))
        found = [each for each in setup.findings if each.code == "plate-meets"]
        assert [each.code for each in found] == wanted
        said = " ".join(text.text for sheet in detail_pages(job, placement, setup) for text in sheet.texts)
        assert ("A bold cross is where" in said) == bool(wanted)
        for each in found:
            assert each.level == "warn" and "stands 8.0 mm past the dropout's inner face" in told(each.brief)
            assert "bench.plate_face" in told(each.remedy)


def test_a_pad_under_the_plate_is_told_and_no_warning() -> None:
    document = fork(12.5)
    points = [[-15, -15], [30, -15], [30, 20], [-15, 20]]
    pad = [[30, -2], [30, 15], [24, 15], [24, -2]]
    document["dropout"] |= {"points": points, "outline_from": "tube", "pad": pad, "pad_height": 4}
    job = parse(document)
    setup = set_up(job, place_job(job), tubes_of(job))
    assert [(each.code, each.level) for each in setup.in_the_way] == [("plate-on-pad", "note")]


def test_a_dummy_axle_in_a_tube_is_warned_of() -> None:
    """The leg begins on the axle's line, or clear of a bar that is 19.05 thick."""
    for start, meets in ((5.0, ("fork-leg",)), (12.0, ())):
        assert axle_meets(post(), {"fork-leg": leg(12.5, start)}, 19.05) == meets
        job = parse(fork(12.5, start))
        setup = set_up(job, place_job(job), tubes_of(job))
        assert [each.code for each in setup.in_the_way] == ["axle-meets"] * len(meets)

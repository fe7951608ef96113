"""Whether metal is left round the hole down a post or boss: by shapely's areas, and what a job is told."""

from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.findings import Finding
from geometry.core.tables import Number
from geometry.mount.carried import hole_across, hole_limit
from geometry.tables.interface_rows import HoleForm
from geometry.tables.interfaces import rows
from sheets.job.read import Job, from_bytes, place_job, tubes_of
from sheets.setup.setup import set_up
from sheets.setup.tables_used import used
from sheets.words.tell import told

SAMPLES = Path(__file__).parents[2] / "samples"


@given(width=st.floats(4.0, 7.0), more=st.floats(0.1, 6.0), beyond=st.floats(-1.5, 1.5))
def test_a_slot_leaves_a_ring_only_where_the_boss_is_wider_than_it_is_long(
    width: float, more: float, beyond: float
) -> None:
    """shapely cuts a slot out of a disc: what stays is one piece with a hole in it, or is cut through."""
    form = HoleForm(kind="slot", diameter=Number(width, "D", "test"), length=width + more, screw="M5")
    if abs(beyond) < 0.01:
        return
    middle = shapely.LineString([(-more / 2.0, 0.0), (more / 2.0, 0.0)])
    disc = shapely.Point(0.0, 0.0).buffer((hole_across(form)[0] + beyond) / 2.0, quad_segs=256)
    left = disc.difference(middle.buffer(width / 2.0, quad_segs=256))
    ring = left.geom_type == "Polygon" and len(left.interiors) == 1
    assert ring == (beyond > 0.0)


def test_a_thread_reaches_to_its_outside() -> None:
    """ISO 262: an M6 thread is 6 across, whatever its drill; a drilled hole is as it is made."""
    drill = Number(5.0, "D", "test")
    assert hole_across(HoleForm(kind="thread", diameter=drill, screw="M6")) == (6.0, "thread")
    assert hole_across(HoleForm(kind="plain", diameter=drill, screw="M6")) == (5.0, "plain")


def test_an_own_hole_may_be_wider_than_its_thread_or_than_its_slot_is_long() -> None:
    """Then it is the hole that leaves no metal, and neither thread nor slot."""
    own = Number(15.0, "own", "test")
    assert hole_across(HoleForm(kind="thread", diameter=own, screw="M6")) == (15.0, "plain")
    assert hole_across(HoleForm(kind="slot", diameter=own, length=8.5, screw="M5")) == (15.0, "plain")


@pytest.mark.parametrize(
    ("sample", "given", "said", "do"),
    [
        ("greenshank", 8.5, "no wider than the slot through it is long, 8.5: nothing is left", "10.5 wide"),
        ("godwit", 6, "no wider than the thread in it, 6: nothing is left round it.", "8 wide"),
    ],
)
def test_a_boss_with_no_metal_round_its_hole_stops(sample: str, given: float, said: str, do: str) -> None:
    """It is placed all the same: a packet of before this was looked at must still be read and placed."""
    (one,) = walls(from_bytes(*document(sample, given)).job)
    assert (one.code, one.level, one.subject) == ("hole-wall", "stop", "boss.diameter")
    assert said in told(one.brief) and do in told(one.remedy)


def test_a_hole_of_an_own_row_is_named_beside_the_diameter() -> None:
    row = 'source = "measured here"\nfamily = "post"\nh = 65.9\nx_near = 11.8\nx_far = 86.0'
    text = (SAMPLES / "godwit.toml").read_text(encoding="utf-8").replace("\ndiameter = 11.5\n", "\n")
    job = from_bytes(f"{text}\n[interface]\n{row}\nhole = 15\n".encode(), SAMPLES / "godwit.toml").job
    (one,) = walls(job)
    assert told(one.brief).startswith("A post 14 wide is no wider than the hole in it, 15:")
    assert "(interface.hole)" in told(one.remedy)


@pytest.mark.parametrize("diameter", ['"0.413 in"', '"0.414 in"', "10.5"])
def test_whoever_takes_the_diameter_that_is_advised_is_warned_no_more(diameter: str) -> None:
    raw, file = document("greenshank", 9.0)
    text = raw.decode().replace("\ndiameter = 9.0\n", f"\ndiameter = {diameter}\n")
    assert text != raw.decode()
    assert walls(from_bytes(text.encode(), file).job) == []


@pytest.mark.parametrize(
    ("sample", "given", "left"),
    [
        ("greenshank", 9.5, "0.50"),
        ("greenshank", 10.5, None),
        ("godwit", 7, "0.50"),
        ("godwit", 8, None),
        ("lapwing", 6.5, "0.75"),
    ],
)
def test_a_thin_wall_is_warned_of(sample: str, given: float, left: str | None) -> None:
    job = from_bytes(*document(sample, given)).job
    found = walls(job)
    if left is None:
        assert found == []
        return
    (one,) = found
    assert (one.level, one.subject) == ("warn", "boss.diameter")
    assert told(one.brief).startswith(f"Only {left} mm of the ")
    assert "(boss.diameter)" in told(one.remedy)


def test_no_sample_and_no_row_as_it_is_published_is_warned_of() -> None:
    """Ordinary good frames: bosses of 11 and more round a slot of 8.5, posts of 11.5 round M6."""
    for file in sorted(SAMPLES.glob("*.toml")):
        job = from_bytes(file.read_bytes(), file).job
        assert walls(job) == [], file.name
    widths = [(row, row.boss["diameter"].value) for row in rows().values() if "diameter" in row.boss]
    assert len(widths) == 3
    for row, wide in widths:
        assert wide >= hole_across(row.hole)[0] + 2.0 * hole_limit().value, row.name


def walls(job: Job) -> list[Finding]:
    """Return what is found of the metal round a job's holes.

    It has one code, whether it stops or warns: what takes it away, such as a cure at the desk, leaves enough.
    """
    found = set_up(job, place_job(job), tubes_of(job)).findings
    return [each for each in found if each.code == "hole-wall"]


def document(sample: str, diameter: float) -> tuple[bytes, Path]:
    """Return a sample's text whose bosses are so wide, and where it stands."""
    file = SAMPLES / f"{sample}.toml"
    begun, found, rest = file.read_text(encoding="utf-8").partition("\n[boss]\ndiameter = ")
    assert found
    return f"{begun}{found}{diameter}\n{rest.partition(chr(10))[2]}".encode(), file


@pytest.mark.parametrize(("sample", "rests"), [("godwit", True), ("greenshank", True), ("dunlin", False)])
def test_the_least_wall_is_a_number_of_every_packet_but_a_tabs(sample: str, rests: bool) -> None:
    file = SAMPLES / f"{sample}.toml"
    job = from_bytes(file.read_bytes(), file).job
    assert ("carried.toml, hole" in used(job, place_job(job), ())) == rests

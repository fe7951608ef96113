"""Whether metal is left round the hole down a post or boss: by shapely's areas, and what a job is told."""

from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from geometry.core.errors import InputError
from geometry.core.tables import Number
from geometry.mount.carried import hole_across, hole_limit
from geometry.tables.interface_rows import HoleForm
from geometry.tables.interfaces import rows
from sheets.job.read import Job, from_bytes, place_job, tubes_of
from sheets.setup.setup import SetUp, set_up
from sheets.setup.tables_used import used
from sheets.words.tell import lines, told

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
    disc = shapely.Point(0.0, 0.0).buffer((hole_across(form) + beyond) / 2.0, quad_segs=256)
    left = disc.difference(middle.buffer(width / 2.0, quad_segs=256))
    ring = left.geom_type == "Polygon" and len(left.interiors) == 1
    assert ring == (beyond > 0.0)


def test_a_thread_reaches_to_its_outside() -> None:
    """ISO 262: an M6 thread is 6 across, whatever its drill; a drilled hole is as it is made."""
    drill = Number(5.0, "D", "test")
    assert hole_across(HoleForm(kind="thread", diameter=drill, screw="M6")) == 6.0
    assert hole_across(HoleForm(kind="plain", diameter=drill, screw="M6")) == 5.0


@pytest.mark.parametrize(
    ("sample", "given", "said"),
    [
        ("greenshank", 8.5, "no wider than the slot through it is long, 8.5: nothing is left at its ends"),
        ("godwit", 6, "no wider than the thread in it, 6: nothing is left round it; give 8 or more"),
    ],
)
def test_a_boss_with_no_metal_round_its_hole_is_refused(sample: str, given: float, said: str) -> None:
    with pytest.raises(InputError) as refused:
        place_job(from_bytes(*document(sample, given)).job)
    (line,) = lines(refused.value)
    assert line.startswith("boss.diameter: ") and said in line


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
    found = [each for each in setup_of(job).findings if each.code == "hole-wall-thin"]
    if left is None:
        assert found == []
        return
    (one,) = found
    assert (one.level, one.subject) == ("warn", "boss.diameter")
    assert told(one.brief).startswith(f"Only {left} mm of the ")
    assert "(boss.diameter)" in told(one.remedy)


def test_no_sample_and_no_row_as_it_is_published_is_warned_of() -> None:
    """An ordinary good frame: makers' bosses are 11 and more round a slot of 8.5, and posts 11.5 round M6."""
    for file in sorted(SAMPLES.glob("*.toml")):
        job = from_bytes(file.read_bytes(), file).job
        codes = {each.code for each in setup_of(job).findings}
        assert "hole-wall-thin" not in codes, file.name
    widths = [(row, row.boss["diameter"].value) for row in rows().values() if "diameter" in row.boss]
    assert len(widths) == 3
    for row, wide in widths:
        assert wide >= hole_across(row.hole) + 2.0 * hole_limit().value, row.name


def setup_of(job: Job) -> SetUp:
    """Return a job's set-up."""
    return set_up(job, place_job(job), tubes_of(job))


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

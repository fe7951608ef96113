"""The dropout's outline as a job says it and as it may not, and the drawing that is read into the job."""

import hashlib
import os
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from geometry.core.errors import InputError
from sheets.job.read import from_bytes, load, parse
from sheets.words.tell import lines
from tests.files.test_drawings import GOOD
from tests.job.conftest import KNOT

Document = dict[str, Any]
Problems = Callable[[Document], dict[str, str]]
SQUARE = [[-20, -20], [20, -20], [20, 20], [-20, 20]]
HOLE = [[10, 10, 6.2]]
PAD = [[5, 20], [20, 20], [20, 12], [5, 12]]


def _with(document: Document, dropout: Document, **more: Document) -> Document:
    return document | {"dropout": dropout} | more


def test_points_are_read_with_their_units(rear: Document) -> None:
    corners = [["-1 in", -20], [20, "-2 cm"], [20, 20], [-20, 20]]
    found = parse(_with(rear, {"points": corners, "holes": HOLE, "outline_from": "tube"})).dropout
    assert found.points is not None and found.shaped
    assert found.points[0] == (-25.4, -20.0) and found.points[1] == (20.0, -20.0)
    assert found.holes == ((10.0, 10.0, 6.2),)


def test_a_pad_may_end_on_the_dropouts_own_edge(rear: Document) -> None:
    found = parse(_with(rear, {"points": SQUARE, "pad": PAD, "pad_height": "1/4 in"})).dropout
    assert found.pad == tuple(map(tuple, PAD)) and found.pad_height == pytest.approx(6.35)


@pytest.mark.parametrize(
    ("dropout", "where", "said"),
    [
        ({"outline": "../a.svg"}, "dropout.outline", "lies beside the job"),
        ({"outline": "/etc/passwd"}, "dropout.outline", "lies beside the job"),
        ({"outline": "a.dwg"}, "dropout.outline", "ends in .svg or .dxf"),
        ({"outline": "a.svg", "points": SQUARE}, "dropout.points", "not both"),
        ({"points": SQUARE, "outline_unit": "in"}, "dropout.outline_unit", "for a drawing"),
        ({"points": SQUARE, "outline_layer": "a"}, "dropout.outline_layer", "for a drawing"),
        ({"points": SQUARE, "outline_from": "road"}, "dropout.outline_from", "plumb"),
        ({"holes": HOLE}, "dropout.holes", "dropout.points is not"),
        ({"outline_from": "tube"}, "dropout.outline_from", "neither"),
        ({"outline_turned": 5}, "dropout.outline_turned", "neither"),
        ({"outline_mirrored": True}, "dropout.outline_mirrored", "neither"),
        ({"points": "all round"}, "dropout.points", "list of rows of 2 numbers"),
        ({"points": [[1, 2], [3]]}, "dropout.points", "row 2"),
        ({"points": [[1, 2], "3, 4"]}, "dropout.points", "row 2"),
        ({"points": [[1, 2], [3, "4 deg"]]}, "dropout.points", "deg"),
        ({"points": [[1, 2], [3, 4]]}, "dropout.points", "at least 3"),
        ({"points": [[0, 0]] * 4000}, "dropout.points", "3000"),
        ({"points": [[-20, -20], [20, 20], [20, -20], [-20, 20]]}, "dropout.points", "crosses"),
        ({"points": [[30, 0], [60, 0], [60, 30]]}, "dropout.points", "axle lies outside"),
        ({"points": SQUARE, "holes": [[19, 0, 6]]}, "dropout.points", "wholly in the plate"),
        ({"points": SQUARE, "outline_from": "plumb"}, "dropout.outline_from", "stance.chainstay"),
        ({"points": SQUARE, "pad": PAD}, "dropout.pad_height", "dropout.pad_height is missing"),
        ({"points": SQUARE, "pad_height": 5}, "dropout.pad", "dropout.pad is missing"),
        ({"pad": PAD, "pad_height": 5}, "dropout.pad", "neither dropout.outline nor dropout.points"),
        ({"points": SQUARE, "pad": [[0, 0], [9, 0], [18, 0]], "pad_height": 5}, "dropout.pad", "no area"),
        (
            {"points": SQUARE, "pad": [*PAD[:2], [25, 25]], "pad_height": 5},
            "dropout.pad",
            "leaves the dropout",
        ),
        ({"points": SQUARE, "pad": PAD, "pad_height": 31}, "dropout.pad_height", "allowed 0.1 to 30"),
    ],
)
def test_what_an_outline_may_not_be(
    rear: Document, problems: Problems, dropout: Document, where: str, said: str
) -> None:
    found = problems(_with(rear, dropout))
    assert list(found) == [where] and said in found[where]


def test_by_plumb_an_outline_wants_the_stance_of_its_own_end(
    rear: Document, front: Document, problems: Problems
) -> None:
    plumb = {"points": SQUARE, "outline_from": "plumb"}
    assert parse(_with(rear, plumb, stance={"chainstay": 9})).dropout.outline_from == "plumb"
    found = problems(_with(front, plumb, stance={"chainstay": 9}))
    assert "stance.leg" in found["dropout.outline_from"]


# --- a drawing beside the job

JOB = f"""{KNOT}[dropout]
thickness = 7
outline = "plate.svg"
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Return a job whose drawing lies beside it."""
    (tmp_path / "plate.svg").write_bytes(GOOD)
    (tmp_path / "knot.toml").write_text(JOB, encoding="utf-8")
    return tmp_path / "knot.toml"


def test_what_was_read_goes_with_the_job_and_needs_no_file_again(job: Path, tmp_path: Path) -> None:
    source = load(job)
    drawn = source.job.outline
    assert drawn is not None and drawn.sha256 == hashlib.sha256(GOOD).hexdigest()
    assert len(drawn.holes) == 2 and source.raw.startswith(JOB.encode())
    again = from_bytes(source.raw, tmp_path / "elsewhere" / "knot.toml")
    assert again.job == source.job and again.raw == source.raw
    # Whoever saves the attached job as a file gets the same one, with the drawing beside it or without.
    job.write_bytes(source.raw)
    assert load(job).job == source.job
    (tmp_path / "plate.svg").unlink()
    assert load(job).job == source.job


def test_an_inline_table_and_one_key_at_a_time_are_read_alike(job: Path) -> None:
    plain = load(job).job
    text = JOB.replace('[dropout]\nthickness = 7\noutline = "plate.svg"\n', "")
    keys = ("thickness = 7", 'outline = "plate.svg"')
    for other in (f"dropout = {{ {', '.join(keys)} }}\n", "".join(f"dropout.{key}\n" for key in keys)):
        job.write_text(other + text, encoding="utf-8")
        source = load(job)
        assert source.job == plain and from_bytes(source.raw, job).job == plain


def test_a_drawing_that_is_another_since_is_not_passed_over(job: Path) -> None:
    job.write_bytes(load(job).raw)
    (job.parent / "plate.svg").write_bytes(GOOD.replace(b"2.6", b"2.7"))
    assert "is not the drawing" in refused(job)
    job.write_text(_without_outline(job), encoding="utf-8")
    assert load(job).job.outline is not None


def _without_outline(job: Path) -> str:
    text = job.read_text(encoding="utf-8")
    assert "outline" in tomllib.loads(text)
    return text[: text.index("\n# plate.svg\n[outline]")]


def refused(job: Path) -> str:
    """Return the one line that a job is refused with."""
    with pytest.raises(InputError) as caught:
        load(job)
    (line,) = lines(caught.value)
    assert line.startswith(f"{job}: ")
    return line


def test_a_drawing_that_cannot_be_read_is_told_by_key_and_name(job: Path, tmp_path: Path) -> None:
    plate = tmp_path / "plate.svg"
    plate.write_bytes(b"<svg")
    assert f"{job}: dropout.outline: plate.svg: this is no SVG" in refused(job)
    plate.write_bytes(GOOD.replace(b'width="100mm"', b'width="100"').replace(b'height="100mm"', b""))
    assert "outline_unit" in refused(job)
    with plate.open("wb") as file:
        file.truncate(100_000_000)
    assert "larger than 2 MB" in refused(job)
    plate.unlink()
    assert "no such file" in refused(job)
    plate.mkdir()
    assert "no plain file" in refused(job)


def test_a_drawing_is_read_from_no_other_folder_by_a_link(job: Path, tmp_path: Path) -> None:
    plate, filed, out = tmp_path / "plate.svg", load(job).raw, tmp_path.with_name(f"{tmp_path.name}-out")
    out.mkdir()
    plate.rename(out / "plate.svg")
    plate.symlink_to(out / "plate.svg")
    assert f"{job}: dropout.outline: plate.svg: this is a link that leads out" in refused(job)
    job.write_bytes(filed)
    assert "leads out" in refused(job)
    # One within the folder is followed.
    plate.unlink()
    (tmp_path / "drawings").mkdir()
    (out / "plate.svg").rename(tmp_path / "drawings" / "plate.svg")
    plate.symlink_to(tmp_path / "drawings" / "plate.svg")
    assert load(job).raw == filed


def test_a_pipe_is_not_waited_at(job: Path, tmp_path: Path) -> None:
    if not hasattr(os, "mkfifo"):
        return  # there are no pipes with names
    (tmp_path / "plate.svg").unlink()
    os.mkfifo(tmp_path / "plate.svg")
    assert "no plain file" in refused(job)


def test_without_a_folder_the_drawing_is_asked_for_and_not_passed_over(job: Path) -> None:
    with pytest.raises(InputError, match=r"outline\.not_filed"):
        from_bytes(JOB.encode(), job)


@pytest.mark.parametrize(
    ("old", "new", "where"),
    [
        ('file = "plate.svg"', 'file = "other.svg"', "outline.file"),
        ("points = [[", "points = [[900, 0], [", "outline.points"),
        ("sha256 = ", "sha = ", "outline.sha"),
    ],
)
def test_what_was_filed_is_checked_as_any_job_is(job: Path, old: str, new: str, where: str) -> None:
    raw = load(job).raw.decode()
    assert raw.count(old) == 1
    with pytest.raises(InputError) as caught:
        from_bytes(raw.replace(old, new).encode(), job)
    assert any(line.startswith(f"{where}: ") for line in lines(caught.value))

"""A new brake standard is a row of the table: one that is planted there is checked, drawn and listed.

The row is invented. What is expected of it is own arithmetic.
"""

import json
import math
import re
from collections.abc import Iterator
from pathlib import Path

import pypdf
import pytest

from geometry.clearance.bodies import caliper, room_of
from geometry.core.errors import TableError
from geometry.mount.placement import place
from geometry.survey.open_numbers import row_checks, unnoticed
from geometry.tables.axles import axle
from geometry.tables.interfaces import resolve, rows
from tests.commands.conftest import Run, write
from tests.commands.measured_mounts import post
from tests.conftest import forget
from tests.pages.jobs import SAMPLES
from tests.planted import POST_82, planted

TUBES = ("[tubes.chainstay]", "[boss]\nlength = 40\n[tubes.chainstay]")
ASKED = ('"is-rear"', '"post-82"')
CALIPER = "\n[caliper]\nlength = 72\nheight = 26\ninboard = 17\noutboard = 22\n"


@pytest.fixture
def new(tmp_path: Path) -> Iterator[None]:
    """Work with the table that has the row more."""
    forget()
    with planted(tmp_path):
        yield
    forget()


def _job(tmp_path: Path, *changes: tuple[str, str], more: str = "") -> Path:
    file = write(tmp_path / "jobs" / "ruff.toml", TUBES, ASKED, ("rotor = 160", "rotor = 180"), *changes)
    file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    return file


@pytest.mark.usefixtures("new")
@pytest.mark.parametrize(("size", "height", "near"), [(180, 66.56, 5.2), (203, 76.52, 11.0)])
def test_it_is_drawn_where_its_numbers_put_it(
    run: Run, tmp_path: Path, size: int, height: float, near: float
) -> None:
    job = _job(tmp_path, ("rotor = 180", f"rotor = {size}"))
    ran = run("draw", job, "--out", tmp_path / "drawn", "--json")
    assert ran.status == 0, ran.errors
    placement = ran.json["placement"]
    # The chainstay runs forward, so that the mount's normal is up and the holes lie at -x.
    wanted = [[-near, height, -3.75], [-near - 82.0, height, -3.75]]
    assert [hole["centre"] for hole in placement["holes"]] == [pytest.approx(each) for each in wanted]
    assert [hole["diameter"] for hole in placement["holes"]] == [5.0, 5.0]
    assert placement["interface"]["name"] == "post-82" and placement["interface"]["provisional"]
    assert placement["adapter"]["step"] == 0.0
    # Every file was read back and measured, or it would not be there.
    (packet,) = (tmp_path / "drawn").glob("*.pdf")
    said = pypdf.PdfReader(packet).pages[0].extract_text() + run("check", job, "--all").out
    assert "post mount 82" in said and "Invented: no caliper for it is known." in said


@pytest.mark.usefixtures("new")
@pytest.mark.parametrize("native", [180, 203])
def test_no_adapter_for_a_post_mount_is_taken_to_bolt_to_it(run: Run, tmp_path: Path, native: int) -> None:
    other = {180: 203, 203: 180}[native]
    ran = run("check", _job(tmp_path, ("rotor = 180", f"rotor = {other}\nnative = {native}")))
    assert ran.status == 2
    assert (
        "no adapter is known for a post mount with its holes 82.0 mm apart, only for holes 74.2 mm"
        in (ran.errors[0])
    )
    # Its neighbour of the same family has the adapter that it had.
    usual = _job(tmp_path, ("post-82", "post"), ("rotor = 180", "rotor = 203\nnative = 180"))
    assert run("check", usual).status != 2


def test_an_own_row_with_holes_of_its_own_takes_no_adapter_either(run: Run, tmp_path: Path) -> None:
    own = (
        "\n[interface]\nfamily = 'post'\nnative = 180\nlateral = -4\nsource = 'mine'"
        "\nh = 66\nx_near = 5\nx_far = {far}\n"
    )
    for far, status in ((79.2, 0), (80.2, 0), (80.3, 2), (87.0, 2), (78.1, 2)):
        changes = ("post-82", "mine"), ("rotor = 180", "rotor = 203")
        ran = run("check", _job(tmp_path, *changes, more=own.format(far=far)), "--json")
        assert (ran.status == 2) == (status == 2), far


def test_no_mount_is_told_from_an_adapter_with_holes_of_its_own(run: Run, tmp_path: Path) -> None:
    """Read on an adapter of +20, with 82 between its holes: how it carries them stands in no table."""
    file = post(tmp_path / "on.toml", 180, 160, "c", "adapter = 20")
    assert run("learn", "--readings", file).status == 0
    text = file.read_text(encoding="utf-8")
    for key in ("along-far-over", "spacing-over"):
        read = float(re.search(rf"{key} = \[([\d.]+)\]", text)[1])  # type: ignore[index]
        text = text.replace(f"{key} = [{read:.2f}]", f"{key} = [{read + 7.8:.2f}]")
    file.write_text(text, encoding="utf-8")
    ran = run("learn", "--readings", file)
    assert ran.status == 2
    assert (
        "the holes are 82.0 mm apart, and the adapters known for a post mount have theirs 74.2"
        in (ran.errors[0])
    )


@pytest.mark.usefixtures("new")
def test_its_caliper_is_not_known_until_somebody_measures_one(run: Run, tmp_path: Path) -> None:
    found = run("check", _job(tmp_path), "--json").json["findings"]
    (said,) = [each for each in found if each["code"] == "caliper-unknown"]
    assert said["level"] == "unknown"
    assert said["text"] == (
        "No caliper is known for a post mount with its holes 82.0 mm apart. The clearances are those of one "
        "for holes 74.2 mm apart, lengthened where holes lie further apart. "
        "Measure yours (caliper.length and others)."
    )
    found = run("check", _job(tmp_path, more=CALIPER), "--json").json["findings"]
    assert "caliper-unknown" not in {each["code"] for each in found}
    found = run("check", _job(tmp_path, ("post-82", "post")), "--json").json["findings"]
    assert "caliper-unknown" not in {each["code"] for each in found}


def test_it_is_listed_and_nothing_else_is_another(run: Run, tmp_path: Path) -> None:
    before, avocet = run("mounts", "--json").json, run("check", SAMPLES["avocet"], "--json").out
    forget()
    with planted(tmp_path):
        after, listed = run("mounts", "--json").json, run("mounts").out
        assert json.loads(run("check", SAMPLES["avocet"], "--json").out) == json.loads(avocet)
        opened = run("mounts", "--open").out
    forget()
    *others, ours = after["interfaces"]
    assert others == before["interfaces"] and ours["name"] == "post-82"
    assert after["adapters"] == before["adapters"] and after["axles"] == before["axles"]
    own = [each for each in after["checks"] if "post-82" in each["rows"]]
    assert [each for each in after["checks"] if each not in own] == before["checks"]
    # A screw's thread, the pads at both sizes, the step between these, and the room beside the disc.
    assert {each["code"] for each in own} == {"hole-thread", "pads", "size-step", "beside-rear"}
    assert {each["state"] for each in own} == {"holds"}
    assert "post mount 82, rear" in listed and "post-82" in opened


ADAPTER = """
[[adapter]]
family = "post"
row = "post-82"
steps = [23]
name = "an adapter of its own"
grade = "D"
source = "post82"
"""


def test_an_adapter_of_its_own_is_a_row_too_and_serves_no_other(run: Run, tmp_path: Path) -> None:
    asked = ("rotor = 180", "rotor = 203\nnative = 180")
    with planted(tmp_path, POST_82 + ADAPTER):
        ran = run("check", _job(tmp_path, asked), "--json")
        assert ran.status != 2, ran.errors
        listed = " ".join(run("mounts").out.split())
        assert "post-82 +23 an adapter of its own, grade D" in listed
        usual = run("check", _job(tmp_path, asked, ("post-82", "post")), "--all").out
    forget()
    assert "an adapter of its own" not in usual


@pytest.mark.usefixtures("new")
def test_the_room_that_is_taken_for_its_caliper_is_longer_by_as_much() -> None:
    form = resolve("post-82", "rear", 180, 180)
    where = place(form, axle("142x12"), rotor=180, host="chainstay", direction=180.0)
    taken, usual = caliper(where), room_of("post", "post", "rear")
    assert taken.length == pytest.approx(usual.length.value + 82.0 - 74.2)
    assert not taken.known and not taken.own


@pytest.mark.usefixtures("new")
def test_what_no_check_bears_out_of_it_is_found_open() -> None:
    keys = {each.key for each in unnoticed() if each.row == "post-82"}
    # Its thread is ISO's, and its posts stand beside the disc; one word alone gives the rest.
    assert keys >= {"at.*.h", "at.*.x_near", "spacing", "boss.length"}
    assert "hole" not in keys
    pads = [each for each in row_checks() if each.code == "pads" and each.rows == ("post-82",)]
    assert {each.settles for each in pads} == {False}
    for each in pads:
        h, near = {180.0: (66.56, 5.2), 203.0: (76.52, 11.0)}[each.at or 0.0]
        assert each.found == pytest.approx((each.at or 0.0) / 2.0 - math.hypot(h, near + 41.0))


@pytest.mark.parametrize(
    ("old", "new", "where", "why"),
    [
        ('"post mount 82, rear"', '"post-82 mount, rear"', "row post-82.title", "two words"),
        ('"post mount 82, rear"', '"post mount 82"', "row post-82.title", "ends with"),
        ('"post mount 82, rear"', '"82, rear"', "row post-82.title", "two words"),
        ('["rear"]\nprovisional', '["rear", "front"]\nprovisional', "row post-82.lateral", "each end"),
        ('"post-82"', '"Post 82"', "row Post 82.name", "small letters"),
        ("spacing = {", "# spacing = {", "row post-82.spacing", "missing"),
        ("at.180.h", "path.native = 160\nat.180.h", "row post-82.path.from", "missing"),
    ],
)
def test_a_row_that_no_sheet_could_print_is_refused_at_once_and_told_why(
    run: Run, tmp_path: Path, old: str, new: str, where: str, why: str
) -> None:
    assert POST_82.count(old) == 1
    with planted(tmp_path, POST_82.replace(old, new)):
        with pytest.raises(TableError):
            rows()
        ran = run("mounts")
        assert ran.status == 2
        assert f"interfaces.toml: {where}: " in ran.errors[0] and why in ran.errors[0]


@pytest.mark.parametrize("title", ["post mount 82, rear", "82 mm post mount, rear", "82 mm post, rear"])
def test_titles_that_sheets_can_print(tmp_path: Path, title: str) -> None:
    with planted(tmp_path, POST_82.replace("post mount 82, rear", title)):
        assert rows()["post-82"].title == title

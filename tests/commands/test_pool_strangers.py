"""`dropleaf learn --pool` and files of strangers: each is a clear line, and silences no other."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.commands.measured_mounts import TEXT, post

pytestmark = pytest.mark.usefixtures("own_home")


REPORT = 'format = "dropleaf-mount-report"\nversion = {}\n'


def scaled(by: float) -> bytes:
    """Return the sample as somebody writes it who takes another unit for millimetres."""
    head, read = TEXT.split("[readings]")
    changed = re.sub("[0-9]+[.][0-9]+", lambda each: f"{float(each[0]) * by:.3f}", read)
    return f"{head}[readings]{changed}".encode()


HOSTILE = {
    "large": (b"# " + b"x" * 70_000, "larger than 12 kB"),
    "dotted": (".".join("a" * 5000).encode() + b" = 1", "no such key"),
    "crowded": ("\n".join(f"k{each} = 1" for each in range(800)).encode(), "805 more things"),
    "binary": (bytes(range(256)), "not UTF-8"),
    "deep": (b"a = " + b"[" * 5000 + b"]" * 5000, "nested"),
    "pdf": (b"%PDF-1.7\n", "attached to that page"),
    "empty": (b"", "missing"),
    "nan": (TEXT.replace("axle = [12.0, 12.0]", "axle = [nan, 12.0]").encode(), "finite"),
    "infinite": (TEXT.replace("axle = [12.0, 12.0]", "axle = [inf]").encode(), "finite"),
    "huge": (TEXT.replace("axle = [12.0, 12.0]", f"axle = [1{'0' * 400}]").encode(), "readings.axle"),
    "many": (TEXT.replace("axle = [12.0, 12.0]", f"axle = {[12.0] * 400}").encode(), "300 at most"),
    "escape": (TEXT.replace("a works frame", "\\u001b[31mred").encode(), "U+001B"),
    "key": (TEXT.replace("[readings]", '"\\u001b[31m" = 1\n[readings]').encode(), "no such key"),
    "version": (b'format = "dropleaf-mount-report"\nversion = 3\n' + TEXT.encode(), "reads versions 1 to 2"),
    "format": (b'format = "another"\n' + TEXT.encode(), "no such key"),
    "version text": ((REPORT.format('"2"') + TEXT).encode(), "reads versions 1 to 2"),
    "version true": ((REPORT.format("true") + TEXT).encode(), "of version true"),
    "no version": ((REPORT.split("version")[0] + TEXT).encode(), "does not say its version"),
    "inches": (scaled(1.0 / 25.4), "readings.axle: 0.472 given; allowed 4 to 60 mm"),
    "centimetres": (scaled(0.1), "readings.axle: 1.2 given"),
    "micrometres": (scaled(1000.0), "6 more things"),
    "near for far": (
        TEXT.replace("g-near", "g-x").replace("g-far", "g-near").replace("g-x", "g-far").encode(),
        "look for readings exchanged",
    ),
    "year": (
        TEXT.replace("by =", 'year = "about 2021"\nby =').encode(),
        "year: 'about 2021' is not a number",
    ),
    "old": (TEXT.replace("by =", "year = 300\nby =").encode(), "allowed 1990 to 2100"),
    "maker": (TEXT.replace("by =", "maker = 7\nby =").encode(), "a text in quotes is wanted"),
    "makers": (TEXT.replace("by =", "makers = 3\nby =").encode(), "did you mean maker?"),
    "two scripts": (TEXT.replace("by =", 'maker = "\u0410vocet"\nby =').encode(), "U+0410"),
    "fahrenheit": (TEXT.replace("by =", 'temperature = "68 F"\nby =').encode(), "the unit F is not known"),
    "day": (TEXT.replace("2026-01-31", '"31.1.2026"').encode(), "a date is wanted"),
    "wide text": (TEXT.encode("utf-16"), "not UTF-8"),
    "comma": (TEXT.replace("[36.9, 36.95, 36.9]", '"36,9; 36,95"').encode(), "decimals after a point"),
    "key twice": (TEXT.encode() + b"side = 3\n", "not TOML"),
    "below": (TEXT.replace("[36.9, 36.95, 36.9]", "[-36.9]").encode(), "allowed 0.5 to 260 mm"),
    "none read": (TEXT.split("[readings]")[0].encode() + b"[readings]\n", "none given"),
    "list": (TEXT.split("[readings]")[0].encode() + b"readings = [1, 2]\n", "a table [readings] is wanted"),
    "plate": (TEXT.replace("by =", "adapter = 20\nby =").encode(), "measure the mount itself"),
    "adapter": (TEXT.replace("by =", "adapter = 1e9\nby =").encode(), "allowed"),
    "job": (b'[frame]\nid = "knot"\n[mount]\nend = "rear"\n', "job file"),
}


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_of_a_stranger_is_a_clear_line_and_silences_no_other(
    run: Callable, three: list[Path], tmp_path: Path, own_home: Path, name: str
) -> None:
    raw, what = HOSTILE[name]
    bad = tmp_path / f"bad-{name}.toml"
    bad.write_bytes(raw)
    ran = run("learn", "--pool", *three[:2], bad, three[2], "--save", "shop", "--json")
    assert ran.status == 2
    # One line for it, and one that nothing was kept.
    assert len(ran.errors) == 2
    assert str(bad) in ran.errors[0] and what in ran.errors[0]
    assert all(line.isprintable() for line in ran.errors)
    assert ran.json["groups"][0]["count"] == 3 and ran.json["saved"] is None
    assert "the row shop was not kept, because not every file counts" in ran.errors[-1]
    assert not own_home.exists()


def test_a_file_s_own_name_forges_no_line(run: Callable, three: list[Path], tmp_path: Path) -> None:
    evil = tmp_path / "a\ndropleaf: row kept \u202e.toml"
    three[0].rename(evil)
    ran = run("learn", "--pool", evil, *three[1:])
    assert ran.status == 0
    assert not any(line.startswith("dropleaf") for line in ran.out.splitlines())
    assert "a\\ndropleaf: row kept \\u202e.toml" in ran.out and "\u202e" not in ran.out


def test_a_missing_file_and_a_folder_are_named_and_despite_keeps_what_is_left(
    run: Callable, three: list[Path], tmp_path: Path
) -> None:
    ran = run("learn", "--pool", *three, tmp_path / "d.toml", tmp_path, "--save", "shop", "--despite")
    assert ran.status == 2 and len(ran.errors) == 2
    assert "row shop kept" in ran.out


def test_wrong_command_lines_are_one_line_each(run: Callable, three: list[Path]) -> None:
    for args, what in (
        (("--pool",), "no file given"),
        ((*three,), "--pool before several"),
        (("--pool", *three, "--native", "160"), "--native"),
        (("--pool", *three, "--report", "out"), "--report"),
        (("--pool", *three, "--replace"), "without --save"),
        (("--pool", *three, "--save", "no such/name"), "--save"),
        (("--pool", *[three[0]] * 201), "200 at most"),
    ):
        ran = run("learn", *args)
        assert (ran.status, len(ran.errors)) == (2, 1), args
        assert what in ran.errors[0]


def test_a_front_post_mount_that_says_rear_is_told_apart_by_its_side(run: Callable, tmp_path: Path) -> None:
    rear = [post(tmp_path / f"{name}.toml", 160, 160, name, up=0.05 * k) for k, name in enumerate("ab")]
    front = post(tmp_path / "front.toml", 160, 160, "c", up=0.1)
    # Where a front mount has its holes by the table: 0.5 outboard, and 4.75 from -4.25.
    text = front.read_text(encoding="utf-8").replace("side = [-4.25]", "side = [0.5]")
    front.write_text(text, encoding="utf-8")
    ran = run("learn", "--pool", *rear, front, "--json")
    assert ran.status == 1 and ran.json["groups"][0]["count"] == 2
    (left,) = ran.json["left_out"]
    assert left["file"] == str(front) and "ANOTHER END FITS BETTER: sideways" in left["why"]
    assert "4.75 mm from where a rear mount" in left["why"]
    # Without the reading nothing tells, and that is said.
    front.write_text(text.replace("side = [0.5]", ""), encoding="utf-8")
    ran = run("learn", "--pool", *rear, front, "--json")
    assert ran.status == 0 and ran.json["groups"][0]["count"] == 3
    (note,) = [each["text"] for each in ran.json["notes"] if each["file"] == str(front)]
    assert note.startswith("Nothing that was read tells whether this is a rear mount")


ODD = {
    "jaws": ("-over = [33", "-between = [33", "contradicts the other readings"),
    "another name": ("works", "other", "its readings are those of"),
    "a reading less": ("[12.0, 12.0]", "[12.0]", "its readings are those of"),
    "family": ('"flat"', '"post"', "of another family"),
    "end": ('"rear"', '"front"', "ANOTHER END FITS BETTER"),
    "size": ("native = 140", 'native = "180 mm"', "ANOTHER SIZE FITS BETTER"),
}


@pytest.mark.parametrize("name", ODD)
def test_an_odd_report_is_left_out_in_one_line_and_the_others_still_pool(
    run: Callable, three: list[Path], tmp_path: Path, name: str
) -> None:
    old, new, what = ODD[name]
    text = TEXT.replace("36.9, 36.95, 36.9", "36.9, 36.95, 37.0")
    if what.startswith("its readings"):
        text = three[0].read_text(encoding="utf-8").replace("frame a", "works").replace("Avocet", "Eider")
    assert old in text
    odd = tmp_path / "odd.toml"
    odd.write_text(text.replace(old, new), encoding="utf-8")
    ran = run("learn", "--pool", *three, odd, "--json")
    assert ran.status == 1 and ran.json["groups"][0]["grade"] == "M"
    (line,) = [each for each in ran.errors if str(odd) in each]
    assert line.startswith(f"dropleaf: {odd}: LEFT OUT: ") and what in line

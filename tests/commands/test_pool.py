"""`dropleaf learn --report` and `--pool`: a page and a file of a mount, and several files put together."""

import hashlib
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pypdf
import pytest

from geometry.survey.learn import expected
from geometry.survey.learn_readings import Kind, kinds, model
from geometry.tables.interfaces import resolve
from sheets.home import folder as home
from sheets.job.read import parse, place_job
from sheets.pages.title import headed

SAMPLE = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"
TEXT = SAMPLE.read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give each test a builder's folder of its own."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    yield tmp_path / "home"


def mount(file: Path, on: str, up: float = 0.0, *changes: tuple[str, str]) -> Path:
    """Write the sample's readings as those of another mount, its face `up` mm higher; return the file."""
    text = TEXT.replace("a works frame with its caliper fitted", on)
    shifted = ", ".join(f"{each + up:.2f}" for each in (36.9, 36.95, 36.9))
    text = text.replace("36.9, 36.95, 36.9", shifted)
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return file


@pytest.fixture
def three(tmp_path: Path) -> list[Path]:
    """Return the readings of three mounts that agree."""
    return [
        mount(tmp_path / f"{name}.toml", f"frame {name}", up)
        for name, up in (("a", 0.0), ("b", 0.2), ("c", -0.1))
    ]


def post(file: Path, native: float, says: float, on: str, adapter: str = "", up: float = 0.0) -> Path:
    """Write readings on a post mount of one size, `up` mm too high, that says that it is of another."""
    row = resolve("post", "rear", native, native)
    known = {each.key: each for each in kinds("post", "rear")}
    keys = ("axle", "pin", "face-over", "along-far-over", "spacing-over", "side")
    taken: list[Kind] = [known[key] for key in keys]
    at = expected(row, [(known["axle"], 12.0), (known["pin"], 6.0)])
    read, _ = model(taken)(at)
    read[keys.index("face-over")] += up
    head = f'family = "post"\nend = "rear"\nnative = {says}\non = "{on}"'
    lines = [f'{head}\ndate = 2026-02-01\nby = "us"', adapter]
    lines += ["[readings]", *(f"{key} = [{value:.2f}]" for key, value in zip(keys, read, strict=True))]
    file.write_text("\n".join(lines), encoding="utf-8")
    return file


# --- the report


def test_a_report_is_one_page_and_one_file_that_names_nobody(run: Callable, tmp_path: Path) -> None:
    said = ("--kind", "frame", "--year", "2024", "--instrument", "a caliper of 150", "--temperature", "19")
    ran = run("learn", "--readings", SAMPLE, "--report", tmp_path / "out", *said)
    assert ran.status == 0
    assert "Nobody is named in it" in ran.out
    (file,) = (tmp_path / "out").glob("*.toml")
    (page,) = (tmp_path / "out").glob("*.pdf")
    raw = file.read_bytes()
    # The sample says who measured; the report does not.
    assert b"Saltmarsh" in SAMPLE.read_bytes() and b"Saltmarsh" not in raw
    document = tomllib.loads(raw.decode())
    assert (document["format"], document["version"]) == ("dropleaf-mount-report", 1)
    assert (document["kind"], document["year"], document["temperature"]) == ("frame", 2024, 19)
    assert document["readings"] == tomllib.loads(TEXT)["readings"]
    # Height: face 36.9167 less half an axle of 12, own arithmetic.
    assert document["row"]["h"] == pytest.approx(30.917, abs=0.001)
    _, digest, rest = raw.split(b"\n", 2)
    assert digest.endswith(hashlib.sha256(rest).hexdigest().encode())
    reader = pypdf.PdfReader(page)
    assert len(reader.pages) == 1
    assert reader.attachments[file.name] == [raw]
    text = " ".join(reader.pages[0].extract_text().split())
    assert hashlib.sha256(rest).hexdigest() in text and "not named" in text and "Saltmarsh" not in text
    assert "36.9; 36.95; 36.9" in text and "a caliper of 150" in text and "19 °C" in text
    assert "a report of a measured mount" in run("verify", page).errors[0]


def test_a_name_that_is_typed_stands_in_the_report(run: Callable, tmp_path: Path) -> None:
    ran = run("learn", "--readings", SAMPLE, "--report", tmp_path, "--name", "Saltmarsh", "--json")
    assert tomllib.loads(Path(ran.json["report"]["file"]).read_text(encoding="utf-8"))["by"] == "Saltmarsh"
    wrong = run("learn", "--readings", SAMPLE, "--report", tmp_path, "--name", "a\tb")
    assert wrong.status == 2 and wrong.errors[0].startswith("dropleaf: --name: ")
    alone = run("learn", "--readings", SAMPLE, "--name", "Saltmarsh")
    assert alone.status == 2 and "without --report" in alone.errors[0]


def test_a_report_is_read_again_as_readings_and_never_written_over(run: Callable, tmp_path: Path) -> None:
    file = Path(run("learn", "--readings", SAMPLE, "--report", tmp_path, "--json").json["report"]["file"])
    again = run("learn", "--readings", file, "--json").json
    assert again["numbers"] == run("learn", "--readings", SAMPLE, "--json").json["numbers"]
    assert again["source"] == "measured on a works frame with its caliper fitted, 2026-01-31"
    assert run("learn", "--readings", SAMPLE, "--report", tmp_path).status == 0
    file.write_text(file.read_text(encoding="utf-8") + "# mine\n", encoding="utf-8")
    ran = run("learn", "--readings", SAMPLE, "--report", tmp_path)
    assert ran.status == 2 and "was changed since" in ran.errors[0]
    assert file.read_text(encoding="utf-8").endswith("# mine\n")


def test_no_report_is_written_of_readings_that_contradict(run: Callable, tmp_path: Path) -> None:
    slip = mount(tmp_path / "slip.toml", "a frame", 0.0, ("[67.6, 67.65, 67.6]", "[67.6, 67.65, 68.6]"))
    ran = run("learn", "--readings", slip, "--report", tmp_path / "out")
    assert ran.status == 1 and "no report was written" in ran.errors[0]
    assert not (tmp_path / "out").exists()


# --- several mounts


def test_three_mounts_that_agree_are_a_row_of_grade_m(
    run: Callable, three: list[Path], write: Callable, tmp_path: Path
) -> None:
    ran = run("learn", "--pool", *three, "--save", "shop", "--json")
    assert ran.status == 0 and not ran.errors
    (group,) = ran.json["groups"]
    digests = [hashlib.sha256(each.read_bytes()).hexdigest() for each in three]
    assert [each["sha256"] for each in group["mounts_read"]] == digests
    assert all(each[:12] in group["block"].splitlines()[-1] for each in digests)
    assert (group["grade"], group["mounts"], group["agrees"]) == ("M", 3, True)
    height = group["numbers"]["h"]
    # The mean of 30.917 and 0.2 more and 0.1 less, and their standard deviation: own arithmetic. Student's
    # 4.30 of 2 freedoms, over the root of 3.
    assert height["value"] == pytest.approx(30.917 + 0.1 / 3.0, abs=0.005)
    assert height["band"] == pytest.approx(4.303 * 0.1528 / 3.0**0.5, abs=0.02)
    assert height["between"] == pytest.approx((0.1528**2 - 0.03**2) ** 0.5, abs=0.005)
    assert height["shipped"] == 30.5 and height["difference"] == pytest.approx(0.45, abs=0.005)
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    checked = run("check", job, "--json").json
    assert checked["placement"]["interface"]["grade"] == "M"
    codes = {each["code"] for each in checked["findings"]}
    assert "measured" in codes and not codes & {"one-mount", "grade"}
    assert "M measured" in run("mounts").out and "measured on 3 mounts that agree" in run("mounts").out


def test_the_row_is_one_that_a_job_takes(
    run: Callable, three: list[Path], write: Callable, tmp_path: Path
) -> None:
    block = run("learn", "--pool", *three, "--json").json["groups"][0]["block"]
    file = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    found = place_job(parse({**tomllib.loads(file.read_text()), **tomllib.loads(block)})).interface
    assert (found.grade, found.mounts) == ("M", 3)


@pytest.mark.parametrize(("count", "said"), [(1, "One mount does not tell"), (2, "Two mounts do not tell")])
def test_fewer_mounts_take_the_stated_spread_and_no_grade(
    run: Callable, three: list[Path], count: int, said: str
) -> None:
    (group,) = run("learn", "--pool", *three[:count], "--json").json["groups"]
    assert (group["grade"], group["numbers"]["h"]["between_assumed"]) == ("own", True)
    # 1.96 of the stated 0.25 and of 0.03 read, over the root of the number: own arithmetic.
    assert group["numbers"]["h"]["band"] == pytest.approx(1.96 * 0.2518 / count**0.5, abs=0.01)
    assert any(each.startswith(said) for each in group["sentences"])


def test_a_mount_that_stands_apart_is_named_and_makes_no_row(
    run: Callable, three: list[Path], tmp_path: Path, own_home: Path
) -> None:
    odd = mount(tmp_path / "odd.toml", "frame d", 1.9)
    ran = run("learn", "--pool", *three, odd, "--save", "shop", "--despite")
    assert ran.status == 1 and "the row shop was not kept: these mounts do not agree" in ran.errors[-1]
    assert re.search(rf"STANDS APART: {re.escape(str(odd))}, h \+1\.8\d mm", ran.out)
    # It is not dropped: it counts in what is shown, and there is no row to copy.
    assert "from 4 mounts" in ran.out and "[[row]]" not in ran.out and "[interface]" not in ran.out
    assert not own_home.exists()
    two = run("learn", "--pool", three[0], odd)
    assert two.status == 1 and "nobody can tell which is wrong" in two.out


def test_sizes_are_told_apart_by_the_readings_and_not_by_what_a_file_says(
    run: Callable, tmp_path: Path
) -> None:
    right = [post(tmp_path / f"{name}.toml", 160, 160, name, up=0.1 * k) for k, name in enumerate("abc")]
    bigger = post(tmp_path / "other.toml", 180, 160, "another")
    larger = post(tmp_path / "true.toml", 180, 180, "a large one")
    ran = run("learn", "--pool", *right, bigger, larger, "--json")
    assert ran.status == 1
    assert [(each["native"], each["count"]) for each in ran.json["groups"]] == [(160.0, 3), (180.0, 1)]
    (left,) = ran.json["left_out"]
    assert left["file"] == str(bigger) and "ANOTHER SIZE FITS BETTER" in left["why"] and "180" in left["why"]
    assert any(str(bigger) in line for line in ran.errors)


def test_a_mount_read_on_its_adapter_is_taken_off_it_or_refused(run: Callable, tmp_path: Path) -> None:
    plain = [
        post(tmp_path / f"{name}.toml", 160, 160, name, up=up) for name, up in (("a", 0.05), ("b", -0.05))
    ]
    # On a +20 adapter a 160 mount's holes are those of one made for 180.
    adapted = post(tmp_path / "on.toml", 180, 160, "c", "adapter = 20")
    ran = run("learn", "--pool", *plain, adapted, "--json")
    assert ran.status == 0, ran.errors
    (group,) = ran.json["groups"]
    row = resolve("post", "rear", 160, 160)
    assert group["numbers"]["h"]["value"] == pytest.approx(row.h, abs=0.02)
    assert any("read on an adapter of +20" in each["text"] for each in ran.json["notes"])
    # Adapters differ by 1 mm: that mount weighs little. Variances are the stated 0.25 squared and half a band
    # squared, 0.03 of the others and 0.544 of that one: own arithmetic.
    weights = [each["weight"] for each in group["mounts_read"]]
    one, last = 1.0 / (0.25**2 + 0.03**2), 1.0 / (0.25**2 + 0.544**2)
    assert weights[2] == pytest.approx(last / (2.0 * one + last), abs=0.005)
    alone = run("learn", "--readings", adapted, "--json").json["numbers"]["h"]
    # 1.0 of adapters, and 10 by 2.45 degrees of the two published paths: own arithmetic.
    assert alone["band"] == pytest.approx((1.0**2 + 0.43**2) ** 0.5, abs=0.03)
    refused = run("learn", "--readings", mount(tmp_path / "f.toml", "x", 0.0, ("by =", "adapter = 20\nby =")))
    assert refused.status == 2 and "measure the mount" not in refused.out
    assert "without the plate" in refused.errors[0] and "adapter" in refused.errors[0]
    none = post(tmp_path / "none.toml", 180, 160, "c", "adapter = 7")
    assert run("learn", "--readings", none).status == 2


def test_a_number_at_the_end_of_its_derived_band_is_not_called_outside(run: Callable, tmp_path: Path) -> None:
    # A rear tab's sideways number is 0 in a band from -0.75 to 0.
    file = tmp_path / "tab.toml"
    for side, outside in ((0.05, False), (1.5, True)):
        file.write_text(
            'family = "tab"\nend = "rear"\nnative = 140\non = "a tab"\ndate = 2026-02-01\nby = "us"\n'
            f"[readings]\naxle = 12\npin = 6\nnear-over = 48.9\nfar-over = 87.1\n"
            f"spacing-over = 57\nside = {side}\n",
            encoding="utf-8",
        )
        out = run("learn", "--readings", file).out
        (line,) = (each for each in out.splitlines() if each.startswith("  lateral"))
        assert ("OUTSIDE" in line) == outside


def test_one_mount_counts_once(run: Callable, three: list[Path], tmp_path: Path) -> None:
    copied = tmp_path / "copied.toml"
    copied.write_text(three[0].read_text(encoding="utf-8").replace("frame a", "frame z"), encoding="utf-8")
    again = mount(tmp_path / "again.toml", "frame a", 0.05)
    ran = run("learn", "--pool", *three, copied, again, "--json")
    why = {Path(each["file"]).name: each["why"] for each in ran.json["left_out"]}
    assert set(why) == {"copied.toml", "again.toml"} and ran.json["groups"][0]["count"] == 3
    assert "it has the readings of" in why["copied.toml"] and "give --despite" in why["again.toml"]
    both = run("learn", "--pool", *three, copied, again, "--despite", "--json").json
    assert both["groups"][0]["count"] == 4 and [Path(e["file"]).name for e in both["left_out"]] == [
        "copied.toml"
    ]


def test_a_report_that_was_changed_is_named(run: Callable, three: list[Path], tmp_path: Path) -> None:
    files = []
    for each in three:
        told = run("learn", "--readings", each, "--report", tmp_path / "reports", "--json").json
        files.append(Path(told["report"]["file"]))
    assert run("learn", "--pool", *files, "--json").json["groups"][0]["grade"] == "M"
    text = files[0].read_text(encoding="utf-8")
    files[0].write_text(text.replace("h = 30.917", "h = 40.917"), encoding="utf-8")
    ran = run("learn", "--pool", *files, "--save", "shop")
    assert ran.status == 1 and "was changed after it was written" in ran.errors[0]
    assert "not every file counts" in ran.errors[-1]
    # What a report says that it came to is left alone: the readings decide.
    despite = run("learn", "--pool", *files, "--despite", "--json").json["groups"][0]["numbers"]["h"]
    assert despite["value"] == pytest.approx(30.95, abs=0.005)


@pytest.mark.parametrize("change", [(), (("side = [-3.05, -3.0]", "side = [-2.05, -2.0]"),)])
def test_three_of_which_one_is_a_millimetre_off_do_not_agree(
    run: Callable, three: list[Path], tmp_path: Path, change: tuple[tuple[str, str], ...]
) -> None:
    off = mount(tmp_path / "off.toml", "frame d", 0.0 if change else 1.0, *change)
    ran = run("learn", "--pool", *three[:2], off, "--json")
    assert ran.status == 1 and "these mounts do not agree" in ran.errors[-1]
    (group,) = ran.json["groups"]
    assert (group["grade"], group["agrees"], group["block"]) == ("own", False, None)
    number = "lateral" if change else "h"
    assert any(
        each.startswith(f"THEY SCATTER: {number} ") and str(off) in each for each in group["sentences"]
    )
    # Two and a fourth beside it: it stands out, and nothing is dropped.
    more = run("learn", "--pool", *three, off, "--json").json["groups"][0]
    assert more["count"] == 4 and {each["file"] for each in more["odd"]} <= {str(off)}


def test_a_mount_on_an_adapter_is_no_third_one(run: Callable, tmp_path: Path) -> None:
    plain = [post(tmp_path / f"{name}.toml", 160, 160, name, up=0.1 * k) for k, name in enumerate("ab")]
    adapted = post(tmp_path / "on.toml", 180, 160, "c", "adapter = 20")
    ran = run("learn", "--pool", *plain, adapted, "--json")
    (group,) = ran.json["groups"]
    assert (ran.status, group["count"], group["mounts"], group["grade"]) == (0, 3, 2, "own")
    assert "mounts = 2\n" in group["block"] and group["source"].startswith("measured on 2 mounts")
    assert group["numbers"]["h"]["between_assumed"]
    assert any(each.startswith("Of these 3 mounts too few") for each in group["sentences"])


def test_what_was_not_read_sideways_is_no_grade_m(
    run: Callable, three: list[Path], tmp_path: Path, write: Callable
) -> None:
    for file in three:
        file.write_text(file.read_text(encoding="utf-8").replace("side = [-3.05, -3.0]", ""), "utf-8")
    ran = run("learn", "--pool", *three, "--save", "flat-rear", "--replaces", "--json")
    (group,) = ran.json["groups"]
    assert (ran.status, group["mounts"], group["grade"]) == (0, 3, "own")
    assert any("sideways was not measured" in each for each in group["sentences"])
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "flat-rear"'), ("160", "140"))
    assert run("check", job, "--json").json["placement"]["interface"]["grade"] != "M"


def test_kinds_that_share_end_and_size_are_kept_under_one_name_neither_whole_nor_half(
    run: Callable, three: list[Path], tmp_path: Path, own_home: Path
) -> None:
    other = post(tmp_path / "post.toml", 140, 140, "another")
    ran = run("learn", "--pool", *three, other, "--save", "shop", "--json")
    assert ran.status == 1 and len(ran.json["groups"]) == 2
    assert "several kinds of mount at the rear for 140" in ran.errors[-1]
    assert not own_home.exists()
    # A name that is taken at the second size keeps nothing of the first.
    large = post(tmp_path / "large.toml", 160, 160, "large")
    assert run("learn", "--pool", large, "--save", "shop").status == 0
    before = (own_home / "interfaces.toml").read_bytes()
    taken = run("learn", "--pool", other, large, "--save", "shop")
    assert taken.status == 2 and "--replace" in taken.errors[0]
    assert (own_home / "interfaces.toml").read_bytes() == before


def test_a_year_that_is_not_said_and_a_blank_tell_no_two_mounts_apart(
    run: Callable, three: list[Path], tmp_path: Path
) -> None:
    again = mount(tmp_path / "again.toml", "Frame  A", 0.05, ("by =", "year = 2021\nby ="))
    ran = run("learn", "--pool", *three, again, three[1], "--json")
    why = {each["file"]: each["why"] for each in ran.json["left_out"]}
    assert ran.json["groups"][0]["count"] == 3 and "was measured on Frame  A too" in why[str(again)]
    assert why[str(three[1])] == "LEFT OUT: it was given twice, and one mount counts once"


def test_calipers_of_which_nothing_is_said_may_be_one(
    run: Callable, three: list[Path], tmp_path: Path
) -> None:
    bands = []
    for instrument in ("", 'instrument = "{}"\n'):
        files = []
        for file in three:
            text = file.read_text(encoding="utf-8").replace('by = "Saltmarsh Cycle Works"\n', "")
            said = f'format = "dropleaf-mount-report"\nversion = 1\n{instrument.format(file.stem)}'
            files.append(tmp_path / f"{file.stem}-{bool(instrument)}.toml")
            files[-1].write_text(said + text, encoding="utf-8")
        (group,) = run("learn", "--pool", *files, "--despite", "--json").json["groups"]
        bands.append(group["numbers"]["spacing"]["band"])
    # Off by up to 0.03, spread evenly: 1.96 of 0.03 over the root of 3 beside the rest, own arithmetic.
    assert bands[0] == pytest.approx((bands[1] ** 2 + (1.96 * 0.03 / 3.0**0.5) ** 2) ** 0.5, abs=1e-4)


def test_every_sheet_of_a_pooled_row_bears_its_grade(
    run: Callable, three: list[Path], write: Callable, tmp_path: Path
) -> None:
    block = run("learn", "--pool", *three, "--json").json["groups"][0]["block"]
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    read = parse({**tomllib.loads(job.read_text(encoding="utf-8")), **tomllib.loads(block)})
    # What every full-size sheet's title block letters, as the README promises.
    lines = headed(read, place_job(read), "template", "Template", "", ()).lines
    assert any(each.text.startswith("Grade M: measured on 3 mounts that agree. Offer") for each in lines)


# --- files of strangers

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
    "version": (b'format = "dropleaf-mount-report"\nversion = 2\n' + TEXT.encode(), "reads version 1"),
    "format": (b'format = "another"\n' + TEXT.encode(), "no such key"),
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

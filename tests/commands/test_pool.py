"""`dropleaf learn --report` and `--pool`: a page and a file of a mount, and several files put together."""

import hashlib
import re
import tomllib
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest

from geometry.tables.interfaces import resolve
from sheets.job.read import parse, place_job
from sheets.pages.title import headed
from tests.commands.measured_mounts import SAMPLE, TEXT, by, mount, post

pytestmark = pytest.mark.usefixtures("own_home")


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
    assert (document["format"], document["version"]) == ("dropleaf-mount-report", 2)
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
    assert (group["grade"], group["mounts"], group["makers"], group["agrees"]) == ("M", 3, 3, True)
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
    assert (
        "M measured" in run("mounts").out
        and "measured on 3 mounts of 3 makers that agree" in run("mounts").out
    )


def test_the_row_is_one_that_a_job_takes(
    run: Callable, three: list[Path], write: Callable, tmp_path: Path
) -> None:
    block = run("learn", "--pool", *three, "--json").json["groups"][0]["block"]
    file = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    found = place_job(parse({**tomllib.loads(file.read_text()), **tomllib.loads(block)})).interface
    assert (found.grade, found.mounts, found.makers) == ("M", 3, 3)


@pytest.mark.parametrize(
    ("count", "said"), [(1, "One maker's mounts do not tell"), (2, "Mounts of 2 makers, as")]
)
def test_fewer_mounts_take_the_stated_spread_and_no_grade(
    run: Callable, three: list[Path], count: int, said: str
) -> None:
    (group,) = run("learn", "--pool", *three[:count], "--json").json["groups"]
    assert (group["grade"], group["numbers"]["h"]["between_assumed"]) == ("own", True)
    # 1.96 of the stated 0.25 and 0.1, and of 0.03 read, over the root of the number: own arithmetic.
    assert group["numbers"]["h"]["band"] == pytest.approx(1.96 * 0.2709 / count**0.5, abs=0.01)
    # What the bands rest on is said where they are, and not in a manual alone.
    (told,) = [each for each in group["sentences"] if each.startswith(said)]
    assert "in 95 of 100 only if makers differ by no more than 0.25 mm" in told


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
        post(tmp_path / f"{name}.toml", 160, 160, name, f'maker = "{name * 3}"', up)
        for name, up in (("a", 0.05), ("b", -0.05))
    ]
    # On a +20 adapter a 160 mount's holes are those of one made for 180.
    adapted = post(tmp_path / "on.toml", 180, 160, "c", 'maker = "ccc"\nadapter = 20')
    ran = run("learn", "--pool", *plain, adapted, "--json")
    assert ran.status == 0, ran.errors
    (group,) = ran.json["groups"]
    row = resolve("post", "rear", 160, 160)
    assert group["numbers"]["h"]["value"] == pytest.approx(row.h, abs=0.02)
    assert any("read on an adapter of +20" in each["text"] for each in ran.json["notes"])
    # Adapters differ by 1 mm: that mount weighs little. Variances are the stated 0.25 and 0.1 squared and
    # half a band squared, 0.03 of the others and 0.544 of that one: own arithmetic.
    weights = [each["weight"] for each in group["mounts_read"]]
    one, last = (1.0 / (0.25**2 + 0.1**2 + each**2) for each in (0.03, 0.544))
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
    assert "its readings are those of" in why["copied.toml"] and "give --despite" in why["again.toml"]
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
    # Two that agree to the hundredth do not make a third odd while makers may differ by as much, and in
    # height the three lie evenly: what is told is that they scatter, and which lies furthest off.
    said = "THEY SCATTER: lateral " if change else "THEY SCATTER: h "
    assert any(each.startswith(said) and str(off) in each for each in group["sentences"])
    # Two and a fourth beside it: it stands out, and nothing is dropped.
    more = run("learn", "--pool", *three, off, "--json").json["groups"][0]
    assert more["count"] == 4 and {each["file"] for each in more["odd"]} <= {str(off)}


def test_a_mount_on_an_adapter_is_no_third_one(run: Callable, tmp_path: Path) -> None:
    plain = [
        post(tmp_path / f"{name}.toml", 160, 160, name, f'maker = "{name * 3}"', 0.1 * k)
        for k, name in enumerate("ab")
    ]
    adapted = post(tmp_path / "on.toml", 180, 160, "c", 'maker = "ccc"\nadapter = 20')
    ran = run("learn", "--pool", *plain, adapted, "--json")
    (group,) = ran.json["groups"]
    assert (ran.status, group["count"], group["mounts"], group["grade"]) == (0, 3, 2, "own")
    assert "mounts = 2\n" in group["block"] and group["source"].startswith("measured on 2 mounts")
    assert group["numbers"]["h"]["between_assumed"]
    assert any(each.startswith("Mounts of 2 makers, as sharply") for each in group["sentences"])


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
    # What every full-size sheet's title block letters, as the book promises.
    lines = headed(read, place_job(read), "template", "Template", "", ()).lines
    assert any(
        each.text.startswith("Grade M: measured on mounts of 3 makers that agree. Offer") for each in lines
    )


# --- makers, by whom grade M is counted


def test_three_mounts_of_one_maker_are_no_grade_m(run: Callable, tmp_path: Path, write: Callable) -> None:
    files = [
        mount(tmp_path / f"{up}.toml", f"frame {up}", up, by(name))
        for up, name in ((0.0, "Avocet Works"), (0.2, "avocet-works"), (-0.1, "Avocet"))
    ]
    (group,) = run("learn", "--pool", *files, "--json").json["groups"]
    assert (group["grade"], group["mounts"], group["makers"], group["agrees"]) == ("own", 3, 1, True)
    assert "makers = 1\n" in group["block"]
    assert group["source"].startswith("measured on 3 mounts of one maker, ")
    # How far makers differ is the stated 0.25; three mounts of one, 0.15 apart, tell only how far that one's
    # do, and the mean of three is no better than that over the root of 3 beside it: own arithmetic.
    assert group["numbers"]["h"]["band"] == pytest.approx(1.96 * (0.25**2 + 0.153**2 / 3.0) ** 0.5, abs=0.01)
    assert any(each.startswith("One maker's mounts do not tell") for each in group["sentences"])
    assert any("Avocet Works and Avocet may be one maker" in each for each in group["sentences"])
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    read = parse({**tomllib.loads(job.read_text(encoding="utf-8")), **tomllib.loads(group["block"])})
    assert place_job(read).interface.grade == "own"


def test_mounts_of_unknown_makers_count_together_as_one(
    run: Callable, three: list[Path], tmp_path: Path
) -> None:
    names = ("", "unknown", "?", "n/a")
    nobody = [
        mount(tmp_path / f"n{k}.toml", f"nobody's {k}", 0.1 * k, *([by(name)] if name else []))
        for k, name in enumerate(names)
    ]
    alone = run("learn", "--pool", *nobody, "--json").json["groups"][0]
    assert (alone["grade"], alone["mounts"], alone["makers"]) == ("own", 4, None)
    # Unknown stays unknown: the row claims no maker at all.
    assert "makers" not in alone["block"]
    assert any(each.startswith("Of 4 mounts nobody says who made") for each in alone["sentences"])
    two = run("learn", "--pool", *three[:2], *nobody, "--json").json["groups"][0]
    assert (two["grade"], two["makers"]) == ("M", 3)
    assert run("learn", "--pool", three[0], *nobody, "--json").json["groups"][0]["grade"] == "own"


def test_a_report_says_the_maker_and_a_report_of_before_is_read(run: Callable, tmp_path: Path) -> None:
    said = ("--maker", "Avocet Works", "--model", "Reed 2", "--kind", "frame")
    ran = run("learn", "--readings", SAMPLE, "--report", tmp_path / "out", *said)
    assert ran.status == 0
    (file,) = (tmp_path / "out").glob("*.toml")
    (page,) = (tmp_path / "out").glob("*.pdf")
    document = tomllib.loads(file.read_text(encoding="utf-8"))
    assert (document["maker"], document["model"]) == ("Avocet Works", "Reed 2")
    text = " ".join(pypdf.PdfReader(page).pages[0].extract_text().split())
    assert "Made by" in text and "Avocet Works, Reed 2" in text
    # The first version knew no makers.
    old = f'format = "dropleaf-mount-report"\nversion = 1\n{TEXT}'
    (tmp_path / "old.toml").write_text(old, encoding="utf-8")
    assert run("learn", "--readings", tmp_path / "old.toml").status == 0


def test_one_name_on_mounts_of_two_makers_is_no_mount_twice(run: Callable, tmp_path: Path) -> None:
    files = [mount(tmp_path / f"{name}.toml", "my bike", up, by(name))
             for name, up in (("Avocet", 0.0), ("Bittern", 0.1))]  # fmt: skip
    ran = run("learn", "--pool", *files, "--json")
    assert ran.status == 0 and ran.json["groups"][0]["count"] == 2

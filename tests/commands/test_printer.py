"""proof and printer: a printer measured, kept, lent, used; and everything that goes wrong on the way."""

import json
import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from geometry.printing.distortion import checked_covariance, left, paper_covariance
from sheets.home import folder as home
from sheets.home.printers import known
from sheets.home.printers_file import toml
from sheets.ink.long_bars import bars_of
from sheets.ink.paper import PAPERS
from sheets.job.read import place_job, read

GOOD = ("--paper", "a4", "--across", "173.2", "--down", "6 15/16 in", "--rising", "226.6")
A4 = ("--paper", "A4", "--across", "174.3", "--down", "266.2", "--rising", "229.5", "--falling", "228.8")


@pytest.fixture(autouse=True)
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give each test a home of its own, and return the file of printers in it."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    yield tmp_path / "home" / "printers.toml"


def test_from_proof_to_corrected_packet(run: Callable, own: Path, job: Path, tmp_path: Path) -> None:
    """What a builder does, in order; the factors are 175 / 174.3 and 265 / 266.2 (own arithmetic)."""
    drawn = run("proof", "--paper", "a4", "--out", tmp_path / "p", "--json").json
    assert drawn["bars"] == {
        "across": 175.0, "down": 265.0, "wide": 163.0, "high": 161.0, "diagonal": 229.107
    }  # fmt: skip
    assert [Path(file["path"]).name for file in drawn["files"]] == ["proof-A4.pdf", "proof-A4.svg"]
    (page,) = drawn["files"][0]["pages"]
    assert page["sheet"] == "proof"
    assert "scale" not in page

    kept = run("printer", "add", "Shop laser", *A4, "--date", "2026-01-31", "--note", "tray 2", "--json").json
    assert kept["scale"] == pytest.approx([175 / 174.3, 265 / 266.2], abs=1e-6)
    assert kept["kept_in"] == str(own)
    entry = tomllib.loads(own.read_text(encoding="utf-8"))["printer"]["Shop laser"]
    assert entry["across"] == 174.3
    assert (entry["date"], entry["note"], entry["ruler"]) == ("2026-01-31", "tray 2", 0.5)
    listed = run("printer", "list", "--json").json
    assert listed["printers"] == [
        {key: kept[key] for key in kept if key not in ("kept_in", "said", "format", "version")}
    ]
    assert "across ×1.0040, down ×0.9955" in run("printer", "list").out

    # The proof printed again says that it is corrected.
    again = run("proof", "--printer", "shop LASER", "--out", tmp_path / "p", "--json").json
    (page,) = again["files"][0]["pages"]
    assert page["scale"] == kept["scale"]
    assert page["skew"] == pytest.approx(kept["skew"])
    bar = page["features"][0]
    assert bar["length"] == 175.0
    assert bar["to"][0] - bar["from"][0] == pytest.approx(175 * 175 / 174.3, abs=1e-4)
    assert again["files"][1]["path"].endswith("proof-A4-Shop-laser.svg")

    # So do the sheets of a job, whichever way the printer is named, and cards are left alone.
    plain = run("draw", job, "--out", tmp_path / "a", "--json").json
    option = run("draw", job, "--out", tmp_path / "b", "--printer", "Shop laser", "--json").json
    job.write_text(job.read_text(encoding="utf-8") + '[paper]\nprinter = "Shop laser"\n', encoding="utf-8")
    key = run("draw", job, "--out", tmp_path / "b", "--json").json
    assert key["files"] == option["files"]
    pages = key["files"][0]["pages"]
    before = plain["files"][0]["pages"]
    plain = [page["sheet"] for page in pages if "scale" not in page]
    read = ["card", "cautions", "loads", "loads", "traveller", "traveller", "details"]
    assert plain == [*read, *["numbers"] * (len(plain) - len(read))] and plain[-1] == "numbers"
    template, was = pages[0], before[0]
    assert template["scale"] == kept["scale"]
    assert (template["width"], template["height"]) == (210.0, 297.0)
    for one, two in zip(template["features"], was["features"], strict=True):
        if one["kind"] == "segment":
            assert one["length"] == two["length"]
        if one["kind"] == "circle":
            assert one["diameter"] == two["diameter"]
            x, y = two["centre"]
            up = (y - 148.5) * 265 / 266.2
            assert one["centre"][1] == pytest.approx(148.5 + up, abs=2e-3)
            assert one["centre"][0] == pytest.approx(105 + (x - 105) * 175 / 174.3, abs=0.4)
            assert one["centre"] != two["centre"]


def test_check_and_card_say_what_paper_leaves(run: Callable, job: Path) -> None:
    """The far hole is 79.1 from the axle (the table's row), up and forward of it."""
    placement = place_job(read(job))
    holes = [hole.centre[:2] for hole in placement.holes]
    bare = [left(hole, checked_covariance()) for hole in holes]
    (said,) = run("check", job, "--json").json["setup"]["print"]
    assert f"±{bare[0]:.2f} near, ±{bare[1]:.2f} far mm in about 95 of 100, if both bars read true" in said
    assert "their limit is ±0.1, set them by the readings" in said
    assert run("printer", "add", "shop", *A4, "--ruler", "0.1").status == 0
    job.write_text(job.read_text(encoding="utf-8") + '[paper]\nprinter = "shop"\n', encoding="utf-8")
    covariance = known()["shop"].fit.covariance + paper_covariance()
    (said,) = run("check", job, "--json").json["setup"]["print"]
    assert f"±{left(holes[1], covariance):.2f} far mm in about 95 of 100, corrected for printer shop" in said
    assert " ".join(said.removeprefix("The paper puts the holes true to ").split()) in " ".join(
        run("check", job, "--all").out.split()
    )
    job.write_text(job.read_text(encoding="utf-8") + 'size = "A3"\n', encoding="utf-8")
    _, other = run("check", job, "--json").json["setup"]["print"]
    assert other == "Printer shop was measured on A4, this is A3: read the bars."


def test_a_mirrored_view_turns_the_skew_round(run: Callable, job: Path, write: Callable) -> None:
    """Reading one diagonal alone ties the skew to the bars, so left and right of the axle differ."""
    assert run("printer", "add", "shop", *A4[:8]).status == 0
    bands = []
    for view in ("outboard", "inboard"):
        write(job)
        text = job.read_text(encoding="utf-8") + f'[paper]\nprinter = "shop"\nview = "{view}"\n'
        job.write_text(text, encoding="utf-8")
        (said,) = run("check", job, "--json").json["setup"]["print"]
        bands.append(re.findall(r"±([\d.]+) (?:near|far)", said))
    assert bands[0] != bands[1]


@pytest.mark.parametrize("where", ["job", "option", "proof"])
def test_an_unknown_printer_gets_the_nearest_name(run: Callable, job: Path, where: str) -> None:
    def ask() -> str:
        if where == "proof":
            ran = run("proof", "--printer", "shopp", "--out", job.parent)
        elif where == "option":
            ran = run("draw", job, "--printer", "shopp")
        else:
            ran = run("check", job)
        assert ran.status == 2
        (line,) = ran.errors
        return line

    if where == "job":
        text = job.read_text(encoding="utf-8") + '[paper]\nprinter = "shopp"\n'
        job.write_text(text, encoding="utf-8")
    assert "'shopp' given; no printer has been measured yet; measure it with dropleaf proof" in ask()
    for name in ("Shop", "other"):
        assert run("printer", "add", name, *A4).status == 0
    line = ask()
    assert "did you mean Shop? (known: Shop, other)" in line
    assert ("paper.printer: " if where == "job" else "--printer: ") in line
    assert [file.name for file in job.parent.iterdir()] == ["knot.toml"]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"NAME": "a/b"}, "NAME: 'a/b' given; 1 to 40 letters"),
        ({"NAME": " "}, "NAME: '' given"),
        ({"NAME": "x" * 41}, "1 to 40 letters"),
        ({"NAME": "鶴"}, "it has '鶴'"),
        ({"--paper": "Leter"}, "--paper: 'Leter' is no paper known here, did you mean Letter?"),
        ({"--across": "wide"}, "--across: 'wide' is not a number with a unit"),
        ({"--across": "-3"}, "--across: '-3' given; allowed 0 to 2000 mm"),
        ({"--across": "0"}, "--across: '0' given; allowed"),
        ({"--down": "7 furlongs"}, "--down: '7 furlongs': the unit furlongs is not known"),
        ({"--ruler": "5"}, "--ruler: '5' given; allowed 0.01 to 2 mm"),
        ({"--date": "31.1.2026"}, "--date: '31.1.2026' given; a date is wanted"),
        ({"--note": "x" * 201}, "--note: "),
        ({"--across": "164.7", "--down": "249.3"}, "this looks like an A4 page shrunk to Letter "),
        ({"--across": "6.86", "--down": "10.48"}, 'they look like inches: give the unit, such as "6.86 in"'),
        (
            {"--across": "180.1", "--down": "245.2"},
            "--paper: A4 given; these are readings of the Letter proof",
        ),
        ({"--across": "166"}, "--across: prints 94.86 % of what is drawn, -5.14 %; at most 4 % either way"),
        ({"--rising": "236", "--falling": "222"}, "--rising and --falling: the diagonals give a skew of"),
        ({"--rising": "231.5", "--falling": "230.8"}, "--rising and --falling: 231.5 and 230.8 read, but"),
    ],
)
def test_what_add_refuses(run: Callable, own: Path, change: dict[str, str], said: str) -> None:
    given = {"NAME": "shop", **dict(zip(A4[::2], A4[1::2], strict=True)), **change}
    if not {"--rising", "--falling"} & set(change) and {"--across", "--down"} & set(change):
        del given["--rising"], given["--falling"]
    name = given.pop("NAME")
    options = [f"{key}={value}" for key, value in given.items()]
    ran = run("printer", "add", *options, "--", name)
    assert ran.status == 2
    assert any(said in line for line in ran.errors), ran.errors
    assert len(ran.errors) == 1
    assert not own.exists()


def test_ratio_and_advice_of_a_fit(run: Callable) -> None:
    (line,) = run("printer", "add", "x", "--paper=A4", "--across=164.7", "--down=249.3").errors
    assert "(ratio 0.941): print at actual size instead" in line
    # Near 1 a printer is as likely, and is kept; it is said all the same.
    ran = run("printer", "add", "x", "--paper=A4", "--across=170", "--down=257.4", "--json")
    assert any(
        "could be an A4 page shrunk to A4 within a border of 3 mm" in each for each in ran.json["said"]
    )
    alone = run("printer", "add", "y", *A4, "--json").json
    assert alone["said"] == []


def test_all_that_is_wrong_is_told_at_once(run: Callable) -> None:
    ran = run("printer", "add", "a/b", "--paper=A4", "--across=x", "--down=y", "--date=z")
    assert [line.split(": ")[1] for line in ran.errors] == ["--across", "--down", "NAME", "--date"]


def test_units_carry_over(run: Callable, own: Path) -> None:
    """6 7/8 in is 174.625 and 10 1/2 in 266.7 (1 in = 25.4 mm by definition)."""
    ran = run(
        "printer",
        "add",
        "x",
        "--paper=A4",
        "--across=6 7/8 in",
        "--down=10.5 in",
        "--ruler=1/32 in",
        "--json",
    )
    assert (ran.json["read"]["across"], ran.json["read"]["down"]) == (174.625, 266.7)
    assert ran.json["read"]["ruler"] == 0.79375


# --- the file


COMMENTED = """# my own words
[printer.attic]  # the old one
{entry}
# about the shop's
[printer."Shop laser"]
{entry}
# the end
"""


def commented(own: Path) -> str:
    """Write a file by hand, with comments, and return its text."""
    own.parent.mkdir(parents=True)
    lines = (
        "paper = 'A4'",
        "across_drawn = 175",
        "down_drawn = 265",
        "diagonals_wide = 163",
        "diagonals_high = 161",
        "across = 174.5  # on Monday",
        "down = 265.5",
        "ruler = 0.5",
        "date = 2026-01-31",
    )
    entry = "\n".join(lines)
    text = COMMENTED.format(entry=entry)
    own.write_text(text, encoding="utf-8")
    return text


def test_what_else_is_in_the_file_stays(run: Callable, own: Path) -> None:
    before = commented(own)
    assert run("printer", "add", "new", *A4).status == 0
    text = own.read_text(encoding="utf-8")
    assert text.startswith(before)
    assert list(known()) == ["attic", "Shop laser", "new"]
    assert known()["attic"].date == "2026-01-31"

    refused = run("printer", "add", "ATTIC", *A4)
    assert (refused.status, own.read_text(encoding="utf-8")) == (2, text)
    assert "a printer attic is kept" in refused.errors[0]
    assert "--replace" in refused.errors[0]

    assert run("printer", "add", "attic", *A4, "--replace").status == 0
    assert known()["attic"].readings.across == 174.3
    assert list(known()) == ["attic", "Shop laser", "new"]
    assert run("printer", "remove", "attic").status == 0
    text = own.read_text(encoding="utf-8")
    assert list(known()) == ["Shop laser", "new"]
    for words in ("# my own words", "# about the shop's", "# on Monday", "# the end"):
        assert words in text
    assert run("printer", "remove", "attic").status == 2
    assert own.read_text(encoding="utf-8") == text


def test_lent_and_borrowed(run: Callable, own: Path, tmp_path: Path) -> None:
    assert run("printer", "add", "Shop", *A4).status == 0
    lent = tmp_path / "lent.toml"
    assert run("printer", "export", "shop", lent).status == 0
    kept = lent.read_bytes()
    again = run("printer", "export", "shop", lent)
    assert again.status == 2
    assert "this file exists" in again.errors[0]
    assert lent.read_bytes() == kept
    mine = known()
    assert run("printer", "remove", "shop").status == 0
    assert "no printer has been measured yet" in run("printer", "list").out
    assert run("printer", "import", lent).status == 0
    assert known() == mine
    taken = run("printer", "import", lent)
    assert (taken.status, known()) == (2, mine)
    assert run("printer", "import", lent, "--replace").status == 0
    empty = tmp_path / "empty.toml"
    empty.write_text("", encoding="utf-8")
    assert "no printer is in it" in run("printer", "import", empty).errors[0]
    assert "there is no such file" in run("printer", "import", tmp_path / "nix.toml").errors[0]
    assert "this is a folder" in run("printer", "export", "Shop", tmp_path).errors[0]
    assert "it cannot be read" in run("printer", "import", tmp_path).errors[0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"[printer.x", "not TOML"),
        (b"\xff", "line 1: not UTF-8 text"),
        (b"printer = 3", "printer: 3 given; up to 500 tables that begin with [printer.NAME]"),
        (b"[printer]\nx = 3", "printer.x: 3 given; a table is wanted, beginning with [printer.NAME]"),
        (b"[printers.x]", "printers: there is no such key, did you mean printer?"),
        (b"[printer.x]\nacros = 3", "printer.x.acros: there is no such key, did you mean across?"),
        (b"[printer.x]\nacross = 3", "printer.x.paper: missing"),
        (b"[printer.x]\nacross = nan", "printer.x.across: nan given"),
        (b"[printer.x]\nacross = true", "printer.x.across: true given"),
        (b"[printer.x]\npaper = 'A5'", "printer.x.paper: 'A5' is no paper size known here, did you mean A4?"),
        (b"[printer.x]\ndate = 'soon'", "printer.x.date: 'soon' given"),
        (b"[printer.x]\nnote = 3", "printer.x.note: 3 given; a text in quotes is wanted"),
        (b"[printer.' a']", "printer.' a': ' a' given; 1 to 40 letters"),
        (b"[printer.x]\nruler = 0", "printer.x.ruler: 0 given; allowed 0.01 to 2000 mm"),
        (
            b"[printer.'a/b']",
            "printer.'a/b': 'a/b' given; 1 to 40 letters, digits, spaces, dots or dashes; it has '/'",
        ),
        (b"#" * 256_001, "larger than 256 kB"),
    ],
)
def test_a_damaged_file_is_told_and_kept(run: Callable, own: Path, job: Path, text: bytes, said: str) -> None:
    own.parent.mkdir(parents=True)
    own.write_bytes(text)
    for arguments in (
        ("printer", "add", "new", *A4),
        ("printer", "list"),
        ("printer", "remove", "x"),
        ("draw", job, "--printer", "x"),
    ):
        ran = run(*arguments)
        assert ran.status == 2
        assert any(said in line and str(own) in line for line in ran.errors), ran.errors
    assert own.read_bytes() == text
    # A job that names no printer does not care.
    assert run("check", job).status == 0


def test_a_printer_that_is_too_far_off_in_the_file_is_not_used(run: Callable, own: Path) -> None:
    commented(own)
    own.write_text(
        own.read_text(encoding="utf-8").replace("across = 174.5", "across = 160"), encoding="utf-8"
    )
    ran = run("printer", "list")
    assert len(ran.errors) == 2
    assert "printer.attic.across: prints 91.43 %" in ran.errors[0]


def test_a_form_that_is_not_edited_is_left_to_its_writer(run: Callable, own: Path) -> None:
    """All in one line: nothing there can be replaced without touching the rest."""
    commented(own)
    entry = tomllib.loads(own.read_text(encoding="utf-8"))["printer"]["attic"]
    inline = ", ".join(f"{key} = {json.dumps(value, default=str)}" for key, value in entry.items())
    own.write_text(f"printer = {{ attic = {{ {inline} }} }}\n", encoding="utf-8")
    text = own.read_text(encoding="utf-8")
    assert list(known()) == ["attic"]
    for arguments in (("add", "new", *A4), ("remove", "attic")):
        ran = run("printer", *arguments)
        assert ran.status == 2
        assert "not edited here" in ran.errors[0]
        assert own.read_text(encoding="utf-8") == text


def test_names_that_differ_in_capitals_alone_are_one_printer(run: Callable, own: Path) -> None:
    text = commented(own)
    own.write_text(text + text.replace("attic", "Attic").replace("Shop laser", "b"), encoding="utf-8")
    assert "printer.Attic: there is attic already" in run("printer", "list").errors[0]


def test_a_home_that_cannot_be_written_is_told(run: Callable, own: Path) -> None:
    own.parent.write_text("a file where the folder should be", encoding="utf-8")
    ran = run("printer", "add", "new", *A4)
    assert ran.status == 2
    assert "name another folder in DROPLEAF_HOME" in ran.errors[0] or "cannot be read" in ran.errors[0]
    assert own.parent.read_text(encoding="utf-8") == "a file where the folder should be"


def test_a_folder_in_the_way_of_the_file(run: Callable, own: Path, tmp_path: Path) -> None:
    own.mkdir(parents=True)
    ran = run("printer", "add", "new", *A4)
    assert ran.status == 2
    assert str(own) in ran.errors[0]
    assert own.is_dir()
    blocked = run("proof", "--out", own.parent.parent / "home" / "printers.toml" / "x")
    assert blocked.status == 0


def test_a_proof_where_nothing_can_be_written(run: Callable, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    ran = run("proof", "--out", tmp_path / "file")
    assert ran.status == 2
    assert "choose another folder with --out" in ran.errors[0]
    assert "did you mean A3?" in run("proof", "--paper", "A33").errors[0]


def test_a_written_printer_is_read_as_it_was(run: Callable, own: Path) -> None:
    assert run("printer", "add", "x", *A4, "--note", 'he said "no\\yes"').status == 0
    (printer,) = known().values()
    assert printer.note == 'he said "no\\yes"'
    assert tomllib.loads(toml(printer))["printer"]["x"]["diagonals_wide"] == bars_of(PAPERS["A4"]).wide


def test_tiny_margins_that_a_correction_would_overrun_are_refused(
    run: Callable, job: Path, tmp_path: Path
) -> None:
    """A margin of 5 and a printer 3.8 % short: (148.5 - 5.2) / 0.962 is 148.96, half the page 148.5."""
    assert run("printer", "add", "short", "--paper=A4", "--across=173", "--down=254.93").status == 0
    job.write_text(job.read_text(encoding="utf-8") + "[paper]\nmargin = 5\n", encoding="utf-8")
    out = tmp_path / "out"
    ran = run("draw", job, "--out", out, "--printer", "short")
    assert ran.status == 2
    assert re.search(r"knot\.toml: paper\.margin: .* would go 0\.\d\d mm beyond the page", ran.errors[0])
    assert not out.exists()


def test_a_corrected_packet_proves_itself_when_the_printer_is_forgotten(
    run: Callable, tmp_path: Path
) -> None:
    assert run("printer", "add", "herring", *A4).status == 0
    sample = Path(__file__).parents[2] / "samples" / "dunlin.toml"
    assert run("draw", sample, "--printer", "herring", "--out", tmp_path).status == 0
    assert run("printer", "remove", "herring").status == 0
    told = run("verify", tmp_path / "dunlin-1.pdf", "--json").json
    assert (told["intact"], told["one_to_one"], told["matches_job"]) == (True, True, True)
    assert told["differences"] == []

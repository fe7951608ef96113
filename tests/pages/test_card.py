"""The setup card of every sample: what it says, where each number comes from, and that nothing is clipped."""

import itertools
import math
import re
import subprocess
import tomllib
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen

from fonts.faces import choose, face, own_face, run
from geometry.core.errors import DropleafError, InputError
from geometry.tables.cautions import values
from sheets.cli import main
from sheets.ink.records import Sheet, Text
from sheets.job.read import Job, parse, place_job, read, tubes_of
from sheets.pages.running.card import card
from sheets.pages.running.card_readings import deciding_rows
from sheets.pages.running.cautions import caution_pages
from sheets.pages.running.numbers import detail_pages, number_pages
from sheets.setup.cited import citation
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import lines, tell, told
from sheets.words.tell import on_paper as on_paper_
from tests.outside_tools import tool
from tests.pages.jobs import SAMPLES, on_paper

CAP_HEIGHT = 1462 / 2048  # Open Sans: OS/2 sCapHeight over unitsPerEm, as its file says


def made(job: Job) -> tuple[SetUp, tuple[Sheet, ...]]:
    """Return a job's set-up and its card."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    return setup, card(job, placement, setup)


def behind(job: Job) -> tuple[str, str]:
    """Return what the page of cautions and the last pages say of a job."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    last = detail_pages(job, placement, setup) + number_pages(job, placement, setup)
    return words(caution_pages(job, placement, setup)), words(last)


def words(sheets: tuple[Sheet, ...]) -> str:
    """Return running text in the order it was set, without what stands at the head of every page."""
    heads = {tell(f"packet.use.{sheet.kind}") for sheet in sheets}
    return " ".join(text.text for sheet in sheets for text in sheet.texts if text.text not in heads)


@pytest.fixture(
    scope="module", params=[(name, size) for name in SAMPLES for size in ("A4", "Letter")], ids=str
)
def sample(request: pytest.FixtureRequest) -> tuple[Job, SetUp, tuple[Sheet, ...]]:
    """Return each sample's job, set-up and card, on A4 and on Letter."""
    name, size = request.param
    job = on_paper(read(SAMPLES[name]), size=size)
    return job, *made(job)


def test_one_page(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    assert len(sample[2]) == 1


def test_no_text_is_smaller_than_capitals_of_two_and_a_half(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    sizes = {text.size for sheet in sample[2] for text in sheet.texts}
    assert min(sizes) * CAP_HEIGHT >= 2.499
    pens = {path.style.width for sheet in sample[2] for path in sheet.paths if path.style.cap == "round"}
    assert min(pens) >= 0.25  # lettering's stroke is a tenth of its height


def _box(text: Text) -> tuple[float, float, float, float]:
    # The middle of the letters, from a little over the baseline to the top of lower case: lines may touch.
    x, y = text.at
    return x, y + 0.05 * text.size, x + text.width, y + 0.5 * text.size


def test_no_line_runs_over_another_or_out(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    for sheet in sample[2]:
        boxes = [(_box(text), text.text) for text in sheet.texts]
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1], f"{one!r} over {other!r}"
        edge = sheet.paper.width - sheet.margin
        assert all(sheet.margin <= a[0] and a[2] <= edge for a, _ in boxes)


def test_text_keeps_out_of_the_boxes_to_write_in(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    for sheet in sample[2]:
        squares = []
        for path in sheet.paths:
            if path.layer != "card":
                continue
            for i, command in enumerate(path.commands):
                if command[0] == "Z" and i >= 4 and path.commands[i - 4][0] == "M":
                    corner, opposite = path.commands[i - 4], path.commands[i - 2]
                    squares.append((*corner[1:], *opposite[1:]))
        for text in sheet.texts:
            a = _box(text)
            for left, low, right, top in squares:
                inside = a[0] < right and left < a[2] and a[1] < top and low < a[3]
                assert not inside, f"{text.text!r} runs into a box"


def test_front_and_rear_cannot_be_mixed_up(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    """Which end is lettered large; the front's pockets of 2 and 3 are common practice, no source."""
    job, _, _ = sample
    assert any(line.startswith(f"{job.mount.end.upper()}: ") for line in _lettered((), job))
    _, said = behind(job)
    if job.mount.end == "rear":
        assert "take the same stack from the same face" in said
    else:
        assert re.search(r"a 12 mm axle puts the mount 2 mm further outboard, a 15 mm axle 3 mm", said)


def test_readings_that_decide_and_pieces_are_on_the_card(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    _, setup, sheets = sample
    texts = [text.text for text in sheets[0].texts]
    said = words(sheets)
    for row in deciding_rows(setup):
        # All of a line is read at the bench: target and limits, in mm and in inches.
        assert set(row.cells) <= set(texts)
        assert any(row.cells[1].endswith("*") == reading.judged for reading in row.readings)
    if any(reading.judged for reading in setup.readings):
        assert "* is our own judgement or doubtful, grade D" in said
    assert "no limits known" not in said
    if setup.choice is not None and setup.choice.best.pieces:
        pieces = setup.choice.best.pieces
        totals = [f"{math.fsum(pieces[: i + 1]):.3f}" for i in range(len(pieces))]
        assert all(total in said for total in totals)
        assert told(setup.choice.sentence) in said


def test_every_reading_stands_behind_the_card(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    job, setup, _ = sample
    _, said = behind(job)
    for reading in setup.readings:
        assert reading.mm.low and reading.mm.high and reading.inch.high
        span = f"{re.escape(reading.mm.low)}(–| to ){re.escape(reading.mm.high)}, .*?{reading.inch.high}"
        if reading.mm.low == f"-{reading.mm.high}":
            span = f"±{reading.mm.high}, ±{reading.inch.high}"
        # A limit of our own judgement bears a mark, and a published one does not.
        assert re.search(span + (r"\*" if reading.judged else r"(?!\*)"), said)
        # Near and far share a line where they read the same, and that names no hole.
        assert told(reading.how).removesuffix(f", at the {reading.at} hole") in said


def test_there_is_a_box_for_each_time_that_a_verdict_needs_a_reading(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    _, setup, (sheet,) = sample
    head = next(text.at[1] for text in sheet.texts if "Readings that decide" in text.text)
    foot = next(text.at[1] for text in sheet.texts if text.text.startswith("* is our own judgement"))
    boxes = []
    for path in sheet.paths:
        for i, command in enumerate(path.commands):
            if path.layer == "card" and command[0] == "Z" and path.commands[i - 4][0] == "M":
                (x0, y0), (x1, y1) = path.commands[i - 4][1:3], path.commands[i - 2][1:3]
                if foot < min(y0, y1) and max(y0, y1) < head:
                    boxes.append((abs(x1 - x0), abs(y1 - y0)))
    rows = deciding_rows(setup)
    assert len(boxes) == sum(reading.times for row in rows for reading in row.readings)
    assert min(wide for wide, _ in boxes) > 6.9 and min(high for _, high in boxes) > 4.9


def test_every_kind_of_error_is_asked_for(sample: tuple[Job, SetUp, tuple[Sheet, ...]]) -> None:
    """The face and the place sideways at both holes, the lean, the turn: no limit without a box."""
    job, setup, _ = sample
    places = {(reading.kind, reading.at) for reading in setup.readings}
    assert {("side", "near"), ("side", "far"), ("lean", "")} <= places
    if setup.readings[0].key.startswith(("axle-to-near-over", "axle-to-near-between")):
        assert {("near", ""), ("far", ""), ("spacing", "")} <= places
    else:
        assert {("face", "near"), ("face", "far"), ("spacing", "")} <= places
    assert any(kind == "edge" for kind, _ in places)
    # No caliper reads over an axle that hides the pin, and none is asked to.
    for reading in setup.readings:
        if reading.kind in ("near", "far") and "along-the-face" in reading.key and reading.jaws == "outside":
            # Over axle and pin, less half an axle: the pin's far side, beyond the other half.
            assert reading.nominal - job.axle.dummy / 2.0 > job.axle.dummy / 2.0


def test_every_number_in_a_caution_has_a_row_with_source_and_grade(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    """Digits in the card's cautions are values or names of the one table of cautions."""
    table = tomllib.loads(
        (Path(__file__).parents[2] / "geometry" / "tables" / "cautions.toml").read_text(encoding="utf-8")
    )
    # A temperature prints in both scales: 120 °F (49 °C) is one value.
    graded = {
        number
        for value in values()
        if value.number.source and value.number.grade in "ABC" and value.unit is not None
        for number in re.findall(r"\d+(?:\.\d+)?", str(value))
    }
    names = " ".join(str(name) for row in table["caution"] for name in row.get("names", {}).values())
    _, setup, _ = sample
    allowed = graded | set(re.findall(r"\d+(?:\.\d+)?", names))
    fillers = {number for row in table.get("filler", []) for number in re.findall(r"\d+", str(row))}
    for caution in setup.cautions:
        stray = [n for n in re.findall(r"\d+(?:\.\d+)?", caution.text) if n not in allowed | fillers]
        assert not stray, f"{caution.text!r} has {stray} without a row"
        assert caution.source and caution.grade in ("A", "B", "C", "D")


def test_cautions_are_set_whole_and_their_sources_listed(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    job, setup, _ = sample
    hung, listed = behind(job)
    for caution in setup.cautions:
        assert caution.text in hung
        assert all(citation(part) in listed for part in caution.sources)


def test_the_card_is_embedded_searchable_text(tmp_path: Path) -> None:
    """Read by a library and by poppler, neither of which the project's own reader uses."""
    assert main(["draw", str(SAMPLES["godwit"]), "--out", str(tmp_path)]) == 0
    packet = next(tmp_path.glob("*.pdf"))
    reader = pypdf.PdfReader(packet)
    found = " ".join("".join(page.extract_text() for page in reader.pages).split())
    for said in ("Order of work", "CHECK POINT: tacked", "Local codes and licensed practice govern"):
        assert said in found
    # The face of the form's boxes, in WinAnsi encoding, needs no map to Unicode (ISO 19005-3, 6.2.11.7.2).
    form = next(number for number, page in enumerate(reader.pages, start=1) if "/Annots" in page)
    listed = subprocess.run(
        [tool("pdffonts"), "-l", str(form - 1), str(packet)], capture_output=True, text=True, check=True
    ).stdout.splitlines()[2:]
    assert listed
    assert all(re.search(r"\byes yes yes\b|\bWinAnsi +yes yes no\b", line) for line in listed), listed


BASE = {
    "frame": {"id": "knot-1"},
    "mount": {"end": "rear", "interface": "is-rear", "rotor": 160, "host": "chainstay"},
    "axle": {"system": "135-qr"},
}


def job_with(**tables: dict[str, object]) -> Job:
    """Return a small job with some tables changed."""
    return parse({key: {**BASE.get(key, {}), **tables.get(key, {})} for key in {**BASE, **tables}})


@pytest.mark.parametrize("name", ["Łódź", "Šárka", "Ærø", "Ağrı"])
def test_accented_names_are_set_as_they_are(name: str) -> None:
    job = job_with(frame={"customer": name})
    _, sheets = made(job)
    assert name in f"{words(sheets)} {behind(job)[1]}"


def test_a_character_that_no_face_has_names_its_key_and_a_way_out() -> None:
    with pytest.raises(InputError) as caught:
        made(job_with(frame={"customer": "鶴田"}))
    (said,) = lines(caught.value)
    assert said.startswith("frame.customer: ")
    assert "鶴 (U+9DB4" in said
    assert "paper.font" in said


@pytest.fixture
def crane(tmp_path: Path) -> Path:
    """Return a face with nothing but a blank, 鶴 and 田, drawn as squares."""
    builder = FontBuilder(1000, isTTF=True)
    builder.setupGlyphOrder([".notdef", "space", "crane", "field"])
    builder.setupCharacterMap({32: "space", ord("鶴"): "crane", ord("田"): "field"})
    pen = TTGlyphPen(None)
    for i, point in enumerate(((100, 0), (100, 700), (800, 700), (800, 0))):
        (pen.lineTo if i else pen.moveTo)(point)
    pen.closePath()
    square = pen.glyph()
    blank = TTGlyphPen(None).glyph()
    builder.setupGlyf({".notdef": square, "space": blank, "crane": square, "field": square})
    builder.setupHorizontalMetrics(dict.fromkeys((".notdef", "space", "crane", "field"), (900, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Crane", "styleName": "Regular", "psName": "Crane-Regular"})
    builder.setupOS2(sCapHeight=700)
    builder.setupPost()
    file = tmp_path / "crane.ttf"
    builder.save(file)
    return file


def test_a_face_of_the_jobs_own_shows_it(crane: Path, tmp_path: Path) -> None:
    job = tmp_path / "knot.toml"
    job.write_text(
        '[frame]\nid = "knot-1"\nname = "鶴"\ncustomer = "鶴田"\n'
        '[mount]\nend = "rear"\ninterface = "is-rear"\nrotor = 160\nhost = "chainstay"\n'
        '[axle]\nsystem = "135-qr"\n[paper]\nfont = "crane.ttf"\n',
        encoding="utf-8",
    )
    assert main(["draw", str(job)]) == 0
    text = "".join(page.extract_text() for page in pypdf.PdfReader(tmp_path / "knot-1.pdf").pages)
    assert "鶴田" in text


def test_a_font_that_cannot_be_used_is_refused_in_words(
    tmp_path: Path, capsys: pytest.CaptureFixture
) -> None:
    text = '[frame]\nid = "knot-1"\n[mount]\nend = "rear"\ninterface = "is-rear"\nrotor = 160\n'
    text += 'host = "chainstay"\n[axle]\nsystem = "135-qr"\n[paper]\nfont = "{}"\n'
    for font in ("nowhere.ttf", "job.toml", "."):
        (tmp_path / "job.toml").write_text(text.format(font), encoding="utf-8")
        assert main(["draw", str(tmp_path / "job.toml")]) == 2
        error = capsys.readouterr().err
        assert error.count("\n") == 1 and "TrueType" in error
    assert [file.name for file in tmp_path.iterdir()] == ["job.toml"]


def test_widths_are_the_embedded_faces_own(crane: Path) -> None:
    """Advances read by fontTools again, in the test; Open Sans has 2048 units to the em.

    A PDF names them in whole thousandths of the type size, and so they are set.
    """
    from fontTools.ttLib import TTFont

    with TTFont(face("regular").file) as font:
        metrics, names = font["hmtx"].metrics, font.getBestCmap()
        each = (metrics[names[ord(sign)]][0] / 2048 for sign in "Ø19.05 ±0.1")
        wanted = sum(round(1000 * share) for share in each) / 1000 * 3.5
    assert run("Ø19.05 ±0.1", 3.5, face("regular")) == pytest.approx(wanted, abs=1e-12)
    assert choose("鶴 田", "regular", own_face(crane)).cap_height == pytest.approx(0.7)


def test_a_filler_with_cadmium_is_refused() -> None:
    """BAg-1 holds cadmium: Machinery's Handbook 31, tables 1a and 1b after AWS A5.8."""
    with pytest.raises(DropleafError, match="cadmium"):
        made(job_with(process={"method": "silver-braze", "filler": "BAg-1"}))


def test_a_disc_too_near_a_tube_is_said_at_the_top_and_as_everywhere() -> None:
    """From the disc's face at -13.45 to the stay's side at -10.8: 2.65, after run-out 2.45, told as 2.4."""
    near = {"diameters": [[30, 16]], "outset": -2.8, "splay": 0}
    job = job_with(tubes={"chainstay": near})
    setup, sheets = made(job)
    disc = setup.clear.disc
    assert disc is not None and disc.left == pytest.approx(2.45, abs=1e-6) and disc.told == "2.4"
    said = words(sheets)
    assert "disc 160 to chainstay: 2.4 mm after run-out; 3 mm is asked for" in said
    # It is the first of what was found, and stands over the stack and all that follows.
    places = {text.text: text.at[1] for text in reversed(sheets[0].texts)}
    assert places["WARNING"] > places["UNKNOWN"] > places["Stack"]
    assert said.index("2.4 mm after run-out") < said.index("UNKNOWN")
    assert "disc 160 to chainstay: 2.4 mm after 0.2 for run-out" in behind(job)[1]


def test_what_is_not_measured_is_said_and_how_to_measure_it() -> None:
    for key, how in (("outset", "how far outboard"), ("splay", "by how many degrees")):
        tube = {"diameters": [[30, 16]], "outset": 5, "splay": 3}
        del tube[key]
        job = job_with(tubes={"chainstay": tube})
        with on_paper_():
            _, sheets = made(job)
            last = behind(job)[1]
        named = {"outset": "how far outboard the chainstay stands", "splay": "the chainstay's splay"}[key]
        lacking = f"Largest disc: unknown; measure {named}; give the seatstay's sizes and place"
        # The card has the finding; its own line of the largest disc may have left a full one.
        assert lacking in last
        assert "no disc" not in words(sheets) + last
        assert f"What comes near the chainstay is not known; measure {how}" in words(sheets)


def _lettered(sheets: tuple[Sheet, ...], job: Job) -> list[str]:
    """Return what the card letters, caught by drawing it again."""
    from unittest.mock import patch

    said: list[str] = []

    def noted(self: object, text: str, height: float) -> None:
        said.append(text)

    with patch("sheets.pages.flow.Flow.lettering", noted):
        made(job)
    return said


def test_facing_stock_is_in_the_readings_and_the_order_of_work() -> None:
    job = job_with(mount={"interface": "post", "rotor": 160}, process={"facing": 0.4})
    setup, sheets = made(job)
    said = words(sheets)
    assert "Face the mount: 0.4 mm was left for it." in said
    assert "face to axle, faced, near and far" in said
    assert "face to axle, near side, before facing" in behind(job)[1]
    assert any(reading.stage == "before" for reading in setup.readings)


@pytest.fixture
def changed() -> Callable[..., Job]:
    """Return a maker of small jobs."""
    return job_with


@pytest.mark.parametrize("method", ["tig", "fillet-braze", "silver-braze", None])
@pytest.mark.parametrize("family", ["is-rear", "post", "flat-rear"])
def test_every_process_has_its_check_points(
    changed: Callable[..., Job], method: str | None, family: str
) -> None:
    process = {"method": method} if method else {}
    setup, _ = made(
        changed(
            mount={"interface": family, "rotor": 160, "native": 160} if family != "is-rear" else {},
            process=process,
        )
    )
    assert [step.check for step in setup.operations if step.check] == [
        "tacked",
        "cold",
        "aligned",
        "faced",
        "finished",
    ]


def test_the_card_says_that_lines_are_shortened_only_where_one_is(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    said = words(sample[2])
    # The sentence itself has one.
    assert said.count("…") != 1


def test_a_note_that_limits_a_verdict_stays_before_others() -> None:
    """The fork test leaves cargo bicycles out: without that its verdict is taken for more than it is."""
    job = read(SAMPLES["whimbrel"])
    _, sheets = made(job)
    assert "The published fork test leaves cargo bicycles out" in words(sheets)


def test_the_card_says_what_a_reading_decides_and_where_the_jaws_go(
    sample: tuple[Job, SetUp, tuple[Sheet, ...]],
) -> None:
    _, setup, sheets = sample
    said = words(sheets)
    assert tell("reading.card.failed") in said
    (edge,) = (each for each in setup.readings if each.kind == "edge" and each.key in setup.deciding)
    name = told(edge.name)
    assert f"{name[:1].upper()}{name[1:]}: {told(edge.how)}." in said

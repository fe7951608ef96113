"""The traveller of every sample: what it says, and its form.

Read by poppler and pdfium, neither of which the writers use.
"""

import itertools
import re
import tomllib
from collections.abc import Sequence
from pathlib import Path

import pypdfium2
import pytest

from fonts.faces import choose, run
from geometry.core.errors import FitError, InputError
from sheets.actions.draw import plan
from sheets.files.write.pdf import write_pdf
from sheets.ink.records import Field, Sheet, Text
from sheets.job.identity import REVISION, job_digest, qr_text
from sheets.job.operations import CHECK_POINTS, hold_points, operations
from sheets.job.read import Job, load, parse, place_job, read, tubes_of
from sheets.pages.running.traveller import Identity, traveller
from sheets.setup.setup import SetUp, set_up
from sheets.words.tell import tell, told
from tests.outside_tools import run as outside
from tests.pages.jobs import SAMPLES, on_paper

CAP_HEIGHT = 1462 / 2048  # Open Sans: OS/2 sCapHeight over unitsPerEm, as its file says
Box = tuple[float, float, float, float]
NO_HEAT, NO_RIDE = hold_points()


def made(job: Job, raw: bytes = b"x") -> tuple[SetUp, tuple[Sheet, ...]]:
    """Return a job's set-up and its traveller."""
    placement = place_job(job)
    setup = set_up(job, placement, tubes_of(job))
    digest = job_digest(raw)
    identity = Identity(digest, REVISION, qr_text(job.frame.id, digest, REVISION))
    return setup, traveller(job, placement, setup, identity)


Made = tuple[Job, SetUp, tuple[Sheet, ...]]


@pytest.fixture(scope="module", params=[(name, size) for name in SAMPLES for size in ("", "Letter")], ids=str)
def sample(request: pytest.FixtureRequest) -> Made:
    """Return each sample's job, set-up and traveller, on its own paper and on Letter."""
    name, size = request.param
    job = read(SAMPLES[name])
    job = on_paper(job, size=size) if size else job
    return job, *made(job)


def words(sheets: Sequence[Sheet]) -> str:
    """Return running text in the order it was set."""
    return " ".join(text.text for sheet in sheets for text in sheet.texts)


def fields_of(sheets: Sequence[Sheet]) -> dict[str, Field]:
    """Return all fields by name; a name that is there twice fails."""
    every = [field for sheet in sheets for field in sheet.fields]
    found = {field.name: field for field in every}
    assert len(found) == len(every)
    return found


def boxes_of(sheet: Sheet) -> list[Box]:
    """Return the closed upright rectangles that are inked on a traveller."""
    found = []
    for path in sheet.paths:
        if path.layer != "traveller":
            continue
        for i, command in enumerate(path.commands):
            if command[0] == "Z" and i >= 4 and path.commands[i - 4][0] == "M":
                (x0, y0), (x1, y1) = path.commands[i - 4][1:3], path.commands[i - 2][1:3]
                found.append((min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)))
    return found


def test_two_pages_of_its_own_kind(sample: Made) -> None:
    job, _, sheets = sample
    # A brace is two operations more to sign: on Letter they need a dense form.
    assert [sheet.kind for sheet in sheets] == ["traveller"] * 2
    said = [text.text for sheet in sheets for text in sheet.texts]
    # Each has a place for its number in the packet, which it does not know itself.
    assert all(sheet.number_at is not None for sheet in sheets)
    assert said.count(tell("traveller.record")) == 2
    assert all(sheet.paper.name == job.paper.size for sheet in sheets)


def test_what_it_says_can_be_read_from_the_paper(sample: Made, tmp_path: Path) -> None:
    _, setup, sheets = sample
    file = tmp_path / "t.pdf"
    write_pdf(sheets, file, title="t", subject="s")
    poppler = " ".join(outside("pdftotext", "-layout", file, "-").split())
    document = pypdfium2.PdfDocument(file)
    try:
        pdfium = " ".join("".join(page.get_textpage().get_text_range() for page in document).split())
    finally:
        document.close()
    for found in (poppler, pdfium):
        for text in (
            tell("traveller.record"),
            tell("traveller.stop", hold=NO_HEAT),
            tell("traveller.failed_heading"),
        ):
            assert text in found
        for sheet in sheets:
            assert [each.text for each in sheet.texts if " ".join(each.text.split()) not in found] == []
    said = words(sheets)
    assert tell("traveller.stop", hold=NO_RIDE) in said
    for step in setup.operations:
        assert step.title in said
        assert step.text in said
    for reading in setup.readings:
        assert told(reading.name) in said and reading.mm.nominal in said
        if reading.mm.low:
            even = reading.mm.low == f"-{reading.mm.high}"
            low = f"±{reading.mm.high}" if even else reading.mm.low
            assert low in said and str(reading.mm.high) in said
    assert {point for point in CHECK_POINTS if point in said} == set(CHECK_POINTS)
    assert "150.00" in said and "bars, ±0.25" in said


def test_it_is_large_and_black_enough(sample: Made) -> None:
    _, _, sheets = sample
    for sheet in sheets:
        assert min(text.size for text in sheet.texts) * CAP_HEIGHT >= 2.499
        assert {path.style.width for path in sheet.paths if not path.style.fill} <= {0.18, 0.35, 0.5, 0.7}
        assert all(not path.style.dash for path in sheet.paths)
        lettered = [path.style.width for path in sheet.paths if path.style.cap == "round"]
        assert min(lettered) >= 0.35  # a tenth of capitals of 3.5


def text_box(text: Text) -> Box:
    """Return the middle of the letters, from over the baseline to the top of lower case: lines may touch."""
    x, y = text.at
    return x, y + 0.05 * text.size, x + text.width, y + 0.5 * text.size


def overlap(a: Box, b: Box) -> bool:
    """Tell whether two boxes share an area."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def test_no_line_runs_over_another_or_into_a_field(sample: Made) -> None:
    for sheet in sample[2]:
        boxes = [(text_box(text), text.text) for text in sheet.texts]
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert not overlap(a, b), f"{one!r} over {other!r}"
        for field in sheet.fields:
            assert [text for a, text in boxes if overlap(a, field.box)] == [], field.name


def test_fields_lie_in_their_boxes_apart_and_in_order(sample: Made) -> None:
    _, _, sheets = sample
    assert fields_of(sheets)
    for sheet in sheets:
        printed = boxes_of(sheet)
        for field in sheet.fields:
            left, low, right, top = field.box
            assert re.fullmatch(r"[A-Za-z0-9.-]+", field.name) and field.label
            assert right - left > 7.0 and top - low > 5.0, field.name
            inside = [b for b in printed if b[0] < left and b[1] < low and right < b[2] and top < b[3]]
            assert inside, field.name
            assert left > sheet.margin and low > sheet.margin
            assert right < sheet.paper.width - sheet.margin and top < sheet.paper.height - sheet.margin
        for a, b in itertools.combinations(sheet.fields, 2):
            assert not overlap(a.box, b.box), (a.name, b.name)
        for first, then in itertools.pairwise(sheet.fields):
            lower = then.box[3] < first.box[1]
            beside = abs(then.box[3] - first.box[3]) < 1e-6 and then.box[0] > first.box[2]
            assert lower or beside, (first.name, then.name)


def test_every_reading_has_a_box_at_each_check_point(sample: Made) -> None:
    """Stock for facing is on the face before "faced" and gone from there on, so those readings part there."""
    _, setup, sheets = sample
    wanted = set()
    for reading, point in itertools.product(setup.readings, CHECK_POINTS):
        faced = point in ("faced", "finished")
        if (reading.stage == "before" and faced) or (reading.stage == "faced" and not faced):
            continue
        wanted.add(f"reading.{point}.{reading.key}")
    fields = fields_of(sheets)
    assert {name for name in fields if name.startswith("reading.")} == wanted
    assert {fields[name].kind for name in wanted} == {"number"}
    for number, _ in enumerate(setup.operations, start=1):
        kinds = [fields[f"step.{number}.{part}"].kind for part in ("reading", "initials", "date", "done")]
        assert kinds == ["text", "text", "date", "tick"]


def _cells(sheet: Sheet, box: Box) -> int:
    """Return into how many a printed box is ruled by lines across and down, each from side to side."""
    left, low, right, top = box
    rules: list[tuple[float, float, float, float]] = []
    for path in sheet.paths:
        for i, command in enumerate(path.commands):
            closed = any(later[0] == "Z" for later in path.commands[i + 1 : i + 2])
            if command[0] != "L" or path.commands[i - 1][0] != "M" or closed or path.layer != "traveller":
                continue
            (x0, y0), (x1, y1) = sorted((path.commands[i - 1][1:3], command[1:3]))
            rules.append((x0, min(y0, y1), x1, max(y0, y1)))
    inner = [
        rule
        for rule in rules
        if left - 0.01 <= rule[0]
        and rule[2] <= right + 0.01
        and low - 0.01 <= rule[1]
        and rule[3] <= top + 0.01
    ]
    across = [r for r in inner if r[2] - r[0] > right - left - 0.01 and low + 0.1 < r[1] < top - 0.1]
    down = [r for r in inner if r[2] - r[0] < 0.01 and left + 0.1 < r[0] < right - 0.1]
    return 1 + len(across) + len(down)


def test_the_last_check_point_has_a_box_for_each_time_that_a_verdict_needs(sample: Made) -> None:
    _, setup, sheets = sample
    found = {field.name: (sheet, field) for sheet in sheets for field in sheet.fields}
    for reading in setup.readings:
        for point in CHECK_POINTS:
            if f"reading.{point}.{reading.key}" not in found:
                continue
            sheet, field = found[f"reading.{point}.{reading.key}"]
            left, low, right, top = field.box
            printed = [
                box for box in boxes_of(sheet)
                if box[0] < left and box[1] < low and right < box[2] and top < box[3]
            ]  # fmt: skip
            smallest = min(printed, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
            wanted = reading.times if point == CHECK_POINTS[-1] else 1
            assert _cells(sheet, smallest) == wanted, (reading.key, point)


def _full() -> Job:
    text = SAMPLES["avocet"].read_text(encoding="utf-8")
    return parse(
        tomllib.loads(text)
        | {
            "traveller": {
                "started": "2031-04-02",
                "due": "2031-05-01",
                "material_lot": "M 7",
                "filler_lot": "F 9",
                "heats": {"chainstay": "C 118", "seatstay": "S 4"},
                "hub": "a hub of a name so long that no box on this paper can hold it at its size",
                "caliper": "two pistons",
            }
        }
    )


def test_the_form_is_filled_in_with_the_job() -> None:
    fields = fields_of(made(_full())[1])
    wanted = {
        "head.frame": "avocet-3",
        "head.name": "Avocet",
        "head.maker": "Saltmarsh Cycle Works",
        "head.started": "2031-04-02",
        "head.due": "2031-05-01",
        "head.process": "TIG",
        "head.material": "CrMo",
        "head.material-lot": "M 7",
        "head.filler": "ER80S-D2, 1.2",
        "head.filler-lot": "F 9",
        "tube.chainstay.wall": "1",
        "tube.chainstay.heat": "C 118",
        "tube.seatstay.wall": "0.9",
        "tube.seatstay.heat": "S 4",
        "part.dropout": "142x12, 10 thick",
        "part.rotor": "160",
        "part.caliper": "two pistons",
        "revision.this": f"{REVISION}",
    }
    assert {name: fields[name].value for name in wanted} == wanted
    assert {name: field.value for name, field in fields.items() if field.value and name not in wanted} == {
        "part.hub": _full().traveller.hub
    }
    # What is too long at the usual size is set as large as fits.
    assert (fields["head.name"].size, fields["head.maker"].size, fields["part.hub"].size) == (4.91, 3.51, 0.0)
    for field in fields.values():
        if field.size and field.value:
            face = choose(field.value, "regular")
            assert run(field.value, field.size, face) <= field.box[2] - field.box[0]


def test_targets_are_the_jobs_own(sample: Made) -> None:
    job, setup, sheets = sample
    said = words(sheets)
    disc = setup.clear.disc
    assert disc is not None
    assert f"{disc.told}, asked 3 to {disc.key.partition(' to ')[2]}, after 0.2 run-out" in said
    assert setup.build_up is not None and setup.build_up.stack is not None
    stack = setup.build_up.stack
    # Where the mount reaches into the plate, the plate is relieved by that.
    assert (f"{stack:.2f} to fill, ±0.05" if stack >= 0.0 else f"{-stack:.2f} least relief") in said
    assert (job.process.amps is None) or f"{job.process.amps:g} A on the job" in said


def test_a_braced_frames_tubes_have_their_captions_whole() -> None:
    _, sheets = made(read(SAMPLES["dunlin"]))
    said = words(sheets)
    for tube in ("chainstay", "seatstay", "brace"):
        assert f"{tube}, wall" in said and f"{tube}, heat number" in said


def test_own_operations_and_a_dangerous_order_are_on_the_paper() -> None:
    shipped = [step.key for step in operations(None, "tab", 0.0)]
    order = [each for each in shipped if each not in ("torque", "inspection")]
    order.insert(order.index("final-check"), "torque")
    own = {"key": "stamp-number", "text": "Stamp the number.", "hold": "No paint before the number."}
    job = read(SAMPLES["dunlin"])
    table = parse(
        {
            "frame": {"id": "x"},
            "mount": {"end": "rear", "interface": "is-rear", "rotor": 140, "host": "chainstay"},
            "axle": {"system": "135-qr"},
            "traveller": {"operations": [own, *order]},
        }
    ).traveller
    setup, sheets = made(job.model_copy(update={"traveller": table}))
    said = words(sheets)
    assert "Stamp number" in said and "STOP HERE: No paint before the number." in said
    assert "torque comes before final-check" in said
    # The two hold points stand on every traveller, once each, whatever the order of work.
    assert (
        said.count(tell("traveller.stop", hold=NO_HEAT))
        == said.count(tell("traveller.stop", hold=NO_RIDE))
        == 1
    )
    assert f"step.{len(setup.operations)}.done" in fields_of(sheets)


def test_many_operations_take_a_third_page_and_no_more() -> None:
    own = [{"key": f"own-{n}", "text": "Look at it again, from the other side."} for n in range(12)]
    shipped = [step.key for step in operations(None, "tab", 0.0)]
    table = _full().traveller.model_copy(
        update={
            "operations": parse(
                {
                    "frame": {"id": "x"},
                    "mount": {"end": "front", "interface": "is-front", "rotor": 160},
                    "axle": {"system": "100-qr"},
                    "traveller": {"operations": [*shipped, *own]},
                }
            ).traveller.operations
        }
    )
    setup, sheets = made(_full().model_copy(update={"traveller": table}))
    assert len(setup.operations) == len(shipped) + len(own)
    assert len(sheets) == 3
    assert fields_of(sheets)


def test_a_narrow_page_is_refused_by_how_much() -> None:
    with pytest.raises(FitError, match=r"paper.size: traveller\.too_wide\(over=\d+\.\d+\)"):
        made(on_paper(read(SAMPLES["curlew"]), margin=40.0))


@pytest.mark.parametrize("margin", [5.0, 20.0])
@pytest.mark.parametrize("name", ["avocet", "greenshank"])
def test_other_margins(name: str, margin: float) -> None:
    _, sheets = made(on_paper(read(SAMPLES[name]), margin=margin))
    assert len(sheets) <= (2 if margin < 10.0 else 3)
    narrow = [field for key, field in fields_of(sheets).items() if key.startswith("reading.")]
    assert min(field.box[2] - field.box[0] for field in narrow) > 15.0
    for sheet in sheets:
        boxes = [(text_box(text), text.text) for text in sheet.texts]
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert not overlap(a, b), f"{one!r} over {other!r}"


@pytest.mark.parametrize("size", ["A4", "Letter", "A3"])
def test_the_longest_names_fit(size: str) -> None:
    """An id has up to 64 signs, a name up to 120."""
    frame = {"id": "W" * 64, "name": "Wide Wader " * 10, "customer": "A b " * 29}
    job = _full()
    job = job.model_copy(update={"frame": job.frame.model_copy(update=frame)})
    _, sheets = made(on_paper(job, size=size))
    assert len(sheets) <= 2
    assert fields_of(sheets)["head.frame"].value == "W" * 64


def test_a_character_that_no_face_has_names_its_key() -> None:
    job = _full()
    table = job.traveller.model_copy(update={"hub": "鶴"})
    with pytest.raises(InputError, match=r"traveller\.hub: .*鶴"):
        made(job.model_copy(update={"traveller": table}))


def test_a_job_may_do_without(tmp_path: Path) -> None:
    text = SAMPLES["curlew"].read_text(encoding="utf-8")
    (tmp_path / "a.toml").write_text(f"{text}\n[traveller]\nprint = false\n", encoding="utf-8")
    source = load(SAMPLES["curlew"])
    kinds = [sheet.kind for sheet in plan(source, None).sheets]
    *read, details, numbers, more = kinds
    assert read[-6:] == ["card", "cautions", "loads", "loads", "traveller", "traveller"]
    assert (details, numbers, more) == ("details", "numbers", "numbers")
    bare = plan(load(tmp_path / "a.toml"), None)
    assert [sheet.kind for sheet in bare.sheets] == [kind for kind in kinds if kind != "traveller"]
    # Pages to read are delivered within the packet alone.
    assert read[:-6] == ["template", "wrap", "wrap"]
    assert [file.path.suffix for file in plan(source, None).files].count(".svg") == len(read) - 6

"""A sheet cannot be mistaken for the other view: turned over by hand, in whole or in part, it is refused."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File

import pytest

from geometry.core.errors import ReadBackError
from sheets.actions import draw as drawing
from sheets.actions.views import truths
from sheets.files.read.views import verify_views
from sheets.files.write.pdf import write_pdf
from sheets.ink.records import Arc, Circle, Command, Curve, Feature, Label, Path, Segment, Sheet, Slot
from sheets.job.read import Job, load, place_job
from sheets.pages import title as words
from sheets.words.tell import lines, told
from tests.pages.jobs import SAMPLES, sample_sheets
from tests.pages.test_tiles import job_text

FURNITURE = ("title block", "scale", "card", "tile", "map", "numbers")
OTHER = {"outboard": "inboard", "inboard": "outboard"}


def turned_over(sheet: Sheet, turns: Callable[[Path], bool], about: float) -> Sheet:
    """Return a sheet with some of its paths turned over left to right, and their features with them."""

    def flipped(command: Command) -> Command:
        numbers = [2.0 * about - v if i % 2 == 0 else v for i, v in enumerate(command[1:])]
        return (command[0], *numbers)  # type: ignore[return-value]

    def turned(label: Label) -> Label:
        a, b, c, d, e, f = label.matrix
        return replace(label, matrix=(-a, b, -c, d, 2.0 * about - e, f))

    names = {path.name for path in sheet.paths if turns(path)}
    return replace(
        sheet,
        records=tuple(
            replace(path, commands=tuple(map(flipped, path.commands)), labels=tuple(map(turned, path.labels)))
            if turns(path)
            else path
            for path in sheet.paths
        ),
        features=tuple(over(f, about) if f.name in names else f for f in sheet.features),
    )


def over(feature: Feature, about: float) -> Feature:
    """Return a feature turned over left to right."""
    match feature:
        case Circle(centre=(x, y)):
            return replace(feature, centre=(2.0 * about - x, y))
        case Arc(centre=(x, y), start=start, end=end):
            return replace(feature, centre=(2.0 * about - x, y), start=180.0 - end, end=180.0 - start)
        case Segment(start=(x1, y1), end=(x2, y2)) | Slot(start=(x1, y1), end=(x2, y2)):
            return replace(feature, start=(2.0 * about - x1, y1), end=(2.0 * about - x2, y2))
        case Curve(points=points):
            return replace(feature, points=tuple((2.0 * about - x, y) for x, y in points))


def is_drawing(path: Path) -> bool:
    return path.layer not in (*FURNITURE, "directions") and path.style.cap == "butt"


def is_drawing_or_arrow(path: Path) -> bool:
    return path.layer not in FURNITURE and path.style.cap == "butt"


def planned(name: str, view: str, folder: File) -> drawing.Plan:
    text = SAMPLES[name].read_text(encoding="utf-8").replace('view = "inboard"\n', "")
    (folder / "job.toml").write_text(
        text.replace("[paper]\n", f'[paper]\nview = "{view}"\n'), encoding="utf-8"
    )
    return drawing.plan(load(folder / "job.toml"), folder / "out")


def judged(job: Job, sheets: list[Sheet], view: str, folder: File) -> str:
    """Return what a file with these sheets is refused for as a view, a line each; nothing for no fault."""
    file = folder / "sheets.pdf"
    write_pdf(sheets, file, title="views", subject="views")
    try:
        verify_views(
            file, sheets, truths(job, place_job(job)), "inboard" if view == "inboard" else "outboard"
        )
    except ReadBackError as error:
        return "\n".join(lines(error))
    return ""


def refused(plan: drawing.Plan, sheets: list[Sheet], folder: File) -> str:
    """Return what a file with these sheets is refused for as its job's view."""
    job = plan.source.job
    return judged(job, sheets, job.paper.view, folder)


def full_size(plan: drawing.Plan) -> list[Sheet]:
    return [sheet for sheet in plan.sheets if sheet.kind in ("template", "face")]


@pytest.mark.parametrize("view", ["outboard", "inboard"])
# A tab and a flat on a fork, a post on a chainstay, and a mount on a seatstay.
@pytest.mark.parametrize("name", ["curlew", "lapwing", "avocet", "dunlin"])
def test_the_view_is_told_from_the_ink_alone(name: str, view: str, tmp_path: File) -> None:
    caught = sample_sheets(name, view, "A4")
    sheets = [each.sheet for each in caught]
    assert judged(caught[0].job, sheets, view, tmp_path) == ""
    # The same file judged as the other view's: every witness contradicts, on every page.
    other = OTHER[view]
    told = judged(caught[0].job, sheets, other, tmp_path)
    for number, sheet in enumerate(sheets, start=1):
        assert f"page {number}, title's words: the {view} view's, should be the {other} view's" in told
        assert f"page {number}, arrow: the {view} view's" in told
        assert (f"page {number}, wheel's turn: the {view} view's" in told) is (sheet.kind == "template")
        assert f"{sheet.kind} drawing: the {view} view's, should be the {other} view's" in told


@pytest.mark.parametrize(
    ("turns", "wrong"),
    [
        (is_drawing, {"drawing"}),
        (is_drawing_or_arrow, {"drawing", "arrow", "wheel's turn"}),
        (lambda path: True, {"drawing", "words", "arrow", "wheel's turn"}),
        (lambda path: path.layer == "directions" and path.style.cap == "butt", {"arrow", "wheel's turn"}),
    ],
    ids=["drawing", "drawing and arrows", "the whole page", "arrows alone"],
)
def test_a_template_turned_over_by_hand_is_refused(
    turns: Callable[[Path], bool], wrong: set[str], tmp_path: File
) -> None:
    plan = planned("avocet", "outboard", tmp_path)
    (template,) = (sheet for sheet in plan.sheets if sheet.kind == "template")
    bad = turned_over(template, turns, template.paper.width / 2.0)
    told = refused(plan, [bad], tmp_path)
    assert {what for what in ("drawing", "words", "arrow", "wheel's turn") if f"{what}: " in told} == wrong


def test_a_mirrored_sheet_is_not_delivered_though_it_measures_what_it_says(tmp_path: File) -> None:
    plan = planned("avocet", "outboard", tmp_path)
    sheets = tuple(
        turned_over(sheet, is_drawing, sheet.paper.width / 2.0) if sheet.kind == "template" else sheet
        for sheet in plan.sheets
    )
    with pytest.raises(ReadBackError) as caught:
        drawing.draw(replace(plan, sheets=sheets))
    (problem,) = caught.value.problems
    assert told(problem.what) == "the inboard view's, should be the outboard view's"
    assert problem.where["kind"] == "template"
    assert not plan.folder.exists() or not any(plan.folder.iterdir())


def test_wrong_words_alone_are_refused(tmp_path: File, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(words, "seen_from", lambda view: "seen from inboard, mirrored")
    plan = planned("avocet", "outboard", tmp_path)
    told = refused(plan, full_size(plan), tmp_path)
    assert "page 1, title's words: the inboard view's, should be the outboard view's" in told
    assert told.count("\n") == 0


def test_one_tile_turned_over_is_refused(tmp_path: File) -> None:
    (tmp_path / "job.toml").write_text(job_text("A4", "inboard"), encoding="utf-8")
    plan = drawing.plan(load(tmp_path / "job.toml"), tmp_path / "out")
    tiles = [sheet for sheet in plan.sheets if sheet.tile is not None]
    assert refused(plan, tiles, tmp_path) == ""
    for sheet in tiles:
        bad = turned_over(sheet, lambda path: path.layer == "directions", sheet.paper.width / 2.0)
        number = tiles.index(sheet) + 1
        told = refused(plan, [bad if each is sheet else each for each in tiles], tmp_path)
        assert f"page {number}, arrow: " in told
    # The windows' ink about the axle's line, which lies at another place on every page.
    bad_all = [turned_over(sheet, is_drawing, sheet.axle[0]) for sheet in tiles]
    assert "template drawing: the outboard view's, should be the inboard view's" in refused(
        plan, bad_all, tmp_path
    )


def test_the_axle_is_needed_to_tell(tmp_path: File) -> None:
    plan = planned("avocet", "outboard", tmp_path)
    (template,) = (sheet for sheet in plan.sheets if sheet.kind == "template")
    bare = replace(template, records=tuple(p for p in template.paths if p.name != "dummy axle"))
    told = refused(plan, [bare], tmp_path)
    assert "template drawing: the holes are not where they should be about the axle" in told

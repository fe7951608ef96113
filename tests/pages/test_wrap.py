"""The wraps: every line on them lies on both bodies in space, unrolls as it should, and can be read.

Points are judged by formulas of their own: a tube from its stations, a boss from its axis. Nothing of the
package's geometry is used but the job's own placement, which has tests of its own.
"""

import math
import re
from pathlib import Path as File
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings

from geometry.core.errors import FitError, InputError
from geometry.core.findings import texts
from geometry.core.say import named, say
from sheets.actions.manifest import feature_json
from sheets.files.read.readback import verify_svg
from sheets.files.write.pdf import write_pdf
from sheets.files.write.svg import write_svg
from sheets.ink.records import Arc, Circle, Curve, Segment
from sheets.job.read import Job, parse, place_job
from sheets.words.tell import lines, told
from tests.pages.jobs import SAMPLES, every_mount, on_paper, random_jobs, sample
from tests.pages.test_clean import REFUSAL, faults
from tests.pages.wrapped import Skin, drawn, mount, off_boss, space, stay
from tests.raster import MM, poppler

ON = 0.005
"""How far a point may lie off a body, mm."""
STEP = 0.001
every_sample = pytest.mark.parametrize("name", SAMPLES)


# --- every sample


@every_sample
def test_every_sample_is_drawn_read_back_and_clean(name: str, tmp_path: File) -> None:
    done = drawn(sample(name))
    assert done.wraps.sheets
    write_pdf(done.wraps.sheets, tmp_path / "wraps.pdf", title="wraps", subject="wraps")
    for sheet in done.wraps.sheets:
        assert sheet.kind == "wrap"
        write_svg(sheet, tmp_path / "wrap.svg")
        assert verify_svg(tmp_path / "wrap.svg", sheet) < 0.01
    for caught in done.caught:
        assert faults(caught) == []
        assert {"bar across", "bar down"} <= {feature.name for feature in caught.sheet.features}
        strips = any("left edge" in feature.name for feature in caught.sheet.features)
        assert ("Lay it printed side out" in caught.title) == strips
        figure = any(" lower end, " in feature.name for feature in caught.sheet.features)
        assert strips or figure or "Tape it, printed side out" in caught.title
        assert ("Saw and file the lower end" in caught.title) == figure
        assert caught.job.frame.id in caught.title


@every_sample
def test_every_line_lies_on_its_bodies(name: str) -> None:
    job = sample(name)
    placement = place_job(job)
    done = drawn(job)
    host = Skin(placement.host, job)
    kinds = set()
    for curve in done.curves.values():
        if curve.tube == "brace":
            # It ends on both stays; see test_the_brace_is_coped_at_both_ends.
            continue
        points = space(curve)
        if curve.tube == placement.host:
            assert host.off(points).max() < ON, curve.name
        else:
            assert off_boss(points, job, placement, curve.tube.removeprefix("boss ")).max() < ON, curve.name
        match = re.match(r"boss (near|far), (mount side|far side|cope)", curve.name)
        if match:
            kinds.add(match[2])
            assert off_boss(points, job, placement, match[1]).max() < ON, curve.name
            assert host.off(points).max() < ON, curve.name
        elif face := re.match(r"tab(?: edge)?, (inner|outer) face$", curve.name):
            kinds.add("tab")
            thick = job.boss.thickness or 0.0
            z = placement.lateral_z + (thick if face[1] == "outer" else -job.process.facing)
            assert np.abs(points[:, 2] - z).max() < ON, curve.name
            assert host.off(points).max() < ON, curve.name
        expected = 0.0 if curve.name.startswith("tab edge") else job.wrap.paper
        assert curve.paper_thickness == expected
    assert kinds in ({"tab"}, {"mount side"}, {"mount side", "cope"}, {"mount side", "far side"})


@every_sample
def test_small_steps_keep_their_length(name: str) -> None:
    """On paper of no thickness; the bosses' and the tab's lines, whose steps are small."""
    job = sample(name)
    thin = job.model_copy(update={"wrap": job.wrap.model_copy(update={"paper": 0.0})})
    seen = 0
    for curve in drawn(thin).curves.values():
        flat = np.linalg.norm(np.diff(np.array(curve.points), axis=0), axis=1)
        true = np.linalg.norm(np.diff(space(curve), axis=0), axis=1)
        if re.match(r"boss \w+, (mount|far|cope)|tab", curve.name):
            assert np.abs(flat - true).max() < STEP, curve.name
            seen += len(flat)
    assert seen > 20


@pytest.mark.parametrize("name", ["godwit", "whimbrel"])
def test_a_straight_tube_unrolls_at_half_the_paper(name: str) -> None:
    """These forks' legs are of one size, so the page is plain: x = (R + p/2) turn, y = along the leg."""
    job = sample(name)
    done, skin = drawn(job), Skin("fork-leg", job)
    radius = skin.a[0] + job.wrap.paper / 2.0
    middle = next(c for key, c in done.curves.items() if key.startswith("fork leg wrap, mount side"))
    x0, y0 = middle.points[0]
    _, along0 = skin.turned(space(middle))
    checked = 0
    for curve in done.curves.values():
        if curve.tube != "fork-leg":
            continue
        turn, along = skin.turned(space(curve))
        x, y = np.array(curve.points).T
        # Where a line begins the turn may be a whole one off, and no more.
        lap = round((x[0] - x0 - radius * turn[0]) / (2.0 * math.pi * radius))
        assert x - x0 == pytest.approx(radius * (turn + 2.0 * math.pi * lap), abs=STEP)
        assert y - y0 == pytest.approx(along - along0[0], abs=STEP)
        checked += len(x)
    assert checked > 300


@every_sample
def test_the_girth_is_the_papers_own(name: str) -> None:
    job = sample(name)
    done = drawn(job)
    edges = {n: c for n, c in done.curves.items() if n.endswith((", lower edge", ", upper edge"))}
    lengths = {n: float(np.linalg.norm(np.diff(c.points, axis=0), axis=1).sum()) for n, c in edges.items()}
    lettered = sorted(float(text.split()[1]) for text in done.texts if re.fullmatch(r"girth [\d.]+", text))
    # Chords of five degrees are shorter than their arc by a three-thousandth of it at most.
    assert lettered == pytest.approx(sorted(lengths.values()), rel=4e-4)
    for name_of, curve in edges.items():
        if curve.tube.startswith("boss"):
            assert job.boss.diameter is not None
            girth = math.pi * (job.boss.diameter + job.wrap.paper)
            assert f"girth {girth:.2f}" in done.texts, name_of


# --- jobs made for one thing


def test_far_side_outlines_are_split_at_the_seam() -> None:
    job = mount("flat-rear-160-chainstay", tubes=stay([[20, 26], [390, 26]]), boss={"length": 70})
    done = drawn(job)
    assert texts(done.wraps.findings) == ()
    assert any("through both walls" in text for text in done.texts)
    for which in ("near", "far"):
        whole = done.curves[f"boss {which}, mount side"]
        assert whole.points[0] == pytest.approx(whole.points[-1], abs=1e-6)
        parts = [done.curves[f"boss {which}, far side, part {i}"] for i in (1, 2)]
        assert f"boss {which}, far side" not in done.curves
        left, seam = (done.curves[f"chainstay wrap, {edge}"].points[0][0] for edge in ("left edge", "seam"))
        ends = [sorted({round(part.points[i][0], 3) for i in (0, -1)}) for part in parts]
        assert sorted(ends) == [[pytest.approx(left, abs=0.002)], [pytest.approx(seam, abs=0.002)]]
        # In space the two parts meet.
        first, second = (space(part)[[0, -1]] for part in parts)
        assert np.linalg.norm(first[:, None] - second[None], axis=2).min(axis=1).max() < ON
    punches = {f.name for s in done.wraps.sheets for f in s.features if isinstance(f, Circle)}
    assert {f"punch {w}, {s} side" for w in ("near", "far") for s in ("mount", "far")} <= punches


def test_punches_lie_on_the_axis() -> None:
    """On a straight tube: the middle of each cross, bent back, is on the boss's axis."""
    job = mount("flat-rear-160-chainstay", tubes=stay([[20, 26], [390, 26]]), boss={"length": 70})
    done, placement = drawn(job), place_job(job)
    middle = next(c for key, c in done.curves.items() if key.startswith("chainstay wrap, mount side"))
    (x0, y0), radius = middle.points[0], 13.05
    for feature in done.wraps.sheets[0].features:
        match = isinstance(feature, Circle) and re.match(r"punch (near|far), (mount|far) side", feature.name)
        if not match:
            continue
        assert isinstance(feature, Circle)
        turn = (feature.centre[0] - x0) / radius
        s = -middle.space[0][0] + feature.centre[1] - y0
        z = -1.0 - 13.0 * math.sin(turn)
        x = {"near": placement.interface.x_near, "far": placement.interface.x_far}[match[1]]
        assert (s, z) == (pytest.approx(x, abs=STEP), pytest.approx(placement.lateral_z, abs=STEP))
        assert math.cos(turn) > 0.0 if match[2] == "mount" else math.cos(turn) < 0.0


def test_a_boss_wider_than_its_stay_is_drawn_open_and_warned_of() -> None:
    job = mount(
        "flat-rear-160-chainstay", tubes=stay([[20, 12.5], [390, 12.5]], outset=-3.05), boss={"diameter": 14}
    )
    done = drawn(job)
    near = say("tubes.on", body=say("wrap.body", hole=named("near")), tube="chainstay")
    assert any(each.code == "tubes.wider" and each["where"] == near for each in texts(done.wraps.findings))
    for curve in done.curves.values():
        if "mount side," in curve.name:
            ends = space(curve)[[0, -1]]
            assert np.linalg.norm(ends[0] - ends[1]) > 1.0
            assert Skin("chainstay", job).off(space(curve)).max() < ON
    assert all(faults(caught) == [] for caught in done.caught)


def test_a_boss_that_misses_is_left_out_in_words() -> None:
    done = drawn(mount("post-160-chainstay", tubes=stay([[20, 16], [390, 16]], outset=40)))
    # The near one lies below where its stay is known: what carries it is asked for on a page of its own.
    assert not done.curves and len(done.wraps.sheets) == 1
    assert any("lower end is shaped is not known" in text for text in done.texts)
    assert [(each.code, each["hole"]) for each in texts(done.wraps.findings)] == [
        ("wrap.no_boss", named("near")),
        ("wrap.no_boss", named("far")),
    ]
    assert {each["why"].code for each in texts(done.wraps.findings)} == {"tubes.misses"}


def test_without_the_host_tube_there_are_no_wraps() -> None:
    document = every_mount()["post-160-chainstay"]
    document["tubes"] = {"seatstay": document["tubes"]["seatstay"]}
    done = drawn(parse(document))
    assert done.wraps.sheets == ()
    assert texts(done.wraps.findings) == (say("wrap.no_host", host=named("chainstay"), key="chainstay"),)


@pytest.mark.parametrize("clear", [40.0, 25.0])
def test_the_zone_lies_as_far_from_the_joint_as_the_job_says(clear: float) -> None:
    tubes = stay([[-60, 22], [390, 22]])
    job = mount("flat-rear-160-chainstay", tubes=tubes, wrap={"clear": clear}, paper={"size": "A3"})
    done = drawn(job)
    at = [space(done.curves[f"boss {which}, mount side"])[:, 0] for which in ("near", "far")]
    joint = -np.concatenate(at)
    for end, s in (("lower", joint.min() - clear), ("upper", joint.max() + clear)):
        edge = space(done.curves[f"chainstay wrap, {end} end of the zone"])
        assert -edge[:, 0] == pytest.approx(s, abs=STEP)
    assert f"within {clear:g} of the joint" in " ".join(done.texts)


def test_a_joint_at_a_change_of_taper_is_split_there() -> None:
    job = mount("flat-rear-160-chainstay", tubes=stay([[20, 22], [68, 22], [200, 26]]))
    done = drawn(job)
    (split,) = [each for each in texts(done.wraps.findings) if each.code.startswith("wrap.split.")]
    assert split["at"] == pytest.approx(68.0, abs=0.05) and 0.0 <= split["wide"] < 1.0
    assert {"chainstay wrap, 1 of 2 up the tube", "chainstay wrap, 2 of 2 up the tube"} <= set(done.texts)
    parts = [curve for key, curve in done.curves.items() if key.startswith("boss far, mount side, part")]
    assert len(parts) == 2
    for part in parts:
        s = -space(part)[:, 0]
        assert s.max() <= 68.0 + STEP or s.min() >= 68.0 - STEP
        assert Skin("chainstay", job).off(space(part)).max() < ON


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        (
            {"tubes": {"brace": {"diameter": 12, "on_chainstay": 150, "on_seatstay": 140}}},
            "tubes.brace: ",
        ),
        ({"wrap": {"paper": 1}}, "wrap.paper: 1 given; allowed 0 to 0.5 mm"),
        ({"wrap": {"clear": -1}}, "wrap.clear: -1 given; allowed 0 to 150 mm"),
    ],
)
def test_keys_that_are_refused(changes: dict[str, Any], said: str) -> None:
    document = every_mount()["is-rear-140-chainstay"]
    del document["tubes"]["seatstay"]
    with pytest.raises(InputError) as caught:
        parse({**document, **{key: document.get(key, {}) | value for key, value in changes.items()}})
    assert any(each.startswith(said) for each in lines(caught.value))


def test_the_manifest_tells_of_space_tube_and_paper() -> None:
    done = drawn(sample("sanderling"))
    for curve in done.curves.values():
        told = feature_json(curve)
        assert {"name", "kind", "points", "space", "tube", "paper_thickness"} == set(told)
        assert len(told["space"]) == len(told["points"])


def test_the_brace_is_coped_at_both_ends() -> None:
    brace = {"diameter": 12, "on_chainstay": 150, "on_seatstay": 140}
    job = mount("is-rear-140-chainstay")
    tubes = job.tubes.model_dump(by_alias=True, exclude_none=True) | {"brace": brace}
    job = mount("is-rear-140-chainstay", tubes=tubes)
    done = drawn(job)
    skins = {name: Skin(name, job) for name in ("chainstay", "seatstay")}
    ends = [skins[name].base + skins[name].up * brace[f"on_{name}"] for name in skins]
    axis = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    for name, skin in skins.items():
        points = space(done.curves[f"brace, cope at the {name}"])
        away = points - ends[0]
        away = away - (away @ axis)[:, None] * axis
        assert np.abs(np.linalg.norm(away, axis=1) - 6.0).max() < ON
        assert skin.off(points).max() < ON
    for curve in done.curves.values():
        if curve.tube == "brace":
            away = space(curve) - ends[0]
            away = away - (away @ axis)[:, None] * axis
            assert np.abs(np.linalg.norm(away, axis=1) - 6.0).max() < ON
    assert all(faults(caught) == [] for caught in done.caught)


def test_what_does_not_fit_is_refused_with_the_overshoot() -> None:
    job = mount("flat-rear-160-chainstay", tubes=stay([[20, 60], [390, 60]]))
    with pytest.raises(
        FitError, match=r"too_large\(title='chainstay wrap', over=\(wrap\.over\.wide.* size='A4'"
    ):
        drawn(on_paper(job, tile="never"))
    assert drawn(on_paper(job, size="A3")).wraps.sheets


@settings(max_examples=max(12, settings().max_examples // 2))
@given(random_jobs())
def test_random_wraps_are_clean_or_refused_in_words(job: Job) -> None:
    try:
        done = drawn(on_paper(job, tile="never"))
    except FitError as error:
        assert [said for said in lines(error) if not REFUSAL.fullmatch(said)] == []
        return
    assert [fault for caught in done.caught for fault in faults(caught)] == []
    said = [told(warning) for warning in texts(done.wraps.findings)]
    assert all(each[0].isupper() and each.endswith(".") and not each.endswith("..") for each in said)


def test_ink_bent_round_the_tube_lands_on_the_boss(tmp_path: File) -> None:
    """A raster of 254 dpi is bent round the leg pixel by pixel; the outline's ink lies on the boss."""
    job = sample("godwit")
    placement, done, skin = place_job(job), drawn(job), Skin("fork-leg", job)
    file = tmp_path / "wraps.pdf"
    write_pdf(done.wraps.sheets, file, title="wraps", subject="wraps")
    page = next(
        i
        for i, s in enumerate(done.wraps.sheets)
        if any(f.name == "boss far, mount side" for f in s.features)
    )
    dark = poppler(file, page + 1)
    height = done.wraps.sheets[page].paper.height
    middle = next(c for key, c in done.curves.items() if key.startswith("fork leg wrap, mount side"))
    (x0, y0), along0 = middle.points[0], skin.turned(space(middle))[1][0]
    radius = skin.a[0]
    landed = []
    for x, y in done.curves["boss far, mount side"].points[::2]:
        column, row = x * MM - 0.5, (height - y) * MM - 0.5
        rows, columns = np.mgrid[int(row) - 3 : int(row) + 5, int(column) - 3 : int(column) + 5]
        ink = dark[rows, columns] * (np.hypot(rows - row, columns - column) < 3.5)
        across, down = (float((each * ink).sum() / ink.sum() + 0.5) / MM for each in (columns, rows))
        turn = (across - x0) / (radius + job.wrap.paper / 2.0)
        along = along0 + height - down - y0
        ring = radius * (math.cos(turn) * skin.side + math.sin(turn) * skin.across)
        landed.append(skin.base + along * skin.axis + ring)
    off = off_boss(np.array(landed), job, placement, "far")
    # Leader and middle line cross the outline, and pull the ink's middle aside there.
    assert np.quantile(off, 0.9) < 0.1
    assert np.median(off) < 0.03


@pytest.mark.parametrize("name", ["dunlin", "curlew"])
def test_a_plain_tabs_outline_can_be_sawn(name: str) -> None:
    """Round each hole by 2 diameters: from its rim 1.5 diameters of metal, as common practice has it."""
    job = sample(name)
    placement = place_job(job)
    found = {each.name: each for caught in drawn(job).caught for each in caught.sheet.features}
    hole = placement.interface.hole.diameter.value
    for face in ("inner", "outer"):
        of = f"tab outline, {face} face"
        corners = {which: found[f"{of}, {which} corner"] for which in ("near", "far")}
        for which, corner in corners.items():
            assert isinstance(corner, Arc) and corner.diameter == pytest.approx(4.0 * hole)
            assert corner.end - corner.start == pytest.approx(90.0)
            drilled = found[f"tab, {face} face, hole {which}"]
            assert isinstance(drilled, Circle) and corner.centre == pytest.approx(drilled.centre)
            end = found[f"{of}, {which} end"]
            assert isinstance(end, Segment)
            assert math.dist(end.end, corner.centre) == pytest.approx(2.0 * hole)
        cope = found[f"tab edge, {face} face"]
        assert isinstance(cope, Curve)
        far = found[f"{of}, far end"]
        assert isinstance(far, Segment)
        # The end up the tube runs down to its cope's; the other stands over the dropout, and says so.
        assert min(math.dist(far.start, each) for each in (cope.points[0], cope.points[-1])) < 1e-9
        near = found[f"{of}, near end"]
        assert isinstance(near, Segment)
        assert min(math.dist(near.start, each) for each in (cope.points[0], cope.points[-1])) > 1.0
    texts = drawn(job).texts
    assert texts.count("plain tab: 6 thick, ends R12.4") == 2 == texts.count("your tab may differ")
    assert texts.count("its open end meets the dropout") == 2

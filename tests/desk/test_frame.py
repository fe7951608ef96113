"""One frame's page by what it answers: pictures to scale, drafts, conflicts, findings and cures."""

import itertools
import math
import re
import shutil
import threading
import tomllib
import xml.etree.ElementTree as ET
from concurrent.futures import ThreadPoolExecutor
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest

from geometry.core.errors import InputError
from geometry.core.say import say
from sheets.desk import edit, live
from sheets.desk.live import pictures, seen
from sheets.guide.entries import entries
from sheets.job.read import place_job, read
from tests.desk.conftest import SAMPLES, Client, served

SCREENS = {"side": [900, 820], "behind": [440, 820]}
SVG = "{http://www.w3.org/2000/svg}"


def see(desk: Client, name: str = "dunlin", **value: Any) -> Any:
    """Return what the page gets to see."""
    return desk.post(f"/frame/{name}/see", {"screens": SCREENS, **value}).json


def keep(desk: Client, digest: str, key: str, answer: str, name: str = "dunlin") -> Any:
    """Return what the page gets when an answer is kept."""
    value = {"key": key, "answer": answer, "digest": digest, "screens": SCREENS, "whole": True}
    return desk.post(f"/frame/{name}/set", value).json


def judge(desk: Client, what: str, name: str = "dunlin", **value: Any) -> Any:
    """Return what the child says."""
    return desk.post(f"/frame/{name}/judge", {"what": what, **value}).json


def drawn(state: Any, view: str = "side") -> ET.Element:
    """Return a picture, read by a parser that shares nothing with its writer."""
    return ET.fromstring(state["views"][view]["svg"])


def part(state: Any, what: str, view: str = "side") -> list[ET.Element]:
    """Return all in the part of a picture that is called so."""
    groups = [each for each in drawn(state, view).iter(f"{SVG}g") if each.get("data-what") == what]
    return [element for each in groups for element in each.iter()]


# --- the pictures


@pytest.mark.parametrize("name", ["dunlin", "greenshank"])
def test_the_side_view_is_to_scale(desk: Client, folder: Path, name: str) -> None:
    state = see(desk, name)
    view, placement = state["views"]["side"], place_job(read(folder / f"{name}.toml"))
    x0, y0 = view["origin"]
    circles = [each for each in part(state, "disc") if each.tag == f"{SVG}circle"]
    # The disc of both samples is 160: 80 about the axle.
    assert float(circles[0].get("r", 0)) / view["scale"] == pytest.approx(80.0, abs=0.05)
    assert float(circles[0].get("cx", 0)) == pytest.approx(x0, abs=0.06)
    if placement.interface.family != "tab":
        return
    holes = [each for each in part(state, "mount") if each.get("class") == "bold hole"]
    for hole, shown in zip(placement.holes, holes, strict=True):
        x, y = float(shown.get("cx", 0)) - x0, y0 - float(shown.get("cy", 0))
        assert (x / view["scale"], y / view["scale"]) == pytest.approx(hole.centre[:2], abs=0.05)


def test_the_view_from_behind_has_outboard_on_the_left(desk: Client) -> None:
    view = see(desk)["views"]["behind"]
    [outer] = [each for each in part(see(desk), "dropout", "behind") if each.tag == f"{SVG}path"]
    xs = [float(pair.split()[0]) for pair in outer.get("d", "").strip("MZ").split("L")]
    # 7 thick, from the inner face at z = 0 outward.
    assert max(xs) == pytest.approx(view["origin"][0], abs=0.1)
    assert (max(xs) - min(xs)) / view["scale"] == pytest.approx(7.0, abs=0.05)


def test_a_pad_is_drawn_behind_its_plate_and_inboard_of_it(desk: Client, folder: Path) -> None:
    shutil.copy(SAMPLES / "avocet.toml", folder)
    state = see(desk, "avocet")
    [pad] = [each for each in part(state, "dropout") if each.get("class") == "thin dashed"]
    # Four corners, closed, as samples/avocet.toml has them.
    assert pad.get("d", "").count("L") == 3 and pad.get("d", "").endswith("Z")
    view = state["views"]["behind"]
    _, block = [each for each in part(state, "dropout", "behind") if each.tag == f"{SVG}path"]
    xs = [float(pair.split()[0]) for pair in block.get("d", "").strip("MZ").split("L")]
    # From the inner face at z = 0, inboard on the right, pad_height = 11.
    assert min(xs) == pytest.approx(view["origin"][0], abs=0.1)
    assert (max(xs) - min(xs)) / view["scale"] == pytest.approx(11.0, abs=0.05)


def test_a_keystroke_is_drawn_and_nothing_of_it_is_kept(desk: Client, folder: Path) -> None:
    before = {each.name: each.read_bytes() for each in folder.iterdir() if each.is_file()}
    plain, turned = see(desk), see(desk, key="mount.tilt", answer="10")
    assert drawn(plain) != drawn(turned)
    handles = [
        next(each for each in state["views"]["side"]["handles"] if each["key"] == "mount.tilt")
        for state in (plain, turned)
    ]
    assert [each["value"] for each in handles] == [0.0, 10.0]
    assert {each.name: each.read_bytes() for each in folder.iterdir() if each.is_file()} == before


def test_lengths_are_taken_in_inches_and_with_a_comma_and_told_back(desk: Client) -> None:
    inches = see(desk, key="dropout.thickness", answer="5/16 in")
    # 5/16 in = 7.9375 mm.
    assert inches["values"]["dropout.thickness"] == "5/16 in" and "7.94 mm" in inches["echo"]
    assert see(desk, key="tubes.seatstay.outset", answer="4,5")["values"]["tubes.seatstay.outset"] == "4.5"
    refused = desk.post("/frame/dunlin/see", {"key": "dropout.thickness", "answer": "thick"})
    assert refused.status == 400 and "dropout.thickness" in refused.problems


@pytest.mark.parametrize("file", sorted(SAMPLES.glob("*.toml")), ids=lambda file: file.stem)
@pytest.mark.parametrize(
    ("wide", "beside", "high"),
    [(306, 306, 300), (420, 420, 399), (560, 280, 532), (650, 320, 617), (900, 440, 820), (1290, 640, 820)],
)
def test_every_measure_has_an_arrow_and_its_box_lies_on_no_other(
    file: Path, wide: int, beside: int, high: int
) -> None:
    document = tomllib.loads(file.read_text())
    screens = {"side": [wide, high], "behind": [beside, max(high, 480)]}
    shown = pictures(seen(document, file), entries(document), screens)
    views = shown["views"].values()
    assert {box["key"] for view in views for box in view["boxes"]} == set(shown["measures"])

    def apart(one: Any, at: Any, size: Any) -> float:
        return max(abs(one["at"][i] - at[i]) - (one["size"][i] + size[i]) / 2 for i in (0, 1))

    for view in views:
        for one in view["boxes"]:
            for axis in (0, 1):
                low, high_ = (one["at"][axis] + s * one["size"][axis] / 2 for s in (-1, 1))
                assert low >= 0.0 and high_ <= view["size"][axis]
            # A handle is a circle 24 across, of which no box may cover any; the word for the way ahead stands
            # in the lower left corner.
            for handle in view["handles"]:
                assert apart(one, handle["at"], (24.0, 24.0)) >= -0.1, f"{one['key']} on {handle['key']}"
            assert apart(one, (62.0, view["size"][1] - 14.0), (96.0, 14.0)) >= 0.0
        for one, other in itertools.combinations(view["boxes"], 2):
            # So far apart that they read as two, at any zoom: 7 pixels.
            assert apart(one, other["at"], other["size"]) >= 7.0, f"{one['key']} on {other['key']}"


def test_what_is_not_measured_is_dashed_and_spoils_its_findings(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    file.write_text("\n".join(
        each for each in file.read_text().splitlines() if not each.startswith("outset = 4.5")
    ))  # fmt: skip
    state = see(desk)
    key = "tubes.seatstay.outset"
    assert state["measures"][key] == {"value": "", "missing": True}
    [arrow] = [each for each in drawn(state, "behind").iter(f"{SVG}g") if each.get("data-key") == key]
    assert arrow.get("class") == "measure missing"
    spoiled = [each for each in judge(desk, "found")["findings"] if key in each["spoiled"]]
    assert "clearance-unknown" in [each["code"] for each in spoiled]
    assert all(each["level"] == "unknown" and "seatstay" in each["about"] for each in spoiled)


@pytest.mark.parametrize("places", ["[[1, 2], 3]", "[3, [1, 2]]", "[[]]", "[[1, 2], {a = 1}]"])
def test_places_that_are_no_places_are_told_and_no_fault(desk: Client, places: str) -> None:
    text = f'[frame]\nid = "x"\n[tubes.chainstay]\ndiameters = {places}\n'
    found = see(desk, text=text)
    assert any("tubes.chainstay" in each["where"] for each in found["problems"])
    assert (
        see(desk, screens=["side"])["views"]["side"]["size"] == see(desk, screens={})["views"]["side"]["size"]
    )


@pytest.mark.parametrize(
    "text",
    ["", '[mount]\nend = "front"\n', '[mount]\nrotor = "disc"\n', 'mount = "x"\ntubes = 3\n[other]\na = 1\n'],
)
def test_a_job_that_says_hardly_anything_is_drawn_and_told_what_it_lacks(
    desk: Client, folder: Path, text: str
) -> None:
    (folder / "new.toml").write_text(text)
    state = see(desk, "new")
    assert part(state, "disc") and state["problems"]
    assert desk.get("/frame/new").status == 200


@pytest.mark.parametrize("name", ["a%41", "a b", "50% ?#&"])
def test_a_page_asks_for_the_very_frame_that_it_shows(desk: Client, folder: Path, name: str) -> None:
    (folder / f"{name}.toml").write_bytes((folder / "dunlin.toml").read_bytes())
    (folder / "aA.toml").write_bytes((folder / "greenshank.toml").read_bytes())
    [url] = re.findall(r'data-url="(.*?)"', desk.get(f"/frame/{quote(name)}").text)
    state = desk.post(f"{unescape(url)}/see", {"whole": True}).json
    assert state["text"] == (folder / "dunlin.toml").read_text(encoding="utf-8")


def test_nobody_waits_for_a_drawing_and_typing_reads_none_anew(
    desk: Client, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copy(SAMPLES / "dropouts" / "stint.toml", folder)
    begun, go_on, read = threading.Event(), threading.Event(), []

    def slow(*given: object) -> str:
        read.append(given)
        begun.set()
        assert go_on.wait(30)
        raise InputError.at("dropout.outline", say("outline.empty"))

    monkeypatch.setattr(live, "drawn_block", slow)
    with ThreadPoolExecutor(2) as others:
        coming = others.submit(see, desk, "stint")
        try:
            assert begun.wait(10)
            assert others.submit(desk.get, "/static/icon.svg").result(10).status == 200
        finally:
            go_on.set()
        assert coming.result()["problems"]
    for key, answer in (("mount.tilt", "2"), ("dropout.thickness", "6.5"), ("dropout.thickness", "6.6")):
        assert see(desk, "stint", key=key, answer=answer)["problems"]
    assert len(read) == 1


# --- draft and file


@pytest.mark.parametrize("ending", [".changes", ".edited"])
def test_a_draft_that_goes_while_it_is_read_was_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch, ending: str
) -> None:
    """Another page, or `start` at a terminal, writes it just after it was seen to be there."""
    file = folder / "dunlin.toml"
    if ending == ".edited":
        edit._keep(edit.now(file), f"{file.read_text()}# more\n", by_hand=True)
    else:
        edit._keep(edit.now(file), file.read_text().replace("outset = 4.5", "outset = 5"))
    draft, mine = file.with_suffix(ending), edit.now(file).text
    assert draft.exists() and mine != file.read_text()
    gone, plain = [], Path.is_file

    def asked(one: Path) -> bool:
        there = plain(one)
        if one == draft and there:
            file.write_text(mine)
            draft.unlink()
            gone.append(one)
        return there

    monkeypatch.setattr(Path, "is_file", asked)
    found = edit.now(file)
    assert gone == [draft]
    assert (found.text, found.filed, found.changed) == (mine, mine, False)


def test_an_answer_is_kept_at_once_and_written_with_every_comment(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    before = file.read_text()
    state = keep(desk, see(desk)["digest"], "tubes.seatstay.outset", "5.25")
    assert state["changed"] and file.read_text() == before
    assert "tubes.seatstay.outset" in (folder / "dunlin.changes").read_text()
    done = desk.post("/frame/dunlin/write", {"digest": state["digest"], "screens": SCREENS}).json
    assert not done["changed"] and not (folder / "dunlin.changes").exists()
    told = [(a, b) for a, b in zip(before.splitlines(), file.read_text().splitlines(), strict=True) if a != b]
    assert [(a.split("#")[1], b.split("#")[1]) for a, b in told] == [(told[0][0].split("#")[1],) * 2]
    assert tomllib.loads(file.read_text())["tubes"]["seatstay"]["outset"] == 5.25


def test_taking_the_last_change_back_leaves_no_draft(desk: Client, folder: Path) -> None:
    digest = see(desk)["digest"]
    assert keep(desk, digest, "mount.tilt", "3")["changed"]
    assert not keep(desk, digest, "mount.tilt", "")["changed"]
    assert sorted(each.suffix for each in folder.iterdir() if each.is_file()) == [".toml", ".toml"]


def test_a_draft_outlives_the_desk(folder: Path, own_home: Path) -> None:
    with served(folder) as one:
        keep(one, see(one)["digest"], "mount.tilt", "2.5")
    with served(folder) as two:
        state = see(two)
        assert state["changed"] and state["values"]["mount.tilt"] == "2.5" and state["conflict"] is None


def test_a_file_that_changed_meanwhile_is_a_conflict_and_is_not_overwritten(
    desk: Client, folder: Path
) -> None:
    file = folder / "dunlin.toml"
    digest = keep(desk, see(desk)["digest"], "mount.tilt", "2.5")["digest"]
    other = file.read_text().replace("thickness = 7 ", "thickness = 8 ")
    file.write_text(other)
    for state in (
        keep(desk, digest, "dropout.slot", "30"),
        desk.post("/frame/dunlin/write", {"digest": digest}).json,
        see(desk),
    ):
        assert state["conflict"]["theirs"] == other and "tilt = 2.5" in state["conflict"]["mine"]
        changes = state["conflict"]["changes"]
        assert list(changes.values()) == ["2.5"] and "turned about the axle" in next(iter(changes))
    assert file.read_text() == other
    seen = see(desk)["digest"]
    mine = desk.post("/frame/dunlin/settle", {"mine": True, "digest": seen}).json
    assert mine["conflict"] is None and mine["values"]["dropout.thickness"] == "8"
    desk.post("/frame/dunlin/write", {"digest": mine["digest"]})
    written = tomllib.loads(file.read_text())
    assert (written["mount"]["tilt"], written["dropout"]["thickness"]) == (2.5, 8)


def test_their_version_of_a_conflict_drops_the_draft(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    keep(desk, see(desk)["digest"], "mount.tilt", "2.5")
    file.write_text(file.read_text() + "\n# Measured again on Monday.\n")
    other = file.read_text()
    settled = desk.post("/frame/dunlin/settle", {"mine": False, "digest": see(desk)["digest"]}).json
    assert settled["conflict"] is None and not settled["changed"]
    assert file.read_text() == other and not (folder / "dunlin.changes").exists()


def test_a_text_is_kept_with_its_comments_and_an_answer_goes_on_top(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    digest, text = see(desk)["digest"], file.read_text().replace("# A clean model", "# My own model")
    value = {"text": text, "digest": digest, "screens": SCREENS}
    assert desk.post("/frame/dunlin/set", value).json["changed"]
    keep(desk, digest, "mount.tilt", "2.5")
    broken = desk.post("/frame/dunlin/set", {**value, "text": "[mount\n"})
    assert broken.status == 400
    desk.post("/frame/dunlin/write", {"digest": digest})
    assert "# My own model" in file.read_text() and "tilt = 2.5" in file.read_text()
    assert sorted(each.name for each in folder.iterdir() if each.suffix != ".toml") == []


def test_a_text_keeps_the_ends_of_its_lines(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    file.write_bytes(file.read_bytes().replace(b"\n", b"\r\n"))
    text = file.read_bytes().decode().replace("\r\n", "\n").replace("rotor = 160", "rotor = 180")
    digest = see(desk)["digest"]
    desk.post("/frame/dunlin/set", {"text": text, "digest": digest, "screens": SCREENS})
    desk.post("/frame/dunlin/write", {"digest": digest})
    assert file.read_bytes() == text.replace("\n", "\r\n").encode()


def test_edits_at_once_lose_nothing(desk: Client) -> None:
    digest = see(desk)["digest"]
    answers = {f"tubes.{tube}.{key}": str(value) for tube in ("seatstay", "chainstay")
               for key, value in (("outset", 6), ("splay", 3), ("wall", 1.1), ("offset", 1))}  # fmt: skip
    every = [
        threading.Thread(target=keep, args=(desk, digest, key, answer)) for key, answer in answers.items()
    ]
    for each in every:
        each.start()
    for each in every:
        each.join()
    assert {key: see(desk)["values"][key] for key in answers} == answers


def test_what_a_job_says_is_text_and_never_markup(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    file.write_text(file.read_text().replace('name = "Dunlin"', 'name = "<script>alert(1)</script>"'))
    assert "<script>alert" not in desk.get("/frame/dunlin").text
    assert "&lt;script&gt;alert" in desk.get("/frame/dunlin").text


@pytest.mark.parametrize("name", ["..%2Fdunlin", "%2Fetc%2Fpasswd", "nothing"])
def test_a_name_leads_to_no_other_file(desk: Client, name: str) -> None:
    assert desk.get(f"/frame/{name}").status in (400, 404)


# --- findings and cures


def _splayed(folder: Path, splay: float) -> None:
    file = folder / "dunlin.toml"
    file.write_text(file.read_text().replace('splay = "3.5 deg"', f"splay = {splay}"))


def test_findings_say_what_they_are_about_and_where(desk: Client, folder: Path) -> None:
    _splayed(folder, 9)
    found = judge(desk, "found")
    [stop] = [each for each in found["findings"] if each["level"] == "stop"]
    assert found["level"] == "stop" and stop["about"] == ["chainstay", "disc"]
    # The point lies on the disc: no further than 80 from the axle.
    assert math.hypot(*stop["at"][0][:2]) <= 80.01
    assert found["tilt"]["ranges"] or found["tilt"]["sentences"]


def test_a_cure_is_the_nearest_number_that_does(desk: Client, folder: Path) -> None:
    _splayed(folder, 9)
    told = judge(desk, "cures", code="clearance-fails", subject="disc 160 to chainstay")
    cures = {each["key"]: each for each in told["cures"]}
    assert set(cures) == {"tubes.chainstay.outset", "tubes.chainstay.splay"}
    cure = cures["tubes.chainstay.outset"]
    assert "5.6" in cure["text"] and cure["answer"] in cure["text"]
    for by, level in ((0.0, "good"), (-0.1, "warn")):
        value = f"{float(cure['answer']) + by:.2f}"
        assert judge(desk, "found", key=cure["key"], answer=value)["level"] == level


def test_what_no_single_number_cures_says_so(desk: Client, folder: Path) -> None:
    file = folder / "dunlin.toml"
    # So far inboard that even 20 more leaves the stay in the disc.
    file.write_text(file.read_text().replace("outset = 5\n", "outset = -22.4\n"))
    _splayed(folder, 0)
    told = judge(desk, "cures", code="clearance-fails", subject="disc 160 to chainstay")
    assert told["cures"] == [] and told["none"]


def test_the_first_thing_that_meets_on_a_turn_is_named(desk: Client) -> None:
    clear = judge(desk, "meets", key="mount.tilt", answer="0")
    meets = judge(desk, "meets", key="mount.tilt", answer="40")
    assert clear["state"] == "ok"
    assert meets["state"] in ("warn", "fail") and "seatstay" in meets["text"] and meets["at"]


def test_what_a_job_does_not_say_is_never_told_as_clear(desk: Client, folder: Path) -> None:
    (folder / "bare.toml").write_text('[frame]\nid = "bare"\n')
    told = judge(desk, "meets", "bare", key="mount.tilt", answer="0")
    assert told["state"] == "unknown" and not told["at"] and "Clear" not in told["text"]
    file = folder / "dunlin.toml"
    whole = file.read_text()
    lines = [each for each in whole.splitlines() if not each.startswith("outset = 4.5")]
    file.write_text("\n".join(lines))
    for key in ("mount.tilt", "dropout.thickness"):
        told = judge(desk, "meets", key=key, answer="0" if key == "mount.tilt" else "6")
        # The chainstay is measured, and stands clear; the seatstay is not.
        assert told["state"] == "unknown" and "Clear" not in told["text"]
    # What meets the chainstay meets it whatever is not known of the other tube.
    told = judge(desk, "meets", key="tubes.chainstay.outset", answer="-10")
    assert told["state"] == "fail" and "chainstay" in told["text"]


def test_every_key_is_explained_and_every_answer_is_on_the_page(desk: Client) -> None:
    told = desk.get("/frame/dunlin/keys").json
    page = desk.get("/frame/dunlin").text
    assert told["tubes.chainstay.outset"]
    for key in ("frame.customer", "caliper.length", "clearance.rotor", "load.mass", "tubes.seatstay.splay"):
        assert f'data-answer="{key}"' in page


def test_an_axle_and_a_mount_are_chosen_from_a_list_before_all_else(desk: Client, folder: Path) -> None:
    """Nobody knows by heart what they are called here; the first question of all may come last on a page."""
    (folder / "new.toml").write_text('[frame]\nid = "new"\n', encoding="utf-8")
    page = desk.get("/frame/new").text
    for name in ("135-qr", "142x12", "100x12", "is-rear", "flat-front"):
        assert f'<option value="{name}"' in page, name
    digest = desk.post("/frame/new/see", {"screens": SCREENS}).json["digest"]
    state = keep(desk, digest, "axle.system", "135-qr", "new")
    assert state["values"]["axle.system"] == "135-qr"

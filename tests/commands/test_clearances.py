"""A failed clearance on the command line: exit 1, said in the warnings, stamped, and every file delivered."""

import json
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.outside_tools import run as outside
from tests.pages.jobs import SAMPLES, sample

# At the disc's rim, s = 80, the stay is 17.1 thick and has come in by 80 tan 3 = 4.2: its side then lies at
# 0.7 - 4.2 - 8.5 = -12.0, and the disc's outer face at -13.45.
NEAR = ("outset = 5", "outset = 0.7")
STAMP = "CLEARANCE FAILS: disc 160 to chainstay"


def text_of(pdf: Path) -> str:
    """Return the running text of a packet; lettering is strokes and is not in it."""
    return " ".join(outside("pdftotext", "-raw", pdf, "-").split())


def clearances(document: dict, kind: str) -> dict[str, dict]:
    """Return the clearances of a kind by name."""
    return {each["name"]: each for each in document["setup"]["clearances"] if each["kind"] == kind}


def test_a_failed_clearance_is_drawn_stamped_warned_of_and_exits_1(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    job = write(tmp_path / "near.toml", NEAR)
    ran = run("draw", job, "--out", tmp_path / "paper", "--json")
    assert ran.status == 1
    (line,) = ran.errors
    assert STAMP in line and "at least 2" in line
    document = ran.json
    assert [warning for warning in document["warnings"] if warning.startswith(STAMP)]
    paths = [Path(file["path"]) for file in document["files"]]
    assert len(paths) >= 2 and all(path.exists() for path in paths)
    good = write(tmp_path / "good.toml")
    fine = run("draw", good, "--out", tmp_path / "good", "--json")
    assert fine.status == 0 and not any("CLEARANCE FAILS" in each for each in fine.json["warnings"])
    # The stamp takes room from the wraps, which may need a page more.
    drawn, stamped = (
        {page["sheet"] for file in told["files"] for page in file["pages"]} for told in (fine.json, document)
    )
    assert drawn == stamped >= {"template", "wrap", "card", "traveller"}


def test_check_says_the_same_and_exits_1(run: Callable, write: Callable, tmp_path: Path) -> None:
    job = write(tmp_path / "near.toml", NEAR)
    ran = run("check", job)
    assert ran.status == 1 and ran.out.startswith("STOP: knot-1 Knot must not be built like this: 1 thing")
    assert "\n  STOP     Room is lacking, disc 160 to chainstay: " in ran.out
    # Told once: standard error only says of which job to read it.
    assert ran.errors == [f"dropleaf: {job}: must not be built like this; see what is marked STOP."]
    assert (ran.out + ran.errors[0]).count("disc 160 to chainstay") == 1
    document = run("check", job, "--json").json
    one = clearances(document, "rotor")["disc 160 to chainstay"]
    assert one["state"] == "fail" and one["left"] < one["least"] == 2.0
    assert one["left"] == pytest.approx(one["distance"] - 0.2)
    assert one["distance"] == pytest.approx(13.45 - 12.0, abs=0.1)
    assert document["setup"]["disc_to_tube"]["distance"] == pytest.approx(one["distance"], abs=1e-6)
    assert document["setup"]["tilts"]["sentences"]
    assert "caliper" in document["setup"] and "wheel_out" in document["setup"]


def test_a_hole_that_cuts_its_stay_stops_the_job_like_a_clearance_that_fails(
    run: Callable, tmp_path: Path
) -> None:
    job = tmp_path / "cut.toml"
    text = SAMPLES["greenshank"].read_text(encoding="utf-8")
    narrow = re.sub(r'diameters = \[\[28, "1 in"\].*', "diameters = [[28, 22, 13], [390, 22, 13]]", text)
    narrow = narrow.replace("outset = 2.6", "outset = -3.2").replace('sleeve = "0.058 in"', "#")
    job.write_text(narrow.replace("diameter = 11", "diameter = 12"), encoding="utf-8")
    ran = run("check", job)
    assert ran.status == 1
    assert "STOP     The hole cuts the chainstay nearly in two, near and far: " in ran.out
    assert (ran.out + ran.errors[0]).count("nearly in two") == 1
    # What is the matter, and what to do: a line each.
    stop = ran.out.splitlines().index(next(line for line in ran.out.splitlines() if "nearly in two" in line))
    assert ran.out.splitlines()[stop + 1].strip().startswith("Take a wider chainstay")
    told = run("check", job, "--json")
    assert told.status == 1 and "nearly in two" in told.errors[0]
    assert [each["code"] for each in told.json["findings"] if each["level"] == "stop"] == ["hole-cuts"]


def test_a_sleeve_that_cannot_count_is_told_and_never_passed_by(run: Callable, tmp_path: Path) -> None:
    job = tmp_path / "sleeve.toml"
    text = SAMPLES["greenshank"].read_text(encoding="utf-8")
    bare = re.sub(r'(?m)^wall = "0.035 in".*\n', "", text)
    job.write_text(bare, encoding="utf-8")
    found = {each["code"]: each for each in run("check", job, "--json").json["findings"]}
    assert found["sleeve-uncounted"]["level"] == "unknown"
    assert found["sleeve-uncounted"]["text"].endswith("Give tubes.chainstay.wall.")
    posts = SAMPLES["avocet"].read_text(encoding="utf-8").replace("[boss]", "[boss]\nsleeve = 1")
    job.write_text(posts, encoding="utf-8")
    ran = run("check", job)
    assert (
        ran.status == 2
        and "boss.sleeve: 1 given, but only a flat mount's bosses are let into" in ran.errors[0]
    )
    job.write_text(text.replace('sleeve = "0.058 in"', "sleeve = -1"), encoding="utf-8")
    assert run("check", job).status == 2


@pytest.mark.parametrize(("pocket", "level"), [(3.5, None), (3.0, "note"), (5.0, "warn")])
def test_a_pocket_that_the_caliper_cannot_follow_is_warned_of(
    run: Callable, tmp_path: Path, pocket: float, level: str | None
) -> None:
    """142 x 12 has pockets of 3.5 (common practice); a caliper slides about 1 either way (own judgement)."""
    job = tmp_path / "pocket.toml"
    text = SAMPLES["avocet"].read_text(encoding="utf-8")
    job.write_text(text.replace("[dropout]", f"pocket = {pocket:g}\n[dropout]"), encoding="utf-8")
    found = {each["code"]: each["level"] for each in run("check", job, "--json").json["findings"]}
    assert found.get("pocket-unusual") == level


def test_one_failed_job_does_not_keep_the_others(run: Callable, write: Callable, tmp_path: Path) -> None:
    bad = write(tmp_path / "near.toml", NEAR, ("knot-1", "knot-2"))
    ran = run("draw", write(tmp_path / "good.toml"), bad, "--out", tmp_path / "paper", "--json")
    assert ran.status == 1
    assert all(Path(file["path"]).exists() for entry in ran.json for file in entry["files"])


@pytest.mark.parametrize("line", ["outset = 5\n", 'splay = "3 deg"\n'])
def test_a_tube_that_was_not_measured_is_unknown_in_every_place(
    line: str, run: Callable, write: Callable, tmp_path: Path
) -> None:
    """With 0 in its place the stay would stand in the disc: neither that nor the opposite is known."""
    key = line.partition(" ")[0]
    job = write(tmp_path / "rough.toml", (line, ""), ("[[25, 16], [180, 19]", "[[25, 30], [180, 30]"))
    ran = run("check", job, "--json")
    assert ran.status == 0
    setup, measure = ran.json["setup"], f"measure tubes.chainstay.{key}"
    for name, each in clearances(ran.json, "rotor").items():
        assert (each["state"], each["distance"], each["left"], each["told"]) == (
            "unknown",
            None,
            None,
            "unknown",
        )
        assert each["why"] == (measure if name.endswith("chainstay") else "give tubes.seatstay")
    assert setup["disc_to_tube"] is None and setup["largest_disc"] is None and setup["disc_sizes"] == []
    assert setup["largest_disc_words"] == f"largest disc: unknown; {measure}; give tubes.seatstay"
    assert setup["tilts"]["known"] is False and setup["tilts"]["ranges"] == []
    told = [each["text"] for each in ran.json["findings"] if each["code"] == "clearance-unknown"]
    assert told == setup["unknown"] and len(told) == 2 and told[0].endswith(f"(tubes.chainstay.{key}).")
    said = run("check", job, "--all").out
    assert re.search(rf"stand-off +not known for the chainstay; {measure}\n", said)
    assert re.search(rf"disc to tube +disc 160 to chainstay: unknown; {measure}\n", said)
    short = run("check", job).out
    assert re.search(r"disc to tube +not known; see above", short) and " 0.0 mm" not in short
    assert " 0.0 mm" not in said and "by size" not in said
    drawn = run("draw", job, "--out", tmp_path / "paper", "--json")
    assert drawn.status == 0
    again = [each["text"] for each in drawn.json["findings"] if each["code"] == "clearance-unknown"]
    assert again == told
    assert not [file for file in drawn.json["files"] if "wrap" in file["path"]]
    assert "No wraps for the mount: where the chainstay lies is not known" in " ".join(drawn.json["warnings"])
    # The traveller's target: what to measure, and no number.
    named = {"outset": "how far outboard the chainstay stands", "splay": "the chainstay's splay"}
    assert f"unknown measure {named[key]}" in text_of(tmp_path / "paper" / "knot-1.pdf")


@pytest.mark.parametrize("name", SAMPLES)
def test_the_disc_is_told_by_one_number_on_card_template_traveller_check_and_in_json(
    run: Callable, name: str, delivered: dict
) -> None:
    """Always after run-out, to a tenth, rounded down; whoever reads two of them reads the same."""
    setup = run("check", SAMPLES[name], "--json").json["setup"]
    disc = setup["disc_to_tube"]
    assert disc["told"] == f"{math.floor(10.0 * (disc['distance'] - disc['runout']) + 1e-6) / 10.0:.1f}"
    words = f"{disc['name']} {disc['told']} after {disc['runout']:g} for run-out"
    short = run("check", SAMPLES[name]).out
    assert re.search(
        rf"disc to tube +{disc['told']} mm to the [a-z ]+ after run-out; 3 mm is asked for", short
    )
    said = run("check", SAMPLES[name], "--all").out
    assert re.search(rf"disc to tube +{re.escape(words)}\n", said)
    assert f"{disc['name']}: {disc['told']} mm after 0.2 for run-out" in said
    by_size = re.search(r"disc to tube by size +after 0.2 for run-out, (.*)", said)
    size = disc["name"].split()[1]
    assert by_size is not None and f"{size}: {disc['told']}" in by_size[1].split(", ")
    tube = disc["name"].partition(" to ")[2]
    assert f"{disc['told']}, asked 3 to {tube}, after 0.2 run-out" in text_of(
        delivered[name, sample(name).paper.view].pdf
    )


def test_a_flat_mount_for_140_is_promised_no_disc_that_no_adapter_reaches(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    """Its one step is +20: beyond 160 nothing fits it, however much room the stays leave."""
    text = SAMPLES["redshank"].read_text(encoding="utf-8")
    job = tmp_path / "wide.toml"
    job.write_text(
        text.replace("outset = -3.2", "outset = 12").replace("outset = 4.5", "outset = 12"), encoding="utf-8"
    )
    setup = run("check", job, "--json").json["setup"]
    assert setup["largest_disc"] == 160
    assert [each["diameter"] for each in setup["disc_sizes"]] == [140, 160]
    assert setup["largest_disc_words"].endswith("after 0.2 for run-out: 160")


def test_a_length_for_the_near_one_is_for_posts(run: Callable, write: Callable, tmp_path: Path) -> None:
    """A tab has none, and a rear flat mount's screw passes through both of one length."""
    job = write(tmp_path / "tab.toml", ("[dropout]", "[boss]\nnear_length = 20\n[dropout]"))
    ran = run("check", job)
    assert ran.status == 2
    assert "boss.near_length: 20 given, but only posts and a front flat mount's bosses" in ran.errors[0]
    flat = tmp_path / "flat.toml"
    text = SAMPLES["redshank"].read_text(encoding="utf-8")
    flat.write_text(text.replace("[boss]", "[boss]\nnear_length = 20"), encoding="utf-8")
    assert run("check", flat).status == 2


def test_the_discs_screws_as_they_were_measured(run: Callable, write: Callable, tmp_path: Path) -> None:
    for given, said in (
        ("[52, 3, 1]", "a list of 3 given"),
        ("52", "52 given"),
        ("[20, 3]", "allowed 30 to 80"),
    ):
        ran = run("check", write(tmp_path / "heads.toml", ("[dropout]", f"heads = {given}\n[dropout]")))
        assert ran.status == 2 and said in ran.errors[0] and "axle.heads" in ran.errors[0]
    meeting = tmp_path / "meeting.toml"
    # The 140 frame whose stay began 25 from the axle with its side at -11, among heads that end at -10.45.
    text = SAMPLES["turnstone"].read_text(encoding="utf-8").replace("[30, 19]", "[25, 20.8]")
    for line, status in (("", 1), ('heads = ["38 mm", 3]\n', 0)):
        meeting.write_text(text.replace("[dropout]", f"{line}[dropout]"), encoding="utf-8")
        assert run("check", meeting).status == status


def test_a_post_that_ends_short_is_turned_towards_its_tube_and_reaches_there(
    run: Callable, tmp_path: Path
) -> None:
    """The far post of 38 has 45.86 to go. Turned away, by -11.5, it would have 60: that is never advised."""
    text = SAMPLES["turnstone"].read_text(encoding="utf-8").replace("\nlength = 46", "\nlength = 38")
    assert "\nlength = 38" in text
    job = tmp_path / "short.toml"
    job.write_text(text, encoding="utf-8")
    warnings = " ".join(run("check", job, "--json").json["warnings"])
    found = re.search(
        r"far by 7.86: make it 45.86 or longer, turn the mount to tilt = ([\d.-]+), where ([\d.]+)", warnings
    )
    assert found is not None and 0.0 < float(found[1]) < 20.0 and float(found[2]) <= 38.0
    away, turned = tmp_path / "away.toml", tmp_path / "turned.toml"
    turned.write_text(
        text.replace('host = "chainstay"', f'host = "chainstay"\ntilt = {found[1]}'), encoding="utf-8"
    )
    fit = run("check", turned, "--json").json["setup"]["bosses"][1]
    assert fit["short"] is None and fit["rim"][1] == pytest.approx(float(found[2]), abs=0.005)
    away.write_text(text.replace('host = "chainstay"', 'host = "chainstay"\ntilt = -11.5'), encoding="utf-8")
    assert run("check", away, "--json").json["setup"]["bosses"][1]["short"] > 20.0
    # Its seatstay is not given, so that no range is known, and none is advised.
    said = run("check", job, "--all").out
    assert "Tilt on the chainstay: not known; give tubes.seatstay." in said and "tilt = -11.5" not in said


def test_where_no_turn_makes_a_post_long_enough_none_is_named(run: Callable, tmp_path: Path) -> None:
    """On its way the caliper comes to the leg: a post of 20 is far too short at every tilt that clears it."""
    text = SAMPLES["godwit"].read_text(encoding="utf-8")
    job = tmp_path / "stub.toml"
    job.write_text(
        text.replace("length = 65 ", "length = 20 ").replace("near_length = 36", "near_length = 20"),
        encoding="utf-8",
    )
    ran = run("check", job, "--json")
    short = [warning for warning in ran.json["warnings"] if "ends short" in warning]
    assert len(short) == 1 and "or longer or put it on a plate" in short[0] and "tilt" not in short[0]
    tilts = ran.json["setup"]["tilts"]
    assert tilts["known"] is True and tilts["advised"] is None
    assert not any("the middle of" in sentence for sentence in tilts["sentences"])


def test_a_tilt_is_advised_only_between_limits_and_posts_lengths_are_two_of_them(run: Callable) -> None:
    tilts = run("check", SAMPLES["godwit"], "--json").json["setup"]["tilts"]
    (one,) = tilts["ranges"]
    assert one["low_limit"] == "the far post, short of the fork leg"
    assert one["high_limit"] == "far post to the fork leg's far side"
    assert tilts["advised"] == one and -45.0 < one["low"] < 0.0 < one["high"] < 45.0
    # A tab has no length: turned back, nothing ends where it can go but the search.
    tab = run("check", SAMPLES["curlew"], "--json").json["setup"]["tilts"]
    assert tab["ranges"][0]["low"] == -45.0 and tab["ranges"][0]["low_limit"] == ""
    assert tab["advised"] is None and not any("tilt =" in each for each in tab["sentences"])


def test_a_fixtures_plate_is_not_said_to_clear_a_tube_of_unknown_place(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    plate = ("[dropout]", "[bench]\nfixture = true\n[dropout]")
    rough = run("check", write(tmp_path / "rough.toml", plate, ("outset = 5\n", "")), "--json").json
    said = (
        "Whether the chainstay stands in the way of the fixture's plate is not known; "
        "measure tubes.chainstay.outset."
    )
    assert said in rough["warnings"]
    assert said not in run("check", write(tmp_path / "good.toml", plate), "--json").json["warnings"]


def test_an_axle_whose_disc_no_table_places_leaves_everything_beside_it_unknown(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    document = run("check", write(tmp_path / "old.toml", ("135-qr", "130-qr")), "--json").json
    why = "the table has no rotor position for 130-qr"
    assert f"What comes near the disc is not known; {why}." in document["warnings"]
    setup = document["setup"]
    assert setup["largest_disc"] is None and setup["disc_to_tube"] is None
    assert {each["why"] for each in clearances(document, "bolts").values()} == {why}


def test_a_dummy_axle_that_was_not_measured_is_said(run: Callable, write: Callable, tmp_path: Path) -> None:
    taken = "The dummy axle is taken to be 19.05: measure yours and give it (axle.dummy)."
    assert taken in run("check", write(tmp_path / "taken.toml"), "--json").json["warnings"]
    given = write(tmp_path / "given.toml", ("[dropout]", 'dummy = "3/4 in"\n[dropout]'))
    assert taken not in run("check", given, "--json").json["warnings"]


def test_the_jobs_own_limits_and_caliper(run: Callable, write: Callable, tmp_path: Path) -> None:
    asked = write(tmp_path / "asked.toml", ("[dropout]", "[clearance]\nrotor = 9\nrunout = 0\n[dropout]"))
    ran = run("check", asked, "--json")
    assert ran.status == 1
    one = clearances(ran.json, "rotor")["disc 160 to chainstay"]
    assert (one["asked"], one["least"], one["allowance"], one["grade"]) == (9.0, 9.0, 0.0, "own")
    own = "[caliper]\nlength = 100\nheight = 40\ndepth = 60\ninboard = 20\noutboard = 25\n[dropout]"
    ran = run("check", write(tmp_path / "own.toml", ("[dropout]", own)), "--json")
    assert ran.status == 1 and "caliper to chainstay" in ran.errors[0]


def test_what_is_missing_or_wrong_in_the_new_tables(run: Callable, write: Callable, tmp_path: Path) -> None:
    for table, said in (
        ("[caliper]\nlength = 60\n", "caliper.height"),
        ("[clearance]\nrotors = 2\n", "did you mean rotor"),
        ("[clearance]\nrotor = -1\n", "allowed 0 to 20"),
    ):
        ran = run("check", write(tmp_path / "wrong.toml", ("[dropout]", f"{table}[dropout]")))
        assert ran.status == 2 and any(said in line for line in ran.errors)


def test_travel_is_said(run: Callable, write: Callable, tmp_path: Path) -> None:
    job = write(tmp_path / "moves.toml", ("[dropout]", "[dropout]\nslot = -90\ntravel = 15"))
    ran = run("check", job, "--json")
    travel = ran.json["setup"]["travel"]
    assert travel["travel"] == 15.0 and travel["reach"] < 15.0 and not travel["ok"]
    assert any("leave the track" in warning for warning in ran.json["warnings"])
    assert any("drawn from the slider" in warning for warning in ran.json["warnings"])
    run("draw", job, "--out", tmp_path / "paper")
    assert "drawn from the slider" in text_of(tmp_path / "paper" / "knot-1.pdf")


@pytest.mark.parametrize("name", SAMPLES)
def test_no_sample_fails_a_clearance(run: Callable, name: str) -> None:
    ran = run("check", SAMPLES[name], "--json")
    assert ran.status == 0
    states = {each["state"] for each in ran.json["setup"]["clearances"]}
    assert "fail" not in states and "ok" in states
    assert json.dumps(ran.json["setup"]["tilts"])


def test_stays_that_cross_are_told_in_one_line(run: Callable, tmp_path: Path) -> None:
    job = tmp_path / "cross.toml"
    text = (
        '[frame]\nid = "cross-1"\n[mount]\nend = "rear"\ninterface = "is-rear"\nrotor = 160\n'
        'host = "chainstay"\n[axle]\nsystem = "135-qr"\n[tubes.chainstay]\n'
        "diameters = [[10, 20], [380, 22]]\noutset = 4\nsplay = 0\n[tubes.seatstay]\n"
        "diameters = [[10, 20], [380, 14]]\nincluded = {}\noutset = 4\nsplay = 0\n"
    )
    for included, crossing in (("25", 1), ("110", 0)):
        job.write_text(text.format(included), encoding="utf-8")
        warnings = run("check", job, "--json").json["warnings"]
        assert sum("run into each other" in warning for warning in warnings) == crossing


def test_a_tube_that_begins_beyond_the_mount_is_warned_of(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    # 300 for 30 is a slip of the pen that leaves nothing under the mount.
    job = write(tmp_path / "slip.toml", ("[[25, 16], [180, 19], [380, 22]]", "[[300, 16], [380, 22]]"))
    warnings = run("check", job, "--json").json["warnings"]
    assert any("begins 300 mm from the axle, beyond the far hole" in each for each in warnings)

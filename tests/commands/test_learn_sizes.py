"""`dropleaf learn`: other sizes that fit better, the banner of one mount, and a second mount that agrees."""

import re
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from sheets.home import folder as home
from tests.commands.terminal import typed

SAMPLE = Path(__file__).parents[2] / "samples" / "readings" / "flat-rear.toml"
PROMPT = "]: "


@pytest.fixture(autouse=True)
def own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Give each test a builder's folder of its own."""
    monkeypatch.setenv(home.HOME, str(tmp_path / "home"))
    yield tmp_path / "home"


def changed(file: Path, *changes: tuple[str, str]) -> Path:
    """Write the sample with texts replaced, and return the file."""
    text = SAMPLE.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    file.write_text(text, encoding="utf-8")
    return file


def test_a_wrong_native_size_is_told_and_not_saved_without_a_word(
    run: Callable, tmp_path: Path, own_home: Path
) -> None:
    # A 140 mount called 160: 0.50 from the shipped 140 and 10.04 from the shipped 160 (hand arithmetic).
    ran = run("learn", "--readings", SAMPLE, "--native", "160", "--save", "shop")
    assert (ran.status, len(ran.errors)) == (1, 1)
    told = (
        "ANOTHER SIZE FITS BETTER: these readings lie 0.50 mm from flat-rear made for 140, and 10.04 mm from"
    )
    assert told in ran.errors[0] and told in ran.out
    assert ran.errors[0].endswith("shop was not kept; give --despite to keep it all the same")
    assert "would change h" not in ran.out, "what the wrong size's row would become is beside the point"
    assert not own_home.exists()
    # Without a name nothing is kept, and the status tells it all the same.
    assert run("learn", "--readings", SAMPLE, "--native", "160").status == 1
    found = run("learn", "--readings", SAMPLE, "--native", "160", "--json").json
    assert [(each["native"], each["named"]) for each in found["fits"] if each["end"] == "rear"] == [
        (140, False), (160, True), (180, False)
    ]  # fmt: skip
    assert len(found["questions"]) == 1
    despite = run("learn", "--readings", SAMPLE, "--native", "160", "--save", "shop", "--despite")
    assert (despite.status, despite.errors) == (0, [])
    assert "row shop kept" in despite.out


def test_a_row_of_a_wrong_size_is_stamped_on_the_sheets_of_every_job(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    run("learn", "--readings", SAMPLE, "--native", "160", "--save", "shop", "--despite")
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'))
    warnings = run("check", job, "--json").json["warnings"]
    assert warnings[0] == (
        "NATIVE SIZE IN DOUBT: used as made for 160, but the numbers lie 0.50 mm from flat-rear made for 140 "
        "and 10.04 mm from flat-rear made for 160. Find out which it is before cutting."
    )
    assert warnings[1].startswith("MEASURED ON ONE MOUNT: ")


def test_a_mount_that_is_near_no_row_is_asked_about(run: Callable, tmp_path: Path, own_home: Path) -> None:
    # Read as a post, whose holes are 74.2 apart, and kept no more than by the wrong size.
    ran = run("learn", "--readings", SAMPLE, "--family", "post", "--save", "shop")
    assert (ran.status, len(ran.errors)) == (1, 1)
    assert "NO SHIPPED ROW IS NEAR" in ran.errors[0]
    assert "flat-rear made for 140, of another family, lies 0.50 mm away" in ran.errors[0]
    assert "--despite" in ran.errors[0] and not own_home.exists()
    front = run("learn", "--readings", SAMPLE, "--end", "front", "--save", "shop")
    assert "ANOTHER END FITS BETTER" in front.errors[0] and not own_home.exists()


TAB = """\
family = "tab"
end = "rear"
native = 140
on = "an old tab"
date = 2026-01-31
by = "Saltmarsh Cycle Works"
[readings]
near = [39.9, 39.95]
far = [79.1, 79.05]
spacing = 51.0
side = 0
"""


def test_a_tab_of_the_numbers_that_were_wrong_is_told(run: Callable, tmp_path: Path, own_home: Path) -> None:
    file = tmp_path / "tab.toml"
    file.write_text(TAB, encoding="utf-8")
    ran = run("learn", "--readings", file, "--save", "shop")
    assert (ran.status, len(ran.errors)) == (1, 1)
    assert "THESE NUMBERS WERE WRONG: It fits the numbers that Dropleaf printed for is-rear" in ran.errors[0]
    # Both holes of such a tab lie 1.77 off with the hole line kept (the book's changes say so too).
    assert "lie 1.77 and 1.77 mm from where they belong" in ran.errors[0]
    assert not own_home.exists()
    recalled = run("learn", "--readings", file, "--json").json["recalled"]
    assert recalled == {"row": "is-rear", "key": "radii.far", "was": 79.1, "now": 78.1, "surely": True}
    file.write_text(TAB.replace("79.1, 79.05", "78.1, 78.05"), encoding="utf-8")
    good = run("learn", "--readings", file, "--save", "shop")
    assert (good.status, good.errors) == (0, [])


def test_a_second_mount_that_agrees_takes_the_banner_off(
    run: Callable, write: Callable, tmp_path: Path
) -> None:
    run("learn", "--readings", SAMPLE, "--save", "shop")
    job = write(tmp_path / "job.toml", ('interface = "is-rear"', 'interface = "shop"'), ("160", "140"))
    banner = (
        "MEASURED ON ONE MOUNT: near 39.85 ±0.07, far 66.71 ±0.09, sideways -3.02 ±0.06; measure a second "
        "mount before you trust it."
    )
    assert run("check", job, "--json").json["warnings"][0] == banner
    assert "MEASURED ON ONE MOUNT" in run("mounts").out
    # The face 0.2 higher: within both bands and what a survey lets a height be off.
    second = changed(
        tmp_path / "second.toml",
        ("[36.9, 36.95, 36.9]", "[37.1, 37.15, 37.1]"),
        ("a works frame", "a second frame"),
    )
    ran = run("learn", "--readings", second, "--save", "shop", "--json").json
    kept = tomllib.loads(ran["block"])["row"][0]
    assert kept["mounts"] == 2
    # The middle of 30.917 and 31.117; both bands of 0.06 and half of what lies between (hand arithmetic).
    assert kept["h"] == pytest.approx(31.017, abs=0.001)
    assert kept["uncertainty"]["h"] == pytest.approx(0.16, abs=0.011)
    assert kept["source"].startswith("measured on a works frame")
    assert kept["second_source"].startswith("measured on a second frame")
    found = run("check", job, "--json").json
    assert not any("MEASURED ON ONE MOUNT" in each for each in found["warnings"])
    assert any(
        each.startswith("The row shop is measured on 2 mounts, at about 95 % as far as mounts of fewer")
        for each in found["warnings"]
    )
    sources = found["placement"]["interface"]["sources"]
    assert [each[:20] for each in sources] == ["measured on a works ", "measured on a second"]
    assert "measured on 2 mounts that agree" in run("mounts").out
    third = changed(tmp_path / "third.toml", ("a works frame", "a third frame"))
    refused = run("learn", "--readings", third, "--save", "shop")
    assert (
        refused.status == 2
        and "rests on 2 mounts: put all their files together with --pool" in refused.errors[0]
    )


def test_a_second_mount_that_disagrees_is_told_and_changes_nothing(
    run: Callable, tmp_path: Path, own_home: Path
) -> None:
    run("learn", "--readings", SAMPLE, "--save", "shop")
    before = (own_home / "interfaces.toml").read_bytes()
    second = changed(
        tmp_path / "second.toml",
        ("[36.9, 36.95, 36.9]", "[37.9, 37.95, 37.9]"),
        ("a works frame", "a second frame"),
    )
    ran = run("learn", "--readings", second, "--save", "shop")
    assert (ran.status, len(ran.errors)) == (1, 1)
    # 1 mm apart where both bands, 0.08 each, and 0.3 are allowed: 0.41.
    assert re.search(
        r"this mount disagrees with the row shop in .*: h by \+1\.00, allowed ±0\.3[78]", ran.errors[0]
    )
    assert (own_home / "interfaces.toml").read_bytes() == before
    bare = changed(
        tmp_path / "bare.toml", ("side = [-3.05, -3.0]\n", ""), ("a works frame", "a second frame")
    )
    lacking = run("learn", "--readings", bare, "--save", "shop")
    assert lacking.status == 2 and (own_home / "interfaces.toml").read_bytes() == before


def answers_of(said: dict[str, list[str]], read: dict[str, str]) -> Callable[[str], str]:
    """Return what types `said` where a question has its words, one after the other, and else readings."""

    def answer(shown: str) -> str:
        question = shown[shown.rindex("\r\n\r\n") :]
        left = next((texts for words, texts in said.items() if words in question), None)
        if left is not None:
            return left.pop(0) if len(left) > 1 else left[0]
        return read.get(question.strip().partition(":")[0], "")

    return answer


POST = {
    "axle": "19.05",
    "pin": "5",
    "face-over": "65.4; 65.45",
    "along-far-over": "93.0",
    "spacing-over": "79.2",
    "side": "-4.2",
}
HEAD = {
    "Which family": ["post"],
    "Which end": ["rear"],
    "What do you measure": ["a frame that works"],
    "When?": ["2026-01-31"],
    "By whom?": ["Saltmarsh Cycle Works"],
}


def test_a_wrong_size_is_asked_about_at_the_terminal_and_can_be_mended(tmp_path: Path) -> None:
    said = HEAD | {"Which disc": ["180"], "all the same?": ["perhaps", "160"]}
    ran = typed(["learn", "--save", "shop"], answers_of(said, POST), PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    assert "ANOTHER SIZE FITS BETTER" in ran.shown and "'perhaps' is not a number" in ran.shown
    text = (tmp_path / "home" / "interfaces.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["row"][0]["native"] == 160


def test_a_wrong_size_that_nobody_confirms_is_not_kept_and_what_was_typed_is_shown(tmp_path: Path) -> None:
    said = HEAD | {"Which disc": ["180"], "all the same?": [""]}
    ran = typed(["learn", "--save", "shop"], answers_of(said, POST), PROMPT, tmp_path)
    assert ran.status == 1
    assert not (tmp_path / "home").exists()
    shown = ran.shown.replace("\r\n", "\n")
    typed_again = shown.partition("as a file for --readings:\n")[2].partition("\n\n")[0]
    assert tomllib.loads(typed_again)["readings"]["face-over"] == [65.4, 65.45]
    said = HEAD | {"Which disc": ["180"], "all the same?": ["yes"]}
    assert typed(["learn", "--save", "shop"], answers_of(said, POST), PROMPT, tmp_path).status == 0


def test_a_reading_in_the_axles_shadow_is_not_asked_for(tmp_path: Path) -> None:
    # 6.8 along, a pin of 5 and an axle of 19.05: 9.3 is less than 9.525.
    said = HEAD | {"Which disc": ["160"]}
    ran = typed(["learn"], answers_of(said, POST), PROMPT, tmp_path)
    assert ran.status == 0, ran.shown
    asked = re.findall(r"^([a-z-]+): (?:.+\r\n)+?  \[mm\]", ran.shown, re.MULTILINE)
    assert "along-far-over" in asked
    assert not {"along-near", "along-near-over", "along-near-between"} & set(asked)
    shown = " ".join(ran.shown.split())
    assert "along-near: not asked for." in shown
    assert "read spacing with along-far, or with near and far" in shown

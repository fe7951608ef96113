"""Paper calls things by their names: a builder at the bench has no job file before him, and knows no keys."""

import re
from pathlib import Path

import pytest

from geometry.core.say import say
from sheets.actions.pages import KINDS, ready, sheets_of
from sheets.job.keys import Job as Keys
from sheets.job.read import load
from sheets.words.tell import ENGLISH, on_paper, sentences, told
from tests.pages.jobs import SAMPLES

ROOT = Path(__file__).parents[2]
KEY = re.compile(r"\b(?:axle|bench|boss|dropout|load|mount|process|stance|tubes)\.[a-z][a-z_.-]*[a-z]\b")


def _on_paper(what: object) -> str:
    with on_paper():
        return told(what)  # type: ignore[arg-type]


def test_keys_in_brackets_go_and_others_are_called_by_what_they_are() -> None:
    assert _on_paper("Turn the mount (mount.tilt), or cut.") == "Turn the mount, or cut."
    give = say("clearance.give", keys=("tubes.seatstay", "boss.length"))
    assert _on_paper(give) == "give the seatstay's sizes and place and the boss's length"
    lacking = say("clearance.measure", keys=("tubes.fork-leg.outset", "tubes.fork-leg.splay"))
    assert _on_paper(lacking) == "measure how far outboard the fork leg stands and the fork leg's splay"
    assert told(give) == "give tubes.seatstay and boss.length"


@pytest.mark.parametrize("text", ["drawn (in dropout.svg)", "mount.toml", "tubes.dxf", "lies (see load.txt)"])
def test_what_only_looks_like_a_key_stays(text: str) -> None:
    assert _on_paper(text) == text


def test_names_are_those_of_keys_and_every_key_that_geometry_gives_has_one() -> None:
    names = sentences(ENGLISH, "key")
    schema = Keys.model_json_schema()
    for name in names:
        table, key = name.split(".")
        kinds = re.findall(r"#/\$defs/(\w+)", str(schema["properties"][table]))
        assert table == "tubes" or any(key in schema["$defs"][kind]["properties"] for kind in kinds), name
    given = {
        key
        for file in (ROOT / "geometry" / "clearance").rglob("*.py")
        for key in re.findall(rf'(?<!\[)"({KEY.pattern})"', file.read_text(encoding="utf-8"))
    }
    assert {"boss.length", "dropout.outline_from"} <= given
    assert {key for key in given if not key.startswith("tubes.")} <= set(names)


@pytest.mark.parametrize("name", SAMPLES)
def test_no_key_stands_in_a_sentence_of_a_packet(name: str) -> None:
    one = ready(load(SAMPLES[name]))
    said = [text.text for kind in KINDS for sheet in sheets_of(one, kind).sheets for text in sheet.texts]
    assert len(said) > 100
    assert [text for text in said if KEY.search(text)] == []


def test_no_key_stands_on_paper_where_a_job_lacks_what_it_would_name(tmp_path: Path) -> None:
    """Walls, thicknesses and slot are not given, so that pages on strength and braking ask for them."""
    file = tmp_path / "lacking.toml"
    tubes = "diameters = [[30, 14], [370, 16]]\noutset = 5\nsplay = 3"
    head = '[frame]\nid = "knot-1"\n[mount]\nend = "rear"\ninterface = "is-rear"\nrotor = 160'
    axle = 'host = "seatstay"\n[axle]\nsystem = "135-qr"\n[dropout]'
    stays = f"[tubes.chainstay]\n{tubes}\n[tubes.seatstay]\n{tubes}\nincluded = 62"
    file.write_text("\n".join((head, axle, stays)), encoding="utf-8")
    one = ready(load(file))
    sheets = [sheet for kind in KINDS for sheet in sheets_of(one, kind).sheets]
    said = [text.text for sheet in sheets for text in sheet.texts]
    said += [label.text for sheet in sheets for path in sheet.paths for label in path.labels]
    asked = " ".join(said)
    assert (
        "the chainstay's wall" in asked and "the tab's thickness" in asked and "the slot's direction" in asked
    )
    assert [text for text in said if KEY.search(text)] == []

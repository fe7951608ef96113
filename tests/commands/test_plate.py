"""`draw --plate` and `--dxf`, the keys, `check`, and what is said where something is missing."""

from collections.abc import Callable
from pathlib import Path

import pytest

from sheets.files.write import dxf
from tests.commands.conftest import Run

Write = Callable[..., Path]


def test_plate_adds_the_pattern_and_dxf_its_file(run: Run, job: Path, tmp_path: Path) -> None:
    bare = run("draw", job, "--out", tmp_path / "bare", "--json").json
    assert "fixture" not in bare
    assert all(page["sheet"] != "plate" for page in bare["files"][0]["pages"])
    plate = run("draw", job, "--out", tmp_path / "plate", "--plate", "--json").json
    sheets = [page["sheet"] for page in plate["files"][0]["pages"]]
    assert "plate" in sheets and sheets.index("plate") < sheets.index("card")
    assert [file["kind"] for file in plate["files"]].count("dxf") == 0
    assert list(plate["fixture"]["parts"][0]) == ["name", "stock", "drill"]
    cut = run("draw", job, "--out", tmp_path / "cut", "--plate", "--dxf", "--json").json
    files = [Path(each["path"]) for each in cut["files"] if each["kind"] == "dxf"]
    assert all(file.is_file() for file in files)
    assert {"knot-1-template.dxf"} < {file.name for file in files}
    assert sum(file.name.startswith("knot-1-plate") for file in files) == 1
    assert {each.name for each in (tmp_path / "cut").iterdir()} == {
        Path(each["path"]).name for each in cut["files"]
    }


def test_a_packet_with_a_fixture_proves_itself(run: Run, job: Path, tmp_path: Path) -> None:
    assert run("draw", job, "--plate", "--out", tmp_path).status == 0
    told = run("verify", tmp_path / "knot-1.pdf", "--json").json
    assert (told["intact"], told["matches_job"], told["differences"]) == (True, True, [])


def test_the_keys_do_what_the_options_do(run: Run, write: Write, tmp_path: Path) -> None:
    keyed = write(tmp_path / "a.toml", ("[dropout]", "[bench]\ndxf = true\n[dropout]"))
    names = [Path(each["path"]).name for each in run("draw", keyed, "--json").json["files"]]
    assert sum(name.startswith("knot-1-plate") and name.endswith(".dxf") for name in names) == 1


def test_check_tells_of_a_fixture_that_is_asked_for(run: Run, write: Write, tmp_path: Path) -> None:
    keys = '[bench]\nfixture = true\nplate = 3\nplate_material = "aluminium"\n[dropout]'
    keyed = write(tmp_path / "a.toml", ("[dropout]", keys))
    text = " ".join(run("check", keyed, "--all").out.split())
    assert "fixture, side plate" in text and "aluminium plate 3" in text
    assert "radius 39.90" in text and "Aluminium draws heat fast" in text
    document = run("check", keyed, "--json").json
    (give,) = document["fixture"]["deflection"]
    assert give["force"] == 50.0 and give["amount"] > 0.1
    # A plate of 3 in aluminium is too thin, and both commands warn of it.
    assert any("3 thick, gives" in each for each in document["warnings"])
    drawn = run("draw", keyed, "--json").json
    assert any("3 thick, gives" in each for each in drawn["warnings"])
    assert "fixture" not in run("check", write(tmp_path / "b.toml"), "--json").json


def test_without_ezdxf_nothing_is_drawn_and_the_line_to_type_is_told(
    run: Run, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dxf, "find_spec", lambda name: None)
    ran = run("draw", job, "--dxf")
    assert ran.status == 2
    assert len(ran.errors) == 1 and "--dxf" in ran.errors[0] and "pip install ezdxf" in ran.errors[0]
    assert [each.name for each in job.parent.iterdir()] == [job.name]
    assert run("draw", job, "--plate", "--json").json["fixture"]


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ('plate_material = "oak"', "bench.plate_material"),
        ('fixture = "perhaps"', "bench.fixture"),
        ('plate_face = "outside"\nfixture = true', "dropout.thickness: missing"),
    ],
)
def test_what_cannot_be_is_refused_by_its_key(
    run: Run, write: Write, tmp_path: Path, given: str, said: str
) -> None:
    change = ('[dropout]\nthickness = "1/4 in"\n', f"[bench]\n{given}\n")
    ran = run("draw", write(tmp_path / "a.toml", change))
    assert ran.status == 2
    assert said in ran.errors[0]

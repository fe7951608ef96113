"""What draw leaves: files, text and the JSON of the contract; and that it leaves all of it or nothing."""

import io
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, NamedTuple
from xml.etree import ElementTree

import pypdf
import pytest

from geometry.core.errors import Problem, ReadBackError
from sheets.actions import writing
from tests.commands.conftest import Ran, Run, write
from tests.conftest import forget
from tests.pages.jobs import sample

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").glob("*.toml"))


def names(folder: Path) -> set[str]:
    """Return the names of everything in a folder."""
    return {file.name for file in folder.iterdir()}


class Told(NamedTuple):
    """A job that was drawn once for all tests that only look at what came of it, and what was printed."""

    job: Path
    ran: Ran


@pytest.fixture(scope="module")
def told(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Told:
    job = write(tmp_path_factory.mktemp("told") / "knot.toml")
    return Told(job, run("draw", job, "--json"))


def test_files_lie_beside_the_job(run: Callable, job: Path) -> None:
    ran = run("draw", job)
    assert ran.status == 0
    assert names(job.parent) == {"knot.toml", "knot-1.pdf", "knot-1-template.svg", "knot-1-wrap.svg"}
    assert str(job.parent / "knot-1.pdf") in ran.out
    assert "  note     Grade C: confirm" in ran.out
    assert ran.out.endswith("print at 100 %, actual size; measure both bars before use\n")


def test_out_is_created(run: Callable, job: Path, tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    assert run("draw", job, "--out", folder).status == 0
    assert names(folder) == {"knot-1.pdf", "knot-1-template.svg", "knot-1-wrap.svg"}
    assert names(job.parent) == {"knot.toml"}


def test_the_packet_names_itself_and_holds_the_job(told: Told) -> None:
    job = told.job
    reader = pypdf.PdfReader(io.BytesIO((job.parent / "knot-1.pdf").read_bytes()))
    assert reader.metadata is not None
    assert reader.metadata.title == "knot-1: full-size brake-mount template and setup card"
    assert reader.metadata.subject == (
        "51 mm tab, rear, made for 140, disc 160, 135 mm quick release; print at 100 %, actual size"
    )
    attached = dict(reader.attachments)
    assert attached["knot.toml"] == [job.read_bytes()]
    assert set(attached) == {"knot.toml", "dropleaf-manifest.json", "dropleaf-packet.json"}


def _numbers(value: Any, places: int = 4) -> Iterator[tuple[float, int]]:
    """Yield every number of what pages show, and to how many places it is filed: points of lines to 3."""
    for each in value.values() if isinstance(value, dict) else value:
        if isinstance(each, dict | list):
            yield from _numbers(each, 3 if isinstance(value, list) and isinstance(each, list) else 4)
        elif isinstance(each, float):
            yield each, places


def _words(value: Any) -> Any:
    """Return what pages show without its numbers."""
    return json.loads(json.dumps(value), parse_float=lambda _: 0.0)


def test_the_packet_holds_the_document_with_bare_names(told: Told) -> None:
    document = told.ran.json
    reader = pypdf.PdfReader(io.BytesIO((told.job.parent / "knot-1.pdf").read_bytes()))
    attached = json.loads(reader.attachments["dropleaf-manifest.json"][0])
    # Of the files the packet alone: the others show its pages again, and are not in it.
    (packet, *_), pages = document["files"], attached["files"]
    packet["path"] = "knot-1.pdf"
    assert _words(pages) == _words([packet])
    for (filed, _), (shown, places) in zip(_numbers(pages), _numbers([packet]), strict=True):
        assert abs(filed - shown) <= 0.5001 * 10**-places and filed == round(filed, places)
    assert {key: attached[key] for key in document if key != "files"} == {
        key: value for key, value in document.items() if key != "files"
    }


def test_the_document_has_the_keys_of_the_contract(told: Told) -> None:
    job, document = told.job, told.ran.json
    assert (document["format"], document["version"]) == ("dropleaf-manifest", 1)
    assert list(document) == ["format", "version", "job", "placement", "files", "findings", "warnings"]
    placement = document["placement"]
    svg = ElementTree.parse(job.parent / "knot-1-template.svg").getroot()
    about = svg.findtext("{http://www.w3.org/2000/svg}desc") or ""
    assert all(source in about for source in placement["interface"]["sources"])
    assert {"holes", "face_height", "datum_shift", "rotor"} <= set(placement)
    assert [set(hole) for hole in placement["holes"]] == [{"name", "centre", "axis", "diameter"}] * 2
    assert [hole["name"] for hole in placement["holes"]] == ["near", "far"]
    assert set(placement["rotor"]) == {"radius", "inner_face_z", "outer_face_z"}
    assert set(placement["interface"]) == {
        "name", "family", "native", "grade", "sources", "provisional", "own", "lateral",
    }  # fmt: skip
    assert set(placement["adapter"]) == {"step", "name"}
    packet, single, wrap = document["files"]
    assert wrap["path"] == str(job.parent / "knot-1-wrap.svg")
    assert packet["path"] == str(job.parent / "knot-1.pdf")
    assert (packet["kind"], single["kind"]) == ("pdf", "svg")
    page = packet["pages"][0]
    assert {"number", "sheet", "paper", "width", "height", "view", "axle", "features"} == set(page)
    assert (page["number"], page["sheet"], page["paper"], page["view"]) == (1, "template", "A4", "outboard")
    assert (page["width"], page["height"]) == (210.0, 297.0)
    assert single["pages"] == [page]
    assert document["warnings"]
    kinds = {"circle": {"centre", "diameter"}, "segment": {"from", "to", "length"}, "curve": {"points"}}
    kinds |= {"arc": {"centre", "diameter", "from", "to"}, "slot": {"from", "to", "width"}}
    for feature in page["features"]:
        assert set(feature) == {"name", "kind"} | kinds[feature["kind"]]
    bars = [each["length"] for each in page["features"] if each["name"] in ("bar across", "bar down")]
    assert bars == [150.0, 150.0]


def test_the_document_has_the_job_as_given(told: Told) -> None:
    assert told.ran.json["job"] == {
        "frame": {"id": "knot-1", "name": "Knot"},
        "mount": {"end": "rear", "interface": "is-rear", "rotor": 160.0, "host": "chainstay"},
        "axle": {"system": "135-qr"},
        "dropout": {"thickness": 6.35},
        "tubes": {
            "chainstay": {
                "diameters": [[25.0, 16.0], [180.0, 19.0], [380.0, 22.0]],
                "outset": 5.0,
                "splay": 3.0,
            }
        },
    }


def test_no_negative_zero_and_six_decimals(told: Told) -> None:
    out = told.ran.out
    assert "-0.0,\n" not in out
    assert "-0.0\n" not in out
    assert "NaN" not in out
    assert all(
        len(number.split(".")[-1]) <= 6
        for number in out.replace(",", " ").split()
        if "." in number[:-1] and number[0].isdigit()
    )


def test_a_number_that_the_tables_lack_is_null(run: Callable, job: Path, write: Callable) -> None:
    write(job, ("135-qr", "130-qr"))
    document = run("draw", job, "--json").json
    rotor = document["placement"]["rotor"]
    assert rotor == {"radius": 80.0, "inner_face_z": None, "outer_face_z": None}
    assert any("no rotor position" in warning for warning in document["warnings"])


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_every_sample_is_drawn(delivered: dict, file: Path) -> None:
    ran = delivered[file.stem, sample(file.stem).paper.view]
    assert ran.status == 0
    document, folder = ran.document, ran.pdf.parent
    name = document["job"]["frame"]["id"]
    kinds = ["template"] if document["placement"]["interface"]["family"] == "tab" else ["template", "face"]
    sheets = [page["sheet"] for page in document["files"][0]["pages"]]
    wraps = sheets.count("wrap")
    assert wraps
    full_size = [*kinds, *["wrap"] * wraps]
    # The card and the cautions take one page each, the traveller two, what is looked up two at most.
    rest = ["card", "cautions", "loads", "loads", "traveller", "traveller"]
    last = [kind for kind in ("details", "numbers") for _ in range(sheets.count(kind))]
    assert sheets == [*full_size, *rest, *last]
    assert all(1 <= last.count(kind) <= 2 for kind in ("details", "numbers"))
    kinds += ["wrap"] if wraps == 1 else [f"wrap-{number}" for number in range(1, wraps + 1)]
    assert names(folder) == {f"{name}.pdf", *(f"{name}-{kind}.svg" for kind in kinds)}
    assert {each["path"] for each in document["files"]} == {str(file) for file in folder.iterdir()}


def test_several_jobs_in_the_order_given(run: Callable, job: Path, write: Callable) -> None:
    other = write(job.with_name("other.toml"), ("knot-1", "a-1"))
    bad = write(job.with_name("bad.toml"), ("rotor = 160", "rotor = 1"))
    ran = run("draw", job, bad, other, "--json")
    assert ran.status == 2
    first, second, third = ran.json
    assert first["job"]["frame"]["id"] == "knot-1"
    assert second == {
        "format": "dropleaf-errors",
        "version": 1,
        "job_file": str(bad),
        "errors": [line.removeprefix("dropleaf: ") for line in ran.errors],
    }
    assert third["job"]["frame"]["id"] == "a-1"
    assert names(job.parent) == {
        *("knot.toml", "other.toml", "bad.toml"),
        *("knot-1.pdf", "knot-1-template.svg", "knot-1-wrap.svg"),
        *("a-1.pdf", "a-1-template.svg", "a-1-wrap.svg"),
    }


def test_one_failed_job_is_an_object(run: Callable, job: Path, write: Callable) -> None:
    write(job, ("rotor = 160", "rotor = 1"))
    ran = run("draw", job, "--json")
    assert ran.status == 2
    assert list(ran.json) == ["format", "version", "job_file", "errors"]


@pytest.mark.parametrize("name", ["knot-1", "KNOT-1"])
def test_two_jobs_for_one_file_are_refused(run: Callable, job: Path, write: Callable, name: str) -> None:
    """Names that differ in case alone are one file on some disks."""
    twin = write(job.with_name("twin.toml"), ('"knot-1"', f'"{name}"'))
    ran = run("draw", job, twin)
    assert ran.status == 2
    assert [line.split(": ")[1] for line in ran.errors] == [str(job), str(twin)]
    assert all("would write" in line for line in ran.errors)
    assert names(job.parent) == {"knot.toml", "twin.toml"}


def test_one_name_in_two_folders_is_no_clash(run: Callable, job: Path, write: Callable) -> None:
    other = write(job.parent / "other" / "knot.toml")
    assert run("draw", job, other).status == 0
    assert run("draw", job, other, "--out", job.parent / "out").status == 2


def test_a_job_given_twice_is_refused(run: Callable, job: Path) -> None:
    ran = run("draw", job, job.parent / ".." / job.parent.name / job.name)
    assert ran.status == 2
    assert all("given more than once" in line for line in ran.errors)
    assert names(job.parent) == {"knot.toml"}


def test_a_job_file_is_not_drawn_over(run: Callable, job: Path, write: Callable) -> None:
    file = write(job.with_name("knot-1.pdf"))
    ran = run("draw", file)
    assert ran.status == 2
    assert "would be overwritten" in ran.errors[0]
    assert file.read_text(encoding="utf-8").startswith("\n[frame]")


def test_a_file_that_measures_wrong_is_not_delivered(
    run: Callable, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (job.parent / "knot-1.pdf").write_bytes(b"older")

    def miss(file: Path, *_: object, **__: object) -> float:
        raise ReadBackError(Problem(f"{file.name}, hole near", "0.05 mm off"))

    monkeypatch.setattr(writing, "verify_svg", miss)
    ran = run("draw", job)
    assert ran.status == 1
    assert ran.errors == ["dropleaf: knot-1-template.svg, hole near: 0.05 mm off"]
    assert names(job.parent) == {"knot.toml", "knot-1.pdf"}
    assert (job.parent / "knot-1.pdf").read_bytes() == b"older"


def test_what_does_not_fit_says_by_how_much(run: Callable, job: Path, write: Callable) -> None:
    write(job, ("[axle]", "tilt = 45\n[axle]"), ("[dropout]", "[paper]\nmargin = 40\n[dropout]"))
    ran = run("draw", job)
    assert ran.status == 2
    assert ran.errors[0].startswith(f"dropleaf: {job}: paper.size: ")
    assert names(job.parent) == {"knot.toml"}


def test_the_same_job_gives_the_same_bytes(run: Callable, job: Path, tmp_path: Path) -> None:
    for folder in ("a", "b"):
        forget()
        assert run("draw", job, "--out", tmp_path / folder).status == 0
    for name in ("knot-1.pdf", "knot-1-template.svg"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_a_packet_that_was_filled_in_is_not_written_over(run: Callable, job: Path, tmp_path: Path) -> None:
    assert run("draw", job, "--out", tmp_path).status == 0
    packet = tmp_path / "knot-1.pdf"
    assert run("draw", job, "--out", tmp_path).status == 0
    writer = pypdf.PdfWriter(clone_from=packet)
    for page in writer.pages:
        writer.update_page_form_field_values(page, {"head.material-lot": "lot 7"}, auto_regenerate=False)
    writer.write(packet)
    filled = packet.read_bytes()
    ran = run("draw", job, "--out", tmp_path)
    assert ran.status == 2
    assert "its form has been filled in (head.material-lot) and would be lost" in ran.errors[0]
    assert packet.read_bytes() == filled
    assert run("draw", job, "--out", tmp_path, "--replace").status == 0
    assert packet.read_bytes() != filled

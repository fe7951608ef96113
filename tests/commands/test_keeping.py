"""What `draw` and its like never write over: filled travellers in any state, parents, and what was edited."""

import shutil
from collections.abc import Callable
from pathlib import Path

import pypdf
import pytest
from pypdf.annotations import FreeText

from sheets.files.read.form import read_form
from sheets.filing.revise import file_survey
from sheets.pages.running.survey_page import Section
from tests.commands.conftest import REAR, Ran
from tests.files.forms import type_in
from tests.outside_tools import run as outside
from tests.outside_tools import tool

Run = Callable[..., Ran]
WAYS = "draw elsewhere with --out, move it, or give --replace"


@pytest.fixture(scope="module")
def fresh(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a job and all that it draws, fixture and DXF included."""
    folder = tmp_path_factory.mktemp("fresh")
    (folder / "knot.toml").write_text(REAR, encoding="utf-8")
    assert run("draw", folder / "knot.toml").status == 0
    return folder


@pytest.fixture
def folder(fresh: Path, tmp_path: Path) -> Path:
    """Return such a folder to change."""
    shutil.copytree(fresh, tmp_path / "shop")
    return tmp_path / "shop"


def held(folder: Path) -> dict[str, bytes]:
    return {str(file.relative_to(folder)): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


def edit(folder: Path) -> Path:
    """Change the job as a builder does, so that all that is drawn of it changes too; return it."""
    job = folder / "knot.toml"
    job.write_text(REAR.replace("rotor = 160", "rotor = 180"), encoding="utf-8")
    return job


def filled(packet: Path) -> str:
    """Fill a field of a packet's traveller as a viewer does, and return its name."""
    name = next(name for name, value in read_form(packet).values.items() if not value and "head." in name)
    out = packet.with_name("typed.tmp")
    type_in(packet, out, {name: "A. Heron"})
    out.replace(packet)
    return name


# --- the ordinary case stays silent


def test_drawing_again_over_what_is_untouched_is_silent(run: Run, folder: Path) -> None:
    before = held(folder)
    assert run("draw", folder / "knot.toml").status == 0
    assert held(folder) == before
    assert run("draw", edit(folder)).status == 0
    after = held(folder)
    assert after.keys() == before.keys()
    assert all(after[name] != before[name] for name in ("knot-1.pdf", "knot-1-template.svg"))


def test_an_empty_file_is_nothing_to_keep(run: Run, folder: Path) -> None:
    (folder / "knot-1.pdf").write_bytes(b"")
    assert run("draw", folder / "knot.toml").status == 0


# --- filled in, and then whatever a shop's programs do


def flattened(packet: Path) -> None:
    out = packet.with_name("flat.tmp")
    outside("qpdf", "--flatten-annotations=all", "--generate-appearances", packet, out)
    writer = pypdf.PdfWriter(clone_from=out)
    for page in writer.pages:
        page.pop("/Annots", None)
    writer.root_object.pop("/AcroForm", None)
    writer.write(packet)
    out.unlink()


def printed(packet: Path) -> None:
    out = packet.with_name("printed.tmp")
    outside("pdftocairo", "-pdf", packet, out)
    out.replace(packet)


def locked(packet: Path) -> None:
    out = packet.with_name("locked.tmp")
    outside("qpdf", "--encrypt", "heron", "heron", "256", "--", packet, out)
    out.replace(packet)


def stripped(packet: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=packet)
    del writer.root_object["/Names"]
    writer.root_object.pop("/AF", None)
    writer.write(packet)


def cut_short(packet: Path) -> None:
    packet.write_bytes(packet.read_bytes()[: packet.stat().st_size // 2])


def unfilled(packet: Path) -> None:
    writer = pypdf.PdfWriter(clone_from=packet)
    writer.write(packet)


def shredded(packet: Path) -> None:
    packet.write_bytes(b"not a PDF at all")


@pytest.mark.parametrize(
    ("done", "said"),
    [
        (lambda packet: None, "its form has been filled in ("),
        (flattened, "its form was flattened"),
        (printed, "it was flattened, printed to a new PDF or stripped of its record"),
        (locked, "it was given a password, so that nobody can see what was filled in"),
        (stripped, "it is not as it was drawn (the attachment dropleaf-packet.json is missing"),
        (cut_short, "it is not as it was drawn (it is damaged"),
        (shredded, "it is not as it was drawn (it is not a PDF)"),
    ],
    ids=["filled", "flattened", "printed", "locked", "stripped", "cut short", "shredded"],
)
def test_a_filled_packet_is_kept_whatever_was_done_to_it(
    run: Run, folder: Path, done: Callable[[Path], None], said: str
) -> None:
    packet = folder / "knot-1.pdf"
    for name in ("qpdf", "pdftocairo"):
        tool(name)
    filled(packet)
    done(packet)
    before = held(folder)
    for job in (folder / "knot.toml", edit(folder)):
        ran = run("draw", job)
        assert ran.status == 2
        assert len(ran.errors) == 1
        assert ran.errors[0].startswith(f"dropleaf: {packet}: ")
        assert said in ran.errors[0] and ran.errors[0].endswith(f"; {WAYS}")
        assert held(folder) == {**before, "knot.toml": job.read_bytes()}
    assert run("draw", job, "--replace").status == 0
    assert packet.read_bytes() != before["knot-1.pdf"]
    assert run("verify", packet).status == 0


def test_a_packet_saved_again_is_kept_though_nothing_is_filled_in(run: Run, folder: Path) -> None:
    """It may have been signed or scribbled on; only the file as it was written holds nothing else."""
    unfilled(folder / "knot-1.pdf")
    ran = run("draw", edit(folder))
    assert ran.status == 2
    assert "another program has saved it since it was drawn, and it may have been" in ran.errors[0]


def test_elsewhere_is_the_way_out_that_is_named(run: Run, folder: Path) -> None:
    filled(folder / "knot-1.pdf")
    assert run("draw", edit(folder), "--out", folder / "new").status == 0
    assert (folder / "new" / "knot-1.pdf").exists()


def test_one_refusal_leaves_the_other_jobs_drawn(run: Run, folder: Path, write: Callable[..., Path]) -> None:
    other = write(folder / "teal.toml", ("knot-1", "teal-1"))
    filled(folder / "knot-1.pdf")
    ran = run("draw", folder / "knot.toml", other, "--json")
    assert ran.status == 2
    first, second = ran.json
    assert first["errors"] == [ran.errors[0].removeprefix("dropleaf: ")]
    assert second["job"]["frame"]["id"] == "teal-1"


# --- what else may lie there


def test_a_revision_under_the_packets_name_is_kept(run: Run, folder: Path) -> None:
    packet = folder / "knot-1.pdf"
    file_survey(packet, {"state": "cold"}, [Section(["near hole: 0.10 mm rearward"])]).replace(packet)
    before = packet.read_bytes()
    ran = run("draw", folder / "knot.toml")
    assert ran.status == 2
    assert "it is revision 2 of a packet, in which something was filed; draw elsewhere" in ran.errors[0]
    assert packet.read_bytes() == before


def test_a_revision_is_not_drawn_over_by_a_frame_of_its_name(
    run: Run, folder: Path, write: Callable[..., Path]
) -> None:
    second = file_survey(folder / "knot-1.pdf", {}, [Section(["near hole: 0.10 mm rearward"])])
    before = second.read_bytes()
    ran = run("draw", write(folder / "odd.toml", ("knot-1", "knot-1-rev2")))
    assert ran.status == 2
    assert "it is revision 2 of a packet" in ran.errors[0]
    assert second.read_bytes() == before


def test_another_job_of_the_same_id_is_refused(run: Run, folder: Path, write: Callable[..., Path]) -> None:
    other = write(folder / "ruff.toml", ("rotor = 160", "rotor = 180"))
    ran = run("draw", other)
    assert ran.status == 2
    assert f"it was drawn from knot.toml, another job of the same frame.id; {WAYS}" in ran.errors[0]
    assert run("draw", other, "--replace").status == 0


def test_a_frame_whose_id_differs_in_case_alone_is_another(
    run: Run, folder: Path, write: Callable[..., Path]
) -> None:
    """On a disk that folds case both have one file: played here by giving it that name."""
    shutil.copy(folder / "knot-1.pdf", folder / "KNOT-1.pdf")
    ran = run("draw", write(folder / "knot.toml", ('"knot-1"', '"KNOT-1"')))
    assert ran.status == 2
    assert "it is the packet of the frame knot-1, not KNOT-1" in ran.errors[0]


@pytest.mark.parametrize("name", ["knot-1-template.svg", "knot-1-wrap.svg"])
def test_an_svg_that_was_edited_is_kept(run: Run, folder: Path, name: str) -> None:
    file = folder / name
    file.write_text(
        file.read_text(encoding="utf-8").replace("</svg>", "<!-- mine --></svg>"), encoding="utf-8"
    )
    before = held(folder)
    ran = run("draw", edit(folder))
    assert ran.status == 2
    assert ran.errors == [
        f"dropleaf: {file}: it was changed since it was drawn, and that would be lost; {WAYS}"
    ]
    assert held(folder) == {**before, "knot.toml": (folder / "knot.toml").read_bytes()}
    assert run("draw", folder / "knot.toml", "--replace").status == 0
    assert b"mine" not in file.read_bytes()


def test_an_svg_of_before_there_were_seals(run: Run, folder: Path) -> None:
    """On one line, as only the writer leaves it, it gives way; laid out as an editor does, it does not."""
    file = folder / "knot-1-template.svg"
    first, mark, *rest = file.read_bytes().split(b"\n")
    assert mark.startswith(b"<!-- dropleaf sha256 ")
    old = b"\n".join([first, *rest])
    file.write_bytes(old)
    assert run("draw", edit(folder)).status == 0
    assert file.read_bytes() != old
    file.write_bytes(old.replace(b"><g", b">\n<g"))
    ran = run("draw", folder / "knot.toml")
    assert ran.status == 2
    assert "or an older Dropleaf drew it" in ran.errors[0]


def test_a_dxf_that_was_edited_is_kept(run: Run, folder: Path) -> None:
    job = folder / "knot.toml"
    assert run("draw", job, "--dxf").status == 0
    assert run("draw", job, "--dxf").status == 0
    file = next(folder.glob("*.dxf"))
    file.write_bytes(file.read_bytes().replace(b"Kerf", b"kerf"))
    ran = run("draw", job, "--dxf")
    assert ran.status == 2
    assert str(file) in ran.errors[0] and "it was changed since it was drawn" in ran.errors[0]


# --- pages that are no packets


@pytest.mark.parametrize("command", ["blank", "shop"])
def test_other_commands_do_not_write_over_a_packet_either(run: Run, folder: Path, command: str) -> None:
    packet = folder / "knot-1.pdf"
    if command == "blank":
        packet = packet.rename(folder / "measuring-sheet-A4.pdf")
        given = ("blank", "--out", folder)
    else:
        given = ("shop", folder / "knot.toml", "--pdf", packet)
    before = packet.read_bytes()
    ran = run(*given)
    assert ran.status == 2
    assert "as Dropleaf wrote it, and would be lost; move it, or " in ran.errors[0]
    assert packet.read_bytes() == before


def test_a_measuring_sheet_that_was_filled_in_is_kept(run: Run, tmp_path: Path) -> None:
    assert run("blank", "--out", tmp_path).status == 0
    assert run("blank", "--out", tmp_path).status == 0
    sheet = tmp_path / "measuring-sheet-A4.pdf"
    out = tmp_path / "typed.tmp"
    type_in(sheet, out, {"frame.id": "knot-1"})
    out.replace(sheet)
    before = sheet.read_bytes()
    ran = run("blank", "--out", tmp_path)
    assert ran.status == 2
    assert "it is not a measuring sheet as Dropleaf wrote it, and would be lost" in ran.errors[0]
    assert sheet.read_bytes() == before


def test_pages_are_written_again_over_their_own(run: Run, folder: Path) -> None:
    for given in (("proof", "--out", folder), ("shop", folder / "knot.toml", "--pdf", folder / "bench.pdf")):
        assert run(*given).status == 0
        assert run(*given).status == 0
    ran = run("draw", folder / "knot.toml", "--out", folder)
    assert ran.status == 0


def test_a_page_of_before_there_were_seals_gives_way_unless_something_was_added(
    run: Run, folder: Path
) -> None:
    given = ("shop", folder / "knot.toml", "--pdf", folder / "bench.pdf")
    assert run(*given).status == 0
    plain = pypdf.PdfWriter(clone_from=folder / "bench.pdf")
    plain.metadata = {"/Title": "On the bench", "/Producer": "Dropleaf"}
    plain.write(folder / "bench.pdf")
    shutil.copy(folder / "bench.pdf", folder / "old.pdf")
    assert run(*given).status == 0
    ticked = pypdf.PdfWriter(clone_from=folder / "old.pdf")
    ticked.add_annotation(0, FreeText(text="bought", rect=(50, 550, 200, 650)))
    ticked.metadata = {"/Title": "On the bench", "/Producer": "Dropleaf"}
    ticked.write(folder / "bench.pdf")
    before = (folder / "bench.pdf").read_bytes()
    assert run(*given).status == 2
    assert (folder / "bench.pdf").read_bytes() == before


def test_a_frame_named_as_a_page_does_not_replace_it(
    run: Run, folder: Path, write: Callable[..., Path]
) -> None:
    assert run("shop", folder / "knot.toml", "--pdf", folder / "bench.pdf").status == 0
    ran = run("draw", write(folder / "odd.toml", ("knot-1", "bench")))
    assert ran.status == 2
    assert "it is a list for the bench, no packet" in ran.errors[0]

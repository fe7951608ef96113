"""The installed program: one name in the environment, whatever other projects are called."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from sheets.actions.version import version

ROOT = Path(__file__).parents[1]
OTHERS = ("geometry", "sheets", "fonts")


def python(*arguments: str, path: Path, cwd: Path) -> str:
    """Return what a process prints that finds `path` before everything else."""
    environment = os.environ | {"PYTHONPATH": str(path)}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=cwd, env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the wheel as the project's own build backend makes it."""
    out = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (made,) = out.glob("*.whl")
    return made


@pytest.fixture
def site(wheel: Path, tmp_path: Path) -> Path:
    """Return a folder with the wheel unpacked and three other projects of our folders' names beside it."""
    folder = tmp_path / "site"
    zipfile.ZipFile(wheel).extractall(folder)
    for name in OTHERS:
        (folder / name).mkdir()
        (folder / name / "__init__.py").write_text("WHOSE = 'another project'\n", encoding="utf-8")
    return folder


def test_the_wheel_adds_one_name(wheel: Path) -> None:
    names = {Path(name).parts[0] for name in zipfile.ZipFile(wheel).namelist()}
    assert {name for name in names if not name.endswith((".dist-info", ".data"))} == {"dropleaf"}


def test_the_wheel_says_its_licences_and_holds_their_texts(wheel: Path) -> None:
    # The expression is SPDX's (PEP 639): our own licence, and that of the embedded faces.
    with zipfile.ZipFile(wheel) as held:
        (metadata,) = (name for name in held.namelist() if name.endswith("/METADATA"))
        said = held.read(metadata).decode()
        texts = {name for name in held.namelist() if "/licenses/" in name}
        assert "dropleaf/py.typed" in held.namelist()
        (manual,) = (
            name for name in held.namelist() if name.endswith(".data/data/share/man/man1/dropleaf.1")
        )
        assert held.read(manual).startswith(b".TH DROPLEAF 1 ")
    assert "\nLicense-Expression: MIT AND Apache-2.0\n" in said
    assert {Path(name).name for name in texts} == {"LICENSE", "OpenSans-LICENSE.txt"}


def test_the_wheel_holds_what_the_desks_pages_are_made_of(wheel: Path) -> None:
    files = (file for part in ("templates", "static") for file in (ROOT / "sheets" / "desk" / part).iterdir())
    wanted = {f"dropleaf/{file.relative_to(ROOT).as_posix()}" for file in files}
    assert len(wanted) > 10
    with zipfile.ZipFile(wheel) as held:
        assert wanted <= set(held.namelist())


def test_it_draws_its_own_samples_beside_projects_of_our_folders_names(site: Path, tmp_path: Path) -> None:
    # As the README says it: the samples first, which a checkout has already, then the line that draws one.
    python("-m", "dropleaf", "sample", "--all", path=site, cwd=tmp_path)
    assert {file.name for file in (tmp_path / "samples").rglob("*.*")} == {
        file.name for file in (ROOT / "samples").rglob("*.*") if file.suffix not in (".png", ".py")
    }
    python("-m", "dropleaf", "draw", "samples/dunlin.toml", "--out", "drawn", path=site, cwd=tmp_path)
    assert (tmp_path / "drawn" / "dunlin-1.pdf").stat().st_size > 10_000
    said = "import dropleaf, geometry; print(geometry.WHOSE)"
    assert python("-c", said, path=site, cwd=tmp_path).strip() == "another project"


def test_its_version_names_the_build_without_git(wheel: Path, site: Path, tmp_path: Path) -> None:
    """The wheel says what the checkout said when it was built, to a machine that has no git."""
    bare = tmp_path / "empty"
    bare.mkdir()
    command = [sys.executable, "-m", "dropleaf", "--version"]
    environment = os.environ | {"PYTHONPATH": str(site), "PATH": str(bare)}
    said = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=True)
    assert said.stdout == f"dropleaf {version()}\n"
    assert wheel.name.startswith(f"dropleaf-{version()}-")


def test_it_loads_its_own_modules_and_survives_the_others_going(site: Path, tmp_path: Path) -> None:
    look = (
        "import sys, dropleaf; sys.argv = ['dropleaf', '--version']; dropleaf.program(); "
        "import sheets; print(sheets.__file__)"
    )
    for _ in range(2):
        last = python("-c", look, path=site, cwd=tmp_path).splitlines()[-1]
        assert Path(last) == site / "dropleaf" / "sheets" / "__init__.py"
        for name in OTHERS:
            (site / name / "__init__.py").unlink(missing_ok=True)

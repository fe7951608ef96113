"""The installed program: one name in the environment, whatever other projects are called."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

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
    assert {name for name in names if not name.endswith(".dist-info")} == {"dropleaf"}


def test_it_draws_beside_projects_of_our_folders_names(site: Path, tmp_path: Path) -> None:
    (tmp_path / "knot.toml").write_bytes((ROOT / "samples" / "dunlin.toml").read_bytes())
    python("-m", "dropleaf", "draw", "knot.toml", "--out", "drawn", path=site, cwd=tmp_path)
    assert (tmp_path / "drawn" / "dunlin-1.pdf").stat().st_size > 10_000
    said = "import dropleaf, geometry; print(geometry.WHOSE)"
    assert python("-c", said, path=site, cwd=tmp_path).strip() == "another project"


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

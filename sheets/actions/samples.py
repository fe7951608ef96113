"""The samples that come with the program: found by name, told in a line, and copied into a folder.

They lie beside the packages, in a checkout as in what is installed.
"""

import re
from collections.abc import Iterable
from pathlib import Path

from geometry.core.errors import InputError, Problem
from geometry.core.say import say
from geometry.core.tables import hint
from sheets.files import sets
from sheets.files.write.deliver import staging
from sheets.job.schema import FILE

FOLDER = Path(__file__).parents[2] / "samples"
_DRAWING = re.compile(r'^outline = "([^"]+)"', re.MULTILINE)
_KINDS = ("*.toml", "*.md", "*.svg")


def samples() -> dict[str, Path]:
    """Return the job file of every sample by its name, in alphabetical order."""
    files = (*FOLDER.glob("*.toml"), *FOLDER.glob("dropouts/*.toml"))
    return {file.stem: file for file in sorted(files, key=lambda file: file.stem)}


def sample(name: str) -> Path:
    """Return the job file of a sample, named with or without its ending; raise InputError for none."""
    found = samples()
    bare = name.strip().removesuffix(".toml").casefold()
    if bare not in found:
        raise InputError.at("", say("sample.none", name=name, hint=hint(bare, found), known=", ".join(found)))
    return found[bare]


def about(job: Path) -> str:
    """Return what a sample's first sentence says of it."""
    lines = job.read_text(encoding="utf-8").splitlines()[1:]
    comments = [line.lstrip("# ") for line in lines[: lines.index("")]]
    return re.split(r"(?<=\.)\s", " ".join(comments))[0].rstrip(".")


def copied(names: Iterable[str], folder: Path) -> list[Path]:
    """Copy samples into a folder, each with the drawing that it names, and the schema; return what is new.

    A file that is there is left alone where it is the same; else InputError is raised and nothing copied.
    """
    new: dict[str, bytes] = {}
    for name in dict.fromkeys(names):
        new |= files_of(sample(name))
    return put(new, folder)


def files_of(job: Path) -> dict[str, bytes]:
    """Return what a sample's copy is made of, by name: its job file, and the drawing that it names."""
    text = job.read_text(encoding="utf-8")
    drawings = {name: (job.parent / name).read_bytes() for name in _DRAWING.findall(text)}
    # The schema lies beside the copy, wherever it lay from the sample.
    return {job.name: text.replace(f"../{FILE}", FILE).encode(), **drawings}


def all_copied(folder: Path) -> list[Path]:
    """Copy every sample, with readings and drawings, as they lie here; return what is new, as `copied`."""
    new = [
        (
            {file.name: file.read_bytes() for kind in _KINDS for file in (FOLDER / part).glob(kind)},
            folder / part,
        )
        for part in ("", "dropouts", "readings")
    ]
    # Every folder is looked at before anything is put in one.
    for files, there in new:
        _missing(files, there)
    return [file for files, there in new for file in put(files, there, there == folder)]


def _missing(new: dict[str, bytes], folder: Path) -> dict[str, bytes]:
    """Return the files that are not there; raise InputError for those that are there and are others."""
    # What a killed run left half done is finished first.
    sets.recover(folder)
    there = {name: folder / name for name in new if (folder / name).exists()}
    others = [file for name, file in there.items() if not file.is_file() or file.read_bytes() != new[name]]
    if others:
        raise InputError(*(Problem(str(file), say("sample.there")) for file in others))
    return {name: raw for name, raw in new.items() if name not in there}


def put(new: dict[str, bytes], folder: Path, schema: bool = True) -> list[Path]:
    """Put files into a folder, and the schema beside them; return what is new, and raise as `copied`."""
    missing = _missing(new, folder)
    if schema and not (folder / FILE).exists():
        missing[FILE] = (FOLDER / FILE).read_bytes()
    if missing:
        with staging(folder, fresh=True) as stage:
            for name, raw in missing.items():
                (stage / name).write_bytes(raw)
    return [folder / name for name in missing]

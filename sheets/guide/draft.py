"""The draft of a job that is being asked for: every answer, on the disk as soon as it is given.

It lies beside the job file to be, as NAME.draft, an ending that neither `draw *.toml` nor the bench list
takes for a job. It is put in place whole each time, so that whatever stops the questions loses no answer;
once the job is written it goes. Changes of a job that is there lie beside it likewise, as NAME.changes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from geometry.core.errors import DeliveryError, InputError
from sheets.files.write.deliver import staging
from sheets.guide.asking import unknown
from sheets.guide.starting import answers_file
from sheets.job.toml import written

ENDING = ".draft"
CHANGES = ".changes"
_CHANGES_HEAD = """\
# Changes of {name} that are not written yet. To go on:  dropleaf start {name}
# A line a change, bare lengths in mm; "" is taken out.
"""
_OF = "# Made to the file with SHA-256 "
_HEAD = """\
# Answers to dropleaf start, not finished. To go on:  dropleaf start {name}
# A line an answer, as it was typed; "" was left out.
"""


@dataclass(slots=True)
class Draft:
    """Where answers are kept as they come: in a folder, under the frame's id. `file` was kept last."""

    folder: Path
    file: Path | None = None
    kept_apart: Path | None = None
    """Where an older draft of the same name was put that is not gone on with; None: there was none."""

    def keep(self, answers: Mapping[str, str]) -> None:
        """Put all answers in place; raise DeliveryError where that cannot be done.

        A frame that has got another id has its draft under the new name alone.
        """
        name = answers.get("frame.id", "")
        if not name:
            return
        target = draft_of(self.folder, name)
        if target != self.file and target.exists():
            self.kept_apart = set_apart(target)
        with staging(self.folder) as stage:
            (stage / target.name).write_text(text(name, answers), encoding="utf-8", newline="\n")
        if self.file is not None and target != self.file:
            take_away(self.file)
        self.file = target

    def done(self) -> None:
        """Take the draft away: the job is written."""
        if self.file is not None:
            take_away(self.file)
            self.file = None


def draft_of(folder: Path, name: str) -> Path:
    """Return where the draft of a frame's id lies."""
    return folder / f"{name}{ENDING}"


def changes_of(file: Path) -> Path:
    """Return where the changes of a job file are kept until they are written."""
    return file.with_suffix(CHANGES)


def keep_changes(file: Path, changes: Mapping[str, str], of: str = "") -> None:
    """Keep the changes of a job file beside it, by key, "" for what is taken out; none leave no file.

    `of` is the digest of the file that they were made to, where somebody will ask for it (`begun_from`).
    Raise DeliveryError where that cannot be done.
    """
    target = changes_of(file)
    if not changes:
        take_away(target)
        return
    with staging(file.parent) as stage:
        head = _CHANGES_HEAD.format(name=file.name) + (f"{_OF}{of}\n" if of else "")
        (stage / target.name).write_text(head + _lines(changes), encoding="utf-8", newline="\n")


def begun_from(kept: Path) -> str:
    """Return the digest of the file that kept changes were made to, "" where they do not say it."""
    with kept.open(encoding="utf-8", errors="replace") as lines:
        return next((line.removeprefix(_OF).strip() for line in lines if line.startswith(_OF)), "")


def changes_in(kept: Path) -> dict[str, str]:
    """Return the changes that are kept in a file; raise InputError where it cannot be read."""
    return answers_file(kept)


def drafts(folder: Path) -> list[Path]:
    """Return the drafts in a folder, the one that was kept last first."""
    found = [each for each in folder.glob(f"*{ENDING}") if each.is_file()]
    return sorted(found, key=lambda each: (-each.stat().st_mtime_ns, each.name))


def text(name: str, answers: Mapping[str, str]) -> str:
    """Return answers as a draft has them, which start --answers takes too."""
    return _HEAD.format(name=name) + _lines(answers)


def _lines(answers: Mapping[str, str]) -> str:
    return "\n" + "".join(f"{written(key)} = {written(answer)}\n" for key, answer in answers.items())


def answers_in(file: Path) -> dict[str, str]:
    """Return the answers in a draft; raise InputError where it cannot be read or has a key of no question."""
    found = answers_file(file)
    if problems := unknown(found):
        raise InputError(*(problem.under(str(file)) for problem in problems))
    return found


def take_away(file: Path) -> None:
    """Delete a draft that is there; raise DeliveryError if refused."""
    try:
        # Asked first: a disk that takes no writing refuses even to delete nothing.
        if file.exists():
            file.unlink(missing_ok=True)
    except OSError as error:
        raise DeliveryError.at(str(file), f"cannot be deleted: {error.strerror}; delete it") from error


def set_apart(file: Path) -> Path:
    """Give a draft that is not gone on a name of its own, and return it; raise DeliveryError if refused."""
    number = 1
    while (other := file.with_name(f"{file.name}-{number}")).exists():
        number += 1
    try:
        file.rename(other)
    except OSError as error:
        raise DeliveryError.at(str(file), f"cannot be set apart: {error.strerror}; move it away") from error
    return other

"""The one tree of errors.

    DropleafError                   every expected failure; the commands catch this and nothing wider
    ├── InputError                  the job or the command line is wrong               exit status 2
    │   ├── TableError              a table lacks or contradicts what the job asks for
    │   ├── GeometryError           the numbers describe something that cannot be built
    │   ├── NoPacketError           a file is no packet, but a page of another kind or from elsewhere
    │   └── FitError                the drawing does not fit the paper
    ├── DeliveryError               the files cannot be put where they should go       exit status 2
    └── ReadBackError               what was written does not measure what it should   exit status 1

It lives in geometry/ because geometry/ may not look up at sheets/, and both raise from it.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where, what was given, what is allowed and what to do, in one line."""

    where: str
    what: str

    def __str__(self) -> str:
        text = f"{self.where}: {self.what}" if self.where else self.what
        return " ".join(text.split())


class DropleafError(Exception):
    """Every expected failure. `problems` holds one Problem a line; `exit_status` is what the shell sees."""

    exit_status = 2

    def __init__(self, *problems: Problem) -> None:
        """Take one or more problems; raise ValueError for none, since an error must say something."""
        if not problems:
            raise ValueError("an error needs at least one problem")
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems

    @classmethod
    def at(cls, where: str, what: str) -> "DropleafError":
        """Return the error for a single problem."""
        return cls(Problem(where, what))


class InputError(DropleafError):
    """The job file or the command line is wrong."""


class TableError(InputError):
    """A table lacks, or contradicts, what the job asks for."""


class GeometryError(InputError):
    """The numbers describe something that cannot be built."""


class NoPacketError(InputError):
    """A file is no packet of a frame. `kind` is that of a page of ours, "" for a file from elsewhere."""

    def __init__(self, *problems: Problem, kind: str = "") -> None:
        """Take problems as every error does, and the kind."""
        super().__init__(*problems)
        self.kind = kind


class FitError(InputError):
    """The drawing does not fit the paper."""


class DeliveryError(DropleafError):
    """The files cannot be put where they should go."""


class ReadBackError(DropleafError):
    """What was written does not measure what it should."""

    exit_status = 1

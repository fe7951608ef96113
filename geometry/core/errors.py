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

from geometry.core.frozen import dataclass
from geometry.core.say import Say, say


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where, what was given, what is allowed and what to do.

    `sheets/words/tell.py` makes its line; its `str` is for tests and for whoever debugs.
    """

    where: Say | str
    what: Say | str

    def __str__(self) -> str:
        text = f"{self.where!s}: {self.what!s}" if self.where else str(self.what)
        return " ".join(text.split())

    def under(self, place: Say | str) -> "Problem":
        """Return it with where that is before its own place, such as a file before a key in it."""
        if not self.where:
            return Problem(place, self.what)
        if isinstance(self.where, Say) or isinstance(place, Say):
            return Problem(say("tell.under", place=place, where=self.where), self.what)
        return Problem(f"{place}: {self.where}", self.what)

    def inside(self, place: str) -> "Problem":
        """Return it without a place that `under` has put before its own."""
        if isinstance(self.where, Say):
            led = self.where.code == "tell.under" and self.where["place"] == place
            return Problem(self.where["where"], self.what) if led else self
        if self.where == place:
            return Problem("", self.what)
        return Problem(self.where.removeprefix(f"{place}: "), self.what)


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
    def at(cls, where: Say | str, what: Say | str) -> "DropleafError":
        """Return the error for a single problem."""
        return cls(Problem(where, what))


class RefusedError(ValueError):
    """A value that is refused before anybody knows where it stands. `what` says why; whoever knows the place
    makes a Problem of it. `key` is the key of the same table to blame in its stead, "" the table itself.
    """

    def __init__(self, what: Say, key: str | None = None) -> None:
        """Take what is wrong."""
        super().__init__(str(what))
        self.what = what
        self.key = key


def why(error: Exception) -> Say | str:
    """Return what an error says: what a value was refused for, or the text of another library's error."""
    return error.what if isinstance(error, RefusedError) else " ".join(str(error).split())


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

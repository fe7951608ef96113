"""The builder's own interface rows, in interfaces.toml of their own folder: known by name like shipped ones.

    [[row]]
    name = "shop-flat"          # what mount.interface says
    end = "rear"                # rear or front: sideways numbers count from another face at each
    family = "flat"
    native = 140
    h = 30.92                   # or near, far and spacing, as in a job's own [interface]
    x_near = 25.11
    x_far = 59.13
    lateral = -3.04
    uncertainty = { h = 0.05, lateral = 0.03 }
    source = "measured on a mount that works, 2026-01-31, by the owner"
    grade = "measured"          # or "own"
    mounts = 1                  # on how many mounts; with 1 every sheet says so in large letters
    makers = 1                  # of how many makers they are; from 3 on the row is graded M

A row counts for one name, end and native size. One with the name of a shipped row must say replaces = true,
and then replaces that at this end and size alone. No upgrade touches the file.
"""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationInfo, field_validator

from geometry.core.errors import DropleafError, InputError, Problem, RefusedError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, named, say
from geometry.tables.interfaces import OwnRow, resolve, rows
from sheets.files.bounded import blaming
from sheets.home.entries import checked, collected, entries
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.job import limits
from sheets.job.keys import OwnInterface
from sheets.job.limits import Lettered
from sheets.job.own_row import Choice, own_row
from sheets.job.units import given, unquoted

FILE = "interfaces.toml"
BEGINS = "[[row]]"
"""How a row begins in the file."""
USUAL = say("own.row.usual_size")
"""What is said beside the size of a file that is too large."""


class KeptRow(OwnInterface):
    """A row of the builder's own table: a job's [interface] with the end and native size that it is for."""

    name: Lettered = Field(description="what mount.interface says to have this row")
    family: Literal["tab", "post", "flat"] = Field(description="tab, post or flat")
    native: Annotated[float, limits.ROTOR] = Field(description="disc diameter that the mount is made for, mm")
    end: Literal["rear", "front"] = Field(description="the end of the bicycle, rear or front")
    # Last, because its check needs the others.
    replaces: bool = Field(
        default=False,
        validate_default=True,
        description="true where it stands in for the shipped row of that name; true or false",
    )

    @field_validator("replaces")
    @classmethod
    def _says_so(cls, replaces: bool, info: ValidationInfo) -> bool:
        shipped = rows().get(str(info.data.get("name")))
        if shipped is None:
            if replaces and "name" in info.data:
                raise RefusedError(say("own.row.replaces_none", name=given(info.data["name"])))
            if info.data.get("lateral", 0.0) is None:
                raise RefusedError(say("own.row.no_lateral"), "lateral")
            return replaces
        name, family, end = shipped.name, info.data.get("family"), info.data.get("end")
        if not replaces:
            raise RefusedError(say("own.row.shipped_too", name=name))
        if family not in (None, shipped.family):
            what = say("own.row.other_family", family=given(family), name=name, theirs=shipped.family)
            raise RefusedError(what, "family")
        if end not in (None, *shipped.ends):
            theirs = named(shipped.ends[0])
            raise RefusedError(say("own.row.wrong_end", end=str(end), name=name, theirs=theirs), "end")
        return replaces

    @property
    def key(self) -> tuple[str, str, float]:
        """Return what no two rows of a table share: name, end and native size in mm."""
        return self.name, self.end, self.native

    @property
    def document(self) -> dict[str, Any]:
        """Return the row as the [interface] table of a job file, parsed."""
        kept = self.model_dump(exclude_unset=True, exclude_none=True)
        return {key: value for key, value in kept.items() if key in OwnInterface.model_fields}

    @property
    def geometry(self) -> OwnRow:
        """Return the row as geometry takes it."""
        return own_row(self, self.name)


@dataclass(frozen=True, slots=True)
class OwnTable:
    """The builder's table: its good rows, and what is wrong with others by their names ("" where unknown).

    `broken` says why no row could be read at all.
    """

    rows: tuple[KeptRow, ...] = ()
    wrong: tuple[tuple[str, Problem], ...] = ()
    broken: Problem | None = None

    @property
    def problems(self) -> tuple[Problem, ...]:
        """Return all that is wrong with it."""
        return (*([self.broken] if self.broken else []), *(problem for _, problem in self.wrong))


def file() -> Path:
    """Return the file of the builder's own rows; it need not exist yet."""
    return home() / FILE


def read(text: str | None = None) -> OwnTable:
    """Return the builder's table, or that in a `text` that is to become it; nothing is raised for damage."""
    where = file()
    try:
        document = document_of(where, text_of(where, USUAL) if text is None else text)
        with blaming(where):
            listed = entries(document, BEGINS)
    except InputError as error:
        return OwnTable(broken=error.problems[0])
    good: dict[tuple[str, str, float], KeptRow] = {}
    wrong: list[tuple[str, Problem]] = []
    for number, raw in enumerate(listed, start=1):
        name = str(raw.get("name", "")) if isinstance(raw, Mapping) else ""
        place = say("own.row.place" if name else "own.row.nameless", number=number, name=unquoted(name))
        problems: list[Problem] = []
        with collected(problems, place):
            row = row_of(raw)
            if row.key in good:
                what = say("own.row.twice", name=row.name, native=row.native, end=named(row.end))
                raise InputError.at("", what)
            good[row.key] = row
        wrong += ((name, each.under(str(where))) for each in problems)
    return OwnTable(tuple(good.values()), tuple(wrong))


def row_of(raw: Any) -> KeptRow:
    """Return a row of a parsed table; raise InputError with all that is wrong with it, led by the keys."""
    row = checked(KeptRow, raw, BEGINS)
    try:
        resolve(row.name, row.end, row.native, row.native, row.geometry)
    except DropleafError as error:
        # Such as radii that close no triangle.
        raise InputError(*(Problem("", each.what) for each in error.problems)) from error
    return row


def choose(document: Mapping[str, Any]) -> Choice:
    """Return what the builder's table has for a parsed job file; nothing where the job brings its own row."""
    mount = document.get("mount")
    if "interface" in document or not isinstance(mount, Mapping):
        return Choice()
    name, end = mount.get("interface"), mount.get("end")
    if not isinstance(name, str):
        return Choice()
    table = read()
    shipped = name in rows()
    if table.broken is not None:
        if not shipped:
            return Choice(problem=_said(table.broken))
        return Choice(damaged=say("own.row.left_out", broken=_said(table.broken), name=name))
    wrong = next((problem for each, problem in table.wrong if each == name), None)
    if wrong is not None:
        return Choice(problem=_said(wrong))
    names = tuple(dict.fromkeys(row.name for row in table.rows))
    mine = [row for row in table.rows if row.name == name]
    here = [row for row in mine if row.end == end]
    if not here:
        if shipped or not mine or end not in ("rear", "front"):
            return Choice(names=names)
        what = say("own.row.other_end", name=name, end=named(mine[0].end), said=end, file=str(file()))
        return Choice(problem=what, names=names)
    wanted = _native(mount, name, here)
    row = next((row for row in here if row.native == wanted), None)
    if row is None and not shipped:
        sizes = ", ".join(f"{each.native:g}" for each in here)
        return Choice(problem=say("own.row.other_size", name=name, wanted=wanted, sizes=sizes), names=names)
    return Choice(None if row is None else row.document, names=names)


def _said(problem: Problem) -> Say:
    return say("tell.under", place=problem.where, where=problem.what)


def _native(mount: Mapping[str, Any], name: str, here: Sequence[KeptRow]) -> float:
    """Return the native size that a job asks for, as a shipped row of that name would take it."""
    sizes = rows()[name].sizes if name in rows() else tuple(row.native for row in here)
    size = mount.get("native")
    if size is None:
        size = sizes[0] if len(sizes) == 1 else mount.get("rotor")
    try:
        return limits.ROTOR(size)
    except RefusedError:
        # What is wrong with the size is told where the job is read; any row does until then.
        return here[0].native

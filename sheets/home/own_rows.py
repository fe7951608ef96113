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

A row counts for one name, end and native size. One with the name of a shipped row must say replaces = true,
and then replaces that at this end and size alone. No upgrade touches the file.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field, ValidationError, ValidationInfo, field_validator

from geometry.core.errors import DropleafError, InputError, Problem
from geometry.tables.interfaces import OwnRow, natives, resolve, rows
from sheets.home.folder import home
from sheets.home.toml_file import document_of, text_of
from sheets.job import limits
from sheets.job.keys import OwnInterface
from sheets.job.limits import Lettered, blame
from sheets.job.own_row import Choice, own_row
from sheets.job.units import given
from sheets.words.tell import nearest

FILE = "interfaces.toml"
USUAL = "a row takes less than 1 kB"
"""What is said beside the size of a file that is too large."""
_MOST = 500
"""Rows that are read."""


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
                raise ValueError(
                    f"true, but no shipped row is called {given(info.data['name'])}; leave it out"
                )
            if info.data.get("lateral", 0.0) is None:
                raise blame(
                    "lateral", "missing; it places the mount sideways, and no shipped row has this name"
                )
            return replaces
        if not replaces:
            raise ValueError(
                f"a shipped row is called {shipped['name']} too; say replaces = true, or give another name"
            )
        if info.data.get("family") not in (None, shipped["family"]):
            raise blame(
                "family", f"{given(info.data['family'])}, but {shipped['name']} is a {shipped['family']}"
            )
        if "end" in info.data and info.data["end"] not in shipped["ends"]:
            raise blame(
                "end", f"{info.data['end']}, but {shipped['name']} belongs at the {shipped['ends'][0]}"
            )
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
        if text is None:
            text = text_of(where, USUAL)
        document = document_of(where, text)
    except InputError as error:
        return OwnTable(broken=error.problems[0])
    stray = [key for key in document if key != "row"]
    if stray:
        what = (
            f"there is no such key{nearest(stray[0], ['row'])}; each row is a table that begins with [[row]]"
        )
        return OwnTable(broken=Problem(f"{where}: {given(stray[0])[1:-1]}", what))
    listed = document.get("row", [])
    if not isinstance(listed, list) or len(listed) > _MOST:
        what = f"{given(listed)} given; up to {_MOST} tables that begin with [[row]] are wanted"
        return OwnTable(broken=Problem(f"{where}: row", what))
    good: dict[tuple[str, str, float], KeptRow] = {}
    wrong: list[tuple[str, Problem]] = []
    for number, raw in enumerate(listed, start=1):
        name = str(raw.get("name", "")) if isinstance(raw, Mapping) else ""
        place = f"{where}: row {number}" + (f" ({given(name)[1:-1]})" if name else "")
        try:
            row = KeptRow.model_validate(raw)
            resolve(row.name, row.end, row.native, row.native, row.geometry)
        except ValidationError as error:
            wrong += [(name, _problem(place, dict(each))) for each in error.errors(include_url=False)]
            continue
        except DropleafError as error:
            # Such as radii that close no triangle.
            wrong += [(name, Problem(place, each.what)) for each in error.problems]
            continue
        if row.key in good:
            what = f"there is a row {row.name} for {row.native:g} at the {row.end} already; keep one of them"
            wrong.append((name, Problem(place, what)))
            continue
        good[row.key] = row
    return OwnTable(tuple(good.values()), tuple(wrong))


def _problem(place: str, error: Mapping[str, Any]) -> Problem:
    """Return a validation error in the words of the table."""
    key = ".".join(str(part) for part in error["loc"])
    kind, value, context = error["type"], error["input"], error.get("ctx", {})
    if kind == "blame":
        key = context["path"].removeprefix("interface").removeprefix(".")
        what = context["text"]
    elif kind == "value_error":
        what = str(context["error"])
    elif kind == "missing":
        what = f"missing; {KeptRow.model_fields[key].description}"
    elif kind == "extra_forbidden":
        what = f"there is no such key{nearest(key, KeptRow.model_fields)}"
    elif kind == "literal_error":
        what = f"{given(value)} given; allowed: {context['expected']}"
    elif kind in ("model_type", "model_attributes_type", "dict_type"):
        what = f"{given(value)} given; a table that begins with [[row]] is wanted"
    else:
        what = f"{given(value)} given; {error['msg'][:1].lower()}{error['msg'][1:]}"
    return Problem(f"{place}: {key}" if key else place, what)


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
            return Choice(problem=str(table.broken))
        return Choice(damaged=f"{table.broken}. Your own rows are left out, and {name} is the shipped row.")
    told = next((problem for wrong, problem in table.wrong if wrong == name), None)
    if told is not None:
        return Choice(problem=str(told))
    names = tuple(dict.fromkeys(row.name for row in table.rows))
    mine = [row for row in table.rows if row.name == name]
    here = [row for row in mine if row.end == end]
    if not here:
        if shipped or not mine or end not in ("rear", "front"):
            return Choice(names=names)
        what = f"{name} belongs at the {mine[0].end}, the job says end = {end!r} ({file()})"
        return Choice(problem=what, names=names)
    wanted = _native(mount, name, here)
    row = next((row for row in here if row.native == wanted), None)
    if row is None and not shipped:
        sizes = ", ".join(f"{each.native:g}" for each in here)
        what = (
            f"your row {name} has no numbers for a mount made for {wanted:g}, only for {sizes}; "
            "set mount.native to the size the mount is made for"
        )
        return Choice(problem=what, names=names)
    return Choice(None if row is None else row.document, names=names)


def _native(mount: Mapping[str, Any], name: str, here: Sequence[KeptRow]) -> float:
    """Return the native size that a job asks for, as a shipped row of that name would take it."""
    sizes = natives(name) if name in rows() else tuple(row.native for row in here)
    given_size = mount.get("native")
    if given_size is None:
        given_size = sizes[0] if len(sizes) == 1 else mount.get("rotor")
    try:
        return limits.ROTOR(given_size)
    except ValueError:
        # What is wrong with the size is told where the job is read; any row does until then.
        return here[0].native

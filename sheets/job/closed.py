"""The model that every table of a job file is made from, and what is known where one is read."""

import os

from pydantic import BaseModel, ConfigDict, ValidationInfo

from geometry.core.frozen import dataclass
from geometry.core.say import Say

# pydantic would look through all that is installed for plug-ins, and let them change what a job says.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


@dataclass(frozen=True, slots=True)
class Context:
    """What the keys of a job cannot know: whether it brings a row or a face, and the builder's own rows.

    `problem` says why the row that the job names cannot be had, `names` are those that can.
    """

    own_row: bool = False
    own_face: bool = False
    problem: Say | None = None
    names: tuple[str, ...] = ()


def context(info: ValidationInfo) -> Context:
    """Return what is known where a table is read; nothing of the job where it is read alone."""
    return info.context if isinstance(info.context, Context) else Context()


class Table(BaseModel):
    """A table of the job file: frozen, and closed to keys that it does not know."""

    # Built when it is first read by itself: most tables only ever are as a part of a job.
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True)

    def __eq__(self, other: object) -> bool:
        """Tell whether both have the same values, and were given the same ones: a default may be given too.

        Sheets say what was not measured, so that a job which leaves a number out has other sheets than one
        which gives the number that is usual.
        """
        return (
            isinstance(other, Table)
            and super().__eq__(other) is True
            and self.model_fields_set == other.model_fields_set
        )

    def __hash__(self) -> int:
        """Return a hash by the values; a mapping has none of its own, so its items stand for it."""
        values = (getattr(self, name) for name in type(self).model_fields)
        return hash(tuple(frozenset(each.items()) if isinstance(each, dict) else each for each in values))

"""The model that every table of a job file is made from."""

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of the job file: frozen, and closed to keys that it does not know."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

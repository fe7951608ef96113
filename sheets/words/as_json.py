"""Any value of ours as JSON has it, what is said in the language spoken."""

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from typing import Any

from geometry.core.say import Say
from sheets.words.tell import told

DECIMALS = 6
"""Places to which floats are rounded, a nanometre, so that documents can be compared."""


def as_json(value: Any) -> Any:
    """Return a value as JSON has it: dataclasses by their fields, sequences as lists, what is said told.

    Floats are rounded, and there is no -0.0 among them.
    """
    if isinstance(value, float):
        # numpy's floats are floats too, and JSON should not depend on how they print.
        return round(float(value), DECIMALS) + 0.0
    if isinstance(value, Say):
        return told(value)
    if isinstance(value, dict):
        return {key: as_json(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [as_json(each) for each in value]
    if is_dataclass(value):
        return {each.name: as_json(getattr(value, each.name)) for each in fields(value)}
    return value


def picked(thing: Any, *names: str) -> dict[str, Any]:
    """Return some of a thing's fields and properties by their names, in this order."""
    return {name: getattr(thing, name) for name in names}


VERSION = 1
"""Of every kind of document; raised when one means something else by a key that it had before."""


def headed(kind: str, document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document with its format's name, dropleaf-KIND, and version before everything else."""
    return {"format": f"dropleaf-{kind}", "version": VERSION, **document}

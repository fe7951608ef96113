"""What a model refuses, as problems of the file that it was read from: where by the key's path, and what.

Rules of ours raise RefusedError and have their own words. What pydantic itself refuses has them by its type.
"""

import re
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo

from geometry.core.errors import Problem, RefusedError
from geometry.core.say import Say, say
from geometry.core.tables import hint
from sheets.job.units import given

Loc = tuple[str | int, ...]

BUILT_IN = {
    "missing": "refused.missing",
    "extra_forbidden": "refused.no_such_key",
    "literal_error": "refused.no_choice",
    "string_type": "refused.no_text",
    "model_type": "refused.no_table",
    "dict_type": "refused.no_table",
    "tuple_type": "refused.no_list",
    "too_long": "refused.too_many",
    "bool_type": "refused.no_truth",
    "bool_parsing": "refused.no_truth",
    "float_type": "refused.no_number",
    "finite_number": "units.not_finite",
    "int_type": "refused.no_whole_number",
    "int_parsing": "refused.no_whole_number",
    "int_parsing_size": "refused.no_whole_number",
    "int_from_float": "refused.no_whole_number",
    "greater_than_equal": "refused.too_small",
    "less_than_equal": "refused.too_large",
}
"""What pydantic itself refuses, by its type. What it refuses besides is told in its own words."""


def problems(error: ValidationError, model: type[BaseModel], begins: str = "") -> list[Problem]:
    """Return a problem for each thing that a model refuses, led by the path of its key.

    `begins` is how the table begins in its file that the model describes, such as [[row]], or "" for a file.
    """
    errors: list[Any] = error.errors(include_url=False)
    stray = [each["loc"] for each in errors if each["type"] == "extra_forbidden"]
    meant = [(*loc[:-1], near["name"]) for loc in stray if isinstance(near := _near(model, loc), Say)]
    return [
        _problem(each, model, begins)
        for each in errors
        # A misspelt key that must be there is one mistake and not two.
        if each["type"] != "missing" or each["loc"] not in meant
    ]


def _problem(error: Any, model: type[BaseModel], begins: str) -> Problem:
    # What is wrong with a key of a mapping, and not with what stands there, ends so.
    loc = error["loc"][:-1] if error["loc"][-1:] == ("[key]",) else error["loc"]
    value, more = error["input"], error.get("ctx", {})
    where, refused = path(loc), more.get("error")
    if isinstance(refused, RefusedError):
        if refused.key is not None:
            where = ".".join(each for each in (path(loc[:-1]), refused.key) if each)
        return Problem(where, refused.what)
    if error["type"] not in BUILT_IN:
        return Problem(where, say("refused.other", value=given(value), reason=error["msg"]))
    near: Say | str = ""
    allowed: list[str] = []
    if error["type"] == "extra_forbidden":
        near = _near(model, loc) or say("refused.allowed", keys=", ".join(_fields(_inside(model, loc[:-1]))))
    elif error["type"] == "literal_error":
        allowed = re.findall(r"'([^']+)'", more["expected"])
        near = hint(value, allowed) if isinstance(value, str) else ""
    what = say(
        BUILT_IN[error["type"]],
        value=given(value),
        hint=near,
        allowed=", ".join(allowed),
        wanted=_wanted(model, loc),
        begins=f"[{'.'.join(each for each in (begins.strip('[]'), where) if each)}]" if where else begins,
        count=more.get("actual_length", 0),
        limit=next((more[key] for key in ("max_length", "ge", "le") if key in more), 0),
    )
    return Problem(where, what)


def path(loc: Loc) -> str:
    """Return a key's path as a file writes it: tubes.fork-leg.diameters[1]."""
    text = ""
    for part in loc:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            shown = part if re.fullmatch(r"[A-Za-z0-9_-]{1,60}", part) else given(part)
            text += f".{shown}" if text else shown
    return text


def _near(model: type[BaseModel], loc: Loc) -> Say | str:
    """Return a hint at the known key that is nearest to an unknown one, "" where none is near."""
    return hint(str(loc[-1]), _fields(_inside(model, loc[:-1])))


def _wanted(model: type[BaseModel], loc: Loc) -> Say | str:
    """Return the description of the key at a place; for a table that must be there, how it begins."""
    field = _fields(_inside(model, loc[:-1])).get(str(loc[-1])) if loc else None
    if field is None or not field.description:
        return say("refused.see_samples")
    if _model_in(field.annotation) is None:
        return field.description
    return say("refused.give_table", path=path(loc), about=field.description)


def _inside(model: type[BaseModel], loc: Loc) -> type[BaseModel] | None:
    """Return the model that describes the table at a place, or None where there is none."""
    found: Any = model
    for part in loc:
        if isinstance(part, str):
            field = _fields(_model_in(found)).get(part)
            found = field.annotation if field else None
        else:
            found = _model_in(found, deep=True)
    return _model_in(found)


def _model_in(annotation: Any, deep: bool = False) -> type[BaseModel] | None:
    """Return the model that an annotation is of or that is optional there; `deep`: that of a list's items."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for each in get_args(annotation):
        if isinstance(each, type) or deep:
            found = _model_in(each, deep)
            if found:
                return found
    return None


def _fields(model: type[BaseModel] | None) -> dict[str, FieldInfo]:
    """Return the keys of a table as its file writes them."""
    return {field.alias or name: field for name, field in model.model_fields.items()} if model else {}

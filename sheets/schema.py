"""The JSON schema of a job file, for editors: made from the job's own models, so that it cannot fall behind.

It tells every fault that one key shows by itself: an unknown key, a wrong type, a missing key, a word that is
not in its list, a unit that is not known. Rules that span several keys are left to `dropleaf check`; a schema
cannot know them. They are named in `EXEMPT`.
"""

from typing import Any, cast

from geometry.axles import axles
from sheets.ink.paper import PAPERS
from sheets.keys import Job

DIALECT = "http://json-schema.org/draft-07/schema#"
"""The dialect that editors for TOML know."""
FILE = "job.schema.json"
"""The file name that samples and `start` give the schema beside a job."""
EDITOR_LINE = f"#:schema {FILE}"
"""The first line of a job file by which editors that know TOML find the schema."""

EXEMPT = (
    "how large a number in a string with a unit is",
    "stations in ascending order, a wall that leaves a bore, straight_to above the first station",
    "a host, tubes or brace that do not belong to the end; near below far; one form of [interface]",
    "an interface that no table has, since a job or the builder's own table may bring it",
    "a number that is not finite, and letters that the drafting alphabet lacks",
)
"""What only the models refuse."""


def schema() -> dict[str, Any]:
    """Return the schema of a job file as a JSON document (draft 7)."""
    raw = Job.model_json_schema(mode="validation", ref_template="#/definitions/{model}")
    raw["definitions"] = raw.pop("$defs")
    document = cast(dict[str, Any], _tidy(raw))
    tables = document["definitions"]
    tables["AxleTable"]["properties"]["system"]["enum"] = list(axles())
    tables["PaperTable"]["properties"]["size"]["enum"] = list(PAPERS)
    # The front has one host alone, so the models ask for it at the rear only.
    tables["Mount"]["if"] = {"properties": {"end": {"const": "rear"}}, "required": ["end"]}
    tables["Mount"]["then"] = {"required": ["host"]}
    return {"$schema": DIALECT, **document}


def _tidy(node: Any, names: bool = False) -> Any:
    """Return a part of the schema without what a TOML file cannot hold and without generated titles.

    `names` says that the keys of this part are names and not words of the schema's language.
    """
    if isinstance(node, list):
        return [_tidy(each) for each in node]
    if not isinstance(node, dict):
        return node
    kept: dict[str, Any] = {}
    for key, value in node.items():
        if names:
            kept[key] = _tidy(value)
        elif key == "title" or (key == "default" and value is None):
            continue
        else:
            kept[key] = _tidy(value, names=key in ("properties", "definitions"))
    choices = kept.get("anyOf")
    if choices is not None and not names:
        left = [each for each in choices if each != {"type": "null"}]
        flat: list[Any] = []
        for each in left:
            flat += each["anyOf"] if list(each) == ["anyOf"] else [each]
        if len(flat) == 1:
            kept.pop("anyOf")
            return {**flat[0], **kept}
        kept["anyOf"] = flat
    return kept

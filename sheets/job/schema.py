"""The JSON schema of a job file, for editors: made from the job's own models, so that it cannot fall behind.

It tells every fault that one key shows by itself: an unknown key, a wrong type, a missing key, a word that is
not in its list, a unit that is not known. Rules that span several keys are left to `dropleaf check`; a schema
cannot know them. What only the models refuse is

- how large a number in a string with a unit is
- stations that do not ascend, a wall that leaves no bore, straight_to below the first station
- a host, tubes or brace that do not belong to the end; near beyond far; two forms of [interface]
- a leg that head, rake and axle_to_crown contradict, and a rake as long as axle_to_crown
- an interface that no table has, since a job or the builder's own table may bring it
- a number that is not finite, and letters that the drafting alphabet lacks

They mend the spelling of axle systems and papers: blanks, × and capitals, as in 142 x 12 or letter.
"""

from collections.abc import Iterable
from typing import Any, cast

from geometry.tables.axles import axles
from sheets.ink.paper import PAPERS
from sheets.job.keys import Job

DIALECT = "http://json-schema.org/draft-07/schema#"
"""The dialect that editors for TOML know."""
FILE = "job.schema.json"
"""The file name that samples and `start` give the schema beside a job."""
EDITOR_LINE = f"#:schema {FILE}"
"""The first line of a job file by which editors that know TOML find the schema."""


def schema() -> dict[str, Any]:
    """Return the schema of a job file as a JSON document (draft 7)."""
    raw = Job.model_json_schema(mode="validation", ref_template="#/definitions/{model}")
    raw["definitions"] = raw.pop("$defs")
    document = cast(dict[str, Any], _tidy(raw))
    tables = document["definitions"]
    _named(tables["AxleTable"]["properties"]["system"], axles(), joint="x-")
    _named(tables["PaperTable"]["properties"]["size"], PAPERS)
    # The front has one host alone, so the models ask for it at the rear only.
    tables["Mount"]["if"] = {"properties": {"end": {"const": "rear"}}, "required": ["end"]}
    tables["Mount"]["then"] = {"required": ["host"]}
    tables["Dropout"]["dependencies"] = {"slot_from": ["slot"]}
    blade = ("head", "rake", "axle_to_crown")
    tables["StanceTable"]["dependencies"] = {key: [other for other in blade if other != key] for key in blade}
    return {"$schema": DIALECT, **document}


def _named(entry: dict[str, Any], names: Iterable[str], joint: str = "") -> None:
    """Let a key take its names, which editors offer, and whatever else the models read as one of them.

    That is any capitals, blanks around the name and around each `joint` in it, and × for x.
    """
    known = list(names)
    spelt = "|".join("".join(_letter(sign, joint) for sign in name) for name in known)
    del entry["type"]
    entry["anyOf"] = [{"enum": known}, {"type": "string", "pattern": rf"^\s*({spelt})\s*$"}]


def _letter(sign: str, joint: str) -> str:
    either = f"[{sign.upper()}{sign.lower()}{'×' if sign == 'x' else ''}]" if sign.isalpha() else sign
    return rf"\s*{either}\s*" if sign in joint else either


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

"""What `?` tells about a question: what is meant, its letter on the measuring sheet, what may be answered."""

import functools
from collections.abc import Iterator
from typing import Any, Literal

from sheets.guide.lengths import bounds, shown, units_of
from sheets.guide.question import Answers, Measured, Question
from sheets.job.schema import schema
from sheets.job.units import length, pattern
from sheets.words.lengths import Units
from sheets.words.measures import letter
from sheets.words.tell import told

UNKNOWN_WITHOUT: dict[str, tuple[str, ...]] = {
    "dropout.slot_from": ("slot-unknown",),
    "dropout.thickness": ("outline-thickness",),
    "process.material": ("strength-unknown",),
    "tube.outset": ("clearance-unknown", "no-wrap", "host-unplaced"),
    "tube.splay": ("clearance-unknown", "no-wrap", "host-unplaced"),
    "tube.wall": ("strength-unknown",),
}
"""The findings of level unknown that leaving a question out brings, by their codes."""
_FOUND = {
    "clearance-unknown": "the clearances beside this tube",
    "host-unplaced": "how the mount stands on it, if it carries it",
    "no-wrap": "its wrap",
    "outline-thickness": "the clearances of a dropout whose outline is drawn",
    "slot-unknown": "whether braking pushes the wheel out of its slot",
    "strength-unknown": "whether tube and mount bear the braking",
}


def unknown_without(question: Question) -> tuple[str, ...]:
    """Return the codes of the findings that stay unknown where a question is left out."""
    table, _, rest = question.key.partition(".")
    return UNKNOWN_WITHOUT.get(f"tube.{rest.rpartition('.')[2]}" if table == "tubes" else question.key, ())


def left_out(question: Question) -> str:
    """Return what leaving a question out means: what is taken then, or what check finds unknown."""
    named = [_FOUND[code] for code in unknown_without(question)]
    if not named:
        return question.left
    listed = " and ".join(filter(None, (", ".join(named[:-1]), named[-1])))
    return f"It is then not known, never 0; check will say that it does not know {listed}."


def explained(question: Question, answers: Answers, default: str) -> list[str]:
    """Return what is to be told of a question, a paragraph an item; `default` is what Enter takes."""
    units = units_of(answers)
    paragraphs = about(question, units)
    if choices := question.choices(answers):
        values = ", ".join(value for value, _ in choices)
        paragraphs.append(
            f"Answer {values}, or the number before it. Other names of the trade are asked back."
        )
    if question.optional:
        leaves = "- leaves it out" if default else "Enter or - leaves it out"
        paragraphs.append(f"{leaves}. {left_out(question)}")
    taken = shown(question.lengths, default, units)
    keeps = f"Enter or = takes {taken}. " if default else ""
    return [*paragraphs, f"{keeps}< goes back to the question before."]


def about(question: Question, units: Units) -> list[str]:
    """Return what is meant by a question, its letter on the measuring sheet, and what is allowed."""
    more = question.more_inch if units == "in" and question.more_inch else question.more
    paragraphs = (more or _sentence(described(question.key)) or _sentence(question.why)).split("\n")
    if mark := letter(question.key):
        paragraphs.append(f"On the measuring sheet, which dropleaf blank prints, it is {mark}.")
    if isinstance(question.read, Measured):
        paragraphs.append(_allowed(question.read, units))
    return paragraphs


def _allowed(read: Measured, units: Units) -> str:
    if units == "in" and read.allowed.parse is length:
        least, most = bounds(read.allowed)
        return f"Allowed: {least:g} to {most:g} in; other units so: 16 mm, 1.6 cm."
    low, high, unit = read.allowed.low, read.allowed.high, told(read.allowed.unit)
    also = "; other units so: 0.65 in, 5/8 in, 1.6 cm" if read.allowed.parse is length else ""
    return f"Allowed: {low:g} to {high:g} {unit}{also}.".replace("  ", " ")


def described(key: str) -> str:
    """Return what the job file's schema says of a key, "" for one that it does not have."""
    return str(_node(key).get("description", ""))


def is_length(key: str) -> bool:
    """Tell whether the job file's schema has one length under a key."""
    return any(each.get("pattern") == pattern(length) for each in _node(key).get("anyOf", ()))


def kind(key: str) -> Literal["text", "flag", "list", "number"]:
    """Return what a key takes, by the schema: one text, yes or no, several numbers, or anything else."""
    node = _node(key)
    if node.get("type") in ("string", "boolean"):
        return "text" if node["type"] == "string" else "flag"
    listed = next((each for each in (node, *node.get("anyOf", ())) if each.get("type") == "array"), None)
    if listed is None:
        return "number"
    items = listed["items"] if isinstance(listed["items"], list) else [listed["items"]]
    return "number" if any(each.get("type") == "array" or "$ref" in each for each in items) else "list"


@functools.cache
def keys() -> tuple[str, ...]:
    """Return every key of the job file, by its schema, in its order; a table gives those in it."""
    return tuple(_keys(_whole(), _whole(), ""))


@functools.cache
def _whole() -> dict[str, Any]:
    """Return the schema, which takes longer to make than a picture may; nobody changes this one."""
    return schema()


def _keys(node: dict[str, Any], whole: dict[str, Any], before: str) -> Iterator[str]:
    for name, each in _inside(node, whole)["properties"].items():
        if "properties" in _inside(each, whole):
            yield from _keys(each, whole, f"{before}{name}.")
        else:
            yield f"{before}{name}"


@functools.cache
def _node(key: str) -> dict[str, Any]:
    whole = _whole()
    node: dict[str, Any] = whole
    for part in key.split("."):
        node = _inside(node, whole).get("properties", {}).get(part, {})
    return node


def _inside(node: dict[str, Any], whole: dict[str, Any]) -> dict[str, Any]:
    """Return the table that a node stands for."""
    for each in (node, *node.get("anyOf", ()), *node.get("allOf", ())):
        if "$ref" in each:
            found: dict[str, Any] = whole["definitions"][each["$ref"].rsplit("/", 1)[1]]
            return found
    return node


def _sentence(text: str) -> str:
    """Return a description as a sentence."""
    whole = text.strip()
    return whole if not whole or whole.endswith((".", "?")) else f"{whole[0].upper()}{whole[1:]}."

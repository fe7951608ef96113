"""The answers as a commented job file."""

import json
import re
from collections.abc import Mapping

from sheets.guide.lengths import split
from sheets.guide.mount_questions import slot_degrees
from sheets.guide.tube_questions import PLACES, hosts, place
from sheets.job.schema import EDITOR_LINE

_NUMBER = re.compile(r"[+-]?([0-9]+)(\.[0-9]+)?")
_COLUMN = 34

# Key, and the comment that stands beside it; in the order of the file.
_TABLES: dict[str, dict[str, str]] = {
    "frame": {"id": "names the files", "name": "", "maker": "", "note": ""},
    "mount": {
        "end": "",
        "interface": "dropleaf mounts lists them, with source and grade",
        "native": "the disc that the mount is made for",
        "rotor": "the disc fitted",
        "host": "the tube that carries it; the sheet is laid along it",
        "tilt": "turned about the axle, + with the wheel's forward rotation",
    },
    "axle": {
        "system": "",
        "pocket": "own depth, a side",
        "dummy": "the bar that the sheet slips over",
    },
    "dropout": {
        "thickness": "inner to outer face",
        "slot": "way an open slot lets the wheel out, + forward",
        "slot_from": "what slot is measured from: tube or plumb",
    },
    "stance": {
        "leg": "fork leg to the ground, 90 upright",
        "head": "steerer to the ground",
        "rake": "axle before the steerer's line",
        "axle_to_crown": "in a straight line",
        "chainstay": "chainstay to the ground, + where it falls forward",
    },
    "boss": {
        "thickness": "of the tab",
        "diameter": "outside of posts or bosses",
        "length": "from the mount face",
    },
    "process": {"method": "", "material": "", "filler": ""},
    "bench": {
        "plate": "thickness of the plate that stands square on the dummy axle",
        "spacers": "one entry a piece",
        "pins": "",
    },
    "paper": {
        "size": "",
        "view": "the side from which the sheet is read",
        "units": "in which lengths are told; bare numbers here are mm",
    },
}
_LISTS = ("bench.spacers", "bench.pins")
_TUBE = {
    "wall": "",
    "included": "from the chainstay",
    "offset": "its line beside the axle, seen from the side, + to the mount's side",
    "outset": "middle of the tube level with the axle, outboard of the inner face",
    "splay": "lean towards the middle of the bicycle going up",
}


def job_text(answers: Mapping[str, str]) -> str:
    """Return the job file's text; keys that were left out stand in no line."""
    blocks = [
        f"{EDITOR_LINE}\n"
        "# A brake mount, one job file. Bare numbers are millimetres or degrees; a text may carry a unit:\n"
        '# "3/4 in", "1.9 cm", "62 deg". Draw it with:  dropleaf draw FILE\n'
    ]
    for table, keys in _TABLES.items():
        lines = [
            _line(key, value_text(f"{table}.{key}", answers[f"{table}.{key}"]), comment)
            for key, comment in keys.items()
            if answers.get(f"{table}.{key}")
        ]
        if lines:
            blocks.append("\n".join([f"[{table}]", *lines, ""]))
        if table == "stance":
            blocks += [
                _tube(tube, answers) for tube in hosts(answers) if answers.get(f"tubes.{tube}.place.1")
            ]
    return "\n".join(blocks)


def _tube(tube: str, answers: Mapping[str, str]) -> str:
    stations = [
        place(answers[f"tubes.{tube}.place.{which}"])
        for which in PLACES
        if answers.get(f"tubes.{tube}.place.{which}")
    ]
    listed = ", ".join(f"[{', '.join(map(_number, station))}]" for station in stations)
    lines = [f"[tubes.{tube}]", "# Distance up the tube from the axle, then the outside there."]
    lines.append(f"diameters = [{listed}]")
    lines += [
        _line(key, _number(answers[f"tubes.{tube}.{key}"]), comment)
        for key, comment in _TUBE.items()
        if answers.get(f"tubes.{tube}.{key}")
    ]
    return "\n".join([*lines, ""])


def value_text(key: str, answer: str) -> str:
    """Return an answer as the job file has it under the key of its question."""
    if ".place." in key:
        return f"[{', '.join(map(_number, place(answer)))}]"
    if key == "dropout.slot":
        return _number(slot_degrees(answer))
    if key in _LISTS:
        return listed_text(answer)
    if key.startswith(("frame.", "process.")) or key == "axle.system":
        # A name of digits is a text all the same.
        return _quoted(answer)
    return _number(answer)


def listed_text(answer: str) -> str:
    """Return several numbers as the job file has them."""
    return f"[{', '.join(_number(part) for part in split(answer))}]"


def _number(text: str) -> str:
    """Return a plain number bare, as TOML writes it, and everything else as a text."""
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return _quoted(text)
    sign = "-" if text.strip().startswith("-") else ""
    # TOML takes no zeros before a number.
    return f"{sign}{int(match[1])}{match[2] or ''}"


def _quoted(text: str) -> str:
    # A text that JSON can quote is quoted so in TOML too, but for DEL.
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007F")


def _line(key: str, value: str, comment: str) -> str:
    text = f"{key} = {value}"
    return f"{f'{text} ':<{_COLUMN}}# {comment}" if comment else text

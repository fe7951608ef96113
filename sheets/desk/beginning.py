"""A new frame in the folder: from a sample, from a copy of another frame, or from nothing but its name."""

from geometry.core.errors import InputError, RefusedError
from geometry.core.say import say
from sheets.actions.samples import files_of, put, sample
from sheets.desk.state import Desk
from sheets.files.bounded import decoded, read_bytes
from sheets.guide.entries import set_by_key
from sheets.job.limits import file_name
from sheets.job.schema import EDITOR_LINE
from sheets.job.toml import written

_DEMO = ("frame.name", "frame.maker", "frame.customer", "frame.note")
"""What a sample says of itself, and no frame that is begun from it."""


def begin(desk: Desk, name: str, way: str, of: str) -> str:
    """Put a new job file into the folder and return its name; `way` is "blank", "sample" or "copy" `of` one.

    Raise InputError for a name that no frame can have or that another one has, or a sample that there is not.
    """
    name = name.strip()
    file = desk.job_path(name)
    try:
        # The same reader as everywhere says what a frame may be called; here it was asked for by no key.
        file_name(name)
    except RefusedError as error:
        raise InputError.at("", error.what) from error
    if file.exists():
        raise InputError.at(file.name, say("desk.new.there"))
    beside: dict[str, bytes] = {}
    if way == "sample":
        job = sample(of)
        beside = files_of(job)
        text = beside.pop(job.name).decode()
        for key in _DEMO:
            text = set_by_key(file, text, key, "")
    elif way == "copy":
        text = decoded(read_bytes(desk.job_path(of), ""), "files.not_utf8_mend")
    else:
        text = f"{EDITOR_LINE}\n\n[frame]\nid = {written(name)}\n"
    text = set_by_key(file, text, "frame.id", name)
    put({**beside, file.name: text.encode()}, desk.folder)
    return name

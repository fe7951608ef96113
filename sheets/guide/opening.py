"""What `start` begins with: a new job, the draft of one that was left, or a job that is there."""

from collections.abc import Mapping
from pathlib import Path

from geometry.core.errors import DropleafError, InputError, RefusedError
from sheets.guide.asking import go_on_at, of_file, unknown
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.draft import ENDING, Draft, answers_in, draft_of, drafts, set_apart
from sheets.guide.job_text import job_text
from sheets.guide.lengths import UNITS, units_of
from sheets.guide.mount_questions import with_axle_kind
from sheets.guide.talk import BACK, Talk, agreed, nearest_of, typed
from sheets.job import toml as toml_text
from sheets.job.limits import file_name
from sheets.job.units import given as shown

_JOB = ".toml"


def named(text: str, folder: Path) -> tuple[Path, str, bool]:
    """Return folder and frame id of a job that somebody names, and whether that job is there already.

    A name alone, NAME.draft and NAME.toml are taken, with or without a folder. Raise InputError for what may
    not name a file.
    """
    path = folder / text
    if path.suffix == _JOB:
        return path.parent, path.stem, True
    name = path.name.removesuffix(ENDING)
    try:
        file_name(name)
    except RefusedError as error:
        raise InputError.at("NAME", error.what) from error
    there = not draft_of(path.parent, name).exists() and (path.parent / f"{name}{_JOB}").is_file()
    return path.parent, name, there


def gone_on(
    draft: Draft, name: str, given: Mapping[str, str], talk: Talk
) -> tuple[dict[str, str], str, dict[str, str]]:
    """Return the answers of a draft that is gone on with, the question that comes next, and what is given.

    Without a `name` any draft in the folder may be chosen. What is given beforehand counts before the draft.
    Where nothing is gone on with there are no answers; a draft of that name is then kept apart. Raise
    InputError for a draft that cannot be read.
    """
    if problems := unknown(given):
        raise InputError(*problems)
    one = draft_of(draft.folder, name) if name else None
    listed = drafts(draft.folder) if one is None else [one] if one.exists() else []
    if not listed:
        return {}, "", dict(given)
    chosen = _chosen(listed, talk)
    if chosen is None:
        if one is not None:
            talk.say(f"  It is kept as {set_apart(one)}.")
        return {}, "", dict(given)
    draft.file = chosen
    answers, begin = go_on_at({**_drafted(chosen, given), **with_axle_kind(given)})
    talk.say(f"  {_count(len(answers))} kept; < goes back to them.")
    return answers, begin or QUESTIONS[-1].key, {}


def taken_up(draft: Draft, name: str, given: Mapping[str, str]) -> dict[str, str]:
    """Return the answers of the draft of a frame's id without asking, none where there is none.

    What is `given` beforehand may say other units than the draft. Raise InputError for a draft that cannot
    be read.
    """
    file = draft_of(draft.folder, name) if name else None
    if file is None or not file.exists():
        return {}
    draft.file = file
    return _drafted(file, given)


def _drafted(file: Path, given: Mapping[str, str]) -> dict[str, str]:
    """Return the answers of a draft, where a bare length is mm, for the units that are asked for."""
    found = answers_in(file)
    return of_file(found, units_of({**found, **given}))


def units_in(folder: Path, name: str, there: bool) -> str:
    """Return the units that a job or draft of this name says, "" for none; what is wrong is told later."""
    file = folder / f"{name}{_JOB}" if there else draft_of(folder, name)
    if not name or not file.is_file():
        return ""
    try:
        document = toml_text.document_in(file, "a job file takes about 2 kB")
    except DropleafError:
        return ""
    paper = document.get("paper")
    return str(document.get(UNITS) or (paper.get("units", "") if isinstance(paper, dict) else ""))


def with_settings(given: Mapping[str, str], typed: Mapping[str, str], there: str) -> dict[str, str]:
    """Return what was given in files with what was typed on the command line, which counts before it.

    Where the job will tell inches, a bare length of a file is marked as mm, and one that was typed is left to
    be read as inches. `there` are the units of a job or draft that is there.
    """
    units = units_of({UNITS: there, **given, **typed})
    return {**of_file(given, units), **typed}


def _chosen(listed: list[Path], talk: Talk) -> Path | None:
    """Ask which draft to go on with; None for a fresh start."""
    talk.say("")
    explain = (
        "A draft holds every answer that was given before start was left. Gone on with, it asks only what is "
        "still open. n begins a new job and leaves the draft where it is, or puts it apart where the new job "
        "has its name."
    )
    if len(listed) == 1:
        talk.say(f"A job was begun here and not finished: {_told(listed[0])}.")
        question = "Go on with it?  (Enter or y: go on; n: begin anew, and the draft stays)"
        return listed[0] if agreed(talk, question, True, explain) else None
    talk.say("Jobs were begun here and not finished. Which do you go on with?  (n: none, begin anew)")
    for number, each in enumerate(listed, 1):
        talk.say(f"  {number}  {_told(each)}")
    known = {str(number): each for number, each in enumerate(listed, 1)}
    known |= {each.name.removesuffix(ENDING).lower(): each for each in listed}

    def read(text: str) -> tuple[Path | None]:
        word = text.lower()
        if word in BACK:
            raise ValueError("This is the first question.")
        if word in ("n", "no", "none", "anew"):
            return (None,)
        found = known.get(word.removesuffix(ENDING) or "1")
        if found is None:
            raise ValueError(f"{shown(text)} given; answer a number from 1 to {len(listed)}, or n")
        return (found,)

    answer = typed(talk, "  [1]", read, back=(), explain=lambda: (explain,), means=nearest_of(*known, "none"))
    return answer[0] if answer else None


def other_name(
    folder: Path, answers: Mapping[str, str], text: str, talk: Talk
) -> tuple[dict[str, str], str, bool] | None:
    """Return answers and job text, and whether to write over the job file of their name.

    Where one is there, it is asked whether to write over it, or for another name; None goes back.
    """
    found = dict(answers)
    explain = (
        "Another name keeps both files. over puts this job in the place of the one that is there.",
        "< goes back to the last question.",
    )
    while (target := folder / f"{found['frame.id']}{_JOB}").exists():
        talk.say("")
        talk.say(f"{target} is there already, and it is not written over unless you say so.")
        talk.say("Which other number or short name has this frame?  (over: write over that file)")

        def read(word: str) -> str:
            if not word:
                raise ValueError("An answer is needed here: another name, or over.")
            return file_name(word)

        answer = typed(talk, "  [needed]", read, back=BACK[:1], explain=lambda: explain)
        if answer is None:
            return None
        if answer.lower() == "over":
            return found, text, True
        found["frame.id"] = answer
        text = job_text(found)
    return found, text, False


def _told(file: Path) -> str:
    try:
        return f"{file.name}, {_count(len(answers_in(file)))}"
    except InputError:
        # What is wrong with it is told where it is chosen.
        return file.name


def _count(number: int) -> str:
    return "1 answer" if number == 1 else f"{number} answers"

"""A job file that is there, opened to change what it says: comments and order stay, and nothing is written
before it is shown what the change does. Until then every change is kept beside it, see draft.py."""

import functools
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from geometry.core.errors import DeliveryError, DropleafError, InputError, Problem
from geometry.core.meant import meant
from sheets.actions.changed import changed_lines
from sheets.actions.check import Checked, report
from sheets.files.bounded import blaming
from sheets.files.record import digest
from sheets.files.write.deliver import staging
from sheets.guide.asking import asked
from sheets.guide.draft import changes_in, changes_of, keep_changes, set_apart
from sheets.guide.entries import Entry, answers_of, entries, set_by_key, values, with_entry
from sheets.guide.explain import described
from sheets.guide.lengths import UNITS, bare_is
from sheets.guide.lengths import shown as shown_so
from sheets.guide.talk import Talk, agreed, typed
from sheets.home.folder import alone
from sheets.home.jobs import from_bytes
from sheets.home.toml_file import document_of, text_of
from sheets.job.units import given as shown
from sheets.words.lengths import telling
from sheets.words.measures import letter
from sheets.words.tell import lines, reason

_USUAL = "a job file takes about 2 kB"


def changed(
    file: Path, given: Mapping[str, str], talk: Talk | None, show: Callable[[str], None]
) -> Path | None:
    """Change a job file by what is given, then by what is typed; return it, or None where it stays as it was.

    Without a `talk` what is given is written at once; `show` is handed what it does, a line each. With one,
    changes that were begun and not written may be gone on with. Raise InputError for a key that the job
    cannot have and for what cannot be read.
    """
    before = text = text_of(file, _USUAL, must_be=True)
    begun = changes_of(file)
    if talk is not None and begun.is_file():
        text = _gone_on(file, text, talk)
    problems: list[Problem] = []
    # The units first, since they say what the other answers are.
    for key, answer in sorted(given.items(), key=lambda item: item[0] != UNITS):
        try:
            text = set_by_key(file, text, key, answer)
        except DropleafError as error:
            problems += error.problems
    if problems:
        raise InputError(*problems)
    if talk is None:
        with blaming(file):
            _checked(file, text)
    for line in _effect(file, before, before, text) if text != before else ():
        show(f"  {line}")
    if talk is not None:
        # What is kept there from now on is ours, unless somebody else, as a page of the desk, replaces it.
        kept = _Kept(file, digest(before.encode()))
        text = _talked(file, before, text, talk, kept)
    if text == before:
        if talk is not None:
            kept.done()
        return None
    with alone(file):
        if talk is not None:
            kept.compared()
        write(file, before, text)
        if talk is not None:
            kept.done()
    return file


class _Kept:
    """The changes beside a file, of which a run knows what it found or put there last."""

    def __init__(self, file: Path, of: str) -> None:
        self.file, self.of = file, of
        self.seen = self._there()

    def keep(self, changes: Mapping[str, str]) -> None:
        """Keep changes in place of those that were kept last; raise DeliveryError where others lie there."""
        with alone(self.file):
            self.compared()
            keep_changes(self.file, changes, self.of)
            self.seen = self._there()

    def done(self) -> None:
        """Take the changes away; raise DeliveryError where others lie there."""
        self.keep({})

    def compared(self) -> None:
        """Raise DeliveryError where other changes lie there than were found or put there last."""
        if self._there() != self.seen:
            raise DeliveryError(Problem(str(changes_of(self.file)), _OTHERS))

    def _there(self) -> bytes | None:
        try:
            return changes_of(self.file).read_bytes()
        except FileNotFoundError:
            return None
        except OSError as error:
            what = f"cannot be read: {error.strerror}; move it away"
            raise DeliveryError(Problem(str(changes_of(self.file)), what)) from error


_OTHERS = (
    "was changed by another program meanwhile, as by a page of the desk; it is left as it is, and the last "
    "change here is not kept; begin again, and go on with what it holds"
)


def _gone_on(file: Path, text: str, talk: Talk) -> str:
    """Ask whether changes that were begun are gone on with, and return the job's text with them if so."""
    begun = changes_of(file)
    kept = changes_in(begun)
    talk.say("")
    talk.say(f"Changes of {file} were begun and not written:")
    for key, value in kept.items():
        talk.say(f"  {key}: {value or 'taken out'}")
    explain = f"They are kept in {begun}. The job itself is as it was. n keeps them there under another name."
    if not agreed(talk, "Go on with them?  (Enter or y: go on; n: begin anew)", True, explain):
        talk.say(f"  They are kept as {set_apart(begun)}.")
        return text
    return with_changes(file, text, kept)


def with_changes(file: Path, text: str, kept: Mapping[str, str]) -> str:
    """Return a job's text with changes that were kept; raise InputError as `set_by_key`."""
    # What goes is taken out from the end, so that the places before it keep their numbers.
    gone = [key for key, value in kept.items() if not value]
    for key in (*reversed(gone), *(key for key in kept if kept[key])):
        text = set_by_key(file, text, key, kept[key], filed=True)
    return text


def changes_between(file: Path, before: str, text: str) -> dict[str, str]:
    """Return what a job's text changes, by key, the units first, since they say what the others are."""
    was, now = values(file, before), values(file, text)
    moved = {key: now.get(key, "") for key in {**was, **now} if was.get(key, "") != now.get(key, "")}
    return dict(sorted(moved.items(), key=lambda item: item[0] != UNITS))


def _talked(file: Path, before: str, text: str, talk: Talk, kept: _Kept) -> str:
    """Ask what to change until there is no more, and whether to write it; return the text that is wanted."""
    earlier: list[str] = []
    talk.say("")
    talk.say(f"{file} says:")
    for line in _list(entries(document_of(file, text))):
        talk.say(line)
    while True:
        kept.keep(changes_between(file, before, text))
        entry = _asked_for(entries(document_of(file, text)), talk)
        if entry is None and earlier:
            last, text = text, earlier.pop()
            again = [f"So the job is again as {file} has it."] if text == before else []
            for line in ("The last change is taken back.", *_effect(file, last, last, text), *again):
                talk.say(f"  {line}")
        elif entry is None:
            talk.say("  Nothing has been changed that could be taken back. Enter alone leaves.")
        elif entry != _NONE:
            tried = _one(file, before, text, entry, talk)
            earlier += [text] if tried != text else []
            text = tried
        elif text == before:
            talk.say("Nothing is changed.")
            return before
        elif wrong := _refused(file, text):
            for line in wrong:
                talk.say(f"  {line}")
            question = "So it cannot be written. Change more?  (Enter: yes; n: leave the file as it was)"
            explain = "What is named above has to be changed first. n gives up all changes."
            if agreed(talk, question, True, explain, back=True) is False:
                talk.say(f"{file} stays as it was.")
                return before
        else:
            wanted = _agreed(file, before, text, talk)
            if wanted is not None:
                return wanted


def _list(listed: list[Entry]) -> list[str]:
    """Return what may be changed: what is given or asked for by number, then the other keys by table."""
    numbered = [f"{number:>4}  {each.line}" for number, each in enumerate(listed, 1) if not each.rare]
    tables: dict[str, list[str]] = {}
    for each in listed:
        if each.rare:
            table, _, name = each.key.partition(".")
            tables.setdefault(table, []).append(name)
    return [
        *numbered,
        "  Not given either, and chosen by their keys, as axle.heads:",
        *(f"    {table}: {', '.join(names)}" for table, names in tables.items()),
    ]


def _asked_for(listed: list[Entry], talk: Talk) -> Entry | None:
    """Ask which answer is changed; _NONE for no more, None to take the last change back."""
    talk.say("")
    talk.say(
        "Which do you change?  (number, letter or key; ? lists all; < takes the last back; Enter: no more)"
    )
    return typed(
        talk,
        "  [no more]",
        lambda word: _which(word, listed),
        # b is the letter of a boss's outside.
        back=("<", "back"),
        explain=lambda: _list(listed),
        means=_means(listed),
    )


_NONE = Entry("", (), "", None)


def _which(word: str, listed: list[Entry]) -> Entry:
    if not word:
        return _NONE
    usual = [each for each in listed if not each.rare]
    if word.isdigit() and 0 < int(word[:6]) <= len(usual):
        return usual[int(word[:6]) - 1]
    found = [each for each in listed if each.key == word.lower()]
    # A key that is rare is named whole: "disc" is rather the rotor than a word of the paper's.
    found = found or [each for each in usual if letter(each.key) == word.upper()]
    found = found or [each for each in usual if word.lower() == each.key.rpartition(".")[2]]
    if len(found) == 1:
        return found[0]
    if found:
        raise ValueError(f"{shown(word)} is one of {', '.join(each.key for each in found)}; give one of them")
    raise ValueError(f"{shown(word)} is not in the list; give a number from 1 to {len(usual)}, or a key")


def _means(listed: list[Entry]) -> Any:
    def means(word: str) -> str:
        keys = [each.key for each in listed if not each.rare]
        every = [each.key for each in listed]
        lasts, all_lasts = ({key.rpartition(".")[2]: key for key in reversed(some)} for some in (keys, every))
        usual = meant(word, keys, sure=True) or lasts.get(meant(word, lasts, sure=True), "")
        rare = meant(word, every, sure=True) or all_lasts.get(meant(word, all_lasts, sure=True), "")
        return usual or rare or meant(word, every) or all_lasts.get(meant(word, all_lasts), "")

    return means


def _one(file: Path, before: str, text: str, entry: Entry, talk: Talk) -> str:
    """Ask for one new value and show what it does; return the text with it, or without where it goes back."""
    answers = answers_of(entries(document_of(file, text)))
    if entry.question is not None:
        answer = asked(entry.question, answers, talk)
    else:
        answer = _value(file, text, entry, talk)
    if answer is None or answer == entry.value:
        talk.say("  It stays as it is.")
        return text
    try:
        tried = with_entry(file, text, entry, answer, answers)
    except (InputError, ValueError) as error:
        for line in lines(error) if isinstance(error, InputError) else [reason(error)]:
            talk.say(f"  {line}")
        return text
    for line in _effect(file, before, text, tried):
        talk.say(f"  {line}")
    return text if _refused(file, tried) and not _again(talk) else tried


def _value(file: Path, text: str, entry: Entry, talk: Talk) -> str | None:
    """Ask for the value of a key that no question has, which is refused at once where the job refuses it."""
    what = described(entry.key) or "a value as TOML has it"
    unit = f"; {bare_is(entry.units)}" if entry.shape and bare_is(entry.units) else ""
    talk.say("")
    talk.say(f"{entry.key}?  ({what}{unit})")
    offered = shown_so(entry.shape, entry.value, entry.units)
    answers = answers_of(entries(document_of(file, text)))

    def read(word: str) -> str:
        if word in ("", offered):
            return entry.value
        tried = with_entry(file, text, entry, word, answers)
        wrong = [line for line in _refused(file, tried) if line.startswith(f"{entry.key}:")]
        if wrong:
            raise ValueError("; ".join(wrong))
        return word

    explain = (
        f"{what[0].upper()}{what[1:]}.",
        f"{'Enter keeps it, - takes it out' if entry.value else 'Enter or - leaves it out'}; < goes back.",
    )
    return typed(talk, f"  [{offered or 'not given'}]", read, back=("<",), explain=lambda: explain)


def _effect(file: Path, before: str, last: str, text: str) -> list[str]:
    """Return what a change does, or why the job is refused with it.

    Where there were changes before it, it is set beside the job with them, and then all beside the file.
    """
    try:
        after = _checked(file, text)
    except DropleafError as error:
        return lines(error)
    alone = _moved(file, last, after)
    if last == before or (text != before and alone == _moved(file, before, after)):
        return alone
    if text == before:
        return ["This change alone:", *alone, f"So the job is again as {file} has it."]
    return [
        "This change alone:",
        *alone,
        f"All changes together, against {file}:",
        *_moved(file, before, after),
    ]


def _moved(file: Path, before: str, after: Checked) -> list[str]:
    try:
        with telling(after.source.job.paper.units):
            return changed_lines(_checked(file, before), after)
    except DropleafError as error:
        return [f"Before, this job was refused: {line}" for line in lines(error)] + ["Now it can be drawn."]


def _again(talk: Talk) -> bool:
    """Ask whether a job that is refused so is changed further; else the last change is taken back."""
    question = (
        "So it cannot be written. Change what is named there too?  (Enter or y: yes; < or n: take it back)"
    )
    explain = "What is named above does not go with the change. Enter asks which answer to change next."
    return bool(agreed(talk, question, True, explain, back=True))


def _agreed(file: Path, before: str, text: str, talk: Talk) -> str | None:
    """Return the text that is to stand in the file, None to go on changing."""
    talk.say("")
    question = f"Write this over {file}?  (y: write; n: leave the file as it was; <: back to the list)"
    explain = "y puts the changed job in the file's place. n gives up all changes. < changes more before."
    wanted = agreed(talk, question, None, explain, back=True)
    if wanted is False:
        talk.say(f"{file} stays as it was.")
    return None if wanted is None else text if wanted else before


def _refused(file: Path, text: str) -> list[str]:
    try:
        _checked(file, text)
    except DropleafError as error:
        return lines(error)
    return []


@functools.lru_cache(maxsize=8)
def _checked(file: Path, text: str) -> Checked:
    # The job as it was and the one tried last are looked at again and again.
    return report(from_bytes(text.encode(), file))


def write(file: Path, before: str, text: str) -> None:
    """Put the changed job in place; raise DeliveryError where somebody else has changed it meanwhile."""

    def check() -> None:
        if text_of(file, _USUAL, must_be=True) != before:
            raise DeliveryError(Problem(str(file), "was changed by another program meanwhile; begin again"))

    with staging(file.parent, check=check) as stage:
        (stage / file.name).write_text(text, encoding="utf-8", newline="")

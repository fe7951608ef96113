"""Asking the questions of `start`, or settling them without asking anybody."""

from collections.abc import Callable, Mapping

from geometry.core.errors import InputError, Problem
from geometry.core.meant import leaves_out
from sheets.guide.bench_questions import QUESTIONS
from sheets.guide.explain import explained, left_out, unknown_without
from sheets.guide.lengths import bare_is, in_file, shown, told_back, units_of
from sheets.guide.lengths import each as each_length
from sheets.guide.mount_questions import with_axle_kind
from sheets.guide.question import Answers, Question
from sheets.guide.talk import BACK, Talk, in_turn, typed
from sheets.words.lengths import Units, telling
from sheets.words.measures import letter
from sheets.words.tell import nearest, reason

_LEAVE_OUT = "-"


def unknown(given: Mapping[str, str]) -> list[Problem]:
    """Return a problem for each key that no question has, with the nearest one."""
    known = [question.key for question in QUESTIONS]
    return [
        Problem(key, f"no question has this key{nearest(key, known)}") for key in given if key not in known
    ]


def listed() -> str:
    """Return every question's key with its words, a line each, for those who answer by keys."""
    wide = max(len(question.key) for question in QUESTIONS)
    return "\n".join(f"{question.key:<{wide}}  {question.ask}  ({question.why})" for question in QUESTIONS)


def of_file(answers: Mapping[str, str], units: Units) -> dict[str, str]:
    """Return answers of a file, where a bare length is mm, for questions asked in these units."""
    shapes = {question.key: question.lengths for question in QUESTIONS}
    return {
        key: each_length(shapes.get(key, ""), text, lambda one: in_file(one, units))
        if units == "in"
        else text
        for key, text in answers.items()
    }


def settle(given: Mapping[str, str]) -> dict[str, str]:
    """Return the answers of every question that comes up, from `given` and the defaults, asking nobody.

    Raise InputError with a problem for each answer that cannot be read, each that is missing, and each key
    that no question has.
    """
    with telling(units_of(given)):
        return _settled(given)


def _settled(given: Mapping[str, str]) -> dict[str, str]:
    answers: dict[str, str] = {}
    problems = unknown(given)
    given = with_axle_kind(given)
    for question in QUESTIONS:
        if not _comes_up(question, answers, given):
            continue
        text = given.get(question.key, "").strip() or question.default(answers)
        if not text and not question.optional:
            problems.append(Problem(question.key, f"missing; {question.ask} ({question.why})"))
        try:
            answers[question.key] = question.read(text, answers) if text else ""
        except ValueError as error:
            near = question.means(text, answers)
            asked_back = f"; did you mean {near}?" if near else ""
            problems.append(Problem(question.key, f"{reason(error)}{asked_back}"))
            answers[question.key] = question.default(answers)
    if problems:
        raise InputError(*problems)
    return answers


def ask_all(
    given: Mapping[str, str],
    talk: Talk,
    start: str = "",
    before: Mapping[str, str] | None = None,
    keep: Callable[[Mapping[str, str]], None] = lambda answers: None,
) -> dict[str, str]:
    """Return the answers to every question that comes up.

    What `given` answers well is taken and told, and not asked; one may still go back to it. With `start`
    asking begins at that question, the answers `before` it kept as defaults. `keep` is handed all answers
    after each one. Raise InputError for a key in `given` that no question has.
    """
    if problems := unknown(given):
        raise InputError(*problems)
    answers: dict[str, str] = dict(before or {})
    fresh = with_axle_kind(given)

    def ask(index: int) -> bool | None:
        question = QUESTIONS[index]
        if not _comes_up(question, answers, fresh):
            answers.pop(question.key, None)
            return False
        if (text := fresh.pop(question.key, "").strip()) and _taken(question, text, answers, talk):
            keep(answers)
            return True
        answer = asked(question, answers, talk)
        if answer is None:
            return None
        answers[question.key] = answer
        keep(answers)
        return True

    begin = next((i for i, question in enumerate(QUESTIONS) if question.key == start), 0)
    earlier = [i for i in range(begin) if QUESTIONS[i].key in answers]
    in_turn(talk, len(QUESTIONS), ask, "This is the first question.", begin, earlier)
    return answers


def _comes_up(question: Question, answers: Answers, given: Mapping[str, str]) -> bool:
    """Tell whether a question comes up; one that is asked where it is needed does where it is answered."""
    own = given.get(question.key, "")
    return question.when({**answers, question.key: own} if own else answers)


def go_on_at(before: Mapping[str, str]) -> tuple[dict[str, str], str]:
    """Return the answers of an unfinished job that can still be read, and the question that comes next.

    That is the first that comes up and has no answer, or one that can no longer be read; "" where all have.
    """
    answers: dict[str, str] = {}
    for question in QUESTIONS:
        if not _comes_up(question, answers, before):
            continue
        if question.key not in before:
            break
        text = before[question.key]
        try:
            answers[question.key] = question.read(text, answers) if text else _left_out(question)
        except ValueError:
            break
    else:
        return answers, ""
    return {**before, **answers}, question.key


def _left_out(question: Question) -> str:
    if not question.optional:
        raise ValueError("needed")
    return ""


def _taken(question: Question, text: str, answers: dict[str, str], talk: Talk) -> bool:
    """Keep an answer that was given beforehand, and tell it; say why where it cannot be read."""
    try:
        answers[question.key] = question.read(text, answers)
    except ValueError as error:
        talk.say(f"  {question.key}: {reason(error)}")
        return False
    talk.say(f"  {question.ask} {text}")
    return True


def asked(question: Question, answers: Answers, talk: Talk) -> str | None:
    """Return an answer that can be read, "" for a question left out, or None for the way back.

    Lengths are told in the units of the answers.
    """
    with telling(units_of(answers)):
        return _asked(question, answers, talk)


def _asked(question: Question, answers: Answers, talk: Talk) -> str | None:
    units = units_of(answers)
    choices = question.choices(answers)
    # An answer given before, to which one has come back, is the one to keep.
    default = answers.get(question.key) or question.default(answers)
    try:
        default = question.read(default, answers) if default else ""
    except ValueError:
        default = question.default(answers)
    talk.say("")
    mark = letter(question.key)
    why = question.why_inch if units == "in" and question.why_inch else question.why
    why = f"{why}; {bare_is(units)}" if question.lengths and bare_is(units) else why
    talk.say(f"{mark}: {question.ask}  ({why})" if mark else f"{question.ask}  ({why})")
    for number, (value, words) in enumerate(choices, 1):
        told = words.lower().startswith(value.lower())
        talk.say(f"  {number}  {words if told else f'{value}: {words}'}")
    if default == question.default(answers) and (proposed := question.proposes(answers)):
        talk.say(f"  {proposed}")
    offered = shown(question.lengths, default, units) if default else ""
    prompt = offered or ("Enter: leave out" if question.optional else "needed")
    last = ""

    def read(text: str) -> str:
        nonlocal last
        # What is shown rounded is kept as it is where it is typed again.
        last, text = text, default if text in ("", offered) else text
        if question.optional and (text in ("", _LEAVE_OUT) or leaves_out(text)):
            return ""
        enter = f"Enter takes {offered}, " if offered else ""
        needed = (
            f"An answer is needed here; {enter}? explains, < goes back, Ctrl-C keeps all for another day."
        )
        if not text or text == _LEAVE_OUT:
            raise ValueError(needed)
        try:
            return question.read(text, answers)
        except ValueError as error:
            if leaves_out(text) and not question.means(text, answers):
                raise ValueError(needed) from error
            raise

    # Where a question has something that others call "back", as the rear, < alone goes back.
    back = BACK[:-1] if question.means(BACK[-1], answers) else BACK
    answer = typed(
        talk,
        f"  [{prompt}]",
        read,
        back=back,
        explain=lambda: explained(question, answers, default),
        means=lambda text: question.means(text, answers),
    )
    if answer and (back_in_both := told_back(question.lengths, last, answer, units)):
        talk.say(f"  {back_in_both}")
    if answer == "" and (last or unknown_without(question)):
        talk.say(f"  Left out. {left_out(question)}")
    follows = question.follows({**answers, question.key: answer}) if answer else ""
    if follows:
        talk.say(f"  {follows}")
    return answer

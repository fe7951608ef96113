"""The verdict on a surveyed mount: right, usable with remedy, not usable, or cannot tell."""

from collections.abc import Sequence
from typing import Literal

from geometry.core.frozen import dataclass
from geometry.core.say import Say, also, say
from geometry.survey.plan import Asked
from geometry.survey.remedy import UNKNOWN, Remedy, Shop, remedies
from geometry.survey.survey import Contradiction, Miss, Survey

Word = Literal["right", "usable with remedy", "not usable", "cannot tell"]
TURN = say("survey.turn_unseen")
_AWAY = 6
"""Readings of a group named at most in a sentence."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The word, its reasons, what to do, and what was not seen and does not count.

    `next` are the keys of the readings to take next, the one that settles most first, for "cannot tell".
    """

    word: Word
    reasons: tuple[Say, ...]
    remedies: tuple[Remedy, ...]
    unseen: tuple[Say, ...]
    next: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Return whether the mount may be used, as it is or once the remedy is done."""
        return self.word in ("right", "usable with remedy")

    @property
    def says(self) -> Say:
        """Return what a survey is, and when this mount is ridden."""
        return say("survey.says", ridden=say(f"survey.ridden.{self._until}"))

    @property
    def _until(self) -> str:
        """Return after what the mount is ridden, as the table of sentences has it."""
        doing = {each.kind for each in self.remedies}
        if self.word in ("right", "not usable"):
            return "within" if self.word == "right" else "never"
        for kind in ("offer", "ask"):
            if kind in doing:
                return kind
        if self.word == "cannot tell":
            return "again"
        # Only facing moves what is measured; after another remedy a new survey would read the same.
        return "face" if "face" in doing else "done"


def judge(survey: Survey, shop: Shop = UNKNOWN, further: Sequence[Asked] = ()) -> Verdict:
    """Return the verdict on a survey; `further` are the readings that would settle what is open, in order.

    Readings that contradict are judged no further. What is surely beyond help is not usable, whatever else is
    uncertain; then comes what is missing, and what straddles its limit at 95 %. What has a limit and was not
    measured leaves every other verdict open.
    """
    unseen = _unseen(survey)
    if survey.contradictions:
        told = tuple(contradiction(each) for each in survey.contradictions)
        again = tuple(dict.fromkeys(key for each in survey.contradictions for key in each.keys))
        return Verdict("cannot tell", told, (), unseen, again)
    doing = remedies(survey, shop)
    limited = [each for each in survey.misses if each.limit is not None]
    beyond = tuple(_reason("beyond", each) for each in limited if each.state == "beyond")
    if any(each.kind == "redo" for each in doing):
        return Verdict("not usable", beyond, doing, unseen)
    if survey.recall is not None:
        return Verdict("cannot tell", (survey.recall.fits, *beyond), doing, unseen)
    lacking = tuple(_reason("unknown", each) for each in limited if each.state == "unknown")
    unsure = tuple(_reason("unsure", each) for each in limited if each.state == "unsure")
    if lacking or unsure:
        after = (read_next(further),) if further else ()
        keys = tuple(each.taken.key for each in further)
        return Verdict("cannot tell", (*lacking, *unsure, *after, *beyond), doing, unseen, keys)
    if any(each.kind == "ask" for each in doing):
        return Verdict("cannot tell", beyond, doing, unseen)
    # Nothing is usable while one error beyond its limit has no remedy of its own.
    answered = {key for each in doing for key in each.answers}
    if any(each.state == "beyond" and each.key not in answered for each in survey.misses):
        return Verdict("not usable", beyond, doing, unseen)
    between = tuple(
        _reason("between", each) for each in limited if each.state == "within" and each.lies_between
    )
    return Verdict("usable with remedy" if doing else "right", (*beyond, *between), doing, unseen)


def _reason(why: str, each: Miss) -> Say:
    return say(f"survey.reason.{why}", name=each.name, found=each.words, allowed=each.allowed)


def read_next(further: Sequence[Asked]) -> Say:
    """Return which readings to take next, and how often."""
    told = (
        say("survey.next.times", name=each.taken.reading.name, times=each.times)
        if each.times > 1
        else each.taken.reading.name
        for each in further
    )
    return say("survey.next.readings", readings=also(told))


def contradiction(each: Contradiction) -> Say:
    """Return what contradicts: the one reading, or the group that disagrees."""
    shown = [f"{key} {value:.2f}" for key, value in zip(each.keys, each.shown, strict=True)]
    if each.sole:
        return say("survey.contradicts.one", reading=shown[0], by=each.by)
    some: Say | str = ", ".join(shown[:_AWAY])
    if len(shown) > _AWAY:
        some = say("survey.contradicts.more", some=some, count=len(shown) - _AWAY)
    ways = [any(key.endswith(way) for key in each.keys) for way in ("-over", "-between")]
    code = "survey.contradicts.over_and_between" if all(ways) else "survey.contradicts.group"
    return say(code, readings=some, by=abs(each.by))


def _unseen(survey: Survey) -> tuple[Say, ...]:
    """Return what the readings do not show and the verdict does without."""
    turn = survey.miss("turn")
    said = [TURN] if turn is None or turn.limit is None else []
    if survey.unchecked:
        said.append(say("survey.unchecked", readings=", ".join(survey.unchecked)))
    return tuple(said)

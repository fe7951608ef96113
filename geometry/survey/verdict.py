"""The verdict on a surveyed mount: right, usable with remedy, not usable, or cannot tell."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from geometry.survey.plan import Asked
from geometry.survey.recall import Recall
from geometry.survey.remedy import UNKNOWN, Remedy, Shop, remedies
from geometry.survey.survey import Contradiction, Survey

Word = Literal["right", "usable with remedy", "not usable", "cannot tell"]
SAYS = "A record of readings, no test and no claim that anything conforms to a standard."
TURN = (
    "Distances from the axle do not see a turn about the axle, and with this job no hole can be read to the "
    "host tube: it is not judged. Give that tube's diameters, from below the mount on."
)
_AWAY = 6
"""Readings of a group named at most in a sentence."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The word, its reasons in sentences, what to do, and what was not seen and does not count.

    `next` are the keys of the readings to take next, the one that settles most first, for "cannot tell".
    """

    word: Word
    reasons: tuple[str, ...]
    remedies: tuple[Remedy, ...]
    unseen: tuple[str, ...]
    next: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Return whether the mount may be used, as it is or once the remedy is done."""
        return self.word in ("right", "usable with remedy")

    @property
    def says(self) -> str:
        """Return the closing sentences: what a survey is, and when this mount is ridden."""
        return f"{SAYS} {self._ridden}"

    @property
    def _ridden(self) -> str:
        if self.word == "right":
            return "A brake mount that is out of tolerance is not ridden."
        if self.word == "not usable":
            return "This mount is out of tolerance: it is not ridden."
        if any(each.kind == "offer" for each in self.remedies):
            return "Until a caliper was offered up and found to sit right, it is not ridden."
        if any(each.kind == "ask" for each in self.remedies):
            return "Until the caliper's maker has answered and the mount is found to do, it is not ridden."
        if self.word == "cannot tell":
            return "Until it is measured again and a verdict found, it is not ridden."
        # Only facing moves what is measured; after another remedy a new survey would read the same.
        if any(each.kind == "face" for each in self.remedies):
            return "Until its remedy is done and the mount surveyed again, it is not ridden."
        return "Until its remedy is done and looked over, it is not ridden."


def judge(survey: Survey, shop: Shop = UNKNOWN, further: Sequence[Asked] = ()) -> Verdict:
    """Return the verdict on a survey; `further` are the readings that would settle what is open, in order.

    Readings that contradict are judged no further. What is surely beyond help is not usable, whatever else is
    uncertain; then comes what is missing, and what straddles its limit at 95 %. What has a limit and was not
    measured leaves every other verdict open.
    """
    unseen = _unseen(survey)
    if survey.contradictions:
        told = tuple(contradiction_words(each) for each in survey.contradictions)
        again = tuple(dict.fromkeys(key for each in survey.contradictions for key in each.keys))
        return Verdict("cannot tell", told, (), unseen, again)
    doing = remedies(survey, shop)
    beyond = tuple(
        f"{each.name}: {each.words}, allowed {each.allowed}."
        for each in survey.misses
        if each.state == "beyond" and each.limit is not None
    )
    if any(each.kind == "redo" for each in doing):
        return Verdict("not usable", beyond, doing, unseen)
    if survey.recall is not None:
        return Verdict("cannot tell", (recall_words(survey.recall), *beyond), doing, unseen)
    lacking = tuple(f"{name}: not measured, or not settled by these readings." for name in survey.missing)
    unsure = tuple(
        f"{each.name}: {each.words} straddles {each.allowed}; read it again, several times."
        for each in survey.misses
        if each.state == "unsure" and each.limit is not None
    )
    if lacking or unsure:
        after = (next_words(further),) if further else ()
        keys = tuple(each.taken.key for each in further)
        return Verdict("cannot tell", (*lacking, *unsure, *after, *beyond), doing, unseen, keys)
    if any(each.kind == "ask" for each in doing):
        return Verdict("cannot tell", beyond, doing, unseen)
    # Nothing is usable while one error beyond its limit has no remedy of its own.
    answered = {key for each in doing for key in each.answers}
    if any(each.state == "beyond" and each.key not in answered for each in survey.misses):
        return Verdict("not usable", beyond, doing, unseen)
    between = tuple(
        f"{each.name}: {each.words} lies between published numbers that disagree, allowed {each.allowed}."
        for each in survey.misses
        if each.state == "within" and each.lies_between
    )
    return Verdict("usable with remedy" if doing else "right", (*beyond, *between), doing, unseen)


def next_words(further: Sequence[Asked]) -> str:
    """Return which readings to take next, and how often, in a sentence."""
    told = [
        each.taken.reading.name + (f" ({each.times} times)" if each.times > 1 else "") for each in further
    ]
    return f"Read next, in this order: {'; '.join(told)}."


def contradiction_words(each: Contradiction) -> str:
    """Return what contradicts, in a sentence: the one reading, or the group that disagrees."""
    shown = [f"{key} {value:.2f}" for key, value in zip(each.keys, each.shown, strict=True)]
    if each.sole:
        return f"{shown[0]} contradicts the others: it seems {each.by:+.2f} mm off. Read it again."
    named = ", ".join(shown[:_AWAY]) + (f" and {len(shown) - _AWAY} more" if len(shown) > _AWAY else "")
    over = any(key.endswith("-over") for key in each.keys) and any(
        key.endswith("-between") for key in each.keys
    )
    hint = " Over and between share axle and pin: see that both are as thick as the job says." if over else ""
    off = f"{abs(each.by):.2f} mm"
    return f"{named} disagree by about {off}; nothing says which is off. Read each three times.{hint}"


def recall_words(recall: Recall) -> str:
    """Return which numbers, since corrected, a mount fits, in a sentence."""
    near, far, spacing = recall.radii
    return (
        f"It fits the numbers that Dropleaf printed for {recall.row} before they were corrected: "
        f"near {near:g}, far {far:g}, spacing {spacing:g}. {recall.sentence}"
    )


def _unseen(survey: Survey) -> tuple[str, ...]:
    """Return what the readings do not show and the verdict does without."""
    turn = survey.miss("turn")
    said = [TURN] if turn is None or turn.limit is None else []
    if survey.unchecked:
        said.append(f"No other reading checks {', '.join(survey.unchecked)}: a slip there would not show.")
    return tuple(said)

"""Questions about the tubes: where they begin, what their outside is, how they lie."""

import re
from collections.abc import Callable

from geometry.tubes.tube import plain
from sheets.guide.lengths import parted, spoken, units_of, within
from sheets.guide.question import Answers, Question, Reader, number
from sheets.job import limits
from sheets.job.units import given, length
from sheets.words.lengths import Units

PLACES = (1, 2, 3)
"""Places at which a tube's outside is asked for."""


def hosts(answers: Answers) -> tuple[str, ...]:
    """Return the tubes that the end has, the one that carries the mount first."""
    if answers.get("mount.end") == "front":
        return ("fork-leg",)
    host = answers.get("mount.host", "chainstay")
    return (host, "seatstay" if host == "chainstay" else "chainstay")


_EXAMPLES: dict[Units, str] = {
    "mm": "25: 16, or 25: 20 x 16",
    "in": "1: 5/8, or 1: 3/4 x 5/8",
    "both": "25: 16, or 25: 20 x 16",
}


def place(text: str, units: Units = "mm") -> tuple[str, ...]:
    """Return distance up the tube and outside (or height and width) of "25: 16" or "25: 20 x 16".

    That is the order of the measuring sheet; "20 x 16 at 25" says the same. Where `units` are inches, bare
    numbers are inches and get their unit. Raise ValueError for anything else, and for what no tube measures.
    """
    found = parted(text)
    if found is None or len(found[0]) not in (1, 2):
        raise ValueError(f"{given(text)} given; write how far up, then the outside there: {_EXAMPLES[units]}")
    sizes, distance = found
    at = within(limits.STATION, distance, units)
    return (at, *(within(limits.DIAMETER, size, units) for size in sizes))


def _place(which: int, tube: str) -> Reader:
    def read(text: str, answers: Answers) -> str:
        distance, *sizes = place(text, units_of(answers))
        before = answers.get(f"tubes.{tube}.place.{which - 1}")
        if which > 1 and before and length(distance) <= length(place(before)[0]):
            raise ValueError(f"{distance} is not further up than {place(before)[0]}; go up the tube")
        return f"{distance}: {' x '.join(sizes)}"

    return read


_SIDE = {"chainstay": "above", "seatstay": "behind", "fork-leg": "behind"}
_LEFT = {"offset": {"left": "Its line is then taken to run through the axle, and check says so."}}
_PLACE_MORE = (
    "Lay a rule along the tube from the axle's middle, seen from the side: that is how far up. There take "
    "the outside with a caliper. The first place is where the dropout ends and the tube begins; another is "
    "where it has become thicker, thinner or straight again. Between two places the outside changes evenly.\n"
    "Write both in that order, a colon between: {even} is {mm} up the tube and {thick} "
    "outside. An oval tube has two outsides, its height seen from the side and its width: {oval}. Written "
    "the other way round it takes the word at: {turned}."
)
_PLACE_MORE_MM = _PLACE_MORE.format(
    even="25: 16", mm="25 mm", thick="16 mm", oval="25: 20 x 16", turned="16 at 25"
)
_PLACE_MORE_INCH = _PLACE_MORE.format(
    even="1: 5/8", mm="1 in", thick="5/8 in", oval="1: 3/4 x 5/8", turned="5/8 at 1"
)
_WORDS = re.compile(r"\b(?!(?:mm|cm|in|inch|inches|x|at)\b)[a-z]+\b", re.I)


def _place_meant(which: int, tube: str) -> Callable[[str, Answers], str]:
    """Return what tells the place that two numbers in its order mean, with commas or words about them."""
    read = _place(which, tube)

    def means(text: str, answers: Answers) -> str:
        plain_text = _WORDS.sub("", re.sub(r"[Øø\[\]()]", " ", text[:_LONGEST]))
        if (
            re.search(r"[0-9][^0-9]*\bup\b[^0-9]*$", text, re.I)
            and len(re.findall(r"\bup\b", text, re.I)) == 1
        ):
            # What is said to be up is named last: "16 mm, 25 mm up".
            plain_text = re.sub(r"[\s,;]+(?=[0-9.,/]+\s*(?:mm|cm|in|\")?\s*$)", " at ", plain_text.strip())
        for each in (re.sub(r"(?<=[0-9]),(?=[0-9])", ".", plain_text), plain_text):
            gaps = re.finditer(r"\s*(?:[,;=]|-+>?\s)\s*|\s+", each.strip())
            for tried in (each, *(f"{gap.string[: gap.start()]}: {gap.string[gap.end() :]}" for gap in gaps)):
                try:
                    return read(tried, answers)
                except ValueError:
                    continue
        return ""

    return means


_LONGEST = 80
"""Characters of a text in which a place is looked for."""


def _place_follows(key: str) -> Callable[[Answers], str]:
    """Return what says a place in words, so that a slip of order or units is seen."""

    def follows(answers: Answers) -> str:
        units = units_of(answers)
        up, *sizes = (spoken(each, units) for each in place(answers[key], units))
        across = f"{sizes[0]} high and {sizes[1]} wide" if len(sizes) > 1 else sizes[0]
        return f"That is {up} up the tube, and {across} outside there."

    return follows


def _tube_given(tube: str) -> Callable[[Answers], bool]:
    return lambda answers: (
        tube in hosts(answers) and (tube == hosts(answers)[0] or answers.get("other.stay") == "yes")
    )


def _tube_further(tube: str, which: int) -> Callable[[Answers], bool]:
    return lambda answers: _tube_given(tube)(answers) and bool(answers.get(f"tubes.{tube}.place.{which - 1}"))


def tube_questions(tube: str) -> list[Question]:
    """Return the questions about one tube."""
    named = plain(tube)
    asks = (
        f"Where does the {named} begin, up from the axle, and what is its outside there?",
        "A second place further up, where it is thicker or thinner?",
        "A third place?",
    )
    whys = (
        "how far up: outside there, as 25: 16; oval: height x width, as 25: 20 x 16",
        "Enter if it is the same all the way",
        "Enter for none",
    )
    found = [
        Question(
            f"tubes.{tube}.place.{which}",
            asks[which - 1],
            whys[which - 1],
            _place(which, tube),
            when=_tube_given(tube) if which == 1 else _tube_further(tube, which),
            optional=which > 1,
            means=_place_meant(which, tube),
            left="The tube is then the same from the last place on.",
            stands_in=which > 1,
            follows=_place_follows(f"tubes.{tube}.place.{which}"),
            more=_PLACE_MORE_MM,
            lengths="place",
            why_inch="how far up: outside there, as 1: 5/8; oval: height x width, as 1: 3/4 x 5/8"
            if which == 1
            else "",
            more_inch=_PLACE_MORE_INCH,
        )
        for which in PLACES
    ]
    if tube == "seatstay":
        found.append(
            number(
                "tubes.seatstay.included",
                "What angle is between seatstay and chainstay at the dropout?",
                "degrees, from the axle; measure it on the drawing or on the frame",
                limits.INCLUDED,
                when=_tube_given(tube),
            )
        )
    rest = (
        (
            "wall",
            f"How thick is the {named}'s wall?",
            "for bosses that go in and for the load screen; Enter if not known",
            limits.WALL,
        ),
        (
            "offset",
            f"Seen from the side, by how much does the {named}'s middle line pass the axle?",
            f"+ where it runs {_SIDE[tube]} the axle; Enter: it runs through the axle",
            limits.ASIDE,
        ),
        (
            "outset",
            f"Level with the axle, how far outboard of the dropout's inner face is the {named}'s middle?",
            "minus is inboard; without it clearances stay unknown; Enter if not measured",
            limits.ASIDE,
        ),
        (
            "splay",
            f"By how many degrees does the {named} lean to the middle of the bicycle going up?",
            "0 if it does not; without it clearances stay unknown; Enter if not measured",
            limits.SPLAY,
        ),
    )
    for key, ask, why, allowed in rest:
        found.append(
            number(
                f"tubes.{tube}.{key}",
                ask,
                why,
                allowed,
                when=_tube_given(tube),
                optional=True,
                **_LEFT.get(key, {}),
            )
        )
    return found

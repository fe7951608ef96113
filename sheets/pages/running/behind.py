"""What stands behind the card: all that it says shorter, or has no room for, whole and under headings."""

from collections.abc import Iterable, Iterator

from geometry.core.findings import by_level
from geometry.core.frozen import dataclass
from geometry.core.say import Say, Value, named, say
from geometry.mount.placement import Placement
from geometry.mount.stack import BuildUp
from geometry.survey.reading import Reading
from sheets.job.read import Job
from sheets.setup.findings import sheet_findings
from sheets.setup.outline import lines as outline_lines
from sheets.setup.setup import SetUp, left_words
from sheets.words.bosses import meeting, paragraphs
from sheets.words.fixture import leaning, strays
from sheets.words.lengths import measured, stack, units
from sheets.words.readings import alike, often, within
from sheets.words.tell import tell, told

Words = Say | str
_ON_STRENGTH = ("fork-test", "fork-test-held", "fork-test-unknown")
"""Codes of findings that the page of strength tells in full."""


@dataclass(frozen=True, slots=True)
class Item:
    """A paragraph: what it hangs from, if anything, and what it says; a `loud` one is set bold."""

    text: Words
    mark: Words = ""
    loud: bool = False


@dataclass(frozen=True, slots=True)
class Part:
    """What stands under one heading; `box` asks for a reading, with a box to write it in."""

    heading: Words
    items: tuple[Item, ...]
    box: Words = ""


def behind(job: Job, placement: Placement, setup: SetUp, *, work: bool = True) -> tuple[Part, ...]:
    """Return what stands behind the card, part by part; a part that has nothing to say is left out.

    The order of `work` is left out too where it stands whole on the card.
    """
    settle = placement.interface.settle
    parts = (
        Part(say("numbers.behind.typed"), tuple(_typed(job))),
        Part(say("numbers.behind.findings"), tuple(_findings(placement, setup))),
        Part(say("numbers.behind.mount"), tuple(_mount(placement, setup))),
        Part(say("numbers.behind.dropout"), tuple(_dropout(job, setup))),
        Part(say("numbers.behind.stack"), tuple(_stack(setup))),
        Part(
            say("numbers.behind.readings"),
            tuple(_readings(setup)),
            say("reading.card.settle", settle=settle) if settle else "",
        ),
        Part(say(f"numbers.behind.bosses.{units()}"), tuple(_bosses(setup))),
        Part(say("numbers.behind.screws"), tuple(_screws(setup))),
        Part(say("numbers.behind.work"), tuple(_work(setup) if work else ())),
        Part(say("numbers.behind.paper"), tuple(_open(setup))),
    )
    return tuple(part for part in parts if part.items or part.box)


def _open(setup: SetUp) -> Iterator[Item]:
    """Yield what the packet cannot tell: how true the paper is, and how large a joint must be."""
    yield from (Item(each) for each in setup.print_words)
    yield Item(say("numbers.behind.own_procedure"))


def _typed(job: Job) -> Iterator[Item]:
    """Yield what the job's author typed in words, whole."""
    frame, process = job.frame, job.process
    found = (
        ("name", frame.name),
        ("maker", frame.maker),
        ("customer", frame.customer),
        ("note", frame.note),
        ("filler", process.filler),
        ("material", process.material),
    )
    return (Item(text, say(f"card.typed.{key}")) for key, text in found if text)


def _findings(placement: Placement, setup: SetUp) -> Iterator[Item]:
    # Two findings of one calculation differ on the card, in their briefs, and are told in full by one text.
    # The published fork test takes half a column, and the page of strength has it whole.
    found = {
        joined((each.brief, each.remedy)) if each.code in _ON_STRENGTH else told(each.text): each
        for each in reversed(by_level(sheet_findings(placement, setup)))
    }
    for text, each in reversed(found.items()):
        yield Item(text, say(f"card.level.{each.level}"))


def _mount(placement: Placement, setup: SetUp) -> Iterator[Item]:
    """Yield what is to be known of datum, adapter, disc and braking."""
    if placement.adapter.sentence:
        yield Item(placement.adapter.sentence)
    yield Item(say("numbers.said", what=sentence_of(told(setup.clear.largest_words))))
    if setup.clear.travel is not None:
        yield Item(setup.clear.travel.sentence)
    if setup.clear.way_out.free is False:
        yield Item(setup.clear.way_out.sentence)
    if setup.load is not None:
        yield Item(setup.load.card)


def _dropout(job: Job, setup: SetUp) -> Iterator[Item]:
    """Yield what the dropout is shaped like, from which drawing, and how much metal is beside its holes."""
    if setup.shape is None:
        return
    yield Item(setup.shape.sentence)
    if job.outline is not None:
        yield Item(say("outline.sha256", file=job.outline.file, sha256=job.outline.sha256))
    yield from (Item(each) for each in outline_lines(setup.shape))


def datum(placement: Placement) -> Say:
    """Return which axle it is, and which face the sideways numbers are measured from."""
    return say(
        "card.datum_floor" if placement.datum_shift else "card.datum_face",
        axle=placement.axle.title,
        system=placement.axle.name,
        floor=placement.datum_shift,
    )


ASIDES = ("stack.rear_ends", "stack.front_ends", "stack.front_pocket")
"""What is said of a stack that changes nothing of what is done."""


def orders(setup: SetUp) -> tuple[str, ...]:
    """Return what is said of the stack that must be done, without what is only good to know."""
    built = setup.build_up
    known = {told(each) for each in built.sentences if each.code in ASIDES} if built else set()
    return tuple(each for each in map(told, setup.stack_words) if each not in known)


def _stack(setup: SetUp) -> Iterator[Item]:
    """Yield the stack's other choices, how it comes about, and how far its chain may be off.

    What is to be done stands on the card.
    """
    if setup.choice is not None:
        for other in setup.choice.alternatives:
            code = "card.or_pieces" if other.pieces else "card.or_none"
            pieces = stack(other.pieces)
            yield Item(say(code, pieces=pieces, left=left_words(other)))
    told_there = orders(setup)
    yield from (
        Item(each) for each in (*setup.stack_words, setup.plate_words) if each and each not in told_there
    )
    if setup.fixture is not None:
        yield Item(strays(setup.fixture))
        yield Item(leaning(setup.fixture.loose.lean))
    elif setup.build_up is not None:
        yield from (Item(each) for each in _chain(setup.build_up))


def _chain(built: BuildUp) -> Iterator[Say]:
    """Yield what lies between plate and mount, and how far all of it may be off."""
    own, play = built.interface_tolerance, built.adjustment
    yield built.filling_sentence
    links = ", ".join(map(told, built.unknown))
    code = "card.chain_unknown" if links else "card.chain"
    yield say(code, worst_case=built.worst_case, rss=built.rss, links=links)
    none = say("card.not_found")
    yield say(
        "card.play",
        own=none if own is None else f"±{measured(own, 'g bare')}",
        play=none if play is None else say("card.either_way", play=play.value),
    )


def _readings(setup: SetUp) -> Iterator[Item]:
    """Yield every reading that a verdict rests on: its value, its limits, how often and how it is taken.

    Near and far stand together where they must read the same. What to do when one fails stands on the card
    and on the traveller.
    """
    held: Reading | None = None
    for each, after in zip(setup.readings, (*setup.readings[1:], None), strict=True):
        if held is not None:
            both = say("reading.card.both", row=each.row)
            yield Item(_reading(each, dict(each.how.values)["how"]), both)
            held = None
        elif after is not None and alike(each, after) and each.how.code == "reading.how.at_hole":
            held = each
        else:
            yield Item(_reading(each, each.how), each.name)
    outer = tell("reading.short.no_outer")
    yield from (Item(each) for each in setup.reading_words)
    yield from (Item(each) for each in setup.how_words if each == outer)


def _reading(reading: Reading, how: Value) -> Say:
    mm, inch = reading.mm, reading.inch
    limits: Words = say("reading.card.no_limits")
    if mm.low is not None and mm.high is not None and inch.low is not None and inch.high is not None:
        mark = "*" if reading.judged else ""
        limits = f"{within(inch)}{mark}"
        if units() != "in":
            limits = f"{within(mm)}, {limits}"
    code = "numbers.reading_noted" if reading.note else "numbers.reading"
    return say(
        code,
        target=say(f"numbers.reading_target.{units()}", mm=mm.nominal, inch=inch.nominal),
        limits=limits,
        often=often(reading.times),
        how=how,
        note=reading.note,
    )


def _bosses(setup: SetUp) -> Iterator[Item]:
    """Yield how each boss or post meets its tube, and what is to be known of it."""
    for fit in setup.bosses:
        if said := meeting(fit):
            yield Item(said, named(fit.name))
    warned, said = paragraphs(setup.boss_words)
    if warned:
        yield Item(warned, loud=True)
    if said:
        yield Item(said)


def _screws(setup: SetUp) -> Iterator[Item]:
    return (Item(value, say(f"setup.screw.{key}")) for key, value in setup.screws)


def sentence_of(words: str) -> str:
    """Return words as a sentence: with a capital."""
    return f"{words[:1].upper()}{words[1:]}"


def _work(setup: SetUp) -> Iterator[Item]:
    for number, (text, points) in enumerate(setup.work, start=1):
        yield Item(joined((text, *point_words(points))), f"{number}")


def joined(said: Iterable[Words]) -> str:
    """Return sentences as one paragraph, without those that are empty."""
    return " ".join(told(each) for each in said if each)


def point_words(points: Iterable[str]) -> Iterator[Say]:
    """Yield the check points that end a line of work."""
    return (say("card.check_point", point=named(point)) for point in points)

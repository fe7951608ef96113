"""Questions about dummy axle, process, drawer and paper."""

from geometry.tables.materials import is_vague, material, material_words
from sheets.guide.boss_questions import BOSS
from sheets.guide.lengths import UNITS
from sheets.guide.mount_questions import MOUNT, OFF_THE_SHEETS
from sheets.guide.question import (
    Answers,
    Choices,
    Question,
    choice,
    listed_meant,
    number,
    numbers,
    pairs,
    text_of,
)
from sheets.guide.tube_questions import tube_questions
from sheets.ink.paper import PAPERS
from sheets.job import limits
from sheets.words.lengths import measured

_METHODS = {
    "tig": "TIG weld (tungsten inert gas)",
    "fillet-braze": "fillet braze",
    "silver-braze": "silver braze",
}
_VIEWS = {
    "outboard": "laid on the dropout's outer face, read from outside",
    "inboard": "laid on the inner face, read from the wheel's side",
}

_TELLS = {
    "mm": "bare numbers are mm, and the sheets tell mm",
    "in": "bare numbers are inches, and the sheets tell inches",
    "both": "bare numbers are mm, and the sheets tell both",
}


def _metal(answers: Answers) -> str:
    """Say where a material is none whose strength is known, or names no more than its kind."""
    named = answers.get("process.material", "")
    made_of = material(named)
    if named and made_of is None:
        known = ", ".join(material_words())
        return f"Nothing is known of {named!r}, so what tubes of it bear is not judged. Known here: {known}."
    if made_of is not None and is_vague(named):
        return f"That is taken as {made_of.name}, the weakest that it may mean. Say which it is if you know."
    return ""


def _papers(answers: Answers) -> Choices:
    return tuple(
        (name, f"{measured(paper.width, 'g bare')} × {measured(paper.height, 'g mm')}")
        for name, paper in PAPERS.items()
    )


_UNITS = choice(
    UNITS,
    "In which units do you measure?",
    "what is typed with a unit counts as it is typed, and the job keeps it so",
    pairs(_TELLS),
    default=lambda answers: "mm",
    # Most measure in mm and are spared it: --units or --set asks for it.
    when=lambda answers: bool(answers.get(UNITS)),
)

_BENCH: tuple[Question, ...] = (
    number(
        "axle.dummy",
        "What is the diameter of your dummy axle?",
        "the round bar that stands for the axle; the sheet slips over it",
        limits.DUMMY,
        default=lambda answers: "3/4 in",
    ),
    choice(
        "process.method",
        "How will the mount be joined?",
        "it settles the order of work and the cautions; Enter if open",
        pairs(_METHODS),
        optional=True,
    ),
    Question(
        "process.material",
        "What are tube and mount made of?",
        "CrMo (chromium-molybdenum steel), stainless, titanium; Enter if open",
        text_of(limits.text),
        follows=_metal,
        optional=True,
    ),
    Question(
        "process.filler",
        "Which filler?",
        "its class where it has one: BAg-24, RBCuZn-C, ER80S-D2; Enter if open",
        text_of(limits.text),
        optional=True,
        left=OFF_THE_SHEETS,
        more="A class is what its standard calls a filler: BAg-24 is a silver solder, RBCuZn-C a low-fuming "
        "bronze, ER80S-D2 a steel rod, in the classes of the American Welding Society. It is printed.",
    ),
    number(
        "bench.plate",
        "How thick is the plate that you set the mount up from?",
        "it stands square on the dummy axle; Enter if you have none",
        limits.PLATE,
        optional=True,
        left="No plate is then counted in the stack.",
    ),
    Question(
        "bench.spacers",
        "Which spacers lie in your drawer?",
        "thicknesses with a space between, one entry a piece: 10 5 5 3 1 0.5; Enter for none",
        numbers(limits.SPACER),
        means=listed_meant(numbers(limits.SPACER)),
        optional=True,
        left="No stack is then made up from your drawer.",
        lengths="list",
        why_inch="thicknesses with semicolons between, one entry a piece: 1/2; 1/4; 0.02; Enter for none",
    ),
    Question(
        "bench.pins",
        "Which pins or drill shanks for the holes?",
        "diameters with a space between; Enter for none",
        numbers(limits.PIN),
        means=listed_meant(numbers(limits.PIN)),
        optional=True,
        left="No pin is then taken from your drawer.",
        lengths="list",
        why_inch="diameters with a semicolon between: 1/4; 0.2; Enter for none",
    ),
    choice(
        "paper.size",
        "What paper does your printer take?",
        "sheets are true on any of these; a small one may need several pages",
        _papers,
        default=lambda answers: "A4",
    ),
    choice(
        "paper.view",
        "From which side will you read the template?",
        "it must be printed for the face that it lies on",
        pairs(_VIEWS),
        default=lambda answers: "outboard",
    ),
    Question(
        "frame.note",
        "Anything to remember on the card?",
        "Enter for nothing",
        text_of(limits.note),
        optional=True,
        left=OFF_THE_SHEETS,
    ),
)

QUESTIONS: tuple[Question, ...] = (
    _UNITS,
    *MOUNT,
    *tube_questions("fork-leg"),
    *tube_questions("chainstay"),
    *tube_questions("seatstay"),
    *BOSS,
    *_BENCH,
)
"""Every question, in the order in which it is asked."""

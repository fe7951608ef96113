"""Questions about what is fixed on the tube: how it is turned, and the builder's own tab, posts or bosses."""

from sheets.guide.mount_questions import family, stands_on_tube
from sheets.guide.question import Question, number
from sheets.job import limits

TILT = number(
    "mount.tilt",
    "By how many degrees is the mount turned about the axle from its tube?",
    "+ with the wheel's forward rotation; Enter for none: parallel to the tube's line",
    limits.TILT,
    # A tab is turned only where its job needs it, which is asked once all else is known.
    when=lambda answers: stands_on_tube(answers) or bool(answers.get("mount.tilt")),
    optional=True,
    left="The mount then lies parallel to its tube's line. From which tilt to which all holds, check tells.",
    stands_in=True,
)
"""Asked of mounts that stand on their tube, and of others that do not hold level with it."""

BOSS: tuple[Question, ...] = (
    TILT,
    number(
        "boss.thickness",
        "How thick is your tab?",
        "Enter if not settled",
        limits.TAB,
        when=lambda answers: family(answers) == "tab",
        optional=True,
    ),
    number(
        "boss.diameter",
        "What is the outside of your posts or bosses?",
        "Enter to draw the table's",
        limits.BOSS_DIAMETER,
        when=stands_on_tube,
        optional=True,
        left="The table's is then drawn, with its grade.",
        stands_in=True,
    ),
    number(
        "boss.length",
        "How long are they, from the mount face?",
        "Enter if not settled",
        limits.BOSS_LENGTH,
        when=stands_on_tube,
        optional=True,
        left="The table's is then drawn, with its grade.",
        stands_in=True,
    ),
)
"""Asked after the tubes."""

"""The lower end of a post that stands on the dropout, full size from two sides: how it is shaped and joined.

No strip can be wrapped for it, because it meets no tube. What is not known of it is asked for in its place.
"""

from collections.abc import Mapping
from dataclasses import replace

from fonts.drafting import LINE_PITCH, width, wrap
from geometry.braking.seam import Seam, seam
from geometry.core.frozen import dataclass
from geometry.core.say import Say, Value, named
from geometry.mount.foot import FIT, Foot
from geometry.mount.placement import Placement
from geometry.tubes.tube import Tube
from sheets.job.read import Job
from sheets.pages import title as words
from sheets.setup.carried import feet_of, whys
from sheets.setup.outline import Shape
from sheets.setup.outline import shape as shape_of
from sheets.words.tell import tell, told

READ, SMALL = 3.5, 2.5
FORMS = ((2.0, READ, 150.0), (1.5, READ, 150.0), (1.5, SMALL, 120.0), (1.0, SMALL, 100.0))
"""How many times its size it is drawn, the height of its letters and how wide it is with its words, mm:
the first for which a page has room. A post is no wider than a finger."""
SHOWN, UNDER = 17.0, 8.0
"""How much of the post is shown over the metal, and how much metal below its end, mm."""
ROW = 5.0
STRAIGHT = 0.15
"""What an edge may be off straight and still be filed to one angle, mm."""
_SQUARE = 0.5
"""What an edge may fall across a post and still be called square, degrees."""


@dataclass(frozen=True, slots=True)
class FootFigure:
    """What is shown of a post's lower end: its `foot`, None where it is not known what carries it, and `why`.

    `axis` is where the post's axis meets its face in the side view, `seam` what the page of strength counts
    on, and `facing` the stock left on the face, mm. `form` is one of FORMS.
    """

    hole: str
    foot: Foot | None
    why: tuple[Say, Say] | None
    placement: Placement
    shape: Shape | None
    seam: Seam
    bore: float
    facing: float
    form: int = 0

    @property
    def letter(self) -> float:
        """Return the height of its words, mm."""
        return FORMS[self.form][1]

    @property
    def scale(self) -> float:
        """Return how many times full size it is drawn."""
        return FORMS[self.form][0]

    @property
    def wide(self) -> float:
        """Return how wide it is, mm."""
        return FORMS[self.form][2]

    @property
    def title(self) -> str:
        """Return what the figure is called."""
        hole, part = named(self.hole), named(self.placement.interface.part)
        if self.foot is None:
            return tell("foot.title_unknown", hole=hole, part=part)
        code = "foot.title_full" if self.scale == 1.0 else "foot.title"
        return tell(code, hole=hole, part=part, times=self.scale)

    @property
    def said(self) -> tuple[str, ...]:
        """Return what stands below the figure, a row each."""
        rows: list[str] = []
        for sentence in _sentences(self):
            rows += wrap(sentence, self.letter, self.wide - 2.0)
        return tuple(rows)

    @property
    def high(self) -> float:
        """Return how high both views are with what is lettered at them, mm; 0 without a foot."""
        if self.foot is None or self.foot.depths is None:
            return 0.0
        least, most = self.foot.depths
        below = max(most, self.foot.length if self.foot.shape != "whole" else most)
        return self.scale * (SHOWN + (below - least) + UNDER) + 7.0 * ROW

    @property
    def levels(self) -> tuple[tuple[float, float, str], ...]:
        """Return the sideways lengths under the view along the posts: from z to z, and what it says, mm."""
        foot = self.foot
        if foot is None or foot.metal is None:
            return ()
        low, high = foot.metal
        middle = (foot.side[0] + foot.side[1]) / 2.0
        rows = [(0.0, middle, tell("foot.from_inner", long=abs(middle)))]
        if high > 0.0:
            rows.append((0.0, high, tell("foot.dropout", long=high)))
        if low < 0.0:
            rows.append((low, 0.0, tell("foot.pad", long=-low)))
        return tuple(rows)

    @property
    def across(self) -> float:
        """Return how far from the left the middle of the view along the posts stands, mm."""
        return 1.0 + 0.63 * self.wide

    @property
    def size(self) -> tuple[float, float]:
        """Return width and height of the block that it takes, mm."""
        words_high = len(self.said) * LINE_PITCH * self.letter
        middle = 0.0 if self.foot is None else (self.foot.side[0] + self.foot.side[1]) / 2.0
        ends = (
            self.across + self.scale * (middle - min(a, b)) + 1.2 + width(text, self.letter)
            for a, b, text in self.levels
        )
        right = max(self.wide, width(self.title, READ) + 2.0, *ends)
        return right + 1.0, 1.8 * READ + self.high + words_high + 3.0


def in_room(one: FootFigure, room: tuple[float, float]) -> FootFigure:
    """Return a figure as large as a room takes it, mm; the smallest where it takes none."""
    tried = (replace(one, form=form) for form in range(len(FORMS)))
    fitting = (each for each in tried if each.size[0] <= room[0] and each.size[1] <= room[1])
    return next(fitting, replace(one, form=len(FORMS) - 1))


def foot_figures(job: Job, placement: Placement, tubes: Mapping[str, Tube]) -> tuple[FootFigure, ...]:
    """Return a figure for each post or boss that stands below where its tube is known."""
    form = placement.interface
    if form.family == "tab":
        return ()
    feet, open_ = feet_of(job, placement, tubes), whys(job, placement, tubes)
    bore = form.hole.diameter.value
    needed = seam(words.boss_size(job, placement)[0], bore if form.hole.kind == "thread" else 0.0)
    shape = shape_of(job, placement)
    return tuple(
        FootFigure(
            hole.name,
            feet.get(hole.name),
            open_.get(hole.name),
            placement,
            shape,
            needed,
            bore,
            job.process.facing,
        )
        for hole in placement.holes
        if hole.name in feet or hole.name in open_
    )


def _sentences(one: FootFigure) -> list[str]:
    """Return how the end is shaped, where it stands sideways and how it is joined, or what lacks."""
    hole, part = named(one.hole), named(one.placement.interface.part)
    foot = one.foot
    if foot is None:
        assert one.why is not None  # a figure has a foot or says why it has none
        return [tell("foot.unknown", hole=hole, part=part, why=one.why[0]), told(one.why[1])]
    found = [_shaped(one, foot)]
    z = one.placement.lateral_z
    side = "inboard" if z < 0.0 else "outboard"
    found.append(tell(f"foot.middle.{side}", by=abs(z)))
    if foot.share is None:
        found.append(tell("foot.no_thickness"))
        return [*found, tell("foot.not_judged")]
    if foot.shape == "whole":
        inboard, outboard = foot.room
        found.append(tell("foot.room", inboard=inboard, outboard=outboard))
        found.append(tell("foot.join", throat=one.seam.throat, leg=one.seam.leg))
        if min(inboard, outboard) < one.seam.leg:
            found.append(tell("foot.bevel"))
    else:
        inboard, outboard = foot.past
        found.append(tell("foot.past", share=100.0 * foot.share, inboard=inboard, outboard=outboard))
    return [*found, tell("foot.not_judged")]


def _shaped(one: FootFigure, foot: Foot) -> str:
    """Return how the end is cut, with its lengths from the face."""
    least, most = foot.depths or (foot.length, foot.length)
    stock = one.facing
    if foot.shape in ("slot", "notch"):
        assert foot.metal is not None  # such a foot has metal sideways
        wide = min(foot.metal[1], foot.side[1]) - max(foot.metal[0], foot.side[0])
        deep = max(0.0, foot.length - least)
        length = foot.length + stock
        return tell(f"foot.over.{foot.shape}", wide=wide, deep=deep, length=length)
    fall = foot.askew or 0.0
    code = "bent" if foot.bends > STRAIGHT else "askew" if abs(fall) > _SQUARE else "square"
    code = f"{code}_stock" if stock else code
    # The edge falls from the near side of the post to its far one, or the other way.
    longer = named("far" if fall > 0.0 else "near")
    depths: dict[str, Value] = {"least": least + stock, "most": most + stock}
    said = tell(f"foot.shape.{code}", stock=stock, angle=abs(fall), side=longer, **depths)
    if foot.length > most + FIT:
        said = f"{said} {tell('foot.shape.long', length=foot.length + stock)}"
    return said

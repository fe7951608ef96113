"""Labels that an SVG has as text: each must begin, end and stand where the strokes of its sheet do."""

import itertools
import math
from collections.abc import Iterator

import numpy as np

from fonts.drafting import width
from geometry.core.errors import Problem
from geometry.core.say import Say, say
from geometry.printing.distortion import Distortion
from sheets.files.read.pieces import Floats, ReadPage
from sheets.ink.corrected import on_paper
from sheets.ink.records import Sheet


def labels_lost(
    where: Say | str, sheet: Sheet, page: ReadPage, limit: float, distortion: Distortion | None
) -> Iterator[Problem]:
    """Yield a problem for each label of a sheet that is no text there, or is off by more than a limit, mm."""
    found: dict[str, list[Floats]] = {}
    for line in page.lines:
        places = line.places
        if distortion is not None:
            places = on_paper(places, sheet.paper, distortion)
        found.setdefault(line.text, []).append(places)
    for label in itertools.chain.from_iterable(path.labels for path in sheet.paths):
        *turn, x, y = label.matrix
        corners = np.array(((0.0, 0.0), (width(label.text, label.height), 0.0), (0.0, label.height)))
        wanted = corners @ np.array(turn).reshape(2, 2) + (x, y)
        there = found.get(label.text, ())
        off = min((float(np.hypot(*(each - wanted).T).max()) for each in there), default=math.inf)
        if not there:
            yield Problem(where, say("readback.text_lost", text=label.text))
        elif not off <= limit:
            yield Problem(where, say("readback.text_off", text=label.text, off=off, limit=limit))

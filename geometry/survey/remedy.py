"""What a shop can do about a mount that is off: shims, facing, slots, play, another disc, or a new mount.

No remedy thins a tab or post below its least thickness: the table's where it has one, and where none is known
the size that the job gives, so that nothing but the stock left for facing comes off. Pads on their track, or
a disc that suits them, answer only where the pair of holes sits as a whole; holes too near or too far apart
are answered by the play of both screws, or not at all. What covers an error covers its 95 % band too, and
tests/geometry/test_survey_cover.py proves it by arithmetic of its own. What nothing covers goes through
`lost`. Facing with a cutter on the dummy axle, shims and cone-and-cup washers under a caliper or an adapter,
and sliding a caliper in its slots are common practice, no source.
"""

from geometry.survey.remedy_faces import across, depth, sideways
from geometry.survey.remedy_holes import in_plane, turned
from geometry.survey.remedy_holes import offer as offer
from geometry.survey.remedy_work import UNKNOWN as UNKNOWN
from geometry.survey.remedy_work import Kind as Kind
from geometry.survey.remedy_work import Remedy as Remedy
from geometry.survey.remedy_work import Shop as Shop
from geometry.survey.remedy_work import Work, ask_for, redo_for
from geometry.survey.survey import Survey


def remedies(survey: Survey, shop: Shop = UNKNOWN) -> tuple[Remedy, ...]:
    """Return a remedy for every error that is surely beyond its limit.

    "redo" stands alone, where an error has none; "ask" comes last, for all errors of which only the caliper's
    maker can say what they mean.
    """
    work = Work(survey, shop)
    found = [*depth(work), *across(work), *sideways(work), *in_plane(work), *turned(work)]
    gone = [each for each in found if each.kind == "redo"]
    if gone:
        return (redo_for(gone),)
    asked = [each for each in found if each.kind == "ask"]
    done = tuple(each for each in found if each.kind != "ask")
    return (*done, ask_for(work, asked)) if asked else done

"""The mount that is proposed for an axle: what frames with it mostly have, told as a proposal."""

from geometry.tables.axles import axles
from sheets.guide.question import Answers

# Common practice, no source: quick release came with tabs, 12 mm road axles with flat mounts, and the wide
# and 15 mm axles of mountain bicycles with posts.
_POST, _FLAT = "post", {"rear": "flat-rear", "front": "flat-front"}
_TAB = {"rear": "is-rear", "front": "is-front"}
_ROAD = ("142x12", "100x12")


def usual(answers: Answers) -> str:
    """Return the interface row that frames with the axle answered mostly have."""
    system = axles().get(answers.get("axle.system", ""))
    if system is None:
        return _TAB["front" if answers.get("mount.end") == "front" else "rear"]
    if system.kind == "quick release":
        return _TAB[system.end]
    return _FLAT[system.end] if system.name in _ROAD else _POST


def proposal(answers: Answers) -> str:
    """Return in words what is proposed, and on what ground."""
    return (
        f"{usual(answers)} is proposed: the usual one with a {answers.get('axle.system')} axle, by common "
        "practice; no source. What counts is which one your caliper or adapter bolts to."
    )

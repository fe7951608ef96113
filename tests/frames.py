"""Ordinary good frames and known bad ones, by family of mount: what clearances have to let pass and to catch.

Written down before the code that judges them. Numbers are own arithmetic in the axes of the package, from
the table's rows. With hub ends on the dropout's inner face (rear) the disc lies from z = -15.25 to -13.45,
and the screws' heads end 3 further out, at -10.45, 26.25 from the axle (circle 44, heads 8.5, remembered).
A post's middle is at -4.25, a flat boss's at -3.05, a tab's inner face at 0. In front the pocket's depth is
added to 10.5 before the datum: with 2 deep the disc lies from -8.5 to -6.7, heads to -3.7, posts at 2.5, flat
bosses at 3.7; with 3 deep all of that 1 further out.

A good frame's clearances are all "ok", or "unknown" where it says that a tube is not given. A bad one names
the clearance that fails.
"""

from typing import Any, NamedTuple

Document = dict[str, Any]


class Bad(NamedTuple):
    """A frame that cannot be: the job, and the start of a clearance's name that has to fail."""

    document: Document
    fails: str


def rear(face: str, host: str, rotor: float, axle: str = "142x12", **more: Any) -> Document:
    """Return a rear job without tubes."""
    tables: Document = {
        "frame": {"id": "snipe-1"},
        "mount": {"end": "rear", "interface": face, "rotor": rotor, "host": host},
        "axle": {"system": axle},
        "dropout": {"thickness": 8},
    }
    tables["mount"] |= more.pop("mount", {})
    tables["axle"] |= more.pop("axle", {})
    return tables | more


def front(face: str, rotor: float, axle: str, leg: Document, **more: Any) -> Document:
    """Return a front job with its leg."""
    tables: Document = {
        "frame": {"id": "snipe-2"},
        "mount": {"end": "front", "interface": face, "rotor": rotor},
        "axle": {"system": axle},
        "dropout": {"thickness": 8},
        "tubes": {"fork-leg": leg},
    }
    tables["mount"] |= more.pop("mount", {})
    return tables | more


def stays(chainstay: Document, seatstay: Document | None = None) -> Document:
    """Return the tubes of a rear job."""
    return {"chainstay": chainstay} | ({"seatstay": seatstay} if seatstay else {})


# A touring frame's stays: the chainstay 7 below the disc's plane where it is nearest.
CHAINSTAY = {"diameters": [[30, 14], [160, 19], [370, 22.2]], "outset": 5, "splay": 3.5}
SEATSTAY = {"diameters": [[28, 14], [380, 16]], "outset": 4.5, "splay": 2.5, "included": 62}

# Under posts of 11.5 the stay is 12.2 wide about z = -4.05: its side at -10.15 leaves 3.1 of 3.3 after
# run-out, and the posts, from -10.0 to 1.5, stand on it. A post of 12 would ask for exactly the same plane.
UNDER_POSTS = {"diameters": [[32, 16, 12.2], [100, 18, 12.2], [260, 22]], "outset": -4.05, "splay": 0}
# Under flat bosses it is 7/8 in round about 1.4, from -9.7 on. One of 12 leaves more than a third of its
# stiffness and is warned of; an oval 13 wide, with its side as near to the disc, would be cut in two.
UNDER_FLATS = {"diameters": [[29, 22.2], [390, 22.2]], "wall": 0.9, "outset": 1.4, "splay": 0}

# What keeps a near post out of the disc's screws and off the axle is its own length: it ends on the dropout.
GOOD: dict[str, dict[str, Document]] = {
    "tab": {
        "rear, on the seatstay": rear(
            "is-rear", "seatstay", 160, "135-qr", tubes=stays(CHAINSTAY, SEATSTAY), boss={"thickness": 6}
        ),
        "rear, on the chainstay": rear(
            "is-rear", "chainstay", 140, tubes=stays(CHAINSTAY), boss={"thickness": 6}
        ),
        "front, quick release": front(
            "is-front",
            160,
            "100-qr",
            {"diameters": [[25, 16], [200, 22], [360, 28, 20]], "outset": 8, "splay": 2},
            boss={"thickness": 6},
        ),
        "front, 180 on an adapter": front(
            "is-front",
            180,
            "110x15",
            {"diameters": [[30, 24], [400, 28.6]], "outset": 14, "splay": 1.5},
            boss={"thickness": 6},
        ),
    },
    "post": {
        # Leg's inner side at the disc's rim, s = 80: 11.5 - 2.79 - 12 = -3.29; disc at -6.7.
        "front 160": front(
            "post",
            160,
            "100x12",
            {"diameters": [[25, 24], [100, 24], [380, 28.6]], "outset": 11.5, "splay": 2},
            boss={"diameter": 11.5, "length": 56, "near_length": 27},
        ),
        "front 180": front(
            "post",
            180,
            "110x15",
            {"diameters": [[30, 28.6], [420, 28.6]], "outset": 14.2, "splay": 1.5},
            boss={"diameter": 11.5, "length": 65, "near_length": 36},
        ),
        "front 203": front(
            "post",
            203,
            "100x15",
            {"diameters": [[45, 31.8], [400, 31.8]], "outset": 15.2, "splay": 1},
            boss={"diameter": 11.5, "length": 75, "near_length": 47},
        ),
        "rear 160": rear(
            "post",
            "chainstay",
            160,
            tubes=stays(UNDER_POSTS),
            boss={"diameter": 11.5, "length": 54, "near_length": 27},
        ),
        "rear 140": rear(
            "post",
            "chainstay",
            140,
            "135-qr",
            tubes=stays(UNDER_POSTS),
            boss={"diameter": 11.5, "length": 46, "near_length": 18},
        ),
    },
    "flat": {
        "rear 140": rear(
            "flat-rear",
            "chainstay",
            140,
            tubes=stays(UNDER_FLATS | {"offset": 9}),
            boss={"diameter": 12, "length": 35},
        ),
        "rear 160": rear(
            "flat-rear",
            "chainstay",
            160,
            tubes=stays(UNDER_FLATS | {"offset": 14}),
            boss={"diameter": 12, "length": 35},
        ),
        "rear 180": rear(
            "flat-rear",
            "chainstay",
            180,
            "148x12",
            tubes=stays(UNDER_FLATS | {"offset": 18}),
            boss={"diameter": 12, "length": 35},
        ),
        "front 160": front(
            "flat-front",
            160,
            "100x12",
            {"diameters": [[22, 17], [180, 24, 20], [370, 32, 22]], "outset": 10, "splay": 3},
            mount={"native": 140},
            boss={"diameter": 12, "length": 27, "near_length": 18},
        ),
    },
}

_LEG = {"diameters": [[25, 20], [380, 28.6]], "outset": 9, "splay": 2}
_MEETING = {"diameters": [[18, 20, 15], [380, 22]], "outset": -3.2, "splay": 0}

BAD: dict[str, dict[str, Bad]] = {
    "tab": {
        # At the rim the stay has come in to 0.7 - 4.9 - 8.5: less than 2 from the disc.
        "the disc near the chainstay": Bad(
            rear("is-rear", "seatstay", 160, "135-qr", tubes=stays(CHAINSTAY | {"outset": 0.7}, SEATSTAY)),
            "disc 160 to chainstay",
        ),
        # A stay from s = 20 on with its side at -11, where heads sweep out to -10.45 as far as 26.25.
        "the disc's screws in the seatstay": Bad(
            rear(
                "is-rear",
                "seatstay",
                140,
                "135-qr",
                tubes=stays(
                    CHAINSTAY,
                    {"diameters": [[20, 14], [380, 14]], "outset": -4, "splay": 0, "included": 62},
                ),
            ),
            "disc's screws to seatstay",
        ),
        # An own row that puts the tab's inner face at -14, inside the disc.
        "the tab in the disc": Bad(
            rear(
                "is-rear",
                "seatstay",
                160,
                "135-qr",
                tubes=stays(CHAINSTAY, SEATSTAY),
                interface={
                    "near": 39.9,
                    "far": 78.1,
                    "spacing": 51.0,
                    "lateral": -14,
                    "source": "a slip of the pen",
                },
                boss={"thickness": 6},
            ),
            "near tab to disc",
        ),
        "the builder's own caliper in the chainstay": Bad(
            rear(
                "is-rear",
                "seatstay",
                160,
                "135-qr",
                tubes=stays(CHAINSTAY, SEATSTAY),
                caliper={"length": 100, "height": 40, "depth": 60, "inboard": 20, "outboard": 25},
            ),
            "caliper to seatstay",
        ),
    },
    "post": {
        # The near post runs from 55.9 down to -14, 6.8 beside the axle; the dummy axle is 9.5 in radius.
        "a near post across the axle": Bad(
            front("post", 160, "100x12", _LEG, boss={"diameter": 16, "length": 70}), "near post to"
        ),
        # 55.9 to the leg's middle and 10.7 to its far side, less than 70.
        "a far post through the leg": Bad(
            front("post", 160, "100x12", _LEG, boss={"diameter": 16, "length": 70, "near_length": 27}),
            "far post to the fork leg's far side",
        ),
        # A post of 14 reaches in to -11.25, the heads out to -10.45; it ends 25.9 - 1 from the axle.
        "a near post in the disc's screws": Bad(
            rear(
                "post",
                "chainstay",
                160,
                tubes=stays(UNDER_POSTS),
                boss={"diameter": 14, "length": 40},
            ),
            "near post to disc's screws",
        ),
        # A post of 24 reaches in to -16.25.
        "posts in the disc": Bad(
            rear(
                "post",
                "chainstay",
                160,
                tubes=stays(UNDER_POSTS),
                boss={"diameter": 24, "length": 30},
            ),
            "near post to disc",
        ),
        # Between the stays, 6.8 beside the axle: the seatstay passes there.
        "a near post in the seatstay": Bad(
            rear(
                "post",
                "chainstay",
                160,
                tubes=stays(UNDER_POSTS, SEATSTAY | {"outset": -2, "splay": 0}),
                boss={"diameter": 11.5, "length": 54, "near_length": 27},
            ),
            "near post to seatstay",
        ),
        # The 140 road frame turned over onto its seatstay, which begins 25 up with its side at -11.
        "the disc's screws in the seatstay": Bad(
            rear(
                "post",
                "seatstay",
                140,
                "135-qr",
                tubes={
                    "seatstay": {
                        "diameters": [[25, 16, 14], [90, 18, 14], [390, 22, 18]],
                        "outset": -4,
                        "splay": 0,
                        "included": 62,
                    }
                },
                boss={"diameter": 12, "length": 36},
            ),
            "disc's screws to seatstay",
        ),
    },
    "flat": {
        # A stay 15 wide about -3.2 from s = 18 on: its side at -10.7 among heads that end at -10.45.
        "the disc's screws in the chainstay": Bad(
            rear(
                "flat-rear",
                "chainstay",
                140,
                tubes=stays(_MEETING | {"offset": 9}),
                boss={"diameter": 14, "length": 35},
            ),
            "disc's screws to chainstay",
        ),
        # A boss of 22 reaches in to -14.05.
        "bosses in the disc": Bad(
            rear(
                "flat-rear",
                "chainstay",
                160,
                tubes=stays(UNDER_FLATS | {"offset": 14}),
                boss={"diameter": 22, "length": 35},
            ),
            "near boss to disc",
        ),
        # 31 above the axle and 8 beside it: one of 40 ends 9 beyond it, within the dummy axle's 9.5.
        "a near boss in the axle": Bad(
            front(
                "flat-front",
                160,
                "100x12",
                {"diameters": [[22, 17], [180, 24, 20], [370, 32, 22]], "outset": 10, "splay": 3},
                mount={"native": 140},
                boss={"diameter": 14, "length": 40},
            ),
            "near boss to",
        ),
        # The far boss of 140 is 59.4 up the chainstay, where a seatstay at 25 degrees passes.
        "a far boss in the seatstay": Bad(
            rear(
                "flat-rear",
                "chainstay",
                140,
                tubes=stays(UNDER_FLATS | {"offset": 9}, SEATSTAY | {"included": 25, "outset": -3}),
                boss={"diameter": 12, "length": 35},
            ),
            "far boss to seatstay",
        ),
        "the disc in the chainstay": Bad(
            rear(
                "flat-rear",
                "chainstay",
                160,
                tubes=stays(UNDER_FLATS | {"offset": 14, "outset": -6}),
                boss={"diameter": 12, "length": 35},
            ),
            "disc 160 to chainstay",
        ),
    },
}

UNMEASURED = ("outset", "splay")
"""What places a tube sideways: left out, nothing sideways of that tube is known."""

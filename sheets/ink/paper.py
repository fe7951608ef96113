"""Paper sizes, portrait, in mm.

A4 and A3: ISO 216 (published tables, e.g. mainthebest.com, distromedia.com). Letter, Legal and Tabloid:
ANSI sizes, defined in inches as 8.5 x 11, 8.5 x 14 and 11 x 17 (simplewoody.com, unitplanet.com). A sheet's
edge is never a datum: ISO 216 lets it be cut 1.5 to 2 mm off.
"""

from sheets.ink.records import Paper

_INCH = 25.4

PAPERS: dict[str, Paper] = {
    paper.name: paper
    for paper in (
        Paper("A4", 210.0, 297.0),
        Paper("A3", 297.0, 420.0),
        Paper("Letter", 8.5 * _INCH, 11 * _INCH),
        Paper("Legal", 8.5 * _INCH, 14 * _INCH),
        Paper("Tabloid", 11 * _INCH, 17 * _INCH),
    )
}

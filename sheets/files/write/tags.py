"""What is on a page as who listens hears it: marked content, and the tree of what it belongs to.

Structure after ISO 32000-1, 14.7 and 14.8, as ISO 14289-1 wants it used. A page's parts come from its sheet's
records. What is lettered on a drawing is read as paragraphs after it, once; the drawing itself is a figure
that is described, and what frames and rules words is an artifact.
"""

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from sheets.files import objects
from sheets.files.objects import Words
from sheets.ink.bounds import sheet_bounds
from sheets.ink.records import FURNITURE, Label, Part, Path, Sheet, Text

_ARTIFACT: Part = ((0, "Artifact"),)
_LAST: Part = ((1_000_000, "P"),)
"""Where stands what no part was named for."""
_SCOPED = {"Column": "TH", "Row": "TH"}
_POINTS_A_MM = 72 / 25.4


class _Leaf(NamedTuple):
    """Something on a page: its part, and its number there, the place of its field, or None for nothing."""

    part: Part
    held: Any


def inked(sheet: Sheet) -> Iterator[tuple[Part, Path]]:
    """Yield a sheet's paths in order, each with the part that it is of."""
    for path in sheet.paths:
        if path.commands and not path.labels:
            yield sheet.figure if path.layer not in FURNITURE and sheet.figure else _ARTIFACT, path


def lines(sheet: Sheet) -> Iterator[tuple[Part, Label | Text]]:
    """Yield a sheet's lines of text in the order in which they are set, each with the part that it is of."""
    for path in sheet.paths:
        yield from ((label.part or _LAST, label) for label in path.labels)
    yield from ((text.part or _LAST, text) for text in sheet.texts)


def begins(part: Part, number: int) -> bytes:
    """Return what begins the marked content of a part, the page's so-manyth from 0."""
    kind = _kind(part)
    return b"/Artifact BMC" if kind == "Artifact" else b"/%b<</MCID %d>>BDC" % (kind.encode(), number)


def counted(part: Part) -> bool:
    """Tell whether a part's content has a number, which no artifact has."""
    return _kind(part) != "Artifact"


def _kind(part: Part) -> str:
    kind = next(kind for _, kind in reversed(part) if kind)
    return _SCOPED.get(kind, kind)


def _leaves(sheet: Sheet, fields: Sequence[Any]) -> list[_Leaf]:
    """Return all on a page in reading order, given the places of its fields."""
    runs: list[Part] = []
    for several in (inked(sheet), lines(sheet)):
        runs += (part for part, _ in itertools.groupby(part for part, _ in several))
    found = [_Leaf(part, number) for number, part in enumerate(filter(counted, runs))]
    found += [_Leaf(part, None) for part in sheet.vacant]
    for number, (field, place) in enumerate(zip(sheet.fields, fields, strict=True)):
        found.append(_Leaf(field.part or (*_LAST, (number, "Form")), place))
    return sorted(found, key=lambda leaf: leaf.part)


def begin(document: Any) -> None:
    """Give a document a tree without pages."""
    root = objects.add(document, {"/Type": "/StructTreeRoot", "/ParentTree": {"/Nums": []}})
    whole = objects.add(document, {"/S": "/Document", "/P": root, "/K": []})
    objects.change(root, {"/K": whole, "/ParentTreeNextKey": 0})
    objects.catalog(document, {"/StructTreeRoot": root, "/MarkInfo": {"/Marked": True}})


def tag(document: Any, sheets: Sequence[Sheet], first: int, fields: Mapping[str, Any]) -> None:
    """Add the pages of sheets, which begin at index `first`, to a document's tree, if it has one.

    `fields` are the references to the fields' places by name.
    """
    root = objects.structure(document)
    if root is None:
        return
    tree = _Tree(document, int(root["/ParentTreeNextKey"]))
    whole = root.raw_get("/K")
    pages = [
        tree.page(sheet, index, whole, [fields[each.name] for each in sheet.fields])
        for index, sheet in enumerate(sheets, start=first)
    ]
    objects.extend(whole, "/K", pages)
    numbered = [each for key in sorted(tree.parents) for each in (key, tree.parents[key])]
    objects.extend(root["/ParentTree"], "/Nums", numbered)
    objects.change(root.indirect_reference, {"/ParentTreeNextKey": tree.key})


class _Tree:
    """A tree as it grows, page by page.

    `parents` tells by keys in which parts a page's content, or a field, is; `key` is the next that is free.
    """

    def __init__(self, document: Any, key: int) -> None:
        self._document, self.key = document, key
        self.parents: dict[int, Any] = {}
        self._shared: dict[str, Any] = {}

    def page(self, sheet: Sheet, index: int, above: Any, fields: Sequence[Any]) -> Any:
        """Return a reference to the part that a page is, given the places of its fields in order."""
        key, self.key = self.key, self.key + 1
        self._sheet, self._numbers = sheet, dict[int, Any]()
        self._here = objects.page(self._document, index, {"/StructParents": key})
        section = self._element("Sect", _leaves(sheet, fields), 0, above)
        self.parents[key] = [self._numbers[number] for number in range(len(self._numbers))]
        return section

    def _element(self, kind: str, leaves: Iterable[_Leaf], depth: int, above: Any) -> Any:
        """Return a reference to a part that has what begins at a depth of its leaves' parts."""
        element = objects.add(self._document, {"/S": f"/{_SCOPED.get(kind, kind)}", "/P": above})
        kids = self._kids(leaves, depth, element)
        # Content is told by its number on a page.
        entries = {"/Pg": self._here} if any(isinstance(each, int | dict) for each in kids) else {}
        entries |= self._more(kind)
        objects.change(element, entries | ({"/K": kids if len(kids) > 1 else kids[0]} if kids else {}))
        return element

    def _kids(self, leaves: Iterable[_Leaf], depth: int, above: Any) -> list[Any]:
        kids: list[Any] = []
        for step, several in itertools.groupby(leaves, key=lambda leaf: leaf.part[depth : depth + 1]):
            if not step:
                kids += [self._noted(leaf.held, above) for leaf in several if leaf.held is not None]
            elif step[0][1]:
                kids.append(self._element(step[0][1], several, depth + 1, above))
            else:
                kids += self._kids(several, depth + 1, above)
        return kids

    def _noted(self, held: Any, above: Any) -> Any:
        """Note that content, or a field, is in a part, and return what the part has for it."""
        if isinstance(held, int):
            self._numbers[held] = above
            return held
        objects.change(held, {"/StructParent": self.key})
        self.parents[self.key] = above
        self.key += 1
        return {"/Type": "/OBJR", "/Obj": held}

    def _more(self, kind: str) -> dict[str, Any]:
        """Return what else a part says: a figure what is seen and where, a head what it is the head of."""
        if kind == "Figure":
            ink = [path for part, path in inked(self._sheet) if part == self._sheet.figure]
            box = [side * _POINTS_A_MM for side in sheet_bounds(ink)]
            return {"/Alt": Words(self._sheet.alt), "/A": {"/O": "/Layout", "/BBox": box}}
        if kind not in _SCOPED:
            return {}
        if kind not in self._shared:
            said = {"/O": "/Table", "/Scope": f"/{kind}"}
            self._shared[kind] = objects.add(self._document, said)
        return {"/A": self._shared[kind]}

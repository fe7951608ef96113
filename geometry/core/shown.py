"""Lengths that remember more than their number: how exactly they were known, or how they were typed."""


class Shown(str):
    """A length that was rounded to a text in mm, with the whole of it, for whoever tells it in inches.

    It is equal to its text. `exact` is in mm.
    """

    __slots__ = ("exact",)
    exact: float

    def __new__(cls, text: str, exact: float) -> "Shown":
        """Return the text with what it was made of, mm."""
        shown = super().__new__(cls, text)
        shown.exact = exact
        return shown

    def __reduce__(self) -> "tuple[type[Shown], tuple[str, float]]":
        """Return what it is made of, so that it comes back whole from another process."""
        return Shown, (str(self), self.exact)


class Down(str):
    """A length of mm that was rounded down, as every clearance is; in other units it is rounded down too."""

    __slots__ = ()


class Pieces(str):
    """Lengths that are put end to end, as a text of mm such as "10 + 5", with all of them for other units."""

    __slots__ = ("sizes",)
    sizes: tuple[float, ...]

    def __new__(cls, text: str, sizes: tuple[float, ...]) -> "Pieces":
        """Return the text with what it was made of, mm."""
        pieces = super().__new__(cls, text)
        pieces.sizes = sizes
        return pieces

    def __reduce__(self) -> "tuple[type[Pieces], tuple[str, tuple[float, ...]]]":
        """Return what it is made of, so that it comes back whole from another process."""
        return Pieces, (str(self), self.sizes)


class Typed(float):
    """A length in mm that was typed in inches, with the text as it was typed, such as "5/8 in".

    It is equal to its number, and whatever is worked out from it is a plain number again.
    """

    __slots__ = ("text",)
    text: str

    def __new__(cls, number: float, text: str) -> "Typed":
        """Return a number of mm with its text."""
        typed = super().__new__(cls, number)
        typed.text = text
        return typed

    def __reduce__(self) -> "tuple[type[Typed], tuple[float, str]]":
        """Return what it is made of, so that copies keep it."""
        return Typed, (float(self), self.text)

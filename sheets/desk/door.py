"""The one opening that is for the browser which the desk starts itself: its key opens once.

Whoever uses the same machine can read the command lines of all its programs, and with them the address that a
browser is started with. So that address has a key of its own, not the one that is printed: it is worth
nothing once the browser has come in. Somebody quicker than the browser would be in, and the browser at a
locked door: a second use of the key soon after the first shuts out whoever came first, too, and the printed
address lets the owner in.
"""

import secrets
import time
from dataclasses import dataclass, field

_SOON = 30.0
"""Seconds in which a second use tells that somebody else read the key; a browser starts in a few, and later
the key may stand in its command line all day, where reading it must shut nobody out. Own judgement."""


def secret() -> str:
    """Return what nobody guesses, as it stands in an address: 256 bits."""
    return secrets.token_urlsafe(32)


@dataclass(slots=True)
class Door:
    """An opening by a key that is used once; `session` is what the browser brings then, until it is shut."""

    key: str = field(default_factory=secret, repr=False)
    session: str = field(default_factory=secret, repr=False)
    opened: float | None = None
    shut: bool = False

    def enter(self) -> bool:
        """Tell whether the key opens this time."""
        now = time.monotonic()
        if self.opened is None:
            self.opened = now
            return True
        if now - self.opened < _SOON:
            self.shut = True
        return False

    @property
    def sessions(self) -> tuple[str, ...]:
        """Return what lets a request in by this door: nothing before it was opened and after it was shut."""
        return (self.session,) if self.opened is not None and not self.shut else ()

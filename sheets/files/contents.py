"""What stands in a packet, as plain values: pages, form fields, attachments and settings."""

from collections.abc import Mapping
from dataclasses import field

from geometry.core.frozen import dataclass
from geometry.core.say import Say

FORM_RESOURCE = "/AcroForm/DR"
"""What fonts for filling in are told by. A program may add others, for letters that these lack."""


@dataclass(frozen=True, slots=True)
class Widget:
    """A form field's place on a page: full name, page from 1, type, value, box in points, and its scripts.

    `kind` is the PDF's field type without its stroke: "Tx", "Btn", "Ch", "Sig". `value` of a tick is "yes" or
    "". `script` is the canonical form of its actions, b"" for none, `setup` of all else but the value and how
    that looks. `plain` tells whether what is shown there is the value, and nothing else.
    """

    name: str
    page: int
    kind: str
    value: str
    box: tuple[float, ...]
    script: bytes
    setup: bytes = b""
    plain: bool = True


@dataclass(frozen=True, slots=True)
class PageSeen:
    """What stands on a page: decoded content, canonical resources, boxes in points, turn, unit, annotations.

    `annotations` names those that are no form fields; `script` tells that the page has actions of its own.
    """

    content: bytes
    resources: bytes
    boxes: Mapping[str, tuple[float, ...]]
    rotate: int
    user_unit: float
    annotations: tuple[str, ...]
    script: bool


@dataclass(frozen=True, slots=True)
class Seen:
    """What stands in a document.

    `extras` are entries of its catalog that act on opening or hide things, `twice` the names of attachments
    that stand there more than once, `identifier` the lasting half of the document's own. `parts` are the
    canonical forms of whatever else stands in it, `damage` says what shows that the file is not whole.
    """

    pages: tuple[PageSeen, ...]
    widgets: tuple[Widget, ...]
    attachments: Mapping[str, bytes]
    print_scaling: str
    title: str
    subject: str
    extras: tuple[str, ...]
    identifier: bytes
    twice: tuple[str, ...] = ()
    parts: Mapping[str, bytes] = field(default_factory=dict)
    damage: tuple[Say, ...] = ()

"""SVG elements, and the text that they are in a file.

The standard library's writer passes through a tree twice, and cannot leave a style sheet as it stands.
Escapes after XML 1.0, 2.4 and 3.3.3.
"""

from collections.abc import Mapping
from xml.etree.ElementTree import Element

_IN_TEXT = str.maketrans({"&": "&amp;", "<": "&lt;", ">": "&gt;"})
# What ends a line or stands in a column would be read as a blank.
_IN_ATTRIBUTE = _IN_TEXT | str.maketrans({'"': "&quot;", "\r": "&#13;", "\n": "&#10;", "\t": "&#09;"})
_VERBATIM = "style"


def element(name: str, attributes: Mapping[str, str], *children: Element) -> Element:
    """Return an element with its attributes in order of their names."""
    made = Element(name, dict(sorted(attributes.items())))
    made.extend(children)
    return made


def worded(name: str, text: str) -> Element:
    """Return an element that has a text and nothing else."""
    made = Element(name)
    made.text = text
    return made


def spelt(root: Element) -> str:
    """Return an element and all within it as a file has them; a style sheet may hold no `]]>`."""
    parts: list[str] = []
    _spell(root, parts)
    return "".join(parts)


def _spell(each: Element, parts: list[str]) -> None:
    parts.append(f"<{each.tag}")
    parts += [f' {name}="{value.translate(_IN_ATTRIBUTE)}"' for name, value in each.items()]
    if not each.text and not len(each):
        parts.append(" />")
        return
    text = each.text or ""
    parts.append(f"><![CDATA[{text}]]>" if each.tag == _VERBATIM else f">{text.translate(_IN_TEXT)}")
    for child in each:
        _spell(child, parts)
    parts.append(f"</{each.tag}>")

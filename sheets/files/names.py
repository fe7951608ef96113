"""File names that a system may not have: told before a file is lost under one."""

import re
import sys

from geometry.core.say import Say, say

_DEVICE = re.compile(r"(?:con|prn|aux|nul|conin\$|conout\$|(?:com|lpt)[0-9¹²³])[ .]*(?:\..*)?", re.IGNORECASE)
_SIGNS = '<>:"/\\|?*'


def device(name: str) -> bool:
    """Tell whether a name is a device's on Windows, with or without an ending (learn.microsoft.com)."""
    return _DEVICE.fullmatch(name) is not None


def windows() -> bool:
    """Tell whether this is Windows."""
    return sys.platform == "win32"


def refused(name: str) -> Say | str:
    """Return why this system would not keep a file of this name, or "" where it would."""
    if not windows():
        return ""
    if device(name):
        return say("files.device")
    if name.endswith((".", " ")):
        return say("files.ends_badly")
    if any(sign in name for sign in _SIGNS):
        return say("files.bad_sign", signs=_SIGNS)
    return ""

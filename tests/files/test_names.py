"""Names that Windows does not keep, after "Naming files, paths and namespaces", learn.microsoft.com."""

import pytest

from geometry.core.say import say
from sheets.files.names import device, refused

DEVICES = [
    "CON",
    "con",
    "PRN",
    "aux",
    "NUL",
    "nul.pdf",
    "Com1",
    "COM9.tar.gz",
    "LPT1",
    "lpt¹.pdf",
    "NUL ",
    "con..",
]
FILES = ["console", "com10", "nul-1.pdf", "a.con", "lpt", "null", "COMB1"]


@pytest.mark.parametrize("name", DEVICES)
def test_a_device_is_told(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert device(name)
    assert refused(name) == ""
    monkeypatch.setattr("sys.platform", "win32")
    assert refused(name) == say("files.device")


@pytest.mark.parametrize("name", FILES)
def test_a_file_is_left_alone(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not device(name)
    monkeypatch.setattr("sys.platform", "win32")
    assert refused(name) == ""


@pytest.mark.parametrize(
    ("name", "code"),
    [("a.", "ends_badly"), ("a.pdf ", "ends_badly"), ("a:b.pdf", "bad_sign"), ("x?.pdf", "bad_sign")],
)
def test_what_windows_would_change_or_refuse(name: str, code: str, monkeypatch: pytest.MonkeyPatch) -> None:
    assert refused(name) == ""
    monkeypatch.setattr("sys.platform", "win32")
    assert str(refused(name)).startswith(f"files.{code}")

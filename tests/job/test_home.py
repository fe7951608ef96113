"""The builder's own folder where the system knows of none, and files there that are links."""

from pathlib import Path

import platformdirs
import pytest

from geometry.core.errors import DeliveryError
from geometry.core.say import say
from sheets.home import folder, printers, pull_history
from sheets.home.folder import home, put


def test_without_a_home_all_is_read_and_nothing_written(monkeypatch: pytest.MonkeyPatch) -> None:
    """A container may run a program as a user that has neither HOME nor an entry in passwd."""

    def nowhere(*_: object, **__: object) -> Path:
        raise RuntimeError("could not determine the home directory")

    monkeypatch.delenv(folder.HOME)
    monkeypatch.setattr(platformdirs, "user_config_path", nowhere)
    assert (printers.known(), pull_history.known()) == ({}, ())
    with pytest.raises(DeliveryError) as caught:
        put(home() / "printers.toml", "")
    (problem,) = caught.value.problems
    assert problem.what == say("own.file.no_home", home="DROPLEAF_HOME")
    assert not folder.NOWHERE.exists()


def test_a_link_stays_a_link_and_a_file_keeps_who_may_read_it(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv(folder.HOME, str(tmp_path / "home"))
    (tmp_path / "home").mkdir()
    real = tmp_path / "elsewhere.toml"
    real.write_text("", encoding="utf-8")
    real.chmod(0o640)
    (tmp_path / "home" / "printers.toml").symlink_to(real)
    put(home() / "printers.toml", "a = 1\n")
    assert (tmp_path / "home" / "printers.toml").readlink() == real
    assert real.read_text(encoding="utf-8") == "a = 1\n"
    assert real.stat().st_mode & 0o777 == 0o640

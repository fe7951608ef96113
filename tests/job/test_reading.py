"""From a file to a job: what is no job file is refused in one line that begins with its name."""

import os
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from geometry.core.errors import InputError
from sheets.job.read import LARGEST, from_bytes, load, read
from sheets.job.toml import hint
from sheets.words.tell import lines
from tests.outside_tools import device

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))


def refused(file: Path) -> str:
    """Return the single line with which a file is refused."""
    with pytest.raises(InputError) as caught:
        read(file)
    assert len(caught.value.problems) == 1
    [line] = lines(caught.value)
    assert line.startswith(f"{file}: ")
    assert "\n" not in line
    return line


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_samples_are_read_with_their_bytes(file: Path) -> None:
    source = load(file)
    assert source.raw == file.read_bytes()
    assert source.name == file.name
    assert source.job.frame.maker == "Saltmarsh Cycle Works"
    assert source.job == read(file)


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b"frame = [", "end of file: not TOML"),
        (b'[frame]\nid = "a"\nname == "b"\n', "line 3, column 7: not TOML"),
        (b"[frame]\nid = 1\nid = 2\n", "not TOML"),
        (b"[frame]\n\xff\xfe", "line 2: byte 0xff is not UTF-8 text"),
        (b"\x7fELF\x02\x01\x00", "not TOML"),
        (b"a = " + b"[" * 5000, "not TOML"),
        (b"a = " + b"9" * 5000, "not TOML"),
        (b"#" * (LARGEST + 1), "larger than 256 kB"),
    ],
)
def test_what_is_no_job_file(tmp_path: Path, raw: bytes, said: str) -> None:
    file = tmp_path / "bad.toml"
    file.write_bytes(raw)
    assert said in refused(file)


def test_five_megabytes_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "big.toml"
    with file.open("wb") as stream:
        stream.truncate(5_000_000)
    assert "larger than 256 kB" in refused(file)


def test_an_endless_file_is_not_read() -> None:
    assert "this is a device, and may never end" in refused(device("/dev/zero"))


def test_a_missing_file_with_a_near_name(tmp_path: Path) -> None:
    (tmp_path / "knot.toml").touch()
    assert "there is no such file, did you mean knot.toml?" in refused(tmp_path / "knott.toml")
    assert "there is no such file" in refused(tmp_path / "none" / "knot.toml")
    assert "cannot be read" in refused(tmp_path / "knot.toml" / "knot.toml")
    assert "cannot be read" in refused(tmp_path / ("x" * 300))


def test_a_folder(tmp_path: Path) -> None:
    assert "this is a folder" in refused(tmp_path)


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def shut(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    # The tests may run as one who may read everything.
    monkeypatch.setattr(os, "open", shut)
    assert "no permission to read it" in refused(tmp_path / "knot.toml")


def test_a_byte_order_mark_and_windows_line_ends(tmp_path: Path) -> None:
    file = tmp_path / "knot.toml"
    text = SAMPLES[0].read_text(encoding="utf-8")
    file.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert read(file) == read(SAMPLES[0])


def test_every_problem_is_led_by_the_file(tmp_path: Path) -> None:
    file = tmp_path / "knot.toml"
    file.write_text('[frame]\nid = "a/b"\n"odd\\nkey" = 1\n[mount]\nrotor = nan\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read(file)
    said = lines(caught.value)
    assert len(said) == len(caught.value.problems) > 3
    assert all(line.startswith(f"{file}: ") for line in said)


@given(
    st.one_of(
        st.binary(max_size=200), st.text(max_size=200).map(lambda text: text.encode("utf-8", "replace"))
    )
)
@example(b"a.b.c = 1\n[a]\n")
@example(b"x = 1979-05-27T07:32:00Z")
def test_any_bytes_are_refused_in_words(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    file = tmp_path_factory.getbasetemp() / "any.toml"
    file.write_bytes(raw)
    with pytest.raises(InputError):
        read(file)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("wall = 0,9", "0.9"),
        ('thickness = 7"', '"7 in"'),
        ("thickness = 7 mm", '"7 mm"'),
        ('thickness = 1/4"  # measured', '"1/4 in"'),
        ("thickness = 6,35 mm", 'and a value with a unit stands in quotes: "6.35 mm"'),
        ("thickness = { a = [25, 16 mm] }", '"16 mm"'),
    ],
)
def test_usual_slips_in_toml_get_what_to_write(tmp_path: Path, line: str, told: str) -> None:
    file = tmp_path / "slip.toml"
    file.write_text(f'[frame]\nid = "a"\n[dropout]\n{line}\n', encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read(file)
    [said] = lines(caught.value)
    assert told in said
    assert ": line 4, column " in said


def test_a_pdf_is_named_as_one(tmp_path: Path) -> None:
    file = tmp_path / "packet.pdf"
    file.write_bytes(b"%PDF-1.7\n")
    assert "this is a PDF; give the job file" in refused(file)


@pytest.mark.parametrize(
    "line", ["thickness = [0,5", 'note = "7 mm, 0,9', "thickness = 7 furlongs", "thickness"]
)
def test_no_hint_where_nobody_knows_what_was_meant(line: str) -> None:
    assert hint(line) == ""


@pytest.mark.parametrize("file", SAMPLES[:2], ids=lambda file: file.stem)
def test_bytes_are_read_without_a_file(file: Path) -> None:
    nowhere = Path("no", "such", "folder", file.name)
    source = from_bytes(file.read_bytes(), nowhere)
    assert (source.job, source.raw, source.path) == (read(file), file.read_bytes(), nowhere)


@pytest.mark.parametrize("raw", [b"frame = [", b"%PDF-1.7", b"#" * (LARGEST + 1), b"[frame]\nid = 7\n"])
def test_bytes_are_refused_as_the_file_that_holds_them(tmp_path: Path, raw: bytes) -> None:
    file = tmp_path / "bad.toml"
    file.write_bytes(raw)
    with pytest.raises(InputError) as whole:
        read(file)
    with pytest.raises(InputError) as alone:
        from_bytes(raw, file)
    assert lines(whole.value) == [f"{file}: {each}" for each in lines(alone.value)]

"""Bad input of every kind: exit status 2, one line a problem, and no file left."""

import string
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from sheets.job.keys import Job
from sheets.offered import known_commands
from tests.outside_tools import device, lacking

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("rotor = 160", "", "mount.rotor: missing"),
        ("rotor = 160", "roter = 160", "mount.roter: there is no such key, did you mean rotor?"),
        ("rotor = 160", 'rotor = "big"', "mount.rotor: 'big' is not a number with a unit"),
        ("rotor = 160", "rotor = nan", "mount.rotor: nan given; it must be a finite number"),
        ("rotor = 160", "rotor = -inf", "mount.rotor: -inf given; it must be a finite number"),
        ("rotor = 160", "rotor = true", "mount.rotor: true given"),
        ("rotor = 160", "rotor = -160", "mount.rotor: -160 given; allowed 100 to 260 mm"),
        (
            "rotor = 160",
            "rotor = 150",
            "mount.rotor: no adapter step takes a tab mount made for 140 to a 150 disc",
        ),
        ("rotor = 160", 'rotor = "6 furlongs"', "mount.rotor: '6 furlongs': the unit furlongs is not known"),
        ("is-rear", "is-front", "mount.interface: is-front belongs at the front"),
        ("is-rear", "is-raer", "mount.interface: 'is-raer' is not in the table, did you mean is-rear?"),
        ("135-qr", "100-qr", "axle.system: 100-qr is a front axle"),
        ("135-qr", "157-qr", "axle.system: '157-qr' is not in the table, did you mean"),
        ("knot-1", "../knot", "frame.id: '../knot' given"),
        ("[tubes.chainstay]", "[tubes.fork-leg]", "tubes.fork-leg: fork-leg given"),
        ("[frame]", "[frame", "line 2, column 7: not TOML"),
        ("[axle]", "[axle]\nsystem = 'a'", "line 12, column 18: not TOML"),
    ],
)
def test_one_wrong_thing_is_one_line(
    run: Callable, job: Path, write: Callable, old: str, new: str, said: str
) -> None:
    write(job, (old, new))
    for command in ("draw", "check"):
        ran = run(command, job)
        assert ran.status == 2
        assert ran.out == ""
        assert len(ran.errors) == 1
        assert ran.errors[0].startswith(f"dropleaf: {job}: {said}")
    assert [file.name for file in job.parent.iterdir()] == ["knot.toml"]


def test_what_is_no_job_file(run: Callable, job: Path, tmp_path: Path) -> None:
    big, binary = tmp_path / "big.toml", tmp_path / "binary.toml"
    big.write_bytes(b'a = "' + b"x" * 5_000_000 + b'"')
    binary.write_bytes(bytes(range(256)))
    before = sorted(tmp_path.rglob("*"))
    ran = run("draw", big, binary, tmp_path, tmp_path / "none.toml", "--out", tmp_path / "out")
    assert ran.status == 2
    assert [line.split(": ")[1] for line in ran.errors] == [
        *(str(big), str(binary), str(tmp_path), str(tmp_path / "none.toml"))
    ]
    assert sorted(tmp_path.rglob("*")) == before


def test_a_file_where_the_folder_should_be(run: Callable, job: Path, tmp_path: Path) -> None:
    blocked = tmp_path / "out"
    blocked.write_bytes(b"mine")
    for target in (blocked, blocked / "deeper"):
        ran = run("draw", job, "--out", target)
        assert ran.status == 2
        assert len(ran.errors) == 1
        assert "file, not a folder" in ran.errors[0]
    assert blocked.read_bytes() == b"mine"


def test_a_full_disk(job: Path, tmp_path: Path) -> None:
    """A limit on the size of a file stands for the full disk: the write fails half way."""
    if sys.platform == "win32":
        lacking("file sizes cannot be limited")
    import resource

    out = tmp_path / "out"
    out.mkdir()
    (out / "knot-1.pdf").write_bytes(b"older")

    def limit() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))

    done = subprocess.run(
        [sys.executable, "-B", "-m", "sheets", "draw", str(job), "--out", str(out)],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        preexec_fn=limit,
    )
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith(f"dropleaf: {out}")
    assert done.stderr.count("\n") == 1
    assert [file.name for file in out.iterdir()] == ["knot-1.pdf"]
    assert (out / "knot-1.pdf").read_bytes() == b"older"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ([], f"no command given (known: {', '.join(known_commands())}); see dropleaf --help"),
        (["drow"], "there is no command 'drow', did you mean draw?"),
        (["draw"], "no job file given; see dropleaf draw --help"),
        (["draw", "--jsn", "a"], "there is no option --jsn, did you mean --json?; see dropleaf draw --help"),
        (["draw", "a", "--out"], "Option '--out' requires an argument"),
        (["mounts", "a"], "Got unexpected extra argument (a); see dropleaf mounts --help"),
    ],
)
def test_a_wrong_command_line(run: Callable, arguments: list[str], said: str) -> None:
    ran = run(*arguments)
    assert ran.status == 2
    assert len(ran.errors) == 1
    assert ran.errors[0].startswith(f"dropleaf: {said}")


def test_odd_names_stay_on_one_line(run: Callable) -> None:
    ran = run("check", "no\nsuch\x1b[2J\udcff.toml")
    assert ran.status == 2
    assert len(ran.errors) == 1
    assert ran.errors[0].isprintable()


values = st.recursive(
    st.one_of(
        st.booleans(),
        st.integers(-300, 300),
        st.floats(),
        st.sampled_from(["post", "is-rear", "142x12", "3/4 in", "62 deg", "rear", "chainstay", "a\x00b", ""]),
        st.text(max_size=8),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.text(string.ascii_lowercase, max_size=4), inner, max_size=2),
    ),
    max_leaves=6,
)


def _tables() -> st.SearchStrategy[dict[str, Any]]:
    """Return documents that have the known keys here and there, and anything in them."""
    keys: dict[str, list[str]] = {}
    for name, field in Job.model_fields.items():
        inside = (field.annotation, *get_args(field.annotation))
        model = next(each for each in inside if isinstance(each, type) and issubclass(each, BaseModel))
        keys[name] = [each.alias or key for key, each in model.model_fields.items()]
    return st.fixed_dictionaries(
        {},
        optional={
            name: st.one_of(st.fixed_dictionaries({}, optional=dict.fromkeys(inside, values)), values)
            for name, inside in keys.items()
        },
    )


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return (
            '"' + "".join(f"\\U{ord(c):08x}" if not 0xD800 <= ord(c) < 0xE000 else "?" for c in value) + '"'
        )
    if isinstance(value, list):
        return f"[{', '.join(map(_toml, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_toml(key)} = {_toml(each)}" for key, each in value.items()) + "}"
    return repr(value)


@given(_tables())
def test_no_document_breaks_a_command(
    run: Callable, tmp_path_factory: pytest.TempPathFactory, document: dict[str, Any]
) -> None:
    file = tmp_path_factory.getbasetemp() / "fuzz.toml"
    file.write_text("\n".join(f"{key} = {_toml(value)}" for key, value in document.items()), encoding="utf-8")
    assert run("draw", file, "--json", "--out", tmp_path_factory.getbasetemp() / "fuzz").status in (0, 2)


@given(
    rotor=st.sampled_from([140, 160, 180, 200, 203, 220, 178, 183, 150]),
    native=st.sampled_from([None, 140, 160, 180, 203]),
    name=st.sampled_from(["is-rear", "post", "flat-rear"]),
    system=st.sampled_from(["130-qr", "135-qr", "142x12", "157x12", "100-qr"]),
    tilt=st.floats(-180, 180),
    sizes=st.lists(st.tuples(st.floats(-100, 400), st.floats(5, 80)), max_size=3).map(sorted),
    aside=st.tuples(*[st.floats(-100, 100)] * 2, st.floats(-30, 30)),
    page=st.tuples(st.sampled_from(["A4", "A3", "Tabloid"]), st.sampled_from(["outboard", "inboard"])),
)
def test_no_plausible_job_breaks_a_command(
    run: Callable,
    tmp_path_factory: pytest.TempPathFactory,
    rotor: int,
    native: int | None,
    name: str,
    system: str,
    tilt: float,
    sizes: list[tuple[float, float]],
    aside: tuple[float, float, float],
    page: tuple[str, str],
) -> None:
    """What is possible is drawn, also where a clearance fails, what is not is refused; none is a fault."""
    document = {
        "frame": {"id": "fuzz"},
        "mount": {"end": "rear", "interface": name, "rotor": rotor, "host": "chainstay", "tilt": tilt},
        "axle": {"system": system},
        "paper": {"size": page[0], "view": page[1]},
    }
    if native is not None:
        document["mount"]["native"] = native
    if sizes:
        chainstay = {"diameters": [list(pair) for pair in sizes]}
        document["tubes"] = {
            "chainstay": chainstay | dict(zip(("offset", "outset", "splay"), aside, strict=True))
        }
    file = tmp_path_factory.getbasetemp() / "plausible.toml"
    file.write_text("\n".join(f"{key} = {_toml(value)}" for key, value in document.items()), encoding="utf-8")
    out = tmp_path_factory.getbasetemp() / "plausible"
    for ran in (run("draw", file, "--out", out), run("check", file, "--json")):
        # Status 1 is something that stops the job and nothing else: a failed read-back would be a fault.
        stops = ("CLEARANCE FAILS", "nearly in two", "must not be built like this")
        failed = [line for line in ran.errors if any(said in line for said in stops)]
        assert ran.status in (0, 2) or (ran.status == 1 and failed == ran.errors)


def test_a_full_standard_output() -> None:
    with device("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-B", "-m", "sheets", "mounts"],
            cwd=ROOT,
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 2
    assert done.stderr == "dropleaf: standard output cannot be written: No space left on device\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ("proof", "--paper", "B5"),
        ("blank", "--paper", "B5"),
        ("shop",),
        ("printer", "add", "herring"),
        ("printer", "add", "herring", "--paper", "A9", "--across", "1", "--down", "1"),
        ("learn", "--readings", "none.toml"),
        ("survey", "none.toml", "--readings", "none.toml"),
        ("verify",),
        ("mounts", "a"),
    ],
    ids=" ".join,
)
def test_a_program_is_told_as_json_why_a_command_ended(run: Callable, arguments: tuple[str, ...]) -> None:
    ran = run(*arguments, "--json")
    assert ran.status == 2
    assert [f"dropleaf: {problem}" for problem in ran.json["errors"]] == ran.errors


def test_one_document_and_only_where_it_is_asked_for(run: Callable) -> None:
    # After -- it is a file's name.
    assert run("shop", "--", "--json").out == ""
    # These jobs were told as a document already.
    assert run("draw", "none.toml", "--json").json["job_file"] == "none.toml"
    # What every job lacks comes with what is wrong with all of them.
    ran = run("shop", "none.toml", "--json")
    assert len(ran.json["errors"]) == len(ran.errors) == 2


def test_a_group_alone_lists_its_commands(run: Callable) -> None:
    assert run("printer").errors == [
        "dropleaf: no command given (known: add, export, import, list, remove); see dropleaf printer --help"
    ]

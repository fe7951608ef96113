"""The house rules, read from the source: who imports whom, what lies where, what is written down.

Import statements are read with ast wherever they stand, inside functions too, so nothing is imported here.
"""

import ast
import functools
import re
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sheets.setup.cited import citation

ROOT = Path(__file__).parents[1]
PACKAGES = ("geometry", "fonts", "sheets")
MODULES = {
    ".".join(file.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): file
    for package in PACKAGES
    for file in sorted((ROOT / package).rglob("*.py"))
}
TABLES = sorted((ROOT / "geometry").rglob("*.toml"))
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

# What each room may look at besides the standard library, numpy and itself, from the ground up. Rooms are
# exact: "sheets.files" is what lies in that folder, "sheets.files.*" that and every folder below it.
MAY_IMPORT: dict[str, set[str]] = {
    "geometry": set(),
    "geometry.core": set(),
    "geometry.tables": {"geometry.core"},
    "geometry.tubes": {"geometry.core"},
    "geometry.mount": {"geometry.core", "geometry.tables", "geometry.tubes"},
    "geometry.braking": {"geometry.core", "geometry.tables", "geometry.tubes", "geometry.mount"},
    "geometry.clearance": {"geometry.core", "geometry.tables", "geometry.tubes", "geometry.mount"},
    "geometry.fixture": {"geometry.core", "geometry.tables", "geometry.tubes", "geometry.mount"},
    "geometry.survey": {
        "geometry.core", "geometry.tables", "geometry.tubes", "geometry.mount", "geometry.clearance",
    },
    "geometry.printing": {"geometry.core"},
    "fonts": {"geometry.core", "fontTools"},
    "sheets.ink": {"sheets.words", "geometry.core", "geometry.printing", "fonts", "segno"},
    "sheets.files": {"sheets.words", "geometry.core", "pypdf"},
    "sheets.files.write": {
        "sheets.words", "geometry.core", "fonts", "sheets.ink", "sheets.files", "svgwrite", "ezdxf",
    },
    "sheets.files.read": {
        "sheets.words", "geometry.core", "geometry.printing", "fonts", "sheets.ink", "sheets.files",
        "pypdfium2",
    },
    "sheets.files.drawings": {"sheets.words", "geometry.core", "geometry.mount", "sheets.files"},
    "sheets.keeping": {"sheets.words", "geometry.core", "sheets.files.*"},
    "sheets.words": {"geometry.*"},
    "sheets.job": {
        "geometry.*", "fonts", "sheets.ink", "sheets.files", "sheets.files.drawings", "sheets.words",
        "pydantic", "pydantic_core",
    },
    "sheets.home": {
        "geometry.*", "fonts", "sheets.words", "sheets.ink", "sheets.files.*", "sheets.job", "pydantic",
        "filelock", "platformdirs", "tomlkit",
    },
    "sheets.setup": {"geometry.*", "sheets.words", "sheets.job", "sheets.home"},
    "sheets.pages": {"geometry.*", "fonts", "sheets.ink", "sheets.words", "sheets.job", "sheets.setup"},
    "sheets.actions": {
        "geometry.*", "fonts", "sheets.ink", "sheets.files.*", "sheets.keeping", "sheets.words", "sheets.job",
        "sheets.home", "sheets.setup", "sheets.pages.*", "pydantic",
    },
    "sheets.filing": {
        "geometry.*", "sheets.words", "sheets.ink", "sheets.files.*", "sheets.keeping", "sheets.job",
        "sheets.home", "sheets.setup", "sheets.pages.*", "sheets.actions",
    },
    "sheets.guide": {
        "geometry.*", "sheets.ink", "sheets.files.*", "sheets.words", "sheets.job", "sheets.home",
        "sheets.actions", "pydantic",
    },
    "sheets": {
        "geometry.core", "geometry.tables", "sheets.words", "sheets.ink", "sheets.home", "sheets.actions",
        "sheets.guide", "sheets.commands", "click",
    },
    "sheets.commands": {"geometry.*", "sheets.*", "click"},
    "sheets.launch.dropleaf": {"sheets", "dropleaf"},
}  # fmt: skip
MAY_IMPORT["sheets.desk"] = MAY_IMPORT["sheets.filing"] | {
    "fonts", "sheets.filing", "sheets.guide", "starlette", "jinja2", "uvicorn",
}  # fmt: skip
# Kinds of pages stand side by side on what all pages share.
MAY_IMPORT |= {
    "sheets.pages.full_size": MAY_IMPORT["sheets.pages"] | {"sheets.pages"},
    "sheets.pages.wraps": MAY_IMPORT["sheets.pages"] | {"sheets.pages"},
    "sheets.pages.fixture": MAY_IMPORT["sheets.pages"] | {"sheets.pages", "sheets.pages.full_size"},
    "sheets.pages.running": MAY_IMPORT["sheets.pages"] | {"sheets.pages"},
}
ANYWHERE = {"numpy"}

# One library a file: who may import it, by room.
SOLE_IMPORTER = {
    "svgwrite": "sheets.files",
    "pypdf": "sheets.files",
    "pypdfium2": "sheets.files",
    "fontTools": "fonts",
    "segno": "sheets.ink",
    "ezdxf": "sheets.files",
    "filelock": "sheets.home",
    "platformdirs": "sheets.home",
    "tomlkit": "sheets.home",
    "jinja2": "sheets.desk",
    "uvicorn": "sheets.desk",
}

# Distributions that are not called what is imported from them. pydantic_core is a part of pydantic.
DISTRIBUTION = {
    "fpdf": "fpdf2",
    "fontTools": "fonttools",
    "PIL": "pillow",
    "axe_playwright_python": "axe-playwright-python",
    "Pynite": "PyNiteFEA",
    "pydantic_core": "pydantic",
    "zxingcpp": "zxing-cpp",
}


@functools.cache
def _tree(file: Path) -> ast.Module:
    return ast.parse(file.read_text(encoding="utf-8"), filename=str(file))


@functools.cache
def _imports(file: Path) -> frozenset[str]:
    """Return every module that a file imports; a name out of a package of ours counts as that module."""
    found: set[str] = set()
    for node in ast.walk(_tree(file)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative import, line {node.lineno}"
            assert node.module is not None
            inner = {f"{node.module}.{alias.name}" for alias in node.names} & set(MODULES)
            found |= inner or {node.module}
    return frozenset(found)


def _within(module: str, package: str) -> bool:
    return module == package or module.startswith(f"{package}.")


def _room(module: str) -> str:
    return next(room for room in sorted(MAY_IMPORT, key=len, reverse=True) if _within(module, room))


def _may(module: str, name: str) -> bool:
    """Return whether a module may import that name."""
    room = _room(module)
    top = name.partition(".")[0]
    if not _ours(name):
        return top in sys.stdlib_module_names or top in ANYWHERE | MAY_IMPORT[room]
    there = _room(name)
    return there == room or any(
        _within(there, each.removesuffix(".*")) if each.endswith(".*") else there == each
        for each in MAY_IMPORT[room]
    )


def _ours(module: str) -> bool:
    return any(_within(module, package) for package in PACKAGES)


def _foreign(file: Path) -> set[str]:
    tops = {name.partition(".")[0] for name in _imports(file)}
    return {top for top in tops if top not in sys.stdlib_module_names | {"dropleaf"} and not _ours(top)}


# --- imports


def test_the_modules_were_found() -> None:
    assert {
        "geometry.core.plane",
        "fonts.drafting",
        "sheets.ink.marks",
        "sheets.files.write.pdf",
        "sheets.cli",
    } <= set(MODULES)
    assert "math" in _imports(MODULES["geometry.core.plane"])
    assert "pypdf.generic" in _imports(MODULES["sheets.files.objects"])


@pytest.mark.parametrize("module", MODULES)
def test_imports_run_downward_only(module: str) -> None:
    assert [name for name in _imports(MODULES[module]) if not _may(module, name)] == []


def test_every_folder_has_its_rule_and_no_rule_leads_back() -> None:
    rooms = {".".join(file.relative_to(ROOT).parent.parts) for file in MODULES.values()}
    assert rooms == set(MAY_IMPORT)
    below = {
        room: {
            _room(name) for m in MODULES if _room(m) == room for name in _imports(MODULES[m]) if _ours(name)
        }
        - {room}
        for room in rooms
    }
    while free := {room for room, needs in below.items() if not needs}:
        below = {room: needs - free for room, needs in below.items() if room not in free}
    # Commands are found by the command line and use its console: the one pair that looks both ways, and the
    # launcher stands on it.
    assert set(below) <= {"sheets", "sheets.commands", "sheets.launch.dropleaf"}


def test_no_module_imports_itself_by_a_detour() -> None:
    below = {module: {each for each in MODULES if each in _imports(file)} for module, file in MODULES.items()}
    while free := {module for module, needs in below.items() if not needs}:
        below = {module: needs - free for module, needs in below.items() if module not in free}
    assert not below


@pytest.mark.parametrize("library", SOLE_IMPORTER)
def test_each_drawing_library_is_imported_by_one_file(library: str) -> None:
    users = [module for module, file in MODULES.items() if library in _foreign(file)]
    assert len(users) == 1, users
    assert _within(users[0], SOLE_IMPORTER[library])


def test_what_is_imported_is_declared_and_what_is_declared_is_imported() -> None:
    extra = PROJECT["optional-dependencies"]["dxf"]
    declared = {re.split(r"[<>=!~\[; ]", each)[0] for each in (*PROJECT["dependencies"], *extra)}
    used = set().union(*(_foreign(file) for file in MODULES.values()))
    assert {DISTRIBUTION.get(name, name) for name in used} == declared


def test_what_the_tests_import_is_declared_and_never_optional() -> None:
    test, bench, ours = (
        {re.split(r"[<>=!~\[; ]", each)[0] for each in listed}
        for listed in (*map(PROJECT["optional-dependencies"].get, ("test", "bench")), PROJECT["dependencies"])
    )
    files = sorted((ROOT / "tests").rglob("*.py"))
    local = {"tests"} | {file.stem for file in files}
    for file in files:
        used = {DISTRIBUTION.get(name, name) for name in _foreign(file) - local}
        assert used <= test | ours | (bench if file.parent.name == "bench" else set()), file
    # Put together here, so that this file is not found by its own search.
    lenient = ("import" + "orskip", "mark." + "skip", "pytest." + "skip(")
    texts = {file.name: file.read_text(encoding="utf-8") for file in files}
    # There a skip becomes a failure where CI is "true".
    assert [n for n, text in texts.items() if any(map(text.__contains__, lenient))] == ["outside_tools.py"]


# --- what lies where


def test_the_top_of_the_repository_holds_these_and_no_others() -> None:
    allowed = {
        "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml",
        "geometry", "fonts", "sheets", "samples", "tests",
    }  # fmt: skip
    # Ignored by git, or put there by packaging.
    rubbish = {"__pycache__", "build", "dist", "drawn", "PKG-INFO"}
    found = {
        path.name
        for path in ROOT.iterdir()
        if not path.name.startswith(".") and path.name not in rubbish and path.suffix != ".egg-info"
    }
    assert found <= allowed
    assert {"geometry", "fonts", "sheets", "tests", "pyproject.toml"} <= found


def test_files_stay_short_enough_to_read() -> None:
    files = [*MODULES.values(), *(ROOT / "tests").rglob("*.py")]
    lengths = {
        str(file.relative_to(ROOT)): len(file.read_text(encoding="utf-8").splitlines()) for file in files
    }
    assert {name: length for name, length in lengths.items() if length >= 450} == {}


def _undocumented(body: list[ast.stmt], place: str) -> Iterator[str]:
    for node in body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        if node.name.startswith("_"):
            continue
        if not ast.get_docstring(node):
            yield f"{place}.{node.name}"
        if isinstance(node, ast.ClassDef):
            yield from _undocumented(node.body, f"{place}.{node.name}")


@pytest.mark.parametrize("module", MODULES)
def test_what_is_public_says_what_it_is(module: str) -> None:
    tree = _tree(MODULES[module])
    assert ast.get_docstring(tree)
    assert list(_undocumented(tree.body, module)) == []


# --- tables

Place = tuple[str, ...]


def _numbers(node: Any, place: Place) -> Iterator[Place]:
    """Yield where each number of a table stands."""
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _numbers(value, (*place, key))
    elif isinstance(node, list):
        for i, value in enumerate(node):
            yield from _numbers(value, (*place, str(i)))
    elif isinstance(node, int | float) and not isinstance(node, bool):
        yield place


def _entries(
    node: Any, place: Place, sources: dict[str, str]
) -> Iterator[tuple[Place, dict[str, Any], dict[str, str]]]:
    """Yield each part of a table that claims a source or a grade, with the sources that hold there."""
    if isinstance(node, dict):
        listed = node.get("sources", sources)
        if {"grade", "source", "value", "values"} & set(node):
            yield place, node, listed
        for key, value in node.items():
            if key != "sources":
                yield from _entries(value, (*place, key), listed)
    elif isinstance(node, list):
        for i, value in enumerate(node):
            yield from _entries(value, (*place, str(i)), sources)


def _table(file: Path) -> tuple[dict[str, Any], list[tuple[Place, dict[str, Any], dict[str, str]]]]:
    raw = tomllib.loads(file.read_text(encoding="utf-8"))
    return raw, list(_entries(raw, (), {}))


def test_the_tables_were_found() -> None:
    assert {file.name for file in TABLES} >= {"axles.toml", "interfaces.toml"}
    for file in TABLES:
        raw, entries = _table(file)
        assert entries
        assert list(_numbers(raw, ()))


@pytest.mark.parametrize("file", TABLES, ids=lambda file: file.name)
def test_every_number_of_a_table_has_a_grade_and_a_listed_source(file: Path) -> None:
    raw, entries = _table(file)
    for place, entry, sources in entries:
        assert entry.get("grade") in ("A", "M", "B", "C", "D"), place
        assert entry.get("source") in sources, place
        # What was measured says on mounts of how many makers.
        said = re.match(r"measured on \d+ mounts of (\d+) makers", sources[entry["source"]])
        assert (entry["grade"] == "M") == bool(said and int(said[1]) >= 3), place
    covered = {place for place, _, _ in entries}
    for place in _numbers(raw, ()):
        if any(place[:end] in covered for end in range(len(place))):
            continue
        # The sizes that a row is made for name their source beside them; the ends of a path, and the size at
        # which it is given, say how far its own graded numbers go; an M5 is 5 across by its name.
        if place[-2] == "native":
            row = raw[place[0]][int(place[1])]
            assert row["native_source"] in raw["sources"], place
        elif place[-1] == "diameter":
            row = raw[place[0]][int(place[1])]
            assert row["name"] == f"M{row['diameter']:g}", place
        else:
            assert place[-2] == "path" and place[-1] in ("native", "from", "to"), place


@pytest.mark.parametrize("file", TABLES, ids=lambda file: file.name)
def test_every_source_of_a_table_is_used_and_says_something(file: Path) -> None:
    raw, entries = _table(file)
    lists = {id(sources): sources for _, _, sources in entries}
    used = {
        key: {entry["source"] for _, entry, listed in entries if listed is sources}
        for key, sources in lists.items()
    }
    # What is no number names its source beside it: native_source, screw_source.
    named = {
        text
        for row in raw.get("row", [])
        for part in (row, row.get("hole", {}))
        for key, text in part.items()
        if key.endswith("_source")
    }
    assert named <= set(raw["sources"])
    for key, sources in lists.items():
        assert set(sources) <= used[key] | named
        assert all(len(text) >= 10 for text in sources.values())
        # On paper a source takes a line: what stands before its first ": ".
        assert not [text for text in sources.values() if len(citation(text)) > 80]
        # A source is printed for builders: a file of ours is none.
        assert not [text for text in sources.values() if re.search(r"\.(toml|py|md)\b|tests/", text)]


@pytest.mark.parametrize("file", TABLES, ids=lambda file: file.name)
def test_what_is_remembered_derived_or_common_practice_is_graded_d(file: Path) -> None:
    # The grades, by the tables' own heading: D is derived, or remembered and not read.
    weak = ("remembered", "derived", "own judgement", "common practice")
    _, entries = _table(file)
    told = [(place, entry, citation(sources[entry["source"]])) for place, entry, sources in entries]
    # Of two texts, one may be remembered.
    alone = [(place, entry, cite) for place, entry, cite in told if ";" not in cite or cite.startswith(weak)]
    found = [(place, entry) for place, entry, cite in alone if cite.startswith(weak) or "remembered" in cite]
    assert found
    assert [place for place, entry in found if entry["grade"] != "D"] == []


def _hypotheses(raw: dict[str, Any]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Yield every number that places a mount, a hub or a disc: its row, its key and its entry."""
    rows = [
        *raw.get("row", []),
        *raw.get("axle", []),
        *({**raw[key], "name": key} for key in ("disc",) if key in raw),
    ]
    for row in rows:
        for place, entry, _ in _entries(row, (), {}):
            if "value" in entry:
                yield row["name"], ".".join(place), entry


@pytest.mark.parametrize("name", ["interfaces.toml", "axles.toml"])
def test_a_number_has_a_second_check_of_another_kind_or_stands_among_the_open_ones(name: str) -> None:
    raw, _ = _table(ROOT / "geometry" / "tables" / name)
    opened = [
        (row, key)
        for entry in raw["open"]
        for row in (entry.get("axles") or [entry["row"]])
        for key in entry["keys"]
    ]
    assert len(opened) == len(set(opened))
    assert all(len(entry["settle"]) > 20 for entry in raw["open"])
    numbers = {(row, key): entry for row, key, entry in _hypotheses(raw)}
    checked = {place for place, entry in numbers.items() if "check" in entry}
    # Neither both nor none: a number that a check bears out is open no more.
    assert not (wrong := {*opened} ^ (set(numbers) - checked)), f"{name}, [[open]] lacks or has too: {wrong}"
    kinds = {check["kind"] for check in raw["checks"].values()}
    assert kinds <= {"scale", "closure", "fit"}
    assert {numbers[place]["check"] for place in checked} == set(raw["checks"])


def test_no_row_stands_twice() -> None:
    lists = [
        [row["name"] for row in rows if "name" in row]
        for file in TABLES
        for key, rows in tomllib.loads(file.read_text(encoding="utf-8")).items()
        # An adapter's name is what is said of it ("none"), not what it is looked up by.
        if key != "adapter" and isinstance(rows, list) and all(isinstance(row, dict) for row in rows)
    ]
    assert any({"is-rear", "post"} <= {*names} for names in lists)
    for names in lists:
        assert len(names) == len(set(names))

"""Mutants of geometry/, drawn by seed: one sign, number or comparison changed, and the tests that notice.

A mutant is killed where a test fails that imports its file, or one that imports what imports it. Of these
only those are run that call the function (seen.py), so that 600 mutants take a night. By hand:
`python -m tests.soak.mutate --count 600`, which prints the score with its 95 % interval, and the survivors.
"""

import argparse
import ast
import copy
import functools
import json
import math
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.soak.seen import place

ROOT = Path(__file__).parents[2]
PATIENCE = 1800.0
"""Seconds after which a file's tests are taken to run for ever. A mutant's tests get a minute, and 30 times
what they take without it, for a busy machine; where they take longer, it is noticed."""

_FEW = 3
"""Files of tests that are asked before all others."""

_SWAPS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Add: ast.Sub,
    ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult, ast.And: ast.Or,
    ast.Or: ast.And,
}  # fmt: skip
_NAMES = {"min": "max", "max": "min", "sin": "cos", "cos": "sin", "any": "all", "all": "any"}


@dataclass(frozen=True, slots=True)
class Mutant:
    """A file of geometry/ with one thing changed: where, the line as it was and is, and the whole text.

    `function` is the line where the function begins that it is in, 0 for none.
    """

    file: Path
    line: int
    function: int
    was: str
    now: str
    text: str


def mutants(file: Path) -> Iterator[Mutant]:
    """Yield every mutant of a file."""
    source = file.read_text(encoding="utf-8")
    lines = source.encode().splitlines(keepends=True)
    tree = ast.parse(source)
    inside = dict(_functions(tree, 0))
    for node in ast.walk(tree):
        if not isinstance(node, ast.expr) or node.lineno != node.end_lineno or node.end_col_offset is None:
            continue
        for other in _others(node):
            number = node.lineno - 1
            now = lines[number][: node.col_offset] + f"({ast.unparse(other)})".encode()
            now += lines[number][node.end_col_offset :]
            text = b"".join((*lines[:number], now, *lines[number + 1 :])).decode()
            was, here = lines[number].decode().strip(), now.decode().strip()
            yield Mutant(file, node.lineno, inside[node], was, here, text)


def _functions(node: ast.AST, begin: int) -> Iterator[tuple[ast.AST, int]]:
    """Yield every node below with the line where the function begins that it is in, 0 for none."""
    yield node, begin
    if isinstance(node, ast.FunctionDef):
        # Defaults and annotations are worked out with what is outside.
        for each in (node.args, *node.decorator_list, *filter(None, [node.returns])):
            yield from _functions(each, begin)
        first = min((each.lineno for each in node.decorator_list), default=node.lineno)
        for each in node.body:
            yield from _functions(each, first)
        return
    for each in ast.iter_child_nodes(node):
        yield from _functions(each, begin)


def _others(node: ast.expr) -> Iterator[ast.expr]:
    other = copy.deepcopy(node)
    match other:
        case ast.Compare(ops=[operator]) if type(operator) in _SWAPS:
            other.ops = [_SWAPS[type(operator)]()]
        case ast.BinOp(op=operator) if type(operator) in _SWAPS:
            other.op = _SWAPS[type(operator)]()
        case ast.BoolOp(op=operator):
            other.op = _SWAPS[type(operator)]()
        case ast.Constant(value=int() | float() as value) if not isinstance(value, bool):
            other.value = value + 1
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            yield other.operand
            return
        case ast.IfExp():
            other.test = ast.UnaryOp(ast.Not(), other.test)
        case ast.Attribute(attr=name) | ast.Name(id=name) if name in _NAMES and isinstance(
            node.ctx, ast.Load
        ):
            yield ast.parse(ast.unparse(other)[: -len(name)] + _NAMES[name], mode="eval").body
            return
        case _:
            return
    yield other


@functools.cache
def _imported(file: Path) -> frozenset[str]:
    """Return the modules that a file imports, and what it imports from them, as they are named there."""
    found = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            found |= {str(node.module), *(f"{node.module}.{alias.name}" for alias in node.names)}
    return frozenset(found)


def importers(module: str, folder: Path) -> list[Path]:
    """Return the files below a folder that import a module."""
    return [file for file in sorted(folder.rglob("*.py")) if module in _imported(file)]


def _module(file: Path, root: Path) -> str:
    return ".".join(file.relative_to(root).with_suffix("").parts).removesuffix(".__init__")


def watching(file: Path, root: Path) -> Iterator[list[Path]]:
    """Yield the tests that import a file, those that import little else first, then more of geometry/.

    These import what imports it.
    """
    own, beside = _module(file, root), root / "tests" / "geometry"
    first = sorted(
        _tests(own, root / "tests"), key=lambda each: (each.parent != beside, len(_imported(each)))
    )
    yield first[:_FEW]
    yield first[_FEW:]
    above = importers(own, root / "geometry")
    more = {each for other in above for each in _tests(_module(other, root), beside)}
    yield sorted(more - set(first))


def _tests(module: str, folder: Path) -> list[Path]:
    return [each for each in importers(module, folder) if each.name.startswith("test_")]


def killed(mutant: Mutant, root: Path) -> bool:
    """Tell whether a test notices a mutant, in a copy of the project that is put right again.

    Asked are those that call its function, the quick ones first.
    """
    before = mutant.file.read_text(encoding="utf-8")
    for files in watching(mutant.file, root):
        names, seconds = asked(mutant, files, root)
        try:
            mutant.file.write_text(mutant.text, encoding="utf-8")
            if not passes(names, seconds, root):
                return True
        except subprocess.TimeoutExpired:
            return True
        finally:
            mutant.file.write_text(before, encoding="utf-8")
    return False


def asked(mutant: Mutant, files: Sequence[Path], root: Path) -> tuple[list[str], float]:
    """Return the tests of some files that call a mutant's function, and their seconds.

    What belongs to no function is worked out in loading, and any test may notice it.
    """
    found: dict[str, float] = {}
    for file in files:
        for name, (took, called) in seen(file, root).items():
            if not mutant.function or place(mutant.file, mutant.function) in called:
                found[name] = took
    return sorted(found, key=found.__getitem__), sum(found.values())


@functools.cache
def seen(file: Path, root: Path) -> dict[str, tuple[float, frozenset[str]]]:
    """Return what each test of a file takes and calls without a mutant; where one fails none is asked."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "seen.json")
        _pytest(["-p", "tests.soak.seen", str(file)], root, PATIENCE, SEEN=str(out))
        if not out.exists():
            return {}
        told = json.loads(out.read_text(encoding="utf-8"))
    return {name: (took, frozenset(called)) for name, (took, called) in told.items()}


def passes(names: Sequence[str], seconds: float, root: Path) -> bool:
    """Tell whether tests pass in a copy of the project, in the order given; none do."""
    if not names:
        return True
    with tempfile.TemporaryDirectory() as folder:
        # More than a command line holds.
        listed = Path(folder, "tests.txt")
        listed.write_text("\n".join(names), encoding="utf-8")
        return not _pytest([f"@{listed}"], root, 60.0 + PATIENCE / 60.0 * seconds)


def _pytest(arguments: Sequence[str], root: Path, seconds: float, **more: str) -> int:
    environment = {**os.environ, "PYTHONPATH": str(root), "PYTHONDONTWRITEBYTECODE": "1", **more}
    command = [sys.executable, "-m", "pytest", "-qx", "-p", "no:cacheprovider", *arguments]
    return subprocess.run(
        command, cwd=root, env=environment, capture_output=True, timeout=seconds, check=False
    ).returncode


def interval(good: int, count: int) -> tuple[float, float]:
    """Return the 95 % interval of a share after Wilson (J. Am. Stat. Assoc. 22, 1927, 209-212)."""
    z, share = 1.96, good / count
    middle = share + z * z / (2 * count)
    reach = z * math.sqrt(share * (1 - share) / count + z * z / (4 * count * count))
    return (middle - reach) / (1 + z * z / count), (middle + reach) / (1 + z * z / count)


def run(seed: int, count: int) -> Iterator[tuple[Mutant, bool]]:
    """Draw so many mutants of all and yield each with whether it was killed."""
    with tempfile.TemporaryDirectory() as name:
        root = Path(name)
        for folder in ("geometry", "fonts", "sheets", "tests", "samples"):
            shutil.copytree(ROOT / folder, root / folder, ignore=shutil.ignore_patterns("__pycache__"))
        for file in ("pyproject.toml", "README.md", "DEVELOPERS.md"):
            shutil.copy(ROOT / file, root)
        drawn = [each for file in sorted((root / "geometry").rglob("*.py")) for each in mutants(file)]
        for mutant in random.Random(seed).sample(drawn, count):
            yield mutant, killed(mutant, root)


def command_line() -> None:
    """Run a profile by hand: a line for each survivor, then the score."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=600)
    given = parser.parse_args()
    good = count = 0
    for mutant, dead in run(given.seed, given.count):
        count, good = count + 1, good + dead
        if not dead:
            sys.stdout.write(f"{mutant.file.name}:{mutant.line}\n  {mutant.was}\n  {mutant.now}\n")
        low, high = interval(good, count)
        sys.stdout.write(f"seed {given.seed}: {good} of {count} killed, {low:.0%} to {high:.0%}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    command_line()

"""Write down everything that the commands give for all samples and many random jobs, to compare two versions.

Run: python tests/bench/freeze.py FOLDER [JOBS], 200 random jobs if no number is given.
Run it before and after a change that shall change nothing, then `diff -r BEFORE AFTER`. For each job it keeps
what `check` and `draw` print, as text and as JSON, the text of every page, and the digest of every file,
of those for machines and of the fixture, too. The random jobs are the same ones in every run.
"""

import contextlib
import hashlib
import io
import os
import random
import sys
import tempfile
from pathlib import Path
from typing import Any

import pypdf

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
os.environ["DROPLEAF_HOME"] = tempfile.mkdtemp(prefix="dropleaf-home-")

SIZES = (140, 160, 180, 203)
AXLES = {"rear": ["135-qr", "142x12", "148x12", "130-qr"], "front": ["100-qr", "100x12", "100x15", "110x15"]}


def tube(pick: random.Random, name: str) -> str:
    """Return a tube's table; now and then something that it should have is missing."""
    start, wide = pick.randint(10, 60), round(pick.uniform(12, 34), 1)
    far = [start + 150, round(wide + pick.uniform(-2, 6), 1), round(wide + pick.uniform(-2, 6), 1)]
    lines = [f"[tubes.{name}]", f"diameters = [[{start}, {wide}], {far}, [{start + 380}, {wide}]]"]
    for key, low, high in (("offset", -6, 18), ("outset", -5, 20), ("splay", -2, 6), ("wall", 0.6, 1.4)):
        if pick.random() < 0.8:
            lines.append(f"{key} = {round(pick.uniform(low, high), 1)}")
    if name == "seatstay":
        lines.append(f"included = {round(pick.uniform(45, 75), 1)}")
    return "\n".join(lines)


def job(pick: random.Random, number: int) -> str:
    """Return a random job file, plausible in its parts though not always as a whole."""
    from geometry.tables.interfaces import rows

    row = pick.choice(sorted(rows()))
    form = rows()[row]
    end = pick.choice(form.ends)
    natives = SIZES if form.path else [int(size) for size in form.sizes]
    rotors = [size for size in SIZES if form.family == "tab" or form.path or size in natives]
    host = "fork-leg" if end == "front" else pick.choice(["chainstay", "seatstay"])
    hosts = ["fork-leg"] if end == "front" else ["chainstay", "seatstay"]
    native = pick.choice(natives)
    rotor = pick.choice([each for each in rotors if each >= native])
    parts = [
        f'[frame]\nid = "plover-{number}"\nname = "{pick.choice(["Plover", "Gåsö Ångström", "Éclair"])}"',
        f'[mount]\nend = "{end}"\ninterface = "{row}"\nnative = {native}\nrotor = {rotor}\nhost = "{host}"'
        f"\ntilt = {pick.choice([0, 0, round(pick.uniform(-30, 30), 1)])}",
        f'[axle]\nsystem = "{pick.choice(AXLES[end])}"',
        f'[paper]\nsize = "{pick.choice(["A4", "Letter", "A3"])}"'
        f'\nview = "{pick.choice(["outboard", "inboard"])}"',
    ]
    dropout = [f"thickness = {pick.randint(5, 12)}"] if pick.random() < 0.8 else []
    if pick.random() < 0.4:
        dropout += [f"slot = {pick.randint(-40, 60)}", f'slot_from = "{pick.choice(["tube", "plumb"])}"']
    parts.append("[dropout]\n" + "\n".join(dropout))
    parts += [tube(pick, name) for name in hosts if name == host or pick.random() < 0.6]
    if pick.random() < 0.7:
        key, low, high = ("thickness", 4, 9) if form.family == "tab" else ("length", 12, 60)
        parts.append(f"[boss]\n{key} = {round(pick.uniform(low, high), 1)}")
    if pick.random() < 0.6:
        method = pick.choice(["tig", "fillet-braze", "silver-braze"])
        material = pick.choice(["CrMo", "titanium 3-2.5", "stainless", "steel"])
        facing = pick.choice([0, 0.3, 0.5])
        parts.append(f'[process]\nmethod = "{method}"\nmaterial = "{material}"\nfacing = {facing}')
    bench = ["spacers = [10, 5, 3, 2, 1, 1, 0.5]"] if pick.random() < 0.6 else []
    bench += ["fixture = true"] if pick.random() < 0.3 else []
    parts.append("[bench]\n" + "\n".join(bench))
    return "\n\n".join(parts) + "\n"


def ran(*arguments: str) -> str:
    """Return what a command line gives: its status, its output and its errors, in that order."""
    from sheets.cli import main

    out, errors = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(errors):
        status = main(arguments)
    return f"status {status}\n{out.getvalue()}\n{errors.getvalue()}"


def kept(file: Path, drawn: Path, place: Path) -> None:
    """Write down what one job gives, in a folder of its own."""
    place.mkdir(parents=True, exist_ok=True)

    def note(name: str, said: Any) -> None:
        text = str(said).replace(str(drawn), "DRAWN").replace(str(file.parent), "JOBS")
        (place / name).write_text(text.replace(str(ROOT), "ROOT"), encoding="utf-8")

    note("check.txt", ran("check", str(file)))
    note("check-all.txt", ran("check", str(file), "--all"))
    note("check.json", ran("check", str(file), "--json"))
    note("draw.json", ran("draw", str(file), "--out", str(drawn), "--json"))
    more = drawn / "all-kinds"
    note("draw.txt", ran("draw", str(file), "--out", str(more), "--plate", "--dxf", "--cutter", "--svg-text"))
    digests = []
    for made in sorted(file for file in drawn.rglob("*") if file.is_file()):
        digests.append(f"{hashlib.sha256(made.read_bytes()).hexdigest()} {made.relative_to(drawn)}")
        if made.suffix == ".pdf" and made.parent == drawn:
            for number, page in enumerate(pypdf.PdfReader(made).pages, start=1):
                note(f"page-{number}.txt", page.extract_text())
    note("digests.txt", "\n".join(digests))


def main(folder: Path, count: int) -> None:
    """Write down all samples, then the random jobs."""
    from sheets.actions import version

    # Packets name the build that drew them, which is another one at every commit.
    version.version = lambda: "0.0.0+frozen"  # type: ignore[assignment]
    pick = random.Random(20261128)
    with tempfile.TemporaryDirectory() as scratch:
        jobs = Path(scratch) / "jobs"
        jobs.mkdir()
        files = sorted((ROOT / "samples").glob("*.toml"))
        for number in range(count):
            file = jobs / f"random-{number:03}.toml"
            file.write_text(job(pick, number), encoding="utf-8")
            files.append(file)
        for file in files:
            drawn = Path(scratch) / "drawn" / file.stem
            drawn.mkdir(parents=True)
            kept(file, drawn, folder / file.stem)


if __name__ == "__main__":
    if len(sys.argv) < 2:
        raise SystemExit("name a folder to write to: python tests/bench/freeze.py FOLDER [JOBS]")
    main(Path(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 200)

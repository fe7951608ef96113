"""Every command that writes, and what a page of the desk has written, with what comes before and after."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sheets.desk import typed
from sheets.desk.edit import edited, now

SAMPLES = Path(__file__).parents[2] / "samples"


def _edited(job: Path, more: str) -> object:
    was = now(job)
    return edited(job, was.text + more, was.digest, was.draft)


@dataclass(frozen=True, slots=True)
class Case:
    """A command that writes: what must have been run before it, itself, and one that comes next.

    In arguments {out} is a folder of packets, {job} a copy of a sample, {samples} the samples' folder and
    {filed} one of packets that were recalled since.
    """

    name: str
    command: str
    next: str
    before: tuple[str, ...] = ()
    change: tuple[str, str] | None = None
    """A text of the job file, and what stands in its place when the command itself is run."""
    status: int = 0
    """In what the command ends that did all that it was asked for."""
    typed: str = ""
    """What is typed at the terminal, which is then left."""
    asked: Callable[[Path], object] | None = None
    """What a page of the desk asks for of the job file, in place of a command."""


_READ = "--paper A4 --across 174.5 --down 266"
CASES = (
    Case(
        "printer",
        f"printer add attic {_READ}",
        "printer list",
        ("printer add shop --paper A4 --across 174 --down 266",),
    ),
    Case(
        "import",
        "printer import {out}/shop.toml --replace",
        "printer list",
        (
            f"printer add shop {_READ}",
            "printer export shop {out}/shop.toml",
            "printer remove shop",
            "printer add shop --paper Letter --across 174 --down 250",
        ),
    ),
    Case(
        "export",
        "printer export shop {out}/shop.toml --replace",
        "verify --all {out}",
        (
            "printer add shop --paper Letter --across 174 --down 250",
            "printer export shop {out}/shop.toml",
            f"printer add shop {_READ} --replace",
        ),
    ),
    Case("remove", "printer remove shop", "printer list", (f"printer add shop {_READ}",)),
    Case(
        "start",
        "start frame-1 --out {out} --yes --no-draw --replace --set tubes.chainstay.place.1=17@25",
        "check {out}/frame-1.toml",
        (
            "start frame-1 --out {out} --yes --no-draw --set other.stay=no"
            " --set tubes.chainstay.place.1=16@25",
        ),
    ),
    Case(
        "new",
        "start frame-1 --out {out} --yes --no-draw --set other.stay=no --set tubes.chainstay.place.1=16@25",
        "check {out}/frame-1.toml",
    ),
    Case("learn", "learn --readings {samples}/readings/flat-rear.toml --save shop-flat", "mounts"),
    Case("report", "learn --readings {samples}/readings/flat-rear.toml --report {out}", "verify --all {out}"),
    Case(
        "proof", "proof --paper A4 --out {out}", "verify --all {out}", ("proof --paper Letter --out {out}",)
    ),
    Case("blank", "blank --out {out}", "verify --all {out}"),
    Case("shop", "shop {job} --pdf {out}/bench.pdf", "verify --all {out}"),
    Case(
        "draw",
        "draw {job} --out {out}",
        "verify --all {out}",
        ("draw {job} --out {out}",),
        ('name = "Dunlin"', 'name = "Dunlin again"'),
    ),
    Case(
        "survey",
        "survey {job} --readings {samples}/readings/dunlin.toml --packet {out}/dunlin-1.pdf",
        "verify --all {out}",
        ("draw {job} --out {out}",),
    ),
    Case("pull", "survey {job} --readings {samples}/readings/dunlin.toml", "printer list"),
    Case("change", "start {job} --yes --no-draw --set bench.plate=6", "check {job}"),
    Case("pool", "learn --pool {samples}/readings/flat-rear.toml --save shop-flat", "mounts"),
    Case("recall", "verify --all {filed} --pdf {out}/recall.pdf", "verify --all {out}", status=1),
    Case("sample", "sample stint --out {out}", "verify --all {out}"),
    Case("samples", "sample --all --out {out}", "sample --all --out {out}"),
    Case(
        "edited",
        "",
        "check {job}",
        asked=lambda job: _edited(job, "# mine\n"),
    ),
    Case(
        "field",
        "",
        "check {job}",
        asked=lambda job: typed.keep(job.with_suffix(".typed"), "cold", {"t": "5"}),
    ),
    Case("draft", "start frame-1 --out {out} --no-draw", "verify --all {out}", status=130, typed="Knot\n"),
    Case("begun", "start {job} --no-draw", "check {job}", status=130, typed="bench.plate\n6\n"),
    Case("typed", "survey {job} --point finished", "check {job}", status=130, typed="-0.4\n"),
)

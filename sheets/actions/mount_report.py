"""A measured mount as a report: one page, and one small file that others can check and pool.

The file is a readings file with a format and a version, what the readings came to, and a digest in its second
line. It names nobody unless a name is given for it. What it came to is for people: whoever pools it works
that out anew from the readings.
"""

import statistics
from pathlib import Path
from typing import Any

from geometry.core.errors import InputError
from geometry.core.frozen import dataclass
from geometry.core.say import Say, say
from sheets.actions import learn_words
from sheets.actions.learn import FORMAT, HEAD, MORE, READINGS, VERSION, Lesson, mount
from sheets.actions.manifest import Drawn, file_json
from sheets.actions.version import version
from sheets.actions.writing import read_back, written
from sheets.files import seal
from sheets.files.write.deliver import staging
from sheets.ink.records import Paper
from sheets.job.toml import block
from sheets.keeping.overwriting import must_give_way
from sheets.pages.running.jaws import Mounted
from sheets.pages.running.mount_report import Reported, report_pages
from sheets.words.tell import tell, told

_AXLE, _PIN = 12.0, 5.0
"""Axle and pins as they are drawn where neither was read, mm."""


@dataclass(frozen=True, slots=True)
class Report:
    """A report as it was written: its small file, its page, its digest, the largest deviation read, mm,
    what was measured, and who by, empty where it names nobody."""

    file: Path
    page: Drawn
    digest: str
    worst: float
    on: str
    name: str

    @property
    def lines(self) -> tuple[str, ...]:
        """Return what is told of it: its files, and whom they name."""
        who = tell("report.who_named", name=self.name, on=self.on) if self.name else ""
        return (
            read_back(str(self.page.path), self.worst),
            tell("report.read", kept=str(self.file)),
            who or tell("report.who", on=self.on),
        )

    @property
    def document(self) -> dict[str, Any]:
        """Return it as JSON."""
        files = {"file": str(self.file), "page": file_json(self.page)}
        return {**files, "digest": self.digest, "name": self.name or None}


def report_bytes(found: Lesson, name: str = "") -> bytes:
    """Return a report's small file; `name` is who measured, if that shall stand in it."""
    of = found.measured
    head: dict[str, object] = {"format": FORMAT, "version": VERSION}
    for key in (*HEAD[:6], *MORE, *HEAD[6:]):
        value = name if key == "by" else getattr(of, key)
        if value not in (None, ""):
            head[key] = int(value) if isinstance(value, float) and value.is_integer() else value
    head |= {"resolution": found.learned.tools.step, "caliper": found.learned.tools.off}
    head["play"] = found.learned.tools.loose
    readings: dict[str, list[float]] = {}
    for kind, value in of.readings:
        readings.setdefault(kind.key, []).append(value)
    numbers = learn_words.numbers_of(found)
    row: dict[str, object] = {key: round(value, 3) + 0.0 for key, (value, _) in numbers.items()}
    row["bands"] = {key: learn_words.up(band) for key, (_, band) in numbers.items()}
    text = "".join(
        (
            # The seal stands in the second line, within a length that no language may change.
            f"# {FORMAT} {VERSION}\n",
            seal.line("# "),
            f"# {tell('report.head')}\n",
            block("", head).lstrip("\n"),
            block(f"\n[{READINGS}]", readings),
            f"\n# {tell('report.row_head')}\n",
            block("[row]", row),
        )
    )
    return seal.sealed(text.encode())


def digest_of(raw: bytes) -> str:
    """Return the digest that stands in a report's second line."""
    return seal.shown(raw)


def write_report(found: Lesson, out: Path, paper: Paper, name: str = "") -> Report:
    """Write a report to a folder: its small file, and its page with that file attached.

    Raise InputError where a file of its name is there that is not it, and
    DropleafError as for any page.
    """
    raw = report_bytes(found, name)
    digest = digest_of(raw)
    of = found.measured
    stem = f"mount-{of.family}-{of.end}-{of.native:g}-{digest[:8]}"
    file = out / f"{stem}.toml"
    page = Drawn(out / f"{stem}.pdf", "pdf", report_pages(paper, _reported(found, file.name, digest, name)))
    must_give_way(page.path, "report", "out")
    if file.exists() and (not file.is_file() or file.read_bytes() != raw):
        raise InputError.at(str(file), say("report.taken"))
    title, subject = page.sheets[0].title, tell("report.subject")
    base = {"dropleaf": version(), "revision": 1, "parent": None, "frame": ""}
    with staging(out, say("report.other_folder")) as stage:
        (stage / file.name).write_bytes(raw)
        worst = written(
            page,
            stage,
            title=title,
            subject=subject,
            attachments=((file.name, raw),),
            base=base,
            kind="report",
        )
    return Report(file, page, digest, worst, of.on, name)


def _reported(found: Lesson, file: str, digest: str, name: str) -> Reported:
    of, learned = found.measured, found.learned
    read: dict[str, list[float]] = {}
    how = {}
    for kind, value in of.readings:
        read.setdefault(kind.key, []).append(value)
        how[kind.key] = told(kind.how)
    beside = {each.measured.key: each for each in found.compared}
    provisional = found.shipped is not None and found.shipped.provisional
    numbers = [
        (
            told(each.name),
            f"{each.value:.2f}",
            f"{learn_words.up(each.band):.2f}",
            learn_words.change(beside[each.key], provisional) if each.key in beside else "",
        )
        for each in learned.quantities
    ]
    words = [*found.questions, *found.doubts, learn_words.sentences(found)[0]]
    return Reported(
        title=tell("report.title", **mount(of.family, of.end), native=of.native),
        facts=[(tell(f"report.fact.{key}"), told(each)) for key, each in _facts(found, name) if each],
        readings=[
            (str(number), key, how[key], "; ".join(f"{value:g}" for value in each))
            for number, (key, each) in enumerate(read.items(), start=1)
        ],
        numbers=numbers,
        words=[*words, tell("report.digest", file=file, digest=digest)],
        mount=Mounted(
            of.family,
            of.end,
            learned.h.value,
            learned.x_near.value,
            learned.x_far.value,
            statistics.fmean(read.get("axle", [_AXLE])),
            statistics.fmean(read.get("pin", [_PIN])),
        ),
    )


def _facts(found: Lesson, name: str) -> tuple[tuple[str, Say | str], ...]:
    """Return what is said of a mount and its readings, each under its mark."""
    of, tools = found.measured, found.learned.tools
    unsaid = say("report.unsaid")
    what: Say | str = of.on
    if of.kind:
        kind = say(f"report.kind.{of.kind}")
        what = say("report.what", on=of.on, kind=kind)
        if of.year is not None:
            what = say("report.what_of_year", on=of.on, kind=kind, year=of.year)
    shows = say("report.shows_bare", step=tools.step, off=tools.off)
    if of.instrument:
        shows = say("report.shows", instrument=of.instrument, step=tools.step, off=tools.off)
    warm = unsaid if of.temperature is None else say("report.degrees", value=of.temperature)
    made: Say | str = of.maker or unsaid
    made = say("report.made", maker=made, model=of.model) if of.model else made
    return (
        ("what", what),
        ("maker", made),
        ("when", of.date),
        ("by", name or say("report.anonymous")),
        ("caliper", shows),
        ("pins", say("report.loose", loose=tools.loose)),
        ("warm", warm),
        ("adapter", say("report.on_adapter", step=of.adapter) if of.adapter else ""),
    )

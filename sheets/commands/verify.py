"""`dropleaf verify`: filed packets opened again, and told whether they are what was drawn."""

from collections import Counter
from pathlib import Path

import click

from geometry.core.errors import DropleafError, InputError
from sheets.console import JSON, Result, failed, progress, report, say
from sheets.offered import papers
from sheets.words.as_json import headed
from sheets.words.tell import first_of, tell

_MANY = 10
"""Packets named in one folder from which it is read once for all, and not for each revision by itself."""


@click.command("verify")
@click.argument("packets", metavar="PDF...", nargs=-1, type=click.Path(path_type=Path))
@click.option(
    "--all",
    "folder",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Go over all packets in a folder and below; name those that a changed table number affects.",
)
@click.option(
    "--pdf", type=click.Path(path_type=Path), metavar="FILE.pdf", help="With --all: write a recall as a page."
)
@click.option(
    "--paper", default="A4", metavar="PAPER", shell_complete=papers, help="Paper of that page. Default: A4."
)
@click.option(
    "--jobs",
    "at_once",
    type=click.IntRange(min=1),
    metavar="N",
    help="Look at so many packets at once. Default: as many as there are processors.",
)
@JSON
def command(
    packets: tuple[Path, ...],
    folder: Path | None,
    pdf: Path | None,
    paper: str,
    at_once: int | None,
    as_json: bool,
) -> int:
    """Tell whether a filed packet is what was drawn.

    It looks at every page's content and boxes, the print setting and the attachments; at whether pages are
    1:1; and at what today's tables make of the job inside. Filling in the form changes nothing of that. Where
    holes were drawn by a number that was corrected since, it says how far each lies off and what to do; with
    --all and --pdf that is also a page to print, with a line for each frame.

    A revision is looked at together with its parent beside it, the packet that it was made from.

    Exit status: 0 intact and 1:1; 1 not, or its parent changed, or with --all a packet that is changed or
    affected; 2 no packet.

    \b
    Example:
      dropleaf verify paper/dunlin-1.pdf
      says intact or changed and what, and which version and tables drew it
    """
    from sheets.actions.workers import cores
    from sheets.files.record import says

    if folder is not None:
        if packets:
            raise InputError.at("--all", tell("verify.one_or_other"))
        return _all(folder, pdf, paper, at_once or cores(), as_json)
    if pdf is not None:
        raise InputError.at("--pdf", tell("verify.pdf_of_folder"))
    if not packets:
        raise InputError.at("PDF", tell("verify.none_given"))
    # Imported here, so that no child has to.
    import sheets.filing.verify  # noqa: F401
    from sheets.files.apart import each_apart
    from sheets.keeping.lineage import read_beforehand

    for place, named in Counter(path.parent for path in packets).items():
        if named >= _MANY:
            read_beforehand(place)
    judged = each_apart(_judged, progress(packets, tell("command.verifying")), at_once or cores())
    results = [_unreadable(path, one) if isinstance(one, DropleafError) else one for path, one in judged]
    return report(results, as_json, says())


def _judged(path: Path) -> Result:
    from sheets.filing.verify import document, text, verify

    verdict = verify(path)
    faults = verdict.faults
    problems = (f"{path}: {first_of(faults)}",) if faults else ()
    entry = headed("verify", document(verdict))
    return Result(0 if verdict.good else 1, entry, f"{text(verdict)}\n", problems)


def _all(folder: Path, pdf: Path | None, paper: str, at_once: int, as_json: bool) -> int:
    from sheets.actions import manifest
    from sheets.console import complain
    from sheets.filing.filed_packets import document, look_through, packets_in, text

    found = look_through(progress(packets_in(folder), tell("command.looking")), at_once)
    written = False
    if pdf is not None:
        from sheets.filing.recall_file import write_recall

        written = write_recall(found, paper, pdf) is not None
    for line in (
        *found.unreadable,
        *(f"{path}: {first_of(changes)}" for path, changes in found.changed),
        *(f"{path}: {parent.text}" for path, parent in found.orphans if not parent.good),
    ):
        complain(line)
    if found.status == 1 and not found.changed and found.affected:
        count, of = len(found.affected), found.packets
        complain(tell("verify.folder_affected", folder=str(folder), count=count, of=of))
    if as_json:
        whole = {**document(found), "pdf": str(pdf) if written else None}
        say(manifest.text(headed("packets", whole)))
    else:
        page = tell("writing.written", file=str(pdf)) if written else tell("verify.nothing_recalled")
        say(text(folder, found) + (f"\n\n{page}" if pdf is not None else ""))
    return found.status


def _unreadable(path: Path, error: DropleafError) -> Result:
    result = failed(path, error)
    entry = headed("errors", {"packet": str(path), "errors": result.entry["errors"]})
    return Result(2, entry, "", result.problems)

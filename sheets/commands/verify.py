"""`dropleaf verify`: filed packets opened again, and told whether they are what was drawn."""

from pathlib import Path

import click

from geometry.core.errors import DropleafError, InputError
from sheets.console import JSON, Result, failed, progress, report, say


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
@click.option("--paper", default="A4", metavar="PAPER", help="Paper of that page. Default: A4.")
@JSON
def command(
    packets: tuple[Path, ...], folder: Path | None, pdf: Path | None, paper: str, as_json: bool
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
    from sheets.files.record import SAYS

    if folder is not None:
        if packets:
            raise InputError.at("--all", "a folder and single packets given; give one or the other")
        return _all(folder, pdf, paper, as_json)
    if pdf is not None:
        raise InputError.at("--pdf", "the recall is a page for a folder of packets; give --all and a folder")
    if not packets:
        raise InputError.at(
            "PDF", "no packet given; give PDFs that dropleaf has drawn, or --all and a folder"
        )
    from sheets.filing.verify import document, text, verify

    results = []
    for path in progress(packets, "verifying"):
        try:
            verdict = verify(path)
        except DropleafError as error:
            results.append(_unreadable(path, error))
            continue
        told = verdict.faults
        problems = (f"{path}: {told[0]}{_more(told)}",) if told else ()
        results.append(Result(0 if verdict.good else 1, document(verdict), f"{text(verdict)}\n", problems))
    return report(results, as_json, SAYS)


def _all(folder: Path, pdf: Path | None, paper: str, as_json: bool) -> int:
    from sheets.actions import manifest
    from sheets.console import complain
    from sheets.filing.filed_packets import document, look_through, packets_in, text

    found = look_through(progress(packets_in(folder), "looking"))
    written = False
    if pdf is not None:
        from sheets.filing.recall_file import write_recall

        written = write_recall(found, paper, pdf) is not None
    for line in (
        *found.unreadable,
        *(f"{path}: {changes[0]}{_more(changes)}" for path, changes in found.changed),
        *(f"{path}: {parent.text}" for path, parent in found.orphans if not parent.good),
    ):
        complain(line)
    if found.status == 1 and not found.changed and found.affected:
        complain(f"{folder}: {len(found.affected)} of {found.packets} packets are affected by changed tables")
    if as_json:
        say(manifest.text({**document(found), "pdf": str(pdf) if written else None}))
    else:
        told = f"{pdf}: written and read back" if written else "no packet is recalled: no page was written"
        say(text(folder, found) + (f"\n\n{told}" if pdf is not None else ""))
    return found.status


def _more(told: list[str] | tuple[str, ...]) -> str:
    return f" (and {len(told) - 1} more)" if len(told) > 1 else ""


def _unreadable(path: Path, error: DropleafError) -> Result:
    result = failed(path, error)
    return Result(2, {"packet": str(path), "errors": result.entry["errors"]}, "", result.problems)

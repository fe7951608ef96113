"""`dropleaf sample`: the samples that come with the program."""

from pathlib import Path

import click

from sheets.console import DONE, JSON, OUT, columns, say
from sheets.offered import samples
from sheets.words.as_json import headed
from sheets.words.tell import tell


@click.command("sample")
@click.argument("names", metavar="[NAME...]", nargs=-1, shell_complete=samples)
@click.option("--all", "every", is_flag=True, help="Write every sample, with readings, into samples/ there.")
@OUT
@JSON
def command(names: tuple[str, ...], every: bool, out: Path, as_json: bool) -> int:
    """List the samples, or write those of a NAME here to be changed.

    A sample that needs a drawing brings it, and all bring the schema that helps in an editor. No file is
    written over.

    \b
    Example:
      dropleaf sample
      a line for each, with what it shows
      dropleaf sample dunlin --out bench
      writes bench/dunlin.toml
      dropleaf sample --all
      writes samples/, the folder that README and help speak of
    """
    from sheets.actions.manifest import text
    from sheets.actions.samples import about, all_copied, copied, sample
    from sheets.actions.samples import samples as every_sample
    from sheets.words.wrap import wrapped

    if not names and not every:
        told = {name: about(job) for name, job in every_sample().items()}
        if as_json:
            say(text(headed("samples", {"samples": told})))
            return DONE
        wide = max(map(len, told)) + 2
        lines = [line for name, what in told.items() for line in wrapped(what, columns(), f"{name:<{wide}}")]
        say("\n".join([*lines, "", *wrapped(tell("sample.listed"), columns())]))
        return DONE
    folder = out / "samples" if every else out
    first = folder / (sample(names[0]).name if names else "dunlin.toml")
    new = all_copied(folder) if every else copied(names, folder)
    if as_json:
        say(text(headed("samples", {"files": [str(file) for file in new]})))
        return DONE
    if not new:
        say(tell("sample.nothing_new"))
    for file in new:
        say(tell("sample.written", file=str(file)))
    say(tell("sample.all_written" if every else "sample.next", job=str(first)))
    return DONE

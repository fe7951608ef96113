"""`dropleaf shop`: what must be on the bench for several jobs."""

from pathlib import Path

import click

from sheets.console import DONE, JOBS, JSON, WRONG, complain, jobs_of, progress, say
from sheets.offered import papers
from sheets.words.as_json import headed
from sheets.words.tell import line, tell


@click.command("shop")
@JOBS
@click.option(
    "--stock", type=click.Path(path_type=Path), metavar="FILE.toml", help="What lies in the shop (see above)."
)
@click.option("--csv", "as_csv", is_flag=True, help="Print the list as CSV.")
@click.option("--pdf", type=click.Path(path_type=Path), metavar="FILE.pdf", help="Write it as a page, too.")
@click.option(
    "--paper", default="A4", metavar="PAPER", shell_complete=papers, help="Paper of that page. Default: A4."
)
@click.option(
    "--jobs",
    "at_once",
    type=click.IntRange(min=1),
    metavar="N",
    help="Work out so many jobs at once. Default: as many as there are processors.",
)
@JSON
def command(
    jobs: tuple[Path, ...],
    stock: Path | None,
    as_csv: bool,
    pdf: Path | None,
    paper: str,
    at_once: int | None,
    as_json: bool,
) -> int:
    """List what must be on the bench for all JOBs, files or folders of them.

    What is missing is told where the stock is known: from the jobs' own [bench] tables, or from --stock, a
    file of sizes such as  spacers = [5, 5, 2, 1]  with pins, plates, dummy, drills and hole_saws. A stack
    that the drawer makes asks for nothing; the smallest set of spacers for an empty drawer is worked out too.
    Parts and tools of a fixture are listed where a job asks for one.

    \b
    Example:
      dropleaf shop samples --pdf paper/bench.pdf
      lists everything for the frames in samples and writes the same as a page
    """
    from geometry.core.errors import InputError, Problem
    from sheets.actions import shop
    from sheets.actions.manifest import text
    from sheets.actions.workers import cores

    if as_csv and as_json:
        raise click.UsageError(tell("shop.csv_or_json"))
    kept = None if stock is None else shop.stock_file(stock)
    files = shop.job_files([path for path, _ in jobs_of(jobs, ())])
    works = shop.worked_out(files, at_once or cores())
    waited_for = zip(progress(files, tell("command.reading")), works, strict=True)
    found, problems = shop.gather((one for _, one in waited_for), kept)
    if not found.frames:
        raise InputError(*problems, Problem("shop", tell("shop.no_job")))
    for problem in problems:
        complain(line(problem))
    if pdf is not None:
        from sheets.actions.shop_file import write_shop

        write_shop(found, paper, pdf)
    if as_json:
        said = {**shop.document(found), "pdf": None if pdf is None else str(pdf)}
        say(text(headed("shop", said)))
    elif as_csv:
        say(shop.table(found))
    else:
        say(shop.text(found) + ("" if pdf is None else f"\n\n{tell('writing.written', file=str(pdf))}"))
    return WRONG if problems else DONE

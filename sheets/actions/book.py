"""The book: pages in Markdown beside the program, told on a terminal by `help`.

Its first page has the contents, whose list gives the order; the page on the samples lies beside them.
Markdown as it is used here: headings, paragraphs, lists, tables and fenced lines.
"""

import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from geometry.core.errors import InputError
from geometry.core.say import say
from geometry.core.tables import hint
from sheets.words.wrap import wrapped

FOLDER = Path(__file__).parents[1] / "help"
CONTENTS, CHANGES = "book", "changes"
_SAMPLES = {"samples": FOLDER.parents[1] / "samples" / "README.md"}
_LINK = re.compile(r"!?\[([^\]]*)\]\(([^)]*)\)")


def pages() -> dict[str, str]:
    """Return the title of every page by its name, in the order of the contents, which come first."""
    found = dict.fromkeys((CONTENTS, *re.findall(r"^- (\w+):", text(CONTENTS), re.MULTILINE)))
    return {name: text(name).partition("\n")[0].lstrip("# ") for name in found}


def text(name: str) -> str:
    """Return a page in Markdown; raise InputError for a name that the book does not have."""
    files = {each.stem: each for each in FOLDER.glob("*.md")} | _SAMPLES
    if name not in files:
        known = sorted(files)
        raise InputError.at(
            "", say("book.no_page", name=name, hint=hint(name, known), known=", ".join(known))
        )
    return files[name].read_text(encoding="utf-8")


def shown(name: str, width: int) -> str:
    """Return a page for a terminal of so many characters a line; commands and tables stay whole."""
    lines: list[str] = []
    for block in blocks(text(name)):
        lines += [*_block(block, width), ""]
    return "\n".join(lines).rstrip()


def blocks(page: str) -> Iterator[list[str]]:
    """Yield what blank lines part; fenced lines stay together."""
    block: list[str] = []
    for line in (*page.split("\n"), ""):
        fenced = block[:1] == ["```sh"] or block[:1] == ["```text"]
        if line or (fenced and block[-1] != "```"):
            block.append(line)
        elif block:
            yield block
            block = []


def _block(block: Sequence[str], width: int) -> list[str]:
    first = block[0]
    if first.startswith("```"):
        return [f"    {line}".rstrip() for line in block[1:-1]]
    if first.startswith("|"):
        return _table(
            [list(map(_plain, cells(line))) for line in block if not re.fullmatch(r"[|\-\s]+", line)], width
        )
    if first.startswith("#"):
        heading = _plain(first.lstrip("# "))
        return wrapped(heading.upper() if first.startswith("# ") else heading, width)
    lines: list[str] = []
    for line in block:
        mark = re.match(r"(?:- |[0-9]+\. )?", line)
        head = mark[0] if mark else ""
        lines += wrapped(_plain(line[len(head) :]), width, head)
    return lines


def cells(line: str) -> list[str]:
    """Return the cells of a table's line, as they are marked."""
    return [cell.strip() for cell in re.split(r"(?<!\\)\|", line.strip().strip("|"))]


def _table(rows: Sequence[Sequence[str]], width: int) -> list[str]:
    """Return a table in columns where it is narrow enough, else a paragraph a row below its first cell."""
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    if sum(wide) + 2 * len(wide) <= width:
        return ["  ".join(f"{cell:<{w}}" for cell, w in zip(row, wide, strict=True)).rstrip() for row in rows]
    if len(wide) > 2:
        heads, *rest = rows
        rows = [[f"{head}: {cell}" for head, cell in zip(heads, row, strict=True) if cell] for row in rest]
    return [
        line
        for first, *more in rows
        for line in (*wrapped(first, width), *wrapped("; ".join(more), width, "    "))
    ]


def _plain(marked: str) -> str:
    """Return a line without Markdown's marks; what is several words to be typed stands in quotes."""
    bare = re.sub(
        r"`([^`]*)`", lambda code: f"“{code[1]}”" if " " in code[1] else code[1], _LINK.sub(r"\1", marked)
    )
    return re.sub(r"\*\*|(?<![\w*])\*(?=\w)|(?<=\w)\*(?![\w*])", "", bare)

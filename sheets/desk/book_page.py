"""The pages of the book: the Markdown that `dropleaf help` tells on a terminal, to read beside a frame."""

import re
from collections.abc import Iterator, Mapping, Sequence
from html import escape

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sheets.actions import book
from sheets.desk.flat import element
from sheets.desk.shown import Made, not_there, page

Titles = Mapping[str, str]
"""What the book's pages are called, by their names."""
_INLINE = re.compile(
    r"`(?P<code>[^`]*)`|!?\[(?P<words>[^\]]*)\]\((?P<to>[^)]*)\)|\*\*(?P<strong>.+?)\*\*"
    r"|(?<![\w*])\*(?=\w)(?P<em>.+?)(?<=\w)\*(?![\w*])"
)
_ITEM = re.compile(r"(?:- |(?P<number>[0-9]+)\. )")


async def shown(request: Request) -> Response:
    """Show a page of the book; its contents lead to all others."""
    name, titles = request.path_params.get("name", book.CONTENTS), book.pages()
    if name not in titles:
        return not_there(request)
    made = Made("\n".join(_blocks(book.text(name), titles)))
    return page(request, "book.html", name=name, titles=titles, text=made, contents=book.CONTENTS)


def _blocks(text: str, titles: Titles) -> Iterator[str]:
    """Give each block of a page in Markdown as HTML."""
    for block in book.blocks(text):
        first = block[0]
        if first.startswith("```"):
            lines = "\n".join(escape(line) for line in block[1:-1])
            yield element("pre", element("code", lines), tabindex="0")
        elif first.startswith("|"):
            yield _table([book.cells(line) for line in block if not re.fullmatch(r"[|\-\s]+", line)], titles)
        elif first.startswith("#"):
            level = len(first) - len(first.lstrip("#"))
            yield f"<h{level}>{_inline(first.lstrip('# '), titles)}</h{level}>"
        else:
            yield from _lines(block, titles)


def _lines(block: Sequence[str], titles: Titles) -> Iterator[str]:
    """Give a paragraph, or a list with what leads to it: an item a line, and any other line goes on."""
    kind = ""
    parts: list[list[str]] = []
    for line in block:
        mark = _ITEM.match(line)
        if mark:
            new = "ol" if mark["number"] else "ul"
            if not kind and parts:
                yield f"<p>{_inline(' '.join(parts.pop()), titles)}</p>"
            kind = new
            parts.append([line[mark.end() :]])
        elif parts:
            parts[-1].append(line.strip())
        else:
            parts.append([line])
    if not kind:
        yield f"<p>{_inline(' '.join(parts[0]), titles)}</p>"
        return
    items = "".join(f"<li>{_inline(' '.join(each), titles)}</li>" for each in parts)
    yield f"<{kind}>{items}</{kind}>"


def _table(rows: Sequence[Sequence[str]], titles: Titles) -> str:
    head, *rest = ([_inline(cell, titles) for cell in row] for row in rows)
    top = "".join(element("th", cell, scope="col") for cell in head)
    body = "".join(f"<tr>{''.join(f'<td>{cell}</td>' for cell in row)}</tr>" for row in rest)
    table = f"<table><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
    return element("div", table, kind="wide", tabindex="0")


def _inline(text: str, titles: Titles) -> str:
    """Return a line's marks as HTML; a link leads to the book's own pages alone, others are words."""
    made, at = [], 0
    for found in _INLINE.finditer(text):
        made.append(escape(text[at : found.start()]))
        at = found.end()
        if found["code"] is not None:
            made.append(f"<code>{escape(found['code'])}</code>")
        elif found["words"] is not None:
            name = found["to"].rpartition("/")[2].removesuffix(".md")
            words = _inline(found["words"], titles)
            made.append(f'<a href="/book/{name}">{words}</a>' if name in titles else words)
        elif found["strong"] is not None:
            made.append(f"<strong>{_inline(found['strong'], titles)}</strong>")
        else:
            made.append(f"<em>{_inline(found['em'], titles)}</em>")
    return "".join([*made, escape(text[at:])])


ROUTES = [Route("/book", shown), Route("/book/{name}", shown)]

"""The folder at a glance."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sheets.desk.shown import desk_of, page


async def frames(request: Request) -> Response:
    """Show the folder's frames."""
    return page(request, "frames.html", folder=str(desk_of(request).folder))


ROUTES = [Route("/", frames)]

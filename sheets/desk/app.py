"""The desk put together: the pages' routes behind the guard, and every failure as an answer."""

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from geometry.core.errors import DropleafError
from sheets.desk import (
    book_page,
    frame,
    frames,
    heat,
    learn_page,
    operations_page,
    packets_page,
    printers_page,
    reports_page,
    sheets_page,
    tables_page,
    traveller_page,
)
from sheets.desk.batch import Batch
from sheets.desk.guard import Guard
from sheets.desk.shown import refusal, static
from sheets.desk.state import Desk
from sheets.desk.watch import Watch
from sheets.words.tell import tell

ROUTES = [Route("/static/{name}", static), *frames.ROUTES, *frame.ROUTES, *sheets_page.ROUTES]
ROUTES += [*heat.ROUTES, *traveller_page.ROUTES, *printers_page.ROUTES]
ROUTES += [*learn_page.ROUTES, *tables_page.ROUTES, *packets_page.ROUTES, *book_page.ROUTES]
ROUTES += [*operations_page.ROUTES, *reports_page.ROUTES]


def app(desk: Desk) -> Starlette:
    """Return the desk as an ASGI application."""
    made = Starlette(
        routes=ROUTES,
        middleware=[Middleware(Guard, desk=desk)],
        exception_handlers={DropleafError: _wrong, HTTPException: _not_found},
    )
    made.state.desk, made.state.watch, made.state.batch = desk, Watch(desk), Batch(desk)
    return made


async def _wrong(request: Request, error: Exception) -> Response:
    assert isinstance(error, DropleafError)
    return refusal(request.scope, 400, error)


async def _not_found(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    status = error.status_code if error.status_code in (404, 405) else 400
    return refusal(request.scope, status, [tell(f"desk.refused.{status}")])

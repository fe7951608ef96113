"""Who may ask, and what every answer says to the browser: around the whole desk, before all else.

Other pages in the same browser, other programs that serve on this machine and names of other hosts that lead
here (DNS rebinding) all reach a loopback port. So a request must name this very host and port, bring the
cookie that the opening address was exchanged for, and come from this page: a POST by its Origin, all by what
the browser says of the site that asks (W3C, Fetch Metadata Request Headers). A cookie alone is not enough: to
a browser all ports of a machine are one site.
"""

import os
import secrets
import traceback
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sheets.desk.shown import refusal
from sheets.desk.state import Desk
from sheets.words.tell import tell

BODY = 1_000_000
"""Bytes of the largest body that is taken: a job file may have a quarter of it, and JSON escapes grow it."""
READS = ("GET", "HEAD")
HEADERS = {
    "content-security-policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
    "connect-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}


class _TooLargeError(Exception):
    """A body is longer than is taken."""


class Guard:
    """ASGI middleware that turns away what does not come from the desk's own page, and bounds what does."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        """Stand before `app`."""
        self._app = app
        self._desk = desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http":
            return
        started = False
        taken = 0

        async def sent(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                headers = MutableHeaders(raw=message.setdefault("headers", []))
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                if message["status"] >= 400:
                    # What is left of a body is not waited for.
                    headers["connection"] = "close"
                message["headers"] = headers.raw
            await send(message)

        async def received() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > BODY:
                raise _TooLargeError
            return message

        try:
            answer = self._at_the_door(scope)
            await (answer or self._app)(scope, received, sent)
        except _TooLargeError:
            if not started:
                await _refused(scope, 413)(scope, receive, sent)
        except Exception as error:
            # One page's fault is one answer; the desk goes on.
            if os.environ.get("DROPLEAF_DEBUG") == "1":
                traceback.print_exc()
            if not started:
                what = f"{type(error).__name__}: {error}"
                await refusal(scope, 500, [tell("desk.fault", reason=what)])(scope, receive, sent)

    def _at_the_door(self, scope: Scope) -> Response | None:
        """Return the answer to who may not come in, or comes in by the opening address; None for the rest."""
        desk, headers, reads = self._desk, Headers(scope=scope), scope["method"] in READS
        if headers.getlist("host") != [desk.host] or headers.get("origin", desk.origin) != desk.origin:
            return _refused(scope, 403)
        typed = headers.get("sec-fetch-mode", "navigate") == "navigate" and reads
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and not typed:
            return _refused(scope, 403)
        given = parse_qs(scope["query_string"].decode("latin-1")).get("token", [""])[0]
        if reads and scope["path"] == "/" and given:
            if _same(given, desk.token):
                return _let_in(desk, desk.session)
            if _same(given, desk.door.key):
                return _let_in(desk, desk.door.session) if desk.door.enter() else _refused(scope, 401, "used")
        brought = _cookie(headers, desk.cookie)
        if not any(_same(brought, each) for each in (desk.session, *desk.door.sessions)):
            return _refused(scope, 401)
        if not reads:
            if "origin" not in headers:
                return _refused(scope, 403)
            if headers.get("content-type", "").partition(";")[0].strip() != "application/json":
                return _refused(scope, 415)
        length = headers.get("content-length", "0")
        if not length.isdecimal() or len(length) > 15 or int(length) > BODY:
            return _refused(scope, 413)
        return None


def _let_in(desk: Desk, session: str) -> Response:
    """Return the way to the first page, which does not have the key in its address any more."""
    answer = RedirectResponse("/", 303)
    answer.set_cookie(desk.cookie, session, httponly=True, samesite="strict")
    return answer


def _refused(scope: Scope, status: int, why: str = "") -> Response:
    return refusal(scope, status, [tell(f"desk.refused.{why or status}")])


def _same(given: str, wanted: str) -> bool:
    return secrets.compare_digest(given.encode(), wanted.encode())


def _cookie(headers: Headers, name: str) -> str:
    # One jar serves all ports of a machine: the parser must get past whatever other programs put into it.
    return cookie_parser(headers.get("cookie", "")).get(name, "")

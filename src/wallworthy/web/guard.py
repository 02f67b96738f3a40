"""Who may ask: only this page in this browser, by its cookie, under the exact name it was opened by.

One token is made for a start and works once: it is swapped for a cookie that scripts can't read.
Host, Origin and Sec-Fetch-Site are checked on every request, so that another page in the same browser,
or a name that was pointed at this machine, gets nothing. On the LAN address only the phone's routes answer.
"""

from __future__ import annotations

import hmac
import json
import secrets
import threading
from dataclasses import dataclass, field
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SAFE: Final = frozenset({"GET", "HEAD"})
PHONE_PATHS: Final = ("/p/", "/api/p/", "/assets/")
ASSETS: Final = "/assets/"

POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' blob: data:",
        "font-src 'self'",
        "connect-src 'self'",
        "worker-src 'self'",
        "manifest-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
ALWAYS: Final = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "referrer-policy": "no-referrer",
    "permissions-policy": "camera=(), geolocation=(), microphone=()",
}


@dataclass(slots=True)
class Guard:
    """The secrets of one start and the names it answers to."""

    hosts: frozenset[str] = frozenset()
    """Exact values of the Host header: '127.0.0.1:8123', 'localhost:8123'."""
    lan_hosts: frozenset[str] = frozenset()
    token: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)
    cookie: str = field(default_factory=lambda: secrets.token_urlsafe(32), repr=False)
    _used: bool = False
    _lock: threading.Lock = field(default_factory=threading.Lock)

    @property
    def cookie_name(self) -> str:
        """Of this port: browsers share cookies among the ports of a host, and two pages may be open."""
        return f"wallworthy-{min(self.hosts, default='').rpartition(':')[2]}"

    def swap(self, token: str) -> bool:
        """Whether this is the token, the first time it comes."""
        with self._lock:
            if self._used or not same(token, self.token):
                return False
            self._used = True
            return True

    def renewed(self) -> str:
        """Another one-time token, for whoever holds the terminal."""
        with self._lock:
            self.token, self._used = secrets.token_urlsafe(32), False
            return self.token

    def knows(self, cookie: str | None) -> bool:
        return cookie is not None and same(cookie, self.cookie)


def same(one: str, other: str) -> bool:
    """Equal, in a time that does not tell how far."""
    return hmac.compare_digest(one.encode(), other.encode())


class GuardMiddleware:
    """Refuses what the guard does not know, and puts the protecting headers on everything."""

    def __init__(self, app: ASGIApp, guard: Guard) -> None:
        self._app = app
        self._guard = guard

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        protected = _with_headers(send, str(scope["path"]))
        answer = self._answer(scope)
        if answer is not None and answer.status_code != 303 and _is_visit(scope):
            answer = _in_words(answer)
        if answer is not None:
            await answer(scope, receive, protected)
            return
        await self._app(scope, receive, protected)

    def _answer(self, scope: Scope) -> Response | None:
        """A refusal or the swap of the token; None lets the request through."""
        headers = Headers(scope=scope)
        path, method = str(scope["path"]), str(scope["method"])
        host = headers.get("host", "")
        if host in self._guard.lan_hosts:
            if not path.startswith(PHONE_PATHS):
                return refusal(403, "not_here", "Only a ticket's own address answers here.", "Scan the code again.")
            return _cross_site(headers, host, method)
        if host not in self._guard.hosts:
            text = "This address is not the one the page was opened at."
            return refusal(403, "host", text, "Open the address that the terminal shows.")
        if path == "/" and "token" in (query := _query(scope)):
            return self._swapped(query["token"])
        refused = _cross_site(headers, host, method)
        if refused is not None:
            return refused
        if path.startswith(PHONE_PATHS) or self._guard.knows(_cookie(headers, self._guard.cookie_name)):
            return None
        text = "This browser has not been let in."
        return refusal(401, "not_let_in", text, "Open the address that 'wallworthy open' shows; it works once.")

    def _swapped(self, token: str) -> Response:
        if not self._guard.swap(token):
            text = "This address was used already, or is of an earlier start."
            return refusal(401, "token_used", text, "Start 'wallworthy open' again.")
        answer = RedirectResponse("/", status_code=303)
        answer.set_cookie(self._guard.cookie_name, self._guard.cookie, httponly=True, samesite="strict", path="/")
        return answer


def _cross_site(headers: Headers, host: str, method: str) -> Response | None:
    """A refusal for what another page sent; a plain visit to an address is none."""
    origin = headers.get("origin")
    site = headers.get("sec-fetch-site", "none" if method in SAFE else "same-origin")
    strange_origin = origin is not None and origin != f"http://{host}"
    visit = method in SAFE and headers.get("sec-fetch-mode") == "navigate" and site != "cross-site"
    if strange_origin or (site not in ("same-origin", "none") and not visit):
        return refusal(403, "other_page", "Another page asked for this.", "Use the page itself.")
    if method not in SAFE and origin is None:
        return refusal(403, "no_origin", "It is not told which page asks.", "Use the page itself.")
    return None


def _is_visit(scope: Scope) -> bool:
    """Whether a person looks at the answer, not the page's program."""
    return not str(scope["path"]).startswith("/api/") and "text/html" in Headers(scope=scope).get("accept", "")


def _in_words(answer: Response) -> Response:
    error = json.loads(bytes(answer.body))["error"]
    return PlainTextResponse(f"{error['text']}\n{error['mend']}\n", status_code=answer.status_code)


def _query(scope: Scope) -> dict[str, str]:
    from urllib.parse import parse_qsl

    return dict(parse_qsl(scope["query_string"].decode("latin-1")))


def _cookie(headers: Headers, name: str) -> str | None:
    from starlette.requests import cookie_parser

    return cookie_parser(headers.get("cookie", "")).get(name)


def refusal(status: int, code: str, text: str, mend: str, where: str | None = None) -> Response:
    """An error in the one shape all have."""
    error = {"code": code, "text": text, "mend": mend, "where": where}
    return JSONResponse({"error": error}, status_code=status)


def _with_headers(send: Send, path: str) -> Send:
    """Put the protecting headers on the answer; only the bundle's files may be kept by the browser."""

    async def protected(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in ALWAYS.items():
                headers[name] = value
            if "cache-control" not in headers:
                kept = path.startswith(ASSETS) and message["status"] == 200
                headers["cache-control"] = "private, max-age=31536000, immutable" if kept else "no-store"
        await send(message)

    return protected

"""Who may ask: a browser on this machine that was given the token, and no page of anybody else.

Every request is looked at before anything reads it. The name it is addressed to must be this machine's own
(a foreign name that leads here is how a page elsewhere would reach in), a page that sends it must be ours,
and the token must come with it: in the address of the first page, afterwards in a cookie or a header.
"""

from __future__ import annotations

import secrets
from http.cookies import CookieError, SimpleCookie
from typing import NamedTuple
from urllib.parse import parse_qs

from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

LARGEST_BODY = 64_000
LONGEST_ADDRESS = 2_000
TOO_LARGE = "more was sent than this page takes"
HEADER = "x-holdwater-token"
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data:",
        "connect-src 'self'",
        "base-uri 'none'",
        "form-action 'none'",
        "frame-ancestors 'none'",
    )
)
ALWAYS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "x-frame-options": "DENY",
}


class Refusal(NamedTuple):
    """Why a request is not served."""

    status: int
    why: str


class TooLarge(Exception):
    """More was sent than a page of ours ever sends."""


class Guard:
    """Stands before the page and refuses what does not come from it.

    Parameters
    ----------
    app : ASGI application
        What it guards.
    token : str
        The secret.
    port : int
        The port it is served on.
    """

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self.app, self.token, self.port = app, token, port
        self.hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self.cookie = f"holdwater-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Serve or refuse one request."""
        if scope["type"] != "http":
            raise RuntimeError("only plain requests are served")
        headers = _headers(scope)
        refused = self.refusal(scope, headers)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                extra = dict(ALWAYS)
                if refused is None and scope["path"] == "/" and self._in_address(scope):
                    extra["set-cookie"] = f"{self.cookie}={self.token}; HttpOnly; SameSite=Strict; Path=/"
                message = {**message, "headers": [*message["headers"], *_encoded(extra)]}
            await send(message)

        if refused is not None:
            await PlainTextResponse(refused.why + "\n", refused.status)(scope, receive, send_with_headers)
            return
        taken = 0

        async def receive_no_more() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > LARGEST_BODY:
                raise TooLarge
            return message

        await self.app(scope, receive_no_more, send_with_headers)

    def refusal(self, scope: Scope, headers: dict[str, list[str]]) -> Refusal | None:
        """Why a request is refused; None for one that is served."""
        hosts = headers.get("host", [])
        if len(hosts) != 1 or hosts[0].lower() not in self.hosts:
            return Refusal(403, "this page is served to this machine only, as 127.0.0.1")
        for origin in headers.get("origin", []):
            if origin.lower() not in {f"http://{host}" for host in self.hosts}:
                return Refusal(403, "another page asked; only the page itself may")
        opens = scope["path"] == "/" and scope["method"] == "GET" and self._in_address(scope)
        sites = headers.get("sec-fetch-site", [])
        if not opens and any(site not in ("same-origin", "none") for site in sites):
            return Refusal(403, "another page asked; only the page itself may")
        if not opens and not self._brings_token(headers):
            return Refusal(403, "open the whole address that holdwater printed, its token included")
        if len(scope["path"]) + len(scope.get("query_string", b"")) > LONGEST_ADDRESS:
            return Refusal(414, "the address is too long")
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return Refusal(405, "only GET and POST are served")
        if scope["method"] == "POST":
            return _refused_body(headers)
        return None

    def _in_address(self, scope: Scope) -> bool:
        given = parse_qs(scope.get("query_string", b"").decode("latin-1")[:LONGEST_ADDRESS]).get("token", [])
        return len(given) == 1 and self._is_token(given[0])

    def _brings_token(self, headers: dict[str, list[str]]) -> bool:
        if any(self._is_token(given) for given in headers.get(HEADER, [])):
            return True
        for text in headers.get("cookie", []):
            try:
                found = SimpleCookie(text).get(self.cookie)
            except CookieError:
                continue
            if found is not None and self._is_token(found.value):
                return True
        return False

    def _is_token(self, given: str) -> bool:
        return secrets.compare_digest(given.encode(), self.token.encode())


def _refused_body(headers: dict[str, list[str]]) -> Refusal | None:
    kinds = headers.get("content-type", [])
    if len(kinds) != 1 or kinds[0].split(";")[0].strip().lower() != "application/json":
        return Refusal(415, "only JSON is taken")
    for length in headers.get("content-length", []):
        if not length.isdecimal() or int(length) > LARGEST_BODY:
            return Refusal(413, TOO_LARGE)
    return None


def _headers(scope: Scope) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for name, value in scope["headers"]:
        found.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1").strip())
    return found


def _encoded(headers: dict[str, str]) -> list[tuple[bytes, bytes]]:
    return [(name.encode("latin-1"), value.encode("latin-1")) for name, value in headers.items()]

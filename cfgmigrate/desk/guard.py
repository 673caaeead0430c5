"""Who may speak to the desk: one browser on this machine, and nobody who only found the port.

A page of a stranger can make a browser send requests to any address, and a name of the stranger's can be made to lead
here. So the `Host` must be the very address that was bound; whoever comes in must have known the secret in the
address, which lets one browser in and no second one, and carries a cookie from then on, which goes to no other port
because it is bound to a path that nobody else knows; and whatever changes something must say by its `Origin` that it comes from one of the desk's own pages, and
carry the token that stands in them. Every answer forbids scripts, styles and frames that are not the desk's own.

This module knows no page.
"""

from __future__ import annotations

import hmac
import secrets
import time
from collections.abc import Awaitable, Callable, MutableMapping
from http.cookies import CookieError, SimpleCookie
from pathlib import Path
from typing import Any

from msgspec import Struct, field

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

#: bytes of a form; a review record of many items fits
LONGEST_FORM = 1 << 20
OWN_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cache-control": "no-store",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "content-security-policy": OWN_POLICY,
}


class Pass(Struct):
    """What lets one address in: the `host` as browsers name it, the `key` that the first visit shows, and the `place`
    below which all pages lie. `used` is when somebody who was let in last asked for anything (`time.monotonic`, s), `spent`
    whether the key has let one in, and `doorway` the file that leads a browser there, while it is needed."""

    host: str
    key: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    place: str = field(default_factory=lambda: f"/{secrets.token_urlsafe(9)}")
    used: float = field(default_factory=time.monotonic)
    spent: bool = False
    doorway: Path | None = None
    _cookie: str = field(default_factory=lambda: secrets.token_urlsafe(24))
    #: every form carries it
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))

    @property
    def origin(self) -> str:
        return f"http://{self.host}"

    @property
    def address(self) -> str:
        """The address to open, secret included."""
        return f"{self.origin}{self.place}/enter?key={self.key}"

    def fits_key(self, given: str) -> bool:
        return _same(given, self.key)

    def spend_key(self, given: str) -> bool:
        """Whether that is the key, and nobody came in by it before."""
        if self.spent or not self.fits_key(given):
            return False
        self.spent = True
        self.come_in()
        return True

    def come_in(self) -> None:
        """Somebody was let in."""
        self.used = time.monotonic()
        self.shut()

    def shut(self) -> None:
        """Take away the file that leads here."""
        if self.doorway is not None:
            self.doorway.unlink(missing_ok=True)

    def fits_token(self, given: str) -> bool:
        return _same(given, self.token)

    def cookie(self) -> str:
        return f"desk={self._cookie}; Path={self.place}/; HttpOnly; SameSite=Strict"

    def fits_cookie(self, header: str) -> bool:
        try:
            found = SimpleCookie(header).get("desk")
        except CookieError:
            return False
        return found is not None and _same(found.value, self._cookie)


class Guard:
    """Lets requests through to the pages that come from where they should; all others get a plain refusal."""

    def __init__(self, pages: App, entry: Pass) -> None:
        self.pages, self.entry = pages, entry

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.pages(scope, receive, send)
            return
        why = self.refuses(scope)
        if why:
            await _refused(with_headers(send), *why)
            return
        if not self.is_entry(scope):  # whoever only knocks keeps nothing open
            self.entry.used = time.monotonic()
        await self.pages(scope, receive, with_headers(send))

    def is_entry(self, scope: Scope) -> bool:
        """Whether this is where one comes in, so that no cookie is asked for."""
        return bool(scope["path"] == f"{self.entry.place}/enter")

    def refuses(self, scope: Scope) -> tuple[int, str] | None:
        """Status and sentence of a refusal; None where the request may pass."""
        headers: dict[str, str] = {}
        for name, value in scope["headers"]:
            key = name.decode("latin-1").lower()
            if key in headers and key != "cookie":
                return 400, "A header is here twice."
            headers[key] = (
                f"{headers[key]}; {value.decode('latin-1')}" if key in headers else value.decode("latin-1")
            )
        if headers.get("host") != self.entry.host:
            return 421, "This is not the desk's address."
        entering = self.is_entry(scope)
        if not entering and not scope["path"].startswith(f"{self.entry.place}/"):
            return 404, "There is no such page. Open the address that the desk showed when it began."
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and not (
            entering and scope["method"] == "GET"
        ):
            return 403, "Another site asked for this, so it is refused."
        if scope["method"] not in ("GET", "HEAD", "POST"):
            return 405, "The desk is only read, or sent a form."
        if scope["method"] == "POST" and headers.get("origin") != self.entry.origin:
            return 403, "This form does not come from one of the desk's own pages, so it is refused."
        if not entering and not self.entry.fits_cookie(headers.get("cookie", "")):
            return 403, "The desk doesn't know this browser. Open the address that it showed when it began."
        return None


def with_headers(send: Send) -> Send:
    """Adds the protecting headers to each answer; a page that brings a policy of its own keeps that."""

    async def sends(message: MutableMapping[str, Any]) -> None:
        if message["type"] == "http.response.start":
            given = {name.lower() for name, _ in message.get("headers", ())}
            more = [(k.encode(), v.encode()) for k, v in _HEADERS.items() if k.encode() not in given]
            message = {**message, "headers": [*message.get("headers", ()), *more]}
        await send(message)

    return sends


async def _refused(send: Send, status: int, why: str) -> None:
    body = f"{why}\n".encode()
    headers = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def _same(one: str, other: str) -> bool:
    return hmac.compare_digest(one.encode("utf-8", "surrogateescape"), other.encode())

"""One visit to the desk: what was asked for, what a form said, and how a page answers.

Forms are read here alone, bounded and as text; a form without the token of its page is refused. What goes wrong in a
known way becomes a page that says what, where and what to do. A visit holds the desk's lock, so that two windows
take turns.
"""

from __future__ import annotations

import contextlib
import secrets
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any
from urllib.parse import parse_qs, quote

from msgspec import Struct, field
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response

from cfgmigrate.desk.guard import LONGEST_FORM, Pass
from cfgmigrate.desk.session import Desk, Stale
from cfgmigrate.files.telling import FilesUnclear
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.reports.templating import TEMPLATES

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

OWN_TEMPLATES = Path(__file__).with_name("templates")
#: the five rooms in the order of the job: place, name
ROOMS = {
    "machine": "Which machine",
    "understood": "What is understood",
    "swap": "The swap",
    "packet": "The packet",
    "after": "After",
}
#: what the pages fetch besides, by name: the file and its kind
_STATIC: dict[str, tuple[Path, str]] = {
    "page.css": (TEMPLATES / "page.css", "text/css"),
    "desk.css": (OWN_TEMPLATES / "desk.css", "text/css"),
    "icon.svg": (OWN_TEMPLATES / "icon.svg", "image/svg+xml"),
    "desk.js": (OWN_TEMPLATES / "desk.js", "text/javascript"),
}
#: signs that act on what shows them, but for a tab and the ends of lines
_ACTS = pattern(r"[\x01-\x08\x0b\x0c\x0e-\x1f\x7f]")
MOST_NOTES = 64
MOST_FIELDS = 5000


class House(Struct):
    """The desk with the pass that lets a browser in. `rooms` are those that its pages lead to; `ending` ends the server."""

    desk: Desk
    entry: Pass
    rooms: Mapping[str, str] = field(default_factory=lambda: ROOMS)
    ending: Callable[[], None] = lambda: None
    idle: float = 0.0
    #: where another device comes in, and by which code; "" twice where nothing is shared
    shared: tuple[str, str] = ("", "")
    #: takes what the program did not foresee and gives a sentence on it
    defect: Callable[[Exception], str] = lambda error: f"{type(error).__name__}: {error}"
    #: what is to be said on the next page, by a number that nobody can guess
    notes: dict[str, tuple[str, str]] = field(default_factory=dict)


class Visit(Struct):
    """One request. `said` are a form's fields with their texts."""

    house: House
    request: Request
    said: Mapping[str, list[str]] = field(default_factory=dict)

    @property
    def desk(self) -> Desk:
        return self.house.desk

    def field(self, name: str) -> str:
        """The text of a field, "" where there is none."""
        return self.said.get(name, [""])[0]

    def part(self, name: str) -> str:
        """A part of the address."""
        return str(self.request.path_params.get(name, ""))

    def asked(self, name: str) -> str:
        return self.request.query_params.get(name, "")

    def page(self, template: str, status: int = 200, **values: Any) -> Response:
        note = self.house.notes.pop(self.asked("note"), ("", ""))
        text = (
            environment()
            .get_template(template)
            .render(
                base=self.house.entry.place,
                token=self.house.entry.token,
                rooms=self.house.rooms,
                machine=self.desk.name,
                note=note,
                idle=round(self.house.idle / 60),
                shared=self.house.shared,
                **values,
            )
        )
        return HTMLResponse(text, status)

    def go(self, place: str, note: str = "", kind: str = "done", at: str = "") -> Response:
        """On to a page, which then says `note` first."""
        query = ""
        if note:
            key = secrets.token_urlsafe(9)
            while len(self.house.notes) >= MOST_NOTES:
                self.house.notes.pop(next(iter(self.house.notes)))
            self.house.notes[key] = (kind, note)
            query = f"{'&' if '?' in place else '?'}note={key}"
        anchor = f"#{quote(at)}" if at else ""
        return RedirectResponse(f"{self.house.entry.place}/{place}{query}{anchor}", 303)


Handler = Callable[[Visit], Response]


def open_page(house: House, handler: Handler, apart: bool = False) -> Callable[[Request], Any]:
    """A page that is read; one that works long does so `apart`, and takes the lock itself where it needs it."""

    async def endpoint(request: Request) -> Response:
        return await run_in_threadpool(answered, handler, Visit(house, request), apart)

    return endpoint


async def sent_whole(request: Request, longest: int) -> bytes | None:
    """What was sent; None where it is longer, or whoever sent it went away in the midst."""
    body = bytearray()
    try:
        async for chunk in request.stream():
            body += chunk
            if len(body) > longest:
                return None
    except ClientDisconnect:
        return None
    return bytes(body)


def taken(house: House, handler: Handler) -> Callable[[Request], Any]:
    """A form that is sent."""

    async def endpoint(request: Request) -> Response:
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind != "application/x-www-form-urlencoded":
            return PlainTextResponse("The desk takes forms of its own pages.\n", 415)
        body = await sent_whole(request, LONGEST_FORM)
        if body is None:
            return PlainTextResponse("The form is too long, or was not sent to its end.\n", 413)
        try:
            text = body.decode("utf-8")
            said = parse_qs(text, keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict")
        except (UnicodeError, ValueError):
            return PlainTextResponse("The form can't be read.\n", 400)
        if not house.entry.fits_token(said.get("token", [""])[0]):
            return PlainTextResponse(
                "The form does not come from a page of this desk. Load the page again.\n", 403
            )
        return await run_in_threadpool(answered, handler, Visit(house, request, said))

    return endpoint


def answered(handler: Handler, visit: Visit, apart: bool = False) -> Response:
    """What a handler answers; what goes wrong in a known way as a page."""
    try:
        with contextlib.nullcontext() if apart else visit.desk.turn():
            return handler(visit)
    except Stale as error:
        return visit.page("told.html", 409, title="Changed elsewhere", error=error)
    except FilesUnclear as error:
        return visit.page("told.html", 409, title="First the files", error=error, unclear=True)
    except CfgError as error:
        unfinished = visit.desk.unfinished()
        return visit.page("told.html", 422, title="That can't be done", error=error, unfinished=unfinished)
    except Exception as error:
        found = CfgError(visit.house.defect(error), remedy="Nothing else is lost: what was kept is on disk.")
        return visit.page("told.html", 500, title="A defect of this program", error=found)


async def static_file(request: Request) -> Response:
    """One of the few files that the pages fetch besides, by its name."""
    found = _STATIC.get(request.path_params["name"])
    if found is None:
        return PlainTextResponse("There is no such file.\n", 404)
    return Response(found[0].read_bytes(), media_type=f"{found[1]}; charset=utf-8")


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The reports' templates' environment, in which every value is inert and escaped, with the desk's own pages."""
    from jinja2 import FileSystemLoader

    from cfgmigrate.reports import html, wording

    made = html.environment().overlay(loader=FileSystemLoader(OWN_TEMPLATES))
    made.filters = {**made.filters, "exactly": _exactly, "own": html.own, "many": wording.count}
    return made


def _exactly(text: object) -> Markup:
    """What a person typed, to be sent again as it is. A sign that acts on a terminal stands there by its number, which a browser
    reads as that sign."""
    from markupsafe import Markup, escape

    return Markup(_ACTS.sub(lambda found: f"&#{ord(found[0])};", escape(text)))

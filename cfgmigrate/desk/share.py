"""The phone at the bench: another device in the same network fills in the sheet, and can do nothing else.

It comes in at an address of its own, with a code that the terminal shows. Behind it are the swap's pages alone: no
file, no packet, no install. After a few wrong codes nobody comes in any more. What is sent goes through the network
as it is, which is said where the code is shown.
"""

from __future__ import annotations

import secrets
import socket
from collections.abc import Awaitable, Callable
from urllib.parse import parse_qs

from msgspec import Struct
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route

from cfgmigrate.desk import swap_room
from cfgmigrate.desk.guard import App, Guard, Pass, Scope
from cfgmigrate.desk.session import Desk
from cfgmigrate.desk.web import ROOMS, House, environment, open_page, sent_whole, static_file, taken
from cfgmigrate.ground.findings import Place, Refused

#: letters and digits that nobody takes for one another
_LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
_CODE_LENGTH = 8
MOST_WRONG_CODES = 10
#: bytes of the form with the code
_LONGEST = 200
#: an address that nobody has (RFC 5737); asked only by which address it would be reached
_NOBODY = ("192.0.2.1", 9)


class SharedSheet(Struct):
    """How another device comes in: its pass, whose key is the code; and how many wrong codes there were."""

    entry: Pass
    wrong: int = 0

    @property
    def address(self) -> str:
        return f"{self.entry.origin}/"

    @property
    def code(self) -> str:
        half = _CODE_LENGTH // 2
        return f"{self.entry.key[:half]}-{self.entry.key[half:]}"

    def fits(self, given: str) -> bool:
        """Whether that is the code, however it is written; never after too many wrong ones."""
        if self.wrong >= MOST_WRONG_CODES:
            return False
        plain = "".join(sign for sign in given.upper() if sign.isalnum())
        right = self.entry.fits_key(plain)
        self.wrong += not right
        return right


class CodeGuard(Guard):
    """The same guard; the page that asks for the code is open to everyone in the network."""

    def is_entry(self, scope: Scope) -> bool:
        return scope["path"] in ("/", "/enter") or scope["path"].startswith("/static/")


def network_address() -> str:
    """This computer's address in its network. Nothing is sent. Raises Refused where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(_NOBODY)
            found = str(asking.getsockname()[0])
        except OSError:
            found = "0.0.0.0"
    if found == "0.0.0.0" or found.startswith("127."):
        raise Refused("this computer is in no network", Place("--share"), "Connect it, or leave out --share.")
    return found


def new_share(host: str) -> SharedSheet:
    """A share at that host (address and port) with a code of its own."""
    code = "".join(secrets.choice(_LETTERS) for _ in range(_CODE_LENGTH))
    return SharedSheet(Pass(host, key=code))


def share_app(desk: Desk, shared: SharedSheet, defect: Callable[[Exception], str] = str) -> App:
    """The sheet's pages behind a guard of their own."""
    house = House(desk, shared.entry, rooms={"swap": ROOMS["swap"]}, defect=defect)
    place = shared.entry.place
    routes = [
        Route("/", _ask(house)),
        Route("/enter", _enter(house, shared), methods=["POST"]),
        Route("/static/{name}", static_file),
        Route(f"{place}/static/{{name}}", static_file),
        Route(f"{place}/swap", open_page(house, swap_room.show)),
        Route(f"{place}/swap/ahead", open_page(house, swap_room.ahead, apart=True)),
        Route(f"{place}/swap/answer", taken(house, swap_room.answer), methods=["POST"]),
        Route(f"{place}/swap/feeders", taken(house, swap_room.say_feeders), methods=["POST"]),
    ]
    return CodeGuard(Starlette(routes=routes), shared.entry)


def _ask(house: House, wrong: str = "", status: int = 200) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(_: Request) -> Response:
        text = environment().get_template("code.html").render(machine=house.desk.name, wrong=wrong)
        return HTMLResponse(text, status)

    return endpoint


def _enter(house: House, shared: SharedSheet) -> Callable[[Request], Awaitable[Response]]:
    async def endpoint(request: Request) -> Response:
        body = await sent_whole(request, _LONGEST)
        if body is None:
            return PlainTextResponse("That is no code.\n", 413)
        given = parse_qs(body.decode("latin-1")).get("code", [""])[0]
        if not shared.fits(given):
            over = shared.wrong >= MOST_WRONG_CODES
            wrong = "Too many wrong codes: start the desk again." if over else "That is not the code."
            return await _ask(house, wrong, 403)(request)
        shared.entry.come_in()
        return RedirectResponse(
            f"{shared.entry.place}/swap", 303, headers={"set-cookie": shared.entry.cookie()}
        )

    return endpoint

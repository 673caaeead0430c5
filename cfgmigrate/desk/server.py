"""Starting and ending the desk: a socket on the loopback address, a browser, and an end when nobody uses it.

The port is one that the system has free, so it is another one each time. What is written is written when it is
answered, so the desk may end at any moment: by Ctrl-C, by its button, by a flat battery.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import time
from collections.abc import Callable, Sequence

import uvicorn

from cfgmigrate.desk.guard import App, Pass, Receive, Scope, Send
from cfgmigrate.desk.pages import desk_app
from cfgmigrate.desk.session import Desk
from cfgmigrate.desk.share import SharedSheet, new_share, share_app
from cfgmigrate.desk.web import House
from cfgmigrate.ground.findings import Place, Refused

LOOPBACK = "127.0.0.1"
#: s between two looks at whether anybody is there
LOOK_EVERY = 0.5


def run(
    desk: Desk,
    idle: float,
    port: int = 0,
    *,
    share: str = "",
    ready: Callable[[Pass, SharedSheet | None], None] = lambda entry, shared: None,
    defect: Callable[[Exception], str] = str,
) -> str:
    """Serve the desk until it ends; why it ended. `idle` is in seconds, `share` the address at which other devices
    fill in the sheet ("" for none), `ready` is told where both are, `defect` what the program did not foresee."""
    listening = _listening(LOOPBACK, port)
    entry = Pass(f"{LOOPBACK}:{listening.getsockname()[1]}")
    house = House(desk, entry, idle=idle, defect=defect)
    sockets, shared = [listening], None
    app = desk_app(house)
    if share:
        sockets.append(_listening(share, 0))
        shared = new_share(f"{share}:{sockets[1].getsockname()[1]}")
        house.shared = (shared.address, shared.code)
        app = _by_address(app, share_app(desk, shared, defect), sockets[1].getsockname()[:2])
    config = uvicorn.Config(
        app, log_level="error", access_log=False, lifespan="off", server_header=False, ws="none"
    )
    server = uvicorn.Server(config)
    why = ["stopped"]

    def end() -> None:
        why[0], server.should_exit = "ended", True

    house.ending = end

    async def serve() -> None:
        passes = [entry] if shared is None else [entry, shared.entry]
        watching = asyncio.create_task(_watch(passes, idle, server, why))
        ready(entry, shared)
        await server.serve(sockets=sockets)
        watching.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await watching

    try:
        with contextlib.suppress(KeyboardInterrupt):
            asyncio.run(serve())
    finally:
        entry.shut()
    return why[0]


def _listening(address: str, port: int) -> socket.socket:
    try:
        return socket.create_server((address, port))
    except OSError as error:
        raise Refused(
            f"port {port} at {address} can't be had: {error.strerror or error}",
            Place("--port"),
            "Leave --port out for any that is free.",
        ) from error


def _by_address(desk: App, share: App, shared: tuple[str, int]) -> App:
    """What came in at the shared address goes to the sheet's pages, all else to the desk's."""

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        at = tuple(scope.get("server") or ())
        await (share if at == shared else desk)(scope, receive, send)

    return app


async def _watch(passes: Sequence[Pass], idle: float, server: uvicorn.Server, why: list[str]) -> None:
    while not server.should_exit:
        await asyncio.sleep(min(LOOK_EVERY, idle))
        if time.monotonic() - max(entry.used for entry in passes) >= idle:
            why[0], server.should_exit = "idle", True

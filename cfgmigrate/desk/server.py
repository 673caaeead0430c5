"""Starting and ending the desk: a socket on the loopback address, a browser, and an end when nobody uses it.

The port is one that the system has free, so it is another one each time. What is written is written when it is
answered, so the desk may end at any moment: by Ctrl-C, by its button, by a flat battery.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import time
from collections.abc import Callable

import uvicorn

from cfgmigrate.desk.guard import Pass
from cfgmigrate.desk.pages import desk_app
from cfgmigrate.desk.session import Desk
from cfgmigrate.desk.web import House

LOOPBACK = "127.0.0.1"
#: s between two looks at whether anybody is there
LOOK_EVERY = 0.5


def run(
    desk: Desk,
    idle: float,
    port: int = 0,
    *,
    ready: Callable[[Pass], None] = lambda entry: None,
    defect: Callable[[Exception], str] = str,
) -> str:
    """Serve the desk until it ends; why it ended. `idle` is in seconds, `ready` is told where it is, `defect` what the
    program did not foresee."""
    listening = socket.create_server((LOOPBACK, port))
    entry = Pass(f"{LOOPBACK}:{listening.getsockname()[1]}")
    house = House(desk, entry, idle=idle, defect=defect)
    config = uvicorn.Config(
        desk_app(house), log_level="error", access_log=False, lifespan="off", server_header=False, ws="none"
    )
    server = uvicorn.Server(config)
    why = ["stopped"]

    def end() -> None:
        why[0], server.should_exit = "ended", True

    house.ending = end

    async def serve() -> None:
        watching = asyncio.create_task(_watch(entry, idle, server, why))
        ready(entry)
        await server.serve(sockets=[listening])
        watching.cancel()
        with contextlib.suppress(asyncio.CancelledError):
            await watching

    with contextlib.suppress(KeyboardInterrupt):
        asyncio.run(serve())
    return why[0]


async def _watch(entry: Pass, idle: float, server: uvicorn.Server, why: list[str]) -> None:
    while not server.should_exit:
        await asyncio.sleep(min(LOOK_EVERY, idle))
        if time.monotonic() - entry.used >= idle:
            why[0], server.should_exit = "idle", True

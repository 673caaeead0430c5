"""All addresses of the desk and which room answers there."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from cfgmigrate.desk import (
    after_room,
    file_questions,
    machine_room,
    more_room,
    packet_room,
    standing_room,
    swap_room,
    understood_room,
)
from cfgmigrate.desk.guard import App, Guard
from cfgmigrate.desk.web import Handler, House, Visit, open_page, static_file, taken


def desk_app(house: House) -> App:
    """The desk behind its guard."""
    read = {
        "": _begin,
        "machine": machine_room.show,
        "understood": understood_room.show,
        "swap": swap_room.show,
        "packet": packet_room.show,
        "packet/{name}": packet_room.one,
        "packet/{name}/page": packet_room.review_page,
        "packet/{name}/checklist": packet_room.checklist,
        "packet/{name}/verify": packet_room.verify,
        "packet/{name}/install": packet_room.install_first,
        "packet/{name}/revert": packet_room.revert_first,
        "status": standing_room.status,
        "history": standing_room.history,
        "record": standing_room.machine_record,
        "after": after_room.show,
        "after/trial/{name}": after_room.trial_page,
        "more": more_room.show,
        "more/compare": more_room.compare,
        "more/rule/{name}": more_room.rule,
    }
    sent = {
        "machine/roles": machine_room.say_roles,
        "machine/all": machine_room.say_all,
        "understood/meaning": understood_room.say_meaning,
        "understood/question": file_questions.settle_question,
        "understood/materials": file_questions.say_materials,
        "swap/answer": swap_room.answer,
        "swap/feeders": swap_room.say_feeders,
        "packet": packet_room.prepare,
        "packet/{name}/judge": packet_room.judge,
        "packet/{name}/record": packet_room.record,
        "packet/{name}/install": packet_room.install,
        "packet/{name}/revert": packet_room.revert,
        "status/done": standing_room.done,
        "after/trial": after_room.write_trial,
        "after/measured": after_room.measure,
        "after/tune": after_room.tune,
        "finish": standing_room.finish,
        "end": _end,
    }
    return Guard(_app(house, read, sent), house.entry)


def _app(house: House, read: Mapping[str, Handler], sent: Mapping[str, Handler]) -> App:
    place = house.entry.place
    routes: list[BaseRoute] = [
        Route(f"{place}/swap/ahead", open_page(house, swap_room.ahead, apart=True)),
        Route(f"{place}/working", open_page(house, more_room.working, apart=True)),
        Route(f"{place}/enter", _enter(house)),
        Route(f"{place}/static/{{name}}", static_file),
        *(Route(f"{place}/{name}", open_page(house, handler)) for name, handler in read.items()),
        *(
            Route(f"{place}/{name}", taken(house, handler), methods=["POST"])
            for name, handler in sent.items()
        ),
    ]
    return Starlette(routes=routes)


_NOT_OURS = "That is not the address that the desk showed when it began.\n"
_USED_BEFORE = (
    "This address lets one browser in, and one is in already. Go on there, or end the desk with Ctrl-C and start it "
    "again; so too if that was not you.\n"
)
_GO_ON = (
    '<!doctype html><html lang="en"><meta charset="utf-8"><meta http-equiv="refresh" content="0; url={0}">'
    '<title>The desk</title><p><a href="{0}">To the desk</a></p></html>\n'
)


def _enter(house: House) -> Callable[[Request], Awaitable[Response]]:
    entry, where = house.entry, f"{house.entry.place}/"

    async def endpoint(request: Request) -> Response:
        given, cookie = request.query_params.get("key", ""), request.headers.get("cookie", "")
        known = entry.fits_key(given) and entry.fits_cookie(cookie)
        if request.method != "GET" or not (known or entry.spend_key(given)):
            return PlainTextResponse(
                _USED_BEFORE if entry.spent and entry.fits_key(given) else _NOT_OURS, 403
            )
        headers = {"set-cookie": entry.cookie()}
        if request.headers.get("sec-fetch-site", "none") in ("none", "same-origin"):
            return RedirectResponse(where, 303, headers=headers)
        # a browser that comes from a file brings the cookie along only from a page of the desk's own
        return HTMLResponse(_GO_ON.format(where), headers=headers)

    return endpoint


def _begin(visit: Visit) -> Response:
    return visit.go("machine")


def _end(visit: Visit) -> Response:
    visit.house.ending()
    return visit.page("ended.html", title="The desk has ended")

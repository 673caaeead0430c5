"""Where the machine stands, beside the fourth room: what is in force, what is ticked off by hand, the history and the record.

All of it is about the machine and none about one packet. Nothing is written but a tick, and that only where the button
said what there is to be ticked, and what was interrupted in the midst of being written.
"""

from __future__ import annotations

from starlette.responses import HTMLResponse, Response

from cfgmigrate.desk.session import same_stamp
from cfgmigrate.desk.web import Visit

#: lines of a history on its page
MOST_ENTRIES = 200


def status(visit: Visit) -> Response:
    from cfgmigrate import api
    from cfgmigrate.reports.status_text import not_as_installed, told_beside

    found = api.status(visit.desk.config, sheet=visit.desk.sheet)
    lost = tuple(map(not_as_installed, found.changed))
    others = told_beside(found.to_json())
    return visit.page(
        "status.html", title="Where the machine stands", room="packet", found=found, lost=lost, others=others
    )


def done(visit: Visit) -> Response:
    """Tick what was done by hand, or undone, as the button said that was shown."""
    from cfgmigrate import api
    from cfgmigrate.apply.in_force import in_force

    there = in_force(visit.desk.config, visit.desk.history())
    shown = next((each for each in there.by_hand if each.id == visit.field("item")), None)
    same_stamp(visit.field("stamp"), shown)
    item = api.mark_done(visit.desk.config, visit.field("item"))
    return visit.go("packet", f"{'Undone' if item.undo else 'Done'}: {item.what}")


def history(visit: Visit) -> Response:
    from cfgmigrate.apply.asked_machine import sentences_of_others

    found = visit.desk.history()
    return visit.page(
        "history.html",
        title="History",
        room="packet",
        found=found,
        others=sentences_of_others([each.to_json() for each in found.others]),
        entries=list(reversed(found.entries))[:MOST_ENTRIES],
        config=visit.desk.word,
        unfinished=visit.desk.unfinished(),
    )


def finish(visit: Visit) -> Response:
    """Finish or undo an install or revert that was interrupted, as every command at the terminal does first."""
    from cfgmigrate import api

    recovered = api.recover([visit.desk.config])
    return visit.go("history", str(recovered or "Nothing is interrupted here any more."))


def machine_record(visit: Visit) -> Response:
    """The machine's record, as `report` writes it. Nothing may run on it."""
    from cfgmigrate import api
    from cfgmigrate.reports import html

    text = api.report(visit.desk.config, "html")
    headers = {"content-security-policy": f"{html.policy(html.asset('page.css'))}; frame-ancestors 'none'"}
    return HTMLResponse(text.encode("utf-8", "surrogateescape"), headers=headers)

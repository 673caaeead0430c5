"""Beside the five rooms: two configurations compared, the rules of the book, and what only the terminal does.

Compared is what lies in the work folder: the configuration as it is, the two sides of a packet, other folders. For what
the desk does not do, the command is shown with this machine's own names in it.
"""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.responses import HTMLResponse, PlainTextResponse, Response

from cfgmigrate.desk.web import Visit
from cfgmigrate.ground.findings import BadInput, Place

if TYPE_CHECKING:
    from cfgmigrate.rules.rule import Rule

#: what the desk does not do: what it is, and the command; CONFIG, SHEET and PACKET stand for this machine's own
ONLY_AT_THE_TERMINAL = (
    ("Many machines at once, from a fleet file", "prepare --fleet fleet.yaml -o packets"),
    ("The values of another configuration carried over into this one", "prepare CONFIG --from OLD -o PACKET"),
    ("Meanings that several machines share", "prepare CONFIG --sheet SHEET --names names.yaml -o PACKET"),
    ("Rules of your own", "prepare CONFIG --sheet SHEET --rules DIR -o PACKET"),
    ("A slip of what takes a multimeter, for somebody who has one", "sheet CONFIG --slip"),
    ("A review that is signed with a key", "review PACKET --as NAME --sign KEY"),
    ("A verdict withdrawn", "review PACKET --as NAME --withdraw C7"),
    ("An install of what was accepted and signed alone", "install PACKET --require-review --signed-by FILE"),
    ("A change installed although somebody holds it", "install PACKET --despite-hold C7"),
    ("Everything put back that was ever installed", "revert CONFIG --to start"),
    ("One value of a packet put back", "revert PACKET --only NAME"),
    ("One JSON document for a script", "survey CONFIG --json"),
)


def show(visit: Visit) -> Response:
    """What there is beside the rooms."""
    from cfgmigrate.reports.safe_text import shell_word

    packet = visit.desk.work / next(iter(visit.desk.packets()), "packet")
    words = {
        "CONFIG": visit.desk.word,
        "SHEET": shell_word(visit.desk.sheet),
        "PACKET": shell_word(packet),
    }
    commands = [
        (says, "cfgmigrate " + " ".join(words.get(word, word) for word in command.split()))
        for says, command in ONLY_AT_THE_TERMINAL
    ]
    return visit.page(
        "more.html",
        title="More",
        sides=list(sides(visit)),
        books=_books(),
        commands=commands,
        config=visit.desk.word,
    )


def sides(visit: Visit) -> dict[str, Path]:
    """What may be compared, by what it is called."""
    desk = visit.desk
    found = {f"{desk.name}, as it is": desk.config}
    packets = desk.packets()
    for name, path in packets.items():
        found |= {f"{name}, {side}": path / side for side in ("before", "after") if (path / side).is_dir()}
    for path in sorted(desk.work.iterdir()):
        hidden = path.name.startswith(".") or path.is_symlink() or not path.is_dir()
        if not hidden and path.name not in packets and path.resolve() != desk.config.resolve():
            found[path.name] = path
    return found


def compare(visit: Visit) -> Response:
    """Two of them by meaning. The page is that of the command, and only its own script may run on it."""
    from cfgmigrate import api
    from cfgmigrate.reports import html
    from cfgmigrate.reports.comparison import render_comparison_page

    there = sides(visit)
    old, new = (there.get(visit.asked(side)) for side in ("old", "new"))
    if old is None or new is None:
        raise BadInput("there is no such configuration here", Place("compare"), "Choose two of the list.")
    text = render_comparison_page(api.compare(old, new).to_json())
    policy = f"{html.policy(html.asset('page.css'), html.asset('lists.js'))}; frame-ancestors 'none'"
    return HTMLResponse(text, headers={"content-security-policy": policy})


def rule(visit: Visit) -> Response:
    """A rule of the swap's book, of that of measured values, or of both, as `explain` tells it."""
    from cfgmigrate import api
    from cfgmigrate.reports.rule_text import rule_text

    name = visit.part("name")
    found = [each for each in (*api.explain(), *api.tuning_rules()) if each.name == name]
    if not found:
        raise BadInput("there is no rule of that name", Place(name), "Go back to the list of rules.")
    text = "\n\n".join(map(rule_text, found))
    return visit.page("text.html", title=found[0].label, text=text, back="more")


def working(visit: Visit) -> Response:
    """What the program is at, for a page that waits; nothing where it is at nothing."""
    from cfgmigrate.ground.progress import now

    stage = now()
    return PlainTextResponse(stage.name if stage is not None else "")


def _books() -> list[tuple[str, list[tuple[str, list[Rule]]]]]:
    """The rules of both books, those of one part of the machine together."""
    from cfgmigrate import api

    books = {"By the swap sheet": api.explain(), "By what was measured": api.tuning_rules()}
    return [
        (
            title,
            [
                (part, list(rules))
                for part, rules in groupby(
                    sorted(book, key=lambda each: each.name), lambda each: each.name.partition(".")[0]
                )
            ],
        )
        for title, book in books.items()
    ]

"""The fourth room: packets. Prepare, review, see what an install would do, install, put back.

What the machine is at, its history and its record have a module of their own (`standing_room.py`).

Each button has on it what it will do. Before an install or a revert comes its dry run, on the page with the button. Where
a light is not set, an install asks for the machine's name to be typed. Packets are those in the work folder, by name.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from starlette.responses import HTMLResponse, Response

from cfgmigrate.desk.session import same_stamp, stamp
from cfgmigrate.desk.web import Visit
from cfgmigrate.ground.findings import BadInput, CfgError, Place, Refused
from cfgmigrate.reports.wording import count

if TYPE_CHECKING:
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.model import Light

#: the states of a light with which nothing has to be typed
NOTHING_TO_TYPE = ("set", "unaffected")


def show(visit: Visit) -> Response:
    """All packets, and the form that prepares one."""
    from cfgmigrate.apply.in_force import in_force

    there = in_force(visit.desk.config, visit.desk.history())
    # a packet in the folder may be another machine's, and installed
    standing = {entry.packet: entry.number for entry in in_force(visit.desk.config).entries}
    packets = [_listed(name, path, standing) for name, path in visit.desk.packets().items()]
    kept = visit.desk.kept()
    again = next((str(each["name"]) for each in packets if each.get("again")), "")
    return visit.page(
        "packet.html",
        title="The packet",
        room="packet",
        packets=packets,
        new=again or _free_name(visit, "packet"),
        again=again,
        sheet=str(kept.path),
        there=kept.present is not None,
        open=[(item, stamp(item)) for item in there.open],
        undo=[(item, stamp(item)) for item in there.to_undo],
        in_force=there.entries,
        stamp=stamp(kept.present),
    )


def prepare(visit: Visit) -> Response:
    """Work the swap out and write a packet, as `prepare` does."""
    from cfgmigrate import api
    from cfgmigrate.apply.other_readers import told_before_install
    from cfgmigrate.reports.review_text import beside_lines
    from cfgmigrate.workflow.reviewing import verdicts_beside

    kept = visit.desk.kept()
    same_stamp(visit.field("stamp"), kept.present)
    if kept.present is None:
        raise BadInput(
            "there is no swap sheet yet", Place(str(kept.path)), "Answer what the swap asks first."
        )
    name = visit.field("name").strip()
    out = visit.desk.new_file(name)
    packet = api.prepare(
        [visit.desk.config],
        kept.path,
        out=out,
        replace=visit.field("replace") == "yes",
        rest=visit.field("rest") == "yes",
    )
    many = len(packet.plan.changes)
    beside = "".join(f" {text}" for text in beside_lines(verdicts_beside(packet), out))
    read = "".join(f"\n{text}" for text in told_before_install(packet.plan))
    return visit.go(
        f"packet/{name}",
        f"Written to {out}: {many} values, {len(packet.plan.by_hand)} steps by hand.{beside}{read}",
    )


def one(visit: Visit) -> Response:
    """One packet: what it says, its review, and what can be done with it."""
    from cfgmigrate.apply.in_force import in_force
    from cfgmigrate.packet.standing import standings
    from cfgmigrate.reports.card import cards_of
    from cfgmigrate.reports.review_text import kept_lines

    name, packet = _packet(visit)
    entries = [entry for entry in in_force(visit.desk.config).entries if entry.packet == packet.hash]
    cards = cards_of(packet.plan)
    return visit.page(
        "one.html",
        title=f"Packet {name}",
        room="packet",
        name=name,
        packet=packet,
        plan=packet.plan,
        cards=cards,
        records=standings(packet),
        kept=kept_lines(packet) if packet.review is not None else (),
        installed=entries,
        stamp=stamp(packet.hash, packet.review),
    )


def review_page(visit: Visit) -> Response:
    """The packet's own page. Only this program's own style and script may act on it, whatever is in it."""
    from cfgmigrate.reports import html

    _, packet = _packet(visit)
    page = packet.pages.get("changes.html", b"")
    policy = html.policy(html.asset("page.css"), html.scripts("record.js", "page.js"))
    headers = {"content-security-policy": f"{policy}; frame-ancestors 'none'"}
    return HTMLResponse(page, headers=headers)


def checklist(visit: Visit) -> Response:
    name, packet = _packet(visit)
    text = packet.pages.get("checklist.md", b"").decode("utf-8", "replace")
    return visit.page(
        "text.html", title="The day's order of work", room="packet", text=text, back=f"packet/{name}"
    )


def verify(visit: Visit) -> Response:
    """Everything in the packet worked out again."""
    from cfgmigrate import api

    name = visit.part("name")
    found = api.verified(visit.desk.packet(name))
    return visit.page(
        "verified.html", title=f"Packet {name} worked out again", room="packet", name=name, found=found
    )


def judge(visit: Visit) -> Response:
    """One person's verdicts from the form; what it leaves open stays as this person judged it before."""
    from cfgmigrate import api
    from cfgmigrate.packet.review import Judgement, Verdict
    from cfgmigrate.reports.card import cards_of
    from cfgmigrate.workflow.reviewing import own_verdicts

    name, packet = _packet(visit)
    same_stamp(visit.field("stamp"), packet.hash, packet.review)
    reviewer = visit.field("reviewer").strip()
    if not reviewer:
        raise BadInput(
            "your name is missing", Place("review"), "A review counts only with the reviewer's name."
        )
    judgements = []
    for number, card in enumerate(cards_of(packet.plan).reviewed):
        verdict, note = visit.field(f"verdict-{number}"), visit.field(f"note-{number}").strip()
        if note and not verdict:
            verdict = Verdict.QUESTIONED
        if verdict:
            if verdict not in list(Verdict):
                raise BadInput("there is no such verdict", Place(card.number))
            judgements.append(Judgement(card.key, Verdict(verdict), note))
    judged = {judgement.item for judgement in judgements}
    before = [each for each in own_verdicts(packet, reviewer) if each.item not in judged]
    api.record_verdicts(packet.folder, reviewer, judgements=[*before, *judgements])
    stand = f" Given before and kept as they were: {len(before)}." if before else ""
    return visit.go(
        f"packet/{name}", f"Kept in the packet: {count(len(judgements), 'verdict')} of {reviewer}.{stand}"
    )


def record(visit: Visit) -> Response:
    """A record that the review page saved, or a mail with item numbers, as `review` takes it."""
    import tempfile

    from cfgmigrate import api

    name, packet = _packet(visit)
    same_stamp(visit.field("stamp"), packet.hash, packet.review)
    text = visit.field("record")
    unread: tuple[tuple[int, str], ...] = ()
    with tempfile.TemporaryDirectory(prefix="cfgmigrate-") as folder:
        given = Path(folder) / "record"
        given.write_text(text.replace("\r\n", "\n"), encoding="utf-8")
        if text.lstrip().startswith("format:"):
            found = api.review(packet.folder, given)
            taken = len(found.judgements)
        else:
            found, answer = api.review_mail(packet.folder, given, reviewer=visit.field("reviewer"))
            taken, unread = len(answer.judgements), answer.unread
    said = f"Taken in: {count(taken, 'verdict')} of {found.reviewer}."
    left = "".join(f"\nNot read, so still open: line {number}: {line}" for number, line in unread)
    return visit.go(f"packet/{name}", said + left)


def install_first(visit: Visit) -> Response:
    """What an install would do; nothing is written."""
    from cfgmigrate import api

    name, packet = _packet(visit)
    need_review = visit.asked("review") == "yes"
    open_lights, unknown = _lights(packet, need_review)
    report = api.install(
        packet.folder,
        _root(visit, packet),
        require_review=need_review,
        dry_run=True,
        accept_unknown=[light.name for light in unknown],
    )
    return visit.page(
        "install.html",
        title=f"Install packet {name}: a dry run",
        room="packet",
        name=name,
        packet=packet,
        plan=packet.plan,
        report=report,
        need_review=need_review,
        open_lights=open_lights,
        unknown=unknown,
        typed=_called(visit, packet),
        edits=[
            (change, edit)
            for change in packet.plan.changes
            for edit in change.edits
            if change.id in report.installed
        ],
        stamp=stamp(packet.hash, packet.review),
    )


def install(visit: Visit) -> Response:
    """Carry the changes out."""
    from cfgmigrate import api

    name, packet = _packet(visit)
    same_stamp(visit.field("stamp"), packet.hash, packet.review)
    need_review = visit.field("review") == "yes"
    open_lights, unknown = _lights(packet, need_review)
    called = _called(visit, packet)
    if open_lights and " ".join(visit.field("typed").split()) != called:
        raise Refused(
            f"{', '.join(light.name for light in open_lights)}: not set, and the machine's name was not typed",
            Place(name),
            f"Nothing was changed. Type {called} if you take it on yourself.",
        )
    report = api.install(
        packet.folder,
        _root(visit, packet),
        require_review=need_review,
        accept_unknown=[light.name for light in unknown],
    )
    if not report.written:
        return visit.go(f"packet/{name}", "Nothing to do: the files already hold the new values.")
    notes = "".join(f"\n{note}" for note in report.notes)
    said = (
        f"Installed: {len(report.installed)} values in {', '.join(report.files)}; entry {report.entry} of the history."
        f"\nLoad the files into the machine again before you move anything.{notes}"
    )
    return visit.go(f"packet/{name}", said)


def revert_first(visit: Visit) -> Response:
    """What a revert would do; nothing is written."""
    from cfgmigrate import api
    from cfgmigrate.reports.outcome_text import conflict_line, restored_line, stays_line

    name, packet = _packet(visit)
    report = api.revert(packet.folder, _root(visit, packet), dry_run=True)
    return visit.page(
        "revert.html",
        title=f"Revert packet {name}: a dry run",
        room="packet",
        name=name,
        report=report,
        restored=[restored_line(item.to_json()) for item in report.restored],
        kept=[stays_line(item.to_json()) for item in report.kept],
        left=[stays_line(item.to_json()) for item in report.left],
        conflicts=[(item.name, conflict_line(item.to_json())) for item in report.conflicts],
        stamp=stamp(packet.hash, report.to_json()),
    )


def revert(visit: Visit) -> Response:
    """Put the old values back."""
    from cfgmigrate import api

    name, packet = _packet(visit)
    before = api.revert(packet.folder, _root(visit, packet), dry_run=True)
    same_stamp(visit.field("stamp"), packet.hash, before.to_json())
    answers = {item.name: visit.field(f"answer-{number}") for number, item in enumerate(before.conflicts)}
    report = api.revert(
        packet.folder,
        _root(visit, packet),
        keep=[item for item, said in answers.items() if said == "keep"],
        force=[item for item, said in answers.items() if said == "force"],
    )
    hands = "".join(f"\n· {what}" for what in report.by_hand)
    hands = f"\nUndo by hand the ones you did:{hands}" if hands else ""
    notes = "".join(f"\n{note}" for note in report.notes)
    said = (
        f"Reverted: {', '.join(report.files) or 'nothing'}"
        + (f"; entry {report.entry} of the history." if report.written else ".")
        + f"\nLoad the files into the machine again before you move anything.{hands}{notes}"
    )
    return visit.go(f"packet/{name}", said)


def _packet(visit: Visit) -> tuple[str, Packet]:
    from cfgmigrate import api

    name = visit.part("name")
    return name, api.open_packet(visit.desk.packet(name))


def _root(visit: Visit, packet: Packet) -> Path:
    """The configuration that the desk is of. Raises Refused for the packet of another one."""
    root = visit.desk.config.resolve()
    if packet.plan.root and Path(packet.plan.root).resolve() != root:
        raise Refused(
            f"this packet was prepared for the configuration in {packet.plan.root}",
            Place(str(packet.folder)),
            f"Nothing was changed. This desk is of {root}; open one for the other, or prepare a packet here.",
        )
    return root


def _lights(packet: Packet, need_review: bool) -> tuple[tuple[Light, ...], tuple[Light, ...]]:
    """The lights that are not set by what would be let in, and those of them that are unknown."""
    from cfgmigrate.packet.standing import allowed_changes, current_reviews
    from cfgmigrate.plan.lights_left import after_review, unknown

    held: set[str] = set()
    if need_review:
        let_in = allowed_changes(packet.plan, current_reviews(packet), packet.preparer)
        held = {item.name for item in let_in.held}
    left = after_review(packet.plan.lights, held)
    return tuple(light for light in left if light.state not in NOTHING_TO_TYPE), unknown(left)


def _called(visit: Visit, packet: Packet) -> str:
    return " ".join(packet.plan.machine.split()) or visit.desk.name


def _free_name(visit: Visit, wanted: str) -> str:
    """A name that is still free in the work folder."""
    number, name = 1, wanted
    while (visit.desk.work / name).exists():
        number, name = number + 1, f"{wanted}-{number + 1}"
    return name


def _listed(name: str, path: Path, standing: Mapping[str, int]) -> dict[str, Any]:
    """A packet as the list shows it; what is wrong with one that can't be opened."""
    from cfgmigrate import api

    try:
        packet = api.open_packet(path)
    except CfgError as error:
        return {"name": name, "wrong": error.what}
    return {
        "name": name,
        "wrong": "",
        "kind": packet.plan.kind,
        "values": len(packet.plan.changes),
        "hands": len(packet.plan.by_hand),
        "lights": [light for light in packet.plan.lights if light.state not in NOTHING_TO_TYPE],
        "installed": standing.get(packet.hash, 0),
        # the same again takes its place, so that its verdicts stand on
        "again": packet.plan.kind == "swap" and packet.hash not in standing,
        "reviewed": packet.review is not None,
    }

"""Values that were written and do not count: another line of the machine says otherwise.

Whether an installed value stands in its own line is found by spans (`apply/`). But a line below it, a block that the board
keeps or a hand that wrote the old number back decides what the machine does. So here the machine is read, and what counts
is compared with what was written.

Nothing is changed; files that can't be read tell nothing.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.plan.identity import parts_of
from cfgmigrate.rules.former_names import present_name

if TYPE_CHECKING:
    from cfgmigrate.apply.file_revert import RevertedItem
    from cfgmigrate.apply.going_back import RevertReport
    from cfgmigrate.apply.in_force import InForce
    from cfgmigrate.machine.model import Machine, Reading
    from cfgmigrate.store.entries import OthersEntry

#: as far as a written value may differ from the one that was worked out (relative): half of its last digit
ROUNDED = 0.02


def changed_since(
    machine: Machine, changes: Iterable[Mapping[str, Any]], before: Collection[tuple[str, str]] = ()
) -> tuple[dict[str, str], ...]:
    """Of installed values those that do not count now: label, holder, what was installed, what counts, and where that
    stands. Values that no file has any more are left out: whoever took the line out knows. `by_hand` is yes where a person
    wrote the line itself anew, and not with a number that it had before: `before` are those, each with its quantity."""
    own = {(each.quantity, str(each.holder)): each for each in machine.readings}
    found = []
    for change in changes:
        reading = own.get((change["quantity"], change.get("holder", "machine")))
        if reading is None or change.get("value") is None or _counts(reading, change):
            continue
        found.append(
            {
                "quantity": change["quantity"],
                "holder": str(change.get("holder", "machine")),
                "label": change["label"],
                "installed": str(change["new"]),
                "now": reading.text,
                "where": f"{reading.place.file}:{reading.place.line}",
                "by_hand": "yes" if _anew(machine, reading, str(change["new"]), before) else "",
            }
        )
    return tuple(found)


def _anew(machine: Machine, reading: Reading, installed: str, before: Collection[tuple[str, str]]) -> bool:
    """Whether an installed number stands nowhere any more, and what counts is none that stood there before."""
    still = any(
        each.key == reading.key and _same_number(each.text, installed) for each in machine.every_reading
    )
    return not still and not any(
        quantity == reading.quantity and _same_number(text, reading.text) for quantity, text in before
    )


def _counts(reading: Reading, change: Mapping[str, Any]) -> bool:
    if not isinstance(reading.value, int | float) or reading.text == str(change["new"]):
        return True
    worked_out = math.isclose(reading.value, change["value"], rel_tol=ROUNDED, abs_tol=1e-9)
    return worked_out and not _edited(reading.text, str(change["new"]))


def _edited(now: str, installed: str) -> bool:
    """Whether two numbers are so near that they are in one unit, and are not the same: nobody rounds a written number."""
    try:
        one, other = (float(number_in_points(each)) for each in (now, installed))
    except ValueError:
        return False
    return math.isclose(one, other, rel_tol=ROUNDED) and not math.isclose(one, other)


def lost_since(found: InForce) -> tuple[dict[str, str], ...]:
    """Of installed values those that are not found any more in the file where they were put: as those that do not count,
    with nothing `now`."""
    return tuple(
        {
            "quantity": change["quantity"],
            "holder": str(change.get("holder", "machine")),
            "label": change["label"],
            "installed": str(change["new"]),
            "now": "",
            "where": file,
        }
        for change, file in found.lost
    )


def lights_now(
    lights: Sequence[Mapping[str, str]],
    changed: Sequence[Mapping[str, str]],
    taken_back: Sequence[Mapping[str, Any]] = (),
    read: Collection[tuple[str, str]] = (),
) -> tuple[Mapping[str, str], ...]:
    """Lights as they are with what was changed since, or taken back: one that was set by a value that does not count is
    unknown, or set by hand where a person wrote a number of their own there. What is `read` are the
    quantities that have a value now, each with its holder: a profile with one of its own that nobody changed has nothing to do with
    the machine's."""
    from cfgmigrate.knowledge.lights import light_kinds

    of = {wanted.quantity: kind.name for kind in light_kinds().kinds for wanted in kind.values}
    own = {*read}.difference(
        (each["quantity"], str(each.get("holder", "machine"))) for each in (*changed, *taken_back)
    )

    def now(light: Mapping[str, str]) -> Mapping[str, str]:
        """The same light, or what it is by the first of its values that does not count; by one that nobody set before others."""
        if light["state"] != "set":
            return light
        for each in sorted((*changed, *taken_back), key=lambda each: bool(each.get("by_hand"))):
            if light["holder"] != "machine" and (each["quantity"], light["holder"]) in own:
                continue
            if of.get(each["quantity"]) == light["light"] and _is_whose(light, each):
                why = _why(each) if "now" in each else f"{each['label']} was taken back"
                return {**light, "state": "by hand" if each.get("by_hand") else "unknown", "why": why}
        return light

    return tuple(map(now, lights))


def changed_by_others(
    lights: Sequence[Mapping[str, str]], others: Sequence[OthersEntry], found: InForce
) -> tuple[Mapping[str, str], ...]:
    """Lights as they are with what another machine's steps changed since in files that both have: one that rests on a value
    which no step of this machine wrote is unknown then."""
    from cfgmigrate.knowledge.lights import light_kinds

    of = {wanted.quantity: kind.name for kind in light_kinds().kinds for wanted in kind.values}
    last = max((entry.number for entry in found.entries), default=0)
    own = {(file.path, span.name) for entry in found.entries for file in entry.files for span in file.spans}
    why: dict[str, str] = {}
    for each in others if last else ():
        for path, name in each.values if each.entry > last else ():
            if (path, name) not in own:
                what = of.get(present_name(parts_of(name)[0]), "")
                why[what] = (
                    f"{path} was changed for another machine since ({each.kind} {each.entry}): prepare again"
                )
    return tuple(
        {**each, "state": "unknown", "why": why[each["light"]]}
        if each["light"] in why and each["state"] != "unknown"
        else each
        for each in lights
    )


def _is_whose(light: Mapping[str, str], change: Mapping[str, Any]) -> bool:
    """Whether a value may be one of those that a light of that holder rests on: not another feeder's or profile's."""
    holder, of = str(change.get("holder", "machine")), light["holder"]
    return "machine" in (holder, of) or holder == of or holder.startswith(f"{of} ")


def _why(each: Mapping[str, str]) -> str:
    if not each["now"]:
        return f"{each['label']} is not found any more in {each['where']}, where {each['installed']} was installed"
    return f"{each['label']} is {each['now']} now ({each['where']}), and {each['installed']} was installed"


def come_new(machine: Machine, found: InForce) -> tuple[dict[str, str], ...]:
    """A light for each value of one that stands in a file which no install knew, such as a profile copied in since: nobody
    has looked whether the new drive can have it."""
    from cfgmigrate.knowledge.lights import light_kinds

    known = {path for entry in found.entries for path in (entry.reasons or {}).get("inputs", ())}
    written = {file.path for entry in found.entries for file in entry.files}
    of = {wanted.quantity: kind.name for kind in light_kinds().kinds for wanted in kind.values}
    swapped = {light["light"] for light in found.lights if light["state"] != "unaffected"}
    told: dict[tuple[str, str], dict[str, str]] = {}
    for each in machine.readings if known else ():
        light = of.get(each.quantity)
        if light in swapped and each.place.file not in known | written:
            where = f"{each.place.file}:{each.place.line}"
            why = f"{where} has {each.text}, and no install knew that file: prepare again"
            told.setdefault(
                (light, str(each.holder)),
                {"light": light, "holder": str(each.holder), "state": "unknown", "why": why},
            )
    return tuple(told.values())


def put_back_in_vain(root: Path, report: RevertReport, known: Collection[str] = ()) -> tuple[str, ...]:
    """What a revert put back and another line overrules, and what files that came since still hold of it, a sentence each.
    `known` are files that were there before. Where others lie beside these in which another machine has its own lines, only
    the known ones are read, and what they take in."""
    from cfgmigrate.apply.revert_beside import machines_beside
    from cfgmigrate.apply.undone_by_hand import stored_back
    from cfgmigrate.workflow.prepare import read_machine

    apart = bool(known) and bool(machines_beside(root, dict.fromkeys(known, b""), known).files)
    there = [root / path for path in known if (root / path).is_file()] if apart else []
    try:
        _, machine = read_machine(there or [root])
    except CfgError:
        return ()
    back: dict[tuple[str, int], list[RevertedItem]] = {}
    for one in report.restored:
        back.setdefault((one.file, one.line), []).append(one)
    own = {each.key: each for each in machine.readings}
    stored = dict(pair for what in report.by_hand for pair in stored_back(what))
    told = []
    if stored:
        what = "; ".join(f"{name} {old}" for name, old in stored.items())
        told.append(f"What the board keeps wins over the files: store these at its console: {what}")
    for each in machine.every_reading:
        item = _of_reading(each, back.get((each.place.file, each.place.line or 0), ()))
        reading = own.get(each.key)
        if item is None or reading is None or (reading.place.file, reading.place.line) in back:
            continue
        if reading.setting.name in stored:
            continue
        if reading.value != each.value and not _same_number(reading.text, item.old):
            where = f"{reading.place.file}:{reading.place.line}"
            told.append(
                f"{item.file}:{item.line} {item.old} does not count: {where} says {reading.text}. {_instead(reading, item.old)}"
            )
    return (*told, *_held_since(machine, report, known))


def _of_reading(reading: Reading, items: Iterable[RevertedItem]) -> RevertedItem | None:
    """What was put back of a reading: a line may hold several values. Another holder's goes only where its own is not there."""
    named = [(present_name(what), holder, item) for item in items for what, holder in [parts_of(item.name)]]
    of_it = [(holder, item) for what, holder, item in named if what == reading.quantity]
    own = next((item for holder, item in of_it if holder == str(reading.holder)), None)
    return own if own is not None or len(of_it) != 1 else of_it[0][1]


def _same_number(one: str, other: str) -> bool:
    """Whether two texts are one number: before it is put back, what stands in a line is the new one."""
    try:
        return math.isclose(float(number_in_points(one)), float(number_in_points(other)))
    except ValueError:
        return one == other


def _instead(reading: Reading, old: str) -> str:
    """What to do where another place has the say: a board's own listing is no line to be taken out."""
    from cfgmigrate.machine.listings import is_listed

    if is_listed(reading):
        return f"Store what it kept before the swap at the board's console, or {old} where it kept nothing"
    return f"Take that line out, or write {old} there"


def _held_since(machine: Machine, report: RevertReport, known: Collection[str]) -> Iterator[str]:
    """Installed values in files that no install knew: copies that were made since."""
    items = (*report.restored, *report.kept, *report.left, *report.conflicts)
    there = {*known, *(item.file for item in items)}
    installed = {(item.name.partition(" @ ")[0], item.installed): item for item in report.restored}
    for each in machine.every_reading:
        item = installed.get((each.quantity, each.text))
        if item is not None and each.place.file not in there:
            yield (
                f"{each.place.file}:{each.place.line} still has {each.text}, as was installed in {item.file}: it came since, and no "
                "revert knows it. Look whether the old drive can have that"
            )

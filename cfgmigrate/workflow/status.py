"""Where a machine stands: what is in force, which lights are on, what is still estimated or open, and what is next.

All of it comes from the history and, where there is one, from the sheet. Nothing is written, but for a tick.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import asdict

from cfgmigrate.apply.in_force import HandItem, InForce
from cfgmigrate.dialects.decimal_commas import number_in_points
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.ground.number_text import number
from cfgmigrate.reports.safe_text import shell_word
from cfgmigrate.workflow.inputs import PathLike, Paths, listed

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.store.entries import HistoryEntry

#: so many measurements are named at most
BEST = 3


class MachineStatus(Struct, frozen=True):
    """`root` is what was asked about, as it was named. `in_force` are the standing entries (number, kind, time, packet, values), `lights` each with its state,
    `changed` installed values that don't count any more, `estimates` values that were only estimated, `surer` the
    measurements that would help most, the best first, each with what it does. `next` is a command to copy, `called` what
    the files call feeders, by holder. Where machines share a history, `others` are the steps by which another one changed
    files that this one has, too, and `several` the files of each machine, where all of them were asked about at once. `below` are
    folders that have a history of their own, where there is none here."""

    root: str
    problems: tuple[str, ...]
    in_force: tuple[Mapping[str, Any], ...]
    lights: tuple[Mapping[str, str], ...]
    estimates: tuple[Mapping[str, Any], ...]
    by_hand: tuple[HandItem, ...]
    surer: tuple[tuple[str, str], ...]
    next: str
    changed: tuple[Mapping[str, str], ...] = ()
    called: tuple[tuple[str, str], ...] = ()
    others: tuple[Mapping[str, Any], ...] = ()
    several: tuple[tuple[str, ...], ...] = ()
    below: tuple[str, ...] = ()

    def to_json(self) -> dict[str, Any]:
        plain = {name: getattr(self, name) for name in ("root", "next")}
        lists = ("problems", "in_force", "changed", "lights", "estimates", "others")
        return {
            **plain,
            **{name: list(getattr(self, name)) for name in lists},
            "by_hand": [asdict(item) for item in self.by_hand],
            "surer": [{"measure": field, "why": why} for field, why in self.surer],
            "called": dict(self.called),
            "several": [list(each) for each in self.several],
            **({"below": list(self.below)} if self.below else {}),
        }


def status(root: Paths, *, sheet: PathLike | None = None) -> MachineStatus:
    """Where the machine whose configuration is in the folder `root` stands, or of which `root` are all files and folders.

    `sheet` is its swap sheet, if there is one: while nothing is in force, the lights are those of the sheet.

    Raises BadInput where there is no such folder, or the files or the sheet can't be read.
    """
    from cfgmigrate.apply.in_force import in_force
    from cfgmigrate.files.histories_below import histories_below
    from cfgmigrate.machine.called_feeders import called_by_holder
    from cfgmigrate.store.history import history
    from cfgmigrate.workflow.asked import asked_root, history_of, several_named
    from cfgmigrate.workflow.overruled import (
        changed_by_others,
        changed_since,
        come_new,
        lights_now,
        lost_since,
    )
    from cfgmigrate.workflow.prepare import read_machine
    from cfgmigrate.workflow.read_as_installed import read_as_installed

    named = listed(root)
    asked_root(named)
    configuration, machine = read_machine(named)
    past = history_of(configuration)
    found = in_force(configuration.root, past)
    machine = read_as_installed(configuration, machine, found)
    swap = Path(sheet) if sheet is not None and Path(sheet).is_file() else None
    lost = lost_since(found)
    gone = {(each["quantity"], each["holder"]) for each in lost}
    overruled = changed_since(machine, found.changes, found.before)
    changed = (*lost, *(each for each in overruled if (each["quantity"], each["holder"]) not in gone))
    lights, surer = _ahead(configuration, machine, swap, found)
    if found.lights:
        new = {(each["light"], each["holder"]): each for each in come_new(machine, found)}
        read = {(each.quantity, str(each.holder)) for each in machine.readings}
        since = lights_now(lights, changed, found.taken_back, read)
        now = {(each["light"], each["holder"]): each for each in since}
        lights = changed_by_others(tuple((now | new).values()), past.others, found)
    else_now = {(each["quantity"], each["holder"]) for each in changed}
    estimates = tuple(
        each
        for each in found.changes
        if each["status"] == "estimate" and (each["quantity"], each.get("holder", "machine")) not in else_now
    )
    return MachineStatus(
        root=" ".join(map(str, named)),
        problems=past.problems,
        in_force=tuple(
            {
                "entry": entry.number,
                "kind": entry.kind,
                "time": entry.time,
                "packet": entry.packet,
                "values": found.values(entry),
            }
            for entry in found.entries
        ),
        lights=lights,
        estimates=tuple(
            {
                **{name: each.get(name, "") for name in ("label", "holder", "unit", "verify")},
                "new": _in_its_unit(each),
            }
            for each in estimates
        ),
        by_hand=found.by_hand,
        surer=surer,
        next=_next(named, swap, found, lights, estimates, broken=bool(past.problems)),
        changed=changed,
        called=tuple(called_by_holder(machine).items()),
        others=tuple(each.to_json() for each in past.others),
        several=several_named(history(configuration.root), configuration.root, named)
        if configuration.roles.questions
        else (),
        below=histories_below(configuration.root),
    )


def _in_its_unit(change: Mapping[str, Any]) -> str:
    """The new value as the file has it; where that is in another unit than the quantity's, in the quantity's."""
    text, value = str(change.get("new", "")), change.get("value")
    if value is None:
        return text
    try:
        same = math.isclose(float(number_in_points(text)), value)
    except ValueError:
        same = False
    return text if same else number(value)


def mark_done(root: Paths, item: str) -> HandItem:
    """Note in the history at `root` that a by-hand item was done; `root` may be all files and folders of the machine.

    `item` is its number in `status`, or its id. One that is to be undone, since its packet was taken back, is noted as
    undone. Gives the item as it was. Raises BadInput where there is no such item, Refused where the history is broken.
    """
    from cfgmigrate.apply.asked_machine import told_of
    from cfgmigrate.apply.in_force import tick
    from cfgmigrate.files.configuration import open_configuration
    from cfgmigrate.workflow.asked import asked_root, machine_asked_about, machine_named

    named = listed(root)
    place = asked_root(named)
    try:
        asked = machine_asked_about(open_configuration(named))
    except CfgError:  # a tick needs no file
        asked = machine_named(place, named)
    return tick(place, item, lambda past: told_of(past, place, asked))


def _ahead(
    configuration: Configuration, machine: Machine, sheet: Path | None, found: InForce
) -> tuple[tuple[Mapping[str, str], ...], tuple[tuple[str, str], ...]]:
    """The lights, and what would make the values surer; both by the sheet, or by what the last install rested on."""
    from cfgmigrate.plan.surer import surer
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.reader import parse_sheet, read_sheet
    from cfgmigrate.sheet.starter import fill
    from cfgmigrate.workflow.lane import known_feeders

    installs = [entry for entry in found.entries if entry.kind == "install" and entry.reasons]
    if sheet is not None:
        swap = read_sheet(sheet, known_feeders(configuration.site, machine))
    elif installs and installs[-1].reasons is not None:
        swap = parse_sheet(fill(dict(installs[-1].reasons.get("said", ()))).encode(), "history")
    else:
        return found.lights, ()
    bench = Workings(library.book(), machine, library.tables())
    named = tuple((each.field, each.text) for each in surer(bench, swap, BEST, _measured(found)))
    if found.lights:
        return found.lights, named
    return tuple(
        {
            "light": each.light,
            "holder": each.holder,
            "state": each.state,
            "why": f"not installed: {each.why}" if each.rests_on else each.why,
        }
        for each in bench.stand(swap).lights
    ), named


def _measured(found: InForce) -> frozenset[str]:
    """The quantities that stand as a tuning measured them."""
    return frozenset(
        str(each["quantity"])
        for each in found.changes
        if each["status"] == "measured"
        and any(each in _changes(entry) for entry in found.entries if entry.kind == "tune")
    )


def _changes(entry: HistoryEntry) -> Sequence[Mapping[str, Any]]:
    return tuple((entry.reasons or {}).get("changes", ()))


def _next(
    named: Sequence[Path],
    sheet: Path | None,
    found: InForce,
    lights: Sequence[Mapping[str, str]],
    estimates: Sequence[Mapping[str, Any]],
    broken: bool,
) -> str:
    config = " ".join(map(shell_word, named))
    if broken and not found.entries:
        return f"cfgmigrate history {config}"
    if found.to_undo:
        return f"cfgmigrate status {config} --done {found.to_undo[0].number}"
    if not found.entries:
        unknown = any(light["state"] == "unknown" for light in lights)
        if sheet is None or unknown:
            return f"cfgmigrate sheet {config} --ask -o {shell_word(sheet or Path('swap.yaml'))}"
        return f"cfgmigrate prepare {config} --sheet {shell_word(sheet)} -o packet"
    if found.open:
        return f"cfgmigrate status {config} --done {found.open[0].number}"
    if estimates:
        return f"cfgmigrate tune {config} --starter"
    return f"cfgmigrate report {config}"

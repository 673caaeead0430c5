"""What of a history stands in the files as they are, what is left of it for hands, and ticking that.

A by-hand item is ticked by an entry of the history that touches no file (`DONE`). So a tick is bound to the chain
like everything else, and a history without ticks is one of before. Once the packet is taken back, what was ticked is
to be undone by hand.

Nothing is worked out here, and no file of the configuration is written.
"""

from __future__ import annotations

from collections.abc import Callable, Container, Iterable, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.apply.former_words import in_present_words
from cfgmigrate.apply.locate import SpanState
from cfgmigrate.apply.past_steps import GONE_BACK, Lookup, PastStep, newest_first
from cfgmigrate.ground.findings import BadInput, CfgError, Place
from cfgmigrate.ground.paths import existing_root, target
from cfgmigrate.rules.former_names import present_name
from cfgmigrate.store.chain import HISTORY_PATH
from cfgmigrate.store.entries import DONE, HistoryEntry
from cfgmigrate.store.history import History, history, record, steps_of
from cfgmigrate.store.keeping import Store
from cfgmigrate.store.undoing import recover


class HandItem(Struct, frozen=True):
    """Something that a packet asked of hands, and no later one asked anew. `number` is its place in the list of the day, `entry` the one that
    asked; `undo` is true where it was done and its packet has been taken back since."""

    number: int
    entry: int
    packet: str
    id: str
    what: str
    text: str
    done: bool
    undo: bool


class InForce(Struct, frozen=True):
    """The installs and tunings that stand, oldest first, and what they asked of hands. `kept` has the values (file and
    name) that are left of each entry of which a part was taken back, by its number."""

    entries: tuple[HistoryEntry, ...]
    by_hand: tuple[HandItem, ...]
    kept: Mapping[int, frozenset[tuple[str, str]]] = {}
    #: the values (file and name) of each entry that are not found any more where it wrote them, by its number
    gone: Mapping[int, frozenset[tuple[str, str]]] = {}

    @property
    def open(self) -> tuple[HandItem, ...]:
        return tuple(item for item in self.by_hand if not item.done)

    @property
    def to_undo(self) -> tuple[HandItem, ...]:
        return tuple(item for item in self.by_hand if item.undo)

    @property
    def lights(self) -> tuple[Mapping[str, str], ...]:
        """Each light as the last entry left it that knew it, and of which nothing was taken back; where there is none such, as
        the last one left it, whatever was taken back."""
        by_wholeness = sorted(self.entries, key=lambda entry: entry.number not in self.kept)
        known = [light for entry in by_wholeness for light in _said(entry, "lights")]
        return tuple({(light["light"], light["holder"]): light for light in known}.values())

    @property
    def changes(self) -> tuple[Mapping[str, Any], ...]:
        """Each value as the last entry that moved it left it, without those that were taken back."""
        known = [
            change
            for entry in self.entries
            for change in _said(entry, "changes")
            if self._stands(entry, change)
        ]
        return tuple(
            {present_name(change.get("id", change["quantity"])): change for change in known}.values()
        )

    @property
    def before(self) -> frozenset[tuple[str, str]]:
        """The numbers that stood where standing entries wrote, each with the quantity that it is of."""
        return frozenset(
            (present_name(name.partition(" @ ")[0]), old)
            for entry in self.entries
            for name, old, _ in entry.values
        )

    @property
    def taken_back(self) -> tuple[Mapping[str, Any], ...]:
        """The values of standing entries that were taken back, and that no later one moved."""
        standing = {present_name(each.get("id", each["quantity"])) for each in self.changes}
        return tuple(
            change
            for entry in self.entries
            for change in _said(entry, "changes")
            if not self._stands(entry, change)
            and present_name(change.get("id", change["quantity"])) not in standing
        )

    @property
    def lost(self) -> tuple[tuple[Mapping[str, Any], str], ...]:
        """The values that should stand and are not found any more, each with the file where it stood."""
        found: dict[str, tuple[Mapping[str, Any], str]] = {}
        for entry in self.entries:
            files = {present_name(name): path for path, name in self.gone.get(entry.number, ())}
            for change in _said(entry, "changes"):
                name = present_name(change.get("id", change["quantity"]))
                found.pop(name, None)
                if name in files and self._stands(entry, change):
                    found[name] = change, files[name]
        return tuple(found.values())

    def values(self, entry: HistoryEntry) -> int:
        """How many values of an entry stand."""
        return len(self.kept[entry.number]) if entry.number in self.kept else len(entry.values)

    def _stands(self, entry: HistoryEntry, change: Mapping[str, Any]) -> bool:
        if entry.number not in self.kept:
            return True
        name = present_name(change.get("id", change["quantity"]))
        return name in {present_name(kept) for _, kept in self.kept[entry.number]}


def in_force(root: Path, past: History | None = None) -> InForce:
    """What stands at `root`, whose history is `past`, if that was read. Raises BadInput where there is no such folder."""
    return _of(history(root) if past is None else past, root)


def tick(root: Path, item: str, own: Callable[[History], History] = lambda past: past) -> HandItem:
    """Note in the history that a by-hand item was done; by its number or its id. One that was ticked stays so. `own` are the
    entries of a history that are of the machine asked about.

    Raises BadInput where there is no such item, Refused where the history is broken.
    """
    place = existing_root(root)
    store = Store(place)
    with store.locked():
        recover(store)
        found = _of(own(history(place)), place)
        chosen = _named(item, found.by_hand)
        if not chosen.done or chosen.undo:
            said = {"done": [chosen.id], "undone": chosen.undo}
            record(store, DONE, (), {}, chosen.packet, "", reasons=said)
    return chosen


def _of(past: History, root: Path) -> InForce:
    steps = [entry for entry in past if entry.kind not in (GONE_BACK, DONE)]
    there, gone = _standing(in_present_words(past), root)
    ticks = _ticks(past.entries)
    asking = {entry.packet: entry for entry in steps}  # a packet that was installed again asks anew, and once
    items: list[HandItem] = []
    last = {
        _asks(each): entry.number
        for entry in asking.values()
        if entry.number in there
        for each in _said(entry, "by_hand")
    }
    overtaken: dict[tuple[str, str], int] = {}
    for entry in asking.values():
        ticked = ticks[entry.number]
        stands_now = entry.number in there
        if not stands_now and not any(ticked.values()):
            continue
        for each in _said(entry, "by_hand"):
            asks, done = _asks(each), ticked.get(_name_of(each), False)
            if stands_now and not done and last[asks] != entry.number:
                overtaken[asks] = entry.number
            elif stands_now or done:
                number = len(items) + 1
                before = 0 if done else overtaken.get(asks, 0)
                items.append(_item(number, entry, each, done, done and not stands_now, before))
    kept = {number: frozenset(names) for number, names in there.items() if names is not None}
    return InForce(tuple(entry for entry in steps if entry.number in there), tuple(items), kept, gone)


def _asks(said: Mapping[str, Any]) -> tuple[str, str]:
    """What an item is about, whatever number it names: its rule, where the history keeps that, and whose it is."""
    return str(said.get("rule") or _name_of(said)), str(said.get("holder", ""))


def _name_of(said: Mapping[str, Any]) -> str:
    return str(said.get("id", said["what"]))


def _item(
    number: int, entry: HistoryEntry, said: Mapping[str, Any], done: bool, undo: bool, before: int
) -> HandItem:
    """`before` is the entry that asked the same and was never ticked: what its line has now nobody knows."""
    what, text = said["what"], str(said.get("text", ""))
    if before:
        what = f"{what} (install {before} asked for it too, and that was never ticked: look which of the two the machine has)"
    return HandItem(number, entry.number, entry.packet, _name_of(said), what, text, done, undo)


def _ticks(entries: Sequence[HistoryEntry]) -> dict[int, dict[str, bool]]:
    """What was ticked of each step's packet since, and not undone; until that packet was installed again."""
    found: dict[int, dict[str, bool]] = {}
    last: dict[str, dict[str, bool]] = {}
    for entry in entries:
        if entry.kind not in (GONE_BACK, DONE):
            found[entry.number] = last[entry.packet] = {}
        elif entry.kind == DONE and entry.packet in last and entry.reasons is not None:
            undone = entry.reasons.get("undone", False)
            last[entry.packet] |= dict.fromkeys(entry.reasons.get("done", ()), not undone)
    return found


_Names = frozenset[tuple[str, str]]


def _standing(past: History, root: Path) -> tuple[dict[int, _Names | None], dict[int, _Names]]:
    """The numbers of the steps that stand, each with the values that are left where a part of it was taken back, None where
    nothing was. Not those with a file that can't be read, nor one that was taken back and installed anew: what stands is
    the newer one's. Nor one that was taken back but for what somebody had changed: that is their own number. And by their
    numbers the values that are not found any more, also with their whole file."""
    present = _present(root, {file.path for entry in past for file in entry.files})
    there = {path: data for path, data in present.items() if data is not None}
    store = Store(root.resolve())
    known = [
        entry
        for entry in past
        if all(file.path in present for file in entry.files)
        and not (entry.problem and _copies_gone(store, entry))
    ]
    kinds = {entry.kind for entry in past} - {GONE_BACK, DONE}
    found: dict[int, _Names | None] = {}
    lost: dict[int, _Names] = {}
    for each in newest_first(known, Lookup(store), there, *kinds):
        if not each.standing or each.replaced:
            continue
        # a revert of several steps may put back more than this one's own old value
        gone = any(
            value.state in (SpanState.OLD, SpanState.CHANGED) and name in each.reverted
            for name, value in each.values.items()
        )
        if not gone:
            found[each.entry.number] = None
        elif any(each.values[name].state is SpanState.INSTALLED for name in each.standing):
            found[each.entry.number] = frozenset(name[:2] for name in each.standing)
        if each.entry.number in found:
            lost[each.entry.number] = _lost(each, there)
    return found, lost


def _lost(step: PastStep, there: Container[str]) -> _Names:
    files = (file for file in step.entry.files if file.path not in there)
    whole = ((file.path, span.name) for file in files for span in file.spans)
    names = (name[:2] for name in step.standing if step.values[name].state is SpanState.GONE)
    return frozenset((*whole, *names))


def _copies_gone(store: Store, entry: HistoryEntry) -> bool:
    try:
        steps_of(store, entry)
    except CfgError:
        return True
    return False


def _present(root: Path, paths: Iterable[str]) -> dict[str, bytes | None]:
    """What these files hold, None where there is none; without those that can't be read."""
    found: dict[str, bytes | None] = {}
    for path in paths:
        with suppress(CfgError):
            found[path] = target(root.resolve(), path).data
    return found


def _named(wanted: str, items: Sequence[HandItem]) -> HandItem:
    for item in items:
        if wanted == str(item.number) or present_name(wanted) == present_name(item.id):
            return item
    listed = "; ".join(f"{item.number} {item.what}" for item in items)
    remedy = f"There are: {listed}." if items else "Nothing was asked of hands here."
    raise BadInput(
        f"there is nothing to be done by hand that is called {wanted!r}", Place(HISTORY_PATH), remedy
    )


def _said(entry: HistoryEntry, group: str) -> Sequence[Mapping[str, Any]]:
    return tuple((entry.reasons or {}).get(group, ()))

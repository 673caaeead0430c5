"""Values of a list that a person said are nothing, where another entry of the same list changes.

    - thread: oat       - thread: fig
      pull: 5.2           pull: 6.4       "[rows.1] pull": ignore

Two entries can't both be the machine's one value, so the question which of them is it is answered by calling the others nothing.
They are of the old drive all the same: each is what another filament, or another machine, prints with. So they are named where the
lines stand that still tell of the old drive, and the light says who keeps the old. A number that stands in another section under the
same key is left alone, as long as its words don't say that it is such a value. Nothing is written by this.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.plan.lines_beside import Beside
from cfgmigrate.plan.model import Change

#: so many are named in a light
MOST_IN_LIGHT = 4
#: what the entries of a list are for: each filament has its own
_OF_FILAMENTS = pattern(r"(?:retraction|lag)\..*")
_ENTRY = pattern(r"(?<![^.\[\]])\d+(?![^.\[\]])")


def left_in_lists(machine: Machine, changes: Sequence[Change]) -> Iterator[tuple[str, Beside]]:
    """Each such line, with the quantity that it would be of."""
    edited = {(edit.file, edit.start): edit for change in changes for edit in change.edits}
    moved: dict[tuple[str, str, str], set[tuple[str, str]]] = {}
    texts: dict[tuple[str, str], str] = {}
    for each in machine.every_reading:
        edit = edited.get((each.place.file, each.start))
        if edit is not None and _OF_FILAMENTS.fullmatch(each.quantity):
            entry = (each.place.file, _key(each.setting), each.quantity)
            moved.setdefault(entry, set()).add((each.setting.section, _list_of(each.setting)))
            texts[each.place.file, each.quantity] = edit.new
    for unread in machine.said_nothing:
        file, setting = unread.place.file, unread.setting
        for (at, key, name), entries in moved.items():
            if (at, key) != (file, _key(setting)) or any(_same_thing(setting, each) for each, _ in entries):
                continue
            of_list = _list_of(setting) in {each for _, each in entries if each}
            if (of_list or name in unread.nearest) and setting.value.strip() != texts[file, name]:
                why = f"you said that it is nothing; but {quantity(name).label} changes in another entry, so whatever prints with this one has the old value"
                yield name, (file, unread.place.line, f"{setting.name} = {setting.value}", why)
                break


def told_of_lists(found: Sequence[tuple[str, Beside]]) -> dict[str, str]:
    """What the light says of these lines, by the quantity."""
    told: dict[str, list[str]] = {}
    for name, (file, line, text, _) in found:
        told.setdefault(name, []).append(f"{text} ({file}:{line})")
    return {
        name: f"{', '.join(lines[:MOST_IN_LIGHT])}{f' and {len(lines) - MOST_IN_LIGHT} more' if lines[MOST_IN_LIGHT:] else ''} "
        f"{'keep' if len(lines) > 1 else 'keeps'} the old {quantity(name).label}, since you said that it is nothing"
        for name, lines in told.items()
    }


def _key(setting: Setting) -> str:
    return setting.key.casefold()


def _same_thing(setting: Setting, section: str) -> bool:
    """Whether what changes in a section is the same thing, perhaps as it was saved: `saved.feeders.right` and `feeders.right`."""
    return section == setting.section or section.endswith(f".{setting.section}")


def _list_of(setting: Setting) -> str:
    """The section with each number of an entry taken out; a section without one is no entry of a list."""
    of = _ENTRY.sub("#", setting.section)
    return of.casefold() if of != setting.section else ""

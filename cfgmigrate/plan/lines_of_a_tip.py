"""Where one of several tips has moved: the lines that hold places of that tip, for a person to go through.

Such are settings of the swapped feeder that were not understood and are of x or y by their names (a reach, an offset), and
the moves of scripts while its tool is on. What a place becomes depends on what it counts from, so none is worked out.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.old_numbers import OldNumbers
from cfgmigrate.scripts.number_change import scripts_of
from cfgmigrate.scripts.tools import first_tool

OF_A_TIP = "a place of the tip that has moved, by its name"
UNDER_ITS_TOOL = "a place that the tip that has moved goes to"
_ACROSS = frozenset("xy")
_NUMBER = pattern(r"\d")


def places_of_a_tip(
    machine: Machine, olds: OldNumbers, swapped: Collection[int]
) -> Iterator[tuple[str, int, str, str]]:
    """File, line, text and why of each such line."""
    if not olds.tips:
        return
    sections = {
        (document.path, each.section)
        for document in machine.documents
        for each in document.settings
        if each.key == "name" and not olds.own.isdisjoint(split(each.value))
    }
    for unread in machine.unread:
        setting = unread.setting
        own = not olds.own.isdisjoint(split(setting.name))
        named = own or (unread.place.file, setting.section) in sections
        if named and _ACROSS.intersection(split(setting.key)) and _NUMBER.search(setting.value[:100]):
            yield unread.place.file, unread.place.line, unread.text, OF_A_TIP
    first = first_tool(machine)
    for script in scripts_of(machine):
        for move in script.moves:
            across = [target for target in move.targets if target.word.letter in "XY"]
            known = move.feeder is not None or (move.tool is not None and first is not None)
            if across and known and set(script.feeders_at(move, first)) <= set(swapped):
                line = script.line(across[0].word.start)
                yield script.reading.place.file, line, script.text(move), UNDER_ITS_TOOL

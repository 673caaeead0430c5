"""Ends of an axis that a list has as two letters, `travel: A/B = X`: by their order the first is the least and the second the most.

A remark may have them the other way round, or mean something else by the two, and their numbers tell: where on a line the first of any
pair is not below the second, or only one of them is there, nothing is known of that code's ends and all of them are asked about. A pair
of which a line has neither letter says nothing of it: a code may have each axis on a line of its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.collection import Collection, line_of
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.said_of_letters import pairs_beside
from cfgmigrate.machine.told_codes import ToldCodes

_AN_END = pattern(r"axis\.[xyz]\.(?:min|max)")


def ask_of_pairs_out_of_order(found: Collection, document: Document, told: ToldCodes, since: int) -> None:
    """Turns the ends of axes that lines have by pairs into questions, where the numbers of a pair don't rise."""
    ends = [each for each in found.readings[since:] if _AN_END.fullmatch(each.reading.quantity)]
    pairs = {each.reading.setting.start: pairs_beside(told, each.reading.setting) for each in ends}
    if not any(pairs.values()):
        return
    lines: dict[int, dict[str, str]] = defaultdict(dict)
    for setting in document.settings:
        if setting.start not in told.code_starts:
            lines[setting.line][setting.key.upper()] = setting.value
    wrong: dict[tuple[str, tuple[tuple[str, str], ...]], str] = {}
    for each in ends:
        setting = each.reading.setting
        of_line = tuple(pairs[setting.start])
        present = [pair for pair in of_line if not lines[setting.line].keys().isdisjoint(pair)]
        apart = next((pair for pair in present if not _rise(*pair, lines[setting.line])), None)
        if apart is not None:
            wrong.setdefault((setting.section, of_line), _why(*apart, setting.line, lines[setting.line]))
    gone: set[int] = set()
    for each in ends:
        setting = each.reading.setting
        of_line = tuple(pairs[setting.start])
        said = wrong.get((setting.section, of_line))
        if said is None or not any(setting.key.upper() in pair for pair in of_line):
            continue
        gone.add(setting.start)
        why = (
            f"{said}, so it is not known of line {setting.line} which number is where an axis begins and which where it ends; nothing was "
            "taken from it"
        )
        code = f"{setting.section}.{setting.key.upper()}"
        remedy = (
            f"if this is {quantity(each.reading.quantity).label}, add to cfgmigrate.yaml, under codes: "
            f"{code}: {{quantity: {each.reading.quantity}, unit: mm}}"
        )
        found.doubts.append(Doubt(each.reading.place, line_of(setting), why, remedy))
    found.readings[since:] = [
        each for each in found.readings[since:] if each.reading.setting.start not in gone
    ]


def _rise(first: str, second: str, line: Mapping[str, str]) -> bool:
    low, high = (read_value(line.get(letter, "")) for letter in (first, second))
    return isinstance(low, Number) and isinstance(high, Number) and low.value < high.value


def _why(first: str, second: str, line: int, words: Mapping[str, str]) -> str:
    """What is the matter with a pair of a line."""
    for letter, other in ((first, second), (second, first)):
        if letter not in words:
            return f"{first}/{second}: line {line} has a number of {other} and none of {letter}"
    return f"{first}/{second}: in line {line} the number of {first} is not below that of {second}"

"""The remarks of a file, and which lines each is about: the one behind a value, one alone above a run of lines, one behind
a heading, and the file's opening remark, which is about all of them.

They count below what value and key say themselves. What a remark states of its line is told in `stated.py`, and what the
opening one says of units and currents in `head_units.py` and `rms_or_peak.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.dialects.remark_marks import BEFORE_A_MARK, BEHIND_MARK, LINE_MARK, WHOLE_LINE_MARK
from cfgmigrate.ground.once import once
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import Unit, unit_written
from cfgmigrate.machine import rms_or_peak
from cfgmigrate.machine.head_lengths import other_lengths
from cfgmigrate.machine.head_units import lengths_elsewhere, says_feeds, units_in_brackets, units_of_file
from cfgmigrate.machine.index_legends import is_list_of_parts
from cfgmigrate.machine.list_orders import order_and_sides
from cfgmigrate.machine.stated import (
    NOTHING,
    PARTS,
    SET_OFF,
    TAKEN_OUT,
    Stated,
    in_units,
    only_unit,
    set_off,
    stated,
)

#: a text of so many words says something
SENTENCE = 4
#: so many lines at the top of a file may be its opening remark
OPENING = 12
_BEHIND = pattern(rf"[ \t\"',}}\]]*{BEHIND_MARK}[ \t]*([^\r\n]*)")
_WHOLE = pattern(rf"[ \t]*{WHOLE_LINE_MARK}[ \t]*([^\r\n]*)")
_BEFORE_REMARK = pattern(BEFORE_A_MARK)
_BLOCK = pattern(r"\s*/\*([^*]*(?:\*(?!/)[^*]*)*)")
#: a heading and the remark behind it
_HEADING = pattern(rf"[ \t]*(\[[^\[\]]{{1,80}}\]|[\w][\w -]{{0,60}}:)[ \t]*{LINE_MARK}+[ \t]*([^\r\n]+)")


@dataclass(eq=False, repr=False)
class Remarks:
    """The remarks of one document. `units` are those of the whole file by dimension, `order` that of its lists."""

    document: Document
    text: str = ""
    units: Mapping[str, Unit] = field(default_factory=dict)
    qualifier: str = ""
    #: the same, and `rms or peak` where it says both
    called: str = ""
    order: str = ""
    ends: dict[int, str] = field(default_factory=dict)
    blocks: dict[int, Stated] = field(default_factory=dict)
    #: the units that a heading above a run of lines states where it has several in brackets, by line
    several: dict[int, Mapping[str, Unit]] = field(default_factory=dict)
    #: the order that a remark above a run of lines states of their lists, by line
    orders: dict[int, str] = field(default_factory=dict)
    #: what the remark behind a heading states of the lines below it, by line: `stepping:   # steps per mm`
    headed: Mapping[int, Stated] = field(default_factory=dict)
    opening: str = ""
    #: whether the opening remark says that a feed is a speed: `feeds in mm/min`
    feeds: bool = False
    #: whether a line has one setting, which a remark at its end is about
    in_lines: bool = True

    def __post_init__(self) -> None:
        self.text = self.document.data.decode("latin-1")
        self.opening = opening = self._opening()
        self.units = units_of_file(opening)
        self.called = self._called()
        self.qualifier = self.called.replace(rms_or_peak.UNCLEAR, "")
        self.order = order_and_sides(opening)
        self.feeds = says_feeds(opening)
        self.in_lines = self.document.dialect != "nested" or _is_indented(self.text)
        self.blocks = self._blocks() if self.in_lines else {}
        self.headed = self._behind_headings() if self.in_lines else {}

    def _called(self) -> str:
        """What the opening remark calls all currents, and a remark beside one of them that speaks of all."""
        opening, of_all = rms_or_peak.of_file(self.opening), rms_or_peak.of_all(self.text)
        return opening if not of_all or opening == of_all else of_all if not opening else rms_or_peak.UNCLEAR

    def _blocks(self) -> dict[int, Stated]:
        """What remarks alone on a line state of all lines below them, up to the next such line, heading or gap: they are a
        unit and nothing else, or a few words with a unit in brackets behind: `how fast (mm/s)`; or what they call currents,
        `the motors (amps, rms as the driver's sheet has it)`."""
        found: dict[int, Stated] = {}
        current, order = NOTHING, ""
        several: Mapping[str, Unit] = {}
        set_here = {setting.line for setting in self.document.settings}
        for number, line in enumerate(self.text.splitlines(), 1):
            whole = None if number in set_here else _WHOLE.match(line)  # `#define` looks like one
            if whole:
                remark = _readable(whole[1].rstrip(" \t*/"))
                order = "" if TAKEN_OUT.match(remark) else order_and_sides(remark)
                current = only_unit(_without_end(remark)) if not SET_OFF.search(remark) else set_off(remark)
                current = NOTHING if current.unit and lengths_elsewhere(remark) else current
                if not current.qualifier and not TAKEN_OUT.match(remark):
                    current = replace(current, qualifier=rms_or_peak.of_heading(remark))
                several = {} if TAKEN_OUT.match(remark) else units_in_brackets(remark)
            elif not line.strip() or line.lstrip().startswith("["):
                current, order, several = NOTHING, "", {}
            else:
                if current.unit or current.qualifier:
                    found[number] = current
                if several:
                    self.several[number] = several
                if order:
                    self.orders[number] = order
        return found

    def _behind_headings(self) -> dict[int, Stated]:
        """What remarks behind headings state of all lines below them: a unit, and the words of a count, `steps per mm`."""
        found: dict[int, Stated] = {}
        current, deep = NOTHING, 0
        for number, line in enumerate(self.text.splitlines(), 1):
            indent = len(line) - len(line.lstrip())
            if heading := _HEADING.match(line):
                remark = _readable(_without_end(heading[2]))
                first = PARTS.split(remark)[0].strip()
                # `feeder:   # A, the left one` says whose, and no amperes
                alone = len(first) > 1 and unit_written(first) is not None
                current = stated(remark) if alone else NOTHING
                deep = indent if heading[1].endswith(":") else -1
            elif line.strip() and (line.lstrip().startswith("[") or indent <= deep):
                current = NOTHING
            elif current.unit and line.strip():
                found[number] = current
        return found

    def below_heading(self, setting: Setting) -> Stated:
        """The unit that a remark above a run of lines states of each of them."""
        return self.blocks.get(setting.line, NOTHING)

    def _opening(self) -> str:
        first = min((s.line for s in self.document.settings), default=1)
        found = self._conventions() if self.document.dialect == "nested" else []
        if self.document.dialect == "header" and (block := _BLOCK.match(self.text)):
            found = [_readable(line.strip(" \t*-=")) for line in block[1].splitlines()[:OPENING]]
        for number, line in enumerate(self.text.splitlines()[: max(first, OPENING)], 1):
            whole = _WHOLE.match(line.removeprefix("\xef\xbb\xbf"))
            if whole and (number < first or number <= OPENING):
                found.append(_readable(_without_end(whole[1])))
            elif number > first + 2:
                break
        told = (
            each
            for each in found
            if not TAKEN_OUT.match(each) or other_lengths(each) or is_list_of_parts(each)
        )
        return " . ".join(told)

    def _conventions(self) -> list[str]:
        """What texts of a nested file say of all its numbers: those that stand beside its outermost objects."""
        return [
            setting.value.strip('"')
            for setting in self.document.settings[:OPENING]
            if not setting.section
            and len(setting.value.split()) >= SENTENCE
            and not TAKEN_OUT.match(setting.value)
        ]

    def behind(self, setting: Setting) -> str:
        """The remark behind a setting's value, on its line; "" for none."""
        found = _BEHIND.match(self.text, setting.end)
        return _readable(_without_end(found[1])) if found else ""

    def of_line(self, setting: Setting) -> str:
        """The remark at the end of a setting's line, wherever on it the value stands."""
        if setting.line not in self.ends:
            self.ends[setting.line] = self._at_the_end(setting)
        return self.ends[setting.line]

    def _at_the_end(self, setting: Setting) -> str:
        end = _BEFORE_REMARK.match(self.text, setting.end)
        assert end is not None
        found = _BEHIND.match(self.text, end.end())
        return _readable(_without_end(found[1])) if found else ""


@once
def remarks_of(document: Document) -> Remarks:
    """The remarks of a document."""
    return Remarks(document)


def _without_end(text: str) -> str:
    """A remark without the sign that ends it, or the line that is drawn behind it."""
    text = text.rstrip(" \t")
    if text.endswith("*/"):
        text = text[:-1].rstrip("*")
    elif text.endswith(")"):
        text = text[:-1]
    elif text.endswith(("-", "*")):
        text = text.rstrip(text[-1])
    return text.rstrip(" \t")


def _is_indented(text: str) -> bool:
    # its patterns take a while, and few files are nested
    from cfgmigrate.dialects.indented import is_indented

    return is_indented(text)


def _readable(text: str) -> str:
    text = text.strip() if text.isascii() else text.encode("latin-1").decode("utf-8", "replace").strip()
    return in_units(text)

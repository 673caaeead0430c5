"""The lines of a word-address file with what its remarks explain for all of them: codes, letters and units in a legend, the remark that
stands above a run of lines, the heading of their part.

Letters of axes and of the feeder say whose a number is. Letters that only choose what is set (`choosers.py`) are none of a line's,
nor are those of another device, nor one that only counts lines on. What the remarks say of a word is found in `told_codes.py`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import PurePosixPath

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.units import Unit
from cfgmigrate.machine.axis_letters import (
    AxisLetters,
    LineOfWords,
    axis_letters,
    letters_by_themselves,
    parts_of_axes,
    says_whose,
)
from cfgmigrate.machine.choosers import Choosers, chosen_feeders
from cfgmigrate.machine.code_legends import (
    CodeLegend,
    letters_of_all,
    whole_remarks,
)
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.first_remarks import FirstRemarks
from cfgmigrate.machine.head_units import counts_in_mm, file_units
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.remarks_above import alone_on_its_line, remarks_above, titles_above

_AXES_ALONE = frozenset("XYZ")


@dataclass(eq=False, repr=False)
class LinesOfCodes:
    """The remarks of a word-address file by line. `above` is what stands alone above a run of lines."""

    document: Document
    remarks: Remarks
    #: words that the user explained
    taught: Mapping[tuple[str, ...], tuple[str, ...]] = field(default_factory=dict)
    #: codes that other files of the machine explain, and this one may not
    elsewhere: Mapping[str, str] = field(default_factory=dict)
    above: Mapping[int, str] = field(init=False)
    letters: dict[int, tuple[str, ...]] = field(init=False)
    #: lines of another code than the one that stands directly below the remark above them
    later: set[int] = field(init=False)
    legend: CodeLegend = field(init=False)
    #: the letters of each line as they are written, without those that only choose
    written: dict[int, tuple[str, ...]] = field(init=False)
    #: the units of the whole file: what a legend says of one code holds for no other
    units: Mapping[str, Unit] = field(init=False)
    #: `length` where all that the file's remarks state is counted in mm
    confirmed: frozenset[str] = field(init=False)
    line_code: dict[int, str] = field(init=False)
    #: where a line begins with a code of another letter than those of RS-274: that word sets nothing
    code_starts: set[int] = field(init=False)
    choosers: Choosers = field(init=False)
    #: lines of one word
    single: set[int] = field(init=False)
    #: lines of which all words but the last are whole numbers, which may choose what is set: one remark is the last's
    chosen_first: set[int] = field(init=False)
    #: the heading of the part of the file that a line stands in: a remark behind dashes
    part: dict[int, str] = field(init=False)
    #: what a console's own titles say above lines
    titled: dict[int, str] = field(init=False)
    #: codes that set at least three of X, Y, Z and E: what another letter behind them sets is no part of the printer's
    of_axes: set[str] = field(init=False)
    #: codes that set all axes and the feeder: no other device has those
    of_printer: set[str] = field(init=False)
    axes: AxisLetters = field(init=False)
    #: the letter without a number by which a line says what it is about, where lines of its code differ in it
    chosen: dict[int, str] = field(init=False, default_factory=dict)
    firsts: FirstRemarks = field(init=False, default_factory=FirstRemarks)

    def __post_init__(self) -> None:
        lines: dict[int, list[Setting]] = {}
        for setting in self.document.settings:
            lines.setdefault(setting.line, []).append(setting)
        commands = {s.section.upper() for s in self.document.settings if len(s.key) == 1}
        used = frozenset(coded(each) for each in commands) | {
            coded(s.key + s.value) for s in self.document.settings if len(s.key) == 1 and s.section == ""
        }
        explaining = self._read_legend(
            frozenset(each for each in commands if not any(map(str.isdigit, each))), used
        )
        for code, words in self.elsewhere.items():
            self.legend.codes.setdefault(code, words)
        self.code_starts = {
            each[0].start
            for each in lines.values()
            if len(each) > 1 and each[0].section == "" and each[0].value.isdigit()
        }
        self.single = {line for line, found in lines.items() if len(found) == 1}
        codes = {line: (found[0].section or found[0].key + found[0].value) for line, found in lines.items()}
        self.choosers = Choosers.of_lines(
            {
                line: (codes[line], tuple(s for s in found if s.start not in self.code_starts))
                for line, found in lines.items()
            },
            self.legend.codes,
            chosen_feeders(self.remarks.opening),
        )
        setting_words = {
            line: [
                s for s in found if s.start not in self.code_starts and s.start not in self.choosers.starts
            ]
            for line, found in lines.items()
        }
        self.chosen_first = {
            line for line, found in setting_words.items() if all(each.value.isdigit() for each in found[:-1])
        }
        self.written = {
            line: tuple(dict.fromkeys(s.key.upper() for s in found)) for line, found in setting_words.items()
        }
        remarked = (
            LineOfWords(codes[at], each, self.remarks.of_line(lines[at][0]))
            for at, each in self.written.items()
        )
        self.axes = axis_letters(self.remarks.opening, self.legend.letters, remarked)
        setting_words = self._without_devices(setting_words)
        self.written = {
            line: tuple(dict.fromkeys(s.key.upper() for s in found)) for line, found in setting_words.items()
        }
        if parts_of_axes(self.legend.letters):
            for letter in "XYZ":
                del self.legend.letters[letter]
        self.letters = {
            line: tuple(dict.fromkeys(map(self.letter, found))) for line, found in setting_words.items()
        }
        self.line_code = {line: coded(code) for line, code in codes.items()}
        axes: dict[str, set[str]] = {}
        for at, letters in self.letters.items():
            axes.setdefault(self.line_code[at], set()).update(LETTERS_OF_AXES.intersection(letters))
        self.of_axes = {each for each, letters_set in axes.items() if len(letters_set) > 2}
        self.of_printer = {each for each, letters_set in axes.items() if letters_set == LETTERS_OF_AXES}
        text = self.remarks.text
        self.chosen = letters_by_themselves(text, self.line_code)
        found_above = remarks_above(text, PurePosixPath(self.document.path).stem, codes, explaining)
        self.above, self.part, self.later = found_above.above, found_above.part, found_above.later
        for run in found_above.one_then_another:
            self._without_what_tells_apart(run, setting_words)
        self.titled = titles_above(text, codes)
        for at, found in lines.items():
            self.firsts.take(self.line_code[at], self.written[at], self.remarks.of_line(found[0]))

    def _without_devices(self, words: Mapping[int, list[Setting]]) -> dict[int, list[Setting]]:
        """The words of each line without those of another device, where it has axes or a feeder beside them: what is said of the
        line is said of these too."""
        devices = {letter for letter, means in self.axes.means.items() if means == ""}
        found = {}
        for line, every in words.items():
            rest = [each for each in every if each.key.upper() not in devices]
            found[line] = rest if LETTERS_OF_AXES.intersection(map(self.letter, rest)) else every
        return found

    def _read_legend(self, commands: frozenset[str], used: frozenset[str]) -> dict[str, str]:
        """What remarks that stand alone explain of codes and letters, and what the opening remark states beside; gives
        those remarks, with what each explains."""
        self.legend = CodeLegend(commands, used)
        explaining: dict[str, str] = {}
        for parts, indent in whole_remarks(map(alone_on_its_line, self.remarks.text.splitlines())):
            text = " ".join(parts)
            if what := self.legend.take(text, indent):
                if what == "letters" and says_whose(letters_of_all(text)):
                    what = "codes"  # which letter is whose, and no heading of the lines below
                explaining.update(dict.fromkeys(parts, what))
        for code, words in self.legend.behind.items():
            self.legend.codes.setdefault(code, words)
        opening = self.remarks.opening.split(" . ")
        self.confirmed = frozenset(("length",)) if counts_in_mm(self.remarks.opening) else frozenset()
        self.units = file_units(" . ".join(part for part in opening if part.strip() not in explaining))
        return explaining

    def _without_what_tells_apart(self, run: list[int], words: Mapping[int, list[Setting]]) -> None:
        """Leaves out, on lines beside each other of axes, the one other letter that counts them on and that the
        remark above does not name."""
        if not all(set(self.letters[line]) & _AXES_ALONE for line in run):
            return
        others = [[each for each in words[line] if each.key.upper() not in LETTERS_OF_AXES] for line in run]
        alone = [each[0] for each in others if len(each) == 1 and each[0].value.isdigit()]
        if len(alone) == len(run) == len({each.value for each in alone}) and len({a.key for a in alone}) == 1:
            apart = alone[0].key.upper()
            counted = sorted(int(each.value) for each in alone)
            names_it = re.compile(rf"\b{apart}\b")
            named = any(map(names_it.search, {self.above.get(line, "") for line in run}))
            if named or counted != list(range(counted[0], counted[0] + len(run))):
                return
            for line in run:
                self.letters[line] = tuple(each for each in self.letters[line] if each != apart)
                self.written[line] = tuple(each for each in self.written[line] if each != apart)

    def letter(self, setting: Setting) -> str:
        """A word's letter, as `E` where the file says that it is the feeder's."""
        return self.axes.means.get(setting.key.upper(), "") or setting.key.upper()

    def entry(self, setting: Setting, code: str) -> str:
        """The legend's words of the parameter that a line chooses, else of its code."""
        if parameter := self.choosers.parameter(setting.line):
            return self.legend.codes.get(parameter, "") or self.legend.codes.get(parameter[1:], "")
        return self.legend.codes.get(code, "") if len(setting.key) == 1 else ""

"""Words of word-address lines whose code no table knows, read by what the file's remarks say of them.

`S120 L5.5 ; retraction length` says what it sets; so does a remark alone on the line above, and a heading such as
`(probe)` above a group. Every word of the remark must have a meaning, as every word of a key must. Letters of axes
and of the feeder say whose the number is; where a line has several other letters, its remark names them one by one,
with commas or `and` between. Letters that only choose what is set (`choosers.py`) are none of them.

Such a reading is only editable where remark or file state its unit, or where it has none.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import units
from cfgmigrate.machine.axis_letters import of_other_things
from cfgmigrate.machine.code_legends import Listed, letters_listed
from cfgmigrate.machine.code_words import (
    explains_another_code,
    key_of,
    own_command,
    rates_of,
    without_code,
    without_value,
)
from cfgmigrate.machine.codes import sets_nothing
from cfgmigrate.machine.context import Spoken, words_said
from cfgmigrate.machine.keys_beside import limited
from cfgmigrate.machine.legends import text_in_full
from cfgmigrate.machine.lines_of_codes import LinesOfCodes
from cfgmigrate.machine.list_orders import order_in
from cfgmigrate.machine.listed_letters import (
    HEADING,
    SAYS_A_SHARE,
    clear_fit,
    is_feeder_alone,
    joined_with,
    names_a_thing,
    names_another,
    of_list,
    only_occasion,
    plain,
    said_otherwise,
    understood,
)
from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES, ToldCode, counted_heading, told_of
from cfgmigrate.machine.stated import NOTHING, Stated, stated
from cfgmigrate.machine.words import Name, names_of, split

_AXES_ALONE = frozenset("XYZ")
_SLIDES = frozenset("XY")
#: why what is read of a line is not edited
_NO_LENGTH = "the file does not say that this is a length"
_UNKNOWN_HEADING = "what stands above the line has words that nothing explains"
_GOES_THERE = pattern(r"\bwhere\b.*\b(?:goes|go|touch(?:es)?|taps?|dips?|measures?)\b", re.I)
_IN_BRACKETS = pattern(r"\(([A-Za-z][^()=]{2,40})(?:\)|$)")


def _is_a_place(spoken: Spoken, fit: Fit) -> bool:
    """Whether a remark says of two numbers where something goes, and not how far the probe sits from the tip."""
    return fit.bare and fit.quantity.startswith("probe.offset_") and bool(_GOES_THERE.search(spoken.remark))


@dataclass(eq=False, repr=False)
class ToldCodes(LinesOfCodes):
    """What the remarks of a word-address file say of each word of its lines."""

    #: the last word that was asked about: a line may say one half a million times
    _last: tuple[tuple[int, str, str], Spoken] = field(init=False, default=((0, "", ""), Spoken(())))

    _said: dict[tuple[tuple[object, ...], ...], Spoken] = field(init=False, default_factory=dict)
    _legend_said: dict[tuple[str, str, tuple[str, ...], str, str], Spoken] = field(
        init=False, default_factory=dict
    )

    def spoken(self, setting: Setting) -> Spoken:
        """What the remarks say of one word of a line, and what its command says where that is a maker's own word."""
        if (
            sets_nothing(setting.section)
            or setting.start in self.choosers.starts
            or self.axes.means.get(setting.key.upper()) == ""
        ):
            return Spoken(())
        word = (setting.line, setting.section, setting.key)
        if self._last[0] != word:
            chosen = self.chosen.get(setting.line, "")
            unknown = chosen and chosen not in self.axes.numbers
            spoken = self._spoken(setting) if not unknown else Spoken(())
            if (fit := clear_fit(spoken)) and (self._otherwise(setting, fit) or _is_a_place(spoken, fit)):
                spoken = Spoken((), remark=spoken.remark)
            if number := self.axes.numbers.get(setting.key.upper()) or self.axes.numbers.get(chosen):
                spoken = replace(spoken, names=tuple(replace(name, counted=number) for name in spoken.names))
            self._last = word, spoken
        return self._last[1]

    def _otherwise(self, setting: Setting, fit: Fit) -> bool:
        entry = self.entry(setting, self.line_code.get(setting.line, ""))
        lists = (
            letters_listed(each, self.written[setting.line])
            for each in (self.remarks.of_line(setting), entry)
        )
        return any(each and said_otherwise(each, setting.key.upper(), fit) for each in lists)

    def _spoken(self, setting: Setting) -> Spoken:
        """What the line's own remark says, or the one above it; where that says nothing clear, what the legend says."""
        code, line = self.line_code.get(setting.line, ""), setting.line
        own = self.remarks.of_line(setting)
        behind = text_in_full(self.firsts.same_for(code, own) or own, self.taught)
        above = text_in_full(self.above.get(line, ""), self.taught)
        above = "" if explains_another_code(above, code) else above
        entry = text_in_full(self.entry(setting, code), self.taught)
        remark, heading = (behind, above) if behind or line in self.later else (above, "")
        heading = "" if self.chosen.get(line) else heading  # it says which of them, and so does the line
        remark = without_value(without_code(remark, code), setting.value)
        place = (
            (remark, heading, behind, above, entry, self.part.get(line, "")),
            (bool(own), line in self.chosen_first, self.choosers.tool(line)),
            (code, setting.section, setting.key, self.written[line], self.letters[line]),
        )
        if place not in self._said:
            self._said[place] = self._told(setting, remark, heading, behind, above, entry)
        return self._said[place]

    def _told(
        self, setting: Setting, remark: str, heading: str, behind: str, above: str, entry: str
    ) -> Spoken:
        """The same of all words that have these remarks, letters and code: lines repeat."""
        code, line = self.line_code.get(setting.line, ""), setting.line
        mine = self._of_text(setting, remark, (entry, heading, self.part.get(line, "")))
        if mine and mine.names:
            return mine
        if not mine and (
            lettered := self._by_letters(setting, remark if behind else entry or remark, heading)
        ):
            return lettered
        known = self.legend.letters.keys() >= set(self.written[line])
        told = mine or self._of_remark(setting, "" if entry and not behind else remark, heading, not known)
        if not clear_fit(told) and (again := self._of_first(setting, code, behind, entry)):
            return again
        if alike := self.firsts.list_of_another_feeder(self.written[line], behind):
            found = self._of_text(setting, alike[0], (entry,)) or Spoken(())
            return replace(found, names=tuple(replace(name, counted=alike[1]) for name in found.names))
        if not entry:
            return told
        if names_another(entry, behind, above, self.part.get(line, "")):
            return told if behind else Spoken(())
        return joined_with(told, self._of_legend(setting, entry), behind)

    def _of_first(self, setting: Setting, code: str, behind: str, entry: str) -> Spoken | None:
        """What the remark of the code's first line says; None for nothing clear."""
        letters = self.written[setting.line]
        if listed := self.firsts.list_for(code, letters, behind):
            return self._of_text(setting, listed, (entry,))
        first = self.firsts.other_for(code, letters, behind)
        found = self._of_remark(setting, first, "", beside=False) if first else Spoken(())
        return found if clear_fit(found) else None

    def _by_letters(self, setting: Setting, subject: str, heading: str) -> Spoken | None:
        """What the letters that the file explains for all its lines say below what a line is about; None where they say
        nothing clear."""
        known = {each: self.legend.letters.get(each, "") for each in self.written[setting.line]}
        letter = setting.key.upper()
        if (
            not subject
            or self.letter(setting) in LETTERS_OF_AXES
            or letter not in known
            or not all(known.values())
        ):
            return None
        listed = Listed(subject, known)
        found = of_list(listed, letter, (heading, self.part.get(setting.line, "")), "speed" in self.units)
        return found if clear_fit(found) else None

    def _of_legend(self, setting: Setting, entry: str) -> Spoken:
        """What the legend's words of a code say of a letter: the same on every line that has the same letters."""
        line = setting.line
        place = (entry, self.letter(setting), self.written[line], setting.section, self.part.get(line, ""))
        if place not in self._legend_said:
            found = self._of_text(setting, entry, ()) or self._of_remark(setting, entry, "", beside=False)
            fit = clear_fit(found)
            aside = (
                _IN_BRACKETS.search(entry) if fit is None and self.line_code[line] in self.of_axes else None
            )
            if aside:  # what sets the axes is no other device's: `fine steps (microsteps)`
                found = self._of_remark(setting, aside[1], "", beside=False)
            if fit and only_occasion(fit) and place[1] == "E":  # what the filament's axis goes is a length
                named = names_of((), (*split(entry), "length"))
                found = replace(found, names=named, half="" if found.unit else _NO_LENGTH)
            self._legend_said[place] = found
        return self._legend_said[place]

    def _of_text(self, setting: Setting, text: str, about: tuple[str, ...]) -> Spoken | None:
        """What a list of letters in a remark says of a word; None where there is none, or it says nothing clear. A letter
        that a list leaves out is not explained; but what all of it is about is that of the slides beside `Z = ...`."""
        listed = letters_listed(text, self.written[setting.line])
        if listed is None:
            return None
        letter = setting.key.upper()
        if letter not in listed.letters:
            left_out = [each for each in self.written[setting.line] if each not in listed.letters]
            # `mA peak, I is the idle percent`: what is left out is what the remark begins with
            whole = len(left_out) == 1 or LETTERS_OF_AXES.issuperset(left_out)
            told = stated(listed.subject) if whole else NOTHING
            others = (
                frozenset(listed.letters)
                if self.line_code[setting.line] in self.of_axes and of_other_things(listed.letters)
                else frozenset()
            )
            by_subject = self._of_remark(setting, listed.subject, "", beside=False, others=others)
            slides = letter in _SLIDES and _AXES_ALONE.issuperset({*listed.letters, *left_out})
            fit = clear_fit(by_subject) if slides or others else None
            return by_subject if fit and not fit.bare else Spoken((), told.unit, told.qualifier)
        if is_feeder_alone(listed, letter):
            return None  # whose motor it is, and not what is set
        found = of_list(listed, letter, about, "speed" in self.units)
        first = next(iter(listed.letters))
        if not (clear_fit(found) or listed.subject) and letter != first:  # `lag K, averaging time T`
            below = of_list(Listed(listed.letters[first], listed.letters), letter, (), "speed" in self.units)
            found = below if clear_fit(below) else found
        several = {told.unit for words in listed.letters.values() if (told := stated(words)).unit}
        return (
            found
            if clear_fit(found) or (LETTERS_OF_AXES.issuperset(listed.letters) and len(several) > 1)
            else None
        )

    def _of_remark(
        self,
        setting: Setting,
        remark: str,
        heading: str,
        beside: bool = True,
        others: frozenset[str] = frozenset(),
    ) -> Spoken:
        code, behind = self.line_code.get(setting.line, ""), self.remarks.of_line(setting)
        told, half = stated(remark), ""
        if told.unit is None and SAYS_A_SHARE.search(remark):
            return Spoken(())
        letters = tuple(each for each in self.letters[setting.line] if each not in others)
        letter = self.letter(setting)
        if letter not in LETTERS_OF_AXES and (LETTERS_OF_AXES.intersection(letters) or code in self.of_axes):
            return Spoken((), told.unit, told.qualifier, remark)
        table = code in self.of_axes
        heading, headed = counted_heading(heading)
        section = tuple(split(heading)) if len(heading.split()) <= HEADING else ()
        if ("and" in section or "," in heading) and letter not in LETTERS_OF_AXES:
            section = ()  # of two things, and not said of which
        unknown = bool(section) and not understood(section) and LETTERS_OF_AXES.issuperset(letters)
        if unknown and len(letters) > 1 and not names_a_thing(heading):
            section, half = (), "" if code in self.of_printer else _UNKNOWN_HEADING
        if self.choosers.tool(setting.line) is not None and behind:
            section = ()  # what stands above is which tool it is
        beside = beside and setting.line in self.chosen_first
        parts = told_of(remark, told, letters, letter, beside)
        mine = parts[0].told if parts else told
        if mine.unit is None:
            mine = replace(mine, unit=headed.unit, qualifier=mine.qualifier or headed.qualifier)
        command = own_command(setting)
        names = self._of_command(command, parts, mine, letter) if command else ()
        names += tuple(name for part in parts for name in self._names(part, section, letter, letters, table))
        group = tuple(split(self.part.get(setting.line, "")))
        if parts and group and not section and len(group) <= HEADING:
            names += tuple(
                name for part in parts[:1] for name in self._names(part, group, letter, letters, table)
            )
        if letter == "F" and mine.unit is None:
            rate = tuple(name for part in parts for name in rates_of(part))
            if rate and best_fits(rate)[1]:
                stated_of_all = "speed" in self.units
                return Spoken(rate, None if stated_of_all else units()["mm/min"], "", remark)
        return Spoken(names, mine.unit, mine.qualifier, remark, order_in(remark), half=half)

    def _of_command(
        self, command: tuple[str, ...], parts: tuple[ToldCode, ...], told: Stated, letter: str
    ) -> tuple[Name, ...]:
        """The names that a maker's own command has: by itself, and with what the remark says of the letter."""
        own = (letter.lower(),) if letter in LETTERS_OF_AXES else ()
        said, dimension = words_said("", told.unit), told.unit.of if told.unit else ""
        names: tuple[Name, ...] = names_of((), own + command, said, dimension)
        best = best_fits(names)[1]
        if len(best) == 1 and not (best[0].strange or best[0].alone):
            return names
        for part in parts:
            names += names_of((), own + command + tuple(split(part.words)), said, dimension)
        return names

    def _names(
        self, part: ToldCode, section: tuple[str, ...], letter: str, letters: tuple[str, ...], table: bool
    ) -> tuple[Name, ...]:
        """The names that a part of a remark may be: below what the remark is about, and below the heading."""
        key = key_of(part.words, letters, letter)
        if not key:
            return ()
        about = tuple(split(part.subject))
        said, dimension = words_said("", part.told.unit), part.told.unit.of if part.told.unit else ""
        if about:
            return names_of(about, key, said, dimension) if understood(about) else ()
        if table and len(key) == 2 and letter in LETTERS_OF_AXES and limited(key[1]) == "speed":
            said += ("max",)  # a speed of each axis is its greatest
        names: tuple[Name, ...] = names_of(section, key, said, dimension)
        if section and plain(section):
            names += names_of((), key, said + section, dimension)
        return names

    def in_words(self, setting: Setting) -> str:
        """What the file's remarks say of a word in words of their own, whatever they mean: `way of the filament: tube`."""
        code, line = self.line_code.get(setting.line, ""), setting.line
        texts = (self.remarks.of_line(setting), self.entry(setting, code), self.above.get(line, ""))
        for text in texts:
            listed = letters_listed(text, self.written[line]) if text else None
            if listed and (words := listed.letters.get(setting.key.upper())):
                entry = "" if text == texts[1] else texts[1]
                return f"{listed.subject}: {words} {entry}".strip()
        measured = line in self.chosen_first and not setting.value.isdigit()  # all others only choose
        if len(self.written[line]) > 1 and not (measured or LETTERS_OF_AXES.issuperset(self.letters[line])):
            return self.titled.get(line, "")
        return next(filter(None, (texts[1], texts[0], texts[2])), self.titled.get(line, ""))

    def explained(self) -> set[int]:
        """The lines of which a remark explains what they set."""
        found = set()
        for setting in self.document.settings:
            if setting.line not in found and setting.start not in self.code_starts:
                names = self.spoken(setting).names
                best = best_fits(names)[1] if names else ()
                clear = len(best) == 1 and not best[0].strange and not best[0].alone
                if clear and not only_occasion(best[0]):
                    found.add(setting.line)
        return found

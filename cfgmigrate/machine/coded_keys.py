"""Keys that are a letter and a number, `C12 = 340`, in files of another kind than word-address lines: what they are called
is said by remarks alone.

Such a file is full of these keys. A legend in its remarks says what a code is, `C12 load length    C13 unload length`, or else
the remark behind the line does. What is said then takes the place of the key, unit and all.

Where legend and remark name two things, or two units, neither is taken. Of two entries of a legend for one code the first
counts.

What this module deliberately does not do: explain a key that has words of its own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cached_property

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.code_legends import CodeLegend
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.legends import words_told
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.remarks import Remarks
from cfgmigrate.machine.stated import Stated, stated
from cfgmigrate.machine.words import names_of, split

_CODE = pattern(r"[A-Za-z]{1,2}[ _.-]?[0-9]{1,4}")
_ALONE = pattern(r"[ \t]*(?:#+|;+|//+|/?\*+)[ \t]*(.*?)[ \t]*(?:\*/)?[ \t]*")
#: so many keys of a file are codes, and more than half of all, where codes are its manner of writing
FEWEST_CODES = 5


class CodedKeys:
    """What the remarks of one document say of its coded keys; nothing where codes are not its manner of writing."""

    def __init__(self, document: Document, remarks: Remarks) -> None:
        self._remarks = remarks
        keys = [setting.key for setting in document.settings] if document.dialect != "command" else []
        codes = sum(bool(_CODE.fullmatch(key)) for key in keys)
        self._coded = codes >= FEWEST_CODES and 2 * codes > len(keys)

    @cached_property
    def _legend(self) -> Mapping[str, str]:
        legend = CodeLegend()
        for line in self._remarks.text.splitlines():
            if alone := _ALONE.fullmatch(line):
                legend.take(alone[1], len(line) - len(line.lstrip()))
        found = dict(legend.codes)
        for short, said in words_told(self._remarks.opening).items():
            found.setdefault(coded("".join(short)), " ".join(said))
        return found

    def said_of(self, setting: Setting) -> Stated | None:
        """What remarks say of a setting whose key is a code; None where its key has words, or nothing is said."""
        if not self._coded or not _CODE.fullmatch(setting.key):
            return None
        behind = stated(self._remarks.behind(setting))
        entry = self._legend.get(coded(re.sub(r"[ _.-]", "", setting.key)), "")
        if not entry:
            return behind if behind.words else None
        told = stated(entry)
        if not told.words or _differ(told, behind):
            return None
        return Stated(told.unit or behind.unit, told.qualifier or behind.qualifier, told.words)


def _differ(told: Stated, behind: Stated) -> bool:
    """Whether a legend and a line's own remark say two things of it."""
    named = {found for each in (told, behind) if (found := _named(each.words))}
    return len(named) > 1 or bool(told.unit and behind.unit and told.unit is not behind.unit)


def _named(words: str) -> str:
    """The quantity that words clearly name, "" for none."""
    best = best_fits(names_of((), tuple(split(words))))[1] if words else ()
    return best[0].quantity if len(best) == 1 and not (best[0].strange or best[0].alone) else ""

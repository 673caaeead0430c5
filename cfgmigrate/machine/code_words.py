"""The words of a code's remark as those of a key: without the code itself, with the axis whose number it is.

A maker's own command says by its word what others say by a remark. This module looks at words only; what they mean
together is the matter of `matching.py`.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import unit_written
from cfgmigrate.machine.codes import coded
from cfgmigrate.machine.remark_parts import LETTERS_OF_AXES, ToldCode
from cfgmigrate.machine.words import Name, names_of, split

#: a remark that begins with a code and what it means
_LEGEND = pattern(
    r"([A-Z]\d+(?:\.\d+)?)(?:[ \t]*[:=–-]+[ \t]*|[ \t]+(?:is[ \t]+|sets[ \t]+)?(?:the[ \t]+)?)([A-Za-z][^;]*)"
)
#: the code that a heading explains: it begins with it and a sign, or ends in a sign and it
_EXPLAINED = pattern(
    r"^[ \t(•*-]*([A-Z]\d{1,5}(?:\.\d+)?)[ \t]*(?:[:=|–]|-+>?(?!\w))|(?:[:=]|[-=]+>)[ \t]*([A-Z]\d{1,5}(?:\.\d+)?)[ \t.)]*$"
)
#: the same by codes alone in brackets, or behind a comma: `top speed (C99)`
_BESIDE = pattern(
    r"[,;(\[][ \t]*(?:(?:code|(?:is[ \t]+)?set[ \t]+(?:by|with)|by|with)[ \t]+)?([A-Z]\d{1,5}(?:\.\d+)?(?:(?:[ \t]*[,/&][ \t]*|[ \t]+(?:and|or)[ \t]+)[A-Z]\d{1,5}(?:\.\d+)?){0,8})(?=[ \t]*(?:[\]),;:.]|[-=*~#]{2}|$))"
)
_ANY_CODE = pattern(r"[A-Z]\d{1,5}(?:\.\d+)?")
_NUMBER = pattern(r"-?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})")
_AT_ITS_END = pattern(
    r"(?P<words>[A-Za-z][^\d]{1,80}?)[ \t=:]+(?P<number>-?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9}))[ \t]*(?P<unit>[A-Za-z%/^²]{0,8})(?P<rest>(?:[ \t]+[A-Za-z]{3,20}){0,2})[ \t]*"
)


def rates_of(part: ToldCode) -> tuple[Name, ...]:
    """The names that a part of a remark is of the letter F, which is a rate in RS-274, in millimetres a minute (NISTIR
    6556, 3.5.11 and 2.1.2.5, from memory)."""
    return names_of((), tuple(split(part.words)), ("speed",), "speed")


def own_command(setting: Setting) -> tuple[str, ...]:
    """The words of a maker's own command, with the one that stands where others have a letter; () for a code."""
    said = setting.section if len(setting.key) == 1 else f"{setting.section} {setting.key}"
    return tuple(split(said)) if re.sub(r"[ _-]", "", said).isalpha() else ()


def without_code(remark: str, code: str) -> str:
    """A remark without the code of its own line before it: `A101 = steps per mm`."""
    legend = _LEGEND.fullmatch(remark)
    return legend[2] if legend and coded(legend[1]) == code else remark


def explains_another_code(heading: str, code: str) -> bool:
    """Whether what a heading explains is another code with the letter of its line's: `top speed: C99` or `top speed (C99)` above a line of C62.
    One that it merely mentions, `top speed, C99 stores it`, leaves it the line's."""
    beside = (each for codes in _BESIDE.findall(heading) for each in _ANY_CODE.findall(codes))
    named = {coded(each) for each in (*(one or other for one, other in _EXPLAINED.findall(heading)), *beside)}
    return any(each[0] == code[:1] for each in named) and code not in named


def without_value(remark: str, value: str) -> str:
    """A remark without the line's own number at or near its end, which counts nothing: `lag 0.68 s` is `lag, s`, and
    `filament 2.85 mm thick` is `filament thick, mm`."""
    said = _AT_ITS_END.fullmatch(remark)
    if said is None or not (said["unit"] or "." in said["number"]) or not _NUMBER.fullmatch(value):
        return remark
    if said["rest"] and unit_written(said["unit"]) is None:
        return remark
    same = float(said["number"]) == float(value)
    return f"{said['words']}{said['rest']}, {said['unit']}".rstrip(", ") if same else remark


def key_of(mine: str, letters: tuple[str, ...], letter: str) -> tuple[str, ...]:
    """The pieces of a description with the letter's own axis, and without the axes of its line."""
    axes = {each.lower() for each in letters if each in LETTERS_OF_AXES}
    pieces = [
        piece
        for piece in split(mine)
        if piece not in axes and not (letter in LETTERS_OF_AXES and piece in "xyz")
    ]
    return (letter.lower(), *pieces) if letter in LETTERS_OF_AXES else tuple(pieces)

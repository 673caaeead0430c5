"""The letter by which a machine's scripts move the filament.

It is E, unless the files say otherwise: where no move has an E, the letter may be another axis of RS-274 (A, B, C, U,
V, W). Four things tell which: what the user said of it, the letter by which the drive's own values are set (`H7 X80 Y80 A92`, read as steps
per mm of the drive), an opening remark (`A is the feeder`), and scripts that move one such letter by itself and count it
anew by G92. Two letters that are told leave it at E: nothing is guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.codes import DIALECT
from cfgmigrate.machine.legends import letters_told, one_told
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.remarks import remarks_of

USUAL = "E"
#: further axes of RS-274; they follow G90 and G91 as X does (NISTIR 6556, 3.5.17, from memory)
FURTHER_AXES = frozenset("ABCUVW")
_OF_THE_DRIVE = frozenset(
    {
        "feeder.steps_per_mm", "feeder.full_steps", "feeder.microsteps", "feeder.max_speed", "feeder.max_acceleration",
        "feeder.direction",
    }
)  # fmt: skip
_REMARK = pattern(r"\([^()\r\n]*\)?|;[^\r\n]*")
_MOVE = pattern(r"(?<![A-Z\d.])G0*[0-3](?![\d.])[^\r\n]*", re.IGNORECASE)
_SET = pattern(r"(?<![A-Z\d.])G0*92(?![\d.])[^\r\n]*", re.IGNORECASE)
_WORD = pattern(r"(?<![A-Z])([A-Z])[ \t]*(?=[-+.\d\[{<#=])", re.IGNORECASE)


def feed_letter(machine: Machine) -> str:
    """The letter, `E` where nothing tells of another."""
    lines = [
        (_letters(found[0]), bool(_SET.fullmatch(found[0])))
        for text in _texts(machine)
        for pattern in (_MOVE, _SET)
        for found in pattern.finditer(text)
    ]
    moved = {letter for letters, sets in lines if not sets for letter in letters}
    if USUAL in moved:
        return USUAL
    told = {each.feeds_by for each in machine.documents if each.feeds_by} & moved
    told = told or {*_of_values(machine), *_of_remarks(machine)} & moved
    if not told:
        counted = {letter for letters, sets in lines if sets for letter in letters}
        alone = {
            letter for letters, sets in lines if not sets and not letters & set("XYZ") for letter in letters
        }
        told = counted & alone & FURTHER_AXES if len(FURTHER_AXES & moved) == 1 else set()
    return next(iter(told)) if len(told) == 1 else USUAL


def moves_in(line: str) -> set[str]:
    """The letters of the words of a line that moves something; none for any other line."""
    found = _MOVE.search(_REMARK.sub(" ", line))
    return _letters(found[0]) if found else set()


def _texts(machine: Machine) -> Iterator[str]:
    for reading in machine.readings:
        if quantity(reading.quantity).kind == "script":
            yield _REMARK.sub(" ", reading.text.replace("\\n", "\n"))


def _letters(line: str) -> set[str]:
    return {found[1].upper() for found in _WORD.finditer(line)}


def _of_values(machine: Machine) -> Iterator[str]:
    """The letters behind codes that set what the drive has."""
    for reading in machine.readings:
        key = reading.setting.key.upper()
        if reading.quantity in _OF_THE_DRIVE and key in FURTHER_AXES:
            yield key


def _of_remarks(machine: Machine) -> Iterator[str]:
    for document in machine.documents:
        if document.dialect == DIALECT:
            opening = remarks_of(document).opening
            for letter, (part, _) in (letters_told(opening) or one_told(opening)).items():
                if part == "feeder" and letter.upper() in FURTHER_AXES:
                    yield letter.upper()

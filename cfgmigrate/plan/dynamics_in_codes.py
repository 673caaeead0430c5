"""Jerks, accelerations and lags that a file's own list of codes or a line's remark explains, and that no rule has: they stay as
they were.

A line of codes has no name that says what it is; its list has: `K22 jerk, mm per minute`. Where the drive is another one, or
an axis is accelerated less for its weight, such a number of it was made for the old one. What it should become is not
known here, so a person is shown the line, once, whatever it has of letters.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

from cfgmigrate.dialects.document import State, readable
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.listed_letters import speaks_of
from cfgmigrate.machine.model import Machine, Unread

_OF_A_CODE = pattern(r"[A-Z]\d{1,5}(?:\.\d+)?")
_NUMBER = pattern(r"\d{1,6}(?:\.\d{1,6})?")
_LINE_END = pattern(rb"\r\n?|\n")
_SPOKEN = {"jerk": "a jerk", "acceleration": "an acceleration", "lag": "a lag"}
_LOWERED = pattern(r"axis\.([xy])\.max_acceleration")


def dynamics_in_codes(machine: Machine, changed: Collection[str]) -> Iterator[tuple[str, int, str, str]]:
    """The lines, each with its text and why it is pointed at. `changed` are the quantities that the packet writes."""
    axes = {found[1] for each in changed if (found := _LOWERED.fullmatch(each))}
    of_drive = any(each.startswith("feeder.") for each in changed)
    told: set[tuple[str, int]] = set()
    lines: dict[str, list[bytes]] = {}
    for unread in machine.unread:
        file, line = unread.place.file, unread.place.line
        what = spoken_of(unread)
        letter = unread.setting.key.lower()
        concerned = (
            letter in axes if letter in "xyz" else of_drive if letter == "e" else bool(axes or of_drive)
        )
        if what and concerned and (file, line) not in told:
            told.add((file, line))
            raw = lines.setdefault(file, _LINE_END.split(machine.document(file).data))[line - 1]
            why = f"{_SPOKEN[what]} by what the file says of it, which stays as it was for the old drive"
            yield file, line, readable(raw), why


def spoken_of(unread: Unread) -> str:
    """What a word of a code is by what the file says of it; "" where it is neither, or nothing at all."""
    setting = unread.setting
    if (
        setting.state is State.INACTIVE
        or len(setting.key) != 1
        or not unread.said
        or not _OF_A_CODE.fullmatch(setting.section)
    ):
        return ""
    number = _NUMBER.fullmatch(setting.value.strip())
    if number is None or not float(number[0]):
        return ""
    return next((thing for thing in _SPOKEN if speaks_of(unread.said, thing)), "")

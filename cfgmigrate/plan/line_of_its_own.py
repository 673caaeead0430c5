"""Where a feeder's own value goes, as a line to write, where one that serves all feeders can't become it.

The line is the shared one with the new value, and its place the section beside it that goes by that feeder's name. Whether the
machine takes a feeder's own line before the shared one no file says; so it is a step by hand, and says so. Where the feeder has no
section of its own beside the shared one, nothing is said.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.called_feeders import names_of_feeders
from cfgmigrate.machine.model import MACHINE, Machine, Reading
from cfgmigrate.machine.words import split

_LEVEL = pattern(r"[./:]+")


def line_of_its_own(machine: Machine, reading: Reading, number: int, text: str) -> str:
    """The step: what to write, and below which section; "" where that is not known. `text` is the new value as it would stand
    in the shared place."""
    if reading.holder != MACHINE or not reading.setting.section:
        return ""
    document = machine.document(reading.place.file)
    own = _beside(machine, document, reading.setting.section, number)
    if own is None or _in_braces(document, own):
        return ""
    line = _line(document, reading, text)
    there = next((each for each in document.settings if _same_key(each, own, reading)), None)
    if there is not None:
        return f"{document.path}:{there.line} seems to be that one's own: write the new value there, in its unit."
    return (
        f"Write `{line}` below [{own.section}] in {document.path}, before line {own.line}, if the machine takes a feeder's own "
        "line before the one for all; then prepare again."
    )


def _beside(machine: Machine, document: Document, section: str, number: int) -> Setting | None:
    """The first setting of the section beside this one that goes by the feeder's name, and by no other's."""
    names = {tuple(split(name)) for name, of in names_of_feeders(machine).items() if of == (number,)}
    *above, _ = _LEVEL.split(section)
    for setting in document.settings:
        *levels, last = _LEVEL.split(setting.section)
        words = tuple(split(last))
        if setting.state is State.ACTIVE and levels == above and (words in names or words[1:] in names):
            return setting
    return None


def _in_braces(document: Document, setting: Setting) -> bool:
    """Whether a group stands on one line with its name, so that no line can be put into it."""
    start = document.data.rfind(b"\n", 0, setting.start) + 1
    return b"{" in document.data[start : setting.start]


def _same_key(setting: Setting, own: Setting, reading: Reading) -> bool:
    active = setting.state is State.ACTIVE
    return active and setting.section == own.section and setting.key == reading.setting.key


def _line(document: Document, reading: Reading, text: str) -> str:
    """The shared line with another value and what stands behind its number, such as a unit, or what it says where several
    settings share the line."""
    data, setting = document.data, reading.setting
    start = max(data.rfind(b"\n", 0, reading.start), data.rfind(b"\r", 0, reading.start)) + 1
    before = data[start : reading.start].decode("utf-8", "replace").strip()
    alone = before.startswith(reading.setting.key) and not {"{", ";", ","} & set(before)
    if alone and setting.start <= reading.start and reading.end <= setting.end:
        before = data[start : setting.start].decode("utf-8", "replace").strip()
        within = data[setting.start : reading.start] + text.encode() + data[reading.end : setting.end]
        return f"{before} {within.decode('utf-8', 'replace')}"
    return f"{before} {text}" if alone else f"{setting.key} with {text}"

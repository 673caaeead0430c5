"""New lines in a site file whose other bytes all stay: an entry added at the end of its section, or a section at the end of the file.

A person keeps their site file by hand. So an answer that the program adds is a line of its own, indented as its
neighbours are, with the file's own line ends. Where that can't be done, because the section is written in one line or an entry that is to be another is not,
nothing is given, and whoever asked prints the whole file anew (`site_writing.py`).

What a line means is none of this module's business: the caller reads the text again and compares.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

_INDENT = "  "


def with_entries(
    text: str, sections: Mapping[str, Mapping[str, Any]], written: Callable[[str, Any], str]
) -> str | None:
    """The text with these entries in their sections; None where they can't be put in as lines. `written` gives an entry
    as one line, without its indentation."""
    end = "\r\n" if "\r\n" in text.partition("\n")[0] + "\n" else "\n"
    lines = text.split(end)
    for name, entries in sections.items():
        for key, value in entries.items():
            entry = written(key, value)
            if "\n" in entry or not _put(lines, name, entry):
                return None
    return end.join(lines)


def _put(lines: list[str], section: str, entry: str) -> bool:
    """Put an entry at the end of a section, or the section at the end of the file. False where the section is no block."""
    head = next((at for at, line in enumerate(lines) if re.match(rf"{section}[ \t]*:", line)), None)
    if head is None:
        last = len(lines) - 1 if lines and not lines[-1].strip() else len(lines)
        lines[last:last] = [f"{section}:", _INDENT + entry]
        return True
    if not re.fullmatch(rf"{section}[ \t]*:[ \t]*(?:#.*)?", lines[head]):
        return False
    indent, last = "", head
    for at in range(head + 1, len(lines)):
        line = lines[at]
        if line.strip() and not line[0].isspace() and not line.startswith("#"):
            break
        if line.strip() and not line.lstrip().startswith("#"):
            indent = indent or line[: len(line) - len(line.lstrip())]
            last = at
    lines.insert(last + 1, (indent or _INDENT) + entry)
    return True

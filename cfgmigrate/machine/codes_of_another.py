"""Codes of a file that only a list explains which says that it is another machine's: they are asked about.

Such a list explains nothing here, and a file that has its codes all the same may be that machine's, or have its list from
there because both boards understand the same. Neither is guessed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.codes import coded


def ask_of_another_list(
    document: Document, of_another: Mapping[str, str], line_code: Mapping[int, str], read_at: Collection[int]
) -> Iterator[Doubt]:
    """A question for each such list, at the first line that has a code of it and is not one of `read_at`."""
    first: dict[str, Setting] = {}
    named: dict[str, dict[str, list[int]]] = {}
    for setting in document.settings if of_another else ():
        code = coded(line_code.get(setting.line, ""))
        title = of_another.get(code, "")
        if not title or setting.line in read_at or setting.state is not State.ACTIVE:
            continue
        if coded(f"{setting.key}{setting.value}") == code:  # the code itself, which sets nothing
            continue
        first.setdefault(title, setting)
        lines = named.setdefault(title, {}).setdefault(code, [])
        if not lines or lines[-1] != setting.line:
            lines.append(setting.line)
    for title, setting in first.items():
        told = ", ".join(
            f"{code} (line{'s' * (len(lines) > 1)} {', '.join(map(str, lines))})"
            for code, lines in named[title].items()
        )
        code = coded(line_code[setting.line])
        yield Doubt(
            Place(document.path, setting.line, 1),
            f"{code} {setting.key}{setting.value}",
            f'the list above says it is another machine\'s ("{title}"), and nothing else explains these codes, which this file has: {told}; '
            "they stay as they are",
            "if the list is right for this machine, say so in its title, such as `codes of this machine`, or say in cfgmigrate.yaml what a word "
            f"sets, as in codes: {{{code}.{setting.key.upper()}: QUANTITY}}, or `ignore`",
        )

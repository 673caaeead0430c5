"""What a machine's swap sheet will ask for, on one screen, by sitting: shown where a sheet would scroll away unread."""

from __future__ import annotations

from collections.abc import Sequence

from cfgmigrate.reports.screen import ScreenLine
from cfgmigrate.reports.sections import Section, one_screen, section
from cfgmigrate.sheet.schema import ANY_TIME, BEFORE_SITTING, MOUNTED, sheet_schema

#: how the three sittings are called
SITTING_TITLES = {
    BEFORE_SITTING: "While the old drive still works (it is gone afterwards)",
    ANY_TIME: "From papers, at any time",
    MOUNTED: "Once the new drive is mounted",
}


def sheet_screen(fields: Sequence[str], width: int, following: Sequence[str]) -> list[ScreenLine]:
    """The lines for these fields of the sheet; `following` are the commands that are next."""
    schema = sheet_schema()
    parts: list[Section] = []
    for sitting, title in SITTING_TITLES.items():
        names = [schema.fields[path].label for path in fields if schema.sitting(path) == sitting]
        told = f"{'; '.join(names)}." if names else ""
        parts.append(section(title, [told] if told else [], width, "  ", whole=True))
    head = "Nothing is written yet. For this machine the swap sheet asks for the following; leave out what you don't know."
    return one_screen(
        [
            section("", [head], width, "", whole=True),
            *parts,
            Section("Next", tuple((f"  {line}",) for line in following), "", True),
        ]
    )

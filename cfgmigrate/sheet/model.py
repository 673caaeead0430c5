"""The swap sheet as values: what came off, what goes on, what was measured.

A `Sheet` is a flat mapping from field paths (`new.drive_gear.effective_diameter`) to entries, each with
value, uncertainty, unit and the line it came from. Reading the YAML and checking it against the schema
is done in `reader.py`; what fields exist is said in `schema.yaml`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from cfgmigrate.ground.findings import Place


@dataclass(frozen=True, slots=True)
class Entry:
    """One field of the sheet.

    A quantity has `value` in the schema's unit for that field (`unit`), with `uncertainty` (one standard
    uncertainty, 0 where none was given). A word (`tube-fed`, `PLA`) has `value` None and its normalised spelling in
    `word`; truth is word "yes"/"no". `text` is what the person wrote. A gear ratio written in stages has its
    product in `value` and the stages' text (`50:9`) in `text`.
    """

    path: str
    text: str
    place: Place
    value: float | None = None
    uncertainty: float = 0.0
    unit: str = ""
    word: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A swap sheet that was read and checked. `source` are its bytes as they were."""

    path: str
    source: bytes
    entries: Mapping[str, Entry] = field(default_factory=dict)

    def get(self, path: str) -> Entry | None:
        return self.entries.get(path)

    @property
    def machine(self) -> str:
        entry = self.entries.get("machine")
        return entry.text if entry else ""

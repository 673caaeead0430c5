"""The words by which it is told whose a value is: `holders.yaml`, checked when it is loaded.

This module deliberately decides nothing: feeders are found in `feeders.py`, profiles in `profiles.py`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.findings import BadInput, Place

_FILE = "holders.yaml"
_MAPPINGS = ("sides", "counts", "numerals", "profiles", "materials", "identity")
_LISTS = (
    "tool",
    "counted",
    "carried",
    "fed",
    "named",
    "material",
    "for_feeder",
    "for_name",
    "never",
    "called",
    "places",
    "made",
    "told_apart",
    "gathered",
    "sliced",
    "inherits",
)
EITHER = "either"
_KINDS = frozenset({"filament", "print"})


class HolderWords(Struct, frozen=True):
    """`holders.yaml`, turned round where a word is looked up: what kind of profile it speaks of, or which material it is."""

    sides: Mapping[str, int]
    tool: frozenset[str]
    counted: frozenset[str]
    carried: frozenset[str]
    fed: tuple[str, ...]
    profiles: Mapping[str, str]
    materials: Mapping[str, str]
    named: tuple[str, ...]
    material: tuple[str, ...]
    for_feeder: tuple[str, ...]
    for_name: tuple[str, ...]
    identity: Mapping[str, str]
    never: frozenset[str]
    called: frozenset[str]
    places: frozenset[str]
    counts: Mapping[str, int]
    made: frozenset[str]
    numerals: Mapping[str, int]
    told_apart: frozenset[str]
    gathered: frozenset[str]
    sliced: frozenset[str]
    inherits: frozenset[str]

    @property
    def any_fed(self) -> str:
        """An expression for one of the words for what a feeder feeds."""
        return f"(?:{'|'.join(self.fed)})"


@compiled
def holder_words() -> HolderWords:
    """Raises BadInput where the file is wrong."""
    fields: dict[str, type] = {**dict.fromkeys(_MAPPINGS, dict), **dict.fromkeys(_LISTS, list)}
    data = load(Path(__file__).with_name(_FILE), fields)
    for field in ("profiles", "identity"):
        unknown = set(data[field]) - _KINDS - ({EITHER} if field == "profiles" else set())
        if unknown:
            raise BadInput(f"`{field}`: there is no kind `{sorted(unknown)[0]}`", Place(_FILE))
    if lost := sorted(set(data["tool"]) - set(data["counted"])):
        raise BadInput(f"`{lost[0]}` is among the tools and not among the counted", Place(_FILE))
    if lost := sorted(set(data["fed"]) - set(data["profiles"]["filament"])):
        raise BadInput(f"`{lost[0]}` is fed and no profile of a filament may be called so", Place(_FILE))
    return HolderWords(
        {word: int(number) for word, number in data["sides"].items()},
        frozenset(data["tool"]),
        frozenset(data["counted"]),
        frozenset(data["carried"]),
        tuple(data["fed"]),
        _turned("profiles", data["profiles"]),
        _turned("materials", data["materials"]),
        tuple(data["named"]),
        tuple(data["material"]),
        tuple(data["for_feeder"]),
        tuple(data["for_name"]),
        _turned("identity", data["identity"]),
        frozenset(data["never"]),
        frozenset(data["called"]),
        frozenset(data["places"]),
        {word: int(number) for word, number in data["counts"].items()},
        frozenset(data["made"]),
        {word: int(number) for word, number in data["numerals"].items()},
        frozenset(data["told_apart"]),
        frozenset(data["gathered"]),
        frozenset(data["sliced"]),
        frozenset(data["inherits"]),
    )


def _turned(field: str, groups: Mapping[str, list[str]]) -> dict[str, str]:
    found: dict[str, str] = {}
    for name, words in groups.items():
        for word in words:
            if word in found:
                raise BadInput(f"`{field}`: `{word}` is listed twice", Place(_FILE))
            found[word] = name
    return found

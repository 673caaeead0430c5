"""Which field of a sheet a guessed name may mean: `carriage.mass_added` is no field, `carriage.new_mass` is near by its words.

A field's path counts most, then what people call it and its sentence. Fields of the section in which the name stands come
before those of others. Nothing is read by this.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.sheet.schema import Field, Schema

#: so many are told
MOST_MEANT = 2
_WORD = pattern(r"[a-z]{2,30}|[xyz]")
_SAYS_NOTHING = frozenset(
    ("of", "the", "to", "in", "on", "at", "and", "or", "is", "it", "that", "with", "for", "its", "by", "as")
)
#: words that people use for those of the fields
_MEANT = {"weight": "mass", "moved": "shift", "amps": "current", "teeth": "gear", "cogs": "gear", "cog": "gear", "ratio": "ratio", "tube": "tube",
          "long": "length", "distance": "length", "sensor": "sensor", "added": "new", "after": "new", "before": "old", "removed": "old"}  # fmt: skip


def nearest_fields(key: str, section: str, schema: Schema) -> list[str]:
    """The paths of the fields that come closest to a name by its words, the closest first; [] for none."""
    wanted = _words(key)
    common = Counter(word for path in schema.fields for word in _words(path))
    scored = {path: _score(wanted, section, field, common) for path, field in schema.fields.items()}
    best = max(scored.values(), default=0.0)
    if best < 1.0:
        return []
    return [path for path, score in scored.items() if score == best][:MOST_MEANT]


def _score(wanted: frozenset[str], section: str, field: Field, common: Mapping[str, int]) -> float:
    path = _words(field.path)
    shared = wanted & path
    if not shared:
        return 0.0
    beside = wanted & _words(f"{field.called} {field.says}") - path
    own = _words(section) & path
    told = sum(1 + 1 / common[word] for word in shared)  # what few fields are called tells most
    return told + 0.4 * len(beside) + 0.5 * len(own) - 0.05 * len(path)


def _words(text: str) -> frozenset[str]:
    found = _WORD.findall(text.casefold().replace("_", " "))
    return (
        frozenset(_MEANT.get(word, word.removesuffix("s") if len(word) > 4 else word) for word in found)
        - _SAYS_NOTHING
    )

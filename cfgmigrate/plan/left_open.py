"""What a light hangs on that is not settled yet: the questions that nobody could answer, and the values that may still change.

Nothing is worked out by this; it reads which lights are unknown by what the sheet lacks.
"""

from __future__ import annotations

from collections.abc import Iterable

from cfgmigrate.knowledge.lights import LightKind, fields_of, light_kinds
from cfgmigrate.plan.unlocking import Standpoint
from cfgmigrate.rules.result import Result
from cfgmigrate.sheet.schema import sheet_schema


def hung_on(stand: Standpoint, declined: Iterable[str]) -> tuple[str, ...]:
    """Of the fields that nobody could say those that such a light hangs on, and what is asked with them in one breath. A field
    is called by its feeder's number too, where several are asked about: `2:new.tube.length`."""
    hung = {name for kind in _dark(stand) for name in fields_of(kind)}
    breaths = {path for name in hung for path in sheet_schema().breath(name)[1]}
    return tuple(name for name in declined if name.rpartition(":")[2] in breaths)


def so_far(stand: Standpoint, results: Iterable[Result]) -> frozenset[str]:
    """The rules of results that are a value of such a light: a further answer may change them."""
    targets = {result.target: result.rule for result in results if result.target}
    if not targets:
        return frozenset()
    return frozenset(
        targets[value.quantity] for kind in _dark(stand) for value in kind.values if value.quantity in targets
    )


def _dark(stand: Standpoint) -> list[LightKind]:
    names = {light.light for light in stand.lights if light.name in stand.unanswered}
    return [kind for kind in light_kinds().kinds if kind.name in names]

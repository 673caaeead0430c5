"""Feeders by what the files call them, beside the number that they have here: `feeder 2 (right)`.

A holder is known by its number in whatever a program reads or a person has to type (`--accept-unknown 'feed @ feeder 2'`,
the name that a verdict is on); so that stays, and what is read alone gets the name. What stands in quotes, in brackets or
behind an @ is to be typed.

What each feeder is called was found in the files when the plan was made, and stands in it: no file is looked at here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TypeVar

from msgspec import Struct
from msgspec.structs import asdict, replace

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.plan.model import BY_PROFILES, Light, Plan

_FEEDER = pattern(r"(?<!@ )(?<![\[\"'`\w])([Ff]eeder ([1-9]\d?))(?![\w\]\"'`]|\.\w| \()")
_Told = TypeVar("_Told", bound=Struct)


def named(text: str, called: Mapping[str, str]) -> str:
    """A text with what the files call the feeders that it tells of. `called` is by holder: `feeder 2`."""
    if not called or "eeder " not in text:
        return text
    return _FEEDER.sub(
        lambda found: f"{found[1]} ({name})" if (name := called.get(found[1].lower())) else found[1], text
    )


def all_named(told: _Told, called: Mapping[str, str], stays: Collection[str]) -> _Told:
    """The same value with each of its texts so, but for the fields in `stays`."""
    if not called:
        return told
    found: dict[str, object] = {}
    for name, value in asdict(told).items():
        if name in stays:
            continue
        if isinstance(value, str):
            found[name] = named(value, called)
        elif isinstance(value, tuple) and value and all(isinstance(each, str) for each in value):
            found[name] = tuple(named(each, called) for each in value)
    return replace(told, **found)


def lights_named(plan: Plan) -> tuple[Light, ...]:
    """A plan's lights as they are read: what each profile sets for itself is told there, and no other state beside it."""
    called = dict(plan.called)
    return tuple(
        all_named(
            replace(light, state="by profile") if light.why == BY_PROFILES else light, called, ("rests_on",)
        )
        for light in plan.lights
    )

"""What becomes of lights once they were worked out.

A review that holds changes back, files that were not named and values that stay make those lights unknown that rest on them; and
an unknown one may be accepted, by its name in full.

Nothing is judged anew here: how a light stands is the matter of `lights.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.plan.lights import BY_HAND, SET, UNKNOWN
from cfgmigrate.plan.model import Change, Light

_SAY_WHO_READS = "say in cfgmigrate.yaml, under shared, what may be written in its file (the question of that file has the lines)"

_SETTLE_THE_LINE = "settle the line with the other machines that read it (the question of that line says how), and prepare each again"


def after_review(found: Iterable[Light], held: Collection[str]) -> tuple[Light, ...]:
    """The lights of what a review lets in; `held` are the ids of the changes that it holds back."""
    return _less(found, held, "held back in the review")


def in_named_files(found: Iterable[Light], strange: Collection[str]) -> tuple[Light, ...]:
    """The lights of what is changed in the files that were named; `strange` are the ids of changes to others."""
    return _less(found, strange, "left old, because its file was not named")


def as_they_stand(found: Iterable[Light], kept: Collection[str]) -> tuple[Light, ...]:
    """The lights of the rest of a swap; `kept` are the ids of changes that are not made where another value stays."""
    return _less(found, kept, "another value stays as it is")


def left_for_others(found: Iterable[Light], left: Mapping[str, str]) -> tuple[Light, ...]:
    """The lights where lines that other machines read stay; `left` has the id of each change to such lines with that of the step
    by hand that tells its value, "" where it is asked about first."""
    open_ = [name for name, hand in left.items() if not hand]
    asked = _less(found, open_, "waiting, because another machine reads the line, too", _SAY_WHO_READS)
    return tuple(_by_hand(light, left) for light in asked)


def in_dispute(found: Iterable[Light], held: Sequence[Change]) -> tuple[Light, ...]:
    """The lights where the packet of another machine has other values on the lines of the changes that are `held`. A light that
    rests on none of them is about such a change all the same where its own values are of the same part: with the speed of
    a retraction left old, the retraction is not set."""
    lights = list(found)
    lost: dict[str, list[str]] = {}
    for change in held:
        of_it = [light for light in lights if light.light in _lights_about(change.quantity)]
        own = [light for light in of_it if light.holder == change.holder] or of_it
        direct = [light for light in lights if change.id in light.rests_on]
        for light in direct or own:
            lost.setdefault(light.name, []).append(change.id)
    why = "another machine's packet has another value on a line of it"
    return tuple(
        light if light.state == UNKNOWN else _without(light, lost.get(light.name, ()), why, _SETTLE_THE_LINE)
        for light in lights
    )


def _lights_about(quantity: str) -> frozenset[str]:
    """The lights of which a value belongs to the same part: `retraction.length` for `retraction.speed`."""
    part = quantity.rpartition(".")[0]
    kinds = light_kinds().kinds
    return frozenset(
        kind.name for kind in kinds if any(value.quantity.rpartition(".")[0] == part for value in kind.values)
    )


def _by_hand(light: Light, left: Mapping[str, str]) -> Light:
    told = [left[name] for name in light.rests_on if name in left]
    if not told or light.state not in (SET, BY_HAND):
        return light
    why = f"{light.why}; its file stays as it is, because another machine reads it: write it where this one alone does"
    rests_on = dict.fromkeys((*(name for name in light.rests_on if name not in left), *told))
    return replace(light, state=BY_HAND, why=why, rests_on=tuple(rests_on))


def _less(found: Iterable[Light], left: Collection[str], why: str, missing: str = "") -> tuple[Light, ...]:
    return tuple(
        _without(light, [each for each in light.rests_on if each in left], why, missing) for light in found
    )


def unknown(found: Iterable[Light], accepted: Collection[str] = ()) -> tuple[Light, ...]:
    """The unknown lights, less those that are accepted by name, in whatever case.

    Raises BadInput where an accepted name is none of the unknown ones: what is taken for granted is said in full."""
    lit = {light.name: light for light in found if light.state == UNKNOWN}
    taken = {_light_named(name, lit) for name in accepted}
    return tuple(light for name, light in lit.items() if name not in taken)


def _light_named(said: str, lit: Collection[str]) -> str:
    """The one light that is meant: that name, or the only one that differs from it in case and blanks alone."""
    if said in lit:
        return said
    alike = [name for name in lit if name.casefold().split() == said.casefold().split()]
    if len(alike) != 1:
        remedy = (
            f"Unknown are: {', '.join(map(repr, lit))}." if lit else "No light of this packet is unknown."
        )
        raise BadInput(f"{said!a} is no light that is unknown", remedy=remedy)
    return alike[0]


def _without(light: Light, lost: Sequence[str], why: str, missing: str) -> Light:
    if not lost:
        return light
    lines = (*light.missing, missing) if missing else light.missing
    return replace(light, state=UNKNOWN, why=f"{why}: {', '.join(lost)}", missing=lines, rests_on=())

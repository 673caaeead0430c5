"""Moves of scripts that would go beyond a new limit of an axis.

An explicit number in absolute mode, with the machine's own origin, that the old limit allowed and the new one
does not, goes to the new limit. All else that may go beyond it is a doubt: a number that is none, an unknown
mode, a shifted origin, a relative move; and in x and y a place of another tip than the limit's, and places of one
script that the limit would make one, since the stroke between them is lost (in z it only has to be out of the way), and a place
along the bed where something is met, a brush or a lip, by the words beside it. Only limits that have become tighter are looked at. One that a person sets by
hand, at an end stop or since it could not be written, is not in force yet, so what goes beyond it is a doubt too, and never written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.rules import dimensions
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.scope import NamedValue
from cfgmigrate.scripts.met_things import what_is_met
from cfgmigrate.scripts.number_change import Script, ScriptChange, Wording, change_of
from cfgmigrate.scripts.reading import AxisTarget, Move
from cfgmigrate.scripts.tools import Tips, tips_of
from cfgmigrate.sheet.model import Sheet

#: mm; closer than this is at the limit
HAIR = 1e-6
#: mm; no axis of a printer is shorter (common practice, no source)
_FAR = 50.0
_MOVING = "A moving axis crushes fingers and bends what it meets. Keep hands out while it moves, and a hand at the switch."
_OF_A_TIP = "Work out how far this tip gets, and change the line by hand if it asks for more."
_MOVE_IT = "Move the thing itself by as much, or take the moves to it out by hand."
#: what a person does before a limit that is not written is in force
_END_STOP = "its end stop is set by hand for the tip's new place"
_NOT_WRITTEN = "that end of its travel is set by hand, which is not written"
_HOT_TOO = "The script feeds filament, so the nozzle must be at printing temperature; it burns."


class Limit(Struct, frozen=True):
    """A limit that has become tighter, in mm: `value` as it will stand in the file, `old` None where no file
    had one; `once` is what a person does first where it is not written, "" where it is."""

    quantity: str
    value: float
    old: float | None
    origin: str
    once: str = ""

    @property
    def axis(self) -> str:
        return self.quantity.split(".")[1]

    @property
    def upper(self) -> bool:
        return self.quantity.endswith(".max")

    def beyond(self, position: float) -> bool:
        return _outside(position, self.value, self.upper)

    def allowed_before(self, position: float) -> bool:
        return self.old is None or not _outside(position, self.old, self.upper)


def _outside(position: float, limit: float, upper: bool) -> bool:
    return position > limit + HAIR if upper else position < limit - HAIR


def limits_of(outcome: Outcome, machine: Machine, written: Mapping[str, float]) -> tuple[Limit, ...]:
    """The limits that become tighter. `written` has the values that files will hold, by quantity."""
    found = []
    for axis in "zxy":
        for side in ("max", "min"):
            name = f"axis.{axis}.{side}"
            result = next((one for one in outcome.results if one.target == name), None)
            reading = machine.get(name)
            old = reading.value if reading is not None else None
            if result is not None and result.value is not None:
                new = written.get(name, result.value if old is None else old)
                if old is None or _outside(old, new, side == "max"):
                    found.append(Limit(name, new, old, _origin(reading, result.rule)))
                    continue
            wanted = outcome.held.get(name) if result is None else result.value
            known = wanted is not None and old is not None and name not in written
            if known and _outside(old or 0.0, wanted or 0.0, side == "max"):
                found.append(Limit(name, wanted or 0.0, old, f"rule {name}", once=_NOT_WRITTEN))
                continue
            found += _set_by_hand(name, outcome, machine)
    return tuple(found)


def _set_by_hand(name: str, outcome: Outcome, machine: Machine) -> list[Limit]:
    """The limit at an axis's end stop, where a person sets both together by the tip's shift, and that makes it tighter. Where
    no line has the limit at that end, the place of the end stop is all that says how far the axis goes there.

    A figure that does not start from the end stop's old place is how far the switch itself is moved. It goes with the
    tip, so its place and the limit stay as they are."""
    axis, side = name.split(".")[1:]
    stop, limit = machine.get(f"end_stop.{axis}"), machine.get(name)
    other = machine.get(f"axis.{axis}.{'min' if side == 'max' else 'max'}")
    hand = outcome.result(f"protected.end_stop_{axis}")
    at_stop = axis in "xy" and limit is None and _stands_at(stop, other, upper=side == "max")
    values = [None if each is None else each.value for each in (hand, stop, stop if at_stop else limit)]
    if hand is None or None in values:
        return []
    if not any(each.name == f"was.end_stop.{axis}" for each in hand.derivation.inputs):
        return []
    becomes, stands, old = (value or 0.0 for value in values)
    new = old + becomes - stands
    farther = other is not None and other.value is not None and abs(stands - other.value) < abs(stands - old)
    if farther or not _outside(old, new, side == "max"):
        return []
    return [Limit(name, new, old, f"rule {hand.rule}", once=_END_STOP)]


def _stands_at(stop: Reading | None, other: Reading | None, *, upper: bool) -> bool:
    """Whether an end stop stands at the end of which no line tells: far from the other one."""
    if stop is None or other is None or stop.value is None or other.value is None:
        return False
    return (stop.value - other.value) * (1 if upper else -1) > _FAR


def _origin(reading: Reading | None, rule: str) -> str:
    if reading is None:
        return f"rule {rule}"
    return f"{reading.place.file}:{reading.place.line}, as it will be"


def limit_changes(
    scripts: Sequence[Script], limits: Sequence[Limit], sheet: Sheet, machine: Machine
) -> tuple[tuple[ScriptChange, ...], tuple[Doubt, ...]]:
    """The changes and the doubts for these scripts under these limits."""
    changes: list[ScriptChange] = []
    doubts: list[Doubt] = []
    tips = tips_of(machine, scripts, sheet)
    for limit in limits:
        places: dict[str, list[Reading]] = {}
        for script in scripts:
            name = f"{script.reading.quantity}.{limit.axis}{'' if limit.upper else '_low'}"
            certain, doubtful = _look(script, limit, name, tips)
            doubts += doubtful
            if certain:
                places.setdefault(name, []).extend(certain)
        changes += [_change(limit, found, scripts, sheet) for found in places.values()]
    return tuple(changes), tuple(doubts)


def _look(script: Script, limit: Limit, name: str, tips: Tips) -> tuple[list[Reading], list[Doubt]]:
    certain: list[Reading] = []
    doubts: list[Doubt] = []
    furthest: tuple[float, Doubt] | None = None
    # what is met at a place is met there again, strokes later
    things: dict[float, str] = {}
    at_once = _would_be_one(script, limit, tips)
    for move in script.moves:
        for target in move.targets:
            if target.axis != limit.axis:
                continue
            tip = tips.another(script, move) if limit.axis != "z" else ""
            if tip and target.absolute is not False:
                if target.value is None or limit.beyond(target.value):
                    doubts.append(
                        script.doubt(move, target.word, _from_another(target, limit, tip), _OF_A_TIP)
                    )
                continue
            if _goes_to_the_limit(target, limit):
                if limit.once:
                    doubts.append(
                        script.doubt(move, target.word, _once_it_is_set(target, limit), _remedy(limit))
                    )
                    continue
                met = what_is_met(script, move) or things.get(target.value or 0.0, "")
                stays = limit.axis != "z" and (met or at_once)
                if not stays:
                    certain.append(script.number(target.word, name, target.scale))
                if met:
                    things[target.value or 0.0] = met
                    doubts.append(
                        script.doubt(move, target.word, _out_of_reach(target, limit, met), _MOVE_IT)
                    )
                elif stays:
                    doubts.append(script.doubt(move, target.word, at_once, _remedy(limit)))
                continue
            why = _why_in_doubt(target, limit)
            if why:
                doubts.append(script.doubt(move, target.word, why, _remedy(limit)))
            step = _step_from_nowhere(target, limit)
            if step > (furthest[0] if furthest else 0.0):
                furthest = step, _lift(script, move, target, limit, step)
    return certain, doubts + ([furthest[1]] if furthest else [])


def _goes_to_the_limit(target: AxisTarget, limit: Limit) -> bool:
    """Whether there is nothing to guess: see the module's text."""
    if target.absolute is not True or target.value is None or target.shift != 0.0:
        return False
    return limit.beyond(target.value) and limit.allowed_before(target.value)


def _would_be_one(script: Script, limit: Limit, tips: Tips) -> str:
    """Why places beyond a limit along the bed are not sent to it: another place of the script is there then, "" where none is."""
    if limit.axis == "z" or limit.once:
        return ""
    targets = [
        target
        for move in script.moves
        for target in move.targets
        if target.axis == limit.axis and not tips.another(script, move)
    ]
    beyond = {target.value for target in targets if _goes_to_the_limit(target, limit)}
    there = {
        target.value
        for target in targets
        if target.absolute and target.value is not None and abs(target.value - limit.value) <= HAIR
    }
    places = sorted(value for value in beyond | there if value is not None)
    if not beyond or len(places) < 2:
        return ""
    shown = f"{', '.join(f'{value:g}' for value in places[:-1])} and {places[-1]:g} mm"
    return f"{limit.axis} goes to {shown} in this script, and {_bound(limit)} now: at the limit these would be one place, and the stroke between them nothing"


def _out_of_reach(target: AxisTarget, limit: Limit, met: str) -> str:
    short = abs((target.value or 0.0) - limit.value)
    return (
        f"the tip gets {_bound(limit)} now, and it speaks of the {met} here: what is met at {target.value:g} mm "
        f"is out of reach by {short:g} mm, and a move that goes to the limit instead misses it"
        f"{'' if limit.axis == 'z' else ', so this one was not changed'}"
    )


def _once_it_is_set(target: AxisTarget, limit: Limit) -> str:
    return f"{target.axis} goes to {target.value:g} mm here, and {_bound(limit)} once {limit.once}"


def _from_another(target: AxisTarget, limit: Limit, tip: str) -> str:
    where = "to a place that can't be told" if target.value is None else f"to {target.value:g} mm"
    return (
        f"{target.axis} goes {where} here, and the new limit is {_shown(limit)}; {tip}, so nothing is changed"
    )


def _why_in_doubt(target: AxisTarget, limit: Limit) -> str:
    """Why a move may go beyond the limit, "" where it does not as far as its text says."""
    axis, shown = target.axis, _shown(limit)
    if target.value is None:
        said = f" ({target.word.text})" if target.word.text else ""
        return f"where {axis} goes can't be told for sure{said}; it may be beyond the new limit of {shown}"
    if target.absolute is False or target.shift:
        if target.after is None or not limit.beyond(target.after):
            return ""
        how = (
            "with the offset set before (G92)"
            if target.absolute
            else "as a relative move from the lines before"
        )
        return f"{how}, {axis} goes to {target.after:g} mm, beyond the new limit of {shown}"
    if not limit.beyond(target.value):
        return ""
    if target.absolute is None and target.of_axis:
        unknown = "a number below nought may be a place or a step back; if it is a place"
    elif target.absolute is None:
        unknown = (
            "this may be absolute (G90) or relative (G91), since it is not known what a line does, or whether a remark begins another"
            " piece, that stands after the last of these; if it is absolute"
            if target.mode_said
            else "nothing in the script says whether this is absolute (G90) or relative (G91); if it is absolute"
        )
    elif target.shift is None:
        unknown = "the origin was moved by an unknown amount before; without that"
    else:
        return f"{axis} goes beyond the new limit of {shown}, and went beyond the old one"
    return f"{unknown}, {axis} goes beyond the new limit of {shown}"


def _step_from_nowhere(target: AxisTarget, limit: Limit) -> float:
    """How far a relative move from an unknown place goes towards the limit; 0 if it does not."""
    if target.absolute is not False or target.value is None or target.before is not None:
        return 0.0
    return max(0.0, target.value if limit.upper else -target.value)


def _lift(script: Script, move: Move, target: AxisTarget, limit: Limit, step: float) -> Doubt:
    edge = limit.value - step if limit.upper else limit.value + step
    side = "above" if limit.upper else "below"
    why = (
        f"a relative move of {step:g} mm from wherever {target.axis} stands: from {side} {edge:g} mm it goes beyond"
        f" the new limit of {_shown(limit)}"
    )
    return script.doubt(move, target.word, why, "Shorten the move, or stay clear of the limit by as much.")


def _remedy(limit: Limit) -> str:
    if limit.upper:
        return f"Look at the line, and keep {limit.axis} within {_shown(limit)} by hand."
    return f"Look at the line, and change it by hand so that {limit.axis} is not below {_shown(limit)}."


def _bound(limit: Limit) -> str:
    return f"{'no further than' if limit.upper else 'not below'} {_shown(limit)}"


def _shown(limit: Limit) -> str:
    return f"{limit.value:g} mm"


def _change(limit: Limit, places: list[Reading], scripts: Sequence[Script], sheet: Sheet) -> ScriptChange:
    places = sorted(places, key=lambda place: place.value or 0.0, reverse=limit.upper)
    name = places[0].quantity
    base = dimensions.unit("mm").to_base(limit.value)
    new = NamedValue(f"will.{limit.quantity}", f"new limit of {limit.axis}", "mm", limit.origin, base=base)
    lines = ", ".join(f"{place.place.file}:{place.place.line} ({place.text})" for place in places)
    own = [script for script in scripts if name.startswith(script.reading.quantity + ".")]
    label = own[0].label
    # A script that feeds grinds cold filament, or is refused where there is none: it waits for the first loading.
    feeds = any(move.feed is not None for script in own for move in script.moves)
    loaded = ", hot and loaded," if feeds else ""
    wording = Wording(
        label=f"{label}: {limit.axis} of its moves",
        way="the new limit",
        says=(
            f"The script sends {limit.axis} beyond the new limit of {_shown(limit)} at {lines}; it goes to the limit"
            " instead. If something is met there (a lip, a brush, a switch), move that too. Other moves of the script stay as they are."
        ),
        source="an explicit target in absolute mode must not lie outside of the limits",
        verify=f"Run the script once{loaded} with nothing on the bed and a hand at the switch.",
        cautions=(_MOVING, _HOT_TOO) if feeds else (_MOVING,),
        check_at="first loading" if feeds else "first move",
    )
    pick = "min" if limit.upper else "max"
    formula = f"{pick}(was.{name}, will.{limit.quantity})"
    return change_of(places, formula, [new], wording, sheet, round_down=limit.upper, round_up=not limit.upper)

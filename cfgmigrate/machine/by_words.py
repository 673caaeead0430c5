"""One setting: what a names file says of it, else its words. A setting that is not in force says nothing; one of
which that is undecided is a doubt, where it would have said something.

Here is the order in which it is looked at. What makes words of heat no limit of a temperature, teeth no ratio, and words that fit
several quantities one of them is said where that is decided: `heat_or_not.py`, `teeth_of_one.py`, `which_of_several.py`.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.value import Items, Number, Text, Truth, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.axes_together import together_said
from cfgmigrate.machine.bare_scales import bare_scale
from cfgmigrate.machine.behind_sensor import LEFT_BEHIND, may_be_left_behind, near_a_sensor
from cfgmigrate.machine.by_name import said_by_name
from cfgmigrate.machine.collection import (
    Collected,
    Collection,
    Half,
    Torn,
    about,
    line_of,
    may_not_hold,
    protected_anyway,
    whole,
)
from cfgmigrate.machine.context import Spoken, unit_of
from cfgmigrate.machine.half_understood import ask_about
from cfgmigrate.machine.heat_or_not import HOTEND_MOST, goes_from_to, is_no_heat, of_feeding, sensor_named
from cfgmigrate.machine.list_matching import list_fits
from cfgmigrate.machine.list_orders import UNSURE
from cfgmigrate.machine.lists import list_said, range_said, ranges_listed
from cfgmigrate.machine.lone_names import may_count, says_too_little
from cfgmigrate.machine.matching import Fit, best_fits, fits
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.names import Named, Names
from cfgmigrate.machine.nearest import names_a_wheel, nearest, said_in_full
from cfgmigrate.machine.pins_and_places import possible_there
from cfgmigrate.machine.plain_words import names_owner, protected_name
from cfgmigrate.machine.quantities import facts, of_feeder, quantity
from cfgmigrate.machine.remark_against import said_against
from cfgmigrate.machine.rows import nearest_rows
from cfgmigrate.machine.script_role import script_role
from cfgmigrate.machine.share_or_current import share_against
from cfgmigrate.machine.signs import sign_said
from cfgmigrate.machine.spots import Said, Spot, name_line, never_edited
from cfgmigrate.machine.teeth_of_one import note_gear, note_ignored, one_gear, teeth_of_gears
from cfgmigrate.machine.two_meanings import (
    back_by_itself,
    back_of_what,
    draws_in,
    feeds_back,
    goes_back_itself,
)
from cfgmigrate.machine.values import readings_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.which_of_several import by_value, else_meant, fastest_or_longest, which_of
from cfgmigrate.machine.words import Name, split

#: what a line that is protected by its words may be named as, and is then set by hand
_SET_BY_HAND = frozenset({"probe.offset_z", "runout.distance"})
#: the same of a line that is protected as an end stop's
_AT_AN_END_STOP = frozenset({"axis.z.max"})
BY_HAND_ALONE = "it is protected by its own words: set it by hand"
_PULLED = "retraction.length"
_PULLED_AT = "retraction.speed"
#: which way round something turns, and nothing that may be on or off
_WAYS_ROUND = frozenset(
    ("plus", "minus", "positive", "negative", "forward", "forwards", "backward", "backwards", "reversed", "inverted",
     "flipped", "mirrored", "normal", "cw", "ccw", "counterclockwise")
)  # fmt: skip
_OF_A_TURN = ("feed_per_turn", "travel_per_turn")
_FULL_STEPS = "feeder.full_steps"
_LOADED = "feeder.load_length"
_LOADED_WAYS = frozenset({_LOADED, "feeder.unload_length", "feeder.path_length", "feeder.tube_length"})
_GIVEN_BACK = frozenset({"retraction.return_speed"})
_VERBS = frozenset({"push", "pushing", "pushed", "pushes"})
_AXES = frozenset("xyz")
#: what may say the values of several settings in one, by a list or by a number that holds for all
_OF_SEVERAL = (ranges_listed, together_said, list_said, range_said)
_OF_ONE = (together_said,)
_MOST_AXES = 3


def take_setting(found: Collection, spot: Spot, names: Names | None, spoken: Spoken) -> None:
    setting = spot.setting
    named = names.find(spot.document, setting) if names else None
    if named:
        found.names_used.add(named.key)
    if setting.state is State.INACTIVE:
        return
    if spoken.beside and not named:
        found.unread.append(Unread(spot.place(), line_of(setting), setting))
        return
    name, best = best_fits(spoken.names) if spoken.names else (Name((), ()), ())
    best = tuple(fit for fit in best if not (fit.quantity.endswith(".sensor") and goes_from_to(name)))
    if not named:
        best = possible_there(setting, best)
    if setting.state is State.UNDECIDED:
        found.doubts.extend(_undecided(spot, named, name, best))
        return
    if (
        name.cut
        and not named
        and not (protected_name(name) or any(quantity(f.quantity).protected for f in best))
    ):
        near = tuple(fit.quantity for fit in best)
        found.unread.append(Unread(spot.place(), line_of(setting), setting, near))
        return
    if not named and _is_code_of_bits(name, best, setting.value):
        near = tuple(fit.quantity for fit in best if _may_be(fit, setting.value))
        found.unread.append(Unread(spot.place(), line_of(setting), setting, near))
        return
    if named and _by_hand_alone(name, best, named):
        found.take(never_edited(said_by_name(spot, named, spoken), BY_HAND_ALONE))
        return
    if named and not _stays_protected(found, spot, name, best, named):
        if named.ignored:
            fitted = tuple(fit.quantity for fit in best)
            found.said_nothing.append(Unread(spot.place(), line_of(setting), setting, fitted))
            note_ignored(found, spot, name, best)
            found.doubts.extend(share_against(spot, best, named))
        of_whom = name.counted if any(of_feeder(each.quantity) for each in named.meanings) else None
        found.take(said_by_name(spot, named, spoken), counted=of_whom, settled=of_whom is None)
        return
    _by_words(found, spot, name, best, spoken)


def _is_code_of_bits(name: Name, best: tuple[Fit, ...], value: str) -> bool:
    """Whether a value is written to base 16, as colours, addresses, masks and rows of pictures are and no amount is. What is
    protected stays it."""
    in_hex = value.strip().lower().lstrip("+-").startswith("0x") and isinstance(read_value(value), Number)
    return in_hex and not protected_name(name) and not any(quantity(fit.quantity).protected for fit in best)


def _may_be(fit: Fit, value: str) -> bool:
    """Whether a number is one that such a quantity can have: then it is told, and a person looks."""
    number = read_value(value)
    return isinstance(number, Number) and quantity(fit.quantity).plausible(number.value)


def take_script(found: Collection, spot: Spot, spoken: Spoken) -> None:
    """Lines of a script in a value: a script where they are word-address lines, else nothing that is understood."""
    setting = spot.setting
    name = best_fits(spoken.names)[0] if spoken.names else Name((), ())
    if setting.state is State.ACTIVE and (role := script_role(name, setting.value)):
        found.readings.append(Collected(whole(spot, role), settled=True))
    elif setting.state is State.ACTIVE:
        found.unread.append(Unread(spot.place(), line_of(setting), setting))


def _undecided(spot: Spot, named: Named | None, name: Name, best: tuple[Fit, ...]) -> Iterator[Doubt]:
    meant = [meaning.quantity for meaning in named.meanings] if named else [fit.quantity for fit in best]
    meant = meant or [target for fit in list_fits(name) for target in fit.entry.of.values()]
    if meant:
        yield may_not_hold(spot, meant[0])


def _by_hand_alone(name: Name, best: tuple[Fit, ...], named: Named) -> bool:
    """Whether a setting that is protected by words alone is named as what a person sets by hand: then it is read as that,
    and never written."""
    meant = {meaning.quantity for meaning in named.meanings}
    may_be = _SET_BY_HAND | _AT_AN_END_STOP if _of_an_end_stop(name) else _SET_BY_HAND
    return bool(meant) and meant <= may_be and not best and bool(protected_name(name))


def _of_an_end_stop(name: Name) -> bool:
    return "end_stop" in protected_name(name)


def _stays_protected(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...], named: Named) -> bool:
    """Whether a setting is protected by its own words, whatever a names file says; a doubt says so."""
    by_words = [fit.quantity for fit in best if not is_no_heat(spot, name, fit)]
    protected = any(quantity(each).protected for each in by_words) if by_words else bool(protected_name(name))
    by_name_alone = not by_words and _of_an_end_stop(name)
    if named.ignored and (by_name_alone or _may_be_another_s(best)):
        return False  # a question about it offers that
    if named.ignored and (by_name_alone or not all(quantity(each).protected for each in by_words)):
        return False  # it may be either, and nothing is written of it
    if not protected or (named.meanings and all(quantity(m.quantity).protected for m in named.meanings)):
        return False
    found.doubts.append(protected_anyway(named))
    return True


def _may_be_another_s(best: tuple[Fit, ...]) -> bool:
    """Whether a protected setting may be another machine's: an end stop's place, or anything in a section of which nobody knows a
    word."""
    return bool(best) and all(fit.strange or fit.quantity.startswith("end_stop.") for fit in best)


def _by_words(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...], spoken: Spoken) -> None:
    setting = spot.setting
    role = script_role(name, setting.value)
    if role:
        found.readings.append(Collected(whole(spot, role), settled=True))
        return
    for several in _OF_ONE if isinstance(read_value(setting.value), Number | Truth) else _OF_SEVERAL:
        listed = next((said for each in spoken.names if (said := several(spot, each, spoken.order))), None)
        if listed and teeth_of_gears(spot, name, listed):
            found.unread.append(Unread(spot.place(), line_of(setting), setting))
            return
        if listed and (doubt := bare_scale(spot, name, [each.quantity for each in listed.readings])):
            found.doubts.append(doubt)
            return
        if listed:
            found.take(listed, settled=True)
            return
    best = _ways_of_a_turn(best, setting.value)
    if doubt := bare_scale(spot, name, [each.quantity for each in best]) or sign_said(spot, best):
        found.doubts.append(doubt)
        return
    if doubt := said_against(spot, name, best, spoken.remark):
        found.doubts.append(doubt)
        return
    if any(fit.quantity.startswith("retraction.") for fit in best) and goes_back_itself(
        (*name.section, *name.key), tuple(split(spoken.remark))
    ):
        found.doubts.extend(about((_either_way(spot),), Fit(_PULLED_AT)))
        return
    if len(best) > 1 and all(quantity(fit.quantity).protected for fit in best):
        best = (max(best, key=lambda fit: fit.phrased),)
    if any(fit.quantity == _PULLED for fit in best) and feeds_back(name.key):
        found.doubts.extend(about((_either_way(spot),), Fit(_PULLED)))
        return
    if any(fit.quantity == _PULLED_AT for fit in best) and back_of_what(name.section, name.key):
        found.doubts.extend(about((_either_way(spot),), Fit(_PULLED_AT)))
        return
    if any(fit.quantity in (_LOADED, _PULLED, _PULLED_AT) for fit in best) and draws_in(name.key):
        found.doubts.extend(
            about((which_of(spot, (Fit(_LOADED), Fit(_PULLED), Fit(_PULLED_AT))),), Fit(_PULLED))
        )
        return
    if any(fit.quantity in _GIVEN_BACK for fit in best) and back_by_itself(
        (*name.section, *name.said), name.key
    ):
        found.doubts.extend(about((_either_way(spot),), Fit(_PULLED_AT)))
        return
    best = fastest_or_longest(spot, name, best)
    if len(best) > 1 and not best[0].strange:
        left, said = by_value(spot, best)
        if said.readings:
            found.take(said, left, name.counted)
        else:
            found.torn.append(Torn(spot, name, best, which_of(spot, best)))
        return
    if best and best[0].strange and not quantity(best[0].quantity).protected:
        _strange_said(found, spot, name, best)
        return
    if len(best) == 1 and _of_whom_by_a_verb(name, best[0]):
        _strange_said(found, spot, name, best)
        return
    if best and _only_a_thing(best[0]) and not _in_key(name, best[0]):
        best = ()
    if best and one_gear(spot, name, best[0]):
        near = tuple(fit.quantity for fit in best)
        found.unread.append(Unread(spot.place(), line_of(setting), setting, near))
        note_gear(found, spot, name)
        return
    if best and is_no_heat(spot, name, best[0]):
        if best[0].quantity == HOTEND_MOST and names_owner(name.words):
            ask_about(found, spot, Fit("feeder.max_speed"))
            return
        found.unread.append(Unread(spot.place(), line_of(setting), setting))
        return
    if best and (
        says_too_little(name, best[0])
        or may_count(setting.key, name, best[0])
        or _for_each_axis(spot, spoken, name, best[0])
    ):
        ask_about(found, spot, best[0])
        return
    if best:
        best = (of_feeding(spot, best[0], name), *best[1:])
        said = readings_of(spot, best[0])
        if _may_be_full_steps(spot, best[0], said):
            found.torn.append(Torn(spot, name, (best[0], Fit(_FULL_STEPS)), _of_a_turn(spot)))
            return
        if said.doubts and not said.readings and (other := else_meant(spot, best[0], spoken)):
            found.take(other[1], other[0], name.counted)
            return
        if said.readings or (said.doubts and not _only_a_thing(best[0])):
            found.take(said, best[0], name.counted)
            return
    protected = protected_name(name) or sensor_named(spot, name)
    if protected:
        found.readings.append(Collected(whole(spot, protected), settled=True))
        return
    if name.dimension and _in_wrong_unit(found, spot, name):
        return
    note_gear(found, spot, name)
    near = (nearest(name) or nearest_rows(name, setting.value)) if found.tells_near else ()
    if names_a_wheel(name.key):
        near = tuple(each for each in near if quantity(each).kind != "ratio")
    if near_a_sensor(name.words):
        # a way from the sensor is none to load: written as one, it would be counted down with the tube
        behind = may_be_left_behind(setting)
        near = (LEFT_BEHIND,) if behind else tuple(each for each in near if each not in _LOADED_WAYS)
    stated = unit_of(setting.value) or spot.unit
    if stated is not None:
        full = {of for of, _ in said_in_full(name)}  # then the unit is the slip
        near = tuple(each for each in near if each in full or stated.of in facts(each).measures)
    if near and not _has_a_number(setting.value):
        near = tuple(each for each in near if quantity(each).kind not in ("number", "ratio"))
    found.unread.append(Unread(spot.place(), line_of(setting), setting, near))


def _either_way(spot: Spot) -> Doubt:
    """The question of what is fed back with a retraction: nothing is read of it."""
    why = "this may be the retraction's length, what is put back after it, or the speed of either"
    lines = ", or ".join(
        name_line(spot.setting, each) for each in (_PULLED, _PULLED_AT, "retraction.return_speed")
    )
    return spot.doubt(why, f"say which it is in cfgmigrate.yaml, under meanings: {lines}; if none: ignore")


def _has_a_number(value: str) -> bool:
    """Whether a value is a number, or several; a word with a number in it is none."""
    read = read_value(value)
    return any(isinstance(each, Number) for each in (read.items if isinstance(read, Items) else (read,)))


def _ways_of_a_turn(best: tuple[Fit, ...], value: str) -> tuple[Fit, ...]:
    """What a name says of a turn: which way round it goes where its value is such a word, `turn = minus`, else how much it moves.
    `rev = minus` may be short for a turn or for reversed, which is then the same."""
    word = read_value(value)
    if not (isinstance(word, Text) and word.text.casefold() in _WAYS_ROUND):
        return best
    found = {each.quantity: each for each in best}
    for each in best:
        whose, _, what = each.quantity.rpartition(".")
        if what in _OF_A_TURN:
            del found[each.quantity]
            found.setdefault(f"{whose}.direction", Fit(f"{whose}.direction"))
    return tuple(found.values())


def _may_be_full_steps(spot: Spot, fit: Fit, said: Said) -> bool:
    """Whether a lone `steps` of the feeder may be its motor's: its number is a usual count of full steps and no unit is stated."""
    counts = any(reading.value in (200, 400) for reading in said.readings)
    return fit.bare and counts and fit.quantity == "feeder.steps_per_mm" and spot.unit is None


def _of_a_turn(spot: Spot) -> Doubt:
    why = "this may be feeder steps per mm or the motor's full steps per turn"
    line = name_line(spot.setting, _FULL_STEPS)
    return spot.doubt(why, f"say so in cfgmigrate.yaml, under meanings: {line}")


def _only_a_thing(fit: Fit) -> bool:
    """Whether a name is no more than a thing's, which may as well stand for its kind: `filament = ABS`."""
    return fit.bare and fit.quantity in ("filament.diameter", "nozzle.diameter")


def _in_key(name: Name, fit: Fit) -> bool:
    """Whether the key itself names a thing or its measure: `tool = 1` below a filament's feeders is no diameter."""
    thing = fit.quantity.partition(".")[0]
    words = {word for each in (thing, "diameter", "size") for s in vocabulary().spelled(each) for word in s}
    return not words.isdisjoint((*name.key, *name.said)) or "mm" in name.key


def _in_wrong_unit(found: Collection, spot: Spot, name: Name) -> bool:
    """A doubt where the words name a quantity that the unit can't be of."""
    best = fits(replace(name, dimension="", said=()))
    if len(best) != 1 or best[0].strange or best[0].alone or best[0].bare:
        return False
    said = readings_of(spot, best[0])
    found.doubts.extend(about(said.doubts, best[0]))
    return bool(said.doubts) and not said.readings


def _of_whom_by_a_verb(name: Name, fit: Fit) -> bool:
    """Whether a lone `push` of a key is all that makes a value the feeder's, below a section of something else: `[side] push`
    in mm/s² is an acceleration of that."""
    if not (fit.bare and name.section) or names_owner(name.section):
        return False
    return fit.quantity.startswith("feeder.max_") and _fed_by_a_verb(name)


def _for_each_axis(spot: Spot, spoken: Spoken, name: Name, fit: Fit) -> bool:
    """Whether a list of what a feeder has is as long as the file's order of the axes, or as the axes and the feeder are many
    where a verb alone makes it the feeder's: `PUSH_MAX { 4200, 2600, 90, 3000 }` is no machine's with four feeders."""
    value = read_value(spot.setting.value)
    count = len(value.items) if of_feeder(fit.quantity) and isinstance(value, Items) else 0
    letters = spoken.order.removesuffix(UNSURE)
    by_order = count == len(letters) and len(_AXES.intersection(letters)) > 1
    return count > 2 and (by_order or (count > _MOST_AXES and _fed_by_a_verb(name)))


def _fed_by_a_verb(name: Name) -> bool:
    """Whether a key says by a verb that something is fed, which makes nobody a feeder by itself."""
    return not _VERBS.isdisjoint(name.key)


def _strange_said(found: Collection, spot: Spot, name: Name, best: tuple[Fit, ...]) -> None:
    """A setting whose section has words that nobody knows: it may be some other device's, so it is not read.
    A doubt where the section speaks of the feed path all the same, or where nothing else makes it another's."""
    protected = protected_name(name)
    if protected:
        found.readings.append(Collected(whole(spot, protected), settled=True))
    elif len(best) == 1 and not best[0].alone and names_owner(name.words):
        found.half.append(Half(spot, name, best[0]))
    else:
        found.unread.append(
            Unread(spot.place(), line_of(spot.setting), spot.setting, tuple(f.quantity for f in best))
        )

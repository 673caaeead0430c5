"""Numbers that were not understood, and which of them may be taught by a line that a person only takes the `#` away from.

Listed are settings with a number, in sections that speak of the machine's feed path, its axes or its drivers, or whose
words come close to a quantity. Those whose number is near one that matters (`near_lengths.py`) come first. Of several settings
that differ in nothing but the letter of an axis there is one line, with `@` for it; how it is shown is the matter of `teachable.py`.

Nothing is read by this; how such lines are kept is the matter of the site file.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

from cfgmigrate.dialects.value import Items, Number, Truth, read_value
from cfgmigrate.files.site import CODE_WORD
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.behind_sensor import LEFT_BEHIND, may_be_left_behind
from cfgmigrate.machine.by_number import LETTERED, Numbered, can_be, may_be, shares_word
from cfgmigrate.machine.homing_moves import homing_sections, is_back_off, is_of_homing
from cfgmigrate.machine.key_remarks import said_of
from cfgmigrate.machine.key_units import key_dimension
from cfgmigrate.machine.listed_letters import explains
from cfgmigrate.machine.model import Machine, Unread
from cfgmigrate.machine.near_lengths import AXIS_IN_NAME, OF_THE_WAY, near_to
from cfgmigrate.machine.near_words import near_meanings
from cfgmigrate.machine.nearest import MOST_SUGGESTED, names_a_wheel, said_in_full
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.perhaps import ENDS, FEWEST_ROWS, Perhaps, in_volts, perhaps
from cfgmigrate.machine.plain_words import names_owner
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.remarks import Remarks, remarks_of
from cfgmigrate.machine.side_of_a_probe import side_of_a_probe
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.stated import OF_A_SHARE, stated
from cfgmigrate.machine.teachable import MEANT_BY_LENGTH, PATH, RETRACTION_SPEED, Teachable
from cfgmigrate.machine.telling_keys import telling_keys
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import read_name, split

_NUMBERED = pattern(r"\d+")
_PLACES = ("probe.", "park.")
_MAY_BE = {**MEANT_BY_LENGTH, PATH: ("feeder.load_length", "feeder.unload_length")}
#: what a name may say in full, with so many words more, and is then told of whatever its number
WRECKS = frozenset(
    {"feeder.feed_per_turn", "feeder.gear_ratio", "feeder.steps_per_mm", "feeder.full_steps", "motor.run_current",
     "motor.hold_current", "retraction.length", "lag.coefficient", "axis.z.max", "probe.offset_z", "end_stop.z"}
)  # fmt: skip
MOST_OVER = 2
#: a bound of the empty ways that are drawn back for, however near its words are to the length of a retraction
_LENGTH, _BOUND = "retraction.length", "retraction.shortest_travel"
_ONLY_OVER = pattern(r"(?i)(?<![a-z])only[ _.-]{0,3}(?:over|above|beyond|from)(?![a-z])")
#: the axes back off when they find their ends: that is no retraction
_HOMING = frozenset(("home", "homing", "homed"))
#: steps a second are a speed, and none for a millimetre
_STEPS_A_SECOND = pattern(
    r"(?i)(?:step|pulse|tick)s?(?:[ _.-]{0,2}(?:/|per|a|p)[ _.-]{0,2}|[ _-])s(?:ec(?:ond)?)?[2²]?(?![a-z])"
)


def teachable(
    machine: Machine, lengths: Mapping[float, str], by_numbers: bool = False
) -> tuple[Teachable, ...]:
    """What may be taught of a machine. `lengths` are those that matter, in mm, each with what it is; with `by_numbers`
    candidates are also what a setting's number may be, whatever its words say."""
    remarks = {document.path: remarks_of(document) for document in machine.documents}
    coded = {document.path for document in machine.documents if document.dialect == "command"}
    groups: dict[tuple[str, str], list[tuple[Unread, Number]]] = {}
    rows = Counter(map(_row, machine.unread))
    maybe = {(each.unread.place.file, each.unread.setting.at): each for each in perhaps(machine)}
    beyond = (each.unread for each in maybe.values() if each.unread not in machine.unread)
    for unread in (*machine.unread, *beyond):
        value = _number(unread)
        at = unread.place.file, unread.setting.at
        if value is not None and (
            at in maybe
            or _relevant(unread, unread.place.file in coded)
            or (unread.said and near_to(unread, value, unread.said, lengths))
        ):
            name = unread.setting.name
            pattern = AXIS_IN_NAME.sub("@", name)
            groups.setdefault((unread.place.file, pattern), []).append((unread, value))
    fed = {(r.place.file, r.setting.section) for r in machine.readings if of_feeder(r.quantity)}
    homing = homing_sections(machine.documents) - fed
    read: dict[str, set[str]] = {}
    for reading in machine.readings:
        read.setdefault(reading.setting.section, set()).add(reading.quantity)
    all_read = {reading.quantity for reading in machine.readings}
    near_words = near_meanings(machine) if by_numbers else {}
    found = []
    for (file, pattern), group in _of_axes_alone(groups):
        unread, number = group[0]
        remark = _remark(remarks[file], unread, file in coded)
        single = len({each.setting.name for each, _ in group}) == 1
        in_table = rows[_row(unread)] >= FEWEST_ROWS and _NUMBERED.search(unread.setting.name)
        in_homing = (file, unread.setting.section) in homing and is_back_off(unread.setting)
        at_home = in_homing or is_of_homing(unread.setting)
        says = "" if OF_A_SHARE.match(remark) else _says(unread)
        bound = says == _LENGTH and _ONLY_OVER.search(unread.setting.key) is not None
        of_measuring = unread.setting.key.lower() in telling_keys().measuring
        near = (
            "" if in_table or at_home or bound or of_measuring else near_to(unread, number, remark, lengths)
        )
        if says and near == PATH:
            near = ""  # what a name says in full comes before what its number is near
        likely = maybe.get((file, unread.setting.at))
        if likely and likely.told:
            near = says = ""  # the plug of the motor says more than words beside it
        likely = likely if not (near or says) else None
        first = says or (likely.quantity if likely else "")
        by_remark = said_of(machine, unread)
        candidates = tuple(dict.fromkeys((*filter(None, (first, by_remark)), *_by_words(group))))
        if bound:
            says = _BOUND
            candidates = tuple(dict.fromkeys(_BOUND if each == _LENGTH else each for each in candidates))
        elif says == _LENGTH and _names_a_speed(unread):
            candidates = tuple(
                dict.fromkeys(RETRACTION_SPEED if each == _LENGTH else each for each in candidates)
            )
        by_near_words = near_words.pop((file, unread.setting.at), ()) if single else ()
        if by_numbers and not OF_A_SHARE.match(remark):
            numbered = _numbered(group, remarks[file], file in coded)
            by_words = (*by_near_words, *candidates, *_MAY_BE.get(near, ()))
            fit = (each for each in by_words if all(can_be(each.replace("@", n.letter), n) for n in numbered))
            section = read.get(unread.setting.section, set())
            told = near or says or likely
            more = () if told else _by_numbers(section, group, numbered, file in coded)
            by_plug = (likely.quantity,) if likely and likely.told else ()
            candidates = tuple(dict.fromkeys((*by_plug, *fit, *more)))[:MOST_SUGGESTED]
        candidates = tuple(name for name in candidates if _IN_PLACE_OF.get(name) not in all_read)
        if by_numbers and rows[_row(unread)] >= FEWEST_ROWS and not (candidates or near):
            continue  # a table of a sensor's
        if likely and likely.quantity == "motor.run_current" and in_volts(unread):
            candidates = (
                "ignore",
            )  # amperes would be a wrong answer: a person turns the screw, and mends the line
        if side := side_of_a_probe(unread, says, candidates):
            says, turned = side
            candidates = ("ignore",) if turned else (says,)
        found.append(
            Teachable(
                unread.setting.name if single else pattern,
                number.value,
                _shown(group),
                remark,
                candidates,
                tuple(each for each, _ in group),
                near,
                says,
                _code(unread, single) if file in coded else "",
                likely.quantity if likely else "",
                f"{likely.beside.place.file}:{likely.beside.place.line}" if likely and likely.beside else "",
                likely.told if likely else "",
                likely.unit if likely else "",
            )
        )
    found.extend(_lists(maybe.values(), remarks))
    found.extend(_by_near_words(machine, near_words, remarks))
    return tuple(
        sorted(
            found,
            key=lambda each: (
                not each.near,
                each.near == PATH,
                not each.says,
                not each.perhaps,
                -len(each.settings),
                not each.candidates,
            ),
        )
    )


#: a machine has one or the other
_IN_PLACE_OF = {
    "feeder.feed_per_turn": "feeder.steps_per_mm",
    "feeder.steps_per_mm": "feeder.feed_per_turn",
}


def _row(unread: Unread) -> tuple[str, str]:
    """What the rows of one table have in common: their names, but for the numbers in these."""
    return unread.place.file, _NUMBERED.sub("#", unread.setting.name)


def _by_near_words(
    machine: Machine, near_words: Mapping[tuple[str, int], tuple[str, ...]], remarks: Mapping[str, Remarks]
) -> Iterator[Teachable]:
    """What only words near the trade's speak of: lists, and settings of other parts."""
    for unread in machine.unread:
        file, setting = unread.place.file, unread.setting
        if candidates := near_words.get((file, setting.at)):
            remark = remarks[file].behind(setting)
            yield Teachable(setting.name, 0.0, setting.value, remark, candidates[:MOST_SUGGESTED], (unread,))


def _lists(found: Iterable[Perhaps], remarks: Mapping[str, Remarks]) -> Iterator[Teachable]:
    """The lists with a number for each axis that may hold a value for which no line was read."""
    for each in found:
        unread, value = each.unread, read_value(each.unread.setting.value)
        if isinstance(value, Items):
            ids = next((entry.of for entry in vocabulary().lists if each.quantity in entry.of.values()), {})
            named = (
                (each.quantity.replace("max", "min"), each.quantity)
                if len(value.items) == ENDS
                else ids.values()
            )
            meant = (f"[{', '.join(named)}]",) if len(named) == len(value.items) else ()
            remark = remarks[unread.place.file].behind(unread.setting)
            yield Teachable(
                unread.setting.name,
                0.0,
                unread.setting.value,
                remark,
                meant,
                (unread,),
                perhaps=each.quantity,
            )


def _number(unread: Unread) -> Number | None:
    """A setting's number; a truth as 0 or 1."""
    value = read_value(unread.setting.value)
    if isinstance(value, Truth):
        return Number(float(value.value), unread.setting.value, value.start, value.end)
    return value if isinstance(value, Number) else None


def _of_axes_alone(
    groups: Mapping[tuple[str, str], list[tuple[Unread, Number]]],
) -> Iterator[tuple[tuple[str, str], list[tuple[Unread, Number]]]]:
    """The groups of several axes; else those of one name, which one line teaches alike."""
    for place, group in groups.items():
        letters = {_letter(unread, place[1]) for unread, _ in group}
        if len(letters) > 1 and letters & set(LETTERED):
            yield place, group
            continue
        named: dict[str, list[tuple[Unread, Number]]] = {}
        for each in group:
            named.setdefault(each[0].setting.name, []).append(each)
        yield from ((place, alike) for alike in named.values())


def _letter(unread: Unread, pattern: str) -> str:
    """What `@` is in a setting's name, "" where there is none."""
    at = pattern.find("@")
    return unread.setting.name[at : at + 1].lower() if at >= 0 else ""


def _shown(group: Sequence[tuple[Unread, Number]]) -> str:
    return ", ".join(unread.setting.value for unread, _ in group)


def _remark(remarks: Remarks, unread: Unread, coded: bool) -> str:
    return (remarks.of_line(unread.setting) or unread.said) if coded else remarks.behind(unread.setting)


def _by_words(group: Sequence[tuple[Unread, Number]]) -> tuple[str, ...]:
    """What the words of a group come close to."""
    nearest = group[0][0].nearest
    one_name = len({each.setting.name for each, _ in group}) == 1
    return nearest if one_name else _for_axes(nearest)


def _numbered(group: Sequence[tuple[Unread, Number]], remarks: Remarks, coded: bool) -> tuple[Numbered, ...]:
    """The numbers of a group, each with what its unit, its remark and its name say that it measures."""
    pattern = AXIS_IN_NAME.sub("@", group[0][0].setting.name)
    found = []
    for each, number in group:
        told = (
            stated(number.unit or _remark(remarks, each, coded)).unit
            or remarks.below_heading(each.setting).unit
        )
        measure = key_dimension(tuple(split(each.setting.key)))
        name = read_name(each.setting.section, each.setting.key)
        words = vocabulary().names_in(frozenset(name.words))
        truth = isinstance(read_value(each.setting.value), Truth)
        found.append(
            Numbered(_letter(each, pattern), number.value, told, measure[0] if measure else "", words, truth)
        )
    return tuple(found)


def _by_numbers(
    section: Collection[str],
    group: Sequence[tuple[Unread, Number]],
    numbered: Sequence[Numbered],
    coded: bool,
) -> tuple[str, ...]:
    """What the numbers of a group may be, without what its section says already; nothing for a name that speaks of another
    measure, nor for a code that the file's own list explains."""
    if explains(group[0][0].said) or not offered().elsewhere.isdisjoint(split(group[0][0].setting.name)):
        return ()
    found = may_be(numbered, () if coded else section)
    if not coded and names_a_wheel(split(group[0][0].setting.key)):
        found = tuple(each for each in found if not each.endswith(".gear_ratio"))
    if len(numbered) > 1 or coded:
        # a place beside another part's, such as another tip's, has numbers as a probe's or a parking place's
        return tuple(
            each for each in found if coded or not each.startswith(_PLACES) or _speaks_for(each, numbered[0])
        )
    return tuple(each for each in found if _speaks_for(each, numbered[0]))


def _speaks_for(name: str, each: Numbered) -> bool:
    """Whether more than a number speaks for a quantity: a word that both names have, or, where no word of the setting is
    known, a number that is no mere switch."""
    if each.words - vocabulary().fillers:
        return shares_word(name, each) and not (each.value in (0, 1) and not each.measure)
    return each.unit is not None or each.value not in (0, 1) or each.truth


def _code(unread: Unread, single: bool) -> str:
    """A word of a code as `codes` has it; "" for a word of another command, which is a setting like any other."""
    word = f"{unread.setting.section}.{unread.setting.key if single else '@'}"
    return word if CODE_WORD.fullmatch(word) else ""


def _relevant(unread: Unread, coded: bool) -> bool:
    if coded and (unread.setting.key.upper() in "XYZE" or may_be_left_behind(unread.setting, unread.said)):
        return True
    name = read_name(unread.setting.section, unread.setting.key)
    present = vocabulary().names_in(frozenset(name.words))
    return bool(unread.nearest) or names_owner(name.words) or not present.isdisjoint(OF_THE_WAY)


def _for_axes(ids: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(re.sub(r"(?<=axis\.)[xyz](?=\.)|(?<=_)[xyz]$", "@", each) for each in ids))


def _names_a_speed(unread: Unread) -> bool:
    """Whether a key says how fast, and not how far: a length written there would be taken for a speed."""
    words = split(unread.setting.key)
    said = vocabulary().names_in(frozenset((*words, *(way for word in words for way in ways_of(word)[0]))))
    return "speed" in said and "length" not in said


def _says(unread: Unread) -> str:
    """The quantity of `WRECKS` that a setting says in full, with a word or two more; "" for none."""
    name = read_name(unread.setting.section, unread.setting.key)
    if _HOMING & set(name.words) or _STEPS_A_SECOND.search(unread.setting.name):
        return ""
    told = (what for what, over in said_in_full(name) if 0 < over <= MOST_OVER and what in WRECKS)
    return next(told, LEFT_BEHIND if may_be_left_behind(unread.setting, unread.said) else "")

"""What a setting says where a person said in a names file or the site file what it is.

The person is believed, and the key is still read: of which feeder it is and, where the person says none, its unit. Where
the key's own words say another unit, or what is measured in another, nothing is edited. Which settings are protected whatever anybody says is told in
`by_words.py`.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.dialects.value import Items, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.units import units
from cfgmigrate.machine import commas
from cfgmigrate.machine.collection import about, whole
from cfgmigrate.machine.context import Spoken
from cfgmigrate.machine.gear_pairs import count_of_teeth, teeth_of_one
from cfgmigrate.machine.matching import Fit, best_fits
from cfgmigrate.machine.model import Quantity
from cfgmigrate.machine.names import PROBE, Meaning, Named
from cfgmigrate.machine.quantities import facts, of_feeder, quantity
from cfgmigrate.machine.spots import Said, Spot, joined, never_edited
from cfgmigrate.machine.values import one_a_feeder, reading_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.word_places import key_says
from cfgmigrate.machine.words import read_name, split


def said_by_name(spot: Spot, named: Named, spoken: Spoken) -> Said:
    """What a setting says when a names file says what it is; of which feeder it is, its own name still says, and its
    unit where the names file says none. Where both say one, and not the same, nothing is edited."""
    if named.ignored:
        return Said()
    if none := (
        _said_to_be_a_share(spot, named, spoken)
        or _said_in_volts(spot, named)
        or _said_of_so_many_mm(spot, named)
    ):
        return Said((), (none,))
    said = _as_named(spot, named, spoken)
    against = ((_against_key(each, spoken), each) for each in named.meanings)
    why, meaning = next((each for each in against if each[0]), ("", named.meanings[0]))
    if not said.readings:
        return said
    if not why:
        return _against_its_words(spot, said, named, spoken)
    said = never_edited(said, why)
    right = " ".join(filter(None, (meaning.unit, meaning.qualifier)))
    coded = spot.document.dialect == "command"
    in_remark = f"if the remark is wrong, write {right} in it; " if coded else ""
    remedy = f"take the unit out of the meaning of {named.key!r}, if the key is right; {in_remark}else set it by hand"
    return replace(said, doubts=(*said.doubts, spot.doubt(why, remedy)))


def _against_its_words(spot: Spot, said: Said, named: Named, spoken: Spoken) -> Said:
    """The same, not edited where all words of the key say something that is measured otherwise, `steps_per_mm` of which a person
    says that it is a length, or something of another axis: a unit in the meaning says that it is meant."""
    meaning, *others = named.meanings
    best = best_fits(spoken.names)[1] if spoken.names else ()
    if others or meaning.unit or len(best) != 1 or best[0].strange or best[0].alone:
        return said
    theirs, ours = quantity(best[0].quantity), quantity(meaning.quantity)
    if {theirs.id, ours.id} == _ASKED_OF_STEPS and not {"full", "mm"} & set(split(spot.setting.key)):
        return said  # bare steps are asked about, and may be answered with either
    counts = theirs.kind in _NUMBERS and ours.kind in _NUMBERS
    if not counts or (
        _measured_as(theirs) == _measured_as(ours) and not _of_another_axis(spot, theirs, ours)
    ):
        return said
    why = f"its key says {theirs.label}, and its meaning {ours.label}"
    with_unit = f"write it with its unit: {{quantity: {ours.id}, unit: {ours.unit}}}"
    remedy = (
        f"if the key is right, take the meaning of {named.key!r} out; if the meaning is, "
        f"{with_unit if ours.unit else 'set it by hand'}"
    )
    return replace(never_edited(said, why), doubts=(*said.doubts, spot.doubt(why, remedy)))


def _of_another_axis(spot: Spot, one: Quantity, other: Quantity) -> bool:
    """Whether each of two quantities is of an axis, and not of the same one, and the name has the letter of the first: which axis a part
    goes along is for the person to say."""
    first, second = (_AXIS.search(each.id) for each in (one, other))
    written = split(f"{spot.setting.section} {spot.setting.key}")
    return bool(first and second and first[1] != second[1] and first[1] in written)


def _measured_as(wanted: Quantity) -> str:
    """In what a quantity is measured; one without a unit, as a count of steps is, only as itself, whoever's it is."""
    return units()[wanted.unit].of if wanted.unit else wanted.id.rpartition(".")[2]


def _said_to_be_a_share(spot: Spot, named: Named, spoken: Spoken) -> Doubt | None:
    """The doubt about a setting whose remark says that it is a share, where its meaning is in no percent and the person says
    no unit: as an ampere or a millimetre it could be read, and not read again once it is written."""
    if not spoken.share or any(each.unit for each in named.meanings):
        return None
    wanted = next(
        (q for each in named.meanings if (q := quantity(each.quantity)).kind == "number" and q.unit), None
    )
    if wanted is None:
        return None
    why = f"its remark says that it is a share, in percent, and {wanted.label} is in {wanted.unit}"
    return spot.doubt(why, f"take the meaning of {named.key!r} out, or write ignore there; set it by hand")


#: the axis in a quantity's id
_AXIS = pattern(r"[._]([xyz])(?=[._]|$)")
_ASKED_OF_STEPS = {"feeder.steps_per_mm", "feeder.full_steps"}
#: kinds of quantity that are a number
_NUMBERS = frozenset(("number", "ratio"))
#: for how many mm a name may say what another says for one, and the unit that it has then
SO_MANY_MM = {"10": "per cm", "100": "per 100 mm", "1000": "per m"}
_SO_MANY = pattern(r"(?i)(?<!\d)(?P<many>[1-9]\d{0,3})[ _.-]?(?P<of>mm|cm|dm|m)(?![a-z])")
_MM_OF = {"mm": 1, "cm": 10, "dm": 100, "m": 1000}


def _said_of_so_many_mm(spot: Spot, named: Named) -> Doubt | None:
    """The doubt about a setting whose key counts for so many millimetres, `steps_100mm`, and whose meaning says no unit: it would be
    taken as counting for one."""
    counts = [each for each in named.meanings if quantity(each.quantity).unit == "1/mm"]
    found = _SO_MANY.search(spot.setting.key)
    if not counts or found is None or any(each.unit for each in named.meanings):
        return None
    so_many = int(found["many"]) * _MM_OF[found["of"].lower()]
    if so_many == 1:
        return None
    why = (
        f"its key says {found['many']} {found['of']}, and {quantity(counts[0].quantity).label} is for each mm"
    )
    unit = SO_MANY_MM.get(str(so_many))
    remedy = (
        f"write its meaning with the unit: {{quantity: {counts[0].quantity}, unit: {unit}}}"
        if unit
        else f"if it is for each mm after all, write its meaning with the unit: {{quantity: {counts[0].quantity}, unit: 1/mm}}; if it is for "
        f"{found['many']} {found['of']}, write ignore there, and set it by hand, to {so_many} times what is worked out for each mm"
    )
    return spot.doubt(why, remedy)


def _said_in_volts(spot: Spot, named: Named) -> Doubt | None:
    """The doubt about a setting whose key says volts, and whose meaning is a current: what a screw on a driver is set to."""
    wanted = next((q for each in named.meanings if (q := quantity(each.quantity)).unit == "A"), None)
    words = frozenset(read_name(spot.setting.section, spot.setting.key).words)
    if wanted is None or any(each.unit for each in named.meanings):
        return None
    if "voltage" not in vocabulary().names_in(words) or "current" in vocabulary().names_in(words):
        return None
    why = f"its key says volts, and {wanted.label} is in A: it may be the voltage that a screw on the driver is set to"
    remedy = (
        f"take the meaning of {named.key!r} out, or write ignore there; say new.driver.set_by: screw in the sheet, and the new voltage"
        " is told as a step by hand"
    )
    return spot.doubt(why, remedy)


def _against_key(meaning: Meaning, spoken: Spoken) -> str:
    """That a meaning's unit, or its `peak` or `rms`, is another one than its key's own words say; "" where it is not."""
    units = facts(meaning.quantity)
    own = units.unit(meaning.unit) if meaning.unit else None
    for name in spoken.names:
        unit, qualifier = key_says(meaning.quantity, name.key)
        theirs = units.unit(unit) if unit else None
        if own and theirs and (own.factor, own.reciprocal) != (theirs.factor, theirs.reciprocal):
            return f"its key says {theirs.unit} and its meaning says {own.unit}"
        if qualifier and meaning.qualifier and qualifier != meaning.qualifier:
            return f"its key says {qualifier} and its meaning says {meaning.qualifier}"
    return ""


def _as_named(spot: Spot, named: Named, spoken: Spoken) -> Said:
    meant = named.meanings[0].quantity
    if len(named.numbers) == 1 and quantity(meant).kind == "script":
        return Said((whole(spot, meant),))
    value = read_value(spot.setting.value)
    parts = value.items if isinstance(value, Items) else (value,)
    numbers = named.for_values(len(parts))
    if len(named.meanings) == len(numbers) == 1 and (one := commas.as_one(value, spot.setting.value)):
        return never_edited(reading_of(spot, _as_fit(named.meanings[0], spoken), one), commas.WITH_A_COMMA)
    if len(numbers) == 1 and len(parts) == 1:
        fit = _as_fit(named.meanings[0], spoken)
        read = _turned_round(reading_of(spot, fit, value), named.meanings[0])
        said = _meant(spot, read, named.meanings[0])
        if not said.readings and fit.quantity == "feeder.gear_ratio" and teeth_of_one(spot.setting):
            return Said((replace(whole(spot, fit.quantity), value=count_of_teeth(spot.setting)),))
        return replace(said, doubts=tuple(about(said.doubts, fit)))
    if len(numbers) != len(parts):
        why = f"its meaning and its value are of different counts of numbers: {len(numbers)} and {len(parts)}"
        each = (
            "a quantity for each number in their order, ignore for one that is none"
            if len(parts) > 1
            else "one quantity"
        )
        # no place of the names file: it is called otherwise in a packet, which is held against this text again
        return Said((), (spot.doubt(why, f"put the meaning of {named.key!r} right: {each}"),))
    told = [(meaning, part) for meaning, part in zip(numbers, parts, strict=True) if meaning is not None]
    if _one_a_feeder(named):
        return one_a_feeder(spot, _as_fit(named.meanings[0], spoken), tuple(part for _, part in told))
    return joined(
        [_turned_round(reading_of(spot, _as_fit(meaning, spoken), part), meaning) for meaning, part in told]
    )


def _turned_round(said: Said, meaning: Meaning) -> Said:
    """A probe's offset that is counted from the probe, as it is seen from the nozzle: its sign is the other one, in the file too."""
    if meaning.seen_from != PROBE:
        return said
    turned = (
        replace(
            each,
            value=-each.value,
            form=replace(each.form, factor=-each.form.factor, note="nozzle less probe here"),
        )
        if each.value is not None
        else each
        for each in said.readings
    )
    return replace(said, readings=tuple(turned))


def _one_a_feeder(named: Named) -> bool:
    """Whether each of several numbers is named as the same thing of a feeder: then each is of another one."""
    meant = {meaning.quantity for meaning in named.meanings}
    return len(named.meanings) > 1 and len(meant) == 1 and of_feeder(*meant)


def _meant(spot: Spot, said: Said, meaning: Meaning) -> Said:
    if said.readings or said.doubts:
        return said
    return Said((), (spot.doubt(f"the value can't be {quantity(meaning.quantity).label}"),))


def _as_fit(meaning: Meaning, spoken: Spoken) -> Fit:
    found = [key_says(meaning.quantity, name.key) for name in spoken.names]
    unit = meaning.unit or next((unit for unit, _ in found if unit), "")
    qualifier = meaning.qualifier or next((word for _, word in found if word), "")
    return Fit(meaning.quantity, unit, qualifier, turned=True, order=meaning.order)

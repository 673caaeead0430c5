"""Why a value that was worked out is not written where it would stand, and what a person is told instead.

A line is never written that is protected, that must not be edited, or that shares its number with one of these; nor is a value
that is no result, that no machine has, or of which the line holds another kind. What is left old so is asked, with what the
value would be and what there is to do, unless the line says it already.

Which value is wanted where is decided in `votes.py`; nothing is written by either.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import State
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.by_words import BY_HAND_ALONE
from cfgmigrate.machine.constants import BY_ALIAS, NUMBER_OF
from cfgmigrate.machine.ends_in_doubt import is_of_a_table
from cfgmigrate.machine.further_gears import SAID_NOTHING
from cfgmigrate.machine.gear_order import UNTOLD
from cfgmigrate.machine.gear_pairs import TWO_COUNTS
from cfgmigrate.machine.listings import is_listed
from cfgmigrate.machine.model import Machine, Reading
from cfgmigrate.machine.motor_turns import RATIO_UNSETTLED
from cfgmigrate.machine.number_units import OFF_OR_ON
from cfgmigrate.machine.precedence import ANOTHERS_LINE
from cfgmigrate.machine.quantities import quantity, steps_of
from cfgmigrate.plan.encoding import counts_of_teeth, write
from cfgmigrate.plan.items import means_the_same, shown, to_write, to_write_there
from cfgmigrate.plan.parts_of_a_load import part_of_a_load
from cfgmigrate.rules.result import Result

#: how a reason begins for which a worked-out value is dropped; that is told, and not only listed as left alone
_DROPPED = "it would be "
_NOT_WRITTEN = "The old value stays, and nothing says that it is right for the new drive. Mend the sheet, or set it by hand."
_SAY_WHAT_IT_IS = (
    "Write {value} there by hand, or say in cfgmigrate.yaml what this setting is and prepare again."
)
_OFF_OR_ON = (
    'Where it is off on purpose, leave it so, and say it in cfgmigrate.yaml by meanings: {{"{file} {name}": ignore}}. Where it is '
    "not, write {value} there by hand, and prepare again."
)
_BY_HAND_ONCE = "Write {value} there by hand. Once it stands there, this is not asked again."
_TAKE_OUT = "Take the lines of its gears out of cfgmigrate.yaml, and prepare again."
_WRITE_OUT = (
    "Write out in place of the alias what it stands for, so that each has a number of its own, here {value} for {name}; "
    "then prepare again."
)
_WHICH_FIRST = (
    "Is it {one}:{two} or {two}:{one}? Say which gear's teeth come first: in a remark behind the value (# motor : wheel, or "
    '# wheel : motor), or in cfgmigrate.yaml by meanings: {{"{name}": {{quantity: {what}, order: driving:driven}}}}, or '
    "driven:driving; then prepare again."
)
_RATIO_FIRST = (
    "Settle that line first, and prepare again: {value} is right here only where no gear ratio counts."
)
_OF_ITS_OWN = "Give each of the two a number of its own, {value} for {name}, and prepare again."
#: the quantities that say how far prints may reach, which a table's own length may be given as
_BUILDS = frozenset(("build.x", "build.y"))
_OF_A_TABLE = "by its name this is the length of the table itself, which stays"
_IF_LAID_OUT = (
    "If prints are laid out by this number, write {} there by hand; else nothing has to be done here, and prints that reach "
    "further are laid out anew."
)
_BOTH_BY_HAND = (
    "Write both numbers by hand, each in its own place: driven to driving it is {}. Note the two old ones first: no packet will "
    "know them, and no revert writes them back. Then say values: old in the sheet, as the other values are still the old "
    "drive's, and prepare again."
)


def why_not_written(machine: Machine, result: Result, reading: Reading) -> str:
    """Why a reading is not written, "" where it may be: also because another line has it too and must not be edited, for
    half of what moves together is not written."""
    if why := _never(result, reading):
        return why
    if _differs(result, reading) and (why := part_of_a_load(machine, reading, to_write(result))):
        return why
    for each in machine.followers(reading):
        if each.why_not == ANOTHERS_LINE:
            continue
        stays = each.setting.state is State.ACTIVE and not each.editable and not is_listed(each)
        if stays and _differs(result, each):
            at = f"{each.place.file}:{each.place.line}"
            return f"{at} sets it too and can't be written: {each.why_not}{_comes_to(result)}"
    return ""


def stands_already(result: Result, reading: Reading) -> bool:
    """Whether what is never written is what is wanted as it stands, as a person has written it."""
    if reading.editable or quantity(reading.quantity).protected or is_listed(reading):
        return False
    if (
        result.value is None
        or reading.value is None
        or reading.why_not.startswith((SAID_NOTHING, BY_HAND_ALONE))
    ):
        return False
    return means_the_same(result, reading, write(result, reading))


def told_instead(result: Result, reading: Reading, why: str) -> Doubt | None:
    """The question about a line that keeps a value that is not the new one; None where nothing is lost by it."""
    name = reading.setting.name
    if why.startswith(_DROPPED):
        return Doubt(reading.place, name, why, _NOT_WRITTEN)
    if result.unsettled or not _differs(result, reading):
        return None
    end = _comes_to(result)
    comes_to = end if why.endswith(end) else ""
    return Doubt(reading.place, name, why, _remedy(result, reading), comes_to=comes_to)


def _never(result: Result, reading: Reading) -> str:
    """Why a reading is not written whatever its new value, "" where it may be."""
    if quantity(reading.quantity).protected:
        return "protected: read and compared, never written"
    if not reading.editable and not is_listed(reading):
        return f"{reading.why_not}{_comes_to(result)}"
    if result.unsettled:
        return result.unsettled
    if result.value is None or reading.value is None:
        return "the file's value is no number that can be replaced"
    if reading.form.teeth and reading.value != result.value and counts_of_teeth(result) is None:
        return f"the teeth of two gears stand here, and the sheet tells no two counts{_comes_to(result)}"
    if not quantity(reading.quantity).plausible(result.value):
        return f"{_DROPPED}{shown(result)}, which no machine has: check the sheet"
    if reading.quantity in _BUILDS and is_of_a_table(reading.setting.name):
        return _OF_A_TABLE
    steps = steps_of(reading.form.unit)
    if steps and not 1 <= reading.form.to_written(result.value) < steps:
        return f"{_DROPPED}{shown(result)}, and steps of {reading.form.unit} that I write go from 1 to {steps - 1}"
    low = quantity(reading.quantity).low
    if low is not None and low >= 0 and 0 < abs(result.value) <= result.uncertainty:
        # what may lie on either side of 0 can be near it; what can't is no result then
        return f"{_DROPPED}{shown(result)}, which is as unsure as it is large, and so no result"
    return ""


def _differs(result: Result, reading: Reading) -> bool:
    """Whether what stands there is not what was worked out, as far as the uncertainty tells."""
    if result.value is None or reading.value is None or quantity(reading.quantity).protected:
        return False
    return abs(result.value - reading.value) > result.uncertainty


def _comes_to(result: Result) -> str:
    """The end of a reason for which a line is not written: what it would become."""
    return f"; {_DROPPED}{shown(result)}"


def _remedy(named: Result, reading: Reading) -> str:
    """What to do where a number is worked out for a setting that is not edited."""
    if reading.quantity in _BUILDS and is_of_a_table(reading.setting.name):
        return _IF_LAID_OUT.format(to_write(named))
    if reading.form.note == TWO_COUNTS:
        return _BOTH_BY_HAND.format(named.text or to_write(named))
    if reading.why_not.startswith(SAID_NOTHING):
        return _TAKE_OUT
    if reading.why_not == UNTOLD and named.value is not None:
        two, one = counts_of_teeth(named) or (to_write(named), "1")
        return _WHICH_FIRST.format(one=one, two=two, name=reading.setting.name, what=reading.quantity)
    if reading.why_not.startswith(NUMBER_OF) and BY_ALIAS in reading.why_not:
        return _WRITE_OUT.format(value=to_write_there(named, reading), name=reading.setting.key)
    if reading.why_not.startswith(NUMBER_OF):
        return _OF_ITS_OWN.format(value=to_write_there(named, reading), name=reading.setting.key)
    if reading.why_not.startswith(RATIO_UNSETTLED):
        return _RATIO_FIRST.format(value=to_write_there(named, reading))
    if reading.value == 0 and reading.why_not.endswith(OFF_OR_ON):
        return _OFF_OR_ON.format(
            value=to_write_there(named, reading), file=reading.place.file, name=reading.setting.name
        )
    by_hand = reading.why_not == BY_HAND_ALONE
    return (_BY_HAND_ONCE if by_hand else _SAY_WHAT_IT_IS).format(value=to_write_there(named, reading))

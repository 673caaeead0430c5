"""Names that say in what fraction of its unit a number is: `RETRACTION_MM_X10`, `PULLBACK_TENTHS`, `current 1/100 A`.

Without these words the name is understood, and with them its number is another. What can wreck something is asked about then;
left out in silence it would stay old.

This module deliberately reads no number: whether it was multiplied or is to be is for a person to say.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.dialects.document import Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.matching import best_fits
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.quantities import of_feeder, quantity
from cfgmigrate.machine.spots import name_line
from cfgmigrate.machine.words import readings_of_name

_SIGN = r"[ \t_.-]{0,3}"
#: a power of ten behind a name, or the fraction in words or digits; those of a millimetre are read (`words.py`)
_SCALED = pattern(
    rf"(?i){_SIGN}(?:(?:(?:x|times|mul|by){_SIGN}|\*{_SIGN})10{{1,4}}"
    rf"|(?:(?:in{_SIGN})?(?:tenth|hundredth|thousandth)s?)(?:{_SIGN}of(?:{_SIGN}(?:a|an))?)?)(?![A-Za-z0-9])"
    rf"|(?<![\d.,/]){_SIGN}(?:1[ ]?/[ ]?10{{1,4}}|0[.,]0{{0,3}}1)(?![\d.,])"
)
#: letters of a name that is looked at
_LONGEST = 120


def scaled_doubts(unread: Iterable[Unread]) -> Iterator[Doubt]:
    """A doubt for each setting that was not understood and says a thing of the feed path in a fraction of its unit."""
    for each in unread:
        meant = _meant(each.setting)
        if meant:
            why = f"this may be {quantity(meant).label} in a fraction of its unit, which I don't read; it stays as it is"
            remedy = f"set it by hand; what it is: {name_line(each.setting, meant)}"
            yield Doubt(each.place, each.text, why, remedy, about=meant)


def _meant(setting: Setting) -> str:
    """The quantity that a setting's name says when the words of its fraction are left out; "" for none."""
    said = len(setting.key) <= _LONGEST and _SCALED.search(setting.key)
    if not said or setting.state is not State.ACTIVE or not isinstance(read_value(setting.value), Number):
        return ""
    key = f"{setting.key[: said.start()]} {setting.key[said.end() :]}".strip()
    names = readings_of_name(setting.section, key) if key or setting.section else ()
    _, best = best_fits(names) if names else (None, ())
    return best[0].quantity if len(best) == 1 and not best[0].strange and of_feeder(best[0].quantity) else ""

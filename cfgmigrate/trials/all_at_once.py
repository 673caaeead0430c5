"""All that a test script lacks, told at once and not one thing after another.

A script is tried with something usual in the place of what is missing until nothing more is; what was written so is thrown
away. Where that can't go on, what was found so far is told.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec.structs import replace

from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.trials.bench import Bench, Lacking
from cfgmigrate.trials.own_words import refuse_where_words_are_its_own
from cfgmigrate.trials.writer import Written

#: so many things are looked for
MOST_LACKING = 12
#: what stands in for what is not known, in each quantity's unit; nothing of it is ever written
_USUAL = {"nozzle.diameter": 0.4, "filament.diameter": 1.75}
_USUAL_TEMPERATURE = {"nozzle": 200.0, "bed": 0.0}
_FAR, _NEAR = 200.0, 0.0


def written_or_all_it_lacks(write: Callable[[Bench], Written], bench: Bench) -> Written:
    """The script. Raises Refused with all that it lacks, and where the machine may not know its words."""
    if not bench.wishes.usual_words:
        refuse_where_words_are_its_own(bench.machine.documents)
    lacking: list[Lacking] = []
    tried = bench
    while len(lacking) < MOST_LACKING:
        try:
            written = write(tried)
        except Lacking as each:
            lacking.append(each)
            tried = _with_stand_in(tried, each.wanted)
        except Refused:
            if not lacking:
                raise
            break
        else:
            if not lacking:
                return written
            break
    if len(lacking) == 1:
        raise lacking[0]
    values = [each for each in lacking if "." in each.wanted]
    others = [each for each in lacking if each not in values]
    told = [*(f"{each.label} ({each.wanted})" for each in values), *(each.label for each in others)]
    if len(values) > 1:
        ways = [f"State the values in {values[0].where}; `explain {values[0].wanted}` says what one is."]
    else:
        ways = [each.how for each in values]
    how = " ".join(("Nothing was written.", *ways, *(each.how for each in others)))
    raise Refused(f"the script needs what is not known: {', '.join(told)}", Place("trial"), how)


def _with_stand_in(bench: Bench, wanted: str) -> Bench:
    if wanted in _USUAL_TEMPERATURE:
        return replace(bench, wishes=replace(bench.wishes, **{wanted: _USUAL_TEMPERATURE[wanted]}))
    number = _USUAL.get(wanted, _NEAR if wanted.endswith(".min") else _FAR)
    return replace(bench, stand_ins={**bench.stand_ins, wanted: number})

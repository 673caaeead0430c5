"""Lines of codes that set a feeder's value once more, and of which nothing says which feeder's.

A setting without a feeder's name is what all feeders have that have no value of their own. A line of codes is no such thing: it is
sent, and what it sets holds, whatever a section says. So where feeders have values of their own and a line of codes sets one
without saying whose it is, any of them may go by it. Left as it is it would overrule the value that is written, and nobody would
see it; so it is asked about, and the light of that value is not called set. Where a code of the same file has that feeder's value, the
code without a word is the others'.

Nothing is written by this. Whose a reading is was told before, in `ownership.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine import codes
from cfgmigrate.machine.collection import line_of
from cfgmigrate.machine.command_lines import EACH_OF_ANOTHER
from cfgmigrate.machine.model import MACHINE, Reading
from cfgmigrate.machine.quantities import of_feeder, quantity


def without_codes_of_no_feeder(
    readings: Sequence[Reading], feeders: Collection[int], documents: Iterable[Document]
) -> tuple[list[Reading], list[Doubt]]:
    """The readings without those of such lines, and a question for each of these."""
    sent = {each.path for each in documents if each.dialect == codes.DIALECT}
    kept: list[Reading] = []
    asked: list[Doubt] = []
    for each in readings:
        of_some = each.holder == MACHINE and of_feeder(each.quantity) and set(each.serves) != set(feeders)
        elsewhere = of_some and _own_elsewhere(each, readings)
        if len(feeders) > 1 and elsewhere and each.place.file in sent and each.value is not None:
            asked.append(_whose_is_it(each))
        else:
            kept.append(each)
    return kept, asked


def _own_elsewhere(reading: Reading, readings: Iterable[Reading]) -> bool:
    """Whether a feeder has the value of its own in another file than this line's."""
    return any(
        each.quantity == reading.quantity
        and each.holder.kind == "feeder"
        and each.place.file != reading.place.file
        for each in readings
    )


def _whose_is_it(reading: Reading) -> Doubt:
    setting = reading.setting
    line = f"{setting.section} {setting.key}".strip()
    why = (
        f"{line} sets the {quantity(reading.quantity).label}, which feeders have of their own in other lines, and wins where "
        f"it is read after them; nothing says whose this one is: {EACH_OF_ANOTHER}"
    )
    remedy = (
        f"where the letter {setting.key} stands for one feeder, say in cfgmigrate.yaml for which: "
        f"`feeders: {{2: {{known_as: [{setting.key}]}}}}`, with 1 for 2 where it is the first one; else set the line by hand"
    )
    return Doubt(reading.place, line_of(setting), why, remedy, about=reading.quantity)

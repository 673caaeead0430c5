"""The volts for each ampere that the sheet gives, held against the rule that the files themselves note for their screws.

`1.25 A per volt` copied as 1.25 V/A is the rule turned round, and the screw set by it gives the motor half as much again or
more. So it is asked, and a light of its own stays unknown. A number that is another one altogether may be another
driver's, and nothing is asked of it.
"""

from __future__ import annotations

from msgspec import Struct

from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import MACHINE, Machine
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Light
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.volts_and_amperes import LONGEST_OF_A_RULE, volts_per_ampere

#: what the light is called
SCREW_RULE = "screw rule"
_FIELD = "new.driver.volts_per_amp"
#: two figures of one rule are as near as this, and a rule this near to 1 V/A is the same either way
_NEAR = 0.03


class TurnedRule(Struct, frozen=True):
    """A figure that is a file's rule turned round, as a doubt and as a light."""

    doubt: Doubt
    light: Light


def screw_rule_turned(machine: Machine, sheet: Sheet) -> tuple[TurnedRule, ...]:
    """What is asked of the sheet's figure, once; nothing where no file notes its rule the other way round."""
    entry = sheet.get(_FIELD)
    if entry is None or not entry.value or abs(entry.value - 1) < _NEAR:
        return ()
    for place, noted in _noted(machine):
        if abs(noted * entry.value - 1) < _NEAR:
            where = f"{place.file}:{place.line}"
            why = f"by {where} each ampere takes {noted:.4g} V, and the sheet says {entry.text}, which is that rule turned round"
            remedy = f"Write {noted:.4g} V/A; or, if the new driver's own leaflet says {entry.text}, accept this by name."
            light = Light(SCREW_RULE, str(MACHINE), UNKNOWN, why, (remedy,))
            return (TurnedRule(Doubt(entry.place, f"{_FIELD}: {entry.text}", why, remedy), light),)
    return ()


def _noted(machine: Machine) -> list[tuple[Place, float]]:
    """The rules that stand in the files' lines."""
    found = []
    for document in machine.documents:
        for number, line in enumerate(document.data.decode("utf-8", "replace").splitlines(), 1):
            rule = volts_per_ampere(line, whole=False) if len(line) <= LONGEST_OF_A_RULE else None
            if rule is not None:
                found.append((Place(document.path, number), rule))
    return found

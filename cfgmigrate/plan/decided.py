"""What the lanes came to, gathered from those who decide: `votes.py` of the readings, `loose.py` of all else.

This module decides nothing; it remembers which results were told, so that none is told twice.
"""

from __future__ import annotations

from msgspec import Struct, field

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.plan.at_console import ConsoleValue
from cfgmigrate.plan.formulas_apart import Apart
from cfgmigrate.plan.model import ByHand, Change, Finding, LeftAlone


class Decided(Struct):
    """All that the lanes came to, in no particular order. `told` are the results, by rule and holder."""

    changes: list[Change] = field(default_factory=list)
    by_hand: list[ByHand] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)
    left: list[LeftAlone] = field(default_factory=list)
    doubts: list[Doubt] = field(default_factory=list)
    told: set[tuple[str, str]] = field(default_factory=set)
    #: what a person stores at the board's console
    stored: list[ConsoleValue] = field(default_factory=list)
    #: formulas that would come to a wrong number, for which changes were held back
    apart: list[Apart] = field(default_factory=list)

    def find(self, finding: Finding) -> None:
        self.told.add((finding.rule, finding.holder))
        self.findings.append(finding)

    def leave_once(self, left: LeftAlone) -> None:
        if left not in self.left:
            self.left.append(left)

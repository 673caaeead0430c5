"""Works out, shows, installs and reverts every configuration value that a change of filament drive touches.

For people who script
=====================

    from cfgmigrate import install, prepare, revert

    packet = prepare("config/", "swap.yaml", out="packet")
    for change in packet.plan.changes:
        print(change.quantity, change.old.text, "->", change.new.text)
    install(packet.folder, require_review=True)
    revert(packet.folder)

Every command is a function. A path is a text or a `Path`; where a configuration is asked for, one file or folder or
several. All inputs behind the first two are given by name. Numbers are in the unit of their quantity, which stands
beside them. Nothing is printed and nothing is asked. Everything that comes back is a frozen value.

Before       survey · write_site · starter_sheet · prepare · prepare_fleet · verify · unverified
Review       review · review_mail · record_verdicts · withdraw
On the day   install · revert · revert_to · recover
After        trial · trial_page · measured_starter · tune · guide
Look up      status · mark_done · open_packet · history · report · compare · explain

What goes wrong
===============

`BadInput`: what was given can't be read, or makes no sense. `Refused`: it must not be done. Both say what, where
(`.place`: file, line, column) and what to do (`.remedy`), and then nothing was written. Both are a `CfgError`.
Any other exception is a defect.

What is stable
==============

Stable are the names in `__all__`, their inputs by name, the errors, the fields of what they give, and every
`to_json()`: fields may be added, never renamed. Not stable are the texts within the values, the order of changes, the
modules below this one, and what `cfgmigrate.api` holds besides.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

from cfgmigrate.ground.version import VERSION

__version__ = VERSION

if TYPE_CHECKING:
    from cfgmigrate.apply.going_back import RevertReport
    from cfgmigrate.apply.install import InstallReport
    from cfgmigrate.fleet.run import prepare_fleet
    from cfgmigrate.ground.findings import BadInput, CfgError, Doubt, Place, Refused
    from cfgmigrate.machine.compare import Comparison
    from cfgmigrate.machine.survey import Survey
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.review import Judgement, Review, Verdict
    from cfgmigrate.plan.model import ByHand, Change, Finding, Plan
    from cfgmigrate.rules.symptoms import Guidance
    from cfgmigrate.store.history import History
    from cfgmigrate.trials import Wishes
    from cfgmigrate.workflow.guide import guide
    from cfgmigrate.workflow.look import compare, explain, starter_sheet, survey, write_site
    from cfgmigrate.workflow.packets import (
        history,
        install,
        open_packet,
        recover,
        revert,
        revert_to,
    )
    from cfgmigrate.workflow.prepare import prepare
    from cfgmigrate.workflow.report import report
    from cfgmigrate.workflow.reviewing import record_verdicts, review, review_mail, withdraw
    from cfgmigrate.workflow.status import MachineStatus, mark_done, status
    from cfgmigrate.workflow.trial import MadeTrial, trial, trial_page
    from cfgmigrate.workflow.tune import measured_starter, tune
    from cfgmigrate.workflow.verify import unverified, verify

#: each module with what of it is offered here; a name is loaded when it is first used, so that `--help` stays quick
_OFFERED = {
    "workflow.look": "compare explain starter_sheet survey write_site",
    "workflow.prepare": "prepare",
    "fleet.run": "prepare_fleet",
    "workflow.packets": "history install open_packet recover revert revert_to",
    "workflow.reviewing": "record_verdicts review review_mail withdraw",
    "workflow.verify": "unverified verify",
    "workflow.tune": "measured_starter tune",
    "workflow.trial": "MadeTrial trial trial_page",
    "workflow.guide": "guide",
    "workflow.report": "report",
    "workflow.status": "MachineStatus mark_done status",
    "ground.findings": "BadInput CfgError Doubt Place Refused",
    "packet.folder": "Packet",
    "packet.review": "Judgement Review Verdict",
    "plan.model": "ByHand Change Finding Plan",
    "machine.survey": "Survey",
    "machine.compare": "Comparison",
    "apply.install": "InstallReport",
    "apply.revert": "RevertReport",
    "store.history": "History",
    "rules.symptoms": "Guidance",
    "trials": "Wishes",
}
_MODULES = {name: module for module, names in _OFFERED.items() for name in names.split()}

__all__ = [
    "BadInput",
    "ByHand",
    "CfgError",
    "Change",
    "Comparison",
    "Doubt",
    "Finding",
    "Guidance",
    "History",
    "InstallReport",
    "Judgement",
    "MachineStatus",
    "MadeTrial",
    "Packet",
    "Place",
    "Plan",
    "Refused",
    "RevertReport",
    "Review",
    "Survey",
    "Verdict",
    "Wishes",
    "compare",
    "explain",
    "guide",
    "history",
    "install",
    "mark_done",
    "measured_starter",
    "open_packet",
    "prepare",
    "prepare_fleet",
    "record_verdicts",
    "recover",
    "report",
    "revert",
    "revert_to",
    "review",
    "review_mail",
    "starter_sheet",
    "status",
    "survey",
    "trial",
    "trial_page",
    "tune",
    "unverified",
    "verify",
    "withdraw",
    "write_site",
]


def __dir__() -> list[str]:
    return sorted({*__all__, *globals()})


def __getattr__(name: str) -> Any:
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"{__name__}.{_MODULES[name]}"), name)

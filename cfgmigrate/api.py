"""The tool for people who script: every command as a typed function, under one roof.

`cfgmigrate` itself offers the names in `__all__`; its help says what is stable. Besides these, here are the functions
that the program's own parts and tests work with. They may change with any release: `read_machine`, `work_out`,
`work_out_tuning`, `tuning_rules` and `verified`.

This module only lists; each function is in the module of `workflow/` that its line names, which is loaded when it is
first asked for.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cfgmigrate.workflow.guide import guide as guide
    from cfgmigrate.workflow.look import compare as compare
    from cfgmigrate.workflow.look import explain as explain
    from cfgmigrate.workflow.look import starter_sheet as starter_sheet
    from cfgmigrate.workflow.look import survey as survey
    from cfgmigrate.workflow.look import write_site as write_site
    from cfgmigrate.workflow.packets import history as history
    from cfgmigrate.workflow.packets import install as install
    from cfgmigrate.workflow.packets import open_packet as open_packet
    from cfgmigrate.workflow.packets import recover as recover
    from cfgmigrate.workflow.packets import revert as revert
    from cfgmigrate.workflow.packets import revert_to as revert_to
    from cfgmigrate.workflow.prepare import prepare as prepare
    from cfgmigrate.workflow.prepare import read_machine as read_machine
    from cfgmigrate.workflow.prepare import work_out as work_out
    from cfgmigrate.workflow.report import report as report
    from cfgmigrate.workflow.reviewing import record_verdicts as record_verdicts
    from cfgmigrate.workflow.reviewing import review as review
    from cfgmigrate.workflow.reviewing import review_mail as review_mail
    from cfgmigrate.workflow.reviewing import withdraw as withdraw
    from cfgmigrate.workflow.status import mark_done as mark_done
    from cfgmigrate.workflow.status import status as status
    from cfgmigrate.workflow.trial import trial as trial
    from cfgmigrate.workflow.trial import trial_page as trial_page
    from cfgmigrate.workflow.tune import measured_starter as measured_starter
    from cfgmigrate.workflow.tune import tune as tune
    from cfgmigrate.workflow.tune import tuning_rules as tuning_rules
    from cfgmigrate.workflow.tune import work_out_tuning as work_out_tuning
    from cfgmigrate.workflow.verify import unverified as unverified
    from cfgmigrate.workflow.verify import verified as verified
    from cfgmigrate.workflow.verify import verify as verify
    from cfgmigrate.workflow.writing_out import Prepared as Prepared

_OFFERED = {
    "guide": "guide",
    "look": "compare explain starter_sheet survey write_site",
    "packets": "history install open_packet recover revert revert_to",
    "prepare": "prepare read_machine work_out",
    "report": "report",
    "reviewing": "record_verdicts review review_mail withdraw",
    "status": "mark_done status",
    "trial": "trial trial_page",
    "tune": "measured_starter tune tuning_rules work_out_tuning",
    "verify": "unverified verified verify",
    "writing_out": "Prepared",
}
_MODULES = {name: module for module, names in _OFFERED.items() for name in names.split()}


def __dir__() -> list[str]:
    return sorted({*_MODULES, *globals()})


def __getattr__(name: str) -> Any:
    if name not in _MODULES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(importlib.import_module(f"cfgmigrate.workflow.{_MODULES[name]}"), name)

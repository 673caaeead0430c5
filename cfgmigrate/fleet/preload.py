"""What every worker of a fleet needs, loaded once: importing this module is all that it does.

Where the system can, workers are forks of one clean process that has imported this, so that the rule book, the
tables and the heavy libraries are read once and their memory is shared.
"""

from __future__ import annotations

import gc
from contextlib import suppress

import deepdiff  # noqa: F401
import lark  # noqa: F401

import cfgmigrate.reports.checklist
import cfgmigrate.reports.markdown
import cfgmigrate.reports.page  # noqa: F401
from cfgmigrate.dialects import command, flat, header, nested, sectioned  # noqa: F401
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.rules import library

with suppress(CfgError):  # whoever needs it says what is wrong with it
    library.book()
    library.tables()
gc.freeze()  # all of this stays: Python need not look through it again, and what is not looked at stays shared

"""Test scripts for after the swap: plain word-address files for the machine as it is configured.

One module a trial, each with a `TRIAL`. `bench.py` has what the machine allows, `writer.py` writes the lines.
A trial is never written where a limit that it needs is not known, and every move is checked against the limits
while it is written. Only codes are used that the trade shares or RS-274 defines.

Nothing here talks to a machine.
"""

from __future__ import annotations

from cfgmigrate.trials.bench import Wishes, bench_of
from cfgmigrate.trials.clearance import TRIAL as _CLEARANCE
from cfgmigrate.trials.cylinder import TRIAL as _CYLINDER
from cfgmigrate.trials.feed import TRIAL as _FEED
from cfgmigrate.trials.lag import TRIAL as _LAG
from cfgmigrate.trials.retraction import TRIAL as _RETRACTION
from cfgmigrate.trials.writer import Segment, Trial, Written

__all__ = ["TRIALS", "Segment", "Trial", "Wishes", "Written", "bench_of"]

#: every trial by its name, in the order in which they are of use
TRIALS: dict[str, Trial] = {trial.name: trial for trial in (_CLEARANCE, _FEED, _CYLINDER, _LAG, _RETRACTION)}

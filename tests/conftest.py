"""Two tiers of tests, and how hard the property tests try in each.

A plain `pytest` is the quick tier: everything that is not marked `exhaustive`, and property tests draw the same
few examples every time, so that it fails for a change and never by chance. `.ci/run` adds the exhaustive tier: what
is marked so, and every property test again with more examples, drawn anew from time to time.

HYPOTHESIS_PROFILE chooses: `quick` (default), `exhaustive`, or `long` for a night. No test has a deadline: the
machines that run them are shared.
"""

from __future__ import annotations

import gc
import os
import tempfile

from browserbench import axe, driver  # noqa: F401 (fixtures for tests of pages)
from commandline import cli  # noqa: F401 (the fixture)
from hypothesis import HealthCheck, settings
from packetbench import config, kit, packet, reviewed, wren_changes  # noqa: F401 (fixtures for every folder)

from cfgmigrate.cli import OBJECTS_BETWEEN

for name, examples, same in (("quick", 10, True), ("exhaustive", 12, False), ("long", 5000, False)):
    settings.register_profile(
        name,
        max_examples=examples,
        derandomize=same,
        deadline=None,
        print_blob=True,
        suppress_health_check=list(HealthCheck) if name == "long" else [HealthCheck.too_slow],
    )
# The commands that tests run as processes of their own may keep what Python made of the modules, as an installed copy
# has it: hundreds of them would compile the same two hundred modules each.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
# As in a command: a test makes few objects that only hold each other, and to look for those among all that the test
# libraries keep takes every seventh second of a run.
gc.set_threshold(OBJECTS_BETWEEN)
#: what the program remembers of the user is no business of the tests
os.environ["XDG_STATE_HOME"] = tempfile.mkdtemp(prefix="state-")
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "quick"))

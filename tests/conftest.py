"""How hard the property tests try: `dev` at the desk, `ci` before a change lands, `long` for a night.

Chosen by the environment variable HYPOTHESIS_PROFILE. No test has a deadline: the machines that run
them are shared.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings
from packetbench import config, kit, packet, wren_changes  # noqa: F401 (fixtures for every folder)

settings.register_profile("dev", max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile(
    "ci",
    max_examples=100,
    deadline=None,
    derandomize=True,
    print_blob=True,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("long", max_examples=5000, deadline=None, suppress_health_check=list(HealthCheck))
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "dev"))

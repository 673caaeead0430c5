"""Works out, shows, installs and takes back every configuration value that a change of filament drive touches.

The functions for people who script are in `cfgmigrate.api` and `cfgmigrate.fleet`, and can be had from here:

    import cfgmigrate
    packet = cfgmigrate.prepare(["config/"], sheet="swap.yaml", out="packet")
    cfgmigrate.install(packet.folder)
    cfgmigrate.revert(packet.folder)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from cfgmigrate.ground.version import VERSION as __version__

if TYPE_CHECKING:
    from cfgmigrate.api import (
        compare,
        explain,
        history,
        install,
        prepare,
        recover,
        revert,
        review,
        starter_sheet,
        survey,
        verify,
    )
    from cfgmigrate.fleet.run import prepare_fleet

__all__ = [
    "__version__",
    "compare",
    "explain",
    "history",
    "install",
    "prepare",
    "prepare_fleet",
    "recover",
    "revert",
    "review",
    "starter_sheet",
    "survey",
    "verify",
]


def __getattr__(name: str) -> Any:
    """The API is loaded when it is first used, so that `--help` and `--version` stay quick."""
    if name == "prepare_fleet":
        from cfgmigrate.fleet.run import prepare_fleet

        return prepare_fleet
    if name in __all__:
        from cfgmigrate import api

        return getattr(api, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

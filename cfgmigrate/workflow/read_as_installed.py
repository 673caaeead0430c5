"""A machine read as it was read for what stands in it: with the names files that its packets were prepared with.

Without them a line that only such a file explains is nobody's, and one that it calls nothing, or something else, is taken for the
installed value: it would be told as changed since, and its light as unknown. The history keeps each names file's text; where
two say something of one setting, the later install's counts, as it did when that was prepared. Nothing is written.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cfgmigrate.ground.findings import CfgError

if TYPE_CHECKING:
    from cfgmigrate.apply.in_force import InForce
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine


def read_as_installed(configuration: Configuration, machine: Machine, found: InForce) -> Machine:
    """The machine, which was read without names, as what stands says that it is to be read."""
    from cfgmigrate.machine.names import names_in, with_site
    from cfgmigrate.machine.recognise import recognise

    said = None
    for entry in found.entries:
        kept = (entry.reasons or {}).get("names")
        if not kept:
            continue
        try:
            names = names_in(str(kept).encode(), f"the names of install {entry.number}")
        except CfgError:  # what it names this release calls otherwise
            continue
        said = names.before(said) if said is not None else names
    if said is None:
        return machine
    site = configuration.site
    return recognise(configuration, with_site(said, site), site.counts_from, feeders=site.feeders)

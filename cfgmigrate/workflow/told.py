"""What the history beside a configuration tells of its files, in the form in which a packet records it.

This module only joins what `apply/prior_installs.py` finds; nothing is worked out from it here.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from cfgmigrate.apply.prior_installs import Earlier
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.plan.basis import Basis
    from cfgmigrate.rules.age import Past
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.store.history import History


class ToldAt(Struct, frozen=True):
    """What the history at a place tells of its files: of what stands in them, of earlier parts of the same swap, both
    as a packet records it, and the files as the `old` machine had them."""

    history: History
    past: Past
    earlier: Earlier | None
    basis: Basis
    old: Mapping[str, bytes]


def told_at(
    root: Path, present: Mapping[str, bytes], machine: Machine, swap: Sheet, rest: bool = False
) -> ToldAt:
    """What the history at `root` tells of the files that are `present`. With `rest` the last install counts as a part of
    this swap. Raises Refused where the history can't be trusted."""
    from cfgmigrate.apply.prior_installs import basis_of, earlier_installs, told_by
    from cfgmigrate.rules.lanes import sheet_of
    from cfgmigrate.store.history import history

    def said(holder: str) -> dict[str, str]:
        return {path: entry.text for path, entry in sheet_of(machine, swap, holder).entries.items()}

    past = history(root)
    earlier = earlier_installs(past, root, present, said, whatever=rest)
    old = present if earlier is None else earlier.old
    told = told_by(past, root, old, said, earlier)
    return ToldAt(past, told, earlier, basis_of(told, earlier), old)

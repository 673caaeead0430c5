"""Which edition of the pages this program writes.

A packet's pages can only be compared with those of the plan by a program that words them alike. So each packet says
in its pages by which edition they were written: a hash of this package and of its templates. A packet
of another edition is no worse; its pages just can't be vouched for.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.pattern import pattern

#: the pages that say their edition; the others go by them
TOLD = ("changes.md", "changes.html")
_SAID = pattern(rb"pages: edition (?:<code>|`)?([0-9a-f]{12})")


@compiled
def edition() -> str:
    """The edition of the pages that this program writes: twelve hexadecimal digits."""
    digest = hashlib.sha256()
    own = Path(__file__).parent
    for path in sorted([*own.glob("*.py"), *(own / "templates").iterdir()]):
        if path.is_file():
            digest.update(path.name.encode() + b"\0" + path.read_bytes())
    return digest.hexdigest()[:12]


def is_of_this_edition(pages: Mapping[str, bytes]) -> bool:
    """Whether a packet's pages say that they are of this edition. Pages of before there were any say nothing."""
    found = [said[1] for name in TOLD if (said := _SAID.search(pages.get(name, b"")))]
    return edition().encode() in found

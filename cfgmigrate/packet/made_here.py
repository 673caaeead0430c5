"""Which packets this program made itself, on this machine, a moment ago.

Before anything is installed the packet is worked out again, since whoever sent it can have sealed it anew. For one
that was prepared here just now that would be the same work done twice. What proves it is a list of seals in the
user's own state folder: a seal is a hash over every byte of a packet, and the list is believed only where nobody
but the user can write it. Whoever can write there can as well change the program.

Beside each seal stands what lay at the packet's configuration then, as one number: whoever installs sees by it whether a
file came, went or was written since.

The list is kept short and for a day. Where it can't be read or written a packet is worked out again; that only
costs time. This module knows nothing of what is in a packet.
"""

from __future__ import annotations

import os
import stat
import time
from contextlib import suppress
from pathlib import Path

from msgspec import Struct

from cfgmigrate.files.found import standing_of
from cfgmigrate.ground.disk import write_new
from cfgmigrate.packet.folder import Packet
from cfgmigrate.rules.library import knowledge_hash

#: how long a packet counts as made a moment ago (seconds), and how many do
A_MOMENT, MOST_SEALS = 24 * 3600, 1000
PART_OF_IT = "part"


class MadeHere(Struct, frozen=True):
    """When a packet was made (seconds of the system's clock, rounded down), and what lay at its configuration then, as
    `standing_of` has it; `PART_OF_IT` where files were named and the rest was never looked at."""

    when: int
    standing: str = ""


def remember(packet: Packet) -> None:
    """Put a packet that was just prepared onto the list."""
    with suppress(OSError, RuntimeError):  # no home, no space: it will be worked out again
        path = _list()
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        seal = str(packet.index["seal"])
        lines = [line for line in _lines(path) if not line.startswith(seal)][-MOST_SEALS + 1 :]
        names, standing = standing_of(Path(packet.plan.root))
        plan = packet.plan
        known = {each.path for each in plan.files} | {each.path for each in plan.left_out}
        if not names <= known:
            standing = PART_OF_IT
        lines.append(f"{seal} {knowledge_hash()} {int(time.time())} {standing}".rstrip())
        new = path.with_name(f".{path.name}.{os.getpid()}")
        new.unlink(missing_ok=True)
        write_new(new, ("\n".join(lines) + "\n").encode(), sync=False)
        new.chmod(0o600)
        new.replace(path)


def made_a_moment_ago(packet: Packet) -> MadeHere | None:
    """When this program, knowing what it knows now, made every byte of a packet, and what lay there then; None where it did
    not, or longer than a day ago."""
    wanted = f"{packet.index.get('seal')} {knowledge_hash()} "
    with suppress(OSError, RuntimeError, ValueError):
        for line in _lines(_list()):
            if line.startswith(wanted):
                at, _, standing = line.removeprefix(wanted).partition(" ")
                return MadeHere(int(at), standing) if 0 <= time.time() - int(at) < A_MOMENT else None
    return None


def _list() -> Path:
    """Where the seals stand. Raises RuntimeError where the user has no folder of their own."""
    if os.name == "nt":
        base = os.environ.get("LOCALAPPDATA", "")
        state = Path(base) if base else Path.home() / "AppData" / "Local"
    else:
        base = os.environ.get("XDG_STATE_HOME", "")
        state = Path(base) if base.startswith("/") else Path.home() / ".local" / "state"
    return state / "cfgmigrate" / "prepared"


def _lines(path: Path) -> list[str]:
    """The list; nothing where there is none, or somebody else may write it."""
    if not path.exists() or not (_is_the_user_s(path) and _is_the_user_s(path.parent)):
        return []
    return path.read_text(encoding="ascii").splitlines()


def _is_the_user_s(path: Path) -> bool:
    """Whether a file or a folder is the user's alone; where a system knows no owners, what lies at their home is."""
    if not hasattr(os, "getuid"):
        return True
    found = path.lstat()
    return found.st_uid == os.getuid() and not stat.S_ISLNK(found.st_mode) and not found.st_mode & 0o022

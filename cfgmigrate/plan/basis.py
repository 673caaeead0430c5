"""What a plan was worked out from, as far as it is not among the packet's own files.

Before, sheet, site file, names and rules lie in a packet as they were. What stood around them does not: how each
file was read, what the history told of it, which files were named, and what a configuration that was carried
over was called. All of it is recorded here, so that anyone can work the plan out again from the packet alone.

What the history told can't be checked without that history, and neither can the roles: whoever works a plan out
again says so. This module only holds values.
"""

from __future__ import annotations

from msgspec import UNSET, Struct, UnsetType


class TakenIn(Struct, frozen=True):
    """An include line as it was found: what is written, and the files that it takes in."""

    target: str
    files: tuple[str, ...] = ()


class FileInput(Struct, frozen=True):
    """A file that was read. `includes` are its include lines in their order; roles and include lines are recorded
    because they rest on files that are not in the packet. `decimals` is `comma` where its numbers have commas for points."""

    path: str
    sha256: str
    dialect: str
    role: str = "in force"
    includes: tuple[TakenIn, ...] = ()
    decimals: str | UnsetType = UNSET


class ToldAge(Struct, frozen=True):
    """What the history told of the age of the bytes `start`..`end` of a file, and why."""

    file: str
    start: int
    end: int
    age: str
    why: str = ""


class Install(Struct, frozen=True):
    """An earlier install: its number in the history, and its packet's content hash."""

    number: int
    packet: str


class TakenOver(Struct, frozen=True):
    """A value that an earlier install of the same swap wrote and that was taken back for the old machine; see
    `apply/prior_installs.py`. The bytes `before_…` are those of the file as it is, `after_…` of the old one."""

    file: str
    before_start: int
    before_end: int
    after_start: int
    after_end: int
    present: str
    installed: str | None
    entry: Install


class Lost(Struct, frozen=True):
    """A value of that `name` that an install put into `file` as `installed`, and that can't be found there any more."""

    name: str
    file: str
    installed: str
    entry: Install


class ToldByHand(Struct, frozen=True):
    """What an earlier install told to do by hand, by the rule `rule` for `holder`: from the old values `was`, by their
    names, to `value` (None where it was to be measured), which reads `text`."""

    rule: str
    holder: str
    was: tuple[tuple[str, float], ...]
    value: float | None
    text: str
    entry: Install


class ToldToStore(Struct, frozen=True):
    """What an earlier packet told to store at the board's console in place of what a listing in `file` says of `name`: `was`
    and the new `text`, as they are written there."""

    file: str
    name: str
    was: str
    text: str
    entry: Install


#: how a place of `FileReaders` ends that says of a machine that it keeps its drive
KEEPS_DRIVE = ", which keeps its drive"


class FileReaders(Struct, frozen=True):
    """The `places` (file and line) that name an edited `file` and are none of the machine's: another one reads it, it seems."""

    file: str
    places: tuple[str, ...]


class OtherText(Struct, frozen=True):
    """What another `machine` has at the byte `start` of an edited `file` by its own packet, `text`, where this one's would write
    `ours`."""

    file: str
    start: int
    machine: str
    text: str
    ours: str


class Basis(Struct, frozen=True):
    """`named` are the files that may be edited, None for all. `follows` is the path of the swap sheet that a
    measured sheet follows. `carried_from` is what the configuration is called that was carried over, `origin` its
    files in their order. All else is what the history told: `installs` whether any stands, `inputs` the files read for
    those (None: not known), `holders` whom they knew, `ages` of single values, `entries` the earlier parts of the
    same swap, with what of them was taken back or lost, and what they told by hand. `stored` is what a measured sheet takes
    as stored of what was told. `readers` are those of edited files beside the machine, `disputed` the values on which
    another machine's packet and this one's would not agree."""

    named: tuple[str, ...] | None = None
    follows: str = ""
    carried_from: str = ""
    origin: tuple[FileInput, ...] = ()
    installs: bool = False
    inputs: tuple[str, ...] | None = ()
    holders: tuple[str, ...] = ()
    ages: tuple[ToldAge, ...] = ()
    entries: tuple[Install, ...] = ()
    taken: tuple[TakenOver, ...] = ()
    lost: tuple[Lost, ...] = ()
    told: tuple[ToldByHand, ...] = ()
    stored: tuple[ToldToStore, ...] = ()
    readers: tuple[FileReaders, ...] | UnsetType = UNSET
    disputed: tuple[OtherText, ...] | UnsetType = UNSET

    @property
    def of_history(self) -> bool:
        """Whether it says anything that only a history can tell."""
        return bool(self.installs or self.ages or self.entries or self.stored)


NO_BASIS = Basis()

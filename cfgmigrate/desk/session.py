"""What the desk works on: one configuration's folder, one sheet, and one folder where packets lie.

Nothing of the work is kept in memory alone. What is remembered here was worked out from files, and is dropped when one
of them is another one than it was. A form carries the stamp of what it showed; when that is no longer what is on disk,
somebody answered elsewhere, and the form is told so instead of writing over it.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from msgspec import Struct, field

from cfgmigrate.ground.findings import BadInput, CfgError, Place, Refused

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.plan.unlocking import Standpoint, Workings
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.store.history import History

T = TypeVar("T")
#: what the commands write where nothing else is said
SHEET_NAME, MEASURED_NAME = "swap.yaml", "measured.yaml"
LONGEST_NAME_HERE = 60
#: so many sheets it is remembered of what came of them: that before an answer, and that after it
MOST_STANDS = 4


class Stale(CfgError):
    """A form that showed what is no longer on disk: somebody answered elsewhere in the meantime."""

    status = 3


class Desk(Struct):
    """`config` is the configuration as the command names it, `work` the folder of sheet and packets, both as they are
    written into what the commands write too. `lock` is held by whoever reads or writes them."""

    config: Path
    work: Path = Path()
    lock: threading.RLock = field(default_factory=threading.RLock)
    ahead: threading.Lock = field(default_factory=threading.Lock)
    _known: dict[str, tuple[object, Any]] = field(default_factory=dict)
    _now: object = None

    @property
    def sheet(self) -> Path:
        return self.work / SHEET_NAME

    @property
    def measured(self) -> Path:
        return self.work / MEASURED_NAME

    @property
    def name(self) -> str:
        return self.config.resolve().name

    @property
    def word(self) -> str:
        """The configuration as a command line names it."""
        from cfgmigrate.reports.safe_text import shell_word

        return shell_word(self.config)

    @contextmanager
    def turn(self) -> Iterator[None]:
        """One visit's turn, in which the files are looked at for changes once."""
        with self.lock:
            self._now = self.fingerprint()
            try:
                yield
            finally:
                self._now = None

    def fingerprint(self) -> object:
        """Changes whenever a file of the configuration does, or the one that its site file extends."""
        from cfgmigrate.files.found import SITE, each_once
        from cfgmigrate.files.site_reading import extended_at

        root = self.config.resolve()
        shared = extended_at(root)
        paths = [
            root / SITE,
            *([shared] if shared else ()),
            *(found.path for found in each_once([root], root).values() if not found.reason),
        ]
        return tuple((str(path), *_state(path)) for path in paths)

    def unfinished(self) -> bool:
        """Whether an install or a revert was interrupted here and waits to be finished or undone."""
        from cfgmigrate.store.keeping import Store

        try:
            return Store(self.config.resolve()).pending
        except Refused:
            return False

    def look(self) -> tuple[Configuration, Machine]:
        """The files as they are, and what is recognised in them. Raises BadInput where they can't be read."""
        from cfgmigrate.workflow.prepare import read_machine

        return self._remembered("look", lambda: read_machine([self.config]))

    def history(self) -> History:
        """The history of the machine that the desk is about; all of the folder's where its files can't be read."""
        from cfgmigrate import api
        from cfgmigrate.workflow.asked import history_of

        try:
            return history_of(self.look()[0])
        except CfgError:
            return api.history(self.config, anew=False)

    def bench(self, use: str = "bench") -> Workings:
        """A book on which answers are tried. Raises FilesUnclear where it can't be told which files are the machine."""
        from cfgmigrate.files.telling import ask_first
        from cfgmigrate.plan.unlocking import Workings
        from cfgmigrate.rules import library

        configuration, machine = self.look()
        ask_first(configuration.roles, configuration.root)
        return self._remembered(use, lambda: Workings(library.book(), machine, library.tables()))

    def stand(self, sheet: Sheet) -> Standpoint:
        """What comes of a sheet as it is on disk; of the last few it is remembered."""
        bench, stands = self.bench(), self._remembered("stands", dict[object, "Standpoint"])
        key = (sheet.source, sheet.feeder, sheet.plain)
        if key not in stands:
            while len(stands) >= MOST_STANDS:
                stands.pop(next(iter(stands)))
            stands[key] = bench.stand(sheet)
        return stands[key]

    def needed(self) -> tuple[str, ...]:
        """The fields that this machine's swap needs."""
        from cfgmigrate.plan.asking_order import needed_fields
        from cfgmigrate.sheet.model import Sheet

        bench = self.bench()
        return self._remembered("needed", lambda: needed_fields(bench, Sheet(str(self.sheet), b"")))

    def kept(self) -> KeptAnswers:
        """The sheet as it is on disk. Raises BadInput where it is none."""
        from cfgmigrate.sheet.keeping import open_kept
        from cfgmigrate.sheet.several import Known
        from cfgmigrate.workflow.lane import known_feeders

        try:
            configuration, machine = self.look()
            known = known_feeders(configuration.site, machine)
        except BadInput:
            known = Known()  # files that can't be read give no names, and the sheet may be read all the same
        return open_kept(self.sheet, self.name, known)

    def packets(self) -> dict[str, Path]:
        """The packets in the work folder by name, the newest first."""
        from cfgmigrate.files.pattern import is_packet

        there = [
            path
            for path in self.work.iterdir()
            if not path.is_symlink() and path.is_dir() and is_packet(path)
        ]
        newest = sorted(there, key=lambda path: (path / "changes.json").stat().st_mtime_ns, reverse=True)
        return {path.name: path for path in newest}

    def packet(self, name: str) -> Path:
        """The packet of that name. Raises BadInput where there is none in the work folder."""
        found = self.packets().get(name)
        if found is None:
            raise BadInput("there is no packet of that name here", Place(name), "Go back to the packets.")
        return found

    def new_file(self, name: str) -> Path:
        """A place in the work folder for what is to be written. Raises BadInput for what is no plain name."""
        plain = all(sign.isascii() and (sign.isalnum() or sign in "._-") for sign in name)
        if not plain or not name[:1].isalnum() or name.endswith(".") or len(name) > LONGEST_NAME_HERE:
            what = "a name here is of letters, digits, points, dashes and underscores, and begins with one of the first two"
            raise BadInput(what, Place("name"), "Give another name.")
        return self.work / name

    def _remembered(self, what: str, make: Callable[[], T]) -> T:
        now = self._now or self.fingerprint()
        known = self._known.get(what)
        if known is None or known[0] != now:
            known = self._known[what] = (now, make())
        found: T = known[1]
        return found


def stamp(*shown: object) -> str:
    """What a form showed, as a few letters."""
    return hashlib.sha256(repr(shown).encode("utf-8", "surrogateescape")).hexdigest()[:16]


def same_stamp(given: str, *now: object) -> None:
    """Raises Stale where a form showed something else than what is there now."""
    if given != stamp(*now):
        raise Stale(
            "somebody changed this in the meantime, in another window or at the terminal",
            remedy="Nothing of yours was written. What is there now is shown; say it again if it is to be yours.",
        )


def _state(path: Path) -> tuple[int, int, int]:
    try:
        about = path.stat()
    except OSError:
        return 0, 0, 0
    return about.st_mtime_ns, about.st_size, about.st_ino


def own_root(config: Path) -> None:
    """Raises Refused where the folder is a part of a configuration that lies above it: the desk goes nowhere above."""
    from cfgmigrate.files.found import common_root

    if not config.is_dir():
        raise BadInput("the desk works on a folder", Place(str(config)), "Name the configuration's folder.")
    above = common_root([config])
    if above != config.resolve():
        raise Refused(
            f"this folder belongs to the configuration in {above}",
            Place(str(config)),
            "Name that folder instead.",
        )

"""What nobody here may look into may be the machine's: nothing is prepared before it is read, or said to be none."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.found import SITE
from cfgmigrate.files.telling import ask_first
from cfgmigrate.ground import user_file
from cfgmigrate.ground.findings import Refused

MACHINE = "[feeder]\nsteps per mm = 96\n[x]\nmax = 200\n[y]\nmax = 200\n"


def closed(monkeypatch: pytest.MonkeyPatch, *names: str) -> None:
    """Root may read whatever the mode says, so that the system's own calls have to say no."""
    real_open, real_access = os.open, os.access

    def opened(path: object, *rest: object) -> int:
        if Path(str(path)).name in names:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return real_open(path, *rest)  # type: ignore[arg-type]

    def may(path: object, *rest: object) -> bool:
        return Path(str(path)).name not in names and real_access(path, *rest)  # type: ignore[arg-type]

    monkeypatch.setattr(user_file.os, "open", opened)
    monkeypatch.setattr(os, "access", may)


@pytest.mark.parametrize("name", ["routines.txt", "reels"])
def test_nothing_is_prepared_while_a_file_or_folder_is_closed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    (tmp_path / "machine.conf").write_text(MACHINE)
    (tmp_path / "routines.txt").write_text("end = G1 Z300\n")
    (tmp_path / "reels").mkdir()
    closed(monkeypatch, name)
    with pytest.raises(Refused, match=f"{name}: it can't be read: Permission denied"):
        ask_first(open_configuration([tmp_path]).roles, tmp_path)
    (tmp_path / SITE).write_text(f"site: 1\nroles: {{{name}: no configuration}}\n")
    ask_first(open_configuration([tmp_path]).roles, tmp_path)


@pytest.mark.parametrize("name", ["picture.png", "notes.log"])
def test_a_closed_picture_or_log_holds_up_nobody(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    (tmp_path / "machine.conf").write_text(MACHINE)
    (tmp_path / name).write_text("a")
    closed(monkeypatch, name)
    ask_first(open_configuration([tmp_path]).roles, tmp_path)


def read_at(roots: list[Path]) -> object:
    return [api.history(root) for root in roots]


@pytest.mark.parametrize(("name", "looked"), [("journal.json", api.recover), ("history.jsonl", read_at)])
def test_a_closed_history_is_one_clear_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, looked: Callable[[list[Path]], object]
) -> None:
    (tmp_path / "machine.conf").write_text(MACHINE)
    (tmp_path / ".cfgmigrate").mkdir()

    there = Path.exists

    def denied(self: Path, **_: object) -> bool:
        if self.name == name:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
        return there(self)

    with monkeypatch.context() as patch:
        patch.setattr(Path, "exists", denied)
        with pytest.raises(Refused, match="the history can't be looked into: Permission denied"):
            looked([tmp_path])

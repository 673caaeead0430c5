"""What a path means on other systems: devices, streams, dropped endings, folders that know no capitals.

Names are those of Windows' documentation ("Naming Files, Paths, and Namespaces") and of the Unicode standard's
canonical composition (UAX #15).
"""

from __future__ import annotations

import os
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.ground import paths
from cfgmigrate.ground.findings import Refused
from cfgmigrate.ground.paths import OWN_FOLDER, fault_of_path, same_name


@pytest.mark.parametrize(
    "path",
    ["aux", "AUX.conf", "parts/nul", "com1.ini", "LPT9", "con.tar.gz", "COM\u00b9.txt", "prn ", "a.conf:hidden",
     "a?.conf", "a*", "x.", "x ", "parts./a", "a|b", "<a>", 'a"b'],
)  # fmt: skip
def test_what_windows_takes_otherwise_is_refused_there_and_nowhere_else(path: str) -> None:
    assert fault_of_path(path, windows=True)
    assert not fault_of_path(path, windows=False)


@pytest.mark.parametrize(
    "path", ["auxiliary.conf", "console/feed.ini", "com.ini", "lpt/x", "nullify", "a b.conf", ".x"]
)
def test_ordinary_names_are_allowed_everywhere(path: str) -> None:
    assert not fault_of_path(path, windows=True)
    assert not fault_of_path(path, windows=False)


@pytest.mark.parametrize("path", ["C:/x", "c:x", "//server/share/x", "\\\\server\\x", "a\\b", "..\\x", "\\x"])
@pytest.mark.parametrize("windows", [True, False])
def test_drives_shares_and_backslashes_are_refused_on_every_system(path: str, windows: bool) -> None:
    assert fault_of_path(path, windows)


@pytest.mark.parametrize(
    "name",
    [".CFGMIGRATE", ".cfgMigrate", ".cfgmigrate.", ".cfgmigrate ", ".cfg\u200cmigrate", "\ufeff.cfgmigrate"],
)
def test_no_spelling_of_our_own_folder_is_allowed(name: str) -> None:
    assert OWN_FOLDER in fault_of_path(f"{name}/history.jsonl", windows=False)


@pytest.mark.parametrize(
    ("one", "other"),
    [("Feed.conf", "feed.CONF"), ("caf\u00e9.conf", "cafe\u0301.conf"), ("\u00c9.ini", "e\u0301.ini")],
)
def test_names_that_are_one_file_on_some_systems_come_to_the_same(one: str, other: str) -> None:
    assert same_name(one) == same_name(other)
    assert same_name(one) != same_name(f"x{other}")


def test_a_file_system_that_is_mounted_read_only_is_named_and_no_permission_of_its_owner_s(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "a.conf").write_text("[axis z]\n")
    found = paths.target(tmp_path, "a.conf")
    paths.check_writable(tmp_path, found)
    mounted = SimpleNamespace(f_flag=os.ST_RDONLY)
    monkeypatch.setattr(os, "statvfs", lambda folder: mounted)
    with pytest.raises(Refused, match="mounted read-only"):
        paths.check_writable(tmp_path, found)

"""Where the machine's own file can't be read, what is left is asked about before it is taken as the machine."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.found import SITE
from cfgmigrate.files.telling import FilesUnclear, ask_first
from cfgmigrate.ground.findings import Refused

FEEDER = "[feeder]\nsteps per mm = 97\n"
MACHINE = f"{FEEDER}[axis x]\nhigh end = 210\nsteps per mm = 84\n[axis y]\nhigh end = 190\n"


@pytest.mark.parametrize("copy", ["ladle.conf.part", "ladle (1).conf", "ladle-new.conf"])
@pytest.mark.parametrize("own", [b"", MACHINE.encode()[:30] + bytes(400), MACHINE.encode("utf-16")])
def test_the_copy_of_a_file_that_cant_be_read_is_asked_about(tmp_path: Path, copy: str, own: bytes) -> None:
    (tmp_path / "ladle.conf").write_bytes(own)
    (tmp_path / copy).write_text(MACHINE)
    with pytest.raises(FilesUnclear, match=r"ladle\.conf can't be read"):
        ask_first(open_configuration([tmp_path]).roles, tmp_path)
    ask_first(open_configuration([tmp_path], machine=[copy]).roles, tmp_path)
    (tmp_path / SITE).write_text("site: 1\nroles: {ladle.conf: no configuration}\n")
    ask_first(open_configuration([tmp_path]).roles, tmp_path)


@pytest.mark.parametrize("name", ["ladle.png", "bench.conf"])
def test_a_picture_or_a_file_of_another_name_that_cant_be_read_holds_up_nobody(
    tmp_path: Path, name: str
) -> None:
    (tmp_path / name).write_bytes(bytes(40))
    (tmp_path / "ladle.conf").write_text(MACHINE)
    ask_first(open_configuration([tmp_path]).roles, tmp_path)


def test_a_link_that_leads_out_and_may_be_the_machine_has_to_be_named_or_said_to_be_none(
    tmp_path: Path,
) -> None:
    root = tmp_path / "ladle"
    root.mkdir()
    (tmp_path / "ladle.conf").write_text(MACHINE)
    (root / "feeder.conf").write_text(FEEDER)
    (root / "ladle.conf").symlink_to(tmp_path / "ladle.conf")
    (root / "photo.png").symlink_to(tmp_path / "photo.png")
    with pytest.raises(
        Refused, match=r"ladle\.conf: it is a link to outside the folder, .*name that file too"
    ):
        ask_first(open_configuration([root]).roles, root)
    ask_first(open_configuration([root, tmp_path / "ladle.conf"]).roles, tmp_path)
    (root / SITE).write_text("site: 1\nroles: {ladle.conf: no configuration}\n")
    ask_first(open_configuration([root]).roles, root)

"""A packet in a copy of a whole work folder is not installed into the original before somebody says which is meant."""

from __future__ import annotations

import shutil
from pathlib import Path
from types import SimpleNamespace

import pytest

from cfgmigrate.apply.install import install
from cfgmigrate.apply.revert import revert
from cfgmigrate.ground.findings import Refused
from cfgmigrate.plan.model import Change


def test_in_a_copy_of_the_work_folder_it_is_asked_which_files_are_meant(
    tmp_path: Path, config: Path, kit: SimpleNamespace, wren_changes: tuple[Change, ...]
) -> None:
    own, copy = tmp_path / "packet", tmp_path / "try"
    packet = kit.pack(own, kit.FILES, wren_changes, str(config))
    copy.mkdir()
    shutil.copytree(own, copy / "packet")
    assert install(own).root == install(copy / "packet").root == str(config)  # a packet alone was copied
    shutil.copytree(config, copy / config.name)
    for go in (install, revert):
        with pytest.raises(Refused, match="--root"):
            go(copy / "packet")
    assert revert(own).written
    assert install(copy / "packet", copy / config.name, dry_run=True).already
    shutil.rmtree(copy / config.name)
    (copy / config.name).mkdir()
    for path in packet.before:
        (copy / config.name / path).parent.mkdir(exist_ok=True)
        (copy / config.name / path).write_bytes(b"another machine's\n")
    assert install(copy / "packet").root == str(config)

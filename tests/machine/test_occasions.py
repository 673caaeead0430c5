"""Words of a moment at which filament is moved by itself are told from those of a retraction."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.occasions import speaks_of_occasion


@pytest.mark.parametrize(
    ("section", "key", "is_one"),
    [("", "pullback_on_pause", True), ("parking", "parked pull", True), ("standby", "pull", True),
     ("", "pull", False), ("retraction", "length", False)],
)  # fmt: skip
def test_key_or_section_may_say_the_moment(section: str, key: str, is_one: bool) -> None:
    setting = Setting(section, key, "1", 0, 1, 1, 1)
    assert speaks_of_occasion(Unread(Place("wren.ini", 1), key, setting)) is is_one

"""A board's listing is read and never edited; what can be sent back line by line is no listing."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.listings import AT_CONSOLE, listings, read_only
from cfgmigrate.machine.model import Form, Reading

SAVED = {"dump.txt", "dump.nc"}


def reading(file: str, editable: bool = True, why_not: str = "") -> Reading:
    setting = Setting("", "lag", "1", 0, 1, 1, 1)
    return Reading(
        "lag.coefficient",
        1.0,
        "1",
        Place(file, 1),
        0,
        1,
        Form(),
        setting,
        editable=editable,
        why_not=why_not,
    )


def test_saved_values_are_a_listing_unless_they_are_word_address_lines() -> None:
    documents = [
        read("dump.txt", b"lag = 1\n", "flat"),
        read("wren.txt", b"lag = 1\n", "flat"),
        read("dump.nc", b"A9 K1\n", "command"),
    ]
    assert listings(documents, SAVED) == {"dump.txt"}


@pytest.mark.parametrize(
    ("file", "was", "editable", "why_not"),
    [
        ("dump.txt", reading("dump.txt"), False, AT_CONSOLE),
        ("dump.txt", reading("dump.txt", False, "it stands twice"), False, "it stands twice"),
        ("wren.txt", reading("wren.txt"), True, ""),
    ],
)
def test_a_listing_s_values_are_set_at_the_console_and_keep_a_nearer_reason(
    file: str, was: Reading, editable: bool, why_not: str
) -> None:
    (found,) = read_only([was], {"dump.txt"})
    assert (found.place.file, found.editable, found.why_not) == (file, editable, why_not)

"""Entries that a head says are forgotten, by the sign that they begin with, are not in force."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import State
from cfgmigrate.files.forgotten_entries import sign_of_forgotten, without_forgotten_entries

_ENTRIES = "[kept 41]\nfeeder / retraction = 5.2\n{0} feeder / retraction = 6.8\n{0}z / far end = 238\n"


def in_force(head: str, sign: str = "-") -> list[int]:
    document = read("kept.conf", (head + _ENTRIES.format(sign)).encode(), "sectioned")
    after = without_forgotten_entries(document)
    return [each.line for each in after.settings if each.state is State.ACTIVE]


@pytest.mark.parametrize(
    ("said", "sign"),
    [
        ("entries that begin with a hyphen are forgotten ones", "-"),
        ("Read last, these win. What starts with - is forgotten.", "-"),
        ("lines that start with a minus are no longer in force", "-"),
        ("values with a * in front are switched off", "*"),
        ("a hyphen in front means forgotten", "-"),
        ('"-" before it = deleted', "-"),
        ("entries beginning with a tilde were erased at the panel", "~"),
    ],
)
def test_a_head_says_by_which_sign_an_entry_is_forgotten(said: str, sign: str) -> None:
    assert sign_of_forgotten(said) == sign


@pytest.mark.parametrize(
    "said",
    [
        "written by the board - don't edit",
        "entries that begin with a hyphen are new",
        "values with a minus are towards the front",
        "entries that begin with a hyphen are never forgotten",
        "a hyphen in front is fine. The panel is off",
        "lengths with a minus are drawn back, so keep it off",
        "entries that begin with a hyphen are deleted only by a full reset",
        "entries with a hyphen are off the data sheet",
    ],
)
def test_a_sign_of_something_else_forgets_nothing(said: str) -> None:
    assert sign_of_forgotten(said) == ""


def test_what_begins_with_the_sign_is_out_of_force_and_nothing_else() -> None:
    assert in_force("; entries that begin with a hyphen are forgotten ones\n") == [3]
    assert in_force("; entries that begin with a hyphen are forgotten ones\n", "+") == [3, 4, 5]
    assert in_force("; kept by the board - written by itself\n") == [2 + 1, 4, 5]


def test_what_is_out_of_force_by_a_head_is_told_once_with_its_lines() -> None:
    head = "; entries that begin with a hyphen are forgotten ones\n"
    document = read("kept.conf", (head + _ENTRIES.format("-")).encode(), "sectioned")
    (doubt,) = without_forgotten_entries(document).doubts
    assert doubt.place.line == 4 and "line 4, 5" in doubt.why

"""A listing that says in prose that the board has it now, and that it wins, holds saved values."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate import api
from cfgmigrate.files.roles import ANY_SETTING, Role
from cfgmigrate.files.said_saved import lines_said_to_win, says_saved

FRAME = """\
#define FEED_PULSES_PER_MM 140.2
#define PULLBACK_MM 4.7
#define LAG_S 0.355
#define X_LOWEST 0
#define X_HIGHEST 168
#define Y_LOWEST 0
#define Y_HIGHEST 172
"""
LISTED = "FEED_PULSES_PER_MM 141.1\nPULLBACK_MM 5.6\nLAG_S 0.41\n"
TALK = "> list\nfeed pulses per mm = 141.1\npullback mm = 5.6\nlag s = 0.41\nok\n"
SAYS = [
    "I asked on Sunday. This is what the board has now, it wins over frame.h.",
    "# This is what the board has now; these win over the header",
    "Copied from the console: saved values. They count more than the file.",
    "What follows is stored in the board and always wins.",
    "This is what the board has now, it wins over the header frame.h.",
    "asked.txt is what the board has now, it wins.",
    "This is what the board has now, asked on 12.Mar, and it wins over the header.",
    "This is what the board has now, fetched with dump.sh, and it wins over the header.",
]
SAYS_NOT = [
    "This is what the board has now.",
    "It wins over everything.",
    "This is what the board had before, it wins no longer.",
    "The board has the values of frame.h now, which was flashed: frame.h wins.",
    "Is this what the board has now, and does it win?",
    "This is not what the board has now, it wins.",
    "What the board has saved (kept.g) is read last and wins.",
    "kept.g is what the board has now, it wins.",
]


def machine_of(folder: Path, name: str, text: str) -> tuple[api.Configuration, api.Machine]:
    (folder / "frame.h").write_text(FRAME)
    (folder / name).write_text(text)
    return api.read_machine([folder])


@pytest.mark.parametrize("says", SAYS)
@pytest.mark.parametrize("listed", [LISTED, TALK])
def test_it_is_saved_values_when_it_says_both(tmp_path: Path, says: str, listed: str) -> None:
    configuration, machine = machine_of(tmp_path, "asked.txt", f"{says}\n\n{listed}")
    assert configuration.roles.role("asked.txt") is Role.SAVED
    assert machine.get("retraction.length").value == 5.6
    assert machine.get("lag.coefficient").value == 0.41
    assert not [each for each in machine.doubts if each.place.file == "asked.txt"]


@pytest.mark.parametrize("says", SAYS_NOT)
def test_it_is_none_when_it_says_one_alone_or_denies_it(tmp_path: Path, says: str) -> None:
    assert says_saved(f"{says}\n\n{LISTED}".encode(), "asked.txt") == ""
    configuration, _ = machine_of(tmp_path, "asked.txt", f"{says}\n\n{LISTED}")
    assert configuration.roles.role("asked.txt") is not Role.SAVED


def test_a_text_of_no_setting_of_the_machine_s_is_none(tmp_path: Path) -> None:
    text = f"{SAYS[0]}\n\nbasket wide 141\nbasket deep 56\nbasket high 41\n"
    configuration, _ = machine_of(tmp_path, "asked.txt", text)
    assert configuration.roles.role("asked.txt") is not Role.SAVED


def test_what_the_user_said_of_it_holds(tmp_path: Path) -> None:
    (tmp_path / "cfgmigrate.yaml").write_text('site: 1\nroles: {"asked.txt": no configuration}\n')
    configuration, machine = machine_of(tmp_path, "asked.txt", f"{SAYS[0]}\n\n{LISTED}")
    assert configuration.roles.role("asked.txt") is Role.NONE
    assert machine.get("retraction.length").value == 4.7


def test_one_that_says_both_and_can_t_be_read_is_asked_about_and_any_value_may_be_in_it(
    tmp_path: Path,
) -> None:
    text = f"{SAYS[0]}\nThe board answered:\n  pulses/mm 141.1, fastest 44\n  pullback 5.6 mm at 30 mm/s\n"
    assert {each.of for each in lines_said_to_win(text.encode(), "asked.txt")} == {ANY_SETTING}
    _, machine = machine_of(tmp_path, "asked.txt", text)
    assert "is this what the board keeps" in next(
        each.why for each in machine.doubts if each.place.file == "asked.txt"
    )

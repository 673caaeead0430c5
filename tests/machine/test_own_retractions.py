"""A line of a profile that may be its own retraction is a question; a length is named by the speed beside it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

_MACHINE = "[retraction]\nlength = 5.2\n"


def _machine(lines: str, path: str = "reels/petg.reel", dialect: str = "flat") -> Machine:
    documents = [read("tern.txt", _MACHINE.encode(), "sectioned"), read(path, lines.encode(), dialect)]
    roles = FileSet(
        {
            "tern.txt": FileRole("tern.txt", Role.IN_FORCE, "said", said=True),
            path: FileRole(path, Role.PROFILE, "said", said=True),
        }
    )
    return recognise(documents, roles=roles)


def _asked(machine: Machine) -> set[int]:
    return {
        doubt.place.line
        for doubt in machine.doubts
        if doubt.about == "retraction.length" and doubt.why.startswith("this may be")
    }


@pytest.mark.parametrize(
    "line", ["pull = 4.8", "back = 4.8", "pull = 4,8", "gnorf = 4.8", "snatch = 4.8", "yank = 6"]
)
def test_it_is_asked_about(line: str) -> None:
    assert _asked(_machine(f"material = PETG\n{line}\n")) == {2}


@pytest.mark.parametrize(
    "line",
    [
        "pull = 0",
        "pull = 60 mm/s",
        "pull_seconds = 4",
        "shortest_pull = 1.2",
        "gnorf = 90",
        "n = 4",
        "fan = 5",
    ],
)
def test_another_number_or_another_measure_is_none(line: str) -> None:
    assert not _asked(_machine(f"material = PETG\n{line}\n"))


def test_a_length_is_named_by_the_speed_beside_it() -> None:
    machine = _machine("material = PETG\npull = 4.8\npull_spd = 30\n")
    read_as = {each.setting.key: each.quantity for each in machine.readings if each.holder.kind == "filament"}
    assert read_as == {"pull": "retraction.length", "pull_spd": "retraction.speed"}


def test_a_comma_in_it_is_a_question_of_the_length() -> None:
    assert _asked(_machine("material = PETG\npull = 4,8\npull_spd = 30\n")) == {2}


_REEL = "[roll]\nmaterial = PLA\n{}[strands]\nloops = 3\n"


@pytest.mark.parametrize(
    "section",
    [
        "[yank]\nfar = 5.0\n",
        "[yank]\nfar = 5.0\npace = 48\nhop = 0.2\nwipe = 1.5\n",
        "[slurp]\nslurp = 48 ; tenths\nslurp_rate = 2400\nhop = 3\n",
        "[gnorf]\nhow far = 4.5\npace = 40\nwipe = 1\n",
    ],
)
def test_a_length_in_a_section_of_drawing_is_asked_about_and_no_number_elsewhere(section: str) -> None:
    assert _asked(_machine(_REEL.format(section), dialect="sectioned")) == {4}


@pytest.mark.parametrize(
    "section",
    [
        "[gnorf]\nfar = 5.0\n",
        "[gnorf]\nfar = 5.0\npace = 40\nother pace = 50\n",
        "[brim]\nfar = 5.0\npace = 40\nhop = 0.2\n",
        "[yank]\npace = 48\nextra = 0.2\n",
    ],
)
def test_a_length_without_such_company_leaves_the_question_where_it_was(section: str) -> None:
    lines = section.count("\n")
    assert _asked(_machine(_REEL.format(section), dialect="sectioned")) <= {4 + lines}

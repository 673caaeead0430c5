"""Sections by a feeder's own name alone are feeders where another line calls them so."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.told_feeders import Feeder
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise

MACHINE = """\
both:
  microsteps: 32
  retraction: 6
crane:
  steps per mm: 96
  retraction: 6
  load length: 600
dipper:
  steps per mm: 97
  retraction: 7
  load length: 610
pump:
  steps per mm: 96
"""
KEPT = "put by:\n  dipper:\n    steps per mm: 97.4\n  lamp:\n    steps per mm: 9\n"


def read_with(
    profile: str, told: tuple[Feeder, ...] = (), machine: str = MACHINE, kept: str = KEPT
) -> Machine:
    roles = FileSet(
        {
            "reel.yaml": FileRole("reel.yaml", Role.PROFILE, "said"),
            "kept.yaml": FileRole("kept.yaml", Role.SAVED, "said"),
        }
    )
    files = {"a.yaml": machine, "reel.yaml": profile, "kept.yaml": kept}
    documents = [read(path, text.encode(), "nested") for path, text in files.items() if text]
    return recognise(documents, roles=roles, feeders=told)


def held(machine: Machine) -> dict[tuple[str, str], float | None]:
    return {
        (each.quantity, str(each.holder)): each.value
        for each in machine.readings
        if each.holder.kind in ("machine", "feeder")
    }


@pytest.mark.parametrize(
    ("profile", "told"),
    [
        ("filament:\n  name: red\n  feeder: crane\nother:\n  for feeder: dipper\n", ()),
        ("filament:\n  name: red\n", (Feeder(1, "crane"), Feeder(2, "dipper"))),
    ],
)
def test_what_stands_below_their_names_is_theirs_also_where_it_is_kept_and_what_is_for_both_is_no_one_s(
    profile: str, told: tuple[Feeder, ...]
) -> None:
    found = held(read_with(profile, told))
    assert found["feeder.steps_per_mm", "feeder 1"] == 96
    assert found["feeder.steps_per_mm", "feeder 2"] == 97.4
    assert found["retraction.length", "feeder 2"] == 7
    assert found["feeder.load_length", "feeder 2"] == 610
    assert found["feeder.microsteps", "machine"] == 32


@pytest.mark.parametrize(
    ("profile", "machine"),
    [
        ("filament:\n  name: red\n", MACHINE),
        ("filament:\n  feeder: crane\n", MACHINE),
        ("filament:\n  feeder: crane\nother:\n  feeder: pump\n", MACHINE),
        ("filament:\n  feeder: crane\nother:\n  feeder: dipper\n", "crane:\n  plug: 4\n  lamp: 3\ndipper:\n  plug: 5\n"),
    ],
    ids=["nobody says so", "one alone", "nothing alike", "too little alike"],
)  # fmt: skip
def test_names_that_nothing_calls_feeders_or_that_have_too_little_in_common_are_none(
    profile: str, machine: str
) -> None:
    assert read_with(profile, machine=machine, kept="").feeders == (1,)


BOTH_CALLED = "filament:\n  feeder: crane\nother:\n  feeder: dipper\n"


def test_what_stands_below_another_thing_s_word_is_that_thing_s_and_no_feeder_s() -> None:
    winders = "winder:\n  crane:\n    steps per mm: 30\n    retraction: 2\n  dipper:\n    steps per mm: 30\n    retraction: 2\n"
    found = read_with(BOTH_CALLED, machine=MACHINE + winders, kept="")
    assert not [each for each in found.every_reading if each.setting.section.startswith("winder")]


@pytest.mark.parametrize(("name", "is_the_feeders"), [("both", True), ("all", False), ("common", False)])
def test_what_is_for_both_is_the_feeders_and_what_is_for_all_may_be_the_axes_too(
    name: str, is_the_feeders: bool
) -> None:
    shared = f"{name}:\n  max acceleration: 3000\n  retraction: 6\n"
    machine = MACHINE.replace("both:\n  microsteps: 32\n  retraction: 6\n", shared)
    found = held(read_with(BOTH_CALLED, machine=machine, kept=""))
    assert (("feeder.max_acceleration", "machine") in found) is is_the_feeders


def test_bare_names_are_no_feeders_where_feeders_of_these_names_stand_below_a_word_for_one() -> None:
    named = "".join(
        f"feeder {name}:\n  steps per mm: 131\n  microsteps: 16\n  load length: 600\n"
        for name in ("crane", "dipper")
    )
    bare = "".join(
        f"{name}:\n  run current: 0.3\n  microsteps: 8\n  load length: 5\n" for name in ("crane", "dipper")
    )
    found = read_with(BOTH_CALLED, machine=named + bare, kept="")
    assert not [each for each in found.every_reading if each.quantity == "motor.run_current"]

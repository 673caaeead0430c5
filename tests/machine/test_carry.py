"""What an old configuration says goes into a new one by meaning, exactly or not at all."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.machine.carry import Carried, carry
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise


def flat(text: str) -> Machine:
    return recognise([read("old.txt", text.encode(), "flat")])


def sectioned(text: str) -> Machine:
    return recognise([read("new.ini", text.encode(), "sectioned")])


def values(carried: Carried) -> dict[str, float]:
    return {transfer.quantity: transfer.worked.value for transfer in carried.transfers}


def test_a_value_goes_into_the_setting_that_means_the_same() -> None:
    found = carry(flat("retract_speed_mm_min = 1800\n"), sectioned("[retraction]\nspeed = 25\nlength = 1\n"))
    assert values(found) == {"retraction.speed": pytest.approx(30)}
    assert found.transfers[0].worked.origin == "old.txt:1"
    assert [reading.quantity for reading in found.unsaid] == ["retraction.length"]


def test_steps_per_mm_become_the_rotation_distance_that_means_the_same() -> None:
    """200 · 16 · 3 / 415 = 23.1325 mm (the relation of the design, by hand)."""
    new = "[feeder]\nfull steps = 200\nmicrosteps = 16\ngear ratio = 3:1\nrotation distance = 40\n"
    found = carry(
        flat("feeder.steps_per_mm = 415\nfeeder.microsteps = 16\nfeeder.full_steps = 200\n"), sectioned(new)
    )
    assert values(found)["feeder.rotation_distance"] == pytest.approx(23.132530120)
    transfer = next(each for each in found.transfers if each.quantity == "feeder.rotation_distance")
    assert transfer.assumed == ()
    assert "feeder steps per mm 415 (old.txt:1)" in transfer.worked.origin
    assert not found.no_place


def test_what_had_to_be_assumed_of_the_old_machine_is_said() -> None:
    new = "[feeder]\nfull steps = 200\nmicrosteps = 32\nrotation distance = 40\n"
    (transfer,) = carry(flat("feeder.steps_per_mm = 800\n"), sectioned(new)).transfers
    assert transfer.worked.value == pytest.approx(8)
    assert {reading.quantity for reading in transfer.assumed} == {"feeder.full_steps", "feeder.microsteps"}


def test_a_gear_ratio_that_the_new_configuration_has_no_place_for_is_folded_in() -> None:
    found = carry(
        flat("feeder.rotation_distance = 22.5\nfeeder.gear_ratio = 3:1\n"),
        sectioned("[feeder]\nrotation distance = 40\n"),
    )
    assert values(found) == {"feeder.rotation_distance": pytest.approx(7.5)}
    assert found.no_place == ()


def test_where_nothing_follows_exactly_nothing_is_carried() -> None:
    found = carry(flat("feeder.steps_per_mm = 415\n"), sectioned("[feeder]\nrotation distance = 40\n"))
    assert found.transfers == ()
    assert [reading.quantity for reading in found.no_place] == ["feeder.steps_per_mm"]
    assert [reading.quantity for reading in found.unsaid] == ["feeder.rotation_distance"]


def test_protected_settings_are_never_carried_but_listed() -> None:
    """Law 7."""
    found = carry(flat("bed.max.temp = 100\n"), sectioned("[bed]\nmax temp = 110\n"))
    assert found.transfers == ()
    assert [reading.quantity for reading in found.protected] == ["heater.bed.max_temperature"]


def test_what_the_new_configuration_has_no_place_for_is_listed() -> None:
    found = carry(
        flat("lag coefficient = 0.5\nretract length = 5\n"), sectioned("[retraction]\nlength = 1\n")
    )
    assert [reading.quantity for reading in found.no_place] == ["lag.coefficient"]


@given(
    st.floats(30, 2000),
    st.sampled_from([200, 400]),
    st.sampled_from([8, 16, 32, 64]),
    st.floats(1, 10),
)
def test_what_was_carried_comes_to_the_old_steps_per_mm_again(
    steps: float, full: int, micro: int, ratio: float
) -> None:
    old = flat(f"feeder.steps_per_mm = {steps:.9f}\n")
    new = f"[feeder]\nfull steps = {full}\nmicrosteps = {micro}\ngear ratio = {ratio:.9f}\nrotation distance = 50\n"
    found = values(carry(old, sectioned(new)))
    assert full * micro * float(f"{ratio:.9f}") / found["feeder.rotation_distance"] == pytest.approx(
        steps, rel=1e-6
    )

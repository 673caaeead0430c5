"""What goes back by hand at the board's console is what it kept before the oldest of the packets that go back."""

from __future__ import annotations

from rulebench import own_rules

from cfgmigrate.apply.undone_by_hand import leaves_nothing, stored_back, without_newer

FIRST = "Store these. Back to: rung_e 141.300; drag 0.5500."
SECOND = "Store these. Back to: Rung_E 1061.000; tug 0.8."


def test_of_a_name_that_two_packets_stored_the_oldest_value_counts() -> None:
    known: set[str] = set()
    told = [without_newer(each, known) for each in (FIRST, SECOND, SECOND, "Turn the screw.")]
    assert told == [FIRST, "Store these. Back to: tug 0.8.", "", "Turn the screw."]
    assert stored_back(told[0]) == [("rung_e", "141.300"), ("drag", "0.5500")]


def test_work_on_the_machine_is_undone_and_work_on_the_new_parts_goes_with_them() -> None:
    work = {rule.name for rule in own_rules().rules if rule.name.startswith("work.")}
    assert {name for name in work if not leaves_nothing(name)} == {
        "work.level", "work.wires", "work.wires_off", "work.motor_coils", "work.spool",
    }  # fmt: skip

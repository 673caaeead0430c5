"""What goes back by hand at the board's console is what it kept before the oldest of the packets that go back."""

from __future__ import annotations

from cfgmigrate.apply.undone_by_hand import stored_back, without_newer

FIRST = "Store these. Back to: rung_e 141.300; drag 0.5500."
SECOND = "Store these. Back to: Rung_E 1061.000; tug 0.8."


def test_of_a_name_that_two_packets_stored_the_oldest_value_counts() -> None:
    known: set[str] = set()
    told = [without_newer(each, known) for each in (FIRST, SECOND, SECOND, "Turn the screw.")]
    assert told == [FIRST, "Store these. Back to: tug 0.8.", "", "Turn the screw."]
    assert stored_back(told[0]) == [("rung_e", "141.300"), ("drag", "0.5500")]

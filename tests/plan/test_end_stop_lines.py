"""The lines that may say where an end stop stands are those of its axis with a place in them."""

from __future__ import annotations

from cfgmigrate.dialects import read
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.plan.end_stop_lines import end_stops


def test_how_a_switch_is_wired_and_another_axis_s_switch_are_no_places_of_it() -> None:
    text = b"#define END_SWITCH_X_LINE 31\n#define END_SWITCH_Y 12\n#define END_SWITCH_X 4\n#define END_SWITCH_PULLED 1\n"
    told = list(end_stops(recognise([read("ladle.h", text, "header")]), "x"))
    assert len(told) == 1 and "ladle.h:3: END_SWITCH_X = 4" in told[0]

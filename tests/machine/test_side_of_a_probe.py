"""How far a probe sits to a side is offered as no length of filament, and with no sign that is not its own."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.side_of_a_probe import side_of_a_probe
from cfgmigrate.machine.teach import teachable


def machine_with(key: str) -> Machine:
    text = f"#define STRAND_FEEDER_STEPS_PER_MM 392\n#define {key} 26.5\n"
    return recognise([read("wren.h", text.encode(), "header")])


@pytest.mark.parametrize(
    ("key", "side"),
    [
        ("FEELER_LEFT_BY", ("probe.offset_x", True)),
        ("FEELER_FRONT_BY", ("probe.offset_y", True)),
        ("FEELER_BEHIND_BY", ("probe.offset_y", False)),
        ("FEELER_TO_FEEDER", None),
        ("FEELER_LEFT_TRIES", None),
    ],
)
def test_a_side_says_which_offset_it_is_and_whether_its_sign_is_the_other(
    key: str, side: tuple[str, bool] | None
) -> None:
    unread = next(each for each in machine_with(key).unread if each.setting.key == key)
    assert side_of_a_probe(unread, "runout.distance", ()) == side
    assert side_of_a_probe(unread, "retraction.length", ()) is None


def test_a_number_with_the_other_sign_is_left_to_hands_and_no_meaning_is_offered() -> None:
    found = next(
        each for each in teachable(machine_with("FEELER_LEFT_BY"), {}) if each.pattern == "FEELER_LEFT_BY"
    )
    assert found.candidates == ("ignore",) and "the other way round" in found.by_screw
    assert "runout" not in " ".join(found.lines())

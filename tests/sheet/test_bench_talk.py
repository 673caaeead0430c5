"""What people say at a bench is taken for what they mean by it; what may be meant in two ways is refused with what to write."""

from __future__ import annotations

import math

import pytest

from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.sheet.answers import understood, understood_together
from cfgmigrate.sheet.schema import sheet_schema

FIELDS = sheet_schema().fields
PATH, MASS, RATIO = "new.path_length", "carriage.new_mass", "new.drive_gear.gear_ratio"
WIDE, FEED, RATED = "new.drive_gear.effective_diameter", "new.feed_per_turn", "new.motor.rated_current"


SCREW = "new.driver.volts_per_amp"


@pytest.mark.parametrize(
    ("path", "answer", "value", "spread"),
    [
        (PATH, "between 58 and 64 mm", 61, 3 / math.sqrt(3)),  # a rectangle (GUM 4.3.7)
        (PATH, "between 5.8 and 6.4 cm", 61, 3 / math.sqrt(3)),
        (MASS, "285 + 168 g", 453, 0.29),
        (MASS, "285 g + 168 g", 453, 0.29),
        (MASS, "1150 g - 385 g", 765, 0.29),
        (PATH, "480 mm + 52 mm - 5 mm", 527, 0.29),
        (RATIO, "14 -> 35, then 18 -> 54", 7.5, 0),  # 35/14 · 54/18 = 2.5 · 3
        (RATIO, "14 drives 35 and 18 drives 54", 7.5, 0),
        (RATIO, "0.1333", 0.1333, 0),
        (RATED, "0.8 A peak per phase", 0.8 / math.sqrt(2), 0),
        (RATED, "800 mA per phase", 0.8, 0),
        (RATED, "0.8 A effective", 0.8, 0),
        # 23.6 mm a turn, over π
        (WIDE, "118 mm in 5 turns", 23.6 / math.pi, 1 / math.sqrt(12) / 5 / math.pi),
        (WIDE, "11.8 cm in 5 full turns of the drive gear", 23.6 / math.pi, 0.0184),
        (FEED, "118 mm in 5 motor turns", 23.6, 0),
        (WIDE, "23.6 mm per turn of the wheel", 23.6 / math.pi, 0.1 / math.sqrt(12) / math.pi),
        (WIDE, "23.6 mm a turn of the gripping wheel", 23.6 / math.pi, 0.1 / math.sqrt(12) / math.pi),
        (WIDE, "23.6 mm/wheel turn", 23.6 / math.pi, 0.1 / math.sqrt(12) / math.pi),
        ("carriage.probe_room", "2.5 by a paper test", 2.5, 0.1),
        ("carriage.nozzle_shift.z", "-1.2 mm (slip of paper)", -1.2, 0.1),
        ("carriage.probe_room", "paper test: 2.5 mm", 2.5, 0.1),
        (FEED, "3.54 mm per motor turn", 3.54, 0),
        (SCREW, "0.8 V/A", 0.8, 0),
        (SCREW, "1.25 A per volt", 0.8, 0),
        (SCREW, "1.25 A a volt", 0.8, 0),
        (SCREW, "one volt is 1.25 ampere", 0.8, 0),
        (SCREW, "volts times 1.25 = ampere", 0.8, 0),
        (SCREW, "I = V / 0.8", 0.8, 0),
        (SCREW, "0.84 V is 1.05 A", 0.8, 0),
        (FEED, "3.54 mm for each turn of the motor", 3.54, 0),
    ],
)
def test_it_is_taken_as_it_is_meant(path: str, answer: str, value: float, spread: float) -> None:
    found = understood(FIELDS[path], answer)
    assert found.entry.value == pytest.approx(value, rel=1e-3)
    assert found.entry.uncertainty == pytest.approx(spread, rel=0.05, abs=1e-9)


@pytest.mark.parametrize(
    ("path", "answer", "what", "remedy"),
    [
        ("clearance.highest_z", "240 - 20", "a difference", "Write 220 mm, or 20 to 240"),
        (PATH, "65 mm - 60 mm", "", ""),
        (RATIO, "14:35 x 18:54", "faster than its motor", "35:14 x 54:18"),
        (MASS, "152 g more", "a part", "Write both"),
        (FEED, "118 mm in 5 turns", "drive gear or motor", "118 mm in 5 motor turns"),
        (WIDE, "118 mm in 5 motor turns", "drive gear or motor", "118 mm in 5 motor turns"),
        (WIDE, "3.54 mm per turn of the motor", "drive gear or motor", "3.54 mm in 1 motor turn"),
        (FEED, "23.6 mm per turn of the wheel", "drive gear or motor", "23.6 mm per turn of the wheel"),
        (WIDE, "23.6 mm per turn", "one turn", "23.6 mm per turn of the wheel"),
        ("new.path_length", "20 mm shorter", "how much less", "Write what it is now"),
        (RATED, "0.8 ohm", "ohm", "A peak"),
    ],
)
def test_what_may_be_meant_in_two_ways_is_refused_with_what_to_write(
    path: str, answer: str, what: str, remedy: str
) -> None:
    with pytest.raises(NotAQuantity) as refused:
        understood(FIELDS[path], answer)
    assert what in refused.value.what and remedy in refused.value.remedy


@pytest.mark.parametrize(
    ("said", "kept"), [("8 mm earlier", 8), ("0 mm less", 0), ("8 less far than before", 8), ("as before", 0)]
)
@pytest.mark.parametrize("place", sorted(sheet_schema().less_far))
def test_how_much_less_far_it_gets_answers_where_it_gets_to(place: str, said: str, kept: float) -> None:
    found = understood(FIELDS[place], said)
    less = sheet_schema().less_far[place]
    if not said[0].isdigit() and (truth := sheet_schema().says_as_before(place)):
        assert (found.entry.path, found.entry.word) == (truth, "yes")
        return
    assert (found.entry.path, found.entry.value) == (less, kept) and less in found.note
    if said[0].isdigit():
        assert understood(FIELDS[less], said).entry.value == kept


def test_each_of_several_numbers_may_have_its_own_uncertainty() -> None:
    fields = [FIELDS[f"carriage.nozzle_shift.{axis}"] for axis in "xyz"]
    found = understood_together(fields, "-5±0.3 -6 +/- 0.3 3±0.2 mm")
    assert [(each.entry.value, each.entry.uncertainty) for each in found if each] == [
        (-5, 0.3),
        (-6, 0.3),
        (3, 0.2),
    ]


def test_a_side_is_no_sign() -> None:
    fields = [FIELDS[f"carriage.nozzle_shift.{axis}"] for axis in "xyz"]
    with pytest.raises(NotAQuantity, match="a side is no sign"):
        understood_together(fields, "7 mm to the right, 4 mm lower")

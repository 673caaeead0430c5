"""What a machine's readings are known by, and what a machine says of itself."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.machine.model import MACHINE, Form, Holder, Machine, Profile, Quantity, Reading, feeder

PETG, TPU, FINE = Holder("filament", "petg"), Holder("filament", "tpu"), Holder("print", "fine")


def reading(holder: Holder = MACHINE, line: int = 1, quantity: str = "retraction.length") -> Reading:
    setting = Setting("", "length", "1", 0, 1, line, 1)
    return Reading(quantity, 1.0, "1", Place("wren.ini", line), 0, 1, Form(), setting, holder)


@pytest.mark.parametrize(
    ("low", "high", "value", "plausible"),
    [
        (1.0, 5.0, 1.0, True),
        (1.0, 5.0, 5.0, True),
        (1.0, 5.0, 0.9, False),
        (1.0, 5.0, 5.1, False),
        (None, 5.0, -9.0, True),
        (1.0, None, 99.0, True),
        (None, None, 0.0, True),
        (1.0, None, 0.0, False),
    ],
)
def test_a_plausible_value_lies_within_its_bounds(
    low: float | None, high: float | None, value: float, plausible: bool
) -> None:
    assert Quantity("a.b", "b", "mm", "", low=low, high=high).plausible(value) is plausible


@pytest.mark.parametrize(
    ("form", "written", "value"),
    [(Form(), 4, 4), (Form(factor=60), 4, 240), (Form(factor=360, reciprocal=True), 4, 90)],
)
def test_what_is_written_and_what_it_means_lead_to_each_other(
    form: Form, written: float, value: float
) -> None:
    assert form.to_value(written) == value and form.to_written(value) == written


@pytest.mark.parametrize(
    ("holder", "text", "profile"),
    [
        (MACHINE, "machine", None),
        (feeder(2), "feeder 2", None),
        (PETG, "filament petg", PETG),
        (FINE, "print fine", FINE),
        (Holder("filament", "petg", 2), "filament petg for feeder 2", PETG),
    ],
)
def test_a_holder_is_called_by_kind_and_name_and_may_be_a_profile_s(
    holder: Holder, text: str, profile: Holder | None
) -> None:
    assert str(holder) == text and holder.profile == profile


def profiles(*holders: Holder, feeders: tuple[int, ...] = (1,)) -> tuple[Profile, ...]:
    return tuple(Profile(each, feeders, Place("wren.ini", 1), each.name.upper()) for each in holders)


def test_the_one_profile_that_has_no_alternative_is_what_the_machine_usually_runs_with() -> None:
    one = Machine((), (), found_profiles=profiles(PETG))
    assert one.only_profile == PETG and one.usual.profile == PETG and one.usual.feeder == 1
    two = Machine((), (), found_profiles=profiles(PETG, TPU))
    assert two.only_profile is None and two.usual.profile is None
    other = Machine((), (), feeders=(1, 2), found_profiles=profiles(PETG, feeders=(2,)))
    assert other.usual.profile is None and other.profiles_serving(2) == (PETG,)
    assert other.profiles_serving(1) == () and other.profiles == (PETG,)
    assert Machine((), (), feeders=(2,)).usual.feeder == 2 and Machine((), (), feeders=()).usual.feeder == 1
    assert two.material(TPU) == "TPU" and two.material(FINE) == ""


def test_a_machine_s_readings_are_found_by_quantity_and_holder_in_the_order_of_lines() -> None:
    own, other, petg = reading(feeder(1)), reading(feeder(1), 2, "lag.coefficient"), reading(PETG, 3)
    left = reading(Holder("filament", "petg", 2), 4)
    along, out = reading(feeder(1), 5), reading(line=6)
    machine = Machine((), (own, other, petg, left), shadowed=(out,), followed={own.key: (along,)})
    assert machine.reading("retraction.length", feeder(1)) is own
    assert machine.reading("retraction.length", MACHINE) is None
    assert machine.held_by(feeder(1)) == (own, other) and machine.held_by(TPU) == ()
    assert machine.set_by(PETG, (1, 2)) == (petg, left) and machine.set_by(PETG, ()) == (petg,)
    assert machine.followers(own) == (along,) and machine.followers(other) == ()
    assert machine.every_reading == (own, other, petg, left, out, along)
    assert machine.twins == {"retraction.length": (along,)} and machine.get("lag.coefficient") is other


def test_where_a_line_is_in_doubt_is_told_by_what_it_may_be_the_first_line_for_all() -> None:
    doubts = [
        Doubt(Place("wren.ini", line), "", "", "", about=about)
        for line, about in ((1, ""), (2, "lag.coefficient"), (3, "lag.coefficient"))
    ]
    in_doubt = Machine((), (), tuple(doubts)).in_doubt
    assert {about: place.line for about, place in in_doubt.items()} == {"lag.coefficient": 2}


def test_a_view_looks_to_the_profile_s_own_for_its_feeder_then_the_profile_the_feeder_and_the_machine() -> (
    None
):
    view = Machine((), ()).view(2, PETG)
    assert view.holders == (Holder("filament", "petg", 2), PETG, feeder(2), MACHINE)
    assert Machine((), ()).view(2).holders == (feeder(2), MACHINE)

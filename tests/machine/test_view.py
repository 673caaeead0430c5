"""What one feeder sees with one profile: flat, falling through profile, feeder and machine."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import MACHINE, Form, Holder, Machine, Profile, Reading, feeder

QUANTITIES = ("retraction.length", "lag.coefficient", "axis.z.max")
PROFILES = (Holder("filament", "petg"), Holder("filament", "tpu"), Holder("print", "fine"))
HOLDERS = (MACHINE, feeder(1), feeder(2), *PROFILES)
SERVING = ((), (1,), (2,), (1, 2))


def reading(quantity: str, holder: Holder, serves: tuple[int, ...] = (1, 2), line: int = 1) -> Reading:
    setting = Setting("", quantity, "1", 0, 1, line, 1)
    return Reading(quantity, 1.0, "1", Place("wren.ini", line, 1), 0, 1, Form(), setting, holder, serves)


@st.composite
def machines(draw: st.DrawFn) -> Machine:
    keys = draw(st.sets(st.tuples(st.sampled_from(QUANTITIES), st.sampled_from(HOLDERS))))
    found = [
        reading(quantity, holder, draw(st.sampled_from(SERVING)), line)
        for line, (quantity, holder) in enumerate(sorted(keys), 1)
    ]
    profiles = tuple(Profile(each, draw(st.sampled_from(SERVING)), Place("wren.ini", 1)) for each in PROFILES)
    return Machine((), tuple(found), feeders=(1, 2), found_profiles=profiles)


@given(machines(), st.sampled_from((1, 2)), st.sampled_from((None, *PROFILES)))
def test_a_view_has_of_each_quantity_the_nearest_holders_reading_that_reaches_its_feeder(
    machine: Machine, number: int, profile: Holder | None
) -> None:
    view = machine.view(number, profile)
    for quantity in QUANTITIES:
        reaching = [
            each
            for holder in (profile, feeder(number), MACHINE)
            for each in machine.readings
            if each.quantity == quantity and each.holder == holder and number in each.serves
        ]
        assert view.get(quantity) is (reaching[0] if reaching else None)
    assert list(view.readings) == [each for each in machine.readings if view.get(each.quantity) is each]


@given(machines())
def test_the_machine_by_itself_is_what_the_first_feeder_sees_without_a_profile(machine: Machine) -> None:
    assert machine.by_quantity == machine.view(1).by_quantity
    assert machine.twins == machine.view(1).twins


def test_two_views_that_share_a_reading_give_the_very_same_object() -> None:
    shared = reading("axis.z.max", MACHINE)
    machine = Machine((), (shared, reading("lag.coefficient", PROFILES[0])), feeders=(1, 2))
    assert machine.view(1, PROFILES[0]).get("axis.z.max") is shared
    assert machine.view(2).get("axis.z.max") is shared


def test_what_a_feeder_and_a_profile_say_themselves_hides_what_the_machine_says() -> None:
    said = [reading("retraction.length", holder) for holder in (MACHINE, feeder(2), PROFILES[0])]
    machine = Machine((), tuple(said), feeders=(1, 2))
    assert machine.view(1).get("retraction.length") is said[0]
    assert machine.view(2).get("retraction.length") is said[1]
    assert machine.view(2, PROFILES[0]).get("retraction.length") is said[2]


def test_followers_belong_to_one_holder() -> None:
    own, other = (reading("retraction.length", holder) for holder in PROFILES[:2])
    twin = reading("retraction.length", PROFILES[0], line=2)
    machine = Machine((), (own, other), followed={own.key: (twin,)}, feeders=(1, 2))
    assert machine.followers(own) == (twin,)
    assert machine.followers(other) == ()
    assert machine.view(1, PROFILES[0]).twins == {"retraction.length": (twin,)}
    assert machine.twins == {}
    assert twin in machine.every_reading


def test_a_profile_serves_the_feeders_it_is_for() -> None:
    machine = Machine(
        (),
        (),
        feeders=(1, 2),
        found_profiles=(
            Profile(PROFILES[0], (2,), Place("petg.ini", 1), "petg"),
            Profile(PROFILES[2], (1, 2), Place("fine.ini", 1)),
        ),
    )
    assert machine.profiles == (PROFILES[0], PROFILES[2])
    assert machine.profiles_serving(1) == (PROFILES[2],)
    assert machine.profiles_serving(2) == (PROFILES[0], PROFILES[2])
    assert machine.material(PROFILES[0]) == "petg"
    assert machine.material(PROFILES[2]) == ""

"""A word that alone names nothing is no thing of the filament's way under a head of something else: it is asked about."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import of_feeder
from cfgmigrate.machine.recognise import recognise

_OTHERS = ("home", "driver", "drivers", "motor", "gantry", "end", "start", "input", "probe", "fan", "bed", "pause",
           "park", "tool change", "stepper", "frame", "button", "axis x", "heater")  # fmt: skip
_SHORT = ("delay", "time", "pull", "max", "travel", "factor", "lag", "feed", "retract", "withdraw", "advance", "latency", "trail",
          "compression", "back", "hop", "lift", "longest", "load", "unload", "extra", "coefficient", "constant", "gain",
          "maximum", "limit", "single", "out", "stroke", "distance", "amount", "value")  # fmt: skip
_NUMBERS = ("0.5", "5", "40", "900")


def of(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("tern.conf", text.encode(), dialect)])


def written(machine: Machine) -> set[str]:
    return {each.quantity for each in machine.readings if each.editable and of_feeder(each.quantity)}


@pytest.mark.parametrize("head", _OTHERS)
def test_under_a_head_of_something_else_a_short_word_is_nothing_of_the_feed_path(head: str) -> None:
    found = {}
    for word in _SHORT:
        for number in _NUMBERS:
            flat = written(of(f"{head.replace(' ', '.')}.{word}={number}\n", "flat"))
            if meant := flat | written(of(f"[{head}]\n{word} = {number}\n")):
                found[word, number] = meant
    assert not found


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("driver.delay=0.5", "lag.coefficient"),
        ("motor.delay=0.5", "lag.coefficient"),
        ("feeder.motor.delay=0.5", "lag.coefficient"),
        ("filament.delay=0.5", "lag.coefficient"),
        ("filament.retard=0.5", "lag.coefficient"),
        ("filament.charge=412", "feeder.load_length"),
        ("tool.delay=0.5", "lag.coefficient"),
        ("load.delay=0.5", "lag.coefficient"),
        ("flow.time=0.5", "lag.coefficient"),
        ("gantry.lag=0.5", "lag.coefficient"),
        ("nozzle.lag=0.5", "lag.coefficient"),
        ("pressure.factor=0.5", "lag.coefficient"),
        ("retract.travel=1.5", "retraction.length"),
        ("end.retract=4", "retraction.length"),
        ("motion.pull.e=5.5", "feeder.max_feed_length"),
        ("loading.feed=900", "feeder.load_length"),
        ("loads=61", "feeder.load_length"),
        ("unloaded=60", "feeder.unload_length"),
        ("retracts=12", "retraction.length"),
        ("motor.load=480", "feeder.load_length"),
        ("wire.motor.load=480", "feeder.load_length"),
        ("park.current=0.4 A rms", "motor.hold_current"),
        ("axis.x.wait=3", "park.x"),
        ("axis.y.rest=12", "park.y"),
    ],
)
def test_a_name_that_says_too_little_is_asked_about_and_never_read(line: str, quantity: str) -> None:
    machine = of(f"{line}\n", "flat")
    assert not machine.readings
    (doubt,) = machine.doubts
    assert doubt.about == quantity and doubt.why.startswith("this may be ")


@pytest.mark.parametrize(
    ("line", "quantity"),
    [
        ("[feeder]\nlag = 0.5", "lag.coefficient"),
        ("[melt]\ndelay = 0.5", "lag.coefficient"),
        ("[feeder motor]\nretract = 5", "retraction.length"),
        ("[cord motor]\nretract = 5", "retraction.length"),
        ("[motor of the cord]\nretract = 5", "retraction.length"),
        ("[tool 1]\nretract = 5", "retraction.length"),
        ("[stringing]\npull = 5", "retraction.length"),
        ("[motor]\nretract length = 5", "retraction.length"),
        ("[filament]\nload = 480", "feeder.load_length"),
        ("[filament]\nrun in = 480", "feeder.load_length"),
        ("[travel]\nhop = 0.4", "retraction.lift"),
        ("[motor]\nhold current = 0.4 A rms", "motor.hold_current"),
        ("[axis x]\nwaits at = 3", "park.x"),
        ("[axis x]\nwaiting place = 3", "park.x"),
        ("[axis x]\npark = 3", "park.x"),
        ("[waiting]\nx = 3", "park.x"),
    ],
)
def test_the_other_half_of_the_name_or_its_measure_says_what_it_is(line: str, quantity: str) -> None:
    assert quantity in {each.quantity for each in of(f"{line}\n").readings if each.editable}


def test_what_is_done_before_a_travel_is_no_travel() -> None:
    machine = of("haul.back.before.travel = 7.5\n", "flat")
    assert [each.quantity for each in machine.readings] == ["retraction.length"]


@pytest.mark.parametrize("text", ["[moves]\nfill = 3900\n", "fill = 100\n", "[speeds]\nfilled = 74\n"])
def test_a_fill_of_nothing_may_be_what_is_printed_within_walls_and_is_no_load(text: str) -> None:
    assert not [each for each in of(text).every_reading if each.quantity == "feeder.load_length"]


@pytest.mark.parametrize("name", ["fill the tube", "filament fill", "fill_mm", "first fill"])
def test_a_fill_of_the_filaments_way_is_a_load(name: str) -> None:
    assert "feeder.load_length" in written(of(f"{name} = 640\n"))


def test_a_filaments_diameter_is_no_longest_feed() -> None:
    assert not of("[machine]\nmax filament = 1.75\n").every_reading
    assert written(of("[machine]\nlongest feed = 640\n")) == {"feeder.max_feed_length"}

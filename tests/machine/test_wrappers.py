"""What stands before all keys of a file is no word of any of them; what one device's settings stand below is."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.machine.wrappers import standing_before

AXES = ("x.steps", "y.steps", "x.current", "y.current")
SEVERAL = ("feeder.steps", "nozzle.bore", "retraction.length", "retraction.speed", "bed.heat")


def found(
    *keys: str, dialect: str = "flat", taught: Mapping[tuple[str, ...], tuple[str, ...]] | None = None
) -> set[str]:
    text = "".join(f"{key} = 1\n" for key in keys)
    return {
        ".".join(path) for path in standing_before(read("one.conf", text.encode(), dialect), taught or {})
    }


def below(head: str, keys: tuple[str, ...]) -> list[str]:
    return [f"{head}.{key}" for key in keys]


def test_a_word_before_all_keys_and_one_before_that_say_nothing() -> None:
    assert found(*below("quux", SEVERAL)) == {"quux"}
    assert found(*below("quux.gruz", SEVERAL)) == {"quux", "quux.gruz"}
    assert found(*SEVERAL) == set()


def test_nine_in_ten_keys_of_five_are_all_keys() -> None:
    nine = [*SEVERAL, "nozzle.heat", "feeder.current", "bed.speed", "lag.time"]
    assert found(*below("quux", tuple(nine)), "wait") == {"quux"}
    assert found(*below("quux", tuple(nine)), "wait", "hold") == set()
    assert found(*below("quux", SEVERAL[:4])) == set()


def test_what_speaks_of_one_thing_only_is_a_device_and_no_wrapper() -> None:
    assert (
        found(
            *below("quux", tuple(f"feeder.{each}" for each in ("steps", "current", "speed", "turn", "load")))
        )
        == set()
    )


@pytest.mark.parametrize(
    "head", ["feeder", "retraction", "x", "e", "steps", "amps", "vmax", "ihold", "accels"]
)
def test_a_word_of_the_trade_says_something_wherever_it_stands(head: str) -> None:
    assert found(*below(head, SEVERAL)) == set()


def test_two_fifths_of_a_file_are_wrapped_where_both_axes_stand_there_and_none_beside() -> None:
    others = ("fan.speed", "fan.pin", "lamp.pin", "lamp.level", "pump.pin", "pump.level")
    assert found(*below("quux", AXES), *others) == {"quux"}
    assert found(*below("quux", AXES), *others, "wait") == set()
    assert found(*below("quux", AXES), *others[1:], "x.speed") == set()
    assert found(*below("quux", ("x.steps", "x.current", "x.speed", "x.way")), *others) == set()


def test_what_the_user_explained_says_something() -> None:
    assert found(*below("quux", SEVERAL), taught={("quux",): ("feeder",)}) == set()


def test_word_address_lines_have_no_wrapper() -> None:
    assert standing_before(read("one.nc", b"Q21 X84 Y86\nQ22 X84 Y86\n", "command"), {}) == frozenset()


@pytest.mark.parametrize("head", ["steps", "currents", "ihold", "vmax"])
def test_what_says_what_a_number_is_stays_before_the_axes_that_are_all_that_a_file_has(head: str) -> None:
    assert found(f"{head}.x", f"{head}.y", f"{head}.e") == set()

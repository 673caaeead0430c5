"""A value is named by its quantity and its holder; what a person leaves out is told only where it can be."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.plan.identity import meant, name_of, parts_of, told_apart

PETG, TPU = "retraction.length @ filament petg", "retraction.length @ filament tpu"


@pytest.mark.parametrize("holder", ["machine", "feeder 2", "filament PETG @ 240"])
def test_a_name_is_taken_apart_as_it_was_put_together(holder: str) -> None:
    assert parts_of(name_of("retraction.length", holder)) == ("retraction.length", holder)


def test_what_the_machine_has_is_named_as_before_there_were_holders() -> None:
    assert name_of("axis.z.max") == "axis.z.max"


def test_a_bare_quantity_means_the_one_that_there_is() -> None:
    assert meant("axis.z.max", ["axis.z.max", PETG]) == ("axis.z.max",)
    assert meant("retraction.length", ["axis.z.max", PETG]) == (PETG,)


def test_a_bare_quantity_of_profiles_alone_means_all_of_them() -> None:
    assert meant("retraction.length", [PETG, TPU]) == (PETG, TPU)


def test_a_bare_quantity_that_the_machine_and_a_profile_have_is_asked_about() -> None:
    known = ["retraction.length", PETG]
    with pytest.raises(BadInput, match="several holders") as raised:
        meant("retraction.length", known)
    for name in known:
        assert name in str(raised.value)
    assert meant("retraction.length @ machine", known) == ("retraction.length",)
    assert meant(PETG, known) == (PETG,)


def test_a_name_that_nothing_has_says_the_nearest() -> None:
    with pytest.raises(BadInput, match=r"Did you mean retraction\.length @ filament petg"):
        meant("retraction.length @ filament peg", [PETG])


@pytest.mark.parametrize("known", [["retraction.length", PETG], ["retraction.length"], [PETG, TPU]])
def test_a_name_as_it_is_told_to_be_typed_means_itself_alone(known: list[str]) -> None:
    assert [meant(told_apart(name, known), known) for name in known] == [(name,) for name in known]

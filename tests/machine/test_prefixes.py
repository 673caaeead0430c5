"""Profiles by keys that begin alike: a word for a profile or a material, a name, and the same end."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine.prefixes import names_something, prefixed


def found(keys: str, only_profiles: bool = False, section: str = "") -> dict[tuple[str, str, str], list[str]]:
    settings = [Setting(section, key, "1", at, at + 1, at, 1) for at, key in enumerate(keys.split(), 1)]
    return {
        (each.kind, each.word, each.name): [end for _, end in each.settings]
        for each in prefixed(settings, only_profiles)
    }


def two(*ends: str, names: tuple[str, ...] = ("zum", "klo"), word: str = "filament_") -> str:
    return " ".join(f"{word}{name}_{end}" for name in names for end in ends)


@pytest.mark.parametrize(
    ("keys", "profiles"),
    [
        (two("retract", "speed"), {("filament", "filament", "zum"): ["retract", "speed"],
                                   ("filament", "filament", "klo"): ["retract", "speed"]}),
        (two("retract", "speed", word="print_"), {("print", "print", "zum"): ["retract", "speed"],
                                                  ("print", "print", "klo"): ["retract", "speed"]}),
        (two("retract"), {}),
        # how fast it is threaded in
        (two("length", "speed", names=("fast", "slow"), word="thread_"), {}),
        ("filament_zum_retract filament_zum_speed", {}),
        ("filament_zum_retract filament_zum_speed filament_klo_lag filament_klo_temp", {}),
        ("filament_petg_retract", {("filament", "filament", "petg"): ["retract"]}),
        ("petg_retract", {("filament", "", "petg"): ["retract"]}),
        ("petg_black_retract petg_retract", {("filament", "", "petg black"): ["retract"],
                                             ("filament", "", "petg"): ["retract"]}),
        ("pa_k", {}),
        # a public address, say, has nothing that a filament has
        ("pa_fan_max", {}),
        ("pa_retract", {("filament", "", "pa"): ["retract"]}),
        ("asa_fan_max", {("filament", "", "asa"): ["fan max"]}),
        ("abs_flow_lag_s abs_bed_pull_back_mm_s", {("filament", "", "abs"): ["flow lag s", "bed pull back mm s"]}),
        ("petg", {}),
        (two("retract", "speed", names=("loading", "sensor")), {}),
        (two("retract", "speed", names=("1", "2")), {}),
    ],
)  # fmt: skip
def test_a_name_between_a_word_for_a_profile_and_an_end_that_several_names_have_is_a_profile(
    keys: str, profiles: dict[tuple[str, str, str], list[str]]
) -> None:
    assert found(keys) == profiles


@pytest.mark.parametrize(
    ("keys", "names"),
    [
        ("fine_layer fine_wall fine_speed coarse_layer coarse_wall coarse_speed", {"fine", "coarse"}),
        ("fine_layer fine_speed coarse_layer coarse_speed", set()),
        ("fine_retract fine_accel fine_speed coarse_retract coarse_accel coarse_speed", set()),
        ("zum_layer zum_wall zum_speed klo_layer klo_wall klo_speed", set()),
        ("fine coarse", set()),
    ],
)
def test_a_usual_name_without_a_word_before_it_is_a_print_s_by_three_settings_one_of_them_a_print_s(
    keys: str, names: set[str]
) -> None:
    assert {name for _, _, name in found(keys)} == names
    assert {kind for kind, _, _ in found(keys)} <= {"print"}


def test_in_a_file_of_profiles_alone_a_name_needs_no_word_before_it_unless_some_key_has_none() -> None:
    keys = two("retract", "speed", word="")
    assert {name for _, _, name in found(keys, only_profiles=True)} == {"zum", "klo"}
    assert {kind for kind, _, _ in found(keys, only_profiles=True)} == {"either"}
    assert found(keys) == {}
    assert found(f"{keys} temperature", only_profiles=True) == {}
    kept = found(f"{keys} temperature petg_retract {two('lag', 'temp')}", only_profiles=True)
    assert {name for _, _, name in kept} == {"petg", "zum", "klo"}


def test_below_a_section_no_key_has_a_profile_s_name() -> None:
    assert found(two("retract", "speed"), section="feed") == {}


@pytest.mark.parametrize(
    ("name", "is_one"),
    [("zum", True), ("petg", True), ("fine", True), ("speed", False), ("sensor", False), ("4", False), ("reel", False),
     ("reels", False), ("layer", False), ("", False)],
)  # fmt: skip
def test_a_name_is_no_word_of_the_trade_unless_it_is_a_material_or_usual_for_profiles(
    name: str, is_one: bool
) -> None:
    assert names_something(tuple(name.split())) is is_one

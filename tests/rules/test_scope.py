"""What a rule can see under a name: readings, fields, tables, constants and other rules' results."""

from __future__ import annotations

import pytest
from rulebench import machine_of, sheet_of

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Machine
from cfgmigrate.rules import library
from cfgmigrate.rules.formula import holds, names, nominal, read_condition
from cfgmigrate.rules.scope import NamedValue, Scope, uncertain

GIVEN = {
    "was.retraction.length": "5",
    "new.feed_per_turn": "4 ± 0.1 mm",
    "filament.material": "PLA",
    "new.drive": "on the carriage",
}


def scope(given: dict[str, str] = GIVEN, without: Scope | None = None) -> Scope:
    said = {name: text for name, text in given.items() if not name.startswith("was.")}
    return Scope(machine_of(given), sheet_of(said), library.tables(), without)


def value(found: NamedValue | None) -> NamedValue:
    assert found is not None
    return found


def test_a_reading_is_what_was_and_what_will_be_until_a_rule_says_otherwise() -> None:
    seen = scope()
    was = value(seen.given("was.retraction.length"))
    assert (was.base, was.unit, was.origin, was.text) == (pytest.approx(0.005), "mm", "machine.conf:1", "5")
    assert value(seen.given("will.retraction.length")).base == was.base
    assert seen.given("was.retraction.speed") is None
    found = NamedValue("retraction.length", "", "mm", "rule retraction.length", base=0.001)
    seen.keep("retraction.length", "retraction.length", found)
    assert seen.given("will.retraction.length") is found and seen.given("retraction.length") is found
    assert value(seen.given("was.retraction.length")).base == was.base
    only = scope()
    only.keep("path.give_new", "", found)
    assert only.given("path.give_new") is found and only.given("will.") is None


def test_a_field_of_the_sheet_has_its_uncertainty_and_a_word_is_no_number() -> None:
    seen = scope()
    feed = value(seen.given("new.feed_per_turn"))
    assert nominal(feed.base) == pytest.approx(0.004) and feed.base.std_dev == pytest.approx(0.0001)
    assert feed.place is not None and feed.origin.startswith("swap.yaml:")
    assert value(seen.given("filament.material")).word == "PLA"
    assert seen.bases(["new.feed_per_turn", "filament.material", "was.lag.coefficient"]).keys() == {
        "new.feed_per_turn"
    }
    assert seen.words(["new.feed_per_turn", "filament.material", "new.tube.length"]) == {
        "filament.material": "PLA"
    }


def test_a_word_is_spelled_as_the_tables_have_it_and_shown_as_it_was_written() -> None:
    found = value(scope({"filament.material": "pla"}).given("filament.material"))
    assert (found.word, found.text) == ("PLA", "pla")


def test_a_table_s_row_is_the_one_that_the_sheet_names() -> None:
    seen = scope()
    modulus = value(seen.given("filament.material.modulus"))
    assert modulus.name == "PLA:modulus" and modulus.origin.startswith("table ")
    assert seen.given("filament.material.zum") is None
    assert scope({}).given("filament.material.modulus") is None
    assert value(seen.given("const.push_force")).origin.startswith("constant")


def test_the_same_reading_or_field_is_one_object_in_passes_that_share_it() -> None:
    one = scope()
    other = Scope(one.machine, one.sheet, one.tables, common=one.common)
    for name in ("was.retraction.length", "new.feed_per_turn"):
        assert one.given(name) is other.given(name)
    apart = Scope(machine_of(GIVEN), one.sheet, one.tables, common=one.common)
    assert apart.given("was.retraction.length") is not one.given("was.retraction.length")


def test_what_a_profile_shares_is_what_it_becomes_without_one() -> None:
    base = scope()
    with_profile = scope({}, base)
    shared = value(with_profile.given("shared.retraction.length"))
    assert (
        shared.base == pytest.approx(0.005)
        and shared.origin == value(base.given("was.retraction.length")).origin
    )
    assert (
        with_profile.given("shared.retraction.speed") is None
        and base.given("shared.retraction.length") is None
    )


def test_whether_a_profile_is_worked_out_is_known_there_and_nowhere_else() -> None:
    """Whatever the machine's files say: one whose feed nobody knows has profiles too."""
    base = scope({})
    asked = read_condition("in a profile and not known shared.feeder.steps_per_mm")
    said = [
        holds(asked, each.bases(names(asked)), each.words(names(asked))) for each in (base, scope({}, base))
    ]
    assert said == [False, True]


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("was.lag.coefficient", "no file sets lag.coefficient"),
        ("will.lag.coefficient", "lag.coefficient is set by no file and follows from nothing here"),
        ("shared.lag.coefficient", "lag.coefficient is no profile's here"),
        ("new.tube.length", "the sheet doesn't say new.tube.length"),
        ("filament.material.zum", "the tables have no zum for PLA"),
        ("path.zum", "path.zum could not be worked out"),
        ("in a profile", "no profile is worked out here"),
    ],
)
def test_a_name_that_nothing_gives_says_where_it_would_stand(name: str, said: str) -> None:
    assert scope().missing(name) == said


def test_the_first_place_among_names_is_told_and_the_sheet_s_beginning_where_there_is_none() -> None:
    seen = scope()
    assert seen.place(["const.push_force", "was.retraction.length"]) == Place("machine.conf", 1, 1)
    assert seen.place(["const.push_force"]) == Place("swap.yaml", 1, 1)
    assert seen.first_place(["const.push_force", "was.lag.coefficient"]) is None


def test_the_rules_behind_names_are_told_once_each() -> None:
    seen = scope()
    for rule in ("path.one", "path.two"):
        seen.keep(rule, "", NamedValue(rule, "", "mm", f"rule {rule}", base=1.0))
    assert seen.rules_behind(["path.two", "was.retraction.length", "path.one", "path.two", "path.zum"]) == (
        "path.two",
        "path.one",
    )


def test_without_an_uncertainty_a_number_is_a_plain_one() -> None:
    assert uncertain(4.0, 0.0, "mm", "a") == pytest.approx(0.004) and isinstance(
        uncertain(4.0, 0.0, "mm", "a"), float
    )
    assert uncertain(4.0, 0.5, "mm", "a").std_dev == pytest.approx(0.0005)
    assert Machine((), ()).get("retraction.length") is None

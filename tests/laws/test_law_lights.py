"""Laws 12 and 13, over every sample machine with any part of its own sheet.

No light stays old in silence: where a value of a light is neither written nor new already, the light says so, unless the
sheet says outright that it is as before. And to say more never warns less: a field more takes a light away only by
completing an answer to what it was about.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from laws.test_law_migration import MACHINES, SAMPLES, sheet_of
from ruamel.yaml import YAML

from cfgmigrate.knowledge.lights import LightKind, Wanted, light_kinds
from cfgmigrate.plan.lights import SET, UNAFFECTED, UNKNOWN
from cfgmigrate.plan.model import Light, Plan
from cfgmigrate.rules.library import book
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.sheet.starter import fill
from cfgmigrate.workflow.prepare import read_machine, work_out

FEWER = settings(
    max_examples=max(4, settings().max_examples // 10),
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
#: machines whose sheet tells of one feeder, so that its fields can be drawn one by one
PLAIN = [machine for machine in MACHINES if read_sheet(sheet_of(machine)).plain]
#: machines whose sheet tells of several; their fields are drawn for each feeder apart
SEVERAL = [machine for machine in MACHINES if machine not in PLAIN]
KINDS = {kind.name: kind for kind in light_kinds().kinds}


@lru_cache(maxsize=8)
def fields_of(machine: str) -> dict[str, str]:
    return {path: entry.text for path, entry in read_sheet(sheet_of(machine)).entries.items()}


def planned(machine: str, said: dict[str, str], folder: Path) -> Plan:
    sheet = folder / "sheet.yaml"
    sheet.write_text(fill(said), encoding="utf-8")
    return work_out([SAMPLES / machine], sheet).plan


def answers(value: Wanted, fields: set[str]) -> set[tuple[str, ...]]:
    return {names for names in (*value.settle, *value.same) if set(names) <= fields}


def stopped_by(kind: LightKind, light: Light, fields: set[str]) -> bool:
    """Whether the light stood for a rule that says that no value is right yet, and a field takes just that away."""
    rules = {name: book().rule(name) for name in kind.stops}
    told = [
        name for name, rule in rules.items() if rule and light.why.startswith(rule.by_hand.split(" {")[0])
    ]
    return any(fields & set(kind.stops[name]) for name in told)


def old_values(kind: LightKind, plan: Plan, machine: str) -> set[str]:
    """The light's values in the files that are neither written nor said to be new already."""
    _, found = read_machine([SAMPLES / machine])
    there = {value.quantity for value in kind.values if found.get(value.quantity) is not None}
    dealt_with = {change.quantity for change in plan.changes}
    return there - dealt_with - {left.quantity for left in plan.left_alone if left.already}


@pytest.mark.parametrize("machine", MACHINES)
def test_the_whole_sheet_of_a_sample_leaves_no_light_unknown(machine: str) -> None:
    plan = work_out([SAMPLES / machine], sheet_of(machine)).plan
    assert {light.light for light in plan.lights} == set(KINDS)
    assert not [light for light in plan.lights if light.state == UNKNOWN]


@pytest.mark.parametrize("machine", PLAIN)
@FEWER
@given(data=st.data())
def test_no_light_stays_old_in_silence(machine: str, tmp_path: Path, data: st.DataObject) -> None:
    fields = fields_of(machine)
    said = {path: fields[path] for path in data.draw(st.sets(st.sampled_from(sorted(fields))))}
    plan = planned(machine, said, tmp_path)
    assert {light.light for light in plan.lights} == set(KINDS)
    for light in plan.lights:
        kind = KINDS[light.light]
        values = {value.quantity: value for value in kind.values}
        own = {other.holder for other in plan.lights if other.light == light.light} - {light.holder}
        by_profile = light.state == UNAFFECTED and "each profile sets it for itself" in light.why and own
        for name in old_values(kind, plan, machine):
            as_before = any(set(names) <= set(said) for names in values[name].same)
            assert light.state == UNKNOWN or as_before or by_profile, (light, name)
        if light.state in (SET, UNAFFECTED) and not by_profile:
            assert any(answers(value, set(said)) for value in kind.values)


@pytest.mark.parametrize("machine", PLAIN)
@FEWER
@given(data=st.data())
def test_a_true_field_more_takes_away_only_the_warning_that_it_settles(
    machine: str, tmp_path: Path, data: st.DataObject
) -> None:
    fields = fields_of(machine)
    order = data.draw(st.permutations(sorted(fields)))
    first, second = sorted(data.draw(st.lists(st.integers(0, len(order)), min_size=2, max_size=2)))
    before, after = set(order[:first]), set(order[:second])
    fewer, more = (
        {light.name: light for light in planned(machine, {path: fields[path] for path in known}, tmp_path).lights}
        for known in (before, after)
    )  # fmt: skip
    for name, light in fewer.items():
        if light.state == UNKNOWN != more[name].state:
            kind = KINDS[light.light]
            answered = any(answers(value, after) - answers(value, before) for value in kind.values)
            assert answered or stopped_by(kind, light, after - before), (light, more[name])


Said = frozenset[tuple[int, str]]
"""What is said: for a feeder, by its number, or for the machine (0), each by its field."""


@lru_cache(maxsize=4)
def all_said(machine: str) -> dict[tuple[int, str], str]:
    """All that a sheet of several feeders says, with what one takes over from another written out."""
    sheet = read_sheet(sheet_of(machine))
    own = {
        (number, path): entry.text for number, said in sheet.feeders.items() for path, entry in said.items()
    }
    return {**{(0, path): entry.text for path, entry in sheet.entries.items()}, **own}


def planned_for_several(machine: str, said: Said, folder: Path) -> Plan:
    """The plan for a sheet with these fields; a feeder of which nothing is said is not in it, and with none at all the
    sheet says only what the machine has once."""
    texts = all_said(machine)
    sheet: dict[str, object] = {}
    for number, path in sorted(said):
        *groups, name = ("feeders", number, *path.split(".")) if number else path.split(".")
        inner: dict[object, object] = sheet  # type: ignore[assignment]
        for group in groups:
            inner = inner.setdefault(group, {})  # type: ignore[assignment]
        inner[name] = texts[number, path]
    place = folder / "sheet.yaml"
    with place.open("w", encoding="utf-8") as out:
        YAML(typ="safe", pure=True).dump(sheet, out)
    return work_out([SAMPLES / machine], place).plan


def said_of(light: Light, said: Said) -> set[str]:
    """The fields that are said of the feeder that a light is about, and of the machine."""
    number = light.holder.removeprefix("feeder ")
    return {path for of, path in said if not of or not number.isdigit() or of == int(number)}


@pytest.mark.parametrize("machine", SEVERAL)
@FEWER
@given(data=st.data())
def test_a_true_field_more_of_any_feeder_takes_away_only_the_warning_that_it_settles(
    machine: str, tmp_path: Path, data: st.DataObject
) -> None:
    """Both feeders are swapped, and told so, before and after: what is said more of the one settles nothing of the other's."""
    whole = all_said(machine)
    told = {(number, path) for number, path in whole if number and path == "new.drive"}
    order = data.draw(st.permutations(sorted(set(whole) - told)))
    first, second = sorted(data.draw(st.lists(st.integers(0, len(order)), min_size=2, max_size=2)))
    before, after = (frozenset([*told, *order[:many]]) for many in (first, second))
    fewer, more = (
        {light.name: light for light in planned_for_several(machine, said, tmp_path).lights}
        for said in (before, after)
    )
    assert fewer.keys() == more.keys() and {light.holder for light in fewer.values()} >= {
        "feeder 1",
        "feeder 2",
    }
    for name, light in fewer.items():
        if light.state == UNKNOWN != more[name].state:
            kind, known, now = KINDS[light.light], said_of(light, before), said_of(light, after)
            answered = any(answers(value, now) - answers(value, known) for value in kind.values)
            assert answered or stopped_by(kind, light, now - known), (light, more[name])


@pytest.mark.parametrize("machine", SEVERAL)
@FEWER
@given(data=st.data())
def test_no_light_of_any_feeder_stays_old_in_silence(
    machine: str, tmp_path: Path, data: st.DataObject
) -> None:
    whole = all_said(machine)
    said: Said = frozenset(data.draw(st.sets(st.sampled_from(sorted(whole)))))
    swapped = {number for number, path in said if number and path != "values"}
    plan = planned_for_several(machine, said, tmp_path)
    for light in plan.lights:
        number = light.holder.removeprefix("feeder ")
        if number.isdigit() and int(number) not in (swapped or {1}):
            continue  # the sheet tells of other feeders only, which says that this one is not touched
        if light.state in (SET, UNAFFECTED):
            known = said_of(light, said)
            assert any(answers(value, known) for value in KINDS[light.light].values), light


@pytest.mark.parametrize("machine", MACHINES)
def test_gears_and_steps_per_mm_alone_leave_no_feed_old_in_silence(machine: str, tmp_path: Path) -> None:
    said = {"new.drive_gear.gear_ratio": "52:11", "new.steps_per_mm": "712 1/mm", "new.microsteps": "16"}
    plan = planned(machine, said, tmp_path)
    feed = next(light for light in plan.lights if light.light == "feed")
    written = {change.quantity for change in plan.changes}
    assert feed.state == UNKNOWN or "feeder.steps_per_mm" in written
    if feed.state == UNKNOWN:
        assert "1.8 deg is on nearly all labels" in " ".join(feed.missing)


def test_the_lights_stand_in_changes_json(tmp_path: Path) -> None:
    plan = planned("dunlin", {}, tmp_path)
    told = json.loads(json.dumps(plan.to_json()))["lights"]
    assert [(each["light"], each["holder"], each["state"]) for each in told] == [
        (name, "machine", UNKNOWN) for name in KINDS
    ]
    assert all(each["why"] and each["missing"] for each in told)
    assert Plan.from_json({**plan.to_json()}).lights == plan.lights


def test_every_field_that_settles_a_light_is_one_of_the_sheet() -> None:
    for kind in KINDS.values():
        for value in kind.values:
            assert {name for names in value.settle for name in names} <= set(sheet_schema().fields)

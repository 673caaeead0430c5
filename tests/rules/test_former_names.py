"""A name of an earlier release is read wherever a person or a file may still have it, and is never written."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from commandline import Runner

from cfgmigrate.ground.positioned_yaml import read_data
from cfgmigrate.machine import quantities
from cfgmigrate.machine.names import read_names
from cfgmigrate.machine.quantities import all_quantities, known, numbered, present_id
from cfgmigrate.plan.identity import meant
from cfgmigrate.rules import library
from cfgmigrate.rules.former_names import present_name, with_present_names
from cfgmigrate.rules.formula import read_condition
from cfgmigrate.sheet.keeping import answered, open_kept, taken_back
from cfgmigrate.sheet.measured_keeping import put_measured
from cfgmigrate.sheet.reader import parse_sheet, read_sheet
from cfgmigrate.sheet.schema import measured_schema, sheet_schema
from cfgmigrate.sheet.starter import fill


def renamed() -> Iterator[tuple[str, str]]:
    """Every former id of a quantity, with the one that it has now."""
    data = read_data(Path(quantities.__file__).with_name("quantities.yaml"))
    entries = data.get("quantities")
    assert entries is not None
    for item in entries.items or ():
        before, letters = item.node.get("formerly"), item.node.get("each")
        for letter in [each.text or "" for each in (letters.elements or ())] if letters else [""]:
            if before is not None and before.text:
                yield before.text.replace("@", letter), item.key.replace("@", letter)


RENAMED = dict(renamed())
SHEETS = {**sheet_schema().formerly, **measured_schema().formerly}


def test_there_are_such_names() -> None:
    assert {"feeder.rotation_distance", "mesh.min_x", "axis.z.max_accel"} <= RENAMED.keys()
    assert {"new.rotation_distance", "measured.feed.at_rotation_distance"} <= SHEETS.keys()


@pytest.mark.parametrize("before", sorted(RENAMED))
def test_a_former_id_is_no_quantity_of_its_own_and_leads_to_one(before: str) -> None:
    now = RENAMED[before]
    assert known(now) and not known(before)
    assert present_id(before) == present_name(before) == now
    assert present_name(f"was.{before}") == f"was.{now}"
    assert present_name(f"{before} @ filament petg") == f"{now} @ filament petg"
    if quantities.of_feeder(now):
        assert present_id(numbered(before, 2)) == numbered(now, 2)


@pytest.mark.parametrize("name", [each.id for each in all_quantities()])
def test_every_other_name_stays(name: str) -> None:
    assert present_id(name) == name == present_name(name)


@pytest.mark.parametrize("before", sorted(RENAMED))
def test_a_value_is_meant_by_either_name_whichever_the_packet_has(before: str) -> None:
    now = RENAMED[before]
    for kept in (before, now):
        for said in (before, now):
            assert meant(said, [kept, "park.x"]) == (kept,)


@pytest.mark.parametrize("before", sorted(RENAMED))
def test_a_names_file_may_say_it(before: str, tmp_path: Path) -> None:
    path = tmp_path / "names.yaml"
    path.write_text(f'"[odd] key": {before}\n')
    (named,) = read_names(path).entries.values()
    assert [meaning.quantity for meaning in named.meanings] == [RENAMED[before]]


@pytest.mark.parametrize("before", sorted(SHEETS))
def test_a_sheet_may_say_it_and_an_answer_takes_its_place(before: str, tmp_path: Path) -> None:
    now, place = SHEETS[before], tmp_path / "sheet.yaml"
    schema = measured_schema() if before.startswith("measured.") else sheet_schema()
    field, *groups = reversed(before.split("."))
    text = f"{field}: {schema.fields[now].example}"
    for group in groups:
        text = f"{group}: {{{text}}}"
    place.write_text(f"# mine\n{text}\n")
    assert parse_sheet(place.read_bytes(), "s", schema).entries[now].text
    if schema is sheet_schema():
        answered(open_kept(place), now, schema.fields[now].example)
    else:
        put_measured(place, place.read_bytes(), schema.fields[now], schema.fields[now].example)
    left = place.read_text()
    assert now.rpartition(".")[2] + ":" in left and field + ":" not in left and "# mine" in left


def test_what_was_asked_in_an_earlier_release_is_remembered_and_can_be_taken_back(tmp_path: Path) -> None:
    place = tmp_path / "sheet.yaml"
    place.write_text(
        "new: {rotation_distance: 5.1 mm}\n# asked: 2:old.rotation_distance, new.rotation_distance\n"
    )
    kept = open_kept(place)
    assert kept.asked == ("2:old.feed_per_turn", "new.feed_per_turn")
    taken_back(kept)
    assert not read_sheet(place).entries


def test_answers_that_a_history_kept_fill_a_sheet_of_now() -> None:
    assert (
        parse_sheet(fill({"new.rotation_distance": "5.1 mm"}).encode(), "s")
        .entries["new.feed_per_turn"]
        .value
        == 5.1
    )


def test_a_rule_of_a_person_s_own_may_be_written_in_them(tmp_path: Path) -> None:
    tmp_path.joinpath("retraction.prime_extra.yaml").write_text(
        "sets: retraction.prime_extra\n"
        "says: Half of {was.retraction.prime_extra} is left.\n"
        "ways:\n"
        "  - way: half\n"
        "    needs: [was.retraction.prime_extra]\n"
        "    when: known new.rotation_distance\n"
        "    formula: was.retraction.prime_extra / 2\n"
        "    status: estimate\n"
        "    source: common practice, no source\n"
        "verify: Look.\n"
    )
    rules = {rule.name: rule for rule in library.book(tmp_path).rules}
    assert rules.keys() == {rule.name for rule in library.book().rules}
    own = rules["retraction.extra_on_return"]
    assert (
        own.sets == "retraction.extra_on_return" and own.ways[0].text == "was.retraction.extra_on_return / 2"
    )
    assert own.ways[0].needs == ("was.retraction.extra_on_return",)
    assert own.ways[0].when == read_condition("known new.feed_per_turn")


def test_only_whole_names_are_put_in_present_words() -> None:
    text = "see machine.conf, was.feeder.rotation_distances and my.feeder.rotation_distance"
    assert with_present_names(text) == text


def test_explain_takes_it(cli: Runner) -> None:
    assert cli("explain", "feeder.rotation_distance").out == cli("explain", "feeder.feed_per_turn").out
    assert "feed per turn" in cli("explain", "feeder.rotation_distance").out

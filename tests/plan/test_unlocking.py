"""What a field unlocks is what comes of it when it is answered: found quickly, and compared with the long way."""

from __future__ import annotations

import random
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rulebench import machine_of as machine_of_readings

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Machine
from cfgmigrate.plan.asking_order import needed_fields, ordered_questions, what_is_lost
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.open_fields import askable_fields, open_fields, usual_answers, with_answers
from cfgmigrate.plan.planning import plan_changes
from cfgmigrate.plan.unlocking import Standpoint, Unlock, Workings
from cfgmigrate.rules import library
from cfgmigrate.rules.lanes import work_out_lanes
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet, read_sheet
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.sheet.starter import fill
from cfgmigrate.workflow.prepare import read_machine

SAMPLES = Path(__file__).parents[2] / "sample_configs"
NAMES = sorted(path.name for path in SAMPLES.iterdir() if path.is_dir() and path.name != "sheets")
#: what the interview promises: a first packet with all lights settled within so many answers
MOST_QUESTIONS = 12


@lru_cache
def machine_of(name: str) -> Machine:
    return read_machine([SAMPLES / name])[1]


@lru_cache
def bench_of(name: str) -> Workings:
    return Workings(library.book(), machine_of(name), library.tables())


@lru_cache
def full(name: str) -> Mapping[str, str]:
    read = read_sheet(SAMPLES / "sheets" / f"{name}.yaml")
    return {path: entry.text for path, entry in read.entries.items()}


def sheet(answers: Mapping[str, str]) -> Sheet:
    return parse_sheet(fill(answers).encode(), "swap.yaml")


def part_of(name: str, seed: int) -> dict[str, str]:
    """Some of the answers of a sample's sheet."""
    chosen = random.Random(seed)
    share = chosen.random()
    return {path: text for path, text in full(name).items() if chosen.random() < share}


def test_the_maker_s_figure_is_asked_for_where_another_one_is_worked_out() -> None:
    """The old speed, within the steps that the board sends, is computed too; the maker allows less."""
    files = {"was.feeder.max_speed": "90", "was.feeder.steps_per_mm": "94"}
    bench = Workings(library.book(), machine_of_readings(files), library.tables())
    said = sheet({"new.steps_per_mm": "430 1/mm", "controller.max_step_rate": "40 kHz"})
    (found,) = bench.unlock(said, ("new.recommended_feed_speed",), bench.stand(said))
    assert "feeder.max_speed" in found.firmer


def long_way(name: str, answers: Mapping[str, str]) -> tuple[frozenset[str], frozenset[str]]:
    """The rules that come to something, and the lights that are unknown, for a whole plan from nothing."""
    return _long_way(name, tuple(answers.items()))


@lru_cache(maxsize=1024)
def _long_way(name: str, answers: tuple[tuple[str, str], ...]) -> tuple[frozenset[str], frozenset[str]]:
    """What is compared with each of many fields is worked out once."""
    book, machine, said = library.book(), machine_of(name), sheet(dict(answers))
    worked = work_out_lanes(book, machine, said, library.tables())
    plan = plan_changes(worked, book, machine, said, "")
    results = (result for outcome in worked.lanes.values() for result in outcome.results)
    values = frozenset(result.rule for result in results if result.target or result.hand)
    return values, frozenset(light.name for light in plan.lights if light.state == UNKNOWN)


MAY_CONTRADICT = {
    f"{side}.{field}"
    for side in ("old", "new")
    for field in ("tube.length", "path_length", "drive_gear.gear_ratio", "drive_gear.effective_diameter")
}


def by_hand(name: str, answers: Mapping[str, str], field: str) -> tuple[set[str], set[str]]:
    """What an answer to that field brings, by the long way: values and lights."""
    values, unknown = long_way(name, answers)
    more: set[str] = set()
    settled: set[str] = set()
    for entry in usual_answers(sheet_schema().fields[field]):
        try:
            then = long_way(name, {**answers, field: entry.text})
        except BadInput:
            continue
        more |= then[0] - values
        settled |= unknown - then[1]
    if field in MAY_CONTRADICT and field in full(name):
        # a usual figure may contradict what the sheet says otherwise; the machine's own then settles it
        settled |= unknown - long_way(name, {**answers, field: full(name)[field]})[1]
    return more, settled


def compare(name: str, answers: Mapping[str, str], fields: list[str]) -> None:
    bench, said = bench_of(name), sheet(answers)
    now = bench.stand(said)
    for field in fields:
        (unlock,) = bench.unlock(said, (field,), now) or (Unlock(field),)
        assert (set(unlock.values), set(unlock.lights)) == by_hand(name, answers, field), (name, field)


def test_a_field_unlocks_what_comes_of_it_when_it_is_answered() -> None:
    answers = {path: text for path, text in full("plover").items() if path != "new.tube.length"}
    compare("plover", answers, ["new.tube.length"])


@pytest.mark.exhaustive
@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize("name", NAMES)
def test_every_field_unlocks_what_comes_of_it_when_it_is_answered(name: str, seed: int) -> None:
    answers = part_of(name, seed)
    fields = list(open_fields(sheet(answers), machine_of(name)))
    compare(name, answers, random.Random(seed).sample(fields, min(len(fields), 25)))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.exhaustive
def test_while_a_light_is_unknown_the_next_question_is_one_that_settles_a_light(name: str) -> None:
    for seed in range(3):
        answers = part_of(name, seed)
        _, unknown = long_way(name, answers)
        wanted = ordered_questions(bench_of(name), sheet(answers))
        if wanted and wanted[0].lights:
            asked = {each: full(name).get(each) for each in (wanted[0].field, *wanted[0].beside)}
            texts = {
                each: text or usual_answers(sheet_schema().fields[each])[0].text
                for each, text in asked.items()
            }
            tried = [texts]
            if len(texts) == 1:
                field = wanted[0].field
                # a usual ratio may contradict what the sheet says otherwise; its own then settles it
                tried += [{field: entry.text} for entry in usual_answers(sheet_schema().fields[field])]
            elif all(sheet_schema().fields[each].negative for each in texts):
                tried.append(dict.fromkeys(texts, "0 mm"))
            left = [long_way(name, {**answers, **each})[1] for each in tried]
            assert any(unknown - each for each in left)
        elif unknown:
            fields = askable_fields(sheet(answers), machine_of(name))
            assert not any(by_hand(name, answers, field)[1] for field in fields)


def answer_of(name: str, field: str) -> dict[str, str]:
    """What a sample's sheet says to the question for a field: that itself, or that it is as before."""
    said, truth = full(name), sheet_schema().says_as_before(field)
    if field in said:
        return {field: said[field]}
    if said.get(truth) == "yes":
        return {truth: "yes"}
    if field.endswith("_shift.z") and said.get("carriage.height_as_before") == "yes":
        return {field: "0 mm"}
    return {}


def asked_until_settled(name: str) -> tuple[int, frozenset[str]]:
    """How many answers it takes until no answer of the sample's sheet settles a light, and what is unknown then."""
    said: dict[str, str] = {}
    declined: set[str] = set()
    for _ in range(30):
        wanted = ordered_questions(bench_of(name), sheet(said), declined)
        if not wanted or not wanted[0].lights:
            return len(said), long_way(name, said)[1]
        field = wanted[0].field
        answer = answer_of(name, field)
        said |= answer
        if not answer:
            declined.add(field)
    raise AssertionError("it goes on asking")


@pytest.mark.exhaustive
@pytest.mark.parametrize("name", NAMES[::2])
def test_every_sample_is_settled_as_far_as_its_whole_sheet_settles_it(name: str) -> None:
    count, unknown = asked_until_settled(name)
    assert count <= MOST_QUESTIONS
    assert unknown <= long_way(name, full(name))[1]


def test_nothing_is_wanted_of_a_field_that_nobody_can_answer() -> None:
    first = ordered_questions(bench_of("plover"), sheet({}))[0].field
    again = ordered_questions(bench_of("plover"), sheet({}), {first})
    assert again and first not in {unlock.field for unlock in again}


def test_what_is_gone_once_the_old_drive_is_off_is_told_by_what_is_lost_with_it() -> None:
    lost = what_is_lost(bench_of("plover"), sheet({}), ("old.tube.length", "old.driver.max_current"))
    assert [unlock.field for unlock in lost] == ["old.tube.length"]


def test_needed_are_the_fields_of_an_ordinary_swap_and_what_the_lights_ask_for() -> None:
    needed = needed_fields(bench_of("plover"), sheet({}))
    assert {"old.tube.length", "new.drive_gear.effective_diameter", "new.gears_as_before"} <= set(needed)
    assert "machine" not in needed and len(needed) < len(sheet_schema().fields) / 2


@pytest.mark.parametrize("name", NAMES)
def test_a_starter_sheet_has_every_field_whose_lack_its_own_packet_would_warn_of(name: str) -> None:
    """Where a short sheet is filled in whole, no packet says of a field that it lacked that the sheet does not say it."""
    needed = needed_fields(bench_of(name), sheet({}))
    bench, full = (
        bench_of(name),
        with_answers(sheet({}), {path: usual_answers(sheet_schema().fields[path])[0] for path in needed}),
    )
    warned = [text for result in bench.stand(full).results.values() for text in result.warnings]
    assert not [text for text in warned if "The sheet does not say" in text]
    if name == "wren":
        assert {
            "carriage.nozzle_shift.x",
            "carriage.probe_shift.x",
            "carriage.probe_shift.y",
            "machine_kind",
        } <= set(needed)


@settings(max_examples=settings.default.max_examples // 4)  # each has up to four sheets worked out in full
@given(st.sampled_from(NAMES), st.lists(st.integers(0, 2**16), min_size=2, max_size=4))
def test_whatever_was_answered_before_a_plan_is_the_one_of_a_full_run(name: str, seeds: list[int]) -> None:
    """One bench takes sheets one after the other, and works out only what is different in each."""
    bench, machine = bench_of(name), machine_of(name)
    for seed in seeds:
        said = sheet(part_of(name, seed))
        alone = work_out_lanes(library.book(), machine, said, library.tables())
        stand = bench.stand(said)
        then = stand.worked
        assert then == alone
        assert stand.unanswered == Standpoint(alone, library.book(), machine).unanswered
        plans = (plan_changes(worked, library.book(), machine, said, "here") for worked in (then, alone))
        assert next(plans).to_json() == next(plans).to_json()


@pytest.mark.parametrize(("place", "less"), sorted(sheet_schema().less_far.items()))
def test_how_far_something_gets_is_asked_as_a_place_or_as_what_is_lost_and_not_as_both(
    place: str, less: str
) -> None:
    answers = {"new.drive": "on the carriage"}
    machine = machine_of("wren")
    assert {place, less} <= {*askable_fields(sheet(answers), machine)}
    for path in (place, less):
        said = sheet({**answers, path: "8 mm"})
        assert {place, less}.isdisjoint(askable_fields(said, machine))


def test_what_a_filament_has_for_itself_does_not_hide_that_the_machines_own_value_lacks_a_material(
    tmp_path: Path,
) -> None:
    (tmp_path / "reels").mkdir()
    (tmp_path / "tern.conf").write_text(
        "axis_x_max = 200\naxis_y_max = 200\nfeeder_steps_per_mm = 93.4\nlag_seconds = 0.54\n"
    )
    (tmp_path / "reels/grey.conf").write_text("filament_material = PLA\nlag_seconds = 0.54\n")
    machine = read_machine([tmp_path])[1]
    bench = Workings(library.book(), machine, library.tables())
    answers = {
        **{"old.drive": "tube-fed", "new.drive": "on the carriage"},
        **{"old.path_length": "540 mm", "new.path_length": "65 mm", "filament.diameter": "1.75 mm"},
    }
    (brought,) = bench.unlock(sheet(answers), ("filament.material",))
    assert "lag.coefficient" in brought.values

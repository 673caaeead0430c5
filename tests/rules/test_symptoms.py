"""What is seen leads to an end, by way of checks that settle it, ranked by the machine's own numbers."""

from __future__ import annotations

from functools import lru_cache

import pytest
from msgspec.structs import replace
from rulebench import machine_of, sheet_of

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.positioned_yaml import read_marked
from cfgmigrate.reports.guidance import value_now
from cfgmigrate.rules import library
from cfgmigrate.rules.formula import read_condition
from cfgmigrate.rules.symptoms import Guidance, Look, Symptom, _check, _symptom, guidance, symptom, symptoms
from cfgmigrate.rules.tuning import joined, state_of
from cfgmigrate.sheet.schema import measured_schema
from cfgmigrate.trials import TRIALS

EVERY = [pytest.param(one, id=one.seen) for one in symptoms()]
MOTOR = {
    "new.motor.rated_current": "1.0 A", "new.motor.holding_torque": "9 N*cm", "new.drive_gear.gear_ratio": "50:9",
    "new.drive_gear.external_meshes": "1", "new.drive_gear.effective_diameter": "7.33 mm", "new.mount.material": "ABS",
    "surroundings.air": "45 degC",
}  # fmt: skip


@lru_cache(maxsize=8)
def hints(seen: str, current: str = "0.4") -> Guidance:
    by_screw = {"new.driver.set_by": "screw", "new.motor.recommended_current": "0.5 A"}
    files = {"was.feeder.feed_per_turn": "4.145"} | ({"was.motor.run_current": current} if current else {})
    sheet = sheet_of(MOTOR if current else MOTOR | by_screw)
    _, scope = state_of(library.tuning_book(), machine_of(files), joined(sheet, sheet), library.tables())
    return guidance(symptom(seen), scope)


@pytest.mark.parametrize("one", EVERY)
def test_everything_seen_leads_to_an_end(one: Symptom) -> None:
    assert one.look and one.says
    for look in one.look:
        assert look.check and look.settles and look.why
    assert one.end.startswith("Hand over to")
    assert any(word in one.end for word in ("maker", "licensed"))


@pytest.mark.parametrize("seen", ["clicks", "irregular wall"])
def test_a_current_that_is_at_its_limit_is_not_to_be_raised(seen: str) -> None:
    def looks(current: str) -> tuple[str, str, bool, bool]:
        (hint,) = (each for each in hints(seen, current).hints if each.at == "the run current")
        return hint.check[:8], hint.measured, bool(hint.settles), "may go up to" in value_now(hint)

    assert looks("0.4") == ("Raise it", "current", True, True)
    assert looks("1.0") == ("Do not r", "", False, False)


@pytest.mark.parametrize(
    ("current", "said"), [("0.4", "it is 0.4 A now"), ("", "read it at the driver: it is to be 0.5 A")]
)
def test_a_current_that_no_file_has_is_not_said_to_be_what_it_is_to_be(current: str, said: str) -> None:
    (hint,) = (each for each in hints("clicks", current).hints if each.at == "the run current")
    assert value_now(hint).startswith(said)


@pytest.mark.parametrize("one", EVERY)
def test_what_leads_on_does_not_go_in_a_circle(one: Symptom) -> None:
    by_name = {other.seen: other for other in symptoms()}
    seen, ahead = set(), [one.seen]
    while ahead:
        name = ahead.pop()
        seen.add(name)
        onward = {look.leads_to for look in by_name[name].look if look.leads_to}
        assert one.seen not in onward
        ahead += [other for other in onward if other not in seen]


@pytest.mark.parametrize("one", EVERY)
def test_scripts_and_parts_of_the_measured_sheet_that_are_named_are_there(one: Symptom) -> None:
    parts = {path.split(".")[1] for path in measured_schema().fields if path.startswith("measured.")}
    for look in one.look:
        assert not look.trial or look.trial in TRIALS
        assert not look.measured or look.measured in parts


@pytest.mark.parametrize("one", EVERY)
def test_whoever_raises_a_current_is_told_how_far_and_what_can_hurt(one: Symptom) -> None:
    for look in one.look:
        if look.measured == "current":
            assert look.up_to == "motor.current_limit"
            assert any("Never unplug a motor under power" in caution for caution in look.cautions)


@pytest.mark.parametrize("one", EVERY)
def test_the_hints_begin_with_what_is_cheap_and_likely(one: Symptom) -> None:
    ranks = [hint.effort / hint.likely for hint in hints(one.seen).hints]
    assert ranks == sorted(ranks)


def test_the_machines_own_numbers_stand_in_the_hints() -> None:
    hint = next(hint for hint in hints("clicks").hints if hint.at == "the run current")
    assert "0.4 A" in hint.why
    # torque 0.09 N·m · 0.4 · 0.75 · 0.95 · 2π / 4.145 mm = 38.9 N (by hand)
    assert "38.9" in hint.why
    assert hint.value == "0.4 A"
    assert hint.up_to.endswith(" A")


@pytest.mark.parametrize("one", EVERY)
def test_what_is_not_known_of_a_machine_is_left_out_and_the_rest_still_reads(one: Symptom) -> None:
    nothing = sheet_of({})
    _, scope = state_of(library.tuning_book(), machine_of({}), joined(nothing, nothing), library.tables())
    for found in (guidance(one, scope), hints(one.seen)):
        for hint in found.hints:
            for text in (hint.why, hint.check, hint.settles):
                assert text and text.endswith(".") and text[0].isupper()
                assert "not known" not in text
                assert not set("[]{}") & set(text)


def test_too_little_push_brings_the_current_forward() -> None:
    def place(current: str) -> int:
        return [hint.at for hint in hints("clicks", current).hints].index("the run current")

    assert place("0.3") < place("0.6")  # 29 N and 58 N of the 40 N needed


def test_other_words_and_spellings_find_the_same() -> None:
    assert symptom("Wood-Grain") is symptom("irregular_wall")


def test_nothing_known_is_one_clear_error_with_the_nearest_words() -> None:
    with pytest.raises(BadInput, match="stringing"):
        symptom("stringng")


def test_no_words_stand_for_two_things() -> None:
    words = [text for one in symptoms() for text in (one.seen, *one.also)]
    assert len(words) == len(set(words))


@pytest.mark.parametrize(
    ("said", "seen"),
    [
        ("it clicks when printing fast", "clicks"),
        ("100 mm asked gave 13.5 mm", "wrong length"),
        ("the drive turns the wrong way round", "wrong way"),
        ("the motor's plug is turned", "wrong way"),
        ("the feeder is ticking", "clicks"),
        ("strings between the posts", "stringing"),
        ("walls are too thin", "too little plastic"),
        ("the first layer does not stick to the bed", "first layer off"),
        ("under-extrusion", "too little plastic"),
        ("blobs everywhere", "too much plastic"),
    ],
)
def test_what_is_seen_is_found_by_its_words_and_not_only_by_a_label(said: str, seen: str) -> None:
    assert symptom(said).seen == seen


@pytest.mark.parametrize(
    ("said", "seen"),
    [
        ("no filament comes out of the nozzle", "no push"),
        ("no plastic", "no push"),
        ("motor skips steps", "clicks"),
        ("nozzle scrapes over the bed", "first layer off"),
        ("print is shifted sideways", "shifted layers"),
        ("layers are shifted", "shifted layers"),
        ("echoes of corners on the wall", "waves behind corners"),
        ("ringing", "waves behind corners"),
        ("filament moves backwards", "wrong way"),
        ("feeder turns the wrong way", "wrong way"),
        ("top has gaps", "too little plastic"),
        ("layers come apart", "too little plastic"),
        ("threads everywhere", "stringing"),
        ("oozing while it travels", "stringing"),
        ("jam after some minutes", "jam"),
        ("soft filament winds around the gear", "jam"),
        ("it hits something at the top", "collision"),
        ("the cable pulls", "collision"),
        ("machine stops in the middle of a print", "stops by itself"),
        ("zits", "too much plastic"),
        ("dimensions are wrong", "too much plastic"),
        ("noisy motor", "clicks"),
        ("the motor hums but doesn't turn", "no push"),
    ],
)
def test_what_people_say_is_understood_by_its_words(said: str, seen: str) -> None:
    assert symptom(said).seen == seen


TABLE = """\
symptoms:
  - seen: clicks
    says: it clicks
    look: [{{at: the current, why: w, check: c, settles: s, effort: {effort}, likely: {likely}}}]
    end: Hand over to the maker.
"""


def read_table(effort: str, likely: str) -> Look:
    table = read_marked(TABLE.format(effort=effort, likely=likely).encode(), "table.yaml").get("symptoms")
    assert table is not None and table.elements
    (look,) = _symptom(table.elements[0]).look
    return look


@pytest.mark.parametrize(("effort", "likely"), [("1", "1"), ("5", "3")])
def test_effort_and_likelihood_are_whole_numbers_from_1_on(effort: str, likely: str) -> None:
    look = read_table(effort, likely)
    assert (look.effort, look.likely) == (int(effort), int(likely))


@pytest.mark.parametrize(
    ("effort", "likely"),
    [("0", "1"), ("6", "1"), ("1", "0"), ("1", "4"), ("2.5", "1"), ("-1", "1"), ("1" * 5000, "1")],
)
def test_any_other_effort_or_likelihood_is_refused_with_its_line(effort: str, likely: str) -> None:
    with pytest.raises(BadInput, match="is a whole number from 1 to") as raised:
        read_table(effort, likely)
    assert raised.value.place is not None and raised.value.place.line == 4
    assert "header" in raised.value.remedy


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"measured": "the moon"}, "no part 'the moon'"),
        ({"leads_to": "the moon"}, "'the moon' is nothing else"),
        ({"up_to": "was.motor.run_current"}, "up_to without a value"),
        ({"at_limit": "stop"}, "at_limit without up_to"),
        ({"value": "was.motor.moon"}, "nothing is called 'was.motor.moon'"),
        ({"surer": "was.retraction.length > was.motor.run_current"}, "unlike units"),
    ],
)
def test_a_table_that_names_what_is_not_there_or_compares_what_can_t_be_is_refused(
    wrong: dict[str, str], said: str
) -> None:
    found = {**wrong, "surer": read_condition(wrong["surer"])} if "surer" in wrong else wrong
    whole = Look("it", "why", "look", "done", 1, 1, Place("symptoms.yaml", 3))
    _check((Symptom("strings", (), "it strings", (whole,), "ask"),), library.tuning_vocabulary())
    broken = Symptom("strings", (), "it strings", (replace(whole, **found),), "ask")
    with pytest.raises(BadInput, match=said) as raised:
        _check((broken,), library.tuning_vocabulary())
    assert raised.value.place == Place("symptoms.yaml", 3)


def test_without_a_condition_a_thing_is_as_likely_as_the_table_says_and_less_effort_goes_first() -> None:
    def look(at: str, effort: int, likely: int, surer: str = "") -> Look:
        when = read_condition(surer) if surer else None
        return Look(at, "why", "look", "done", effort, likely, Place("symptoms.yaml", 3), surer=when)

    table = Symptom("strings", (), "it strings", (look("c", 4, 2), look("b", 2, 1), look("a", 2, 2)), "ask")
    _, scope = state_of(
        library.tuning_book(), machine_of({}), joined(sheet_of({}), sheet_of({})), library.tables()
    )
    assert [(hint.at, hint.likely) for hint in guidance(table, scope).hints] == [("a", 2), ("b", 1), ("c", 2)]
    surer = replace(table, look=(*table.look, look("d", 3, 1, "not known was.retraction.length")))
    assert [hint.at for hint in guidance(surer, scope).hints] == ["d", "a", "b", "c"]

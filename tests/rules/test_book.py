"""The rule book holds together, or loading it says where it doesn't: file and line, and what to do.

Each test's rule is written out in full; what is wrong in it is its only fault.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from msgspec.structs import replace
from rulebench import machine_of, own_rules, sheet_of, work_out_given

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.quantities import all_quantities
from cfgmigrate.rules import library
from cfgmigrate.rules.book import Book, book_from, own_book
from cfgmigrate.rules.lanes import _slope
from cfgmigrate.rules.scope import Scope

GOOD = """\
sets: retraction.length
says: It shrinks with the tube.
ways:
  - way: in proportion
    needs: [was.retraction.length, new.tube.length, old.tube.length]
    formula: was.retraction.length * new.tube.length / old.tube.length
    status: estimate
    source: common practice, no source
verify: Print a tower.
"""
FINDING = """\
label: bend of both tubes
unit: deg
says: Both together.
ways:
  - way: sum
    needs: [new.tube.bend, old.tube.bend]
    formula: new.tube.bend + old.tube.bend
    status: computed
    source: geometry
verify: By eye.
"""


def load(**files: str) -> Book:
    sources = {f"{name.replace('__', '.')}.yaml": text.encode() for name, text in files.items()}
    return book_from(sources, library.vocabulary())


def refusal(**files: str) -> BadInput:
    with pytest.raises(BadInput) as caught:
        load(**files)
    return caught.value


def changed(text: str, old: str, new: str) -> str:
    assert old in text
    return text.replace(old, new)


def test_a_rule_that_sets_a_quantity_takes_its_label_and_unit() -> None:
    (rule,) = load(retraction__length=GOOD).rules
    assert (rule.name, rule.label, rule.unit) == ("retraction.length", "retraction length", "mm")


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ("was.retraction.length * new.tube.length / old.tube.length", "was.retraction.length * new.tube.length * old.tube.length", 6, "unit is not mm"),
        ("was.retraction.length * new.tube.length", "was.retraction.length + new.tube.length * pi", 6, "unlike units"),
        ("new.tube.length", "new.tube.lenght", 6, "The nearest name is 'new.tube.length'"),
        ("was.retraction.length", "was.retraction.lenght", 6, "The nearest name is 'was.retraction.length'"),
        ("sets: retraction.length", "sets: retraction.lenght", 1, "The nearest one is 'retraction.length'"),
        ("sets: retraction.length", "sets: heater.bed.max_temperature", 1, "protected and is never written"),
        ("says: It shrinks with the tube.", "say: It shrinks with the tube.", 2, "Did you mean 'says'?"),
        ("    status: estimate", "    state: estimate", 7, "Did you mean 'status'?"),
        ("    status: estimate", "    status: guessed", 7, "it is one of measured, computed, estimate, by hand"),
        ("    status: estimate\n", "", 4, "the field 'status' is missing"),
        ("    source: common practice, no source\n", "", 4, "the field 'source' is missing"),
        ("verify: Print a tower.\n", "", 1, "the field 'verify' is missing"),
        ("verify: Print a tower.", "verify:", 9, "the field 'verify' is missing"),
        ("    formula: was", "    formula: was.retraction.length was", 6, "no formula from 'was.retraction.length * "),
        ("    formula: was.retraction.length * new.tube.length / old.tube.length\n", "", 4, "either a formula or a word"),
        ("    status: estimate", "    word: reversed\n    status: estimate", 4, "either a formula or a word"),
        ("new.tube.length, old.tube.length]", "new.tube.length]", 6, "uses old.tube.length without needing it"),
        ("needs: [was", "needs: [new.tube.bend, was", 6, "needs new.tube.bend and does not use it"),
        ("  - way: in proportion\n    needs", "  - way: in proportion\n    when: new.tube.length > 3\n    needs", 7, "unlike units"),
        ("  - way: in proportion\n    needs", "  - way: in proportion\n    when: new.tube.length >\n    needs", 5, "this condition ends too soon"),
        ("says: It", "applies: known new.tube.lenght\nsays: It", 2, "The nearest name is 'new.tube.length'"),
        ("says: It", "applies: new.tube.length > new.tube.bend\nsays: It", 2, "unlike units"),
        ("  - way: in proportion\n    needs", "  - way: in proportion\n    when: known new.dirve\n    needs", 7, "The nearest name is 'new.drive'"),
        ("says: It", "by_hand: do {const.nothing_such}\nsays: It", 2, "nothing is called 'const.nothing_such'"),
        ("verify: Print", "write_as: new.drive_gear.ratio\nverify: Print", 9, "The nearest name is 'new.drive_gear.gear_ratio'"),
        ("verify: Print", "range: {low: const.nothing_such, high: this.value, step: this.value}\nverify: Print", 9, "nothing is called"),
        ("verify: Print", "warn:\n  - {when: known new.drive, say: 'see {path.giv_old}'}\nverify: Print", 10, "nothing is called 'path.giv_old'"),
        ("says: It shrinks", "says: It {path.giv_new} shrinks", 2, "nothing is called 'path.giv_new'"),
        ("verify: Print a tower.", "verify: Print a tower of {path.giv_new}.", 9, "nothing is called 'path.giv_new'"),
        ("verify: Print a tower.", "verify: Print a {tower}.", 9, "nothing is called 'tower'"),
        ("verify: Print a tower.", "verify: Print a {Tower}.", 9, "'verify' has a brace around no name"),
        ("verify: Print", "cautions: ['Hot: {const.nothing_such}']\nverify: Print", 9, "nothing is called 'const.nothing_such'"),
        ("verify: Print", "otherwise: no {path.giv_new}\nverify: Print", 9, "nothing is called 'path.giv_new'"),
        ("verify: Print", "otherwise: no {this.value}\nverify: Print", 9, "a silent rule has no this.value"),
        ("verify: Print", "agree: much\nverify: Print", 9, "'agree' is a share such as '3 %'"),
        ("verify: Print", "round: upwards\nverify: Print", 9, "round is 'nearest', 'down' or 'up'"),
        ("verify: Print", "range: {low: this.value / 2, high: new.tube.bend, step: this.value}\nverify: Print", 9, "the range's unit is not mm"),
        ("verify: Print", "range: {lowest: this.value}\nverify: Print", 9, "there is no field 'lowest'"),
        ("verify: Print", "range: 3 mm\nverify: Print", 9, "must be a mapping"),
        ("verify: Print", "warn:\n  - {when: this.value > new.tube.bend, say: odd}\nverify: Print", 10, "unlike units"),
        ("verify: Print", "warn:\n  - {say: odd}\nverify: Print", 10, "needs a condition under 'when'"),
        ("verify: Print", "warn:\n  - {when: known new.drive}\nverify: Print", 10, "the field 'say' is missing"),
        ("verify: Print", "warn:\n  - {when: known new.drive, say: odd, doubt: perhaps}\nverify: Print", 10, "'doubt' is true or false"),
        ("ways:\n", "cautions: Hot.\nways:\n", 3, "must be a list"),
        ("    needs: [was", "    needs: was.retraction.length\n    #[was", 5, "must be a list"),
    ],
)  # fmt: skip
def test_each_fault_of_a_rule_is_said_with_its_line(old: str, new: str, line: int, said: str) -> None:
    error = refusal(retraction__length=changed(GOOD, old, new))
    assert said in str(error)
    assert error.place is not None and (error.place.file, error.place.line) == (
        "retraction.length.yaml",
        line,
    )


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "a mapping of fields"),
        ("- a list\n", "a mapping of fields"),
        ("says: [unclosed\n", "not YAML"),
        ("says: one\nsays: two\n", "a second time"),
        ("says: tab\n\t- x: y\n", "not YAML"),
        ("says: &a [*a]\n", "anchor"),
        ("says: x\nways: []\nverify: y\n", "at least one way"),
        ("says: x\nways: [3]\nverify: y\n", "a mapping of fields"),
    ],
)
def test_a_file_that_is_no_rule_is_refused_with_its_name(text: str, said: str) -> None:
    error = refusal(broken__rule=text)
    assert said in str(error) and error.place is not None and error.place.file == "broken.rule.yaml"


def test_every_text_of_a_rule_is_told_with_its_numbers() -> None:
    text = "one: {this.value}. Two: {new.tube.bend}."
    texts = "".join(f'{field}: "{text}"\n' for field in ("by_hand", "verify", "says"))
    texts += f'steps: ["{text}"]\ncautions: ["{text}"]\nwarn: [{{when: this.value > 0, say: "{text}", doubt: true}}]\n'
    ways = FINDING[FINDING.index("ways:") : FINDING.index("verify:")]
    book = load(path__both=f"label: both\nunit: deg\n{ways}{texts}")
    outcome = work_out_given({"new.tube.bend": "30 deg", "old.tube.bend": "200 deg"}, book)
    (result,), (doubt,) = outcome.results, outcome.doubts
    told = (result.says, result.hand, result.verify, *result.steps, *result.cautions, *result.warnings)
    assert set(told) | {doubt.why, doubt.remedy} == {"one: 230°. Two: 30°."} and len(told) == 6


def test_a_caution_is_told_whole_even_where_a_number_in_it_is_not_known() -> None:
    text = changed(
        FINDING, "verify: By eye.", "verify: By eye.\ncautions: ['It is hot. Wait for {new.tube.length}.']"
    )
    outcome = work_out_given({"new.tube.bend": "30 deg", "old.tube.bend": "200 deg"}, load(path__both=text))
    assert outcome.results[0].cautions == ("It is hot. Wait for (not known).",)


def test_why_a_rule_is_silent_is_told_with_its_numbers() -> None:
    text = changed(
        FINDING,
        "verify:",
        "applies: new.tube.bend > 90\notherwise: 'a bend of {new.tube.bend} is none'\nverify:",
    )
    outcome = work_out_given({"new.tube.bend": "30 deg"}, load(path__both=text))
    assert [silent.why for silent in outcome.silent] == ["a bend of 30° is none"]


def test_bytes_that_are_no_text_are_refused() -> None:
    with pytest.raises(BadInput) as caught:
        book_from({"x.y.yaml": b"says: \xff\xfe\n"}, library.vocabulary())
    assert caught.value.place is not None and caught.value.place.file == "x.y.yaml"


def test_a_rule_that_sets_nothing_needs_a_label() -> None:
    assert "needs a label" in str(refusal(path__both=changed(FINDING, "label: bend of both tubes\n", "")))


def test_a_unit_that_does_not_exist_is_refused() -> None:
    error = refusal(path__both=changed(FINDING, "unit: deg", "unit: degrees of freedom"))
    assert "there is no unit" in str(error) and error.place is not None and error.place.line == 2


@pytest.mark.parametrize(
    "unit", ["rpm", "turn", "rad", "rad/s", "mm/turn", "deg/s", "revolution/min", "N*m/rad"]
)
def test_a_unit_with_a_hidden_turn_is_refused(unit: str) -> None:
    """To the SI an angle is a plain number, so a result in them would be wrong by 2π and nothing would tell."""
    error = refusal(path__both=changed(FINDING, "unit: deg", f"unit: {unit}"))
    assert "only deg" in str(error) and error.place is not None and error.place.line == 2


def test_what_the_machine_has_once_does_not_rest_on_what_each_feeder_has() -> None:
    text = changed(GOOD, "sets: retraction.length", "sets: axis.z.max")
    found = refusal(axis__z__max=text)
    assert "axis.z.max is the machine's and rests on was.retraction.length" in str(found)
    assert found.place is not None and found.place.line == 6


def test_a_quantity_is_set_by_one_rule() -> None:
    error = refusal(retraction__length=GOOD, other__rule=GOOD)
    assert "retraction.length is already set by" in str(error)
    assert error.place is not None and error.place.file in ("retraction.length.yaml", "other.rule.yaml")


def test_rules_do_not_go_round_in_a_circle() -> None:
    one = changed(FINDING, "new.tube.bend", "path.two")
    two = changed(FINDING, "new.tube.bend", "path.three")
    three = changed(FINDING, "new.tube.bend", "path.one")
    error = refusal(path__one=one, path__two=two, path__three=three)
    assert re.search(r"circle: path\.\w+ → path\.\w+ → path\.\w+ → path\.\w+", str(error))
    assert error.place is not None and error.place.file.startswith("path.")


def test_a_rule_does_not_rest_on_its_own_result() -> None:
    own = changed(GOOD, "was.retraction.length", "will.retraction.length")
    assert "in a circle: retraction.length → retraction.length" in str(refusal(retraction__length=own))


def test_a_circle_by_way_of_a_condition_or_a_sentence_is_one_too() -> None:
    one = changed(FINDING, "says: Both", "applies: known path.two\nsays: Both")
    two = changed(FINDING, "says: Both", "says: With {path.one} both")
    assert "circle" in str(refusal(path__one=one, path__two=two))


UNREACHABLE = """\
sets: retraction.length
says: It shrinks with the tube.
ways:
  - way: the maker's
    needs: [new.recommended_retraction]
    formula: new.recommended_retraction
    status: estimate
    source: the maker
  - way: the maker's, again
    needs: [new.recommended_retraction, const.tube_scaling]
    formula: new.recommended_retraction * const.tube_scaling
    status: estimate
    source: the maker
agree: 10 %
verify: Print a tower.
"""


def test_a_way_that_can_never_win_is_refused() -> None:
    error = refusal(retraction__length=UNREACHABLE)
    assert "can never be reached" in str(error) and error.place is not None and error.place.line == 11


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("  - way: the maker's, again\n", "  - way: the maker's, again\n    check_only: true\n"),
        ("  - way: the maker's\n", '  - way: the maker\'s\n    when: new.drive is "tube-fed"\n'),
        ("  - way: the maker's\n", "  - way: the maker's\n    check_only: true\n"),
        (
            "needs: [new.recommended_retraction]\n    formula: new.recommended_retraction",
            "needs: [old.retraction]\n    formula: old.retraction",
        ),
    ],
)
def test_a_way_that_can_win_or_only_checks_is_not(old: str, new: str) -> None:
    load(retraction__length=changed(UNREACHABLE, old, new))


def test_a_rule_with_several_ways_to_a_number_says_how_far_they_may_be_apart() -> None:
    without = UNREACHABLE.replace("agree: 10 %\n", "").replace(
        "  - way: the maker's, again\n", "  - way: the maker's, again\n    check_only: true\n"
    )
    with pytest.raises(BadInput, match="nothing says how far they may be apart"):
        load(retraction__length=without)


def test_a_rule_comes_after_what_it_rests_on() -> None:
    order = [rule.name for rule in own_rules().rules]
    writers = {rule.sets: rule.name for rule in own_rules().rules if rule.sets}
    for rule in own_rules().rules:
        for name in rule.uses:
            before = writers.get(name.removeprefix("will.")) if name.startswith("will.") else name
            if before in order:
                assert order.index(before) < order.index(rule.name), f"{rule.name} rests on {before}"


def test_a_rule_that_writes_is_named_after_what_it_writes() -> None:
    for rule in own_rules().rules:
        assert rule.sets in ("", rule.name)


def test_no_rule_of_the_book_writes_what_is_protected() -> None:
    protected = {quantity.id for quantity in all_quantities() if quantity.protected}
    assert protected and not protected & {rule.sets for rule in own_rules().rules}


def test_every_file_of_the_book_is_a_rule() -> None:
    files = {path.stem for path in own_book().glob("*.yaml")}
    assert files == {rule.name for rule in own_rules().rules}
    assert {path.suffix for path in own_book().iterdir()} <= {".yaml", ".md"}


def test_the_hash_tells_every_byte_of_the_rules() -> None:
    first = load(retraction__length=GOOD)
    assert first.sha256 == load(retraction__length=GOOD).sha256
    assert first.sha256 != load(retraction__length=GOOD + "# a remark\n").sha256
    assert first.sha256 != load(retraction__length=GOOD, path__both=FINDING).sha256


# --- the user's own rules ------------------------------------------------------------------------------------

OWN_RULE = """\
label: weight of the filament in the tube
unit: g
says: With {new.tube.length} of tube.
ways:
  - way: volume and density
    needs: [path.filament_area, new.tube.length, filament.modulus, new.tube.bore, clearance.highest_z]
    formula: path.filament_area * new.tube.length * filament.modulus / (9.81 * new.tube.bore) * 0 * clearance.highest_z
    status: estimate
    source: mine
verify: Weigh it.
"""


def own_folder(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        (folder / f"{name.replace('__', '.')}.yaml").write_text(text)
    return folder


def test_a_rule_of_the_users_own_joins_the_book(tmp_path: Path) -> None:
    book = library.book(own_folder(tmp_path, path__both=FINDING))
    assert len(book.rules) == len(own_rules().rules) + 1
    outcome = work_out_given({"new.tube.bend": "30 deg", "old.tube.bend": "200 deg"}, book)
    result = outcome.result("path.both")
    assert result is not None and result.value == pytest.approx(230)


def test_what_is_wrong_in_a_users_rule_is_said_with_its_whole_path_and_in_ours_by_its_name(
    tmp_path: Path,
) -> None:
    folder = own_folder(tmp_path, path__both=FINDING)
    whole = str(folder / "path.both.yaml")
    places = {rule.name: rule.place.file for rule in library.book(folder).rules}
    assert places.pop("path.both") == whole
    assert all("/" not in file for file in places.values())


def test_a_rule_of_the_users_own_takes_the_place_of_ours(tmp_path: Path) -> None:
    book = library.book(own_folder(tmp_path, retraction__length=GOOD))
    given = {"was.retraction.length": "5.5", "new.tube.length": "45 mm", "old.tube.length": "450 mm"}
    result = work_out_given(given, book).result("retraction.length")
    assert result is not None and (result.way, result.value) == ("in proportion", pytest.approx(0.55))
    assert book.sha256 != own_rules().sha256


def test_a_users_rule_may_rest_on_ours_and_ours_on_a_users(tmp_path: Path) -> None:
    force = FINDING.replace("unit: deg", "unit: N").replace(
        "new.tube.bend, old.tube.bend", "new.force_needed"
    )
    force = force.replace("new.tube.bend + old.tube.bend", "2 * new.force_needed")
    book = library.book(own_folder(tmp_path, path__force=force))
    result = work_out_given({"new.force_needed": "20 N", "feeder.push_force": "40 N"}, book).result(
        "feeder.push_reserve"
    )
    assert result is not None and result.value == pytest.approx(100)


@pytest.mark.parametrize(
    ("name", "text", "said", "line"),
    [
        ("path__both", changed(FINDING, "new.tube.bend + old.tube.bend", "new.tube.bend * old.tube.length"), "uses old.tube.length without needing it", 7),
        ("path__both", changed(FINDING, "new.tube.bend", "path.giv_new"), "The nearest name is 'path.give_new'", 7),
        ("path__both", OWN_RULE, "the formula's unit is not g", 7),
        ("own__z", changed(GOOD, "retraction.length", "axis.z.max"), "already set by", 1),
        ("own__p", changed(GOOD, "sets: retraction.length", "sets: end_stop.x"), "protected", 1),
    ],
)  # fmt: skip
def test_a_users_rule_is_checked_like_ours(
    tmp_path: Path, name: str, text: str, said: str, line: int
) -> None:
    folder = own_folder(tmp_path, **{name: text})
    with pytest.raises(BadInput) as caught:
        library.book(folder)
    assert said in str(caught.value) and caught.value.place is not None
    assert caught.value.place.line == line
    if "already" not in said:
        assert caught.value.place.file == str(folder / f"{name.replace('__', '.')}.yaml")


def test_a_folder_of_rules_that_is_none_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no folder of rules"):
        library.book(tmp_path / "nowhere")


def test_how_a_result_grows_with_the_files_own_value_is_told_by_the_way_that_gave_it(tmp_path: Path) -> None:
    book = library.book(own_folder(tmp_path, retraction__length=GOOD))
    given = {"was.retraction.length": "5.5", "new.tube.length": "45 mm", "old.tube.length": "450 mm"}
    result = work_out_given(given, book).result("retraction.length")
    assert result is not None
    scope = Scope(machine_of(given).view(1, None), sheet_of(given), library.tables())
    assert _slope(book, result, scope) == pytest.approx(45 / 450)
    for unknown in (
        replace(result, rule="no.rule"),
        replace(result, way="no way"),
        replace(result, target="flow"),
    ):
        assert _slope(book, unknown, scope) == 1


def test_no_rule_points_to_a_step_by_hand_that_a_packet_may_not_have() -> None:
    assert [
        rule.name for rule in own_rules().rules if "the step by hand" in " ".join(rule.says.split())
    ] == []

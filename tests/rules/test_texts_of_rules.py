"""What is told of a rule: why it is silent, what the nearest way lacks, which warnings hold, sentences with their values."""

from __future__ import annotations

from rulebench import LENGTHS, book_of, result_of, rule, silent, way, work_out_given


def test_a_rule_that_does_not_apply_says_its_otherwise() -> None:
    text = rule(
        way("new.tube.length", "new.tube.length"),
        applies="applies: known new.drive\notherwise: no drive is named",
    )
    assert silent("path.x", work_out_given(LENGTHS, book_of(path__x=text))) == "no drive is named"


def test_a_rule_of_which_no_way_is_open_says_its_otherwise_or_that_none_fits() -> None:
    ways = way("new.tube.length", "new.tube.length", more=", when: new.tube.length > old.tube.length")
    for more, why in (
        ("otherwise: the tube is short", "the tube is short"),
        ("", "no way of working it out fits"),
    ):
        outcome = work_out_given(LENGTHS, book_of(path__x=rule(ways, more=more)))
        assert silent("path.x", outcome).startswith(why)


def test_a_rule_that_lacks_something_says_what_and_through_how_many_rules_it_does() -> None:
    outcome = work_out_given(
        {"new.tube.length": "40 mm"},
        book_of(
            a__last=rule(way("b.middle * 2", "b.middle")),
            b__middle=rule(way("c.first + new.path_length", "c.first, new.path_length")),
            c__first=rule(way("was.retraction.length", "was.retraction.length")),
        ),
    )
    assert silent("c.first", outcome) == "not known: no file sets retraction.length"
    assert silent("b.middle", outcome) == (
        "not known: c.first (no file sets retraction.length); the sheet doesn't say new.path_length"
    )
    assert silent("a.last", outcome).startswith(
        "not known: b.middle (c.first (no file sets retraction.length)"
    )


def test_a_fact_that_a_part_lacks_is_named() -> None:
    text = rule(
        way("new.driver.part.full_scale_voltage_low", "new.driver.part.full_scale_voltage_low"), unit="V"
    )
    outcome = work_out_given({"new.driver.part": "DRV8825"}, book_of(path__x=text))
    assert silent("path.x", outcome) == "not known: the tables have no full_scale_voltage_low for DRV8825"


def test_of_several_ways_those_that_lack_least_are_named() -> None:
    ways = (
        way("new.path_length + old.path_length", "new.path_length, old.path_length", "two missing")
        + way("new.recommended_retraction", "new.recommended_retraction", "one missing")
        + way("old.retraction + new.tube.length", "old.retraction, new.tube.length", "another one missing")
    )
    why = silent(
        "path.x", work_out_given(LENGTHS | {"new.path_length": "80 mm"}, book_of(path__x=rule(ways)))
    )
    assert why == (
        "not known: the sheet doesn't say old.path_length; or: the sheet doesn't say new.recommended_retraction;"
        " or: the sheet doesn't say old.retraction"
    )


def test_warnings_see_the_rules_own_value_and_a_doubtful_one_is_a_doubt() -> None:
    more = (
        "warn:\n  - {when: this.value > old.tube.length, say: 'longer than {old.tube.length}'}\n"
        "  - {when: this.value < old.tube.length, say: 'only {this.value}', doubt: true}\n"
        "  - {when: this.value < was.axis.z.max, say: 'compared with what no file has'}\n"
    )
    outcome = work_out_given(
        LENGTHS, book_of(path__x=rule(way("new.tube.length", "new.tube.length"), more=more))
    )
    found = outcome.result("path.x")
    assert found is not None and found.warnings == ("only 40.0 ± 2.0 mm",)
    assert [(doubt.why, doubt.remedy) for doubt in outcome.doubts] == [("only 40.0 ± 2.0 mm", "Look.")]


def test_a_value_that_waits_is_not_checked_at_the_machine() -> None:
    warned = "warn:\n  - {when: this.value < old.tube.length, say: too short, doubt: true, hold: HOLD}\n"
    for hold, remedy in (("true", ""), ("false", "Look.")):
        more = warned.replace("HOLD", hold)
        outcome = work_out_given(
            LENGTHS, book_of(path__x=rule(way("new.tube.length", "new.tube.length"), more=more))
        )
        found = outcome.result("path.x")
        assert [doubt.remedy for doubt in outcome.doubts] == [remedy]
        assert found is not None and bool(found.unsettled) is (hold == "true")


def test_sentences_are_filled_with_values_and_say_where_one_is_not_known() -> None:
    text = rule(
        way("new.tube.length", "new.tube.length"),
        says="From {old.tube.length} to {new.tube.length}, {new.drive}.",
    )
    found = result_of(
        "path.x", {"new.tube.length": "40 ± 2 mm", "new.drive": "on the carriage"}, path__x=text
    )
    assert found.says == "From (not known) to 40.0 ± 2.0 mm, on the carriage."

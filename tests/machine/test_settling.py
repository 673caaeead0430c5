"""Of several readings of one quantity: which holds, which follow it, and what is told of the rest."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting
from cfgmigrate.files.read_after import ReadAfter
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import MACHINE, Form, Reading, feeder
from cfgmigrate.machine.precedence import ANOTHERS_LINE, STAYS_FOR_OTHERS, Standing, alike, settle


def reading(
    text: str,
    line: int = 1,
    file: str = "wren.ini",
    key: str = "lag",
    quantity: str = "lag.coefficient",
    kept: bool = False,
    section: str = "",
) -> Reading:
    setting = Setting(section, key, text, 10 * line, 10 * line + len(text), line, 1, saved=kept)
    value = float(text) if text.replace(".", "").isdigit() else None
    return Reading(quantity, value, text, Place(file, line), setting.start, setting.end, Form(), setting)


def told(found: Standing) -> tuple[list[str], list[str], list[str]]:
    """In force, following and shadowed, each as file, line and text."""
    follow = [each for several in found.followed.values() for each in several]
    return tuple(  # type: ignore[return-value]
        [f"{each.place.file}:{each.place.line} {each.text}" for each in several]
        for several in (found.in_force, follow, found.shadowed)
    )


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("0.5", "0.50", True),
        ("0.5", "0.5000001", True),
        ("1000000", "1000001", True),
        ("1000000", "1000002", False),
        ("0.5", "0.50001", False),
        ("0", "0.0", True),
        ("0", "0.1", False),
        ("a  b", "a b", True),
        ("a b", "a c", False),
        ("a", "0.5", False),
    ],
)
def test_two_values_are_the_same_within_a_millionth_and_texts_but_for_blanks(
    one: str, other: str, same: bool
) -> None:
    assert alike(reading(one), reading(other)) is same
    assert alike(reading(other), reading(one)) is same


A, B = "a.ini", "b.ini"


@pytest.mark.parametrize(
    ("readings", "bundle", "saved", "meant"),
    [
        ([reading("1", 1), reading("2", 2)], {}, (), (["wren.ini:2 2"], ["wren.ini:1 1"], [])),
        ([reading("1", 1), reading("2", 2, key="LAG")], {}, (), (["wren.ini:2 2"], ["wren.ini:1 1"], [])),
        ([reading("1", 1), reading("1", 2, key="delay")], {}, (), (["wren.ini:2 1"], ["wren.ini:1 1"], [])),
        ([reading("1", 1), reading("2", 2, key="delay")], {}, (), ([], [], ["wren.ini:1 1", "wren.ini:2 2"])),
        ([reading("1", 1), reading("2", 2, section="other")], {}, (), ([], [], ["wren.ini:1 1", "wren.ini:2 2"])),
        ([reading("1", 1, A), reading("2", 1, B)], {}, (), ([], [], ["a.ini:1 1", "b.ini:1 2"])),
        ([reading("1", 1, A), reading("2", 1, B)], {A: 1, B: 1}, (), (["b.ini:1 2"], ["a.ini:1 1"], [])),
        ([reading("1", 1, A), reading("2", 1, B)], {A: 1, B: 2}, (), ([], [], ["a.ini:1 1", "b.ini:1 2"])),
        ([reading("1", 1, A), reading("2", 1, B, key="K")], {}, {B}, (["b.ini:1 2"], ["a.ini:1 1"], [])),
        ([reading("1", 1, A, key="K"), reading("2", 1, B)], {}, {A}, (["a.ini:1 1"], ["b.ini:1 2"], [])),
        ([reading("1", 1, kept=True), reading("2", 2)], {}, (), (["wren.ini:1 1"], ["wren.ini:2 2"], [])),
        ([reading("1", 1, A, kept=True), reading("2", 1, B)], {}, (), (["a.ini:1 1"], ["b.ini:1 2"], [])),
        ([reading("1", 1), reading("2", 2, key="K", kept=True)], {}, (), ([], [], ["wren.ini:1 1", "wren.ini:2 2"])),
        ([reading("1", 1, key="K"), reading("2", 2, key="K")], {}, (), (["wren.ini:2 2"], ["wren.ini:1 1"], [])),
    ],
)  # fmt: skip
def test_a_later_line_a_block_that_the_machine_wrote_and_what_the_board_keeps_hold_and_the_rest_follows(
    readings: list[Reading],
    bundle: dict[str, int],
    saved: set[str],
    meant: tuple[list[str], list[str], list[str]],
) -> None:
    assert told(settle(readings, bundle, saved)) == meant


def test_what_differs_and_is_overridden_is_told_with_what_overrides_it_and_what_agrees_is_not() -> None:
    (doubt,) = settle([reading("1", 1), reading("2", 2)]).doubts
    assert "1 is overridden by 2 at wren.ini:2" in doubt.why and doubt.place.line == 1
    (doubt,) = settle([reading("1", 1, kept=True), reading("2", 2)]).doubts
    assert "2 is overridden by the block that the machine wrote, 1 at wren.ini:1" in doubt.why
    (doubt,) = settle([reading("1", 1, A), reading("2", 1, B)], saved={A}).doubts
    assert "2 is overridden by what the board keeps, 1 at a.ini:1" in doubt.why
    assert not settle([reading("1", 1), reading("1.0", 2)]).doubts


def test_where_none_is_told_to_hold_each_differing_one_is_asked_about_in_words_that_tell_them_apart() -> None:
    (doubt,) = settle([reading("1", 1), reading("2", 2, key="delay")]).doubts
    assert '"lag": lag.coefficient or "delay": lag.coefficient' in doubt.remedy
    (doubt,) = settle([reading("1", 1, A), reading("2", 1, B)]).doubts
    assert '"a.ini lag": lag.coefficient or "b.ini lag": lag.coefficient' in doubt.remedy
    doubts = settle([reading("1", 1), reading("2", 2, key="K"), reading("3", 3, key="J")]).doubts
    assert [each.place.line for each in doubts] == [1, 2]


def test_of_a_protected_quantity_the_last_holds_and_the_others_say_nothing() -> None:
    of = "protected.runout"
    found = settle([reading("1", 1, quantity=of), reading("2", 2, key="K", quantity=of)])
    assert told(found) == (["wren.ini:2 2"], [], ["wren.ini:1 1"]) and not found.doubts


def test_a_number_that_is_read_twice_is_one_and_other_holders_never_meet() -> None:
    assert told(settle([reading("1", 1), reading("1", 1, key="K")])) == (["wren.ini:1 1"], [], [])
    own = replace(reading("2", 2), holder=feeder(2))
    assert told(settle([reading("1", 1), own]))[0] == ["wren.ini:1 1", "wren.ini:2 2"]
    assert own.holder != MACHINE


def line_2(each: Reading) -> bool:
    return each.place.line == 2


def test_the_value_that_a_person_named_holds_and_what_differs_stays_and_is_told() -> None:
    several = [reading("1", 1), reading("2", 2, key="K"), reading("3", 3, key="J"), reading("2", 4, key="L")]
    found = settle(several, named=line_2)
    assert told(found) == (["wren.ini:4 2"], ["wren.ini:2 2"], ["wren.ini:1 1", "wren.ini:3 3"])
    assert ["stays as it is" in each.why and "is 2 at wren.ini:4" in each.why for each in found.doubts] == [
        True
    ] * 2
    both = settle(several, named=lambda each: each.place.line in (2, 3))
    assert told(both)[0] == [] and len(told(both)[2]) == 4, "two values were named"


def kept_beside(*of_files: Reading) -> list[Reading]:
    return [*of_files, reading("3", 1, "kept.ini", key="lag")]


def test_of_several_in_the_files_what_the_board_keeps_overrides_the_one_of_its_name_else_the_named_one() -> (
    None
):
    several = kept_beside(reading("1", 1), reading("2", 2, key="K"))
    assert told(settle(several, saved={"kept.ini"})) == (["kept.ini:1 3"], ["wren.ini:1 1"], ["wren.ini:2 2"])
    alone = kept_beside(reading("1", 1, key="J"), reading("2", 2, key="K"))
    assert told(settle(alone, saved={"kept.ini"}, named=line_2)) == (
        ["kept.ini:1 3"],
        ["wren.ini:2 2"],
        ["wren.ini:1 1"],
    )
    assert told(settle(alone, saved={"kept.ini"})) == (
        ["kept.ini:1 3"],
        ["wren.ini:1 1", "wren.ini:2 2"],
        [],
    )
    equal = kept_beside(reading("1", 1), reading("1", 2, key="K"))
    assert told(settle(equal, saved={"kept.ini"})) == (
        ["kept.ini:1 3"],
        ["wren.ini:1 1", "wren.ini:2 1"],
        [],
    )
    words = kept_beside(reading("1", 1, key="J"), reading("2", 2, section="lag", key=""))
    assert told(settle(words, saved={"kept.ini"}))[2] == ["wren.ini:1 1"]


@pytest.mark.parametrize(
    ("earlier", "later", "quantity", "meant"),
    [
        ("8", "5", "retraction.length", (["b.ini:1 5"], ["a.ini:1 8"], [])),
        ("8", "1", "retraction.length", ([], [], ["a.ini:1 8", "b.ini:1 1"])),
        ("8", "5", "axis.x.max", (["b.ini:1 5"], ["a.ini:1 8"], [])),
        ("5", "8", "axis.x.max", ([], [], ["a.ini:1 5", "b.ini:1 8"])),
    ],
    ids=["near", "of another size", "the narrower end", "the wider end"],
)
def test_what_a_file_has_that_is_read_after_another_holds_where_it_can_be_the_same_thing(
    earlier: str, later: str, quantity: str, meant: tuple[list[str], list[str], list[str]]
) -> None:
    several = [reading(earlier, 1, A, "long", quantity), reading(later, 1, B, "short", quantity)]
    said = {A: {B: ReadAfter(A, B, A, 3)}}
    assert told(settle(several, after=said)) == meant
    assert told(settle(several[::-1], after=said)) == meant


def in_several_files(shared: tuple[str, ...], text: str) -> Standing:
    both = [reading("0.4", file="hall.ini"), reading(text, file="rook.ini")]
    return settle(both, {"hall.ini": 1, "rook.ini": 1}, shared=shared)


@pytest.mark.parametrize("text", ["0.7", "0.4"])
def test_a_line_that_is_overridden_in_a_file_of_several_machines_stays_and_is_told(text: str) -> None:
    found = in_several_files(("hall.ini",), text)
    assert told(found) == ([f"rook.ini:1 {text}"], ["hall.ini:1 0.4"], [])
    ((theirs,),) = found.followed.values()
    assert (theirs.editable, theirs.why_not) == (False, ANOTHERS_LINE)
    assert [doubt.remedy for doubt in found.doubts] == [STAYS_FOR_OTHERS]


def test_in_a_file_of_this_machine_alone_it_follows() -> None:
    ((own,),) = in_several_files((), "0.7").followed.values()
    assert own.editable
    ((last,),) = in_several_files(("rook.ini",), "0.7").followed.values()
    assert last.editable

"""Where a changed value stands in a file that was edited since, by the bytes alone."""

from __future__ import annotations

import pytest

from cfgmigrate.apply.locate import LocatedSpan, SpanState, hand_edits, line_of, locate, put_back
from cfgmigrate.plan.edits import FileStep, Span


def step(before: bytes, marked: bytes, new: bytes, dialect: str = "sectioned") -> FileStep:
    """The step that puts `new` where `<` and `>` stand about a value in `marked`."""
    start = before.index(marked.replace(b"<", b"").replace(b">", b"")) + marked.index(b"<")
    end = start + marked.index(b">") - marked.index(b"<") - 1
    span = Span("value", start, end, start, start + len(new))
    return FileStep("a.conf", dialect, before, before[:start] + new + before[end:], (span,))


def found(one: FileStep, present: bytes) -> LocatedSpan:
    (only,) = locate(one, present)
    assert present[only.start : only.end] == only.present
    return only


AXIS = b"[axis z]\nspot = 235\n# the hut's table: 235\n[axis y]\nspot = 235\n"


def test_a_value_outside_of_all_settings_is_found_by_its_line() -> None:
    """A remark is no setting: it has no name by which it could be taken for another."""
    remark = step(AXIS, b"table: <235>", b"186.5")
    present = b"# seen\n" + remark.after
    here = found(remark, present)
    assert (here.state, line_of(present, here.start)) == (SpanState.INSTALLED, 4)


def test_a_line_that_became_a_setting_or_ceased_to_be_one_is_not_the_value_s_own() -> None:
    value = step(AXIS, b"[axis z]\nspot = <235>", b"186.5")
    assert found(value, value.after.replace(b"[axis z]\n", b"[axis z\n")).state is SpanState.GONE


def test_a_line_that_is_a_remark_now_or_no_longer_one_is_not_the_value_s_own() -> None:
    line = b"#define SPOT 235\n"
    value = step(line, b"SPOT <235>", b"186.5", "header")
    assert found(value, b"/*\n" + value.after + b"*/\n").state is SpanState.GONE
    remark = step(b"/*\n" + line + b"*/\n", b"SPOT <235>", b"186.5", "header")
    assert found(remark, value.after).state is SpanState.GONE


def test_an_edited_line_under_another_heading_is_not_the_value_s_own() -> None:
    """Its key alone says nothing: the next section has one like it."""
    value = step(AXIS, b"[axis z]\nspot = <235>", b"186.5")
    present = value.after.replace(b"[axis z]", b"[axis x]").replace(b"186.5", b"187")
    assert found(value, present).state is SpanState.GONE


@pytest.mark.parametrize(
    ("line", "state", "present"),
    [
        (b"spot : S9 x186.5mm ; seen", SpanState.INSTALLED, b"186.5"),
        (b"spot=S9 x186.5mm", SpanState.INSTALLED, b"186.5"),
        (b"spot = S9 x187mm", SpanState.CHANGED, b"S9 x187mm"),
        (b"spot : S9 x235mm", SpanState.OLD, b"S9 x235mm"),
    ],
    ids=ascii,
)
def test_a_number_within_a_word_is_found_where_it_stands_now(
    line: bytes, state: SpanState, present: bytes
) -> None:
    """Where other words have changed, the whole value is what stands there."""
    one = step(b"[axis z]\nspot = S9 x235mm\n", b"S9 x<235>mm", b"186.5")
    here = found(one, b"# seen\n[axis z]\n" + line + b"\n")
    assert (here.state, here.present) == (state, present)


@pytest.mark.parametrize(
    ("line", "state", "present"),
    [
        (b"spot = 8, 261, 7", SpanState.INSTALLED, b"61"),
        (b"spot = 8, 251, 7", SpanState.CHANGED, b"51"),
        (b"spot = 8, 235, 7", SpanState.OLD, b"35"),
        (b"spot = 8, 2, 7", SpanState.CHANGED, b""),
        (b"spot = 8, 361, 7", SpanState.CHANGED, b"8, 361, 7"),
        (b"spot = 8, 261", SpanState.CHANGED, b"8, 261"),
    ],
    ids=ascii,
)
def test_a_part_of_a_number_is_found_beside_the_rest_of_it(
    line: bytes, state: SpanState, present: bytes
) -> None:
    one = step(b"[axis z]\nspot = 9, 235, 7\n", b"9, 2<35>, 7", b"61")
    here = found(one, b"# seen\n[axis z]\n" + line + b"\n")
    assert (here.state, here.present) == (state, present)


@pytest.mark.parametrize(
    ("now", "state"),
    [
        (b"187.0", SpanState.INSTALLED),
        (b"+187.", SpanState.INSTALLED),
        (b"0187", SpanState.INSTALLED),
        (b"1.87e2", SpanState.INSTALLED),
        (b"0235.00", SpanState.OLD),
        (b"-187", SpanState.CHANGED),
        (b"1_87", SpanState.CHANGED),
        (b"2_35", SpanState.CHANGED),
        (b"1,87e2", SpanState.CHANGED),
        (b"18.7.0", SpanState.CHANGED),
        (b"nan", SpanState.CHANGED),
    ],
    ids=ascii,
)
def test_one_number_written_otherwise_is_the_same_and_what_is_none_is_not(
    now: bytes, state: SpanState
) -> None:
    """Underlines between digits are some languages' way to write a number, and no machine's."""
    one = step(b"[axis z]\nspot = 235\n", b"spot = <235>", b"187")
    assert found(one, b"# seen\n[axis z]\nspot = " + now + b"\n").state is state


@pytest.mark.parametrize("name", [b"spot = <235>\n", b"<235> spot\n", b"<235>"], ids=ascii)
def test_a_value_that_was_changed_again_is_no_edit_beside_it_wherever_it_stands_in_its_line(
    name: bytes,
) -> None:
    before = b"# one\n" + name.replace(b"<", b"").replace(b">", b"")
    one = step(before, name, b"186.5", "")
    present = one.after.replace(b"186.5", b"187")
    changed = LocatedSpan(
        one.spans[0],
        SpanState.CHANGED,
        one.spans[0].after_start,
        one.spans[0].after_start + 3,
        b"235",
        b"186.5",
        b"187",
    )
    assert hand_edits(one, present, [changed]) == ()
    (edit,) = hand_edits(one, present, [])
    assert (edit.line, edit.installed, edit.present) == (2, one.after[6:], present[6:])


@pytest.mark.parametrize(
    ("line", "state", "present"),
    [
        (b"spot = 187 mm ; seen", SpanState.CHANGED, b"187"),
        (b"spot = 186.50 mm ; seen", SpanState.INSTALLED, b"186.50"),
        (b"spot = 235 mm ; seen", SpanState.OLD, b"235"),
        (b"spot = 186.5 mm ; SEEN", SpanState.GONE, b""),
        (b"Spot = 186.5 mm ; seen", SpanState.GONE, b""),
        (b"spot = mm ; seen", SpanState.GONE, b""),
        (b"spot =  mm ; seen", SpanState.CHANGED, b""),
    ],
    ids=ascii,
)
def test_where_a_file_can_t_be_read_a_value_is_found_by_all_the_rest_of_its_line(
    line: bytes, state: SpanState, present: bytes
) -> None:
    one = step(b"# one\nspot = 235 mm ; seen\n", b"spot = <235> mm", b"186.5", "")
    here = found(one, b"# One\n" + line + b"\n")
    assert (here.state, here.present) == (state, present)


@pytest.mark.parametrize("above", [b"# one\n", b"# seen\n# one\n", b"# One\n"], ids=ascii)
def test_where_a_file_can_t_be_read_a_value_is_found_wherever_its_line_stands_now(above: bytes) -> None:
    one = step(b"# one\nspot = 235 mm\n", b"spot = <235> mm", b"186.5", "")
    assert found(one, above + b"spot = 187 mm\n").present == b"187"


def test_an_edit_beside_a_value_is_told_as_it_stands_once_the_value_is_put_back() -> None:
    one = step(AXIS, b"[axis z]\nspot = <235>", b"186.5")
    here = one.after.replace(b"spot = 186.5\n", b"spot = 186.5 # seen\n")
    values = locate(one, here)
    (edit,) = hand_edits(one, here, values)
    assert put_back(edit, values) == b"spot = 235 # seen\n"


def test_where_a_file_can_t_be_read_a_number_with_nothing_before_it_has_no_rest_to_be_known_by() -> None:
    one = step(b"# one\n  235 mm\n", b"  <235> mm", b"186.5", "")
    assert found(one, b"# One\n  187 mm\n").state is SpanState.GONE


@pytest.mark.parametrize(
    ("text", "line", "was", "now"),
    [
        (b"[axis z]\nspot = 187\nend = 4\n[lamp]\n", 3, b"end = 3\n", b"end = 4\n"),
        (b"[axis Z]\nspot = 187\nend = 3\n[lamp]\n", 1, b"[axis z]\n", b"[axis Z]\n"),
    ],
    ids=["below", "above"],
)
def test_an_edit_beside_a_value_that_was_edited_too_is_told_without_it(
    text: bytes, line: int, was: bytes, now: bytes
) -> None:
    one = step(b"[axis z]\nspot = 235\nend = 3\n[lamp]\n", b"spot = <235>", b"186.5")
    here = one.after.replace(b"186.5", b"187")
    (value,) = locate(one, here)
    (edit,) = hand_edits(one, text, (value,))
    assert (edit.line, edit.installed, edit.present) == (line, was, now)
    assert edit.start == text.index(now)

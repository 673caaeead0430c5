"""Where a changed value stands in a file that was edited since, by the bytes alone."""

from __future__ import annotations

import pytest

from cfgmigrate.apply.locate import LocatedSpan, SpanState, line_of, locate
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

"""A changed line stands twice, as it was and as it becomes, and only the replaced span is marked."""

from __future__ import annotations

from hypothesis import assume, given
from hypothesis import strategies as st

from cfgmigrate.dialects.document import readable
from cfgmigrate.plan.edits import apply_edits
from cfgmigrate.plan.model import Edit
from cfgmigrate.reports.excerpt import WHOLE_FILE_LINES, Line, Side, excerpt, side_by_side

TEXT = b"one = 1\ntwo = 2 # b\nthree = 3\nfour = 4\nfive = 5\nsix = 6\nseven = 7\n"


def edit(data: bytes, old: bytes, new: str) -> Edit:
    start = data.index(old)
    return Edit("f", data.count(b"\n", 0, start) + 1, 1, start, start + len(old), readable(old), new)


def shown(lines: list[Line]) -> list[tuple[int, str, str]]:
    return [(line.number, line.side.value, line.text) for line in lines]


def test_two_lines_of_context_stand_around_the_old_and_the_new_line() -> None:
    (group,) = excerpt(TEXT, [edit(TEXT, b"4", "44")])
    assert shown(group) == [
        (2, "same", "two = 2 # b"),
        (3, "same", "three = 3"),
        (4, "old", "four = 4"),
        (4, "new", "four = 44"),
        (5, "same", "five = 5"),
        (6, "same", "six = 6"),
    ]


def test_only_the_replaced_span_is_marked() -> None:
    (group,) = excerpt(TEXT, [edit(TEXT, b"2", "22")])
    old, new = (line for line in group if line.side is not Side.BOTH)
    assert [(part.text, part.marked) for part in old.parts] == [
        ("two = ", False),
        ("2", True),
        (" # b", False),
    ]
    assert [(part.text, part.marked) for part in new.parts] == [
        ("two = ", False),
        ("22", True),
        (" # b", False),
    ]


def test_edits_of_neighbouring_lines_share_their_context() -> None:
    groups = excerpt(TEXT, [edit(TEXT, b"2", "22"), edit(TEXT, b"4", "44")])
    assert len(groups) == 1
    assert [line.number for line in groups[0]] == [1, 2, 2, 3, 4, 4, 5, 6]


def test_edits_far_apart_make_groups_of_their_own() -> None:
    data = b"".join(b"k%d = v%d\n" % (number, number) for number in range(40))
    groups = excerpt(data, [edit(data, b"v3", "x"), edit(data, b"v30", "y")])
    assert [group[0].number for group in groups] == [2, 29]


def test_two_edits_in_one_line_are_marked_in_one_line() -> None:
    data = b"M92 X84 E96\n"
    (group,) = excerpt(data, [edit(data, b"84", "85"), edit(data, b"96", "438.4")])
    assert [line.text for line in group] == ["M92 X84 E96", "M92 X85 E438.4"]


def test_a_value_over_several_lines_is_shown_line_by_line() -> None:
    data = b"a = 1\nlist =\n  1,\n  2\nz = 0\n"
    (group,) = excerpt(data, [edit(data, b"1,\n  2", "7")])
    assert [line.text for line in group if line.side is Side.OLD] == ["  1,", "  2"]
    assert [line.text for line in group if line.side is Side.NEW] == ["  7"]
    pairs = list(side_by_side(data, [edit(data, b"1,\n  2", "7")]))
    assert (pairs[-1].old.number, pairs[-1].new.number) == (5, 4)  # type: ignore[union-attr]


def test_the_end_before_a_mark_survives_a_long_line() -> None:
    data = b"x" * 5000 + b" = 1" + b"y" * 5000 + b"\n"
    (group,) = excerpt(data, [edit(data, b"1", "2")])
    old = group[0]
    assert old.text.startswith("[4,883 more characters] … xxx")
    assert ("1", True) in [(part.text, part.marked) for part in old.parts]
    assert len(old.text) < 400


def test_of_a_very_long_file_the_lines_around_the_edits_are_shown_and_the_rest_folded() -> None:
    data = b"".join(b"key%d = v%d\n" % (number, number) for number in range(3 * WHOLE_FILE_LINES))
    pairs = list(side_by_side(data, [edit(data, b"v6000", "new")]))
    lines = [line for pair in pairs for line in (pair.folded or filter(None, [pair.old]))]
    assert [line.number for line in lines] == list(range(1, 3 * WHOLE_FILE_LINES + 1))
    assert b"".join(line.text.encode() + b"\n" for line in lines) == data
    assert len(pairs) < 200


@given(
    st.lists(st.binary(max_size=12), min_size=1, max_size=8),
    st.sampled_from([b"\n", b"\r\n", b"\r"]),
    st.data(),
)
def test_side_by_side_shows_every_line_of_both_files(
    lines: list[bytes], end: bytes, data: st.DataObject
) -> None:
    before = end.join(line.replace(b"\n", b"").replace(b"\r", b"") for line in lines)
    start = data.draw(st.integers(0, len(before)))
    stop = data.draw(st.integers(start, min(len(before), start + 3)))
    # a value stands within one line: it holds no line end, splits none, and does not follow the last one
    assume(before and not set(before[start:stop]) & set(b"\r\n"))
    assume(before[start - 1 : start + 1] != b"\r\n" and not (start == len(before) and before[-1:] in b"\r\n"))
    new = data.draw(st.sampled_from(["", "7", "long value"]))
    edits = [Edit("f", 1, 1, start, stop, readable(before[start:stop]), new)]
    after = apply_edits(before, edits)
    pairs = list(side_by_side(before, edits))
    for text, side in ((before, "old"), (after, "new")):
        numbers = [getattr(pair, side).number for pair in pairs if getattr(pair, side)]
        assert numbers == list(range(1, max(len(before.splitlines()), 1) + 1)), text

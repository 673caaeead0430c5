"""An edit replaces exactly its own bytes; a draft knows afterwards where each value stood at first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import Refused
from cfgmigrate.plan.edits import Draft, Offsets, Span, apply_edits
from cfgmigrate.plan.model import Edit


def edit(start: int, end: int, old: str, new: str) -> Edit:
    return Edit("wren.ini", 1, start + 1, start, end, old, new)


def test_only_the_span_is_replaced() -> None:
    data = b"\xef\xbb\xbfcaf\xe9 = 22.9 ; 22.9\r\n"
    start = data.index(b"22.9")
    assert (
        apply_edits(data, [edit(start, start + 4, "22.9", "4.15")])
        == b"\xef\xbb\xbfcaf\xe9 = 4.15 ; 22.9\r\n"
    )


def test_no_edits_give_the_same_bytes() -> None:
    assert apply_edits(b"a\r\nb\xff", []) == b"a\r\nb\xff"


def test_the_order_of_edits_does_not_matter() -> None:
    edits = [edit(0, 1, "a", "xx"), edit(2, 3, "c", ""), edit(3, 3, "", "new")]
    assert apply_edits(b"abcd", edits) == apply_edits(b"abcd", edits[::-1]) == b"xxbnewd"


@pytest.mark.parametrize(
    ("edits", "said"),
    [
        ([edit(0, 2, "ab", "x"), edit(1, 3, "bc", "y")], "two changes want the same text"),
        ([edit(0, 2, "xx", "y")], r"wren\.ini:1:1: expected 'xx', found 'ab'"),
        ([edit(3, 9, "d", "y")], "past the end"),
        ([edit(3, 2, "", "y")], "past the end"),
        ([edit(-1, 2, "ab", "y")], "two changes|past"),
    ],
)
def test_an_edit_that_does_not_fit_is_refused(edits: list[Edit], said: str) -> None:
    with pytest.raises(Refused, match=said):
        apply_edits(b"abcd", edits)


def test_old_text_that_is_not_utf8_is_compared_as_people_read_it() -> None:
    data = b"a = \xb5m\n"
    assert apply_edits(data, [edit(4, 6, readable(b"\xb5m"), "\u00b5m")]) == b"a = \xc2\xb5m\n"


@st.composite
def edited(draw: st.DrawFn) -> tuple[bytes, list[Edit]]:
    """Bytes, and edits of stretches of them that don't overlap."""
    data = draw(st.binary(max_size=40))
    places = sorted(draw(st.lists(st.integers(0, len(data)), max_size=8, unique=True)))
    edits = [
        edit(start, end, readable(data[start:end]), draw(st.text(max_size=4)))
        for start, end in zip(places[::2], places[1::2], strict=False)
    ]
    return data, edits


@given(edited())
def test_what_lies_between_edits_is_untouched(case: tuple[bytes, list[Edit]]) -> None:
    data, edits = case
    rest = apply_edits(data, edits)
    reached = 0
    for each in edits:
        between = data[reached : each.start]
        assert rest.startswith(between + each.new.encode())
        rest = rest[len(between) + len(each.new.encode()) :]
        reached = each.end
    assert rest == data[reached:]


replacements = st.lists(st.tuples(st.integers(0, 60), st.integers(0, 6), st.binary(max_size=6)), max_size=8)


@given(data=st.binary(max_size=50), replacements=replacements)
def test_a_drafts_spans_say_what_became_of_the_file(
    data: bytes, replacements: list[tuple[int, int, bytes]]
) -> None:
    """Whatever was replaced, over and beside other replacements: the net spans alone make the one file from
    the other, and the way back as well."""
    draft = Draft(data)
    expected = data
    for number, (start, length, new) in enumerate(replacements):
        start = min(start, len(expected))
        end = min(start + length, len(expected))
        draft.replace(f"q{number}", start, end, new)
        expected = expected[:start] + new + expected[end:]
    assert draft.data == expected
    spans = draft.net_spans()
    assert carried(data, expected, spans) == expected
    back = [
        Span(each.name, each.after_start, each.after_end, each.before_start, each.before_end)
        for each in spans
    ]
    assert carried(expected, data, tuple(back)) == data


def test_two_empty_stretches_at_one_place_are_one() -> None:
    """A byte taken out, something put in where it was, and something more behind that."""
    for texts in ((b"", b"x", b""), (b"", b"", b"xy"), (b"x", b"", b"y")):
        draft = Draft(b"abc")
        draft.replace("a", 1, 2, texts[0])
        draft.replace("b", 1, 1, texts[1])
        draft.replace("c", 1, 1, texts[2])
        assert carried(b"abc", draft.data, draft.net_spans()) == draft.data


def test_a_place_goes_there_and_comes_back() -> None:
    draft = Draft(b"a = 22.9 ; b = 8")
    draft.replace("a", 4, 8, b"4.15000")
    draft.replace("b", 18, 19, b"")
    offsets = Offsets(draft.net_spans())
    for at in (0, 3, 8, 10, 16):
        assert offsets.before(offsets.after(at)) == at
    assert (offsets.after(8), offsets.after(16)) == (11, 18)


def carried(old: bytes, new: bytes, spans: tuple[Span, ...]) -> bytes:
    """`old` with what `new` has in each span, and everything else from `old`."""
    pieces, reached = [], 0
    for span in spans:
        assert span.before_start >= reached
        pieces += [old[reached : span.before_start], new[span.after_start : span.after_end]]
        reached = span.before_end
    return b"".join([*pieces, old[reached:]])


def test_a_value_moved_there_and_back_leaves_no_span() -> None:
    draft = Draft(b"a = 22.9\n")
    draft.replace("a", 4, 8, b"4.15")
    draft.replace("a", 4, 8, b"22.9")
    assert draft.net_spans() == ()

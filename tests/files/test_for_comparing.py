"""A part of a board's listing that says of itself that it is not what holds is no later word than the part that holds."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.for_comparing import NOT_IN_FORCE, without_what_is_compared

STORED = "> M850\n; -- steps per mm\nM860 X80.10 E94.60\n"
OTHER = "M860 X80.00 E93.00\nok\n"


def listing(text: str, *, saved: bool = False) -> Document:
    return without_what_is_compared(read("kept.txt", text.encode(), "command"), saved)


def in_force(document: Document) -> list[str]:
    return [each.value for each in document.settings if each.state is State.ACTIVE]


@pytest.mark.parametrize(
    "said",
    [
        "> M850 F\n; that shows what it would be if forgotten, for comparing\n",
        "; only for comparison, as the build has it\n",
        "> M851 ; factory\n",
        "; the defaults\n",
    ],
)
def test_what_is_listed_again_as_what_would_be_there_is_not_in_force_and_is_asked_about(said: str) -> None:
    document = listing(STORED + said + OTHER)
    assert in_force(document) == ["80.10", "94.60"]
    (asked,) = [each for each in document.doubts if NOT_IN_FORCE in each.why]
    assert asked.place.line == 3 + said.splitlines(keepends=True).index(asked.text + "\n") + 1


def test_what_is_typed_behind_it_and_what_is_said_to_be_stored_hold_again() -> None:
    told = listing(
        STORED + "> M850 F\n; would be this if forgotten\nM860 E93.00\n; now what is stored\nM870 S0.61\n"
    )
    assert in_force(told) == ["80.10", "94.60", "0.61"]
    typed = listing(STORED + "> M850 F\n; would be this if forgotten\nM860 E93.00\nok\n> M860 E95.10\n")
    assert in_force(typed) == ["80.10", "94.60", "95.10"]


@pytest.mark.parametrize(
    "text",
    [
        "> M850\n; the defaults\nM860 X80.00 E93.00\n",  # listed once: they may be what holds
        "; would be better slower\nM860 X80.00 E93.00\nM861 X200 E40\n",  # no listing
        STORED
        + "; -- reach (not stored, comes from the build)\n; X 0..235\n; -- eye\nM861 S1\nM862 D30\nok\n",
        STORED + "; not the defaults\nM860 X80.10 E94.90\n",
    ],
)
def test_defaults_that_stand_alone_a_script_and_what_is_denied_stay_in_force(text: str) -> None:
    document = listing(text)
    assert len(in_force(document)) == len(document.settings)
    assert not any(NOT_IN_FORCE in each.why for each in document.doubts)


def test_a_text_of_saved_values_needs_no_prompt() -> None:
    text = "feeder.steps 94.6 /mm\n; for comparing, out of the build:\nfeeder.steps 93.0 /mm\n"
    document = without_what_is_compared(read("kept.txt", text.encode(), "flat"), True)
    assert [each.state for each in document.settings] == [State.ACTIVE, State.INACTIVE]


SKIPPED = "; ---- slot 0, in use ----\nM860 X80.00 E94.60\n; ---- slot 1, as it came, NOT loaded unless wiped ----\n/M860 X80.00 E93.00\n\n/M861 E50\n"


def test_lines_that_may_be_skipped_are_out_of_force_below_words_that_say_so_and_are_told_once() -> None:
    document = listing(f"{SKIPPED}; ---- map ----\n/M862 Z1\nM863 Z2\n")
    assert [(each.value, each.state) for each in document.settings] == [
        ("80.00", State.ACTIVE),
        ("94.60", State.ACTIVE),
        ("80.00", State.INACTIVE),
        ("93.00", State.INACTIVE),
        ("50", State.INACTIVE),
        ("1", State.UNDECIDED),
        ("2", State.ACTIVE),
    ]
    (asked,) = [each for each in document.doubts if NOT_IN_FORCE in each.why]
    assert asked.place.line == 3 and "lines 4 to 6" in asked.why


@pytest.mark.parametrize(
    "text",
    [
        "; ---- slot 1 ----\n/M860 E93.00\n",
        "; slot 1 is not unused\n/M860 E93.00\n",
        "; slot 1, not loaded\nM850\n/M860 E93.00\n",
    ],
)
def test_lines_that_may_be_skipped_stay_in_doubt_where_nothing_above_says_whether_they_are(text: str) -> None:
    document = listing(text)
    assert [each.state for each in document.settings if each.key == "E"] == [State.UNDECIDED]

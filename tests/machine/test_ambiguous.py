"""Law 11: an abbreviation of two words, or a lone 0 or 1, is no licence to edit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects import read
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.quantities import all_quantities, quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary

#: whole words of their own, whatever longer words begin with them, and short forms of which nobody means the other
_WHOLE = {
    "feed",
    "heat",
    "len",
    "lin",
    "micro",
    "mil",
    "move",
    "grip",
    "print",
    "pull",
    "push",
    "rest",
    "run",
    "temp",
    "watch",
}


def understood(text: str, dialect: str = "flat") -> Machine:
    return recognise([read("one.txt", text.encode(), dialect)])


def _spelled() -> dict[str, set[str]]:
    """All single words and the names that each spells."""
    found: dict[str, set[str]] = {}
    for name, spellings in vocabulary().spellings.items():
        for spelling in spellings:
            if len(spelling) == 1 and spelling[0].isalpha():
                found.setdefault(spelling[0], set()).add(name)
    return found


def test_no_short_form_is_given_to_one_of_two_words_that_it_begins() -> None:
    spelled = _spelled()
    for short, names in spelled.items():
        longer = [own for word, own in spelled.items() if word != short and word.startswith(short)]
        if 3 <= len(short) <= 5 and any(own & names for own in longer) and short not in _WHOLE:
            assert all(own & names for own in longer), short


def test_a_beginning_of_two_words_is_both() -> None:
    meant = {name for (word,) in ways_of("rev") for name in _spelled()[word]}
    assert {"turn", "reverse"} <= meant


@pytest.mark.parametrize("section", ["feed", "feeder", "e", "extruder", "filament.feeder"])
@pytest.mark.parametrize("value", ["0", "1", "4.6", "22.5", "yes", "true"])
def test_an_ambiguous_beginning_never_gives_an_editable_reading(section: str, value: str) -> None:
    machine = understood(f"{section}.rev={value}\n{section}.microsteps=16\n")
    found = [reading for reading in machine.readings if reading.setting.key.endswith("rev")]
    assert not any(reading.editable for reading in found)
    assert all(quantity(each.quantity).kind == "truth" for each in found) == (
        value in ("0", "1", "yes", "true")
    )


def test_its_neighbours_settle_a_beginning() -> None:
    machine = understood("feeder.mm_per_rev=22.5\nfeeder.steps_per_rev=200\n")
    assert [(each.quantity, each.editable) for each in machine.readings] == [
        ("feeder.feed_per_turn", True),
        ("feeder.full_steps", True),
    ]


_NAMES = [
    text
    for entry in vocabulary().entries
    if quantity(entry.quantity).unit in ("mm", "mm/s", "A") and (quantity(entry.quantity).low or 0) >= 0
    for text in entry.examples
    if not any(unit in text.lower() for unit in ("mm", "millimet", "ma", "amp"))
]


@given(st.sampled_from(_NAMES), st.sampled_from(["0", "1", "1.0"]))
def test_a_lone_0_or_1_is_no_length_speed_or_current_to_edit(name: str, value: str) -> None:
    section, _, key = name.rpartition("] ")
    text = f"{section}]\n{key} = {value}\n" if section else f"{key} = {value}\n"
    for reading in understood(text, "sectioned").readings:
        about = quantity(reading.quantity)
        positive = about.unit in ("mm", "mm/s", "A") and (about.low or 0) >= 0 and not about.protected
        assert not (positive and reading.editable), (text, reading)


@pytest.mark.parametrize(
    "text", ["retract_length=1 mm\n", "retract_length_mm=1\n", "retract_length=1 # mm\n"]
)
def test_with_a_unit_it_may_be_edited(text: str) -> None:
    assert [each.editable for each in understood(text).readings] == [True]


def test_a_position_may_be_0() -> None:
    assert [each.editable for each in understood("axis.x.min=0\n").readings] == [True]
    assert any(each.id == "axis.x.min" for each in all_quantities())


@pytest.mark.parametrize(
    ("line", "quantity_id"),
    [("[feeder]\nback = 0.7 ; retract\n", "retraction.length"), ("[feeder]\nback = 15 ; retract\n", None)],
)
def test_of_two_meanings_the_one_that_its_number_can_be_is_read_and_never_edited(
    line: str, quantity_id: str | None
) -> None:
    machine = understood(line, "sectioned")
    assert [(r.quantity, r.editable) for r in machine.readings] == (
        [(quantity_id, False)] if quantity_id else []
    )
    assert any("the words fit" in doubt.why for doubt in machine.doubts)


def test_where_feeds_are_said_to_be_speeds_a_feed_is_one() -> None:
    said = understood(
        "; feeds mm/min, lengths mm\n[feeder]\nretr_feed = 2100\nfeed_max = 3000\n", "sectioned"
    )
    assert {r.quantity: r.value for r in said.readings} == {"retraction.speed": 35, "feeder.max_speed": 50}
    unsaid = understood("[feeder]\nretr_feed = 2100\n", "sectioned")
    assert not unsaid.readings


def test_a_unit_before_rms_is_at_the_end_of_a_key() -> None:
    machine = understood("[feeder]\nat rest A rms = 0.3\n", "sectioned")
    assert [(r.quantity, r.value) for r in machine.readings] == [("motor.hold_current", 0.3)]


@pytest.mark.parametrize("value", ["40, 30", "30, 40"])
def test_speeds_out_and_in_are_a_pair_in_that_order(value: str) -> None:
    machine = understood(f"[retraction]\nspeeds out in = {value}\n", "sectioned")
    first, second = (float(part) for part in value.split(", "))
    assert {r.quantity: r.value for r in machine.readings} == {
        "retraction.speed": first,
        "retraction.return_speed": second,
    }


def test_a_cold_limit_of_the_feeder_is_no_limit_of_its_heat() -> None:
    machine = understood("[feeder]\ncold limit C = 172\n", "sectioned")
    assert [r.quantity for r in machine.readings] == ["feeder.min_feed_temperature"]

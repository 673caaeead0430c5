"""Names are recognised by the trade's words, in any case, order and separator, and by nothing less."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.list_matching import list_fits
from cfgmigrate.machine.matching import best_fits, fits
from cfgmigrate.machine.plain_words import protected_name
from cfgmigrate.machine.quantities import all_quantities, quantity
from cfgmigrate.machine.vocabulary import _entries, vocabulary
from cfgmigrate.machine.words import Counted, Name, read_name, readings_of_name, split

EXAMPLES = [(entry.quantity, text) for entry in vocabulary().entries for text in entry.examples]
NEVER = [(entry.quantity, text) for entry in vocabulary().entries for text in entry.never]
LISTS = [(entry.measure, text) for entry in vocabulary().lists for text in entry.examples]


def parts(text: str) -> tuple[str, str]:
    """Section and key of `[section] key` or `key`."""
    found = re.fullmatch(r"(?:\[(.*?)\] )?(.*)", text)
    assert found
    return found[1] or "", found[2]


def meant(section: str, key: str) -> list[str]:
    """The quantities that a name fits best, taken in the strictest way in which it fits any."""
    for name in readings_of_name(section, key):
        if fits(name):
            return [fit.quantity for fit in fits(name)]
    return []


@pytest.mark.parametrize("name", [q.id for q in all_quantities() if q.kind != "script"])
def test_every_quantity_has_words_with_an_example_of_what_is_it_and_of_what_is_not(name: str) -> None:
    entries = [entry for entry in vocabulary().entries if entry.quantity == name]
    assert any(entry.examples for entry in entries)
    assert any(entry.never for entry in entries)


def test_no_example_is_given_twice() -> None:
    """Not of one quantity, and not of two: the second would be tested by the first's words."""
    twice = {text for text, times in Counter(text for _, text in EXAMPLES).items() if times > 1}
    assert not twice
    assert not {pair for pair, times in Counter(NEVER).items() if times > 1}


@pytest.mark.parametrize(("name", "text"), EXAMPLES)
def test_every_example_is_recognised_as_exactly_its_quantity(name: str, text: str) -> None:
    taken = {word: [name for _, name in vocabulary().by_word.get(word, ())] for word in split(text)}
    assert meant(*parts(text)) == [name], f"what each word may be, by words.yaml: {taken}"


@pytest.mark.parametrize(("name", "text"), NEVER)
def test_no_counterexample_is_recognised_as_its_quantity(name: str, text: str) -> None:
    assert name not in meant(*parts(text))


def test_words_for_a_quantity_that_there_is_not_are_refused() -> None:
    with pytest.raises(BadInput, match="there is no quantity"):
        _entries("feeder.lode_length", {"phrases": ["load length"]}, frozenset())


@pytest.mark.parametrize(("measure", "text"), LISTS)
def test_every_example_of_a_list_is_recognised(measure: str, text: str) -> None:
    name, _, items = text.rpartition(":")
    found = [fit for fit in list_fits(read_name(*parts(name))) if int(items) in fit.entry.orders]
    assert found and found[0].entry.measure == measure


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("[feeder] mm_per_turn", "feeder.feed_per_turn"),
        ("[pusher] turn length", "feeder.feed_per_turn"),
        ("extruder.steps_per_mm", "feeder.steps_per_mm"),
        ("z max travel", "axis.z.max"),
        ("[axis z] highest spot", "axis.z.max"),
        ("run current", "motor.run_current"),
        ("motor current", "motor.run_current"),
        ("retract length", "retraction.length"),
        ("retraction distance", "retraction.length"),
        ("lag of the flow", "lag.coefficient"),
        ("lag coefficient", "lag.coefficient"),
        ("full steps per turn", "feeder.full_steps"),
        ("step angle", "feeder.full_steps"),
        ("microstepping", "feeder.microsteps"),
        ("[upwards (z)] steps per mm", "axis.z.steps_per_mm"),
        ("[inwards, y] soft limit min", "axis.y.min"),
        ("X_SADDLE_STEPS_PER_DISTANCE", "axis.x.steps_per_mm"),
        ("carriage lengthways, motor current", "axis.y.run_current"),
        ("[feeler of the plate] distance from nozzle, X", "probe.offset_x"),
    ],
)
def test_what_the_trade_says_is_understood(text: str, name: str) -> None:
    """The spellings that the first issue lists, and others of the same kind."""
    assert meant(*parts(text)) == [name]


@pytest.mark.parametrize(
    ("section", "key", "name"),
    [
        ("", "FEEDER_A_QUICKEST", "feeder.max_speed"),
        ("feeder a", "fastest", "feeder.max_speed"),
        ("", "feeder_a_max", "feeder.max_acceleration"),
    ],
)
def test_a_letter_that_tells_feeders_apart_is_no_symbol_where_a_word_says_the_measure(
    section: str, key: str, name: str
) -> None:
    assert [fit.quantity for fit in best_fits(readings_of_name(section, key))[1]] == [name]


@st.composite
def spellings(draw: st.DrawFn) -> tuple[str, str, str]:
    """(quantity, section, key): an example with the words of its key in another order, case and separator."""
    name, text = draw(st.sampled_from(EXAMPLES))
    section, key = parts(text)
    words: list[str] = []
    for word in split(key):
        if word.isdigit() and words:
            words[-1] += word
        else:
            words.append(word)
    words = draw(st.permutations(words))
    style = draw(st.sampled_from(["snake", "camel", "upper", "title", "mixed"]))
    if style == "camel":
        return name, section, "".join(word.capitalize() for word in words)
    joint = draw(st.sampled_from(["_", "-", " ", ".", "__", " - ", "/"]))
    cased = {
        "snake": str.lower,
        "upper": str.upper,
        "title": str.capitalize,
        "mixed": lambda word: word.upper() if draw(st.booleans()) else word,
    }
    return name, section, joint.join(cased[style](word) for word in words)


@given(spellings())
def test_order_case_and_separators_of_a_key_do_not_matter(spelling: tuple[str, str, str]) -> None:
    name, section, key = spelling
    assert meant(section, key) == [name]


@given(
    st.sampled_from(EXAMPLES),
    st.sampled_from(["parsnip", "quux", "sparrow", "backlash", "3", "jerk", "second layer"]),
)
def test_a_word_of_the_key_that_has_no_meaning_there_is_never_passed_over(
    example: tuple[str, str], stranger: str
) -> None:
    section, key = parts(example[1])
    assume(not any(stranger in text for name, text in EXAMPLES if name == example[0]))
    assert fits(read_name(section, f"{stranger} {key}")) == ()


@given(
    st.sampled_from([e for e in EXAMPLES if not quantity(e[0]).protected]),
    st.sampled_from(["fan", "display", "heater", "spindle", "light"]),
)
def test_a_thing_that_does_not_belong_blocks_a_quantity_from_the_section_too(
    example: tuple[str, str], thing: str
) -> None:
    section, key = parts(example[1])
    found = fits(read_name(f"{section} {thing}", key))
    assert all(quantity(fit.quantity).protected for fit in found)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("esteps", ("e", "step")),
        ("runcurrent", ("run", "current")),
        ("MAXFEEDRATE", ("max", "feedrate")),
        ("stepspermm", ("step", "per", "mm")),
        ("currentmA", ("current", "ma")),
        ("stepsPerMm", ("step", "per", "mm")),
        ("XMaxPos", ("x", "max", "pos")),
        ("zmax", ("z", "max")),
        ("mass", ("mass",)),
        ("address", ("address",)),
        ("speeds", ("speed",)),
    ],
)
def test_glued_words_are_cut_only_into_words_that_are_known(text: str, words: tuple[str, ...]) -> None:
    assert read_name("", text).key == words


def test_the_number_behind_a_feeder_is_not_one_of_its_words() -> None:
    assert read_name("extruder1", "run current") == Name(
        ("extruder",), ("run", "current"), Counted(1, "extruder")
    )
    assert read_name("", "E0_STEPS").number == 0
    assert read_name("", "T1 current").number == 1
    assert read_name("retraction 2", "length") == Name(("retraction",), ("length",), Counted(2, "retraction"))
    assert read_name("", "lag_2").number == 2
    assert read_name("feed.right", "lag").counted == Counted(2, "feed", side=True)
    assert read_name("", "left feeder steps").counted == Counted(1, "feeder", side=True, in_key=True)


@pytest.mark.parametrize(
    "text",
    [
        "[bed heater] wattage",
        "thermal drift allowed",
        "[protection] anything",
        "[end stop x] line",
        "supply too low",
        "pid window",
        "[nozzle] power_w",
        "bed wattage",
    ],
)
def test_settings_about_heat_protection_end_stops_and_power_are_protected_by_their_words(text: str) -> None:
    name = protected_name(read_name(*parts(text)))
    assert quantity(name).protected


@pytest.mark.parametrize(
    ("text", "protected"),
    [
        ("[tool one] pullWhenSwitching", False),
        ("retraction at tool switch", False),
        ("[feeder] retraction on switch", False),
        ("[axis x] switch pull off", True),
        ("[homing] retract from switch", True),
        ("[filament] pull back on switch", True),
        ("[feeder] end switch pull", True),
    ],
)
def test_a_pull_at_the_moment_of_a_switch_is_no_end_stop(text: str, protected: bool) -> None:
    assert bool(protected_name(read_name(*parts(text)))) is protected


def test_protected_words_are_the_same_in_any_order() -> None:
    assert protected_name(read_name("heater bed", "LINE")) == protected_name(read_name("", "bed_line-heater"))


def test_a_dotted_key_is_read_as_a_section_with_a_key_where_that_makes_sense_of_it() -> None:
    assert meant("", "wren.feeder.run_current") == ["motor.run_current"]
    assert meant("", "feeder.max.speed.mm_per_min") == ["feeder.max_speed"]


def test_a_word_for_a_number_is_none_of_the_trades_and_may_be_a_feeders_name() -> None:
    assert vocabulary().known.isdisjoint(("two", "three", "four"))


def test_a_small_u_joined_to_steps_is_micro_and_no_axis() -> None:
    assert split("uSteps_X") == ["usteps", "x"]
    assert split("driver_uSteps") == ["driver", "usteps"]
    for text in ("u_steps", "USteps", "uStepsPerMM", "uSteps per mm", "uSteps/mm", "uStepsMm"):
        assert split(text)[:2] == ["u", "steps"], text

"""What a whole configuration says, and that nothing in it is guessed in silence."""

from __future__ import annotations

import pytest
from feederbench import values

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.roles import FileRole, FileSet, ListedValue, Role
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise


def flat(text: str, path: str = "dunlin.txt") -> Document:
    return read(path, text.encode(), "flat")


def sectioned(text: str, path: str = "wren.ini") -> Document:
    return read(path, text.encode(), "sectioned")


def test_readings_stand_in_the_order_of_files_and_lines() -> None:
    first = sectioned("[axis z]\nhighest spot = 200\n[feeder]\nsteps per mm = 438\n", "a.ini")
    second = flat("retract length = 4\n", "b.txt")
    found = recognise([first, second])
    assert [str(reading.place) for reading in found.readings] == ["a.ini:2:16", "a.ini:4:16", "b.txt:1:18"]
    assert found.document("b.txt") is second


def test_a_motor_current_of_no_motor_is_the_feeders_where_it_is_the_only_one() -> None:
    assert values(recognise([flat("motor current rms = 0.5\n")])) == {"motor.run_current": 0.5}


def test_a_motor_current_of_no_motor_is_a_doubt_beside_another() -> None:
    found = recognise([flat("motor current rms = 0.5\nx motor current rms = 0.7\n")])
    assert values(found) == {"axis.x.run_current": 0.7}
    (doubt,) = found.doubts
    assert (doubt.place.line, doubt.place.column) == (1, 21)
    assert '"motor current rms": motor.run_current' in doubt.remedy


def test_a_motor_current_in_a_section_that_nobody_knows_is_not_read_and_told_as_not_understood() -> None:
    found = recognise([sectioned("[gannet]\nmotor current rms = 0.5\n")])
    assert values(found) == {} and found.doubts == ()
    (unread,) = found.unread
    assert unread.nearest == ("motor.run_current",)


def test_one_word_in_a_half_understood_section_is_a_doubt() -> None:
    found = recognise([sectioned("[axis z backlash]\nmax = 120\n")])
    assert values(found) == {}
    assert "not every word" in found.doubts[0].why


def test_words_that_fit_two_quantities_are_a_doubt_with_the_lines_for_a_names_file() -> None:
    found = recognise([sectioned("[filament]\nchange length = 420\n")])
    assert found.readings == ()
    (doubt,) = found.doubts
    assert (doubt.place.file, doubt.place.line, doubt.place.column) == ("wren.ini", 2, 17)
    assert "load length and unload length" in doubt.why
    assert '"[filament] change length": feeder.unload_length' in doubt.remedy


@pytest.mark.parametrize("state", [State.INACTIVE, State.UNDECIDED])
def test_only_a_setting_in_force_is_read(state: State) -> None:
    data = b"#define PULLBACK_MM 4.5\n"
    setting = Setting("", "PULLBACK_MM", "4.5", 23, 26, 1, 24, state)
    found = recognise([Document("plover.h", data, "header", (), (setting,))])
    assert found.readings == () and found.unread == ()
    assert len(found.doubts) == (1 if state is State.UNDECIDED else 0)


def test_a_list_gives_every_axis_its_own_number() -> None:
    found = recognise([sectioned("[axes]\nsteps per mm = 84, 86, 410, 96, 94\n")])
    assert values(found) == {
        "axis.x.steps_per_mm": 84,
        "axis.y.steps_per_mm": 86,
        "axis.z.steps_per_mm": 410,
        "feeder.steps_per_mm": 96,
        "feeder2.steps_per_mm": 94,
    }


def test_a_list_with_an_unexpected_number_of_items_is_a_doubt() -> None:
    found = recognise([sectioned("[axes]\nsteps per mm = 84, 84\n")])
    assert found.readings == ()
    assert "3 or 4 or 5 or 6" in found.doubts[0].why


def test_a_list_for_the_feeder_is_one_number_a_feeder() -> None:
    found = recognise([flat("retract length = 4, 5.5\n")])
    assert values(found) == {"retraction.length": 4, "retraction2.length": 5.5}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("[feeder]\nsteps per mm = 96\n[feeder1]\nsteps per mm = 438\n", {"feeder": 96, "feeder2": 438}),
        ("[feeder 1]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n", {"feeder": 96, "feeder2": 438}),
        ("[e0]\nsteps per mm = 96\n[e1]\nsteps per mm = 438\n", {"feeder": 96, "feeder2": 438}),
        ("[feeder]\nsteps per mm = 96\n[feeder 2]\nsteps per mm = 438\n", {"feeder": 96, "feeder2": 438}),
        ("[e1]\nsteps per mm = 96\n", {"feeder": 96}),
    ],
)
def test_feeders_are_counted_from_the_lowest_number_that_the_files_use(
    text: str, expected: dict[str, float]
) -> None:
    found = values(recognise([sectioned(text)]))
    assert found == {f"{group}.steps_per_mm": number for group, number in expected.items()}


SCRIPTS = """\
[script end of print]
lines =
    G91
    G1 Z10 F600
    G90

[routine park]
moves = G1 X4 Y200

[slicing]
start lines: G28\\nG1 Z5
end lines =
    G1 Z150 F900
    M84
note =
    two lines
    of prose
"""


def test_scripts_are_read_whole_with_their_occasion() -> None:
    found = recognise([sectioned(SCRIPTS)])
    texts = {reading.quantity: reading.text for reading in found.readings}
    assert set(texts) == {"script.end", "script.park", "script.start", "script.end2"}
    assert texts["script.end"].splitlines()[0] == "G91"
    assert "Z150" in texts["script.end2"]
    assert all(reading.value is None for reading in found.readings)


def test_a_protected_setting_is_read_and_keeps_its_text() -> None:
    found = recognise([sectioned("[bed heater]\nmax temperature = 110\nwatch for = 20 s\n")])
    first, second = found.readings
    assert (first.quantity, first.value, first.text) == ("heater.bed.max_temperature", 110, "110")
    assert second.quantity.startswith("protected.") and second.text == "20 s"


def test_what_was_not_understood_is_kept_with_what_it_comes_closest_to() -> None:
    found = recognise([sectioned("[feeder]\nroation distanse fidgety = 22\ncolour = green\n")])
    first, second = found.unread
    assert first.nearest[0] == "feeder.feed_per_turn"
    assert second.nearest == ()


def test_doubts_of_the_reading_itself_are_kept() -> None:
    found = recognise([sectioned("[feeder]\nretract length 5\n")])
    assert len(found.doubts) == 1 and found.doubts[0].place.line == 2


def test_every_setting_in_force_is_a_reading_a_doubt_or_unread() -> None:
    """Law 6: nothing goes by without a word."""
    lines = [
        "[feeder]",
        "run current = 450",
        "fidget = 3",
        "retract length = 12 %",
        "steps per mm = 96",
        "steps per mm = 438",
        "[heater]",
        "line = 4",
        "[script end]",
        "text = G28\\nG1 X0",
        "[x]",
        "max = 10000000",
    ]
    document = sectioned("\n".join(lines) + "\n")
    found = recognise([document])
    said = {reading.place.line for reading in (*found.readings, *found.shadowed)}
    said |= {doubt.place.line for doubt in found.doubts} | {unread.place.line for unread in found.unread}
    assert {setting.line for setting in document.settings} <= said


@pytest.mark.parametrize(
    "section", ["accel", "acceleration", "fast acceleration", "pick_up", "speeds", "temperature"]
)
def test_a_number_in_a_section_of_another_kind_is_no_length(section: str) -> None:
    """An acceleration called after what is printed with it is no length that fills a path."""
    found = recognise([read("spool.ini", f"[{section}]\nouter = 1400\nfill = 2600\n".encode())])
    assert not [each for each in found.every_reading if quantity(each.quantity).unit == "mm"]


def test_a_key_that_says_itself_that_it_is_a_length_stays_one_in_such_a_section() -> None:
    found = recognise([read("spool.ini", b"[filament speeds]\nload length = 480 mm\n")])
    assert [each.quantity for each in found.every_reading] == ["feeder.load_length"]


def test_only_a_text_that_may_be_what_the_board_keeps_is_asked_about_as_one() -> None:
    own = FileRole("dunlin.txt", Role.IN_FORCE, "said in the test")
    talk = FileRole(
        "talk.txt", Role.NONE, "said in the test", holds=(ListedValue(3, "lag.coefficient", "0.55"),)
    )
    found = recognise([flat("retract length = 4\n")], roles=FileSet({"dunlin.txt": own, "talk.txt": talk}))
    assert found.unclaimed == (talk,)
    assert [doubt.place.file for doubt in found.doubts] == ["talk.txt"]
    alone = recognise([flat("retract length = 4\n")], roles=FileSet({"dunlin.txt": own}))
    assert (alone.unclaimed, alone.doubts) == ((), ())


def test_what_a_line_takes_in_is_no_value() -> None:
    found = recognise([read("m.txt", b"== feeder ==\ntake in = reels/grey.txt\nlag = 0.5\n", "flat")])
    assert [each.quantity for each in found.readings] == ["lag.coefficient"]
    assert [each.why for each in found.doubts] == [
        "the file that it takes in is not among those that were read"
    ]

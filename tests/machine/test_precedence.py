"""One quantity in several places: one is in force, others move along, and what is unclear is a doubt."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.roles import FileRole, FileSet, Role
from cfgmigrate.files.site_reading import parse_site
from cfgmigrate.machine.model import Holder, Machine
from cfgmigrate.machine.names import names_said
from cfgmigrate.machine.precedence import TO_KNOW
from cfgmigrate.machine.recognise import recognise


def sectioned(text: str, path: str = "wren.ini") -> Document:
    return read(path, text.encode(), "sectioned")


def in_force(machine: Machine, quantity: str) -> tuple[str, int] | None:
    found = machine.get(quantity)
    return (found.place.file, found.place.line) if found else None


def lines(readings: tuple[object, ...]) -> list[tuple[str, int]]:
    return [(reading.place.file, reading.place.line) for reading in readings]  # type: ignore[attr-defined]


def test_of_the_same_key_twice_the_last_is_in_force_and_the_first_is_reported() -> None:
    found = recognise([sectioned("[feeder]\nsteps per mm = 96\nSteps_per_mm = 96\nsteps per mm = 438\n")])
    assert found.get("feeder.steps_per_mm") is None
    found = recognise([sectioned("[feeder]\nsteps per mm = 96\nsteps per mm = 438\n")])
    assert in_force(found, "feeder.steps_per_mm") == ("wren.ini", 3)
    assert lines(found.twins["feeder.steps_per_mm"]) == [("wren.ini", 2)]
    (doubt,) = found.doubts
    assert doubt.place.line == 2 and "wren.ini:3" in doubt.why and "changed with it" in doubt.remedy


def test_a_protected_line_that_stands_twice_is_told_by_the_words_of_its_file() -> None:
    found = recognise([sectioned("[protection]\ndoor switch = none\ndoor switch = front\n")])
    (doubt,) = found.doubts
    assert doubt.why.startswith("[protection] door switch stands more than once")


def test_a_key_overridden_by_a_file_that_includes_its_own_follows() -> None:
    """The including file's line stands behind the include, and holds."""
    inner = sectioned("[feeder]\nsteps per mm = 96\n", "a.ini")
    text = "include = a.ini\n[feeder]\nsteps per mm = 438\n"
    outer = read("b.ini", text.encode(), "sectioned", lambda path, target: (target,))
    assert outer.includes
    found = recognise([inner, outer])
    assert in_force(found, "feeder.steps_per_mm") == ("b.ini", 3)
    assert lines(found.twins["feeder.steps_per_mm"]) == [("a.ini", 2)]
    assert found.doubts[0].place.file == "a.ini"


def test_of_files_that_have_nothing_to_do_with_each_other_neither_overrides() -> None:
    found = recognise(
        [
            sectioned("[feeder]\nsteps per mm = 96\n", "a.ini"),
            sectioned("[feeder]\nsteps per mm = 438\n", "b.ini"),
        ]
    )
    assert found.get("feeder.steps_per_mm") is None
    assert lines(found.shadowed) == [("a.ini", 2), ("b.ini", 2)]


def test_what_the_board_keeps_prevails_over_the_file_whatever_the_setting_is_called() -> None:
    header = read(
        "wren.h", b"#define FEEDER_STEPS_PER_MM 96.35\n#define FEEDER_STEPS_PER_UNIT 96.35\n", "header"
    )
    dump = read("a_dump.nc", b"M92 E97.2\n", "command")
    roles = FileSet({"a_dump.nc": FileRole("a_dump.nc", Role.SAVED, "said in the test")})
    found = recognise([dump, header], roles=roles)
    assert in_force(found, "feeder.steps_per_mm") == ("a_dump.nc", 1)
    assert lines(found.twins["feeder.steps_per_mm"]) == [("wren.h", 1), ("wren.h", 2)]
    assert {doubt.place.line for doubt in found.doubts} == {1, 2}
    assert all("what the board keeps, 97.2 at a_dump.nc:1" in doubt.why for doubt in found.doubts)


def test_values_of_different_holders_are_no_conflict() -> None:
    text = "[retraction]\nlength = 5\n[filament petg]\nretraction length = 6\nlag = 0.6\n[lag]\ncoefficient = 0.5\n"
    found = recognise([sectioned(text)])
    assert found.doubts == () and not found.followed and not found.shadowed
    assert len(found.readings) == 4


def test_equal_values_in_different_places_move_together() -> None:
    found = recognise([sectioned("[axis z]\nhighest spot = 200\n[machine]\nbuild height = 200.0\n")])
    assert in_force(found, "axis.z.max") == ("wren.ini", 4)
    assert lines(found.twins["axis.z.max"]) == [("wren.ini", 2)]
    assert found.doubts == ()


def test_unequal_values_of_equal_standing_are_a_doubt_and_none_is_in_force() -> None:
    found = recognise([sectioned("[feeder]\nsteps per mm = 96\n[tool]\nsteps per unit = 438\n")])
    assert found.get("feeder.steps_per_mm") is None
    assert len(found.shadowed) == 2
    remedy = found.doubts[0].remedy
    assert "[tool] steps per unit" in remedy and "feeder.steps_per_mm" in remedy and "ignore" not in remedy


def test_what_a_person_names_as_the_one_that_is_meant_holds_and_the_other_stays_in_sight() -> None:
    text = "[feeder]\nretract length = 5.4\n[retraction]\ndistance = 9\n"
    said = b'site: 1\nmeanings: {"[feeder] retract length": retraction.length}\n'
    names = names_said(None, parse_site(said, "cfgmigrate.yaml"))
    found = recognise([sectioned(text)], names)
    assert in_force(found, "retraction.length") == ("wren.ini", 2)
    assert [(each.place.line, each.value) for each in found.shadowed] == [(4, 9.0)]
    (doubt,) = found.doubts
    assert doubt.place.line == 4 and "stays as it is" in doubt.why


def test_of_two_in_a_file_what_the_board_keeps_overrides_the_one_of_its_name() -> None:
    """The other one is of another occasion, and is told."""
    file = sectioned("[feeder retract]\nlength mm = 6\n[feeder retract resting]\nlength mm = 9\n")
    kept = read("kept.txt", b"feeder.retract.length_mm = 6.5\n", "flat")
    roles = FileSet({"kept.txt": FileRole("kept.txt", Role.SAVED, "said in the test")})
    found = recognise([file, kept], roles=roles)
    assert in_force(found, "retraction.length") == ("kept.txt", 1)
    assert lines(found.twins["retraction.length"]) == [("wren.ini", 2)]
    assert lines(found.shadowed) == [("wren.ini", 4)]
    assert [doubt.place.line for doubt in found.doubts] == [2, 4]


def test_a_protected_line_of_other_words_than_what_the_board_keeps_is_no_second_value_of_that() -> None:
    file = sectioned("[heater]\nd = 88\ni = 1.3\nmost = 260\n")
    kept = read("kept.txt", b"heater.i = 1.41\n", "flat")
    roles = FileSet({"kept.txt": FileRole("kept.txt", Role.SAVED, "said in the test")})
    found = recognise([file, kept], roles=roles)
    assert [doubt.place.line for doubt in found.doubts] == [3] and lines(found.shadowed) == [("wren.ini", 4)]


def test_a_retraction_in_the_machine_and_in_a_profile_are_two() -> None:
    machine = sectioned("[feeder]\nretract length = 5.4\n", "machine.ini")
    profile = sectioned("[profile]\nname = rings\nretraction distance = 5\n", "slicing.ini")
    roles = FileSet({"slicing.ini": FileRole("slicing.ini", Role.PROFILE, "said in the test")})
    found = recognise([machine, profile], roles=roles)
    assert in_force(found, "retraction.length") == ("machine.ini", 2)
    own = found.reading("retraction.length", Holder("print", "rings"))
    assert own is not None and own.value == 5
    assert not found.followed and not found.doubts


def test_two_unequal_retractions_of_one_holder_are_a_doubt() -> None:
    text = "[feeder]\nretract length = 5.4\n[retraction]\ndistance = 5\n"
    found = recognise([sectioned(text)])
    assert found.get("retraction.length") is None and len(found.shadowed) == 2
    assert "which one holds is not clear" in found.doubts[0].why


def test_a_block_that_the_machine_wrote_moves_with_the_body() -> None:
    """The dialect gives the settings behind comment markers as ones that are in force."""
    body = b"[feeder]\nlag coefficient = 0.40\n;=+ [feeder]\n;=+ lag coefficient = 0.46\n"
    first = Setting("feeder", "lag coefficient", "0.40", 27, 31, 2, 19)
    second = Setting(
        "feeder", "lag coefficient", "0.46", body.index(b"0.46"), body.index(b"0.46") + 4, 4, 23, saved=True
    )
    found = recognise([Document("wren.ini", body, "sectioned", (), (first, second))])
    assert in_force(found, "lag.coefficient") == ("wren.ini", 4)
    assert lines(found.twins["lag.coefficient"]) == [("wren.ini", 2)]
    assert found.shadowed == ()


def test_protected_settings_that_disagree_stay_to_be_compared() -> None:
    found = recognise([sectioned("[bed heater]\nmax temp = 100\n[bed]\nmax temp = 110\n")])
    reading = found.get("heater.bed.max_temperature")
    assert reading is not None and reading.value == 110


def test_a_block_that_the_machine_wrote_is_found_in_a_real_file() -> None:
    text = (
        "[feeder]\nlag coefficient = 0.40\n"
        ";=+ saved by the machine on its own\n;=+ [feeder]\n;=+ lag coefficient = 0.46\n"
    )
    found = recognise([sectioned(text)])
    assert in_force(found, "lag.coefficient") == ("wren.ini", 5)
    assert lines(found.twins["lag.coefficient"]) == [("wren.ini", 2)]
    assert "changed with it" in found.doubts[0].remedy


def test_a_block_that_the_machine_wrote_takes_the_body_along_from_an_included_file() -> None:
    block = "[feeder]\nfull steps = 200\n;=+ written by the machine at noon\n;=+ [machine]\n;=+ corner speed = 6.4\n"
    found = recognise(
        [sectioned("[machine]\ncorner speed: 6\n", "parts/pace.ini"), sectioned(block, "wren.ini")]
    )
    assert in_force(found, "machine.corner_speed") == ("wren.ini", 5)
    assert lines(found.twins["machine.corner_speed"]) == [("parts/pace.ini", 2)]
    (doubt,) = found.doubts
    assert "the machine wrote, 6.4 at wren.ini:5" in doubt.why


def test_a_block_that_the_machine_wrote_with_the_same_value_moves_along_without_a_doubt() -> None:
    text = "[machine]\nidle time limit = 840\n\n#@@ saved by the board\n#@@ [machine]\n#@@ idle time limit = 840.0\n"
    found = recognise([sectioned(text)])
    assert in_force(found, "machine.idle_time") == ("wren.ini", 6)
    assert lines(found.twins["machine.idle_time"]) == [("wren.ini", 2)]
    assert found.doubts == ()


@pytest.mark.parametrize(("kept", "open_"), [(5.2, False), (1.4, False), (0.4, True)])
def test_what_the_board_keeps_under_another_name_and_far_from_a_value_is_not_that_value(
    kept: float, open_: bool
) -> None:
    documents = [
        read("m.conf", b"[retraction]\nlength = 5\n", "sectioned"),
        read("kept.conf", f"filament draw length = {kept}\n".encode(), "flat"),
    ]
    roles = FileSet({"kept.conf": FileRole("kept.conf", Role.SAVED, "said in the test")})
    found = recognise(documents, roles=roles)
    assert (found.get("retraction.length") is None) == open_ == bool(found.shadowed)


def _header_and_board(header: str) -> Machine:
    """A machine whose board keeps a lag of its own."""
    roles = FileSet({"kept.ini": FileRole("kept.ini", Role.SAVED, "said in the test", True)})
    return recognise(
        [read("body.h", header.encode(), "header"), sectioned("[feeder]\nlag s = 0.44\n", "kept.ini")],
        roles=roles,
    )


@pytest.mark.parametrize(("kept", "writable"), [("0", False), ("0.3", True)])
def test_a_zero_that_switches_off_what_the_board_keeps_stays_off(kept: str, writable: bool) -> None:
    """What the board keeps is written for another number there, and for a 0 it is asked."""
    found = _header_and_board(f"#define LAG_S {kept} /* off here */\n")
    along = [each for each in found.every_reading if each.place.file == "body.h"]
    assert [each.editable for each in along] == [writable]
    (doubt,) = (each for each in found.doubts if each.place.file == "body.h")
    assert ('"body.h LAG_S": ignore' in doubt.remedy) is not writable
    assert (doubt.remedy in TO_KNOW) is writable


def test_a_zero_before_a_later_line_of_its_own_file_is_no_question() -> None:
    """The later line is the owner's own word on it: nothing is left to ask, and the 0 stays all the same."""
    found = recognise([sectioned("[feeder]\nlag s = 0\nlag s = 0.44\n")])
    first, last = sorted(found.every_reading, key=lambda each: each.place.line)
    assert (first.value, first.editable, last.value, last.editable) == (0, False, 0.44, True)
    assert all(each.remedy in TO_KNOW for each in found.doubts)

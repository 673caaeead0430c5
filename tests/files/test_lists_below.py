"""Of two lists of the same settings in one file the one that the text says holds does, and its place decides nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, State
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.for_comparing import NOT_IN_FORCE
from cfgmigrate.files.lists_below import in_doubtful_lists, lists_below, without_old_lists
from cfgmigrate.machine.listings import WHICH_LIST
from cfgmigrate.machine.recognise import recognise

UPPER = "M715 L6.2 V40   ; pull: mm, mm/s\nM735 S0.66   ; lag, s\n"
LOWER = "M715 L6.8 V45\nM735 S0.81\n"


def taken(text: str, dialect: str = "command") -> Document:
    return without_old_lists(read("kept.nc", text.encode(), dialect))


def in_force(document: Document) -> list[str]:
    return [each.value for each in document.settings if each.state is State.ACTIVE]


@pytest.mark.parametrize(
    ("head", "first", "second"),
    [
        ("; the board has only the first.\n", "; === 9 November 2025 ===\n", "; === spring ===\n"),
        ("", "", "; === spring. history, the board has only the first list ===\n"),
        ("", "; === 9 November 2025 ===\n", "; === history ===\n"),
        ("", "; === now ===\n", "; --- old ---\n"),
        ("; only the upper list counts\n", "; 9.11.2025:\n", "; 30.3.2025:\n"),
        ("; the second list is history\n", "; 9.11.2025:\n", "; 30.3.2025:\n"),
        ("", "; 2025-11-09\n", "; == before the new nozzle ==\n"),
    ],
)
def test_the_list_that_the_text_says_holds_does_wherever_it_stands(
    head: str, first: str, second: str
) -> None:
    document = taken(f"{head}{first}{UPPER}{second}{LOWER}")
    assert in_force(document) == ["6.2", "40", "0.66"]
    (told,) = [each for each in document.doubts if NOT_IN_FORCE in each.why]
    assert told.place.line == document.settings[3].line - 1


@pytest.mark.parametrize(
    ("head", "first", "second"),
    [
        ("", "; === history ===\n", "; === 9 November ===\n"),
        ("; the board has only the last list\n", "; === 9 November ===\n", "; === spring ===\n"),
        ("", "; === 30 March 2025 ===\n", "; === 9 November 2025 ===\n"),
    ],
)
def test_a_list_below_holds_by_words_or_where_it_is_the_newest_as_well(
    head: str, first: str, second: str
) -> None:
    assert in_force(taken(f"{head}{first}{UPPER}{second}{LOWER}")) == ["6.8", "45", "0.81"]


def test_where_the_newest_list_holds_its_day_is_told_with_the_one_that_does_not() -> None:
    document = taken(f"; === 30 March 2025 ===\n{UPPER}; === 9 November 2025 ===\n{LOWER}")
    (told,) = [each for each in document.doubts if NOT_IN_FORCE in each.why]
    assert "9 November 2025" in told.why and "30 March" in told.text


@pytest.mark.parametrize(
    ("head", "first", "second"),
    [
        ("", "; === 9 November 2025 ===\n", "; === 30 March 2025 ===\n"),
        ("", "; === 9 November ===\n", "; === 12 December ===\n"),
        ("", "; --- spring ---\n", "; --- autumn ---\n"),
        ("", "; === 30 March 2025, with the feeler ===\n", "; === 9 November 2025 ===\n"),
        (
            "; the board has only the first\n; the last list counts\n",
            "; == 1 May 2025 ==\n",
            "; == 1 June 2025 ==\n",
        ),
    ],
)
def test_lists_of_other_days_of_which_none_is_said_to_hold_are_asked_about(
    head: str, first: str, second: str
) -> None:
    document = taken(f"{head}{first}{UPPER}{second}{LOWER}")
    assert len(in_force(document)) == len(document.settings)
    (asked,) = [each for each in document.doubts if "which of them holds" in each.why]
    assert asked.place.line == document.settings[3].line - 1
    number = in_doubtful_lists([document])
    assert [number("kept.nc", each.start) for each in document.settings] == [1, 1, 1, 2, 2, 2] or head


@pytest.mark.parametrize(
    ("first", "second", "lower"),
    [
        ("; === feeder ===\n", "; === axes ===\n", LOWER),  # parts, and no time
        ("", "; === since the new nozzle ===\n", LOWER),
        ("; === old drive ===\n", "; === new drive ===\n", LOWER),
        ("; === 9 November 2025 ===\n", "; === 30 March 2025 ===\n", "M799 S2\nM798 S4\n"),  # other settings
        ("; === PLA, 9 November ===\n", "; === PETG, 30 March ===\n", LOWER),
        ("; === 9 November ===\n", "; === 9 November ===\n", LOWER),
        ("; === 9 November 2025 ===\n", "; === 30 March 2025 ===\n", LOWER + "G1 X20 F3000\n"),  # a script
        ("", "; measured again on 3 May, with the oiled hub\n", LOWER),  # a remark about what follows
        ("", "; === not history ===\n", LOWER),
        ("; --- before printing ---\n", "; --- after printing ---\n", LOWER),
    ],
)
def test_parts_repeats_without_a_time_scripts_and_materials_are_no_lists(
    first: str, second: str, lower: str
) -> None:
    text = f"{first}{UPPER}{second}{lower}"
    document = read("kept.nc", text.encode(), "command")
    assert lists_below(document) is None
    assert without_old_lists(document) == document


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("; === left feeder, 9 November 2024 ===\n", "; === right feeder, 30 March 2025 ===\n"),
        ("; === feeder 1, 9 November 2024 ===\n", "; === feeder 2, 30 March 2025 ===\n"),
        ("; === x, 9 November ===\n", "; === feeder, 30 March ===\n"),
        ("; === 9 November 2024 ===\nT0\n", "; === 30 March 2025 ===\nT1\n"),
    ],
)
@pytest.mark.parametrize("dialect", ["command", "flat"])
def test_parts_of_which_each_is_of_another_axis_or_feeder_are_no_lists_of_the_same(
    first: str, second: str, dialect: str
) -> None:
    upper, lower = (
        (UPPER, LOWER) if dialect == "command" else ("lag = 0.66\npull = 6.2\n", "lag = 0.81\npull = 6.8\n")
    )
    if dialect == "command" or "T0" not in first:
        assert lists_below(read("kept.nc", f"{first}{upper}{second}{lower}".encode(), dialect)) is None


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("; === left feeder, 9 November ===\n", "; === left feeder, 30 March ===\n"),
        ("; === feeder, 9 November ===\n", "; === left feeder, 30 March ===\n"),
        ("; === 9 November ===\nT0\n", "; === 30 March ===\nT0\n"),
        ("; === left feeder, 9 November ===\n", "; === spring ===\n"),
    ],
)
def test_lists_of_one_feeder_are_asked_about(first: str, second: str) -> None:
    found = lists_below(read("kept.nc", f"{first}{UPPER}{second}{LOWER}".encode(), "command"))
    assert found is not None and not found.holds


def test_a_newer_part_below_overrules_what_it_has_and_leaves_the_rest_in_force() -> None:
    text = f"; === 30 March 2025 ===\n{UPPER}M711 X80 Y81 P97\n; === 9 November 2025 ===\n{LOWER}"
    document = read("kept.nc", text.encode(), "command")
    assert without_old_lists(document) == document


@pytest.mark.parametrize(
    "head",
    [
        "; LATER LINES BEAT EARLIER ONES\n",
        "; where a setting stands twice, the last one is in force\n",
        "; the last counts where something is set more than once\n",
    ],
)
def test_where_each_setting_is_as_it_was_said_last_no_list_is_dropped(head: str) -> None:
    text = f"{head}; -- first keep\n{UPPER}M706 E990\n; -- kept 2 November\n{LOWER}"
    document = taken(text)
    assert lists_below(read("kept.nc", text.encode(), "command")) is None
    assert in_force(document) == ["6.2", "40", "0.66", "990", "6.8", "45", "0.81"]


@pytest.mark.parametrize("dialect", ["flat", "sectioned"])
def test_lists_are_told_in_other_dialects_too(dialect: str) -> None:
    top = "[feeder]\n" if dialect == "sectioned" else ""
    text = f"# === 9 November 2025 ===\n{top}lag = 0.66\npull = 6.2\n# === history ===\n{top}lag = 0.81\npull = 6.8\n"
    assert in_force(taken(text, dialect)) == ["0.66", "6.2"]


def test_of_several_lists_only_the_one_of_before_is_left_where_the_others_are_of_other_things() -> None:
    axes, heat = "M711 X80 Y81 P97\nM712 X900\n", "M731 P20 I1\nM732 P70 I2\n"
    document = taken(f"; == axes, 9 Nov ==\n{axes}; == heat, 9 Nov ==\n{heat}; == history ==\n{axes}{heat}")
    assert len(in_force(document)) == 8


def machine(folder: Path, text: str):  # type: ignore[no-untyped-def]
    (folder / "heron.txt").write_text(
        "x_max: 224\ny_max: 227\nz_max: 235\nx_min: 0\ny_min: 0\nfeeder_steps_per_mm: 263.4\npull_mm: 6.5\n"
    )
    (folder / "kept.nc").write_text(text)
    return recognise(open_configuration([folder]))


def test_a_value_of_lists_of_which_none_is_said_to_hold_is_read_from_neither(tmp_path: Path) -> None:
    dated = f"; read last, wins over heron.txt\n; === 9 November 2025 ===\n{UPPER}; === 30 March 2025 ===\n"
    found = machine(tmp_path, f"{dated}{LOWER}")
    assert "retraction.length" not in {each.quantity for each in found.readings}
    said = [doubt.why for doubt in found.doubts if "which one holds is not clear" in doubt.why]
    assert any("6.2" in each and "6.8" in each for each in said)


def test_what_such_lists_have_alike_is_read_and_not_edited(tmp_path: Path) -> None:
    dated = f"; read last, wins over heron.txt\n; === 9 November 2025 ===\n{UPPER}; === 30 March 2025 ===\n"
    found = machine(tmp_path, f"{dated}{UPPER}")
    of_lists = [each for each in found.every_reading if each.place.file == "kept.nc"]
    assert of_lists and {each.why_not for each in of_lists} == {WHICH_LIST}

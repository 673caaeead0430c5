"""What a command prints fits one screen, says first what may do damage, and never cuts a word."""

from __future__ import annotations

import io
import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from msgspec.structs import replace
from rich.cells import cell_len

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.cli.next_step import next_steps
from cfgmigrate.plan.model import ByHand, Light, Plan
from cfgmigrate.reports import overview
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.screen import _NARROW, MORE, ChangeRow, table, width_of, wrapped
from cfgmigrate.reports.terminal import SCREEN, make_console, screen, show_plan

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
MACHINES = sorted(path.stem for path in (SAMPLES / "sheets").glob("*.yaml"))
WIDTHS = [80, 100, 120]


@pytest.fixture(scope="module", params=MACHINES)
def plan(request: pytest.FixtureRequest) -> Any:
    return api.work_out(SAMPLES / request.param, SAMPLES / "sheets" / f"{request.param}.yaml").plan


def lines(plan: Plan, width: int) -> list[str]:
    return [line.text for line in screen(plan, width, next_steps(Path("packet")))]


@pytest.mark.parametrize("width", WIDTHS)
def test_the_plan_of_every_sample_is_one_screen(plan: Plan, width: int) -> None:
    shown = lines(plan, width)
    assert len(shown) <= SCREEN
    assert max(map(width_of, shown)) <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_every_change_stands_there_with_its_number_both_values_and_each_of_its_places(
    plan: Plan, width: int
) -> None:
    shown = lines(plan, width)
    text = " ".join(" ".join(shown).split())
    for card in cards_of(plan).changes:
        assert any(re.match(rf"\s*{card.number} ", line) for line in shown)
        assert card.old in text and card.new in text
        for place in card.places:
            assert any(place in line.split() for line in shown), place


def test_whatever_may_do_damage_is_named_above_the_changes_and_again_at_the_end(plan: Plan) -> None:
    shown = lines(plan, 80)
    start = next(index for index, line in enumerate(shown) if line.startswith("Changes"))
    end = " ".join(shown[next(index for index, line in enumerate(shown) if "Not to be missed" in line) :])
    for alarm in overview.alarms(cards_of(plan)):
        assert any(line.startswith(f"  ! {alarm.number} {alarm.about[:12]}") for line in shown[:start])
        assert set(alarm.numbers) <= set(re.findall(r"\w+", end))


def test_what_is_not_to_be_missed_is_in_the_order_of_its_numbers(plan: Plan) -> None:
    """Alike warnings are told as one further up, H1 and H3 before H2."""
    steps = tuple(
        ByHand(
            rule=f"work.{name}",
            label=name,
            what=f"Do {name}.",
            why="",
            when="mounting",
            value=None,
            unit="",
            warnings=(text,),
        )
        for name, text in (("perch", "Falls at 1 mm."), ("nest", "It is hot."), ("perch", "Falls at 3 mm."))
    )
    end = " ".join(lines(replace(plan, by_hand=steps, changes=(), findings=(), doubts=()), 80))
    assert "H1, H2, H3 dangerous" in " ".join(end.split())


@pytest.mark.parametrize("width", WIDTHS)
def test_no_word_is_cut(plan: Plan, width: int) -> None:
    cards = cards_of(plan)
    said = " ".join(
        [overview.sentence(plan), overview.swap_sentence(plan), plan.machine, *next_steps(Path("packet"))]
    )
    said += " " + " ".join(
        " ".join(
            [
                card.number,
                card.title,
                card.old,
                f"~{card.new}",
                card.when,
                card.says,
                *card.places,
                *card.warnings,
            ]
        )
        for card in cards.all
    )
    said += " ".join(f" {light.light} {light.holder} {light.state} {light.why}" for light in plan.lights)
    own = "see checklist.md Lights of Dangerous or open By hand Next (nothing is installed yet) Not to be missed dangerous to settle by hand question questions in"
    known = set(re.findall(r"\w[\w']*", f"{said} {own} Changes (is an estimate: a start, to be tuned)"))
    cut = [word for line in lines(plan, width) for word in re.findall(r"\w[\w']*", line) if word not in known]
    assert cut == []


def test_an_unknown_light_stands_first_with_its_reason_and_is_repeated_at_the_end(
    wren: SimpleNamespace,
) -> None:
    lights = (
        Light("feed", "machine", "set", "C1 sets it"),
        Light(
            "height", "machine", "unknown", "no file sets the z end stop, and the sheet says nothing of it"
        ),
    )
    shown = lines(replace(wren.plan, lights=lights), 100)
    assert (
        shown[2].startswith("Lights: feed set, height unknown") or "Lights: feed set, height unknown" in shown
    )
    assert any("height is unknown: no file sets the z end stop" in line for line in shown[:6])
    assert any("height unknown" in line for line in shown[-2:])


def test_changes_stand_by_holder(wren: SimpleNamespace) -> None:
    changes = wren.plan.changes
    plan = replace(wren.plan, changes=(replace(changes[0], holder="feeder 2"), *changes[1:]))
    shown = lines(plan, 100)
    start = shown.index("  feeder 2")
    assert changes[0].label.lower() in " ".join(shown[start:]).lower()
    assert shown.index("  machine") < start


FOUR = ChangeRow(
    "C1", "Retraction length", "5.4 mm → 0.26 mm", tuple(f"parts/{name}.conf:17" for name in "abcd")
)
LONG = ChangeRow(
    "C2", "Lag coefficient", "0.55 s → 0.026 s", ("/".join(["a_long_folder_name"] * 8) + "/feed.conf:31",)
)


@pytest.mark.parametrize("width", [60, *WIDTHS])
def test_values_in_four_files_and_long_paths_have_each_place_whole_on_a_line_of_its_own(width: int) -> None:
    for rows in ([FOUR], [LONG], [FOUR, LONG], [LONG, FOUR]):
        shown = table(rows, width)
        for row in rows:
            for place in row.places:
                assert sum(place in line.split() for line in shown) == 1
            assert sum(row.move in line for line in shown) == 1
        assert all(len(line) <= width for line in shown if LONG.places[0] not in line)


def test_what_has_room_has_its_place_beside_it_and_what_has_not_below() -> None:
    assert len(table([FOUR], 100)) == 4
    assert len(table([FOUR], 50)) == 5
    assert len(table([LONG], 80)) == 2


@pytest.mark.parametrize("most", [1, 2, 3])
def test_a_text_that_is_too_long_ends_behind_a_whole_word(most: int) -> None:
    text = "The drive can push with 39.0 ± 7.2 N and 40 ± 15 N are needed at brisk printing"
    shown = wrapped(text, 30, "  ! ", most=most)
    assert len(shown) <= most
    if shown[-1].endswith(MORE):
        told = " ".join(" ".join(shown).split()).removeprefix("! ").removesuffix(f" {MORE}")
        assert text.startswith(told) and text[len(told)] in " ,;:"


def test_western_letters_and_signs_take_the_column_that_the_terminal_gives_them() -> None:
    signs = [chr(code) for code in range(0xA1, 0x2B00) if _NARROW.fullmatch(chr(code))]
    assert len(signs) > 900 and {cell_len(sign) for sign in signs} == {1}


def test_wide_letters_count_for_two_columns() -> None:
    assert all(width_of(line) <= 20 for line in wrapped("送料 " * 12, 20, "  "))


def test_into_a_pipe_the_same_is_printed(plan: Plan) -> None:
    out = io.StringIO()
    console = make_console(out)
    show_plan(plan, console)
    assert out.getvalue().splitlines() == [line.text.rstrip() for line in screen(plan, console.width)] or (
        [line.rstrip() for line in out.getvalue().splitlines()]
        == [line.text.rstrip() for line in screen(plan, console.width)]
    )


def test_of_very_many_values_those_of_lights_and_warnings_stand_in_rows_and_the_others_by_number(
    wren: SimpleNamespace,
) -> None:
    lit = next(change for change in wren.plan.changes if change.quantity == "retraction.length")
    plain = [
        replace(
            lit, quantity="park.y", label=f"place of perch {number}", warnings=(), holder=f"print {number}"
        )
        for number in range(60)
    ]
    warned = replace(
        plain[0], label="perch in the way", warnings=("The perch is in the way.",), holder="print 60"
    )
    plan = replace(wren.plan, changes=(lit, *plain, warned))
    shown = [line.text for line in screen(plan, 80, ["install  x"])]
    cards = cards_of(plan)
    rows = [card for card in cards.changes if any(re.match(rf"\s*{card.number} ", line) for line in shown)]
    assert {card.title for card in rows} == {cards.changes[0].title, "Perch in the way"}
    told = " ".join(" ".join(shown).split())
    others = overview.spans([card.number for card in cards.changes if card not in rows])
    assert f"60 other values: {others}, see changes.md or --full" in told
    assert "The perch is in the way." in told and len(shown) <= SCREEN


def test_a_few_values_more_are_never_told_by_their_numbers_alone(wren: SimpleNamespace) -> None:
    lit = next(change for change in wren.plan.changes if change.quantity == "retraction.length")
    plan = replace(
        wren.plan, changes=(lit, replace(lit, quantity="park.y", label="place of the perch", warnings=()))
    )
    shown = [line.text for line in screen(plan, 80, ["install  x"], 5)]
    assert any("Place of the perch" in line for line in shown) and not any(
        "other value" in line for line in shown
    )

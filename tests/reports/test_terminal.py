"""In a terminal: the same content, at any width, with or without colour, and no text of a file acts."""

from __future__ import annotations

import io
import re
import unicodedata
from collections.abc import Callable
from types import SimpleNamespace
from typing import Any

import pytest
from cardtexts import texts_of
from rich.console import Console

from cfgmigrate.apply.file_revert import KEPT_AS_ASKED
from cfgmigrate.plan.model import Plan
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.outcome_text import (
    answers_to,
    kept_heading,
    reverted_heading,
    show_history,
    show_install,
    show_revert,
)
from cfgmigrate.reports.survey_text import show_comparison, show_survey
from cfgmigrate.reports.terminal import make_console, show_full, show_plan

ESCAPE = "\x1b"
SURVEY: dict[str, Any] = {
    "files": [{"path": "wren.ini", "dialect": "sectioned", "settings": 30, "lines": 42, "understood": 21}],
    "readings": [
        {
            "quantity": "motor.run_current",
            "holder": "machine",
            "value": 0.8,
            "unit": "A",
            "text": "800",
            "file": "wren.ini",
            "line": 21,
            "column": 14,
            "converted": "mA to A",
        },
        {
            "quantity": "feeder.direction",
            "holder": "machine",
            "value": None,
            "unit": "",
            "text": "normal",
            "file": "wren.ini",
            "line": 15,
        },
        {
            "quantity": "retraction.length",
            "holder": "filament petg",
            "value": 6.0,
            "unit": "mm",
            "text": "6",
            "file": "petg.ini",
            "line": 3,
            "editable": False,
            "why_not": "which feeder it is of is not certain",
        },
        {
            "quantity": "retraction.length",
            "holder": "filament petg",
            "value": 6.5,
            "unit": "mm",
            "text": "6.5",
            "file": "petg.ini",
            "line": 2,
            "follows": True,
        },
    ],
    "protected": [
        {"quantity": "heater.hotend.max_temperature", "value": 275.0, "unit": "degC", "file": "wren.ini"}
    ],
    "unrecognised": [{"file": "wren.ini", "line": 40, "text": "odd key = 3", "nearest": ["lag.averaging"]}],
    "doubts": [
        {"file": "wren.ini", "line": 17, "column": 20, "text": "x", "why": "why it is", "remedy": "say it"}
    ],
}


def printed(show: Callable[[Console], None], width: int = 80, **options: Any) -> str:
    out = io.StringIO()
    show(Console(file=out, width=width, markup=False, emoji=False, highlight=False, **options))
    return out.getvalue()


def words_of(text: str) -> str:
    return re.sub(r"\s+", "", text)


def test_every_part_of_the_plan_is_there(wren: SimpleNamespace) -> None:
    plan: Plan = wren.plan
    text = words_of(printed(lambda console: show_full(plan, console), width=120))
    for card in cards_of(plan).all:
        assert [part for part in texts_of(card) if words_of(part) not in text] == []
    for left in plan.left_alone:
        assert words_of(left.why) in text


@pytest.mark.parametrize("width", [30, 60, 80, 200])
def test_no_line_is_wider_than_the_terminal(width: int, wren: SimpleNamespace) -> None:
    for show in (show_plan, show_full):
        for line in printed(lambda console, show=show: show(wren.plan, console), width).split("\n"):
            assert len(line) <= width or " " not in line.strip()


def test_into_a_pipe_there_is_no_colour(wren: SimpleNamespace) -> None:
    out = io.StringIO()
    show_plan(wren.plan, make_console(out))
    assert ESCAPE not in out.getvalue()


def test_where_colour_is_not_wanted_none_is_sent(
    wren: SimpleNamespace, monkeypatch: pytest.MonkeyPatch
) -> None:
    """https://no-color.org: NO_COLOR asks for no colour; bold and dim may stay."""
    monkeypatch.setenv("NO_COLOR", "1")
    monkeypatch.setenv("TERM", "xterm-256color")
    text = printed(lambda console: show_plan(wren.plan, console), force_terminal=True)
    codes = {code for found in re.findall(r"\x1b\[([\d;]*)m", text) for code in found.split(";")}
    assert codes <= {"", "0", "1", "2"}


def test_nothing_is_said_by_style_alone(wren: SimpleNamespace) -> None:
    plain = printed(lambda console: show_plan(wren.plan, console))
    styled = printed(lambda console: show_plan(wren.plan, console), force_terminal=True)
    assert re.sub(r"\x1b\[[\d;]*m", "", styled) == plain


def test_hostile_text_acts_on_nothing(hostile: SimpleNamespace) -> None:
    text = printed(lambda console: show_full(hostile.plan, console), width=100)
    acting = {"Cc", "Cf", "Cs", "Zl", "Zp"}
    assert not [letter for letter in text if unicodedata.category(letter) in acting and letter != "\n"]
    assert len(text) < 500_000


def test_brackets_and_colons_of_a_file_are_no_markup(all_hostile: SimpleNamespace) -> None:
    text = words_of(printed(lambda console: show_full(all_hostile.plan, console), width=200))
    assert "[red]rich[/red]" in text
    assert ":smile:" in text


def test_a_plan_without_changes_says_so(empty: Plan) -> None:
    assert "No values to change" in printed(lambda console: show_plan(empty, console))


def test_a_survey_says_what_was_understood_and_what_was_not() -> None:
    text = printed(lambda console: show_survey(SURVEY, console), width=120)
    for said in (
        "21 of 30",
        "0.8 A",
        "mA to A",
        "wren.ini:21:14",
        "normal",
        "275 °C",
        "odd key = 3",
        "lag.averaging",
    ):
        assert said in text
    assert "why it is" in text
    assert "say it" in text


def test_a_survey_stands_by_whose_value_it_is() -> None:
    text = printed(lambda console: show_survey(SURVEY, console), width=120)
    machine, filament = text.index("The machine"), text.index("Filament petg")
    assert machine < text.index("Feeder run current") < filament < text.index("petg.ini:3")
    assert "which feeder it is of is not certain" in text
    assert "6.5" not in text


def test_what_install_revert_and_history_say_is_inert_too() -> None:
    bad = "\x1b[2J\u202e[red]"
    install = {
        "already": False, "files": [bad], "installed": [bad], "held": [{"quantity": bad, "why": bad}],
        "notes": [bad], "written": True, "entry": 1, "root": bad, "recovered": None,
    }  # fmt: skip
    item = {"file": bad, "line": 3, "quantity": bad, "old": bad, "installed": bad, "present": bad, "why": bad}
    revert = {
        "restored": [item], "kept": [item], "left": [item], "conflicts": [item], "notes": [bad],
        "by_hand": [bad], "written": True, "entry": 2, "root": bad, "recovered": {"kind": bad},
    }  # fmt: skip
    entry = {"number": 1, "time": bad, "kind": bad, "files": [{"path": bad}], "values": [[bad, bad, bad]]}

    def show(console: Console) -> None:
        show_install(install, console, dry_run=False, packet=bad)
        show_revert(revert, console, dry_run=False)
        show_history({"entries": [entry], "problems": [bad]}, console)

    text = printed(show, width=120)
    assert ESCAPE not in text
    assert "\u202e" not in text
    assert text.count("[red]") >= 15


def test_a_revert_says_what_becomes_of_each_value_and_shows_edits_as_they_are() -> None:
    def item(quantity: str, old: str, installed: str, present: str | None, why: str) -> dict[str, object]:
        return {
            "file": "feed.txt", "line": 7, "quantity": quantity, "old": old, "installed": installed,
            "present": present, "why": why,
        }  # fmt: skip

    report = {
        "restored": [item("a.b", "1", "2", "2", "was as installed"), item("c.d", "3", "4", "5", "forced")],
        "kept": [
            item("", "", "speed = 3\n", "speed = 4\n", "edited since"),
            item("", "", "", "# mine\n", "edited since"),
            item("", "", "speed = 9\n", "", "edited since"),
            item("", "", "", None, "edited since"),
        ],
        "left": [item("e.f", "6", "7", "6", "is already as it was before")],
        "conflicts": [item("g.h", "8", "9", None, "not found now")],
        "notes": [], "by_hand": ["turn the screw back"], "written": False, "entry": 0, "root": "",
    }  # fmt: skip
    text = printed(lambda console: show_revert(report, console, dry_run=True), width=120)
    for said in (
        "feed.txt:7: a.b: 2 → 1\n", "feed.txt:7: c.d: 5 → 3, forced (installed: 4)",
        "was 'speed = 3', is 'speed = 4'", "added: '# mine'", "taken out: 'speed = 9'",
        "feed.txt:7: the file was taken away\n",
        "e.f: stays 6 (before: 6, installed: 7); is already as it was before",
        "g.h: before: 8, installed: 9; not found now", "turn the screw back",
    ):  # fmt: skip
        assert said in text
    assert "None" not in text


def test_names_stand_whole_in_a_survey_and_a_comparison_of_a_usual_terminal() -> None:
    def reading(file: str) -> dict[str, object]:
        return {"value": 600.0, "unit": "mm", "text": "600", "file": file, "line": 11, "column": 18}

    said = {"quantity": "feeder.max_feed_length", "holder": "machine", **reading("parts/rings/feeder.conf")}
    survey = {"files": [], "readings": [said]}
    text = printed(lambda console: show_survey(survey, console), width=80)
    assert "Longest single feed" in text and "parts/rings/feeder.conf:11:18" in text
    assert "600 mm" in text and "converted" not in text
    said |= {**reading("plastics/tough black (outdoors, in the sun).txt"), "converted": "mm / 10"}
    assert "600 mm" in printed(
        lambda console: show_survey({"files": [], "readings": [said]}, console), width=80
    )
    found = {
        "differences": [
            {
                "quantity": "feeder.max_feed_length", "unit": "mm", "protected": False,
                "old": reading("parts/rings/feeder.conf"), "new": reading("parts/rings/feeder.conf"),
            }
        ],
        "only_old": [], "only_new": [], "same": 0,
    }  # fmt: skip
    shown = printed(lambda console: show_comparison(found, console), width=80)
    assert all(word in shown.split() for word in ("Longest", "single", "feed"))


def test_a_revert_with_nothing_to_give_back_is_not_headed_as_one() -> None:
    nothing: dict[str, list[str]] = {"restored": [], "conflicts": []}
    assert reverted_heading(nothing, dry_run=False) == "Nothing to revert"
    assert reverted_heading({**nothing, "restored": ["C1"]}, dry_run=False) == "Reverted"


def test_what_stays_because_it_was_asked_is_headed_so() -> None:
    value = {"quantity": "a", "why": KEPT_AS_ASKED}
    edit = {"quantity": "", "why": "edited since"}
    asked: dict[str, list[dict[str, str]]] = {"restored": [], "conflicts": [], "kept": [value]}
    assert reverted_heading(asked, dry_run=False) == "Nothing reverted, as you asked"
    assert kept_heading(asked) == "Kept, as you asked"
    assert kept_heading({"kept": [value, edit]}) == "Kept, as you asked, and edits made since"
    assert kept_heading({"kept": [edit]}) == "Kept: edits made since"


def test_what_forces_a_value_is_told_in_full() -> None:
    conflicts = [{"id": "a.b @ feeder 2", "quantity": "a.b"}, {"quantity": "c"}]
    assert answers_to(conflicts).endswith("in full: --force 'a.b @ feeder 2' --force c")

"""The machine's record shows what the history has, and says what the history lacks."""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.reports.record import in_force, render_html, render_markdown, steps_of
from cfgmigrate.store.entries import HistoryEntry
from cfgmigrate.store.history import History

CHANGE = {
    "quantity": "lag.coefficient", "label": "lag coefficient", "unit": "s", "status": "measured", "way": "best value",
    "old": "0.052", "new": "0.048", "value": 0.048, "uncertainty": 0.003, "places": ["feed.conf:39"], "says": "By a test.",
    "formula": "measured.lag.best", "substituted": "0.048 s", "source": "measured", "warnings": [], "verify": "A cube.",
    "verdict": "accepted", "note": "<b>looked at</b> the cube",
}  # fmt: skip
REASONS = {
    "prepared_by": "a ringer", "reviewer": "A. Heron", "reviewed": "2031-05-04T10:11:12Z", "said": [], "changes": [CHANGE],
    "by_hand": [{"what": "Turn the screw", "text": "", "why": "", "verdict": "", "note": ""}], "doubts": ["feed.conf:3: why"],
}  # fmt: skip


def entry(number: int, kind: str, old: str, new: str, **more: object) -> HistoryEntry:
    values = (("lag.coefficient", old, new),)
    return HistoryEntry(
        number,
        kind,
        f"2031-05-0{number}T08:00:00Z",
        f"packet{min(number, 2)}",
        "Wren",
        (),
        values,
        "",
        **more,
    )  # type: ignore[arg-type]


HISTORY = History(
    (
        entry(1, "install", "0.46", "0.052"),
        entry(2, "tune", "0.052", "0.048", reasons=REASONS),
        entry(3, "revert", "0.048", "0.052"),
    )
)


def test_each_step_has_its_values_and_people() -> None:
    first, second, third = steps_of(HISTORY)
    assert (first.title, first.people, first.values[0].calculation) == ("Installed", "", None)
    assert "reviewed by A. Heron" in second.people
    assert second.values[0].how_sure == "measured ± 0.003 s"
    assert second.values[0].verdict.startswith("accepted: ")
    assert third.title == "Reverted: step 2"


def test_a_value_that_stands_in_two_places_is_told_once() -> None:
    twice = replace(entry(1, "install", "318", "306"), values=(("axis.z.max", "318", "306"),) * 2)
    assert [card.new for card in steps_of(History((twice,)))[0].values] == ["306"]


def test_the_values_in_force_are_those_of_the_last_step_that_touched_them() -> None:
    assert in_force(steps_of(HISTORY)) == (("Lag coefficient", "0.052", "", 3),)


def test_a_value_that_had_another_name_in_an_earlier_step_is_listed_once() -> None:
    first, second = HISTORY.entries[0], HISTORY.entries[1]
    renamed = History(
        (
            replace(first, values=(("lag.smoothing @ feeder 2", "0.046", "0.03"),)),
            replace(second, values=(("lag.averaging @ feeder 2", "0.03", "0.028"),), reasons=None),
        )
    )
    assert [title for title, *_ in in_force(steps_of(renamed))] == ["Lag averaging time @ feeder 2"]


def test_what_a_reviewer_wrote_is_never_markup() -> None:
    assert "<b>" not in render_html(HISTORY, "wren")
    assert "\\<b>" in render_markdown(HISTORY, "wren")


def test_a_broken_history_says_so_first() -> None:
    broken = History(
        (entry(1, "install", "1", "2", problem="it was changed after it was written"),), ("entry 1: changed",)
    )
    for text in (render_markdown(broken, "wren"), render_html(broken, "wren")):
        assert "does not hold" in text and "trusted" in text.replace("&#39;", "'")


def test_an_empty_history_is_a_record_without_steps() -> None:
    assert "No steps" in render_markdown(History(()), "wren")

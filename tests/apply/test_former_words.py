"""What an earlier release wrote into the history is held against what this one says by the names of now."""

from __future__ import annotations

from cfgmigrate.apply.former_words import in_present_words
from cfgmigrate.plan.edits import Span
from cfgmigrate.store.entries import EntryFile, HistoryEntry
from cfgmigrate.store.history import History

NAME, NOW = "feeder.rotation_distance @ feeder 2", "feeder.feed_per_turn @ feeder 2"
SAID = [["new.rotation_distance", "5.1 mm"], ["new.tube.length", "40 mm"]]


def test_values_causes_and_what_was_held_are_called_as_now_and_all_else_stays() -> None:
    held = {
        "why": {NAME: "it oozes"},
        "files": [{"path": "feed.conf", "after": "x", "spans": [[NAME, 1, 2, 1, 2]]}],
    }
    change = {"id": NAME, "quantity": "feeder.rotation_distance", "cause": SAID[:1], "label": "feed per turn"}
    reasons = {"said": SAID, "changes": [change], "held": held, "inputs": ["feed.conf"]}
    files = (EntryFile("feed.conf", "flat", "a", "b", (Span(NAME, 1, 2, 1, 2),)),)
    entry = HistoryEntry(
        1, "install", "", "p", "Wren", files, ((NAME, "23", "5.1"),), "", "hash", "", reasons
    )

    (found,) = in_present_words(History((entry,))).entries
    assert [span.name for file in found.files for span in file.spans] == [NOW]
    assert found.reasons == {
        "said": [["new.feed_per_turn", "5.1 mm"], ["new.tube.length", "40 mm"]],
        "changes": [
            {"id": NOW, "quantity": "feeder.feed_per_turn", "cause": [["new.feed_per_turn", "5.1 mm"]], "label": "feed per turn"}
        ],
        "held": {
            "why": {NOW: "it oozes"}, "files": [{"path": "feed.conf", "after": "x", "spans": [[NOW, 1, 2, 1, 2]]}]
        },
        "inputs": ["feed.conf"],
    }  # fmt: skip
    assert (found.hash, found.values) == (entry.hash, ((NOW, "23", "5.1"),))


def test_an_entry_that_kept_no_reasons_has_none() -> None:
    entry = HistoryEntry(1, "install", "", "p", "Wren", (), (), "")
    assert in_present_words(History((entry,))).entries == (entry,)


def test_what_an_entry_did_not_keep_is_not_added() -> None:
    for reasons in (
        {"done": ["1"]},
        {"changes": [{"label": "feed per turn"}]},
        {"held": {}},
        {"held": {"why": {}}},
    ):
        entry = HistoryEntry(1, "install", "", "p", "Wren", (), (), "", reasons=reasons)
        (found,) = in_present_words(History((entry,))).entries
        told = {key: value for key, value in (found.reasons or {}).items() if key != "held"}
        assert told == {key: value for key, value in reasons.items() if key != "held"}

"""What is left of a plan for the old machine, where files hold a part of it already."""

from __future__ import annotations

from typing import Any

import packetbench as kit
import pytest
from msgspec.structs import replace

from cfgmigrate.apply.prior_installs import Earlier
from cfgmigrate.apply.remaining import _meets, _with_edits, another_sheet, the_rest
from cfgmigrate.ground.findings import Place
from cfgmigrate.plan.basis import Install, Lost, TakenOver
from cfgmigrate.plan.model import Change, Edit, Light, NewValue, OldValue, Plan
from cfgmigrate.rules.result import Derivation, Input
from cfgmigrate.store.entries import HistoryEntry

OLD = {"flow.conf": b"lag.coefficient 0.55\nretract.length=5.4\n; the end\n"}
ENTRY = Install(1, "ab" * 32)


def length(new: str = "0.6", depends: tuple[str, ...] = ()) -> Change:
    change = kit.move(OLD, "retraction.length", "flow.conf", b"retract.length=<5.4>", new, depends)
    return replace(change, new=NewValue(float(new), 0.0, new))


def lag() -> Change:
    return kit.move(OLD, "lag.coefficient", "flow.conf", b"lag.coefficient <0.55>", "0.04")


def met(present: str, installed: str | None) -> tuple[dict[str, bytes], Earlier]:
    """The files with `present` where the length stood, and that an install put `installed` there (None: held it)."""
    old = OLD["flow.conf"]
    start = old.index(b"5.4")
    there = {"flow.conf": old.replace(b"5.4", present.encode())}
    end = start + len(present)
    taken = TakenOver("flow.conf", start, end, start, start + 3, present, installed, ENTRY)
    return there, Earlier((ENTRY,), OLD, {"flow.conf": (taken,)}, {})


def rest(change: Change, present: str, installed: str | None) -> Plan:
    there, earlier = met(present, installed)
    return the_rest(kit.plan_for(OLD, (lag(), change)), earlier, there)


def test_what_was_installed_is_not_made_again_and_the_rest_moves_along() -> None:
    plan = rest(length(), "0.60", "0.60")
    assert [change.id for change in plan.changes] == ["lag.coefficient"]
    (left,) = plan.left_alone
    assert left.quantity == "retraction.length" and left.why.startswith("installed already by packet abab")
    assert left.why.endswith("'0.60' stands at flow.conf:2")
    assert plan.rest_of == (ENTRY.packet,)


def test_what_is_left_is_made_where_it_stands_now() -> None:
    """The value before it has more digits since the install."""
    end = kit.move(OLD, "lag.coefficient", "flow.conf", b"; the <end>", "rim")
    there, earlier = met("0.6000", "0.6000")
    plan = the_rest(kit.plan_for(OLD, (end, length())), earlier, there)
    ((edit,),) = (change.edits for change in plan.changes)
    assert there["flow.conf"][edit.start : edit.end] == b"end"


def test_what_was_held_back_and_edited_since_is_kept() -> None:
    (left,) = rest(length(), "1.2", None).left_alone
    assert left.why.startswith("held back by") and "is kept" in left.why


def test_what_was_installed_and_edited_since_is_kept() -> None:
    (left,) = rest(length(), "0.7", "0.6").left_alone
    assert "and changed since" in left.why and "'0.7'" in left.why


def test_what_was_installed_and_comes_to_something_else_now_is_written_over() -> None:
    for new in ("0.9", "0"):
        plan = rest(length(new), "0.60", "0.60")
        change = next(each for each in plan.changes if each.id == "retraction.length")
        (edit,) = change.edits
        assert (edit.old, edit.new, edit.line) == ("0.60", new, 2)
        assert change.old is not None and change.old.text == "0.60"
        assert not plan.left_alone


def test_what_stands_elsewhere_now_is_not_made_and_neither_is_what_rests_on_it() -> None:
    lost = {
        "path.give": Lost("path.give", "tube.conf", "0.3", ENTRY),
        "lag.coefficient": Lost("", "x", "1", ENTRY),
    }
    plan = kit.plan_for(OLD, (lag(), length(depends=("path.give",))))
    found = the_rest(plan, Earlier((ENTRY,), OLD, {}, lost), OLD)
    assert not found.changes
    whys = {left.quantity: left.why for left in found.left_alone}
    assert "moved since" in whys["lag.coefficient"]
    assert (
        whys["retraction.length"] == "it rests on path.give, which was installed in tube.conf and moved since"
    )


def test_a_reason_says_which_of_its_numbers_stood_there_before() -> None:
    def given(origin: str) -> Input:
        return Input("was.retraction.length", "", 5.4, "mm", 0.0, origin)

    inputs = (given("flow.conf:2"), given("flow.conf:1"))
    change = replace(lag(), derivation=Derivation("given", "given", inputs, "made up"))
    there, earlier = met("0.6", "0.6")
    (found, *_) = the_rest(kit.plan_for(OLD, (change,)), earlier, there).changes
    assert found.derivation is not None
    origins = [each.origin for each in found.derivation.inputs]
    assert origins == ["flow.conf:2, before packet abababababab (entry 1 of the history)", "flow.conf:1"]


def test_where_nothing_was_known_of_the_old_value_nothing_is_made_up() -> None:
    there, earlier = met("0.6", "0.6")
    (found, *_) = the_rest(kit.plan_for(OLD, (replace(lag(), old=None),)), earlier, there).changes
    assert found.old is None


@pytest.mark.parametrize(
    ("present", "installed", "state"),
    [
        ("5.4", None, "set"),  # held back, and to be made now
        ("0.6", "0.6", "set"),
        ("0.62", "0.6", "set"),  # tuned a little
        ("4.9", None, "unknown"),  # held back, edited since, and old still
        ("5.0", "0.6", "unknown"),  # put back by hand
        ("off", "0.6", "unknown"),
        ("3:5", "0.6", "unknown"),
    ],
)
def test_a_light_is_set_only_where_what_stays_is_what_the_swap_comes_to(
    present: str, installed: str | None, state: str
) -> None:
    there, earlier = met(present, installed)
    if present == "5.4":
        earlier = replace(earlier, taken={})  # nobody touched it: there is nothing to take back
    retraction = Light("retraction", "machine", "set", "is written", rests_on=("retraction.length",))
    plan = replace(kit.plan_for(OLD, (lag(), length())), lights=(retraction,))
    (light,) = the_rest(plan, earlier, there).lights
    assert light.state == state
    assert (state == "unknown") == ("another value stays as it is: retraction.length" in light.why)


def test_a_light_whose_value_stands_elsewhere_now_is_unknown() -> None:
    lost = {"retraction.length": Lost("retraction.length", "tube.conf", "0.3", ENTRY)}
    retraction = Light("retraction", "machine", "set", "is written", rests_on=("retraction.length",))
    plan = replace(kit.plan_for(OLD, (length(),)), lights=(retraction,))
    (light,) = the_rest(plan, Earlier((ENTRY,), OLD, {}, lost), OLD).lights
    assert light.state == "unknown"


@pytest.mark.parametrize(
    ("start", "end", "meets"),
    [(5, 9, True), (4, 6, True), (8, 12, True), (4, 12, True), (6, 7, True), (3, 5, False), (9, 11, False)],
)
def test_an_edit_meets_what_it_shares_a_byte_with(start: int, end: int, meets: bool) -> None:
    taken = TakenOver("flow.conf", 0, 4, 5, 9, "5.4", "0.6", ENTRY)
    assert _meets(taken, Edit("flow.conf", 1, 1, start, end, "", "")) is meets


def test_two_empty_places_meet_where_they_are_the_same() -> None:
    taken = TakenOver("flow.conf", 5, 5, 5, 5, "", "", ENTRY)
    assert _meets(taken, Edit("flow.conf", 1, 1, 5, 5, "", "1"))
    assert not _meets(taken, Edit("flow.conf", 1, 1, 6, 6, "", "1"))


@pytest.mark.parametrize(("text", "known"), [("5.4", 5.4), ("5.9", None)])
def test_an_old_value_is_known_at_another_line_and_not_by_another_text(
    text: str, known: float | None
) -> None:
    change = replace(length(), old=OldValue(5.4, "5.4", "flow.conf", 2))
    moved = replace(change.edits[0], line=7, old=text)
    assert _with_edits(change, [moved]).old == OldValue(known, text, "flow.conf", 7)
    assert _with_edits(change, [change.edits[0]]).old == change.old


@pytest.mark.parametrize(
    ("reasons", "said"), [({"held": {"why": ["feed", "height"]}}, "(feed, height)"), (None, "()")]
)
def test_a_further_sheet_is_told_why_the_last_install_held_values_back(reasons: Any, said: str) -> None:
    entry = HistoryEntry(3, "install", "", "ab" * 32, "Wren", (), (), "", reasons=reasons)
    doubt = another_sheet(entry, "swap.yaml")
    assert said in doubt.why and "entry 3" in doubt.why
    assert doubt.place == Place("swap.yaml") and "--rest" in doubt.remedy

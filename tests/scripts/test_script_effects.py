"""What a swap does to scripts, and that nothing else in them moves.

The lines are word-address lines as in RS-274 (NISTIR 6556). The checks on whole scripts come from a simulator of
their own below, which shares no code with the reader: it splits lines at blanks and keeps two modes.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scriptbench import FRAME, NEW, OLD, TUBES, lower, result, shorten, swap

from cfgmigrate.packet.recompute import recompute
from cfgmigrate.scripts import effects
from cfgmigrate.scripts.feeds import FeedWay, Path


def test_every_value_comes_out_again_by_the_second_way() -> None:
    found = lower("G90\nG1 Z255\nG1 Z254.5\n")
    assert recompute(found.plan.to_json()) == []
    fed = shorten("M83\nG1 E385 F3000\n")
    assert recompute(fed.plan.to_json()) == []


def test_a_stretch_of_feeds_is_one_question_with_what_each_part_is_too_long_for() -> None:
    """Three feeds without another move between, made for a path of 410 mm; one by itself that is too long."""
    frame = FRAME + "\n[feeder]\nlongest feed move = 520\n"
    found = swap(
        "G91\nM83\nG1 E190\nG1 E160\nG1 E70\nG1 Z5\nG1 E130\n",
        result("", 410, "path.length_old"),
        result("", 86, "path.length_new"),
        result("feeder.max_feed_length", 120),
        sheet=TUBES,
        name="script load",
        frame=frame,
    )
    stretch, alone = found.doubts()
    assert stretch.startswith("5: ") and "3 feeds" in stretch
    assert "; line 6: this feeds 160 mm in one move" in stretch and "line 7" not in stretch
    assert alone.startswith("9: this feeds 130 mm in one move")


@pytest.mark.parametrize(
    ("ways", "certain"),
    [(((400, 40), (400, 40)), True), (((400, 40), (500, 40)), False), (((400, 40), None), False)],
)
def test_a_move_of_either_feeder_has_a_certain_path_only_where_both_have_the_same(
    monkeypatch: pytest.MonkeyPatch, ways: tuple[tuple[float, float] | None, ...], certain: bool
) -> None:
    paths = [each and Path(*each, ("old", "new"), ()) for each in ways]
    monkeypatch.setattr(effects, "path_of", lambda outcome, sheet: paths[outcome])
    monkeypatch.setattr(effects, "first_tool", lambda machine: 0)
    machine, sheet, script = (
        SimpleNamespace(feeders=(1, 2)), SimpleNamespace(), SimpleNamespace(feeders_at=lambda move, first: (1, 2))
    )  # fmt: skip
    told: Any = (machine, FeedWay(None, sheet), {1: (0, sheet), 2: (1, sheet)})  # type: ignore[arg-type]
    found = effects._ways(*told)(*cast(Any, (script, None)))
    assert found.path == paths[0] and found.certain is certain


NUMBERS = st.integers(-50, 300) | st.floats(-50, 300).map(lambda value: round(value, 2))
WORDS = st.tuples(st.sampled_from("XYZZZE"), NUMBERS)


@st.composite
def lines(draw: st.DrawFn) -> str:
    """One line of a script; each of its letters stands in it once."""
    kind = draw(st.sampled_from(["move", "move", "move", "mode", "other"]))
    if kind == "mode":
        return draw(st.sampled_from(["G90", "G91", "M82", "M83", "G92 E0"]))
    if kind == "other":
        return draw(st.sampled_from(["G28", "M104 S200", "; G1 Z255", "G4 P50", "M84", "", "park_head"]))
    words = dict(draw(st.lists(WORDS, min_size=1, max_size=3)))
    gap = draw(st.sampled_from(["", " "]))
    shown = draw(st.sampled_from(["{:g}", "{:.2f}"]))
    text = draw(st.sampled_from(["G1", "g0", "G01"]))
    text += "".join(f" {letter}{gap}{shown.format(number)}" for letter, number in words.items())
    return text + draw(st.sampled_from(["", " ; Z299", " F600"]))


def simulated(script: str, top: float) -> tuple[str, float]:
    """The script with every certain move above `top` (up to `OLD`) sent to it, and the highest absolute z."""
    absolute: bool | None = None
    out, highest = [], -1e9
    for line in script.split("\n"):
        code = line.partition(";")[0].split()
        if code and code[0] in ("G90", "G91"):
            absolute = code[0] == "G90"
        if code and code[0] == "park_head":
            absolute = None
        if code and code[0].upper() in ("G1", "G0", "G01") and absolute:
            joined = line.partition(";")[0].replace("Z ", "Z")
            number = next((word[1:] for word in joined.split() if word[0] == "Z"), None)
            if number is not None and top < float(number) <= OLD:
                decimals = len(number.partition(".")[2])
                line = line.replace(f"Z{number}", f"Z{top:.{decimals}f}", 1)
                line = line.replace(f"Z {number}", f"Z {top:.{decimals}f}", 1)
                number = str(top)
            if number is not None and float(number) <= OLD:
                highest = max(highest, float(number))
        out.append(line)
    return "\n".join(out), highest


@given(st.lists(lines(), min_size=1, max_size=12))
def test_after_the_swap_no_absolute_move_exceeds_the_limit_and_no_other_byte_has_changed(
    script: list[str],
) -> None:
    text = "\n".join(script)
    found = lower(text)
    wanted, highest = simulated(found.before, NEW)
    assert found.after == wanted
    assert highest <= NEW


@given(st.lists(lines(), min_size=1, max_size=12))
def test_a_second_swap_changes_nothing(script: list[str]) -> None:
    once = lower("\n".join(script))
    own_lines = "\n".join(line.strip() for line in once.after.splitlines()[2:])
    assert not lower(own_lines).changed()

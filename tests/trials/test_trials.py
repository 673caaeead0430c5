"""Test scripts read back from outside: every move within the limits, every length and volume recomputed.

The lines are parsed by `gcodeparser` (PyPI), which shares nothing with this project; positions, lengths and
filament are then worked out here from the words alone. RS-274 (NISTIR 6556): G0, G1, G4, G21, G28, G90, G91, G92
and M0; M83, M84, M104, M109, M140 and M190 are common practice, no source.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import gcodeparser
import pytest
from msgspec.structs import replace
from rulebench import machine_of, sheet_of

from cfgmigrate import api
from cfgmigrate.dialects import read as read_document
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.machine.model import Machine
from cfgmigrate.reports.trial_page import render_trial
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.trials import TRIALS, Wishes, Written, bench_of
from cfgmigrate.trials.writer import CAUTIONS

LIMITS = {"x": (-3.0, 245.0), "y": (-6.0, 232.0), "z": (-2.0, 249.0)}
FILES = {
    **{f"was.axis.{axis}.{end}": str(value) for axis, ends in LIMITS.items() for end, value in zip(("min", "max"), ends, strict=True)},
    "was.filament.diameter": "1.75",
    "was.nozzle.diameter": "0.4",
    "was.feeder.max_speed": "70",
    "was.feeder.max_feed_length": "60",
    "was.feeder.min_feed_temperature": "172",
    "was.heater.hotend.max_temperature": "275",
    "was.heater.bed.max_temperature": "110",
    "was.retraction.length": "0.5",
    "was.retraction.speed": "30",
    "was.retraction.return_speed": "25",
    "was.lag.coefficient": "0.05",
    "was.axis.z.max_speed": "14",
    "was.machine.max_speed": "200",
}  # fmt: skip
SHARED = {
    "G0",
    "G1",
    "G4",
    "G21",
    "G28",
    "G90",
    "G91",
    "G92",
    "M82",
    "M83",
    "M84",
    "M104",
    "M109",
    "M140",
    "M190",
    "M0",
}
AREA = math.pi * 1.75**2 / 4
HOT = Wishes(nozzle=210, bed=60)
HOTS = [name for name in TRIALS if name != "clearance"]


@dataclass(frozen=True)
class Move:
    """One move as read back: from and to in mm (None: not known yet), filament in mm, speed in mm/s."""

    start: tuple[float | None, ...]
    end: tuple[float | None, ...]
    feed: float
    speed: float

    @property
    def length(self) -> float:
        return math.dist([at or 0.0 for at in self.start], [at or 0.0 for at in self.end])


def machine(**other: str) -> Machine:
    files = {**FILES, **{f"was.{name.replace('__', '.')}": value for name, value in other.items()}}
    return machine_of({name: value for name, value in files.items() if value})


@lru_cache(maxsize=16)
def written(name: str, wishes: Wishes = HOT) -> Written:
    return TRIALS[name].write(bench_of(machine(), None, wishes, "Wren"))


@lru_cache(maxsize=16)
def codes(name: str, wishes: Wishes = HOT) -> tuple[tuple[str, dict[str, float]], ...]:
    """What the other parser makes of the file: each line's code with its words."""
    with warnings.catch_warnings():  # the parser calls this entry deprecated from some release on
        warnings.simplefilter("ignore")
        lines = gcodeparser.GcodeParser(written(name, wishes).text).lines
    return tuple((f"{line.command[0]}{line.command[1]}", dict(line.params)) for line in lines)


@lru_cache(maxsize=16)
def moves(name: str, wishes: Wishes = HOT) -> tuple[Move, ...]:
    return tuple(_moves(codes(name, wishes)))


def _moves(lines: tuple[tuple[str, dict[str, float]], ...]) -> Iterator[Move]:
    at: tuple[float | None, ...] = (None, None, None)
    for code, words in lines:
        if code in ("G0", "G1"):
            goal = tuple(words.get(axis, old) for axis, old in zip("XYZ", at, strict=True))
            yield Move(at, goal, words.get("E", 0.0), words["F"] / 60)
            at = goal


def off_the_edge(found: tuple[Move, ...]) -> list[Move]:
    """The moves of the test itself, without the priming line beside it."""
    return [move for move in found if move.end[0] != LIMITS["x"][0] + 3]


@pytest.mark.parametrize("name", TRIALS)
def test_only_codes_that_are_shared_stand_in_a_script(name: str) -> None:
    assert {code for code, _ in codes(name)} <= SHARED
    for line in written(name).text.splitlines():
        assert line.startswith(";") or line.partition(" ")[0] in SHARED


@pytest.mark.parametrize("name", ["feed", "retraction"])
def test_where_another_axis_moves_the_filament_its_places_add_up_to_the_same_feeds(name: str) -> None:
    """A, as a further axis of RS-274, is absolute under G90."""
    text = TRIALS[name].write(bench_of(machine(), None, HOT, "Wren", "A")).text
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        lines = gcodeparser.GcodeParser(text).lines
    words = [dict(line.params) for line in lines]
    assert not any("E" in each for each in words) and "M83" not in text
    places = [each["A"] for each in words if "A" in each]
    assert places[0] == 0.0
    fed = [move.feed for move in moves(name) if move.feed]
    assert [b - a for a, b in pairwise(places)] == pytest.approx(fed, abs=2e-5)


@pytest.mark.parametrize("name", TRIALS)
def test_a_script_begins_with_its_cautions_before_any_word(name: str) -> None:
    head = written(name).text.partition("\nG21")[0]
    assert all(line.startswith(";") for line in head.splitlines())
    assert head.count("CAUTION") == len(CAUTIONS) >= 3
    assert written(name).text.isascii()


@pytest.mark.parametrize("name", TRIALS)
def test_every_move_stays_within_the_limits_and_the_speeds(name: str) -> None:
    assert moves(name)
    for move in moves(name):
        for (low, high), value in zip(LIMITS.values(), move.end, strict=True):
            assert value is None or low <= value <= high
        if move.end[2] != move.start[2] and move.end[:2] == move.start[:2]:
            assert move.speed <= 14
        assert move.speed <= 200


@pytest.mark.parametrize("name", TRIALS)
def test_it_is_homed_and_lifted_before_anything_goes_sideways(name: str) -> None:
    order = [code for code, _ in codes(name)]
    assert order.index("G28") < order.index("G0")
    assert order.index("G90") < order.index("G0")
    first = next(move for move in moves(name))
    assert first.end[0] is None and (first.end[2] or 0) > 0


@pytest.mark.parametrize("name", TRIALS)
def test_the_file_and_the_moves_that_are_drawn_are_the_same(name: str) -> None:
    drawn = written(name).segments
    assert len(drawn) == len(moves(name))
    for one, move in zip(drawn, moves(name), strict=True):
        assert one.feed == pytest.approx(move.feed)
        for had, read in zip(one.end, move.end, strict=True):
            assert math.isnan(had) if read is None else had == pytest.approx(read)


@pytest.mark.parametrize("name", HOTS)
def test_heaters_are_on_before_filament_moves_and_off_at_the_end(name: str) -> None:
    order = list(codes(name))
    first_feed = next(index for index, (code, words) in enumerate(order) if code == "G1" and "E" in words)
    waits = [index for index, (code, words) in enumerate(order) if code == "M109" and words["S"] == 210]
    assert waits and waits[0] < first_feed
    for code in ("M104", "M140"):
        assert [words["S"] for found, words in order if found == code][-1] == 0
    assert "M83" in [code for code, _ in order[:first_feed]]


@pytest.mark.parametrize("name", HOTS)
def test_no_feed_is_longer_or_faster_than_the_feeder_may(name: str) -> None:
    for move in moves(name):
        if move.feed and move.length == 0:
            assert abs(move.feed) <= 60 and move.speed <= 70
        elif move.feed:
            assert move.feed / move.length * move.speed <= 70


@pytest.mark.parametrize("name", ["cylinder", "lag", "retraction"])
def test_the_volume_laid_down_is_that_of_the_bead(name: str) -> None:
    # 0.44 mm wide (1.1 nozzles), 0.2 mm high (half a nozzle)
    laid = [move for move in off_the_edge(moves(name)) if move.feed > 0 and move.length > 0]
    growing = 90 if name == "cylinder" else 0  # the first turn of the spiral grows from nothing
    flat = [move for move in laid if move.end[2] == move.start[2]]
    for move in flat:
        assert move.feed * AREA == pytest.approx(0.44 * 0.2 * move.length, abs=2e-5 * AREA + 1e-3 * move.feed)
    rising = [move for move in laid if move.end[2] != move.start[2]]
    assert bool(rising) == (name == "cylinder")
    volume = sum(move.feed for move in rising[growing:]) * AREA
    assert volume == pytest.approx(0.44 * 0.2 * sum(move.length for move in rising[growing:]), rel=1e-3)


# --- each trial ------------------------------------------------------------------------------------------------


def test_feed_asks_for_five_times_a_hundred_millimetres_in_parts_the_machine_takes() -> None:
    fed = [move.feed for move in moves("feed") if move.feed]
    assert sum(fed) == pytest.approx(510)
    assert fed == [10.0] + [50.0] * 10  # the longest single feed is 60 mm
    assert [code for code, _ in codes("feed")].count("M0") == 7  # cold, before each and after the last
    assert {move.speed for move in moves("feed") if move.feed} == {1.0}


def test_clearance_is_cold_and_stops_after_each_step_up_to_the_limit() -> None:
    order = [code for code, _ in codes("clearance", Wishes())]
    assert not set(order) & {"M104", "M109", "M140", "M190", "G1"}
    heights = [move.end[2] for move in moves("clearance", Wishes()) if move.end[:2] == move.start[:2]]
    stopped, heights = heights[:-1], [height for height in heights[:-1] if (height or 0) >= 249 - 40]
    assert heights[0] == 249 - 40 and heights[-1] == 249
    assert all(0 < (b or 0) - (a or 0) <= 2 for a, b in pairwise(heights))
    assert all((b or 0) - (a or 0) <= 1 for a, b in pairwise(heights) if (b or 0) > 240)
    assert order.count("M0") == len(stopped)
    stops = [
        line for line in written("clearance", Wishes()).text.splitlines() if "go on only if the gap" in line
    ]
    assert len(stops) == len(stopped) - 1 and "stop 1 of" in stops[0] and "the next 20 mm" in stops[0]
    assert "the next 2 mm" in stops[-(len(heights) - 1)]
    assert (
        max(
            move.speed
            for move in moves("clearance", Wishes())
            if (move.end[2] or 0) > 20 and move.end[:2] == move.start[:2]
        )
        <= 2
    )


def test_a_cylinder_has_no_retraction_at_all_and_never_stops_feeding() -> None:
    assert all(move.feed >= 0 for move in moves("cylinder"))
    spiral = [move for move in moves("cylinder") if move.feed and move.end[2] != move.start[2]]
    x = [move.end[0] for move in off_the_edge(moves("cylinder")) if move.feed and move.end[0] is not None]
    centre = (min(x) + max(x)) / 2
    assert max(x) - centre == pytest.approx(25 + 6 * 0.44, abs=1e-3)  # six rings hold the first layer
    assert all(b.start == a.end for a, b in pairwise(spiral))
    assert spiral[-1].end[2] == pytest.approx(60, abs=0.2)
    y = [move.end[1] for move in spiral if move.end[1] is not None]
    middle = (min(y) + max(y)) / 2
    for move in spiral:
        assert math.dist((centre, middle), (move.end[0] or 0, move.end[1] or 0)) == pytest.approx(
            25, abs=5e-3
        )


def test_the_tower_has_two_posts_and_retracts_by_its_band() -> None:
    wishes = Wishes(nozzle=210, bed=60, start=0.0, step=0.1, count=5, height=4.0)
    found = moves("retraction", wishes)
    by_band: dict[int, set[float]] = {}
    for move in found:
        if move.feed < 0:
            band = math.ceil((move.end[2] or 0) / 4.0 - 1e-9)
            by_band.setdefault(band, set()).add(round(-move.feed, 5))
    assert by_band == {2: {0.1}, 3: {0.2}, 4: {0.3}, 5: {0.4}}
    laid = [move for move in off_the_edge(found) if move.feed > 0 and move.length]
    assert max(move.end[2] or 0 for move in laid) == pytest.approx(20)
    right = [move for move in laid if (move.end[0] or 0) > 121]
    assert sum(move.feed for move in right) == pytest.approx(sum(move.feed for move in laid) / 2, rel=1e-3)
    # what is drawn back is pushed forth again, the last time as well
    moved = [move.feed for move in found if move.length == 0 and move.feed]
    assert sum(moved) == pytest.approx(0, abs=1e-9)


def joints(found: tuple[Move, ...]) -> dict[float, list[tuple[Move, Move]]]:
    """Per wall of a lag test, by its y: each pair of moves that meet at the joint, above the foot."""
    walls: dict[float, list[tuple[Move, Move]]] = {}
    for one, two in pairwise(found):
        both = one.feed > 0 and two.feed > 0 and one.length and two.length
        if both and (one.end[2] or 0) > 0.3 and round(one.speed) != round(two.speed):
            walls.setdefault(one.end[1] or 0.0, []).append((one, two))
    return walls


def test_the_lag_test_has_a_wall_for_each_value_laid_over_its_joint_both_ways() -> None:
    walls = joints(moves("lag"))
    assert len(walls) == 11
    for met in walls.values():
        assert [(round(one.speed), round(two.speed)) for one, two in met] == [(85, 18), (18, 85)] * 3
        assert len({one.end[0] for one, _ in met}) == 1
    lengths = {round((one.end[0] or 0) - (two.end[0] or 0)) for met in walls.values() for one, two in met[:1]}
    assert lengths == {16, 22}  # every fifth wall is 6 mm longer
    remarks = [line for line in written("lag").text.splitlines() if "set the lag coefficient to" in line]
    # the lag in force is 0.05 s: eleven walls from 0 to 0.1 s
    assert [float(line.split(" to ")[1].split()[0]) for line in remarks] == pytest.approx(
        [0.01 * index for index in range(11)]
    )


@pytest.mark.parametrize("lag", [0.023, 0.05, 0.077])
def test_the_sides_of_a_joint_are_alike_in_the_wall_whose_coefficient_is_the_lag(lag: float) -> None:
    """Flow behind feed as a first-order lag, made up for by coefficient times the feed's rate of change: behind a
    step of speed from u to v the bead is 1 + (coefficient / lag - 1) (v - u) / v exp(-t / lag) thick."""
    differences = []
    for index, met in enumerate(joints(moves("lag")).values()):
        sides: dict[bool, float] = {}
        for one, two in met[:2]:
            u, v = one.speed, two.speed
            part = (0.01 * index / lag - 1) * (v - u) / v
            sides[v > u] = 1 + part * math.exp(-(3.0 / v) / lag)
        differences.append(sides[False] - sides[True])
    assert differences[0] > 0.1 and differences[-1] < -0.1
    right = next(index for index, one in enumerate(differences) if one < 0)
    assert 0.01 * (right - 1) <= lag + 1e-9 and lag < 0.01 * right + 1e-9


@pytest.mark.parametrize("nozzle", ["0.4", "1.2"])
def test_the_nozzle_goes_from_wall_to_wall_above_what_stands_there(nozzle: str) -> None:
    highest = max(
        move.end[2] or 0 for move in off_the_edge(tight("lag", nozzle)) if move.feed > 0 and move.length
    )
    across = [move for move in tight("lag", nozzle) if not move.feed and move.end[:2] != move.start[:2]]
    assert all((move.end[2] or 0) > highest for move in across[3:-1])


def test_the_sides_are_long_enough_for_the_flow_to_settle_and_no_longer_than_the_bed() -> None:
    short, long = (
        max(
            move.length for pair in joints(moves("lag", replace(HOT, step=step))).values() for move in pair[0]
        )
        for step in (0.002, 0.1)
    )
    assert short == 28 and long == 72
    narrow = TRIALS["lag"].write(bench_of(machine(axis__x__max="90"), None, replace(HOT, step=0.1), "Wren"))
    assert max(abs(one.end[0] - one.start[0]) for one in narrow.segments if one.feed > 0) < 73.001


def test_a_line_that_sets_the_lag_takes_the_place_of_the_stops() -> None:
    wishes = Wishes(nozzle=210, bed=60, start=0.0, step=0.02, count=3, setting_line="W7 L{value}")
    text = written("lag", wishes).text
    assert [line for line in text.splitlines() if line.startswith("W7")] == ["W7 L0", "W7 L0.02", "W7 L0.04"]
    assert text.count("M0") == 0
    with pytest.raises(BadInput, match="no place for its value"):
        written("lag", Wishes(nozzle=210, bed=60, setting_line="W7"))


# --- refusals ----------------------------------------------------------------------------------------------------

NEEDED = [
    (name, wanted)
    for name, wanteds in {
        "clearance": ["axis.z.max", "axis.x.max"],
        "feed": ["axis.z.max", "axis.y.min", "heater.hotend.max_temperature"],
        "cylinder": ["axis.x.min", "axis.z.max", "nozzle.diameter", "filament.diameter", "heater.bed.max_temperature"],
        "lag": ["axis.x.max", "axis.z.max", "nozzle.diameter", "filament.diameter", "heater.hotend.max_temperature"],
        "retraction": ["axis.y.max", "axis.z.max", "nozzle.diameter", "filament.diameter", "heater.hotend.max_temperature"],
    }.items()
    for wanted in wanteds
]  # fmt: skip


@pytest.mark.parametrize(("name", "wanted"), NEEDED)
def test_a_script_is_refused_where_a_limit_it_needs_is_not_known(name: str, wanted: str) -> None:
    without = machine(**{wanted.replace(".", "__"): ""})
    with pytest.raises(Refused, match=wanted.replace(".", r"\.")) as caught:
        TRIALS[name].write(bench_of(without, None, HOT))
    assert "Nothing was written" in str(caught.value)


@pytest.mark.parametrize("name", list(TRIALS))
def test_where_no_file_has_a_lowest_z_a_script_stays_above_the_bed(name: str) -> None:
    text = TRIALS[name].write(bench_of(machine(axis__z__min=""), None, HOT)).text
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        lines = gcodeparser.GcodeParser(text).lines
    heights = [line.params["Z"] for line in lines if "Z" in line.params]
    assert heights and min(heights) >= 0


def test_where_z_counts_downwards_its_lowest_place_has_to_be_known() -> None:
    below = machine(axis__z__min="", axis__z__max="-1")
    with pytest.raises(Refused, match=r"axis\.z\.min"):
        TRIALS["clearance"].write(bench_of(below, None, HOT))


def test_of_a_heat_limit_for_each_of_two_feeders_the_lower_one_holds(tmp_path: Path) -> None:
    (tmp_path / "pan.h").write_text(
        "#define LOWEST_X -2\n#define HIGHEST_X 210\n#define LOWEST_Y -2\n#define HIGHEST_Y 190\n#define HIGHEST_Z 240\n"
        "#define FEEDER_STEPS_PER_MM { 97.2, 98.4 }\n#define HOT_END_MAX { 275, 240 }\n"
    )
    wishes = replace(HOT, nozzle=228.0, feeder_line="T0")
    made = api.trial("feed", [tmp_path], feeder="1", wishes=wishes)
    assert "S228" in made.written.text
    with pytest.raises(Refused, match="the files allow 240"):
        api.trial("feed", [tmp_path], feeder="1", wishes=replace(wishes, nozzle=235.0))
    (tmp_path / "start.nc").write_text("( A is the feeder )\nG21\nG90\nG92 A0\nG1 A20 F300\nG1 X5 Y5 F900\n")
    with pytest.raises(BadInput, match="by A, and which of the 2 feeders"):
        api.trial("feed", [tmp_path], feeder="2", wishes=wishes)


@pytest.mark.parametrize(
    ("name", "wishes"),
    [
        ("feed", Wishes(nozzle=270)),  # the hot end may have 275, and 10 K are kept
        ("feed", Wishes(nozzle=160)),  # the machine feeds from 172 on
        ("cylinder", Wishes(nozzle=210, bed=105)),
        ("feed", Wishes()),  # nobody says how hot
        ("retraction", Wishes(nozzle=210, bed=60, height=100.0)),
        ("retraction", Wishes(nozzle=210, bed=60, step=-1.0)),
        ("lag", Wishes(nozzle=210, bed=60, count=60)),
        ("clearance", Wishes(start=300.0)),
        ("clearance", Wishes(step=0.001)),
    ],
)
def test_what_is_asked_for_beyond_the_machine_is_refused(name: str, wishes: Wishes) -> None:
    with pytest.raises(Refused):
        written(name, wishes)


def test_on_a_smaller_machine_the_scripts_still_fit_or_are_refused() -> None:
    small = machine(axis__x__max="100", axis__y__max="90", axis__z__max="40")
    for name in TRIALS:
        try:
            made = TRIALS[name].write(bench_of(small, None, HOT))
        except Refused:
            continue
        for one in made.segments:
            assert not one.end[0] > 100 and not one.end[1] > 90 and not one.end[2] > 40


# --- limits that are reached -------------------------------------------------------------------------------------

#: a machine on which every limit binds: z 3 mm/s, axes 40 mm/s, feeder 5 mm/s
TIGHT = {
    "axis__z__max_speed": "3",
    "machine__max_speed": "",
    "axis__x__max_speed": "40",
    "axis__y__max_speed": "40",
    "feeder__max_speed": "5",
}


@lru_cache(maxsize=8)
def tight(name: str, nozzle: str = "0.4") -> tuple[Move, ...]:
    bench = bench_of(machine(**TIGHT, nozzle__diameter=nozzle), None, HOT, "Wren")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        lines = gcodeparser.GcodeParser(TRIALS[name].write(bench).text).lines
    return tuple(_moves(tuple((f"{line.command[0]}{line.command[1]}", dict(line.params)) for line in lines)))


@pytest.mark.parametrize("name", TRIALS)
def test_on_a_machine_of_tight_limits_no_move_is_faster_and_each_limit_is_reached(name: str) -> None:
    """A limit that nothing reaches tests nothing: each is the speed of some move. Speeds stand in whole mm/min."""
    rises = [
        move.speed for move in tight(name) if move.end[2] != move.start[2] and move.end[:2] == move.start[:2]
    ]
    travels = [move.speed for move in tight(name) if move.end[:2] != move.start[:2] and not move.feed]
    assert max(rises) == (3 if name != "clearance" else pytest.approx(3)) and max(travels) == 40
    for move in tight(name):
        if move.end[:2] != move.start[:2]:
            assert move.speed <= 40
        if move.feed and move.length == 0:
            assert move.speed <= 5


@pytest.mark.parametrize("name", ["lag", "retraction"])
def test_what_is_drawn_back_is_drawn_as_fast_as_the_feeder_may(name: str) -> None:
    assert max(move.speed for move in tight(name) if move.feed and move.length == 0) == 5


@pytest.mark.parametrize("name", ["cylinder", "lag", "retraction"])
def test_a_thick_bead_is_laid_no_faster_than_the_feeder_feeds(name: str) -> None:
    """A nozzle of 1.2 mm asks for 1.32 · 0.6 / 2.405 = 0.329 mm of filament a mm: 5 mm/s are 15.2 mm/s of the nozzle."""
    speeds = [
        move.feed / move.length * move.speed
        for move in tight(name, "1.2")
        if move.feed > 0 and move.length > 0
    ]
    assert max(speeds) == pytest.approx(5, rel=0.01)


@pytest.mark.parametrize("name", ["cylinder", "lag", "retraction"])
def test_bed_and_nozzle_are_waited_for_off_the_test_field_before_anything_is_laid(name: str) -> None:
    order = list(codes(name))
    first = next(index for index, (code, words) in enumerate(order) if code == "G1" and "E" in words)
    beds = [index for index, (code, words) in enumerate(order) if code == "M190" and words["S"] == 60]
    nozzles = [index for index, (code, words) in enumerate(order) if code == "M109" and words["S"] == 210]
    assert beds and nozzles and beds[0] < nozzles[0] < first
    sideways = [words["X"] for code, words in order[: beds[0]] if code == "G0" and "X" in words]
    assert sideways[-1] == LIMITS["x"][0] + 3
    field = [words["X"] for code, words in order[first + 2 :] if code == "G1" and "X" in words]
    assert min(field) > LIMITS["x"][0] + 10


def test_temperatures_are_waited_for_again_after_each_stop() -> None:
    order = [code for code, _ in codes("lag")]
    stops = [index for index, code in enumerate(order) if code == "M0"]
    assert len(stops) == 11
    for index in stops:
        assert order[index + 1 : index + 3] == ["M190", "M109"]


def test_a_machine_whose_pause_is_another_word_and_that_has_a_display() -> None:
    wishes = Wishes(nozzle=210, bed=60, pause="M933", display="M934 {text}")
    lines = written("feed", wishes).text.splitlines()
    assert not any(line.startswith("M0") for line in lines)
    shown = [line for line in lines if line.startswith("M934")]
    assert len(shown) == 7 and "2: mark the filament" in shown[1]


def test_the_machines_own_lines_stand_behind_homing_and_the_modes_are_set_again() -> None:
    wishes = Wishes(nozzle=210, bed=60, begin=("M936 P2", "G91"), feeder_line="T1")
    lines = [
        line.partition(" ;")[0]
        for line in written("cylinder", wishes).text.splitlines()
        if not line.startswith(";")
    ]
    at = lines.index("M936 P2")
    assert lines[at - 1] == "G28" and lines[at + 1 : at + 6] == ["G91", "G21", "G90", "M83", "T1"]


@pytest.mark.parametrize(("now", "top"), [("0.3", 0.8), ("0.65", 1.3), ("3.4", 5.4), ("5.5", 7.0)])
def test_the_tower_covers_the_range_that_a_packet_tells_to_try(now: str, top: float) -> None:
    bench = bench_of(machine(retraction__length=now), None, HOT, "Wren")
    pulls = [-segment.feed for segment in TRIALS["retraction"].write(bench).segments if segment.feed < 0]
    assert max(pulls) >= top - 1e-6


def test_the_temperatures_of_a_script_in_one_line_are_found() -> None:
    reading = machine_of({"was.script.start": "G21\\nG90\\nM190 S98\\nM109 S244\\nG1 X3"})
    joined = Machine(machine().documents, (*machine().readings, *reading.readings))
    bench = bench_of(joined, None, Wishes(), "Dunlin")
    assert (bench.nozzle_temperature(), bench.bed_temperature()) == (244, 98)


def test_the_clearance_never_goes_beyond_what_was_measured() -> None:
    sheet = sheet_of({"clearance.highest_z": "233.5 mm"})
    bench = bench_of(machine(), sheet, Wishes(), "Wren")
    heights = [segment.end[2] for segment in TRIALS["clearance"].write(bench).segments]
    assert max(height for height in heights if height == height) == 233.5


@pytest.mark.parametrize("name", TRIALS)
def test_every_stop_says_what_to_do_in_the_listing_and_on_the_page(name: str) -> None:
    made = written(name)
    lines = made.text.splitlines()
    at = [number for number, line in enumerate(lines) if line.startswith("M0")]
    assert len(at) == len(made.stops)
    for stop, (number, told) in enumerate(zip(at, made.stops, strict=True), 1):
        assert lines[number - 1].startswith(f"; stop {stop} of {len(at)}: ") and len(told) > 20
    assert render_trial(made, "A trial", "Wren", "x").count("<li>") == len(CAUTIONS) + len(at)


def test_what_the_machines_own_scripts_ask_for_may_come_near_a_limit_and_not_beyond() -> None:
    """A bed that prints at 98 of 105 degrees every day does so in a trial; a person's wish keeps 10 K."""
    start = machine_of({"was.script.start": "M190 S98\\nM109 S244"})
    for limit, fits in (("105", True), ("98", True), ("97", False)):
        files = machine(heater__bed__max_temperature=limit)
        bench = bench_of(
            Machine(files.documents, (*files.readings, *start.readings)), None, Wishes(), "Dunlin"
        )
        if fits:
            assert bench.bed_temperature() == 98
        else:
            with pytest.raises(Refused):
                bench.bed_temperature()
    wish = bench_of(machine(heater__bed__max_temperature="105"), None, Wishes(bed=98), "Dunlin")
    with pytest.raises(Refused):
        wish.bed_temperature()


def test_the_start_scripts_own_line_for_the_bed_map_is_told() -> None:
    start = machine_of({"was.script.start": "G28\\nTAKE MAP OF MORNING\\nG1 X3"})
    files = machine(mesh__to_x="200", mesh__from_x="20", mesh__to_y="200", mesh__from_y="20")
    bench = bench_of(Machine(files.documents, (*files.readings, *start.readings)), None, HOT, "Dunlin")
    text = TRIALS["cylinder"].write(bench).text
    assert "--begin FILE" in text and "your start script has: TAKE MAP OF MORNING" in text


@pytest.mark.parametrize(("drive", "now", "told"), [("on the carriage", "5.4", True), ("on the carriage", "0.6", False), ("tube-fed", "5.4", False)])  # fmt: skip
def test_a_tower_up_to_a_long_tubes_retraction_is_not_written_for_a_short_path(
    drive: str, now: str, told: bool
) -> None:
    files, said = machine(retraction__length=now), sheet_of({"new.drive": drive})
    if not told:
        assert TRIALS["retraction"].write(bench_of(files, said, HOT)).segments
        return
    with pytest.raises(Refused, match="the sheet says that the drive sits on the carriage") as caught:
        TRIALS["retraction"].write(bench_of(files, said, HOT))
    assert "Put the new values in first" in str(caught.value)
    asked = replace(HOT, step=0.1, count=9)
    made = TRIALS["retraction"].write(bench_of(files, said, asked))
    assert max(-segment.feed for segment in made.segments) == pytest.approx(0.8)


def test_the_clearance_climbs_with_stops_and_ends_lower_but_not_below_where_it_began() -> None:
    ends = [move.end[2] or 0.0 for move in moves("clearance", Wishes())]
    lifts = [goal - here for here, goal in pairwise(ends[1:])]
    assert max(lifts) <= 20 and ends[-1] == 249 - 50
    low = [move.end[2] or 0.0 for move in moves("clearance", Wishes(start=6.0))]
    assert low[-1] == 249 - 50 and low[1] == 6
    small = TRIALS["clearance"].write(bench_of(machine(axis__z__max="40"), None, Wishes()))
    assert small.segments[-1].end[2] == small.segments[0].end[2] == 3
    order = [code for code, _ in codes("clearance", Wishes())]
    assert "M0" in order[order.index("G0") : order.index("G0") + 4]


def test_before_the_nozzle_heats_for_feeding_there_is_a_cold_stop_to_put_something_under_it() -> None:
    order = [code for code, _ in codes("feed")]
    assert order.index("G28") < order.index("M0") < order.index("M109")
    assert "put something under the nozzle" in written("feed").stops[0]


@pytest.mark.parametrize(
    ("profile", "fast"),
    [
        ("[speeds]\nwalls = 40\nhatching = 75\nfirst layer walls = 90\njumps = 160\n", 75),
        ("[print]\ninfill speed = 3000 mm/min\n", 50),
        ("[print]\nwall speed = 20\n", 36),
        ("[print]\nwall speed = 140\n", 85),
        ("", 85),
    ],
)
def test_the_fast_side_of_a_lag_wall_is_no_faster_than_the_profiles_print(profile: str, fast: float) -> None:
    files = machine()
    documents = (*files.documents, read_document("profile.conf", profile.encode(), "sectioned"))
    made = TRIALS["lag"].write(bench_of(Machine(documents, files.readings), None, HOT))
    laid = [segment.speed for segment in made.segments if segment.feed > 0 and segment.start != segment.end]
    assert max(laid) == pytest.approx(fast)


def test_soft_filament_is_laid_no_faster_than_it_can_be_fed(tmp_path: Path) -> None:
    (sheet := tmp_path / "swap.yaml").write_text("filament: {material: TPU}\n")
    made = TRIALS["lag"].write(bench_of(machine(), read_sheet(sheet), HOT))
    assert max(each.speed for each in made.segments if each.feed > 0 and each.start != each.end) <= 30


def test_no_band_draws_back_more_than_a_packet_would_set() -> None:
    """A packet sets 7 mm at the most, since a longer pull clogs the hot end."""
    made = TRIALS["retraction"].write(bench_of(machine(retraction__length="7"), None, HOT))
    assert max(-each.feed for each in made.segments if each.feed < 0) <= 7


def test_all_that_a_script_lacks_is_told_at_once_and_nothing_stands_in_for_it(tmp_path: Path) -> None:
    (tmp_path / "machine.h").write_text("#define FEEDER_STEPS_PER_MM 97.2\n#define HOT_END_MAX 275\n")
    with pytest.raises(Refused) as caught:
        api.trial("lag", [tmp_path])
    assert all(
        each in caught.value.what for each in ("nozzle diameter", "how hot the nozzle", "how hot the bed")
    )
    assert "--nozzle" in caught.value.remedy and "--bed" in caught.value.remedy

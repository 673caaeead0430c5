"""What a test script may be asked for, and how hot it prints."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import BadInput, Refused
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.trials import Wishes, bench_of
from cfgmigrate.trials.bench import check_wishes

NAN = float("nan")
HEAD = "[nozzle]\nmax temperature = 280\n[scripts]\n"


@pytest.mark.parametrize(
    ("name", "wishes"),
    [
        ("clearance", Wishes(step=NAN)),
        ("clearance", Wishes(step=-5.0)),
        ("clearance", Wishes(step=0.0)),
        ("lag", Wishes(start=NAN)),
        ("clearance", Wishes(count=3)),
        ("lag", Wishes(start=-1.0)),
        ("lag", Wishes(start=40.0)),  # meant in ms
        ("lag", Wishes(start=0.0, step=5.0)),
        ("cylinder", Wishes(height=NAN)),
        ("cylinder", Wishes(height=-5.0)),
        ("feed", Wishes(nozzle=NAN)),
        ("feed", Wishes(bed=-1.0)),
        ("feed", Wishes(nozzle=float("inf"))),
        ("feed", Wishes(pause=" ")),
    ],
)
def test_what_leads_nowhere_is_refused(name: str, wishes: Wishes) -> None:
    with pytest.raises(BadInput):
        check_wishes(name, wishes)


@pytest.mark.parametrize(
    ("name", "wishes"),
    [("clearance", Wishes(start=-3.0)), ("lag", Wishes(start=0.0, step=0.005)), ("feed", Wishes(bed=0.0))],
)
def test_what_may_be_asked_is_not(name: str, wishes: Wishes) -> None:
    check_wishes(name, wishes)


def heat(scripts: str) -> float:
    machine = recognise([read("knut.ini", (HEAD + scripts).encode(), "sectioned")])
    return bench_of(machine.view(), None, Wishes()).nozzle_temperature()


@pytest.mark.parametrize(
    "scripts",
    [
        "start = G28\n   M104 S160\n   M109 S210\n   G1 Z5 F300\n",
        "start = G28\n   M109 S210\n   M104 S210\nload = M109 S235\n",
        "start = G28\n   G1 Z5 F300\nload = M109 S210\n   G1 E40 F200\n",
        "start = G28\n   M109 S210\nend = M104 S0\n",
    ],
)
def test_it_prints_as_hot_as_the_start_script_says(scripts: str) -> None:
    assert heat(scripts) == 210


@pytest.mark.parametrize(
    "scripts",
    [
        "start = G28\n   M109 S[temp]\nload = M109 S205\n   G1 E40 F200\ncold pull = M109 S270\n",
        "start = G28\n   M109 T0 S210\n   M109 T1 S255\n",
        "start = G28\n   M104 S160\n   G1 Z5 F300\n",
        "load = M109 S205\n   G1 E40 F200\nunload = M109 S240\n   G1 E-40 F200\n",
    ],
)
def test_where_scripts_leave_it_open_or_say_several_it_is_asked(scripts: str) -> None:
    with pytest.raises(Refused, match="how hot the nozzle"):
        heat(scripts)

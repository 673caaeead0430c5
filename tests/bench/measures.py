"""What is measured, and beside what: start, preparing, parsing, growth, recomputing.

Whole processes are run in turn with their peers, several rounds, and the fastest of each counts, all in processor time, so
that what else the machine does matters little. They may keep their bytecode, as an installed copy does. Each `Row` is
a figure of ours, the peer's, and their ratio. Nothing is asserted here.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.bench import machines

ROOT = Path(__file__).parents[2]
LIBRARIES = "click, lark, ruamel.yaml, jinja2, uncertainties"
#: lines of a text that is parsed, and of one that grows
LINES = 8_000
GROWTH = (100, 1_000, 10_000, 100_000, 1_000_000)


@dataclass(frozen=True, slots=True)
class Row:
    """One measurement. `ours` and `peer` are as a person reads them; `ratio` is of the two, `goal` what it
    was meant to be."""

    what: str
    ours: str
    beside: str
    peer: str
    ratio: float
    goal: str


def start(rounds: int) -> list[Row]:
    """The program as a whole process, against one import."""
    rows = []
    for option in ("--help", "--version"):
        ours, peer = processes([["-m", "cfgmigrate", option], ["-c", "import click"]], rounds)
        rows.append(
            Row(f"`cfgmigrate {option}`", _ms(ours), "`import click`", _ms(peer), ours / peer, "at most 2")
        )
    return rows


def prepare(rounds: int) -> list[Row]:
    """`prepare` with all it writes, and `survey`, beside the libraries that `prepare` must load."""
    with tempfile.TemporaryDirectory() as place:
        folder = machines.write_configuration(Path(place) / "wren", 1_000)
        sheet = str(machines.SHEETS / "wren.yaml")
        packet = Path(place) / "packet"
        ours = ["-m", "cfgmigrate", "prepare", str(folder), "--sheet", sheet, "-o", str(packet)]
        peer = ["-c", f"import {LIBRARIES}"]
        look = ["-m", "cfgmigrate", "survey", str(folder)]
        *found, beside = processes([ours, look, peer], rounds, lambda: _remove(packet))
    imports = f"`import {LIBRARIES}`"
    goals = {"`prepare`, 1,000 lines in 4 files": "at most 1.2", "`survey` of the same": "at most 0.72"}
    return [
        Row(what, _ms(took), imports, _ms(beside), took / beside, goal)
        for (what, goal), took in zip(goals.items(), found, strict=True)
    ]


def recompute(rounds: int) -> list[Row]:
    """One answer changed on a warm bench, against working everything out; in one process, s of processor time."""
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.reader import parse_sheet
    from cfgmigrate.workflow.prepare import read_machine, work_out

    with tempfile.TemporaryDirectory() as place:
        folder = machines.write_configuration(Path(place) / "wren", 1_000)
        written = machines.SHEETS / "wren.yaml"
        text = written.read_text(encoding="utf-8")
        sheets = [
            parse_sheet(text.replace("old_mass: 285 g", f"old_mass: {mass} g").encode(), "swap.yaml")
            for mass in range(280, 280 + rounds)
        ]
        machine = read_machine([folder])[1]
        bench = Workings(library.book(), machine, library.tables())
        bench.stand(sheets[-1])
        left = iter(sheets * 2)

        def again() -> None:
            sheet = next(left)
            plan_changes(bench.stand(sheet).worked, bench.book, machine, sheet, "here")

        ours, peer = _times([again, lambda: work_out([folder], written)], rounds)
    return [
        Row(
            "one changed answer, to the plan",
            _ms(ours),
            "everything, in the same process",
            _ms(peer),
            ours / peer,
            "50 ms",
        )
    ]


def parse(rounds: int) -> list[Row]:
    """Bytes a second of each dialect, beside a library that reads the same text, or ConfigUpdater a sectioned one of as
    many lines."""
    from cfgmigrate.dialects import DIALECTS

    peers: dict[str, tuple[str, Callable[[str], object]]] = {"header": ("pcpp", _preprocessor)}
    # when the goals were set, `sectioned` was as fast as ConfigUpdater, and the other two were to do 2 where it did 3
    goals = {"header": "at least 4"} | dict.fromkeys(("command", "nested"), "at least 0.67")
    rows = []
    for name, dialect in DIALECTS.items():
        text = machines.text_of(name, LINES)
        data = text.encode()
        beside, peer = peers.get(name, ("ConfigUpdater", _config_updater))
        other = text if name in peers else machines.text_of("sectioned", LINES)
        ours, theirs = _times(
            [
                lambda read=dialect.read, data=data: read("text", data),  # type: ignore[misc]
                lambda peer=peer, other=other: peer(other),  # type: ignore[misc]
            ],
            rounds,
        )
        rates = len(data) / ours / 1e6, len(other.encode()) / theirs / 1e6
        rows.append(
            Row(
                f"reading `{name}`",
                f"{rates[0]:.1f} MB/s",
                beside,
                f"{rates[1]:.1f} MB/s",
                rates[0] / rates[1],
                goals.get(name, "at least 1.5"),
            )
        )
    return rows


def _config_updater(text: str) -> None:
    from configupdater import ConfigUpdater

    ConfigUpdater().read_string(text)


def _preprocessor(text: str) -> None:
    import io

    from pcpp import Preprocessor

    worker = Preprocessor()
    worker.parse(text)
    worker.write(io.StringIO())


@dataclass(frozen=True, slots=True)
class Growth:
    """Time and peak memory of reading texts of growing length, and by which power of the length time grows,
    from the second length to the last. `made` is the peak memory when every setting has been asked for as well."""

    dialect: str
    seconds: tuple[float, ...]
    memory: float
    made: float
    exponent: float


def growth(lengths: Sequence[int] = GROWTH) -> list[Growth]:
    """Each length in a process of its own. `memory` and `made` are the largest text's, as multiples of its bytes."""
    from math import log

    from cfgmigrate.dialects import DIALECTS

    found = []
    for dialect in DIALECTS:
        seconds, memory, made = [], 0.0, 0.0
        for length in lengths:
            line = _python(["-c", _GROW, dialect, str(length)], {}).stdout.split()
            seconds.append(float(line[0]))
            memory, made = float(line[1]), float(line[2])
        exponent = log(seconds[-1] / seconds[1]) / log(lengths[-1] / lengths[1])
        found.append(Growth(dialect, tuple(seconds), memory, made, exponent))
    return found


_GROW = """
import resource, sys, time
from cfgmigrate.dialects import DIALECTS
from tests.bench import machines
read = DIALECTS[sys.argv[1]].read
read("text", machines.text_of(sys.argv[1], 50).encode())
data = machines.text_of(sys.argv[1], int(sys.argv[2])).encode()
def peak():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024 / len(data)
before, times = peak(), []
for _ in range(3 if len(data) < 1e6 else 1):
    began = time.process_time()
    document = read("text", data)
    times.append(time.process_time() - began)
read_only = peak() - before
made = list(document.settings)
print(min(times), read_only, peak() - before)
"""


def _times(works: Sequence[Callable[[], object]], rounds: int) -> list[float]:
    """s of processor time of each, the fastest of so many rounds."""
    best = [float("inf")] * len(works)
    for _ in range(rounds):
        for index, work in enumerate(works):
            began = time.process_time()
            work()
            best[index] = min(best[index], time.process_time() - began)
    return best


def processes(
    commands: Sequence[Sequence[str]],
    rounds: int,
    before: Callable[[], None] = lambda: None,
    env: dict[str, str] | None = None,
) -> list[float]:
    """s of processor time of each command, the fastest of so many rounds; once before, unmeasured."""
    best = [float("inf")] * len(commands)
    for turn in range(rounds + 1):
        for index, command in enumerate(commands):
            before()
            began = _spent()
            _python(command, env or {})
            took = _spent() - began
            best[index] = min(best[index], took) if turn else best[index]
    return best


def _spent() -> float:
    """s of processor time of all processes that were started and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def _python(arguments: Sequence[str], env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return subprocess.run(
        [sys.executable, *arguments],
        env={**kept, "PYTHONPATH": str(ROOT), **env},
        check=True,
        capture_output=True,
        text=True,
    )


def _remove(folder: Path) -> None:
    import shutil

    shutil.rmtree(folder, ignore_errors=True)


def _ms(seconds: float) -> str:
    return f"{1000 * seconds:.0f} ms"

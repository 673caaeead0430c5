"""Many machines: `prepare --fleet` over all cores, beside the same loop run one by one, in the same run.

    python tests/bench/fleet.py [--machines 1000] [--workers N] [--apart 10]

The machines are generated from the demo's own Wren: a few kinds of them, each machine with numbers of its own.
Three ways of getting a packet for each: the fleet; a loop over `cfgmigrate.prepare` in one process; and, for the
first few machines only, one process of `cfgmigrate prepare` a machine, which is what a person would do without
a fleet. Each is run in a fresh process and a fresh folder. Memory is what all processes of a run take together
at their worst (PSS, /proc/*/smaps_rollup, looked at twice a second), so that shared pages count once;
where there is no such file, the largest single process. Processor time is that of all processes as last seen;
on a machine that others use too, it says more than the time by the clock.

`rows()` gives the figures; nothing is asserted.
"""

from __future__ import annotations

import argparse
import os
import random
import re
import resource
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

SAMPLES = Path(__file__).parents[2] / "sample_configs"
MACHINES, APART = 1000, 10
#: s between two looks at memory
LOOK = 0.5

LOOP = """
import sys
from pathlib import Path
import cfgmigrate
folder, out = Path(sys.argv[1]), Path(sys.argv[2])
for sheet in sorted((folder / "alone").iterdir()):
    cfgmigrate.prepare([folder / sheet.stem], sheet, out=out / sheet.stem, browsed=False)
"""


@dataclass(frozen=True, slots=True)
class Row:
    """One way of doing it: how many machines, s, MiB, s of processor time (0: not known), and machines a second as a
    multiple of the loop's."""

    way: str
    machines: int
    seconds: float
    peak: float
    processor: float
    ratio: float = 1.0

    @property
    def rate(self) -> float:
        return self.machines / self.seconds


def generate(folder: Path, machines: int) -> None:
    """So many machines in `folder`, a fleet file, and in `alone/` the sheet of each for itself."""
    chance = random.Random(20)
    shared = (SAMPLES / "sheets" / "wren.yaml").read_text(encoding="utf-8")
    files = {path.name: path.read_text(encoding="utf-8") for path in sorted((SAMPLES / "wren").iterdir())}
    (folder / "swap.yaml").write_text(shared, encoding="utf-8")
    (folder / "alone").mkdir()
    lines = ["sheet: swap.yaml", "machines:"]
    for number in range(machines):
        name = f"m{number:04}"
        (folder / name).mkdir()
        for file, text in files.items():
            (folder / name / file).write_text(f"# {name}\n{text}", encoding="utf-8")
        mass = chance.choice(["285 g", "285 g", "285 g", "290 g", f"{chance.randint(250, 320)} g"])
        lines += [f"  {name}:", f"    config: {name}", f"    differs: {{carriage: {{old_mass: {mass}}}}}"]
        own = re.sub(
            r"old_mass: .*", f"old_mass: {mass}", shared.replace("machine: Wren", f"machine: {name}")
        )
        (folder / "alone" / f"{name}.yaml").write_text(own, encoding="utf-8")
    (folder / "fleet.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def rows(machines: int = MACHINES, workers: int | None = None, apart: int = APART) -> list[Row]:
    """The figures, the loop one by one first."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        generate(folder, machines)
        command = [sys.executable, "-m", "cfgmigrate", "prepare"]
        at_once = ["--workers", str(workers)] if workers else []
        fleet = ["--fleet", str(folder / "fleet.yaml"), "-o", str(folder / "fleet"), *at_once]
        # once before, so that what is kept between runs is kept for all three
        subprocess.run([*command, str(folder / "m0000"), "--sheet", str(folder / "alone" / "m0000.yaml"),
                        "-o", str(folder / "first")], env=_env(), stdout=subprocess.DEVNULL, check=True)  # fmt: skip
        loop = _measured(
            "one by one, in one process",
            machines,
            [[sys.executable, "-c", LOOP, str(folder), str(folder / "loop")]],
        )
        many = _measured("prepare --fleet", machines, [[*command, *fleet]])
        few = [
            [
                *command,
                str(folder / name),
                "--sheet",
                str(folder / "alone" / f"{name}.yaml"),
                "-o",
                str(folder / "apart" / name),
            ]
            for name in (f"m{number:04}" for number in range(min(apart, machines)))
        ]
        each = _measured("one by one, a process each", len(few), few)
        for name in ("m0000", f"m{machines - 1:04}"):
            assert (folder / "fleet" / name / "changes.json").is_file()
            assert (folder / "loop" / name / "changes.json").is_file()
    return [replace(row, ratio=row.rate / loop.rate) for row in (loop, each, many)]


def _env() -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return {**kept, "PYTHONPATH": str(SAMPLES.parent)}


def _measured(way: str, machines: int, commands: Sequence[Sequence[str]]) -> Row:
    peak, processor, begin = 0.0, 0.0, time.perf_counter()
    for command in commands:
        run = subprocess.Popen(command, env=_env(), stdout=subprocess.DEVNULL, start_new_session=True)
        ended = threading.Event()
        memory: list[float] = []
        spent: dict[str, float] = {}
        looking = threading.Thread(target=_look, args=(run.pid, ended, memory, spent))
        looking.start()
        status = run.wait()
        ended.set()
        looking.join()
        if status:
            raise RuntimeError(f"{way}: exit status {status}")
        peak, processor = max([peak, *memory]), processor + sum(spent.values())
    seconds = time.perf_counter() - begin
    largest = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    return Row(way, machines, seconds, peak or largest, processor)


def _look(session: int, ended: threading.Event, memory: list[float], spent: dict[str, float]) -> None:
    """At every look: MiB of all processes of a session together, and s of processor time of each so far."""
    tick = os.sysconf("SC_CLK_TCK")
    while not ended.wait(LOOK):
        total = 0
        for process in Path("/proc").glob("[0-9]*"):
            try:
                if os.getsid(int(process.name)) == session:
                    text = (process / "smaps_rollup").read_text()
                    total += sum(int(size) for size in re.findall(r"^Pss:\s+(\d+)", text, re.MULTILINE))
                    fields = (process / "stat").read_text().rpartition(")")[2].split()
                    spent[process.name] = (int(fields[11]) + int(fields[12])) / tick
            except (OSError, ValueError):
                continue
        if total:
            memory.append(total / 1024)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("--machines", type=int, default=MACHINES)
    asked.add_argument("--workers", type=int)
    asked.add_argument("--apart", type=int, default=APART)
    given = asked.parse_args()
    print("| way | machines | s | a second | ratio | processor s a machine | memory, all processes |")
    print("|---|---|---|---|---|---|---|")
    for row in rows(given.machines, given.workers, given.apart):
        cells = (
            f"{row.seconds:.1f}",
            f"{row.rate:.2f}",
            f"{row.ratio:.2f}",
            f"{row.processor / row.machines:.2f}",
        )
        print(f"| {row.way} | {row.machines} | {' | '.join(cells)} | {row.peak:.0f} MiB |")


if __name__ == "__main__":
    main()

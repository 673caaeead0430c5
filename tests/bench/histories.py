"""Commands at machines whose histories are long, beside the same at one whose history is short.

The machine is the demo's own Wren. Its packet was installed and taken back so often, each time recorded as the program
records it. Commands are run in turn at each of them, as whole processes. Nothing is asserted here.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from pathlib import Path

from tests.bench.machines import SHEETS
from tests.bench.measures import processes

SAMPLES = SHEETS.parent
#: odd, for an install is the last of them
ENTRIES = (9, 99, 999)
#: s after which a copy need not be read again to be known as it was
SETTLED = 2.2


def seconds(rounds: int, entries: tuple[int, ...] = ENTRIES) -> dict[str, list[float]]:
    """Of each command its s of processor time, a figure for each number of entries."""
    with tempfile.TemporaryDirectory() as place:
        folders = [Path(place) / str(number) for number in entries]
        for folder, number in zip(folders, entries, strict=True):
            _make(folder)
            for left in range(number, 1, -1):
                _record(folder, left)
        time.sleep(SETTLED)
        for folder in folders:
            _record(folder, 1)
        found: dict[str, list[float]] = {}
        for names in (*((name,) for name in _LOOKING), ("revert", "install")):
            found |= _measured(names, folders, rounds)
        return found


def _make(folder: Path) -> None:
    import cfgmigrate

    shutil.copytree(SAMPLES / "wren", folder / "wren")
    shutil.copy(SHEETS / "wren.yaml", folder)
    cfgmigrate.prepare(folder / "wren", folder / "wren.yaml", out=folder / "packet")


def _record(folder: Path, left: int) -> None:
    """An install of the packet where an odd number of entries is left to be made, else its way back."""
    from cfgmigrate.apply.recorded_reasons import reasons_of
    from cfgmigrate.packet.opening import opened
    from cfgmigrate.plan.edits import FileStep, Span
    from cfgmigrate.store.history import record
    from cfgmigrate.store.keeping import Store

    packet = opened(folder / "packet")
    steps = list(packet.steps(packet.plan.changes))
    if left % 2 == 0:
        back = [
            [
                Span(each.name, each.after_start, each.after_end, each.before_start, each.before_end)
                for each in step.spans
            ]
            for step in steps
        ]
        steps = [
            FileStep(step.path, step.dialect, step.after, step.before or b"", tuple(spans))
            for step, spans in zip(steps, back, strict=True)
        ]
    reasons = reasons_of(packet, packet.plan.changes) if left % 2 else None
    store = Store((folder / "wren").resolve())
    with store.locked():
        real = {step.path: step.path for step in steps}
        kind = "install" if left % 2 else "revert"
        record(store, kind, steps, real, packet.hash, packet.plan.machine, reasons=reasons)


def _measured(names: tuple[str, ...], folders: list[Path], rounds: int) -> dict[str, list[float]]:
    """These commands one after the other, each at every machine."""
    commands = [["-m", "cfgmigrate", name, *_given(name, folder)] for name in names for folder in folders]

    def before() -> None:
        for folder in folders:
            shutil.rmtree(folder / "made", ignore_errors=True)
            (folder / "measured.yaml").unlink(missing_ok=True)

    found = processes(commands, rounds, before)
    size = len(folders)
    return {name: found[at * size : (at + 1) * size] for at, name in enumerate(names)}


#: commands that change no machine
_LOOKING = ("history", "status", "prepare", "verify", "tune")


def _given(name: str, folder: Path) -> list[str]:
    machine, packet = str(folder / "wren"), str(folder / "packet")
    match name:
        case "prepare":
            return [machine, "--sheet", str(folder / "wren.yaml"), "-o", str(folder / "made")]
        case "tune":
            return [machine, "--starter", str(folder / "measured.yaml")]
        case "verify" | "install" | "revert":
            return [packet]
        case _:
            return [machine]

"""The attacks on what is kept, at any length: kills, failing calls, any order of commands, one changed byte.

    python tests/bench/soak.py [--times 10] [--seed 1] [--only kills]...

The tests do each of these on a small machine and for a bounded time; here they are done on every sample machine and its
real packet, as often as is asked for. `--times 1` is 440 kills, 310 failing calls, 4,200 steps in any order and
1,800 changed bytes. What is held afterwards is the same everywhere: the files
are the old set or the new one, the history is whole and says which, the same command then goes through, nothing of
the program's own is left lying about, and a changed byte is found and its file named.

This is a tool and no test: pytest does not collect it. It stops at the first thing that is not so, and otherwise prints
how much was done. It measures no time.
"""

from __future__ import annotations

import argparse
import errno
import os
import random
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

TESTS = Path(__file__).parents[1]
sys.path[:0] = [str(TESTS.parent), str(TESTS), str(TESTS / "apply")]

import hypothesis  # noqa: E402
import packetbench as kit  # noqa: E402
from hypothesis.stateful import run_state_machine_as_test  # noqa: E402
from test_any_order import AnyOrder  # noqa: E402
from test_killed import CALLS, run_in_child  # noqa: E402

from cfgmigrate import api  # noqa: E402
from cfgmigrate.apply.install import install  # noqa: E402
from cfgmigrate.apply.revert import revert, revert_to  # noqa: E402
from cfgmigrate.ground.findings import Refused  # noqa: E402
from cfgmigrate.packet.folder import Packet  # noqa: E402
from cfgmigrate.packet.opening import verify_hashes  # noqa: E402
from cfgmigrate.store.history import history  # noqa: E402
from cfgmigrate.store.undoing import recover_at  # noqa: E402

SAMPLES = TESTS.parent / "sample_configs"
KILLS, FAILURES, STEPS, BYTES = 440, 310, 4200, 1800
STEPS_A_WALK = 25
ERRORS = (errno.ENOSPC, errno.EIO, errno.EACCES, errno.EROFS)


@dataclass
class Scene:
    """A machine's configuration with its packet, and one command on them: what it finds and what it leaves."""

    name: str
    root: Path
    template: Path
    work: Callable[[], object]
    old: dict[str, bytes]
    new: dict[str, bytes]
    entries: int

    def reset(self) -> None:
        shutil.rmtree(self.root)
        shutil.copytree(self.template, self.root, symlinks=True)

    def check(self, where: object) -> None:
        """After whatever happened, and after the next command has looked: what must be so."""
        said = recover_at(self.root)
        found = kit.on_disk(self.root)
        assert found in (self.old, self.new), (self.name, where, "neither the old set nor the new one")
        if said is not None:
            assert found == (self.new if said.outcome == "finished" else self.old), (self.name, where, said)
        kept = history(self.root)
        assert kept.whole and len(kept) == self.entries + (found == self.new), (self.name, where, "history")
        assert recover_at(self.root) is None, (self.name, where, "cleared up twice")
        self.work()
        assert kit.on_disk(self.root) == self.new, (self.name, where, "the command after it")
        assert not list(self.root.rglob(".cfgmigrate-*")), (self.name, where, "left lying about")


def scenes(base: Path) -> Iterator[Scene]:
    """Every sample machine, with each of the four ways of changing its files."""
    for sample in sorted(each.name for each in SAMPLES.iterdir() if each.name != "sheets"):
        for way in ("install", "revert", "revert an edited file", "revert to the start"):
            home = base / f"{sample} {way}".replace(" ", "-")
            root = home / "config"
            shutil.copytree(SAMPLES / sample, root)
            packet = packet_of(sample, root, home)
            if way != "install":
                install(packet.folder)
            if way == "revert an edited file":
                edited = root / sorted(packet.after)[0]
                edited.write_bytes(edited.read_bytes() + b"\n")
            yield scene(f"{sample}: {way}", way, packet, root.resolve(), home)


def packet_of(sample: str, root: Path, home: Path) -> Packet:
    return api.prepare([root], SAMPLES / "sheets" / f"{sample}.yaml", out=home / "packet")


def scene(name: str, way: str, packet: Packet, root: Path, home: Path) -> Scene:
    template = home / "template"
    shutil.copytree(root, template, symlinks=True)
    old = kit.on_disk(root)

    def work() -> object:
        if way == "install":
            return install(packet.folder)
        return revert_to(root, "start") if way == "revert to the start" else revert(packet.folder)

    work()
    return Scene(name, root, template, work, old, kit.on_disk(root), 0 if way == "install" else 1)


def calls_of(all_scenes: Sequence[Scene]) -> dict[str, list[str]]:
    """The calls that change the disk, of each scene's command when nothing stops it."""
    passed = {}
    for each in all_scenes:
        each.reset()
        _, passed[each.name] = run_in_child(each.work, None)
    return passed


def kills(many: int, draw: random.Random, base: Path) -> str:
    """SIGKILL before, after or in the middle of any call that changes the disk; now and then a second one while the
    next command clears up after the first."""
    done = twice = 0
    all_scenes = list(scenes(base))
    passed = calls_of(all_scenes)
    while done < many:
        for each in all_scenes:
            each.reset()
            at = draw.randint(1, len(passed[each.name]))
            when = draw.choice(("before", "after", "half"))
            killed, _ = run_in_child(each.work, at, when)
            assert killed, (each.name, at, when)
            done += 1
            if draw.random() < 0.3:
                again, _ = run_in_child(lambda root=each.root: recover_at(root), draw.randint(1, 12), "after")
                twice += again
                done += again
            each.check((at, when))
    return f"{done} kills ({twice} of them while clearing up), on {len(all_scenes)} commands"


def failures(many: int, draw: random.Random, base: Path) -> str:
    """Any call that changes the disk fails once, with one of four errors; sometimes all calls from there on do."""
    done = refused = 0
    all_scenes = list(scenes(base))
    passed = calls_of(all_scenes)
    while done < many:
        for each in all_scenes:
            each.reset()
            number, for_good = draw.choice(ERRORS), draw.random() < 0.3
            at = draw.randint(1, len(passed[each.name]))
            with failing(at, number, for_good):
                try:
                    each.work()
                except Refused:
                    refused += 1
            done += 1
            each.check((at, errno.errorcode[number], for_good))
    return f"{done} failing calls ({refused} refused the command), on {len(all_scenes)} commands"


class failing:
    """Within it the call number `at` that changes the disk raises an error; all later ones too where `for_good`."""

    def __init__(self, at: int, number: int, for_good: bool) -> None:
        self.at, self.number, self.for_good = at, number, for_good
        self.count = 0
        self.real = {name: getattr(os, name) for name in CALLS}

    def __enter__(self) -> None:
        for name in CALLS:
            setattr(os, name, self._watched(name))

    def __exit__(self, *_: object) -> None:
        for name, call in self.real.items():
            setattr(os, name, call)

    def _watched(self, name: str) -> Callable[..., Any]:
        def call(*args: Any, **kwargs: Any) -> Any:
            if name == "open" and not (len(args) > 1 and args[1] & os.O_CREAT):
                return self.real[name](*args, **kwargs)
            self.count += 1
            if self.count == self.at or (self.for_good and self.count > self.at and name != "unlink"):
                raise OSError(self.number, os.strerror(self.number), "somewhere")
            return self.real[name](*args, **kwargs)

        return call


def walk(many: int, draw: random.Random, base: Path) -> str:
    """Prepare, review, install, edit by hand, tune, revert and go back, in any order, against a plain model."""
    walks = -(-many // STEPS_A_WALK)
    chosen = hypothesis.settings(
        max_examples=walks, stateful_step_count=STEPS_A_WALK, deadline=None, database=None,
        phases=[hypothesis.Phase.generate], suppress_health_check=list(hypothesis.HealthCheck),
    )  # fmt: skip
    counted = 0

    class Counted(AnyOrder):
        def check_invariants(self, *args: Any, **kwargs: Any) -> None:
            nonlocal counted
            counted += 1
            super().check_invariants(*args, **kwargs)

    hypothesis.seed(draw.randrange(1 << 30))(Counted)
    run_state_machine_as_test(Counted, settings=chosen)
    return f"{counted} steps in {walks} walks"


def changed_bytes(many: int, draw: random.Random, base: Path) -> str:
    """One bit or one whole byte of a packet's file is another: the file is named."""
    packets = []
    for sample in sorted(each.name for each in SAMPLES.iterdir() if each.name != "sheets"):
        home = base / f"{sample} bytes"
        root = home / "config"
        shutil.copytree(SAMPLES / sample, root)
        packets.append(packet_of(sample, root, home).folder)
    done = 0
    while done < many:
        for folder in packets:
            path = draw.choice([each for each in sorted(folder.rglob("*")) if each.is_file()])
            whole = path.read_bytes()
            if not whole:
                continue
            at = draw.randrange(len(whole))
            other = draw.choice((whole[at] ^ (1 << draw.randrange(8)), draw.randrange(256)))
            if other == whole[at]:
                continue
            path.write_bytes(whole[:at] + bytes([other]) + whole[at + 1 :])
            name = path.relative_to(folder).as_posix()
            faults = {fault.file for fault in verify_hashes(folder)}
            path.write_bytes(whole)
            assert name in faults, (folder.name, name, at, whole[at], other)
            done += 1
    return f"{done} changed bytes in {len(packets)} packets"


PARTS: dict[str, tuple[int, Callable[[int, random.Random, Path], str]]] = {
    "kills": (KILLS, kills),
    "failures": (FAILURES, failures),
    "walk": (STEPS, walk),
    "bytes": (BYTES, changed_bytes),
}


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--times", type=float, default=1.0, help="how often what was done once")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", action="append", choices=sorted(PARTS), default=[])
    given = parser.parse_args()
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    for name, (once, attack) in PARTS.items():
        if given.only and name not in given.only:
            continue
        with tempfile.TemporaryDirectory(dir=memory) as place:
            print(
                attack(round(once * given.times), random.Random(given.seed), Path(place).resolve()),
                flush=True,
            )


if __name__ == "__main__":
    main()

"""The way back compared with a three-way merge from outside: `git merge-file`.

Source: git (`git merge-file -p PRESENT INSTALLED BEFORE`), whose base is the installed file, with the file
as edited since on one side and the file before on the other. Where git merges without a conflict, its
result must be the same, byte for byte. We go further than lines do, and may restore where it finds a
conflict, for it can't tell two values on neighbouring lines apart. We see a conflict where it merges in one
case only, on purpose: when a section's head was removed or renamed, the line below it means another thing.
"""

from __future__ import annotations

import random
import subprocess
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.apply.file_revert import Answers, Returning
from cfgmigrate.apply.locate import SpanState
from cfgmigrate.plan.edits import FileStep, Span

KEYS = [f"key {number}" for number in range(24)]


def config(values: dict[str, str]) -> bytes:
    """A file of several sections, every key in it once."""
    lines: list[str] = []
    for number, (key, value) in enumerate(values.items()):
        if number % 6 == 0:
            lines += ["", f"[part {number // 6}]  # of the ringing hut"]
        lines.append(f"{key}: {value}")
    return ("\n".join(lines) + "\n").encode()


def merged_by_git(folder: Path, present: bytes, installed: bytes, before: bytes) -> bytes | None:
    """What git makes of it, None where it finds a conflict."""
    names = []
    for name, data in (("present", present), ("installed", installed), ("before", before)):
        (folder / name).write_bytes(data)
        names.append(name)
    run = subprocess.run(["git", "merge-file", "-p", *names], cwd=folder, capture_output=True, check=False)
    return run.stdout if run.returncode == 0 else None


def step_of(old: dict[str, str], new: dict[str, str]) -> FileStep:
    """The install that changed the values in which `old` and `new` differ."""
    before, after = config(old), config(new)
    spans = []
    for key in old:
        if old[key] != new[key]:
            b = before.index(f"{key}: ".encode()) + len(key) + 2
            a = after.index(f"{key}: ".encode()) + len(key) + 2
            spans.append(Span(key, b, b + len(old[key]), a, a + len(new[key])))
    return FileStep("wren.ini", "sectioned", before, after, tuple(spans))


def edited(data: bytes, seed: int) -> bytes:
    """Hand edits: lines removed, doubled comments, values and comments changed, blank lines added."""
    chance = random.Random(seed)
    lines = data.split(b"\n")
    for _ in range(chance.randrange(1, 5)):
        at = chance.randrange(len(lines))
        match chance.randrange(5):
            case 0:
                lines.insert(at, b"# looked at on %d May" % chance.randrange(1, 32))
            case 1:
                lines.insert(at, b"")
            case 2:
                lines[at] += b"   # was %d" % chance.randrange(100) if lines[at] else b""
            case 3:
                lines[at] = lines[at].replace(b": 1", b": 7")
            case _ if not lines[at].startswith(b"["):
                del lines[at]
    return b"\n".join(lines)


def compared(folder: Path, moved: list[str], seed: int) -> str:
    """Who merges: "both", "we" or "neither"; where git does, the results are the same."""
    old = {key: str(100 + number) for number, key in enumerate(KEYS)}
    step = step_of(old, {key: f"{int(old[key]) * 2}.5" if key in moved else old[key] for key in KEYS})
    present = edited(step.after, seed)
    returning = Returning("wren.ini", present)
    returning.take_back(step, Answers())
    conflicts = [(item.name, item.why) for item in returning.conflicts()]
    assert {why for _, why in conflicts} <= {SpanState.CHANGED.value, SpanState.GONE.value}
    made = returning.step()
    theirs = merged_by_git(folder, present, step.after, step.before or b"")
    if theirs is None:
        return "neither" if conflicts else "we"
    assert not conflicts
    assert theirs == (made.after if made else present)
    return "both"


@given(
    moved=st.lists(st.sampled_from(KEYS), min_size=1, max_size=5, unique=True),
    seed=st.integers(0, 2**32),
)
def test_where_git_merges_the_result_is_the_same(
    tmp_path_factory: pytest.TempPathFactory, moved: list[str], seed: int
) -> None:
    compared(tmp_path_factory.mktemp("merge"), moved, seed)


def test_git_merges_often_enough_for_the_comparison_to_mean_something(tmp_path: Path) -> None:
    chance = random.Random(7)
    met = Counter(compared(tmp_path, chance.sample(KEYS, 3), seed) for seed in range(60))
    assert met["both"] > 20 and met["we"] > 5 and met["neither"] > 0, met


def test_where_a_section_was_renamed_git_merges_and_we_ask(tmp_path: Path) -> None:
    old = {key: str(100 + number) for number, key in enumerate(KEYS)}
    step = step_of(old, {**old, "key 2": "204.5"})
    present = step.after.replace(b"[part 0]", b"[part 9]")
    assert merged_by_git(tmp_path, present, step.after, step.before or b"") == (
        present.replace(b"204.5", b"102")
    )
    returning = Returning("wren.ini", present)
    returning.take_back(step, Answers())
    assert [item.name for item in returning.conflicts()] == ["key 2"]

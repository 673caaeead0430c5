"""Any bytes at all, for each grammar: no traceback, no hang, no changed byte.

The fuzzer is PyPI's `atheris`, which has wheels for some systems only; elsewhere these tests are skipped. It
runs in a process of its own, bounded by runs and by time: `tests/bench/fuzz.py`.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
from pathlib import Path

import pytest

FUZZ = Path(__file__).parents[1] / "bench" / "fuzz.py"
GRAMMARS = sorted(path.stem for path in (Path(__file__).parents[2] / "grammars").glob("*.lark"))
SECONDS = {"exhaustive": 5, "long": 600}.get(os.environ.get("HYPOTHESIS_PROFILE", ""), 4)
RUNS = 2000 * SECONDS


@pytest.mark.exhaustive
@pytest.mark.skipif(
    importlib.util.find_spec("atheris") is None,
    reason="atheris is not installed: PyPI has no wheel of it for this system or Python",
)
@pytest.mark.parametrize("grammar", GRAMMARS)
def test_no_bytes_bring_a_traceback_a_hang_or_a_changed_byte(grammar: str, tmp_path: Path) -> None:
    seeds, found = tmp_path / "seeds", tmp_path / "found"
    seeds.mkdir()
    found.mkdir()
    environment = {**os.environ, "PYTHONPATH": str(FUZZ.parents[2])}
    subprocess.run([sys.executable, FUZZ, "seed", grammar, seeds], check=True, env=environment)
    bounds = [f"-runs={RUNS}", f"-max_total_time={SECONDS}", "-timeout=90", "-max_len=1500", "-seed=7"]
    done = subprocess.run(
        [sys.executable, FUZZ, grammar, *bounds, f"-artifact_prefix={found}/", seeds],
        env=environment,
        capture_output=True,
        text=True,
        errors="replace",
    )
    brought = [path.read_bytes() for path in sorted(found.iterdir())]
    assert not brought, f"{brought[0]!r}\n{done.stdout[-1500:]}\n{done.stderr[-3000:]}"
    assert done.returncode == 0, done.stderr[-3000:]
    assert "Done " in done.stderr, done.stderr[-3000:]

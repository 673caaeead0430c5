"""One command line, run in this process as the installed command runs it: what tests of commands share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from cfgmigrate.cli import DEFECT, run


@dataclass(frozen=True)
class Said:
    """What one command line gave."""

    status: int
    out: str
    err: str


Runner = Callable[..., Said]


@pytest.fixture
def cli(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Runs one command line; whatever it does, no traceback is shown."""

    def call(*arguments: str | Path) -> Said:
        capsys.readouterr()
        status = run([str(argument) for argument in arguments])
        shown = capsys.readouterr()
        assert "Traceback" not in shown.out + shown.err
        assert status != DEFECT, shown.err
        return Said(status, shown.out, shown.err)

    return call

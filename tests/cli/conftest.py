"""The command line for every test of it."""

from __future__ import annotations

from pathlib import Path

import pytest
from commandline import Runner, Said

from cfgmigrate.cli import DEFECT, run


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

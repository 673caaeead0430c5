"""A real browser for tests of pages: Debian's chromium, driven from here, and axe-core, which looks for barriers.

Where chromium, playwright or npm are missing, a test that asks for them says so and is skipped.
"""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from typing import Any

import pytest

CHROMIUM = shutil.which("chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture(scope="module")
def driver() -> Iterator[Any]:
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if CHROMIUM is None:
        pytest.skip("Debian's chromium is not installed")
    with sync_api.sync_playwright() as found:
        yield found


@pytest.fixture(scope="session")
def axe(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The source of axe-core, fetched with npm for this run."""
    npm = shutil.which("npm")
    if npm is None:
        pytest.skip("npm is not installed: axe-core can't be fetched")
    folder = tmp_path_factory.mktemp("axe")
    command = [
        npm,
        "install",
        "--no-audit",
        "--no-fund",
        "--ignore-scripts",
        "--prefix",
        str(folder),
        "axe-core",
    ]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)
    source = folder / "node_modules" / "axe-core" / "axe.min.js"
    if done.returncode or not source.is_file():
        pytest.skip(f"npm could not fetch axe-core: {done.stderr.strip()[-200:]}")
    return source.read_text(encoding="utf-8")

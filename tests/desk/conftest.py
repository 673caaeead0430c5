"""What all tests of the desk have in common."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from deskbench import needed_once


@pytest.fixture(autouse=True)
def _needed_once() -> Iterator[None]:
    with needed_once():
        yield

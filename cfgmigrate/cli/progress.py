"""Tells on standard error what a command is at, once that takes longer than a second.

On a terminal one line is written over and over, and taken away at the end. Elsewhere a line comes after ten seconds,
and then twice as long after the last one each time, so that a log stays short. A thread looks at what runs; the work
itself knows nothing of it. The line is gone as soon as a stage ends, so that what is printed next never stands behind it.
"""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

from cfgmigrate.ground.progress import called_at_the_end, now

SILENT = 1.0
"""So long (s) nothing is said."""
FIRST_LINE = 10.0
"""After so long (s) the first line goes into a pipe."""
REDRAW = 0.2


@contextmanager
def told(out: TextIO | None = None) -> Iterator[None]:
    """Tell what runs while the block does."""
    teller = _Teller(out or sys.stderr)
    thread = threading.Thread(target=teller.run, daemon=True)
    thread.start()
    try:
        with called_at_the_end(teller.taken_away):
            yield
    finally:
        teller.ended.set()
        thread.join()


class _Teller:
    def __init__(self, out: TextIO) -> None:
        self.out = out
        self.terminal = out.isatty()
        self.ended = threading.Event()
        self.next_line = FIRST_LINE
        self.shown = 0
        self.one_at_a_time = threading.Lock()

    def run(self) -> None:
        try:
            while not self.ended.wait(REDRAW):
                with self.one_at_a_time:
                    self.look(time.monotonic())
            self.taken_away()
        except (OSError, ValueError):  # standard error is gone: there is nobody to tell
            return

    def look(self, clock: float) -> None:
        """Say what runs at that moment, if it is time to."""
        running = now()
        if running is None:
            self.wipe()
            return
        took = clock - running.since
        text = f"{running.name} … {took:.0f} s"
        if self.terminal and took >= SILENT:
            self.write(f"\r{text.ljust(self.shown)}")
            self.shown = len(text)
        elif not self.terminal and took >= self.next_line:
            self.write(f"{text}\n")
            self.next_line *= 2

    def taken_away(self) -> None:
        """Take the line away; where standard error is gone there is none."""
        with self.one_at_a_time, suppress(OSError, ValueError):
            self.wipe()

    def wipe(self) -> None:
        if self.shown:
            self.write(f"\r{' ' * self.shown}\r")
            self.shown = 0

    def write(self, text: str) -> None:
        self.out.write(text)
        self.out.flush()

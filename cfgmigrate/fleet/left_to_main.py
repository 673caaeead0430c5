"""Loaded first where a fleet's workers come from: from then on Ctrl-C is left to the main process.

Else one that comes while the rest is loaded shows an error of each of them. The main process must not load this.
"""

from __future__ import annotations

import signal

signal.signal(signal.SIGINT, signal.SIG_IGN)

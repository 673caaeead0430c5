"""The words that mean the same at every question of an interview, whatever is asked: back, later, stop, don't know.

What else may be answered is the matter of each question.
"""

from __future__ import annotations

BACK = frozenset({"back", "b"})
LATER = frozenset({"later", "l"})
STOP_WORDS = frozenset({"stop", "quit", "exit", "q"})
DONT_KNOW = frozenset({"don't know", "dont know", "don’t know", "do not know", "unknown", "-"})

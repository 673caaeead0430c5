"""JSON text with nothing in it that acts on what shows it: a terminal, an editor, a page.

Letters of every script stay as they are. What is read from it is the same, since JSON has escapes of its own.
"""

from __future__ import annotations

import unicodedata

# Control, format, surrogate, private and unassigned characters, and the two Unicode line ends.
HARMFUL = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def inert_json(text: str) -> str:
    """JSON text that is the same JSON, with nothing in it that acts on what shows it: control, format and direction
    characters as JSON's own escapes."""
    if text.isascii() and "\x7f" not in text:
        return text
    return "".join(
        _json_escape(letter) if letter != "\n" and unicodedata.category(letter) in HARMFUL else letter
        for letter in text
    )


def _json_escape(letter: str) -> str:
    code = ord(letter)
    if code < 0x10000:
        return f"\\u{code:04x}"
    code -= 0x10000
    return f"\\u{0xD800 + (code >> 10):04x}\\u{0xDC00 + (code & 0x3FF):04x}"

"""JSON text with nothing in it that acts on what shows it: a terminal, an editor, a page.

Letters of every script stay as they are. What is read from it is the same, since JSON has escapes of its own.
"""

from __future__ import annotations

import unicodedata

from cfgmigrate.ground.pattern import pattern

# Control, format, surrogate, private and unassigned characters, and the two Unicode line ends.
HARMFUL = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
#: most of a text is none of these, so no others are looked at; and most texts have none that can't be printed, as each
#: of the harmful is
_UNUSUAL = pattern(r"[^\n -~]")


def inert_json(text: str) -> str:
    """JSON text that is the same JSON, with nothing in it that acts on what shows it: control, format and direction
    characters as JSON's own escapes."""
    if text.replace("\n", " ").isprintable():
        return text
    return _UNUSUAL.sub(
        lambda found: _json_escape(found[0]) if unicodedata.category(found[0]) in HARMFUL else found[0], text
    )


def _json_escape(letter: str) -> str:
    code = ord(letter)
    if code < 0x10000:
        return f"\\u{code:04x}"
    code -= 0x10000
    return f"\\u{0xD800 + (code >> 10):04x}\\u{0xDC00 + (code & 0x3FF):04x}"

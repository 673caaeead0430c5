"""Regular expressions that are compiled when they are first used.

Python compiles an expression in as long as it takes to import a small module, and a command uses half of those that stand in
the modules it imports. What is used is the compiled expression itself, from its second use on without a detour.

This module deliberately checks nothing: an expression that is none shows where it is used, so every one has to be used by a test.
"""

from __future__ import annotations

import re
from typing import Any, AnyStr, cast

_METHODS = ("search", "match", "fullmatch", "findall", "finditer", "split", "sub", "subn")


class _Later:
    def __init__(self, text: str | bytes, flags: int) -> None:
        self._given = text, flags
        self.pattern = text  # many stand in others, and are not used themselves

    def __getattr__(self, name: str) -> Any:
        text, flags = self._given
        compiled = re.compile(text, flags)
        for method in _METHODS:
            setattr(self, method, getattr(compiled, method))
        self.flags = compiled.flags
        return getattr(compiled, name)


def pattern(text: AnyStr, flags: int = 0) -> re.Pattern[AnyStr]:
    """`re.compile(text, flags)`, put off."""
    return cast("re.Pattern[AnyStr]", _Later(text, flags))

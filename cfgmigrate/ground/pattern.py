"""Regular expressions that are compiled when they are first used, or first needed.

Python compiles an expression in as long as it takes to import a small module, and a command uses half of those that stand in
the modules it imports. What is used is the compiled expression itself, from its second use on without a detour.

Most of what is used matches nothing, as few files say what it looks for. So an expression may say what it `needs`: some
words or signs, in small letters, one of which stands in whatever it matches. It is compiled when a text has one of them; to
look for them takes no longer than a match would.

This module deliberately checks nothing: an expression that is none shows where it is used, so every one has to be used by a test.
That it can't match without what it needs is proved by a test for all of them (`tests/ground/test_pattern.py`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, AnyStr, cast

_METHODS = ("search", "match", "fullmatch", "findall", "finditer", "split", "sub", "subn")
#: letters that `re` takes for others where it ignores case, and `lower` does not
_TAKEN_FOR_OTHERS = "\u017f\u0130\u0131"


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


class _Needing(_Later):
    """One that is compiled when a text may match. From then on its methods are the compiled expression's."""

    def __init__(self, text: Any, flags: int, needs: tuple[Any, ...]) -> None:
        super().__init__(text, flags)
        self.needs = needs

    def search(self, text: Any, *span: int) -> Any:
        return self._compiled("search")(text, *span) if self._may_match(text, *span) else None

    def match(self, text: Any, *span: int) -> Any:
        return self._compiled("match")(text, *span) if self._may_match(text, *span) else None

    def fullmatch(self, text: Any, *span: int) -> Any:
        return self._compiled("fullmatch")(text, *span) if self._may_match(text, *span) else None

    def findall(self, text: Any, *span: int) -> list[Any]:
        return (
            cast("list[Any]", self._compiled("findall")(text, *span)) if self._may_match(text, *span) else []
        )

    def finditer(self, text: Any, *span: int) -> Iterator[Any]:
        return self._compiled("finditer")(text, *span) if self._may_match(text, *span) else iter(())

    def sub(self, by: Any, text: Any, count: int = 0) -> Any:
        return self._compiled("sub")(by, text, count) if self._may_match(text) else text

    def _compiled(self, method: str) -> Any:
        return _Later.__getattr__(self, method)

    def _may_match(self, text: Any, *span: int) -> bool:
        part = (text[slice(*span)] if len(span) > 1 else text[span[0] :]) if span else text
        small = part.lower()
        if any(need in small for need in self.needs):
            return True
        return (
            isinstance(part, str) and not part.isascii() and any(each in part for each in _TAKEN_FOR_OTHERS)
        )


def pattern(text: AnyStr, flags: int = 0, needs: tuple[AnyStr, ...] = ()) -> re.Pattern[AnyStr]:
    """`re.compile(text, flags)`, put off. Nothing matches in which none of `needs` stands, in small or capital letters."""
    return cast("re.Pattern[AnyStr]", _Needing(text, flags, needs) if needs else _Later(text, flags))

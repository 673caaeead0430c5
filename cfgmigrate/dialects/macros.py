"""Names that C preprocessor lines define, as far as the files say.

A name is defined, or it is known not to be, or that can't be told. It is known not to be where the files
themselves speak of it: where they define it elsewhere, or hold its `#define` commented out, for then a
person switched it off there. Of any other name the files know nothing: it may come from outside.

The text behind a name is put in as C does it: again and again, at the time of use, and never within its
own text. Names that take arguments are known to exist; what they come to is not worked out.
"""

from __future__ import annotations

import re

from msgspec import Struct, field

from cfgmigrate.dialects.condition import holds
from cfgmigrate.ground.pattern import pattern

_DEFINED = pattern(r"\bdefined\s*(?:\(\s*((?:[^\W\d]|\$)[\w$]*)\s*\)|((?:[^\W\d]|\$)[\w$]*))")
_TOKEN = pattern(
    r"""(?P<other>"(?:[^"\\]|\\.)*"|'(?:[^'\\]|\\.)*'|\.?[0-9](?:[eEpP][+-]|[\w.])*)"""
    r"""|(?P<name>(?:[^\W\d]|\$)[\w$]*)"""
)
#: without one of these a text has no names
_IN_NAMES = pattern(r"[^\W\d]|\$")
_WORTH = {True: "1", False: "0", None: "@"}
#: A text that would grow past this is left as it is.
_LONGEST = 4000
_DEEPEST = 100


class _TooMuch(Exception):
    """The text behind a name grows past all bounds."""


class Macros(Struct):
    """What is defined at one point of the files.

    `texts` are the names that are surely defined with their text, None where it takes arguments or is not
    known; `unsure` are names of which it can't be told whether they are defined. `own` are all names that
    the files themselves speak of.
    """

    own: frozenset[str] = frozenset()
    texts: dict[str, str | None] = field(default_factory=dict)
    unsure: set[str] = field(default_factory=set)

    def define(self, name: str, text: str | None, *, surely: bool = True) -> None:
        if surely:
            self.texts[name] = text
            self.unsure.discard(name)
        elif name in self.texts:
            self.texts[name] = None
        else:
            self.unsure.add(name)

    def undefine(self, name: str, *, surely: bool = True) -> None:
        known = name in self.texts or name in self.unsure
        self.texts.pop(name, None)
        if surely or not known:
            self.unsure.discard(name)
        else:
            self.unsure.add(name)

    def defined(self, name: str) -> bool | None:
        """Whether a name is defined; None where that can't be told."""
        if name in self.texts:
            return True
        return False if name in self.own and name not in self.unsure else None

    def holds(self, condition: str) -> bool | None:
        """Whether the condition of an `#if` holds; None where that can't be told."""
        text = condition
        if "defined" in text:
            text = _DEFINED.sub(lambda found: f" {_WORTH[self.defined(found[1] or found[2])]} ", text)
        try:
            text = self._put_in(text)
        except _TooMuch:
            return None
        if _IN_NAMES.search(text):
            text = _TOKEN.sub(lambda found: found["other"] or self._worth(found["name"]), text)
        return holds(text)

    def resolve(self, name: str, text: str) -> str:
        """The text of a name with what stands behind the names in it; the text itself where it grows too long."""
        try:
            return self._put_in(text, frozenset((name,)))
        except _TooMuch:
            return text

    def _worth(self, name: str) -> str:
        """What a name that stands for nothing counts in a condition: C takes it for 0."""
        if name in ("true", "false"):
            return "1" if name == "true" else "0"
        return "@" if self.defined(name) is not False else "0"

    def _put_in(self, text: str, within: frozenset[str] = frozenset()) -> str:
        left = _LONGEST

        def put_in(text: str, within: frozenset[str]) -> str:
            nonlocal left

            def one(found: re.Match[str]) -> str:
                nonlocal left
                name = found["name"]
                behind = self.texts.get(name) if name and name not in within else None
                if behind is None:
                    return found[0]
                left -= len(behind) + 1
                if left < 0 or len(within) > _DEEPEST:
                    raise _TooMuch
                return put_in(behind, within | {name})

            return _TOKEN.sub(one, text) if _IN_NAMES.search(text) else text

        return put_in(text, within)

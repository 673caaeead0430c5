"""Constants that a header declares as C and C++ have them: `constexpr float kPitch = 1.25;`, `static const int …`.

A declaration is a setting where it is constant, has a name and a value, and stands in no function. One of a struct that
the same file defines is a setting for each member: `kPull.length`. The namespaces, classes and structs that it stands in are
its section, joined by dots; `extern "C"` is passed over.

This module deliberately works nothing out and knows no types: enumerations, arguments and anything that
changes are code.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from cfgmigrate.ground.pattern import pattern

_SPECIFIER = r"(?:static|inline|constexpr|constinit|const)"
_BEGIN = pattern(
    rf"[ \t]*(?:{_SPECIFIER}\s++)++[A-Za-z_][\w:]*(?:<[^<>=;]*>)?\s++[^=;{{}}()]*+(?:=|\{{)", re.ASCII
)
_DECLARED = pattern(
    rf"\s*(?:{_SPECIFIER}\s++)++(?P<type>[A-Za-z_][\w:]*(?:<[^<>=;]*>)?(?:\s+(?!const\b)(?:int|long|char|short|float|double)\b)*)\s+"
    r"(?:const\s+)?(?P<name>[A-Za-z_]\w*)\s*(?:\[[^\]]*\]\s*)*(?:=\s*|(?=\{))"
    r"(?P<value>[^;]*[^;\s])\s*;\s*(?://[^\r\n]*|/\*.*)?\s*",
    re.ASCII | re.DOTALL,
)
_STRUCT = pattern(r"\s*(?:typedef\s+)?struct\s+(?P<name>[A-Za-z_]\w*)\s*(?:\{|$)", re.ASCII)
_AROUND = pattern(r"\s*(?:inline\s+)?(?:namespace|extern|struct|class|union|typedef)\b")
_SCOPE = pattern(r"\b(?:namespace|class|struct|union)\s+(?P<name>[A-Za-z_]\w*(?:::[A-Za-z_]\w*)*)", re.ASCII)
_MEMBER = pattern(r"[A-Za-z_][\w:<> ]*?\s+(?P<name>[A-Za-z_]\w*)\s*(?:=[^;]*|\{[^;]*\})?;", re.ASCII)
_UNSAID = pattern(r'"(?:[^"\\]++|\\.)*+"?|//[^\r\n]*|/\*.*?(?:\*/|$)', re.DOTALL)
_ITEM = pattern(r"(?:\.(?P<member>[A-Za-z_]\w*)\s*=\s*)?(?P<value>[^\s,{}][^,{}]*?)\s*(?:,|\}|$)", re.ASCII)
#: a declaration over more lines is a table
_LONGEST = 12

Found = tuple[str, str, int, int]
"""A section, a name, and where its value begins and ends."""


class Declarations:
    """The declarations of one file, line by line."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.open: list[tuple[str, str]] = []
        self.scopes: list[str] = []
        self.members: dict[str, list[str]] = {}
        self.begun: int | None = None
        self.lines = 0
        self.before = ""

    def take(self, start: int, end: int) -> Iterator[Found]:
        """The settings that the line of code at `start`..`end` declares, or ends."""
        line = _UNSAID.sub(lambda found: " " * len(found[0]), self.text[start:end])
        if self.begun is None and _BEGIN.match(line) and all(kind != "code" for kind, _ in self.open):
            self.begun, self.lines = start, 0
        if self.begun is not None:
            self.lines += 1
            if ";" not in line and self.lines <= _LONGEST:
                return
            begun, self.begun = self.begun, None
            yield from self._declared(begun, end)
            return
        self._braces(line)

    def _declared(self, start: int, end: int) -> Iterator[Found]:
        found = _DECLARED.fullmatch(self.text, start, end)
        if found is None:
            return
        members = self.members.get(found["type"].rpartition("::")[2])
        section = ".".join(scope for scope in self.scopes if scope)
        if members is None or not found["value"].startswith("{"):
            yield section, found["name"], found.start("value"), found.end("value")
            return
        for at, item in enumerate(_ITEM.finditer(self.text, found.start("value") + 1, found.end("value"))):
            member = item["member"] or (members[at] if at < len(members) else "")
            if member:
                yield section, f"{found['name']}.{member}", item.start("value"), item.end("value")

    def _braces(self, line: str) -> None:
        """Follows what is open around the next line."""
        struct = _STRUCT.match(line)
        inside = line[struct.end() :] if struct else line
        if struct:
            self.members.setdefault(struct["name"], [])
        owner = struct["name"] if struct else (self.open[-1][1] if self.open else "")
        if owner:
            self.members[owner].extend(found["name"] for found in _MEMBER.finditer(inside))
        said = line if line.strip(" \t\r\n{") else self.before
        scopes = (found["name"].replace("::", ".") for found in _SCOPE.finditer(said))
        named = _STRUCT.match(said.rstrip())
        kind = "around" if _AROUND.match(said) else "code"
        for sign in line:
            if sign == "{":
                self.open.append((kind, named["name"] if named else ""))
                self.scopes.append(next(scopes, "") if kind == "around" else "")
            elif sign == "}" and self.open:
                self.open.pop()
                self.scopes.pop()
        self.before = line if line.strip() else self.before


def declares(line: str) -> bool:
    """Whether a line of code is a whole constant declaration with a value."""
    return bool(_DECLARED.fullmatch(line))

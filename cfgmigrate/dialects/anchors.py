"""Anchors, aliases and merge keys of an indented file (YAML 1.2.2, 3.2.2.2 and 7.1; `<<` is the merge key of YAML
1.1's type repository): what stands once and counts in several places.

A member that is an alias gets the settings of what the anchor stands at, in its own section: `retraction: *pull` has a
`length` as if it were written there. Such a setting stands at the alias, and `Setting.behind` is where its text is. What
a merge key brings in counts only where the section itself has no member of that name, wherever it stands.

What this module deliberately does not do: unfold a text of several lines, for what is in it has a place of its own; or
an anchor within itself.
"""

from __future__ import annotations

from msgspec import Struct, field

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.source import Source
from cfgmigrate.ground.pattern import pattern

_NAME = r"[^\s,\[\]{}]+"
ANCHOR = pattern(rf"&(?P<name>{_NAME})(?:[ \t]+|(?=[\r\n]|\Z))")
ALIAS = pattern(rf"\*(?P<name>{_NAME})[ \t]*")
ALIASES = pattern(rf"\[[ \t]*\*{_NAME}[ \t]*(?:,[ \t]*\*{_NAME}[ \t]*){{0,99}}\][ \t]*")
MERGE_KEY = "<<"
#: so many settings of one file may come from aliases
MOST_UNFOLDED = 5000
_WRITE = "write the value itself"
_SEVERAL_LINES = pattern(r"[\r\n]|\\[nr]")


class _Anchor(Struct, frozen=True):
    """What an anchor stands at: the path of its member, and the number of the first setting there."""

    path: str
    first: int


class Anchors(Struct):
    """The anchors of one file while its lines go by."""

    source: Source
    named: dict[str, _Anchor] = field(default_factory=dict)
    #: what a merge key brought in: the section that has it, by the setting's number
    merged: dict[int, str] = field(default_factory=dict)
    #: the paths of all members that are written, and of those that were brought in, by section
    own: set[str] = field(default_factory=set)
    brought: dict[str, set[str]] = field(default_factory=dict)
    taken: int = 0

    def anchor(self, path: str, start: int, end: int) -> int:
        """Keeps the anchor at `start`, if there is one, as that of a member; where what follows it begins."""
        found = ANCHOR.match(self.source.text, start, end)
        if found is None:
            return start
        self.named[found["name"]] = _Anchor(path, len(self.source.keys))
        return found.end()

    def merge(self, section: str, start: int, end: int) -> None:
        """Brings in what the alias, or the list of aliases, at `start`..`end` stands for."""
        for found in ALIAS.finditer(self.source.text, start, end):
            before = frozenset(self.brought.setdefault(section, set()))
            self.take(section, "", *found.span(), before)

    def take(
        self, section: str, key: str, start: int, end: int, before: frozenset[str] | None = None
    ) -> None:
        """Adds the settings of an alias at `start`..`end` as those of a member; with `before`, which are the members that
        were merged already, as those that a merge key brings into the section. A doubt where it stands for nothing."""
        found = ALIAS.match(self.source.text, start, end)
        assert found is not None
        anchor = self.named.get(found["name"], _Anchor("", len(self.source.keys)))
        why = self._unknown(anchor.path, joined(section, key))
        span = start, start + len(found[0].rstrip(" \t"))
        for number in self._settings_of(anchor) if not why else ():
            self.taken += 1
            if self.taken > MOST_UNFOLDED:
                why = f"aliases bring in more than {MOST_UNFOLDED} values here; not all are read"
                break
            self._copy(number, anchor.path, section, key, span, before)
        if why:
            self.source.doubt(start, end, why, _WRITE)

    def _unknown(self, of: str, path: str) -> str:
        """Why an alias of a member, whose anchor is at the path `of`, stands for nothing that can be read, "" where it can."""
        if not of:
            return "an alias stands here, and no anchor of that name above it; the line is not read"
        if path == of or path.startswith(f"{of}."):
            return "an alias stands here within what its own anchor stands at; the line is not read"
        return ""

    def _settings_of(self, anchor: _Anchor) -> list[int]:
        """The settings that stand at an anchor, or in the block that it is of, without those that count for nothing."""
        found = []
        for number in range(anchor.first, len(self.source.keys)):
            path = joined(self.source.sections[number], self.source.keys[number])
            if path != anchor.path and not path.startswith(f"{anchor.path}."):
                break
            if not self._overruled(number):
                found.append(number)
        return found

    def _copy(
        self,
        number: int,
        of: str,
        section: str,
        key: str,
        span: tuple[int, int],
        before: frozenset[str] | None,
    ) -> None:
        source = self.source
        there = source.behind.get(number) or (source.starts[number], source.ends[number])
        whole = joined(source.sections[number], source.keys[number]) == of
        into = joined(section, key)
        below, name = source.sections[number][len(of) :].lstrip("."), source.keys[number]
        if whole and before is not None:
            source.doubt(*span, "a merge key needs a block, and one value stands there", _WRITE)
            return
        if _SEVERAL_LINES.search(source.value(number)):
            line, _ = source.where(there[0])
            why = f"the alias stands for the text in line {line}; what is in it is looked at there alone"
            source.doubt(*span, why, "look at that text for this place too")
            return
        if before is not None:
            member = joined(into, (below or name).partition(".")[0])
            if member in before:
                return
            self.brought[into].add(member)
            self.merged[len(source.keys)] = into
        if whole and not key:
            return
        source.behind[len(source.keys)] = there
        source.setting(section if whole else joined(into, below), key if whole else name, *span)

    def _overruled(self, number: int) -> bool:
        """Whether the section itself has the member by which a merge key brought a setting in."""
        into = self.merged.get(number)
        if into is None:
            return False
        path = joined(self.source.sections[number], self.source.keys[number])
        return joined(into, path[len(into) :].lstrip(".").partition(".")[0]) in self.own

    def end(self) -> None:
        """The file ends here: what a section says itself counts, not what was merged."""
        for number in self.merged:
            if self._overruled(number):
                self.source.states[number] = State.INACTIVE


def joined(section: str, key: str) -> str:
    """The path of a member."""
    return f"{section}.{key}" if section and key else section or key

"""Nested files without brackets: one member a line, what belongs to it indented below, as in YAML 1.2.2, chapter 8.

What is read of YAML is what people write configurations in: `key: value`, `key:` with members below, items behind
`- `, lists and objects in brackets on one line, quotes, `#` remarks, texts of several lines behind `|` or `>`, and
`!include FILE`. Sections and keys are those of the other nested files. A value is what is written, quotes included.

Texts behind `- ` are one value of their list's key, from the first to the last: a script has a line in each. Where members
stand between them, each run of texts is by itself, and its key is the number of its first. Numbers alone and words without
a number are no such texts.

What an alias or a merge key stands for is read at its own place too (`anchors.py`). A tag is a doubt, and no setting.
This module stops at the first line that fits nothing, for what stands behind it may belong to anything.
"""

from __future__ import annotations

import re

from msgspec import Struct, field

from cfgmigrate.dialects.anchors import ALIAS, ALIASES, MERGE_KEY, Anchors, joined
from cfgmigrate.dialects.source import INCLUDE, Source, shown, takes_in_by_key
from cfgmigrate.ground.pattern import pattern

_LINE = pattern(r"[^\r\n]*(?:\r\n?|\n|\Z)")
_QUOTED = r"""(?:"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"|'[^'\r\n]*(?:''[^'\r\n]*)*')"""
_KEY = pattern(
    rf"(?P<key>{_QUOTED}|[^\s#&*!|>%@`{{}}\[\],\"'?:-][^:#\r\n]*|-[^\s:#][^:#\r\n]*)(?<=\S)[ \t]*:(?=[ \t\r\n]|\Z)[ \t]*"
)
_ITEM = pattern(r"-[ \t]+(?=[^ \t\r\n#])")
_EMPTY = pattern(r"[ \t]*(?:#[^\r\n]*)?[\r\n]*")
_TEXT_BELOW = pattern(r"[|>][+\-0-9]{0,2}[ \t]*(?:#[^\r\n]*)?[\r\n]*")
_PLAIN = rf"(?:{_QUOTED}|[^\s#,{{}}\[\]\"'&*!|>%@`][^#,{{}}\[\]\r\n]*+)"
_LIST = pattern(rf"\[[ \t]*(?:{_PLAIN}[ \t]*(?:,[ \t]*{_PLAIN}[ \t]*){{0,99}})?\]")
_PAIR = pattern(
    rf"[ \t]*(?P<key>{_QUOTED}|[^\s#,{{}}\[\]\"':][^#,{{}}\[\]:\r\n]*):[ \t]+(?:(?P<opens>\{{)|(?P<anchor>&[^\s,\[\]{{}}]+[ \t]+)?"
    rf"(?P<value>{_LIST.pattern}|{_PLAIN}|(?P<alias>\*[^\s,\[\]{{}}]+)|{ALIASES.pattern})[ \t]*(?P<end>[,}}]))"
)
#: a name without a value, in an object on one line: `{what: sole, seen}`. Of a number nobody knows whether it is the rest of one with a
#: decimal comma, and `speed:42` is meant for a name with its value
_LONE = pattern(
    rf"[ \t]*(?:{_QUOTED}|(?![-+.]?\d)[^\s#,{{}}\[\]\"'&*!|>%@`:](?:[^#,{{}}\[\]:\r\n]|:(?=[^\s,\[\]{{}}\d.+-])|(?<=[ \t]\d\d):(?=\d\d))*+)[ \t]*(?::[ \t]*)?(?P<end>[,}}])"
)
_ENDS, _CLOSES = pattern(r"[ \t]*([,}])"), pattern(r"[ \t]*(\})")
_SCALAR = pattern(rf"{_QUOTED}(?=[ \t]*(?:#|[\r\n]|\Z))|[^\s\"'&*!|>%@`{{\[#](?:[^\r\n#]|(?<![ \t])#)*")
_NOTHING = pattern(r"null|~", re.I)
_LETTER, _DIGIT = pattern(r"[A-Za-z]"), pattern(r"\d")
#: a value that prose has not
_MEASURED = pattern(r"""["']?[-+]?\.?\d|\[|(?:true|false|yes|no|on|off)\b|["']?G[0-3][ \t]+[A-Z]-?\d""", re.I)
#: a word of a script: a letter and its number
_WORD_ADDRESS = pattern(r"(?<![\w.])[A-Z][-+]?\.?\d")
#: sheets, site files and the like are this program's own; what lies on a bed is called a sheet as well
_OWN = pattern(
    r"^(?:old|new|measured|site|extends|of|packet|fleet)[ \t]*:|^sheet[ \t]*:[ \t]*[\"']?[^\r\n]*\.ya?ml\b|^[ \t]+(?:old|new|same_as)[ \t]*:"
    # of a fleet's machines there are folders, and no values
    r"|^machines[ \t]*:[ \t]*(?:\{[^{}\r\n]*\}|(?:#[^\r\n]*)?\r?\n[ \t]+[^:\r\n]+:(?:[ \t]+[^\s{\d&*#]|[ \t]*\r?\n[ \t]+(?:config|sheet|names|differs|dialect|machine)[ \t]*:))",
    re.M,
)
#: so many settings below others make an indented file, and such a part of them has numbers or truths
FEWEST_SETTINGS, MEASURED_SHARE = 3, 0.5
_DEEPEST = 100
_REMEDY = "indent it as its neighbours are: it is read as YAML 1.2"


class _Level(Struct):
    """Members that stand equally deep, and the path of what they belong to. `items` counts those behind `- `."""

    indent: int
    section: str
    items: int = 0
    #: the section and the key that its items belong to, where they do
    list_of: tuple[str, str] = ("", "")
    #: the texts since the last item with members: the number of the first, and where each begins and ends
    first: int = 0
    texts: list[tuple[int, int]] = field(default_factory=list)
    mixed: bool = False


class _Lines(Struct):
    """What is open while the lines of one file go by."""

    source: Source
    anchors: Anchors
    levels: list[_Level] = field(default_factory=list)
    #: the path of a member without a value of its own: deeper lines belong to it
    opened: str | None = ""
    opened_by: tuple[str, str] = ("", "")
    #: lines deeper than this are a text's
    text_below: int | None = None
    text: tuple[str, str, int, int] | None = None
    #: the numbers of the settings that are lists of texts
    listed: set[int] = field(default_factory=set)
    fault: str = ""

    def take(self, start: int, end: int) -> bool:
        """Takes one line; whether it has a member or an item. Sets `fault` where it fits nothing."""
        source = self.source.text
        first = start
        while first < end and source[first] == " ":
            first += 1
        if self.text_below is not None:
            if first - start > self.text_below or not source[first:end].strip():
                return self._of_text(first, end)
            self._end_text()
        if _EMPTY.fullmatch(source, first, end) or (first == start and source.startswith("---", start)):
            return False
        if not self._stands(first - start, bool(_ITEM.match(source, first, end))):
            return True
        return self._content(first, end, first - start)

    def _stands(self, indent: int, item: bool) -> bool:
        """Finds the level of a line; False where it stands at none. Items may stand as deep as the key of their list."""
        while self.levels and self.levels[-1].indent > indent:
            self._end_level()
        if not item and len(self.levels) > 1 and self.levels[-2].indent == indent:
            self._end_level()
        beside = item and self.opened and self.levels and not self.levels[-1].items
        if not self.levels or self.levels[-1].indent < indent or beside:
            if self.opened is None or len(self.levels) >= _DEEPEST:
                self.fault = "the line stands deeper than what it could belong to"
                return False
            self.levels.append(_Level(indent, self.opened, list_of=self.opened_by))
        return True

    def _end_level(self) -> None:
        level = self.levels.pop()
        self.opened = None
        self._end_texts(level)

    def _end_texts(self, level: _Level) -> None:
        """The texts of a list since its last item with members are a setting, where they may be lines of a script."""
        texts, level.texts = level.texts, []
        said = [self.source.text[start:end] for start, end in texts]
        if not any(map(_LETTER.search, said)) or not any(map(_DIGIT.search, said)):
            return
        section, key = (level.section, str(level.first)) if level.mixed else level.list_of
        if key:
            self.listed.add(len(self.source.keys))
            self.source.setting(section, key, texts[0][0], texts[-1][1])

    def _content(self, first: int, end: int, indent: int) -> bool:
        source, level = self.source.text, self.levels[-1]
        item = _ITEM.match(source, first, end)
        if item:
            path = joined(level.section, str(level.items))
            level.items += 1
            inner = indent + item.end() - first
            if not _KEY.match(source, item.end(), end):
                self._lone_item(path, item.end(), end)
                return True
            level.mixed = True
            self._end_texts(level)
            self.levels.append(_Level(inner, path))
            return self._content(item.end(), end, inner)
        found = _KEY.match(source, first, end)
        if not found:
            self.fault = "the line is neither a member with a colon, nor an item, nor a remark"
            return True
        key = _bare(found["key"])
        self.opened = None
        path = joined(level.section, key)
        self.anchors.own.add(path)
        start = self.anchors.anchor(path, found.end(), end)
        if _EMPTY.fullmatch(source, start, end):
            self.opened, self.opened_by = path, (level.section, key)
        else:
            self._value(level.section, key, start, end, indent)
        return True

    def _lone_item(self, path: str, start: int, end: int) -> None:
        """An item of a list without a member on its line: one with an anchor has its members below."""
        source, level = self.source.text, self.levels[-1]
        behind = self.anchors.anchor(path, start, end)
        alias = ALIAS.match(source, behind, end)
        self.opened = None
        if behind > start and _EMPTY.fullmatch(source, behind, end):
            self.opened = path
        elif behind > start and _KEY.match(source, behind, end):
            self.fault = "the anchor here is of the name behind it, not of what stands below"
        elif alias and _EMPTY.fullmatch(source, alias.end(), end):
            self.anchors.take(path, "", behind, end)
        elif source[behind] == "{":
            level.mixed = True
            self._end_texts(level)
            self._object(path, behind + 1, end)
        elif behind == start and (found := _SCALAR.match(source, start, end)):
            last = found.start() + len(found[0].rstrip())
            if not level.texts:
                level.first = level.items - 1
            level.texts.append((found.start(), last))
            key = level.list_of[1]
            if takes_in_by_key(key, source[found.start() : last]):
                self.source.include(found.start(), last)

    def _value(self, section: str, key: str, start: int, end: int, indent: int) -> None:
        source = self.source.text
        if _TEXT_BELOW.fullmatch(source, start, end):
            self.text_below, self.text = indent, (section, key, -1, -1)
            return
        if include := INCLUDE.match(source, start, end):
            self.source.include(include.end(), start + len(source[start:end].rstrip()))
            return
        alias = ALIAS.match(source, start, end) or (
            ALIASES.match(source, start, end) if key == MERGE_KEY else None
        )
        if alias and _EMPTY.fullmatch(source, alias.end(), end):
            if key == MERGE_KEY:
                self.anchors.merge(section, start, alias.end())
            else:
                self.anchors.take(section, key, start, alias.end())
            return
        found = _LIST.match(source, start, end) or _SCALAR.match(source, start, end)
        if found and (found[0][0] != "[" or _EMPTY.fullmatch(source, found.end(), end)):
            last = found.start() + len(found[0].rstrip())
            if not _NOTHING.fullmatch(source, found.start(), last):
                self.source.setting(section, key, found.start(), last)
                if takes_in_by_key(key, source[found.start() : last]):
                    self.source.include(found.start(), last)
        elif source[start] == "{":
            self._object(joined(section, key), start + 1, end)
        elif source[start] in "&*!":
            why = "a tag, or an alias beside something else, stands here; the line is not read"
            self.source.doubt(start, end, why, "write the value itself")
        else:
            self.fault = "the value does not end on its line"

    def _object(self, section: str, start: int, end: int) -> None:
        """The members of an object in brackets on one line, and of those in it."""
        source, inside, pairs = self.source.text, [section], []
        if empty := _CLOSES.match(source, start, end):
            start, inside = empty.end(), []
        while inside:
            pair = _PAIR.match(source, start, end)
            found = pair or _LONE.match(source, start, end)
            if not found or len(inside) > _DEEPEST:
                break
            start = found.end()
            if not pair:
                behind = _ENDS.match(source, found.start("end"), end)
            elif pair["opens"]:
                inside.append(joined(inside[-1], _bare(pair["key"])))
                behind = _CLOSES.match(source, start, end)
            else:
                pairs.append((inside[-1], pair))
                behind = _ENDS.match(source, pair.start("end"), end)
            while behind:
                start = behind.end()
                if behind[1] == ",":
                    if not (behind := _CLOSES.match(source, start, end)):
                        break
                    start = behind.end()
                inside.pop()
                behind = _ENDS.match(source, start, end) if inside else None
        if inside or not _EMPTY.fullmatch(source, start, end):
            self.fault = "the object in brackets does not end on its line"
            return
        for of, pair in pairs:
            self._pair(of, _bare(pair["key"]), pair)

    def _pair(self, section: str, key: str, pair: re.Match[str]) -> None:
        start, last = pair.start("value"), pair.start("value") + len(pair["value"].rstrip())
        path = joined(section, key)
        if pair["anchor"]:
            self.anchors.anchor(path, pair.start("anchor"), pair.end())
        if key == MERGE_KEY:
            self.anchors.merge(section, start, last)
            return
        self.anchors.own.add(path)
        if pair["alias"]:
            self.anchors.take(section, key, start, last)
        else:
            self.source.setting(section, key, start, last)

    def _of_text(self, first: int, end: int) -> bool:
        assert self.text is not None
        section, key, start, _ = self.text
        content = self.source.text[first:end].rstrip("\r\n")
        if content.strip():
            self.text = section, key, first if start < 0 else start, first + len(content)
        return True

    def _end_text(self) -> None:
        if self.text and self.text[2] >= 0:
            self.source.setting(*self.text)
        self.text_below, self.text = None, None

    def end(self) -> None:
        """The file ends here."""
        self._end_text()
        while self.levels:
            self._end_level()
        self.anchors.end()


def _bare(key: str) -> str:
    key = key.strip()
    return shown(key[1:-1] if key[:1] in ('"', "'") and key[-1:] == key[:1] and len(key) > 1 else key)


def read_lines(source: Source) -> None:
    """Reads an indented file into its source: pieces, settings, doubts."""
    lines = _Lines(source, Anchors(source))
    begun, kind = source.base, "gap"
    for found in _LINE.finditer(source.text, source.base):
        start, end = found.span()
        if start == end or lines.fault:
            continue
        now = "members" if lines.take(start, end) else "gap"
        if lines.fault:
            now = "unplaced"
            source.doubt(start, end, f"{lines.fault}; what follows is not read", _REMEDY)
        if now != kind:
            source.piece(kind, begun, start)
            begun, kind = start, now
    lines.end()
    source.piece(kind, begun, len(source.data))


def is_indented(text: str) -> bool:
    """Whether a text is no object in brackets: its first sign that is no remark begins a member."""
    for found in _LINE.finditer(text.removeprefix("\xef\xbb\xbf")):
        line = found[0].strip()
        if line and not line.startswith(("#", "---", "%")):
            return bool(_KEY.match(line))
    return False


def likelihood_of_lines(text: str) -> float:
    """How much of a text reads as an indented file, 0 to 1: what stands before its first fault. Without settings that
    stand below others, most of them with numbers or truths, it is none, for prose has colons too."""
    if not is_indented(text) or _OWN.search(text):
        return 0.0
    source = Source("", text.encode("latin-1"))
    lines = _Lines(source, Anchors(source))
    before = 0
    for found in _LINE.finditer(text):
        if found.start() == found.end():
            continue
        lines.take(*found.span())
        if lines.fault:
            break
        before = found.end()
    lines.end()
    values = {number: source.value(number) for number in range(len(source.keys))}
    scripts = {number for number in lines.listed if _WORD_ADDRESS.search(values[number])}
    others = values.keys() - lines.listed
    below = sum(bool(source.sections[number]) for number in others) + len(scripts)
    measured = sum(bool(_MEASURED.match(values[number])) for number in others) + len(scripts)
    if below < FEWEST_SETTINGS or measured < MEASURED_SHARE * (len(others) + len(scripts)):
        return 0.0
    return before / len(text)

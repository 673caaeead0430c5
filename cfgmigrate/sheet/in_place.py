"""One field of a sheet put in, changed or taken out as text, so that every other byte of the sheet stays.

A person keeps their sheet by hand: remarks, lines out of force, folding and indentation are theirs. So a value is replaced where
it stands, a new field is a line behind the others of its group, or an entry in its braces, and what is taken out is the field's own
lines and those of groups that are empty then; remarks between them stay. Where that can't be done, because a value is a text of
lines or something else stands on its line, nothing is given, and whoever asked prints the whole sheet anew.

What a line means is none of this module's business: the caller reads the text again and compares.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

_STEP = 2


def in_place(yaml: Any, text: str, parts: Sequence[Any], value: Any, held: Any = None) -> str | None:
    """The text with `value` at the key that `parts` lead to, or without that key where it is None; None where that can't be
    done by lines. The group named `held` keeps its own groups though they are empty."""
    root = yaml.compose(text)
    if not _is_map(root):
        return None
    way: list[tuple[Any, Any, Any]] = []  # each group on the way, with its key and value
    group = root
    for part in parts:
        found = next((pair for pair in group.value if pair[0].value == str(part)), None)
        if found is None:
            break
        way.append((group, *found))
        group = found[1]
        if len(way) < len(parts) and not _is_map(group):
            here = (
                value is not None and not way[-1][0].flow_style and group.id == "scalar" and not group.value
            )
            return _below(yaml, text, found[0], parts[len(way) :], value) if here else None
    if value is None:
        return _without(text, way, held) if len(way) == len(parts) else None
    if len(way) == len(parts):
        old = way[-1][2]
        if _is_lines(old) or not (old.id == "scalar" or old.flow_style):
            return None
        written = _entry(yaml, parts[-1], value, bool(way[-1][0].flow_style)).partition(":")[2]
        at = old.start_mark.index
        return text[:at] + written[text[:at].endswith(" ") :] + text[old.end_mark.index :]
    return _with(yaml, text, group, parts[len(way) :], value)


def says(yaml: Any, text: str, data: Any) -> bool:
    """Whether a text says just this; a group without anything in it says nothing."""
    from ruamel.yaml.error import YAMLError

    try:
        found = yaml.load(text)
    except (YAMLError, ValueError):
        return False
    return bool(_told(found) == _told(data))


def _told(data: Any) -> Any:
    """What a tree says, without groups that are empty."""
    if isinstance(data, dict):
        inner = {key: _told(value) for key, value in data.items()}
        return {key: value for key, value in inner.items() if value is not None} or None
    return data


def _with(yaml: Any, text: str, group: Any, parts: Sequence[Any], value: Any) -> str | None:
    """The text with a new entry in a group that is there."""
    last = group.value[-1][1] if group.value else None
    if last is None or _is_lines(last):
        return None
    if group.flow_style:
        entry = _entry(yaml, parts[-1], value, True)
        for part in reversed(parts[:-1]):
            entry = f"{part}: {{{entry}}}"
        at = last.end_mark.index
        return f"{text[:at]}, {entry}{text[at:]}"
    column = group.value[0][0].start_mark.column
    lines = text.splitlines(keepends=True)
    at = min(_last_line(last) + 1, len(lines)) if column else len(lines)
    while at < len(lines) and column and lines[at].lstrip().startswith("#") and _indent(lines[at]) >= column:
        at += 1  # a remark that stands in the group goes on being about what it stands below
    return _put(yaml, lines, at, column, parts, value)


def _below(yaml: Any, text: str, key: Any, parts: Sequence[Any], value: Any) -> str:
    """The text with the first entry of a group that is there without any."""
    lines = text.splitlines(keepends=True)
    return _put(yaml, lines, key.start_mark.line + 1, key.start_mark.column + _STEP, parts, value)


def _put(yaml: Any, lines: list[str], at: int, column: int, parts: Sequence[Any], value: Any) -> str:
    """The lines with an entry before the line `at`, in groups of its own where `parts` are several."""
    end = "\r\n" if lines[0].endswith("\r\n") else "\n"
    heads = [f"{' ' * (column + _STEP * deep)}{part}:{end}" for deep, part in enumerate(parts[:-1])]
    entry = " " * (column + _STEP * len(heads)) + _entry(yaml, parts[-1], value, False) + end
    if at and not lines[at - 1].endswith(("\n", "\r")):
        lines[at - 1] += end
    return "".join((*lines[:at], *heads, entry, *lines[at:]))


def _without(text: str, way: list[tuple[Any, Any, Any]], held: Any) -> str | None:
    """The text without the last key of a way, and without the groups that are empty then."""
    top = len(way) - 1
    while top and len(way[top][0].value) == 1:
        if top > 1 and way[top - 2][1].value == held:
            return None
        top -= 1
    group, key, value = way[top]
    if _is_lines(way[-1][2]):
        return None
    if group.flow_style:
        return _out_of_braces(text, group, key, value)
    lines = text.splitlines(keepends=True)
    gone: dict[int, str] = {}
    for _, key, value in way[top:]:
        line = key.start_mark.line
        if lines[line][: key.start_mark.column].strip():
            return None
        if not _is_map(value) or value.flow_style:
            last = _last_line(value)
            if not _ends_there(lines[last][_end(value).column :]):
                return None
            gone |= dict.fromkeys(range(line, last + 1), "")
            break
        rest = lines[line][key.end_mark.column :].partition(":")[2]
        if not _ends_there(rest):
            return None
        gone[line] = lines[line][: key.start_mark.column] + rest.lstrip() if rest.strip() else ""
    return "".join(gone.get(at, line) for at, line in enumerate(lines))


def _out_of_braces(text: str, group: Any, key: Any, value: Any) -> str | None:
    """The text without one of several entries in braces."""
    keys = [pair[0] for pair in group.value]
    at = keys.index(key)
    if at:
        first, last = group.value[at - 1][1].end_mark.index, value.end_mark.index
    else:
        first, last = key.start_mark.index, keys[1].start_mark.index
    return None if "#" in text[first:last] else text[:first] + text[last:]


def _entry(yaml: Any, key: Any, value: Any, braces: bool) -> str:
    """A key with its value as one line."""
    out = io.StringIO()
    yaml.default_flow_style = braces
    yaml.dump({key: value}, out)
    yaml.default_flow_style = False
    line = out.getvalue().strip()
    return line.removeprefix("{").removesuffix("}") if braces else line


def _is_map(node: Any) -> bool:
    return node is not None and node.id == "mapping"


def _is_lines(node: Any) -> bool:
    """Whether the end of a value is that of a text of lines, whose last line no mark tells."""
    last = _last(node)
    return last.id == "scalar" and last.style in ("|", ">")


def _end(node: Any) -> Any:
    """Where a value ends; the mark of a group without braces is that of what comes behind it."""
    return _last(node).end_mark


def _last(node: Any) -> Any:
    while node.id != "scalar" and not node.flow_style and node.value:
        node = node.value[-1][1] if _is_map(node) else node.value[-1]
    return node


def _last_line(node: Any) -> int:
    return int(_end(node).line)


def _ends_there(rest: str) -> bool:
    return not rest.strip() or rest.lstrip().startswith("#")


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))

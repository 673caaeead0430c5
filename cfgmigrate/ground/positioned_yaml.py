"""YAML that knows where it stands: a tree in which every key and every value has its line and column.

Sheets, names, reviews, rules and the program's own tables are written by people, so an error in them has to point
at the very place. This is the one reader of all of them. ruamel.yaml parses; this module turns its node tree into
a few frozen values and refuses, with one clear error each, what such a file has no use for: bytes that are not
UTF-8, text that is not YAML, keys given twice, tags, and in a user's file anchors with aliases (by which a short
file can unfold to a huge one).

Values stay the text that stands in the file: nothing is turned into numbers, dates or truth values by itself
(`47:12` is no time of day, `no` is a word). Only the program's own tables ask for that (`Node.plain`). What fields
there may be is said elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern

#: bytes; a filled-in sheet has some 20,000
LONGEST_YAML = 200_000
#: levels of nesting; a sheet has three
DEEPEST_YAML = 12

_PLAIN_TAG = "tag:yaml.org,2002:"
_PLAIN_TAGS = {"str", "int", "float", "bool", "null", "timestamp", "map", "seq", "merge", "value"}


#: the first and last of letters that end no line and may stand in any text. An expression that has all of them takes as long to
#: compile as a sheet to be read
_LETTERS = (("\t", "\t"), (" ", "~"), ("\xa0", "\u2027"), ("\u202a", "\ud7ff"))
#: a line of such letters behind which no value goes on, quoted or as a text of lines: its only quotes are those of one value,
#: and nothing but a remark is behind it. What is left of it without the remark's words is its first or its second group
_WHOLE_LINE = pattern(
    r"( *+#).*+|((?:[^\"'|>\\ ]|[ ](?!#))*+(?:(?<=: )(?:\"[^\"\\]*+\"|'[^'\\]*+'))?(?: ++(#)| *+))(?(3).*+)"
)

_KINDS: dict[str, Callable[[str], object]] = {
    "int": int,
    "float": float,
    "bool": lambda text: text.lower() == "true",
}


class Node(Struct, frozen=True):
    """One value. Exactly one of `text` (a scalar as written), `items` (a mapping) and `elements` (a list)
    is set; an empty value (`retraction:` with nothing behind it) has none of them. `kind` is what YAML takes an
    unquoted scalar for: str, int, float or bool."""

    place: Place
    text: str | None = None
    items: tuple[YamlField, ...] | None = None
    elements: tuple[Node, ...] | None = None
    kind: str = "str"

    @property
    def empty(self) -> bool:
        return self.text is None and self.items is None and self.elements is None

    def get(self, key: str) -> Node | None:
        """The value of a mapping's key, or None."""
        return next((item.node for item in self.items or () if item.key == key), None)

    def plain(self) -> Any:
        """The value as YAML has it: mappings, lists, texts, numbers, truths and None. Keys are texts."""
        if self.items is not None:
            return {item.key: item.node.plain() for item in self.items}
        if self.elements is not None:
            return [element.plain() for element in self.elements]
        if self.text is None or self.kind not in _KINDS:
            return self.text
        return _KINDS[self.kind](self.text)


class YamlField(Struct, frozen=True):
    """A key of a mapping, where the key stands, and its value."""

    key: str
    place: Place
    node: Node


def read_marked(source: bytes, path: str, longest: int = LONGEST_YAML) -> Node:
    """The tree of a YAML text; an empty or wholly commented text is an empty node.

    `path` is the name that errors show, `longest` how many bytes are believed. Raises BadInput with line and
    column.
    """
    return _tree(_compose(_decode(source, path, longest), path), path, 0, False)


@lru_cache(maxsize=32)
def read_data(path: Path) -> Node:
    """The tree of a data file that comes with the package, read once. It may have anchors."""
    return _tree(_compose(_decode(path.read_bytes(), path.name, LONGEST_YAML), path.name), path.name, 0, True)


def _decode(source: bytes, path: str, longest: int) -> str:
    if len(source) > longest:
        raise BadInput(f"the file has {len(source)} bytes; more than {longest} is no such sheet", Place(path))
    try:
        return source.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = source[: error.start]
        line = before.count(b"\n") + 1
        column = len(before.rpartition(b"\n")[2].decode("utf-8-sig")) + 1
        raise BadInput(
            f"byte 0x{source[error.start]:02x} is not UTF-8",
            Place(path, line, column),
            "Save the file as UTF-8 and try again.",
        ) from None


def _compose(text: str, path: str) -> Any:
    from ruamel.yaml import YAML
    from ruamel.yaml.error import MarkedYAMLError, YAMLError
    from ruamel.yaml.reader import ReaderError

    text = _without_prose(text)
    try:
        parser = YAML(typ="safe", pure=True)
        parser.Reader = _reader()
        return parser.compose(text)
    except MarkedYAMLError as error:
        mark = _mark(error)
        place = Place(path, mark.line + 1, mark.column + 1) if mark else Place(path)
        raise BadInput(f"this is not YAML: {_problem(error)}", place, _remedy(error)) from None
    except ReaderError as error:
        before = text[: error.position]
        place = Place(path, before.count("\n") + 1, len(before.rpartition("\n")[2]) + 1)
        raise BadInput("a control character stands here", place, "Remove it and try again.") from None
    except RecursionError:
        raise BadInput("brackets are nested too deep", Place(path)) from None
    except (YAMLError, ValueError, AttributeError, IndexError, AssertionError, TypeError) as error:
        # the parser lets a few kinds of broken directives and escapes through as bare errors
        raise BadInput(f"this is not YAML: {' '.join(str(error).split())}", Place(path)) from None


@cache
def _reader() -> type:
    """The parser's own reader, which compiles an expression of all letters only where a text has others than usual ones."""
    from ruamel.yaml.reader import Reader

    class UsualFirst(Reader):
        def check_printable(self, data: str) -> None:
            if not _plain(data.replace("\n", "")):
                super().check_printable(data)

    return UsualFirst


def _without_prose(text: str) -> str:
    """A text with nothing behind the signs of its remarks, where no value has several lines, of which one may
    look like a remark. The parser goes through a remark letter by letter, and a sheet is mostly remarks."""
    *lines, last = text.split("\n")  # an error may be where the last one ends
    whole = [_WHOLE_LINE.fullmatch(line) for line in lines] if _plain("".join(lines)) else [None]
    cut = [found[1] or found[2] for found in whole if found]
    return "\n".join((*cut, last)) if len(cut) == len(whole) else text


def _plain(text: str) -> bool:
    """Whether a text of one line has no other letters than those that may stand anywhere."""
    return all(any(first <= each <= last for first, last in _LETTERS) for each in set(text))


def _mark(error: Any) -> Any:
    """Where it is wrong: where a quote or a bracket opens, if it is never closed, for the end tells nothing."""
    return error.context_mark if _never_closed(error) else error.problem_mark or error.context_mark


def _never_closed(error: Any) -> str:
    """What was opened and never closed: "quote", "bracket" or ""."""
    context, problem = str(error.context), str(error.problem)
    if "quoted scalar" in context and ("end of" in problem or "document separator" in problem):
        return "quote"
    return "bracket" if "flow" in context and "expected ','" in problem else ""


def _problem(error: Any) -> str:
    match _never_closed(error):
        case "quote":
            return "the quote that opens here is never closed"
        case "bracket":
            at = error.problem_mark
            return (
                f"the bracket that opens here is not closed before line {at.line + 1}, column {at.column + 1}"
            )
    parts = (error.context, error.problem)
    return " ".join("; ".join(part for part in parts if part).split()) or "it can't be parsed"


def _remedy(error: Any) -> str:
    message = str(error)
    if closed := _never_closed(error):
        return f"Put the closing {closed} where it belongs, and commas between fields in one line."
    if r"'\t'" in message or "tab" in message:
        return "Indent with spaces, not with tabs."
    if "alias" in message or "anchor" in message:
        return (
            "Write the value out, in quotes if it begins with & or *: there are no anchors and aliases here."
        )
    if "cannot start any token" in message:
        return "Put the value in quotes."
    if "mapping values are not allowed" in message:
        return (
            "Put a text that holds `: ` in quotes; else see whether the line above lacks its `:`, "
            "or this one is indented more than it."
        )
    return (
        "Write `name: value`, one a line, and indent what belongs together by the same spaces; "
        "a name that begins with a bracket needs quotes."
    )


def _tree(node: Any, path: str, depth: int, anchors: bool) -> Node:
    if node is None:
        return Node(Place(path))
    place = Place(path, node.start_mark.line + 1, node.start_mark.column + 1)
    if depth > DEEPEST_YAML:
        raise BadInput("fields are nested too deep", place)
    if node.anchor is not None and not anchors:
        raise BadInput(
            f"the anchor &{node.anchor} is not allowed here", place, "Write the value out where it is used."
        )
    tag = str(node.tag)
    if tag.removeprefix(_PLAIN_TAG) not in _PLAIN_TAGS:
        raise BadInput(f"the tag {tag} is not allowed here", place, "Write the value without it.")
    if node.id == "mapping":
        return Node(place, items=_items(node, path, depth, anchors))
    if node.id == "sequence":
        return Node(place, elements=tuple(_tree(element, path, depth + 1, anchors) for element in node.value))
    kind = tag.removeprefix(_PLAIN_TAG)
    return Node(place) if kind == "null" else Node(place, text=str(node.value).strip(), kind=kind)


def _items(node: Any, path: str, depth: int, anchors: bool) -> tuple[YamlField, ...]:
    items: dict[str, YamlField] = {}
    taken_over: dict[str, YamlField] = {}
    for key_node, value_node in node.value:
        if anchors and key_node.tag == f"{_PLAIN_TAG}merge":
            taken_over |= {item.key: item for item in _items(value_node, path, depth, anchors)}
            continue
        key = _tree(key_node, path, depth + 1, anchors)
        if key.text is None:
            raise BadInput("a field's name must be a word", key.place)
        if key.text in items:
            first = items[key.text].place.line
            raise BadInput(
                f"{key.text!r} stands here a second time; the first is on line {first}",
                key.place,
                "Keep one of the two.",
            )
        items[key.text] = YamlField(key.text, key.place, _tree(value_node, path, depth + 1, anchors))
    return tuple({**taken_over, **items}.values())

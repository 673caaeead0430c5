"""Reading the site file: found at the root, its fields checked one by one, joined with what it extends.

The schema is closed: what there is no such field for is an error with line and column, and so is a path that leads out
of the folder. Errors name what was probably meant. What the file says then is in `site.py`; what a meaning, a code or a
word may say is not judged here, since `machine/` alone knows it.
"""

from __future__ import annotations

import difflib
import json
import re
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec.structs import replace

from cfgmigrate.dialects import DIALECTS
from cfgmigrate.files.found import SITE
from cfgmigrate.files.own_words import checked
from cfgmigrate.files.roles import Role
from cfgmigrate.files.shared_files import SHARED_ANSWERS
from cfgmigrate.files.site import (
    CODE_WORD,
    SITE_FIELDS,
    SITE_VERSION,
    Site,
    SiteRole,
    ToldDecimals,
    ToldProfile,
    ToldShared,
    no_site,
)
from cfgmigrate.files.told_feeders import Feeder, by_their_numbers, check_told_apart
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, YamlField, read_marked
from cfgmigrate.ground.user_file import read_given

#: the version, and what there is to say
_FIELDS = ("site", *SITE_FIELDS)
_DECIMALS = ("comma", "point")
#: where a move goes, what it feeds and how fast
_OF_A_MOVE = pattern(r"G0*[0-3]\.[XYZEF]", re.IGNORECASE)
_SHARED = ("meanings", "codes", "words")
#: of a feeder: the highest number, and the most digits that one is written with
_HIGHEST_FEEDER, _LONGEST_NUMBER = 99, 9
#: begins the last line of a joined site file, in a packet
TAKEN_IN = b"## Lines of the file that it extends: "


def site_at(root: Path) -> Site:
    """The site file of a root, with what it extends; one without content where there is none.

    Raises BadInput, with line and column, where it can't be read or says what there is not."""
    path = root / SITE
    if not path.is_file():
        return no_site()
    source = read_given(path, "the site file", LONGEST_YAML)
    return parse_site(source, SITE, root)


def extended_at(root: Path) -> Path | None:
    """The file that a root's site file extends, None where it extends none or can't be read."""
    try:
        source = read_given(root / SITE, "the site file", LONGEST_YAML)
        node = read_marked(source, SITE).get("extends") if b"extends" in source else None
    except BadInput:
        return None
    if node is None or not node.text or "\0" in node.text:  # no file is called so
        return None
    return root / node.text


def parse_site(source: bytes, shown: str, root: Path | None = None) -> Site:
    """The site file in these bytes; `shown` is its name in errors. What it extends is looked for below `root`, and
    passed over without one."""
    reading = _SiteReading(read_marked(source, shown), shown, _FIELDS)
    site = reading.site(source)
    extends = reading.text("extends")
    if extends is None or root is None:
        return site
    assert extends.text is not None
    other = root / extends.text
    try:
        above = read_given(other, "the file that it extends", LONGEST_YAML)
    except BadInput as problem:
        raise BadInput(problem.what, extends.place, problem.remedy) from None
    shared = _SiteReading(read_marked(above, extends.text), extends.text, ("site", *_SHARED)).site(above)
    return _joined(site, shared)


def _joined(site: Site, shared: Site) -> Site:
    from cfgmigrate.files.site_writing import joined_text

    own = {item.key for item in (*site.meanings, *site.codes)}
    meanings = tuple(item for item in shared.meanings if item.key not in own)
    codes = tuple(item for item in shared.codes if item.key not in own)
    words = tuple(item for item in shared.words if item.key not in {item.key for item in site.words})
    of_others = frozenset(item.key for item in (*meanings, *words, *replace(site, codes=codes).named_codes))
    return replace(
        site,
        joined=joined_text(site.source, shared.source, of_others),
        meanings=(*site.meanings, *meanings),
        codes=(*site.codes, *codes),
        words=(*site.words, *words),
        shared=of_others,
    )


class _SiteReading:
    """One file's tree while it is checked."""

    def __init__(self, tree: Node, shown: str, fields: Sequence[str]) -> None:
        self.shown = shown
        if not tree.empty and tree.items is None:
            raise BadInput("must be fields of a site file", tree.place, f"the fields are {', '.join(fields)}")
        self.fields = {item.key: item.node for item in tree.items or ()}
        for item in tree.items or ():
            _known(item.key, fields, item.place, "field")
        version = self.text("site")
        if version is None or version.text != SITE_VERSION:
            place = version.place if version else Place(shown, 1, 1)
            raise BadInput(
                f"this is no site file of version {SITE_VERSION}",
                place,
                f"begin it with `site: {SITE_VERSION}`",
            )

    def site(self, source: bytes) -> Site:
        return Site(
            path=self.shown,
            source=source,
            joined=source,
            roles=tuple(self._role(item) for item in self._items("roles")),
            feeders=self._feeders(),
            profiles=tuple(self._profile(item) for item in self._items("profiles")),
            dialects={_path(item): self._dialect(item) for item in self._items("dialects")},
            decimals=tuple(self._told_decimals(item) for item in self._items("decimals")),
            meanings=self._items("meanings"),
            codes=tuple(self._code(item) for item in self._items("codes")),
            words=self._items("words"),
            moves=tuple(map(checked, self._items("moves"))),
            told_shared=tuple(self._told_shared(item) for item in self._items("shared")),
            shared=taken_in(source),
        )

    def text(self, name: str) -> Node | None:
        """A field that is one text; None where it is not there. Raises BadInput where it is more."""
        node = self.fields.get(name)
        if node is None or node.empty:
            return None
        if node.text is None:
            raise BadInput(f"{name} is one text", node.place)
        return node

    def _items(self, name: str) -> tuple[YamlField, ...]:
        node = self.fields.get(name)
        if node is None or node.empty:
            return ()
        if node.items is None:
            raise BadInput(f"{name} must be lines of `name: value`", node.place)
        return node.items

    def _role(self, item: YamlField) -> SiteRole:
        text = _text(item.node, "a role")
        _known(text, [role.value for role in Role], item.node.place, "role")
        return SiteRole(_path(item), Role(text), item.place)

    def _code(self, item: YamlField) -> YamlField:
        if not CODE_WORD.fullmatch(item.key):
            raise BadInput("a code goes with its letter, as in M933.L", item.place)
        if _OF_A_MOVE.fullmatch(item.key):
            raise BadInput(f"{item.key} is of a move, which is no setting", item.place, "Take the line out.")
        return item

    def _dialect(self, item: YamlField) -> str:
        text = _text(item.node, "a dialect")
        _known(text, list(DIALECTS), item.node.place, "dialect")
        return text

    def _told_decimals(self, item: YamlField) -> ToldDecimals:
        text = _text(item.node, "comma or point")
        _known(text, _DECIMALS, item.node.place, "way of writing numbers called")
        return ToldDecimals(_path(item), text, item.place)

    def _told_shared(self, item: YamlField) -> ToldShared:
        text = _text(item.node, "what may be written there")
        _known(text, SHARED_ANSWERS, item.node.place, "answer")
        return ToldShared(_path(item), text, item.place)

    def _feeders(self) -> tuple[Feeder, ...]:
        """The feeders, by number or by name. Those by name take the numbers that the files know them by, where these
        say it, else those that are free, in their order.

        Raises BadInput where two have one name or number, or one is known by a number that is another's."""
        items = self._items("feeders")
        taken = {_number(Node(item.place, text=item.key)) for item in items if item.key.isdecimal()}
        free = (number for number in range(1, _HIGHEST_FEEDER + 1) if number not in taken)
        found = by_their_numbers([self._feeder(item, free) for item in items], bool(taken))
        check_told_apart(found, Place(self.shown))
        return found

    def _feeder(self, item: YamlField, free: Iterator[int]) -> Feeder:
        by_number = item.key.isdecimal()
        number = _number(Node(item.place, text=item.key)) if by_number else next(free, 0)
        if not number:
            raise BadInput(f"there are more than {_HIGHEST_FEEDER} feeders", item.place)
        name = "" if by_number else item.key
        if item.node.text:  # in short: `1: left`, `left: feeders/left.json`
            return Feeder(number, name or item.node.text, () if by_number else (item.node.text,), item.place)
        if item.node.empty and name:
            return Feeder(number, name, (), item.place)
        fields = _fields(item, ("name", "known_as"))
        if "name" in fields:
            name = _text(fields["name"], "a name")
        return Feeder(number, name, _texts(fields.get("known_as")), item.place)

    def _profile(self, item: YamlField) -> ToldProfile:
        fields = _fields(item, ("filament", "print", "material", "feeders"))
        filament, printed, material = (
            _text(fields[name], "a name") if name in fields else ""
            for name in ("filament", "print", "material")
        )
        if filament and printed:
            raise BadInput("a profile is a filament's or a print's, not both", item.node.place)
        feeders = tuple(_number(node) for node in _elements(fields.get("feeders")))
        return ToldProfile(_path(item), item.place, filament, printed, material, feeders)


def _known(word: str, words: Sequence[str], place: Place, kind: str) -> None:
    if word not in words:
        near = difflib.get_close_matches(word, words, n=1, cutoff=0.5)
        remedy = f"did you mean {near[0]!r}?" if near else f"choose: {', '.join(words)}"
        raise BadInput(f"there is no {kind} {word!r}", place, remedy)


def _path(item: YamlField) -> str:
    """The path or pattern of an item, without `./`. Raises BadInput where it leads out."""
    text = item.key.replace("\\", "/").removeprefix("./")
    if text.startswith("/") or ".." in text.split("/") or not text:
        raise BadInput(
            "a path of the site file lies below its folder", item.place, "write it relative to the file"
        )
    return text


def _text(node: Node, what: str) -> str:
    if node.text is None or not node.text:
        raise BadInput(f"{what} is missing", node.place)
    return node.text


def _elements(node: Node | None) -> tuple[Node, ...]:
    if node is None or node.empty:
        return ()
    return node.elements if node.elements is not None else (node,)


def _texts(node: Node | None) -> tuple[str, ...]:
    return tuple(_text(each, "a text") for each in _elements(node))


def _number(node: Node) -> int:
    text = node.text or ""
    if not text.isdecimal() or len(text) > _LONGEST_NUMBER or not 0 < int(text) <= _HIGHEST_FEEDER:
        raise BadInput("a feeder goes by its number, from 1 on", node.place)
    return int(text)


def _fields(item: YamlField, names: Sequence[str]) -> dict[str, Node]:
    if item.node.items is None:
        meaning = "; what a line of the files means is said below meanings:" if "[" in item.key else ""
        raise BadInput(
            f"{item.key} must have fields", item.node.place, f"the fields are {', '.join(names)}{meaning}"
        )
    for inner in item.node.items:
        _known(inner.key, names, inner.place, "field")
    return {inner.key: inner.node for inner in item.node.items}


def taken_in(source: bytes) -> frozenset[str]:
    """The lines of a joined site file that came from the one that it extended: none of them need be of this machine."""
    last = source.rstrip(b"\n").rpartition(b"\n")[2]
    if not last.startswith(TAKEN_IN):
        return frozenset()
    try:
        found = json.loads(last.removeprefix(TAKEN_IN))
    except ValueError:
        return frozenset()
    return frozenset(map(str, found)) if isinstance(found, list) else frozenset()

"""The site file `cfgmigrate.yaml`: what the user answered about these files, kept beside them.

    site: 1
    extends: ../workshop.yaml            # one level, for meanings, codes and words alone
    roles: {machine.conf: in force, machine_v2.conf: kept copy, "bigone/**": other machine, reels/: profile}
    feeders: {left: {known_as: [feeders/left.json]}, right: {known_as: ["feeder 2", "T1"]}}   # or 1: left, 2: right
    profiles: {reels/petg_black.conf: {filament: PETG black, material: PETG, feeders: [1]}}
    dialects: {odd.txt: flat}
    decimals: {reels/: comma}            # 5,2 is five and two tenths; or point: 5,2 is a list
    meanings: {"[drive] mm one way": feeder.feed_per_turn, "MD_@_VMAX": axis.@.max_speed}
    codes: {M933.L: {quantity: lag.coefficient, unit: s}}
    words: {vbe: acceleration, frob: feeder}
    moves: {"bits/end.mv P": filament in, "bits/end.mv C": to z}

Paths are relative to the file and may be patterns; a folder ends with a slash and means all below it. The schema
is closed: what there is no such field for is an error with line and column. `meanings`, `codes` and `words` are kept as they
stand, because what they may say is known in `machine/` alone.

It is found by itself at the root, and what is said on the command line comes before it. It is never configuration
itself. How it is written is in `site_writing.py`.
"""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from glob import has_magic
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.dialects import DIALECTS
from cfgmigrate.files.found import SITE
from cfgmigrate.files.own_words import MEANINGS, checked, words_of_file
from cfgmigrate.files.pattern import path_fits
from cfgmigrate.files.roles import FileRole, NamedProfile, Role
from cfgmigrate.files.told_feeders import Feeder, by_their_numbers, check_told_apart, counts_from
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, YamlField, read_marked
from cfgmigrate.ground.user_file import read_given

SITE_VERSION = "1"
_FIELDS = (
    "site",
    "extends",
    "roles",
    "feeders",
    "profiles",
    "dialects",
    "decimals",
    "meanings",
    "codes",
    "words",
    "moves",
)
#: what each field says, as `explain` shows it
SITE_FIELDS = {
    "extends": "another site file whose meanings, codes and words hold here too: ../workshop.yaml",
    "roles": "what a file is: {machine.json: in force, machine_v2.json: kept copy, reels/: profile}",
    "feeders": (
        "with several feeders, what each is called and what is its own in the files: a file, a section or a word.\n"
        '  feeders: {left: feeders/left.json, right: {known_as: ["feeder 2", T1]}}\n'
        "They count from 1 in this order; with a number in place of the name it is said: {2: left, 1: right}, or\n"
        "{1: {name: left, known_as: [feeders/left.json]}}. A sheet may then say `feeder: left`, or below `feeders:`\n"
        "`left:`. What names nothing in the files is told by survey."
    ),
    "profiles": "whose settings a file holds: {petg.json: {filament: PETG black, material: PETG, feeders: [1]}}",
    "dialects": "how a file is written: {odd.txt: flat}",
    "decimals": (
        "how numbers are written in a file: {reels/: comma} where 5,2 is five and two tenths, which is then written so, too;\n"
        "{odd.txt: point} where 5,2 is a list of two"
    ),
    "meanings": 'what a setting is, in one file or in all: {"feeders/left.json [wheel] ratio": feeder.gear_ratio}',
    "codes": "what a letter behind a code sets: {M933.L: {quantity: lag.coefficient, unit: s}, K10.@: axis.@.max}",
    "words": (
        "what a word means wherever it stands in the settings' names: {vbe: acceleration, frob: feeder}.\n"
        "A word that the trade has keeps its meaning; what one setting is, meanings say."
    ),
    "moves": (
        "what a word of a script in codes of your own means, in a file or in those of a pattern:\n"
        '  moves: {"bits/*.mv P": filament in, "bits/*.mv C": to z, "bits/*.mv V": mm per minute}\n'
        f"A word is one of: {', '.join(MEANINGS)}; or a quantity: motor.run_current in A rms.\n"
        "`to z` is a place; a number with a plus is a step from where it stands."
    ),
}
CODE_WORD = pattern(r"[A-Za-z]\d+(?:\.\d+)?\.[A-Za-z@]")
_DECIMALS = ("comma", "point")
_SHARED = ("meanings", "codes", "words")


class SiteRole(Struct, frozen=True):
    """The role of what a path or pattern names."""

    pattern: str
    role: Role
    place: Place


class ToldProfile(Struct, frozen=True):
    """Whose settings a profile's file holds: a filament's or a print's name, its material, and the feeders that it
    serves (all, where none is named)."""

    pattern: str
    place: Place
    filament: str = ""
    print: str = ""
    material: str = ""
    feeders: tuple[int, ...] = ()


class ToldDecimals(Struct, frozen=True):
    """How numbers are written in what a path or pattern names: `comma` or `point`."""

    pattern: str
    decimals: str
    place: Place


class Site(Struct, frozen=True):
    """A site file that was read and checked. `source` is its text as it stands, b"" for none; `joined` is the text
    with what it extends taken in, which stands by itself. `own` are the meanings that this file has itself."""

    path: str = ""
    source: bytes = b""
    joined: bytes = b""
    roles: tuple[SiteRole, ...] = ()
    feeders: tuple[Feeder, ...] = ()
    profiles: tuple[ToldProfile, ...] = ()
    dialects: Mapping[str, str] = field(default_factory=dict)
    decimals: tuple[ToldDecimals, ...] = ()
    meanings: tuple[YamlField, ...] = ()
    codes: tuple[YamlField, ...] = ()
    words: tuple[YamlField, ...] = ()
    moves: tuple[YamlField, ...] = ()
    shared: frozenset[str] = frozenset()

    @property
    def there(self) -> bool:
        return bool(self.path)

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.source).hexdigest()

    def roles_of(self, paths: Iterable[str]) -> dict[str, FileRole]:
        """The role of each path that the file names; of several patterns the last counts, and a path that is
        written out before any pattern."""
        paths = tuple(paths)
        found: dict[str, FileRole] = {}
        plain = {each.pattern: each for each in self.roles if not _is_pattern(each.pattern)}
        patterns = [each for each in self.roles if _is_pattern(each.pattern)]
        for path in paths:
            named = plain.get(path) or next((p for p in reversed(patterns) if names(p.pattern, path)), None)
            if named:
                found[path] = FileRole(path, named.role, f"{named.place.file} says so", said=True)
        for profile in self.profiles:
            for path in paths:
                if path not in found and names(profile.pattern, path):
                    found[path] = FileRole(
                        path, Role.PROFILE, f"{profile.place.file} says whose it is", said=True
                    )
        for item in self.moves:
            path = item.key.partition(" ")[0]
            if path in paths and path not in found:
                found[path] = FileRole(
                    path, Role.IN_FORCE, f"{item.place.file} says what its words mean", said=True
                )
        return found

    def own_words(self, path: str) -> dict[str, str]:
        """What words of the scripts in a file mean."""
        return words_of_file(self.moves, path)

    def decimals_of(self, paths: Iterable[str]) -> dict[str, str]:
        """How numbers are written in each path that the file names; a path that is written out comes before any pattern."""
        found: dict[str, str] = {}
        for each in sorted(self.decimals, key=lambda each: not _is_pattern(each.pattern)):
            found |= {path: each.decimals for path in paths if names(each.pattern, path)}
        return found

    @property
    def named_codes(self) -> tuple[YamlField, ...]:
        """The codes as meanings: `M933.L` is the setting `[M933] L`."""
        return tuple(
            replace(item, key=f"[{code.upper()}] {letter.upper()}")
            for item in self.codes
            for code, _, letter in (item.key.rpartition("."),)
        )

    @property
    def counts_from(self) -> Mapping[str, int]:
        """Where the numbers of feeders begin in the files, 0 or 1, by the word that stands before such a number, in small
        letters: what the feeders are said to be known as says it."""
        return counts_from(self.feeders)

    def named(self, paths: Iterable[str]) -> dict[str, NamedProfile]:
        """What the file says of each profile's file."""
        found: dict[str, NamedProfile] = {}
        for path in paths:
            told = self.profile_of(path)
            if told is not None:
                kind = "filament" if told.filament else "print" if told.print else ""
                alone = told.feeders[0] if len(told.feeders) == 1 else None
                found[path] = NamedProfile(kind, told.filament or told.print, told.material, alone)
        return found

    def profile_of(self, path: str) -> ToldProfile | None:
        """What the file says of a profile's file."""
        return next((each for each in self.profiles if names(each.pattern, path)), None)

    def gone(self, root: Path) -> Iterator[tuple[str, Place]]:
        """Files that are in force by the file, and not there."""
        for each in self.roles:
            if each.role.taken and not _is_pattern(each.pattern) and not (root / each.pattern).is_file():
                yield each.pattern, each.place


def no_site() -> Site:
    """Where there is no site file."""
    return Site()


def names(pattern: str, path: str) -> bool:
    """Whether a path or pattern of the site file names a path."""
    if pattern.endswith("/"):
        return path.startswith(pattern)
    return path == pattern or (has_magic(pattern) and path_fits(path, pattern))


def _is_pattern(pattern: str) -> bool:
    return pattern.endswith("/") or has_magic(pattern)


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
    return root / node.text if node is not None and node.text else None


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
    return replace(
        site,
        joined=joined_text(site.source, shared.source),
        meanings=(*site.meanings, *meanings),
        codes=(*site.codes, *codes),
        words=(*site.words, *words),
        shared=frozenset(item.key for item in (*meanings, *words, *replace(site, codes=codes).named_codes)),
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
        return item

    def _dialect(self, item: YamlField) -> str:
        text = _text(item.node, "a dialect")
        _known(text, list(DIALECTS), item.node.place, "dialect")
        return text

    def _told_decimals(self, item: YamlField) -> ToldDecimals:
        text = _text(item.node, "comma or point")
        _known(text, _DECIMALS, item.node.place, "way of writing numbers called")
        return ToldDecimals(_path(item), text, item.place)

    def _feeders(self) -> tuple[Feeder, ...]:
        """The feeders, by number or by name. Those by name take the numbers that the files know them by, where these
        say it, else those that are free, in their order.

        Raises BadInput where two have one name or number, or one is known by a number that is another's."""
        items = self._items("feeders")
        taken = {int(item.key) for item in items if item.key.isdecimal()}
        free = (number for number in range(1, 100) if number not in taken)
        found = by_their_numbers([self._feeder(item, free) for item in items], bool(taken))
        check_told_apart(found, Place(self.shown))
        return found

    def _feeder(self, item: YamlField, free: Iterator[int]) -> Feeder:
        by_number = item.key.isdecimal()
        number = _number(Node(item.place, text=item.key)) if by_number else next(free)
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
    if not text.isdecimal() or not 0 < int(text) < 100:
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

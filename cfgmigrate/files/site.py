"""The site file `cfgmigrate.yaml`: what the user answered about these files, kept beside them.

    site: 1
    extends: ../workshop.yaml            # one level, for meanings, codes and words alone
    roles: {machine.conf: in force, machine_v2.conf: kept copy, "bigone/**": other machine, reels/: profile}
    feeders: {left: {known_as: [feeders/left.json]}, right: {known_as: ["feeder 2", "T1"]}}   # or 1: left, 2: right
    profiles: {reels/petg_black.conf: {filament: PETG black, material: PETG, feeders: [1]}}
    dialects: {odd.txt: flat}
    shared: {common/house.txt: left}      # another machine reads it; or: swapped together, ours alone
    decimals: {reels/: comma}            # 5,2 is five and two tenths; or point: 5,2 is a list
    meanings: {"[drive] mm one way": feeder.feed_per_turn, "MD_@_VMAX": axis.@.max_speed}
    codes: {M933.L: {quantity: lag.coefficient, unit: s}}
    words: {vbe: acceleration, frob: feeder}
    moves: {"bits/end.mv P": filament in, "bits/end.mv C": to z}

Paths are relative to the file and may be patterns; a folder ends with a slash and means all below it. The schema
is closed: what there is no such field for is an error with line and column. `meanings`, `codes` and `words` are kept as they
stand, because what they may say is known in `machine/` alone.

It is found by itself at the root, and what is said on the command line comes before it. It is never configuration
itself. How it is read and checked is in `site_reading.py`, how it is written in `site_writing.py`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from glob import has_magic
from pathlib import Path

from msgspec import Struct, field
from msgspec.structs import replace

from cfgmigrate.files.own_words import MEANINGS, words_of_file
from cfgmigrate.files.pattern import as_there, path_fits, same_path, spelled
from cfgmigrate.files.roles import FileRole, NamedProfile, Role
from cfgmigrate.files.told_feeders import Feeder, counts_from
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import YamlField

SITE_VERSION = "1"
#: where a line that is offered goes, also where there is no site file yet
BELOW_SITE = f"below `site: {SITE_VERSION}`"
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
    "shared": (
        "what may be written in a file that other machines read: {common/house.txt: swapped together} where all of them are\n"
        "swapped before any of them runs again; left where one is not, so that each value is told to hands; ours alone"
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


class ToldShared(Struct, frozen=True):
    """What may be written in what a path or pattern names, which other machines read: one of `SHARED_ANSWERS`."""

    pattern: str
    answer: str
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
    told_shared: tuple[ToldShared, ...] = ()

    @property
    def there(self) -> bool:
        return bool(self.path)

    @property
    def sha256(self) -> str:
        return hashlib.sha256(self.source).hexdigest()

    def roles_of(self, paths: Iterable[str]) -> dict[str, FileRole]:
        """The role of each path that the file names; of several patterns the last counts, and a path that is
        written out before any pattern. Where no file is spelled so, it is one that reads the same (é as one sign, or as e and its accent)."""
        paths = tuple(paths)
        found: dict[str, FileRole] = {}
        plain = {each.pattern: each for each in self.roles if not is_pattern(each.pattern)}
        in_other_spelling = {spelled(name): each for name, each in plain.items() if name not in paths}
        wider = [each for each in self.roles if is_pattern(each.pattern) or each.pattern not in paths]
        for path in paths:
            named = (
                plain.get(path)
                or in_other_spelling.get(spelled(path))
                or next((p for p in reversed(wider) if names(p.pattern, path)), None)
            )
            if named:
                found[path] = FileRole(path, named.role, f"{named.place.file} says so", said=True)
        for profile in self.profiles:
            for path in paths:
                if path not in found and names(profile.pattern, path):
                    found[path] = FileRole(
                        path, Role.PROFILE, f"{profile.place.file} says whose it is", said=True
                    )
        for item in self.moves:
            named_here = item.key.partition(" ")[0]
            for path in (path for path in paths if path not in found and same_path(named_here, path)):
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
        for each in sorted(self.decimals, key=lambda each: not is_pattern(each.pattern)):
            found |= {path: each.decimals for path in paths if names(each.pattern, path)}
        return found

    def shared_as(self, path: str) -> str:
        """What the file says of a path that other machines read, "" for nothing; a path that is written out comes before any
        pattern."""
        plain = [each.answer for each in self.told_shared if each.pattern == path]
        fitting = [each.answer for each in self.told_shared if names(each.pattern, path)]
        return (plain or fitting or [""])[-1]

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
                found[path] = NamedProfile(
                    kind, told.filament or told.print, told.material, alone, told.feeders
                )
        return found

    def profile_of(self, path: str) -> ToldProfile | None:
        """What the file says of a profile's file."""
        return next((each for each in self.profiles if names(each.pattern, path)), None)

    def gone(self, root: Path) -> Iterator[tuple[str, Place]]:
        """Files that are in force by the file, and not there."""
        for each in self.roles:
            there = root / as_there(root, each.pattern)
            if each.role.taken and not is_pattern(each.pattern) and not there.is_file():
                yield each.pattern, each.place

    def never_there(self, root: Path) -> Iterator[str]:
        """Files that are no configuration by the file, and not there: some line takes them in all the same."""
        for each in self.roles:
            if (
                each.role is Role.NONE
                and not is_pattern(each.pattern)
                and not (root / as_there(root, each.pattern)).exists()
            ):
                yield each.pattern


def no_site() -> Site:
    """Where there is no site file."""
    return Site()


def names(pattern: str, path: str) -> bool:
    """Whether a path or pattern of the site file names a path. A folder names all that is in it, with or without a slash."""
    if pattern.endswith("/"):
        return spelled(path).startswith(spelled(pattern))
    if has_magic(pattern):
        return same_path(path, pattern) or path_fits(path, pattern)
    return same_path(path, pattern) or spelled(path).startswith(f"{spelled(pattern)}/")


def is_pattern(pattern: str) -> bool:
    """Whether a name of the site file may mean several files."""
    return pattern.endswith("/") or has_magic(pattern)

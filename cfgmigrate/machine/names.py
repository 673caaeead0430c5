"""The names file: what a person says of settings that words alone don't settle.

It is YAML, one line a setting. The key is the setting as a doubt or a survey shows it; with a file before
it, it holds for that file alone. The value is a quantity, a quantity with its unit, `ignore`, or a list of
these where the setting has several numbers, `ignore` for one that is nothing of the kind:

    "[drive] mm one way": feeder.feed_per_turn
    "[drive] coil": {quantity: motor.run_current, unit: mA peak}
    "[drive] share": {quantity: motor.run_current, unit: "% of 2 A"}    # or `1.9/31 A` for each step, `1/31 of 1.9 A`
    "[drive] scale": {quantity: motor.run_current, unit: "(step+1)/32 of 1.25 A rms"}   # 0 gives 1/32, 31 all of it
    "slicing.ini [moves] pull": retraction.length
    "[display] turns": ignore
    "[drive] gears": {quantity: feeder.gear_ratio, order: driving:driven}
    "[feeler] off x": {quantity: probe.offset_x, seen_from: probe}     # nozzle less probe; else seen_from: nozzle
    "per axis": [axis.x.steps_per_mm, axis.y.steps_per_mm, axis.z.steps_per_mm, feeder.steps_per_mm]
    "row": axis.@.max_speed

The last one is short for a row with a number for x, y, z and the feeder, in this order, as many as there are.

`@` in a key stands for an axis's letter or a number, which may stand in the quantity too (`e` is the feeder beside the
axes), and `*` for anything; a key that is written out comes before both. The site file's `meanings` are the same thing;
its `words` are the matter of `taught_words.py`.

    "MD_@_VMAX": axis.@.max_speed
    "[display*] *": ignore

A wrong quantity or unit is a BadInput with file, line, column and the nearest right name. A names file never
makes a protected setting writable: what is protected by its own words stays protected.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.own_words import as_meanings
from cfgmigrate.files.pattern import spelled
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.positioned_yaml import Node, YamlField, read_marked
from cfgmigrate.ground.units import unit_written
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.machine.by_number import for_letter
from cfgmigrate.machine.gear_order import DRIVEN_FIRST, DRIVING_FIRST
from cfgmigrate.machine.nearest import nearest
from cfgmigrate.machine.quantities import PROTECTED, all_quantities, facts, known, present_id
from cfgmigrate.machine.taught_words import TaughtWord, taught_words
from cfgmigrate.machine.wildcards import wildcard_fits
from cfgmigrate.machine.words import read_name

if TYPE_CHECKING:
    from cfgmigrate.files.site import Site

#: bytes; a names file has a line for each doubtful setting
LONGEST = 200_000

IGNORE = "ignore"
#: how a person says which way round a probe's offset is counted
SEEN_FROM, NOZZLE, PROBE = "seen_from", "nozzle", "probe"
OFFSETS_ALONG_THE_BED = frozenset(("probe.offset_x", "probe.offset_y"))
_OF_THE_RUN_CURRENT = re.compile(r"%\s*of\s+(?:the\s+|its\s+)?run(?:ning)?\s+current", re.I)
#: a meaning that shares so much of its words with a name is near it; and so many are told
_SHARED, _MOST_NEAR = 0.5, 4
_ALL_MEANINGS = "cfgmigrate explain meanings lists all that there are"
_SITE_FOUND = (
    "a site file is found by itself: call it cfgmigrate.yaml and put it into the folder of the configuration, or into the one "
    "above all that is named, with paths as from there. A names file has only lines as they stand below a site file's meanings"
)
#: the last line of a names file that several machines share: what only others need is no mistake of this one
SHARED_NAMES_END = b"## Shared by the machines of a fleet.\n"
#: whose the numbers of a row are
_AXES_IN_ORDER = ("x", "y", "z", "e")
#: what `@` may stand for
_WORDS = ("x", "y", "z", "e", *map(str, range(1, 10)))
HEADER = """\
# Names file: what settings mean that words alone don't settle.
#
#   "[section] key": QUANTITY                      the setting, as a doubt or the survey shows it
#   "[section] key": {quantity: QUANTITY, unit: mA}    with the unit its number is in; `peak` or `rms` may follow
#   "[section] key": {quantity: QUANTITY, unit: "% of 2 A"}    or another part of a unit: `1.9/31 A`, `1/31 of 1.9 A`
#   "[section] key": {quantity: QUANTITY, unit: "(step+1)/32 of 1.25 A rms"}    a driver's step, 0 gives 1/32 and 31 all of it
#   "[section] key": {quantity: QUANTITY, order: driving:driven}   which gear's teeth stand first in a ratio
#   "[section] key": {quantity: probe.offset_x, seen_from: probe}   nozzle less probe; seen_from: nozzle is probe less nozzle
#   "file.ini [section] key": QUANTITY             in one file only
#   "[section] key": [QUANTITY, QUANTITY]          for a setting with several numbers; the same twice: of each feeder
#   "[section] key": axis.@.max_speed              for a row with a number for x, y, z and the feeder, in this order
#   "[section] key": [QUANTITY, ignore]            where one of the numbers is nothing of the kind
#   "[section] key": ignore                        it is nothing of the kind
"""


class Meaning(Struct, frozen=True):
    """What one number of a setting is. `unit`, `qualifier`, `order` (of two gears' teeth) and `seen_from` (of a probe's
    offset) are "" where nothing is said of them."""

    quantity: str
    unit: str = ""
    qualifier: str = ""
    order: str = ""
    seen_from: str = ""


class Named(Struct, frozen=True):
    """One line of a names file: what each number of the setting is, None for one that is to be ignored. `ignored`
    settings have no meanings."""

    key: str
    place: Place
    numbers: tuple[Meaning | None, ...] = ()
    #: whether the numbers are those of x, y, z and the feeder, as far as the setting has them
    by_axis: bool = False
    #: whether it is said to be a share of the run current, which needs no number of its own
    follows: bool = False

    def for_values(self, many: int) -> tuple[Meaning | None, ...]:
        """The meanings for so many values."""
        return self.numbers[:many] if self.by_axis and many > 1 else self.numbers

    @property
    def meanings(self) -> tuple[Meaning, ...]:
        return tuple(meaning for meaning in self.numbers if meaning is not None)

    @property
    def ignored(self) -> bool:
        return not self.meanings


class Names(Struct, frozen=True):
    """A names file that was read and checked."""

    path: str
    entries: Mapping[str, Named]
    patterns: tuple[tuple[str, Named], ...] = ()
    #: keys that are shared with other machines, so that none of theirs need be here
    shared: frozenset[str] = frozenset()
    #: words that hold in every name
    words: tuple[TaughtWord, ...] = ()

    def before(self, other: Names) -> Names:
        """Both, where this one's lines come before the other's."""
        entries = {**other.entries, **self.entries}
        patterns, words = (*self.patterns, *other.patterns), (*self.words, *other.words)
        return Names(self.path, entries, patterns, self.shared | other.shared, words)

    def find(self, document: Document, setting: Setting) -> Named | None:
        """What the file says of a setting; a line for its file alone comes first."""
        own = f"{document.path} {setting.name}"
        for name in (own, setting.name):
            found = self.entries.get(_plain(name))
            if found:
                return found
        for pattern, named in self.patterns:
            if wildcard_fits(pattern, _plain(own)) or wildcard_fits(pattern, _plain(setting.name)):
                return named
        return None

    def unused(self, used: set[str], known_names: list[str]) -> tuple[Doubt, ...]:
        """A doubt for every line that no setting goes by. `used` are the keys of those that were."""
        found = []
        every = {named.key: named for named in (*self.entries.values(), *(each for _, each in self.patterns))}
        for named in every.values():
            if named.key not in used and named.key not in self.shared:
                near = difflib.get_close_matches(named.key, known_names, n=1)
                remedy = f"did you mean {near[0]}?" if near else "copy the setting's name from the survey"
                found.append(
                    Doubt(named.place, named.key, "no setting of the configuration is called this", remedy)
                )
        return tuple(found)


def read_names(path: Path) -> Names:
    """Reads a names file. Raises BadInput with file, line and column where it can't be read or names what
    there is not."""
    return names_in(read_given(path, "the names file", LONGEST), str(path))


def names_in(source: bytes, shown: str) -> Names:
    """The same from its bytes; `shown` is what the file is called in errors."""
    root = read_marked(source, shown, LONGEST)
    if root.empty:
        return Names(shown, {})
    if root.items is None:
        raise BadInput("must be lines of `setting: quantity`", root.place, HEADER)
    if (site := next((item for item in root.items if item.key == "site"), None)) is not None:
        raise BadInput("this is a site file, and no names file", site.place, _SITE_FOUND)
    shared = frozenset(item.key for item in root.items) if source.endswith(SHARED_NAMES_END) else frozenset()
    return names_of(root.items, shown, shared)


def names_said(names: Path | None, site: Site | None) -> Names | None:
    """What the user said that settings mean: in a names file, else in the site file. Raises BadInput where one
    names what there is not."""
    return with_site(read_names(names) if names is not None else None, site)


def with_site(said: Names | None, site: Site | None) -> Names | None:
    """What was said, and behind it what the site file says."""
    if site is None or not (site.meanings or site.codes or site.words or site.moves):
        return said
    values = as_meanings(site.moves)
    meant = names_of((*site.meanings, *site.named_codes, *values), site.path, site.shared)
    meant = replace(meant, words=taught_words(site.words))
    return said.before(meant) if said else meant


def names_of(items: Sequence[YamlField], shown: str, shared: frozenset[str] = frozenset()) -> Names:
    """The same from lines that were read, such as the site file's `meanings`. Raises BadInput likewise."""
    entries: dict[str, Named] = {}
    patterns: list[tuple[str, Named]] = []
    for item in items:
        if _plain(item.key) in entries:
            raise BadInput("the setting is named twice", item.place, "keep one of the lines")
        if "@" in item.key and "@" in _quantity_text(item.node):
            for word, meant in _each_word(item):
                entries.setdefault(_plain(item.key.replace("@", word)), replace(_named(meant), key=item.key))
        else:
            named = entries[_plain(item.key)] = _named(item)
            if "@" in item.key or "*" in item.key:
                patterns.append((_plain(item.key), named))
    return Names(shown, entries, tuple(patterns), shared)


def _quantity_text(node: Node) -> str:
    """The quantity that a line names, where it names one."""
    found = node.get("quantity") if node.items is not None else node
    return found.text or "" if found is not None else ""


def _each_word(item: YamlField) -> Iterator[tuple[str, YamlField]]:
    """The words that `@` may be in a line, with the line for each. Raises BadInput where it fits none."""
    text = _quantity_text(item.node)
    meant = {word: _of_word(text, word) for word in _WORDS}
    words = [word for word in _WORDS if meant[word]]
    if not words:
        remedy = "write @ for an axis, as in axis.@.max_speed"
        raise BadInput(f"there is no quantity {text!r}", item.node.place, remedy)
    for word in words:
        yield word, replace(item, node=_put_in(item.node, text, meant[word]))


def _of_word(text: str, word: str) -> str:
    """An id with `@` for what it stands for, "" where there is none: beside the axes the feeder's is `e`."""
    if word == "e":
        return for_letter(present_id(text.replace("@", "x")).replace(".x.", ".@."), word)
    found = present_id(text.replace("@", word))
    return found if known(found) else ""


def _put_in(node: Node, text: str, meant: str) -> Node:
    if node.items is not None:
        items = (replace(each, node=_put_in(each.node, text, meant)) for each in node.items)
        return replace(node, items=tuple(items))
    return replace(node, text=meant) if node.text == text else node


def _plain(text: str) -> str:
    return " ".join(spelled(text).split()).casefold()


def _named(item: YamlField) -> Named:
    node = item.node
    if node.text == IGNORE:
        return Named(item.key, item.place)
    if "@" in (text := _quantity_text(node)) and "," not in text:
        in_order = [(word, meant) for word in _AXES_IN_ORDER if (meant := _of_word(text, word))]
        nodes = tuple(_put_in(node, text, meant) for word, meant in in_order if known(meant))
        if len(nodes) > 1:
            return Named(item.key, item.place, tuple(map(_meaning, nodes)), by_axis=True)
    if node.text is not None and "," in node.text:
        node = replace(
            node, text=None, elements=tuple(replace(node, text=each) for each in _parts(node.text))
        )
    nodes = node.elements if node.elements is not None else (node,)
    if not nodes:
        what = "an empty list says nothing"
        raise BadInput(what, node.place, f"write {IGNORE}, or a quantity for each number")
    return Named(item.key, item.place, tuple(map(_meaning, nodes)), follows=any(map(_follows, nodes)))


def _follows(node: Node) -> bool:
    """Whether a meaning says that a current at rest is a share of the running one."""
    said = {item.key: item.node.text or "" for item in node.items or ()}
    share = _OF_THE_RUN_CURRENT.fullmatch(said.get("unit", "").strip())
    return bool(share) and said.get("quantity", "").endswith(".hold_current")


def _parts(text: str) -> Iterator[str]:
    """The quantities of a list that was written as a text."""
    return filter(None, (each.strip(" \t[]") for each in text.split(",")))


def _meaning(node: Node) -> Meaning | None:
    if node.text == IGNORE:
        return None
    if node.text is not None:
        return Meaning(_quantity(node.text, node.place))
    said = {item.key: item.node for item in node.items or ()}
    name, unit = said.get("quantity"), said.get("unit")
    if name is None or name.text is None or set(said) - {"quantity", "unit", "order", SEEN_FROM}:
        what = (
            "must be a quantity, {quantity: …, unit: …} or a list of these; a ratio of teeth may have order: … too, a probe's offset "
            f"{SEEN_FROM}: …"
        )
        raise BadInput(what, node.place, "see `cfgmigrate survey` for ids")
    if name.text == IGNORE:
        return None
    quantity = _quantity(name.text, name.place)
    order = _order(quantity, said["order"]) if "order" in said else ""
    seen_from = _seen_from(quantity, said[SEEN_FROM]) if SEEN_FROM in said else ""
    if unit is None or not unit.text:
        return Meaning(quantity, order=order, seen_from=seen_from)
    if _follows(node):
        return None  # it follows that one by itself
    return Meaning(quantity, *_unit(quantity, unit.text, unit.place), order=order, seen_from=seen_from)


def _seen_from(name: str, node: Node) -> str:
    """From what a probe's offset is counted. Raises BadInput."""
    text = (node.text or "").strip().lower()
    if text not in (NOZZLE, PROBE) or name not in OFFSETS_ALONG_THE_BED:
        what = f"{SEEN_FROM} is for a probe's offset in x or y: {NOZZLE} (probe less nozzle) or {PROBE} (nozzle less probe)"
        raise BadInput(
            what,
            node.place,
            f"write {SEEN_FROM}: {PROBE} where the number is the nozzle's place less the probe's",
        )
    return text


def _order(name: str, node: Node) -> str:
    """Which gear's teeth stand first. Raises BadInput."""
    text = "".join((node.text or "").split()).lower()
    if text not in (DRIVING_FIRST, DRIVEN_FIRST) or facts(name).quantity.kind != "ratio":
        what = f"order is for ratios of teeth: {DRIVING_FIRST} or {DRIVEN_FIRST}"
        raise BadInput(what, node.place, f"write order: {DRIVING_FIRST} where the motor's gear stands first")
    return text


def _quantity(name: str, at: Place) -> str:
    name = present_id(name)
    if is_meaning(name):
        return name
    near = _near(name)
    remedy = f"did you mean {', or '.join(near)}?" if near else _ALL_MEANINGS
    raise BadInput(f"there is no quantity {name!r}", at, remedy)


def is_meaning(name: str) -> bool:
    """Whether a setting may be said to be that."""
    return known(name) and not name.startswith(PROTECTED)


def meanings() -> tuple[str, ...]:
    """All that a setting may be said to be, `@` standing for a letter."""
    return tuple(sorted({each.id for each in all_quantities() if each.kind != "script"}))


def _near(name: str) -> list[str]:
    """The meanings that come closest to a name: by its letters, by what its words mean, by words that it shares."""
    every = meanings()
    spelled = difflib.get_close_matches(name, [IGNORE, *every], n=1, cutoff=0.9)
    words = {*re.split(r"[._ ]+", name.casefold())}
    parts = {each: {*re.split(r"[._]+", each)} for each in every}
    alike = [each for each in every if len(words & parts[each]) >= _SHARED * len(parts[each])]
    found = dict.fromkeys((*spelled, *nearest(read_name("", name)), *alike))
    return list(found)[:_MOST_NEAR] or difflib.get_close_matches(name, every, n=1, cutoff=0.4)


def _by_its_sign(text: str) -> str:
    """A unit whose first word is spelled in letters, with its sign there: `um per step` is `µm per step`."""
    word, blank, rest = text.partition(" ")
    spelled = unit_written(word)
    return f"{spelled.name}{blank}{rest}" if spelled else text


def _unit(name: str, text: str, at: Place) -> tuple[str, str]:
    """A unit and a qualifier that a quantity may have. Raises BadInput."""
    found = facts(name)
    words = text.split()
    qualifier = next((word.lower() for word in words if word.lower() in found.qualifiers), "")
    rest = " ".join(word for word in words if word.lower() != qualifier) if qualifier else text
    if not rest:
        return found.quantity.unit, qualifier
    spelled = unit_written(rest)
    unit = (
        found.unit(rest) or (found.unit(spelled.name) if spelled else None) or found.unit(_by_its_sign(rest))
    )
    if unit is None:
        possible = ", ".join(unit.unit or "a plain number" for unit in found.units)
        parts = f"; or a part of one, as in 1.9/31 {found.quantity.unit} % of 2 {found.quantity.unit} or (step+1)/32 of 2 {found.quantity.unit}"
        if name.endswith(".hold_current"):
            parts += ", or % of the run current, which it follows"
        raise BadInput(
            f"{name} can't be in {text!r}", at, f"possible: {possible}{parts if found.quantity.unit else ''}"
        )
    return unit.unit, qualifier

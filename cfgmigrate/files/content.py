"""What a file's settings show of its role: what it shares with others, which axes it sets, whose name it bears.

Only words and values are looked at, as far as roles need them (`evidence.yaml`); what a setting means is found
later, in `machine/`, and only for files whose role is known. Each file is looked at alone, also a header: else the
include guard of a copy would hide the live file.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from functools import lru_cache
from pathlib import Path

from msgspec import Struct

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.files.axes_in_words import OF_MOTORS, axes_in_words
from cfgmigrate.files.marks import words_of
from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import load
from cfgmigrate.ground.pattern import pattern

AXIS_LETTERS = frozenset("xyz")
_NUMBERS = pattern(r"[-+]?\d+(?:\.\d*)?|[-+]?\.\d+")
#: letters of moves, tools and line numbers; behind any other stands a code that sets something
_NO_CODES = frozenset(("", "G", "T", "N"))
_PATH_KEY = pattern(r"(?P<section>.*[^./])[./](?P<key>[^./]+)")
_MOVES = frozenset(("G0", "G1", "G2", "G3"))
#: from so many moves that lay down filament on, a word-address file is something to print and no script
PRINT_MOVES = 30


class Words(Struct, frozen=True):
    """The words of evidence.yaml."""

    materials: frozenset[str]
    metals: frozenset[str]
    filament: frozenset[str]
    identity: frozenset[str]
    print: frozenset[str]
    profiles: frozenset[str]
    hardware: frozenset[str]
    machine: frozenset[str]
    trade: frozenset[str]
    card: frozenset[str]
    concepts: tuple[frozenset[str], ...]


@compiled
def known_words() -> Words:
    """The words, as sets."""
    lists = (
        "materials",
        "metals",
        "filament",
        "identity",
        "print",
        "profiles",
        "hardware",
        "machine",
        "trade",
        "card",
    )
    data = load(Path(__file__).with_name("evidence.yaml"), dict.fromkeys((*lists, "concepts"), list))
    sets = {name: frozenset(map(str, data[name])) for name in lists}
    return Words(**sets, concepts=tuple(frozenset(map(str, words)) for words in data["concepts"]))


#: an axis, and which thing of it is set
AxisSetting = tuple[str, str]


class Content(Struct, frozen=True):
    """What one file shows. `values` are its settings by name, `axes` what it sets of the axes, `names` the names
    that it gives the machine, `tails` the further settings of axes by what stands behind their letters; `identities` are the words by which it is a filament's or a print's, `hardware` the
    part of its settings that speak of what is built in."""

    values: Mapping[str, str]
    axes: frozenset[AxisSetting]
    names: frozenset[str]
    identities: tuple[str, ...]
    hardware: float
    codes: int = 0
    moves: int = 0
    laid: int = 0
    tails: frozenset[AxisSetting] = frozenset()

    @property
    def axis_letters(self) -> frozenset[str]:
        return frozenset(axis for axis, _ in self.axes)


def content_of(document: Document) -> Content:
    """What a document shows of its role."""
    return _commands(document) if document.dialect == "command" else _settings(document)


def without_one_heading(values: Mapping[str, str]) -> Mapping[str, str]:
    """Settings by name without the heading that all of them stand below, `remembered:` in what a panel saved; the same ones where
    there is none, or it stands before all keys at once."""
    heads = {name.partition("\n")[0].partition(".")[0] for name in values}
    if len(heads) != 1 or not (head := heads.pop()):
        return values
    bare = {name.removeprefix(head).removeprefix("."): value for name, value in values.items()}
    return bare if any(not name.startswith("\n") for name in bare) else values


def shared(one: Content, other: Content) -> float:
    """The part of one's settings that the other has too, by name; 0 for a file without settings."""
    if not one.values:
        return 0.0
    return sum(name in other.values for name in one.values) / len(one.values)


def same(one: Content, other: Content) -> float:
    """The part of one's settings that the other has too, with the same value."""
    if not one.values:
        return 0.0
    return sum(other.values.get(name) == value for name, value in one.values.items()) / len(one.values)


def profile_evidence(path: str, content: Content) -> str:
    """The evidence that a file which sets no axes is a filament's or a print's profile; "" where there is none."""
    words, (folder, _, name) = known_words(), path.rpartition("/")
    if content.identities:
        return f"it says whose it is: {content.identities[0]}"
    if {word for step in folder.split("/") for word in words_of(step)} & words.profiles:
        return f"it lies in {folder}/ and sets no axes"
    found = {*words_of(name)} & words.materials
    return f"its name says {min(found)!r}, and it sets no axes" if found and len(content.values) > 1 else ""


def named_as_filament(path: str) -> bool:
    """Whether a file's name is a material, and its folder or the word before that is one for profiles: `reels/pla.nc`,
    `filament_petg.nc`."""
    words, (folder, _, name) = known_words(), path.rpartition("/")
    called = words_of(name)
    at = next((at for at, word in enumerate(called) if word in words.materials), None)
    if at is None:
        return False
    kept = {word for step in folder.split("/") for word in words_of(step)} | set(called[:at])
    return bool(kept & words.profiles)


def _name(setting: Setting) -> str:
    """Section and key of a setting, in small letters; of one without a section what stands before its last dot or slash is it."""
    section, key = setting.section, setting.key
    if not section and (found := _PATH_KEY.fullmatch(key)):
        section, key = found["section"], found["key"]
    return f"{section.casefold()}\n{key.casefold()}"


def _settings(document: Document) -> Content:
    words = known_words()
    values: dict[str, str] = {}
    axes: set[AxisSetting] = set()
    tails: set[AxisSetting] = set()
    listed: set[str] = set()
    names: set[str] = set()
    identities: list[str] = []
    hardware = 0
    printed: set[str] = set()
    axis_of = {
        setting.section: value
        for setting in document.settings
        if setting.key.lower() == "axis" and (value := _bare(setting.value)) in AXIS_LETTERS
    }
    for setting in document.settings:
        spelled = _words(setting.section), _words(setting.key)
        both = {*spelled[0], *spelled[1]}
        value = _bare(setting.value)
        values[_name(setting)] = value
        found = list(_axes(setting, both, axis_of.get(setting.section, "")))
        axes.update(found)
        if not found:
            tails.update(_tail(spelled))
            listed.update(_listed(setting, both))
        hardware += bool(both & words.hardware)
        printed |= both & words.print
        if name := _machine_name(document, setting, spelled, value):
            names.add(name)
        if _is_filaments(setting, spelled, value):
            identities.append(f"{setting.name}: {setting.value}"[:60])
    if len(listed) > 1:
        axes.update((axis, concept) for axis in AXIS_LETTERS for concept in listed)
    axes.update(axes_in_words(document) if not axes else ())
    names.update(_called_as_its_file(document) if not names else ())
    named = {word for step in document.path.split("/") for word in words_of(step)} & words.profiles
    if len({word.removesuffix("s") for word in printed}) > 1 or (printed and named):
        identities.append(" and ".join(sorted(printed)[:2]))
    share = hardware / len(values) if values else 0.0
    return Content(
        values, frozenset(axes), frozenset(names), tuple(identities), share, tails=frozenset(tails)
    )


def _called_as_its_file(document: Document) -> Iterator[str]:
    """The name that a file gives at its top, where it is the file's own name or its folder's, and the file sets motors: a
    filament's file has none."""
    named = {word for step in document.path.rsplit("/", 2)[-2:] for word in words_of(step)}
    top = document.settings[:_TOP_SETTINGS]
    for setting in top:
        value = _bare(setting.value)
        if (
            setting.section == top[0].section
            and _words(setting.key) == ("name",)
            and named.issuperset(words_of(value) or ("",))
            and len({s.section for s in document.settings if OF_MOTORS & {*_words(s.key)}})
            >= _SECTIONS_OF_MOTORS
        ):
            yield value


#: a file says its name in one of so many settings, and has motors in so many sections
_TOP_SETTINGS, _SECTIONS_OF_MOTORS = 8, 2
#: a name as one is given: one or two words that begin with a capital
_PROPER = pattern(r"""["']?[A-Z][a-z]{2,20}(?: [A-Z][a-z]{0,20}| [0-9]{1,3})?["']?""")


def _bare(value: str) -> str:
    return " ".join(value.strip("\"' \t").split()).casefold()


@lru_cache(maxsize=16384)
def _words(text: str) -> tuple[str, ...]:
    return words_of(text)


def _axes(setting: Setting, words: set[str], said: str) -> Iterator[AxisSetting]:
    """What of which axes a setting sets."""
    letters = {said} if said else words & AXIS_LETTERS
    if not letters and words & {"axes", "axis", "xyz", "xyze"} and len(_NUMBERS.findall(setting.value)) > 2:
        letters = set(AXIS_LETTERS)
    if letters and (len(letters) == 1 or len(_NUMBERS.findall(setting.value)) > 1):
        concept = _concept(words)
        if concept:
            yield from ((axis, concept) for axis in letters)


def _tail(spelled: tuple[tuple[str, ...], tuple[str, ...]]) -> Iterator[AxisSetting]:
    """An axis, and the words that stand behind its letter, where they say something that is not known here."""
    words = (*spelled[0], *spelled[1])
    at = [at for at, word in enumerate(words[:-1]) if word in AXIS_LETTERS]
    if len(at) == 1:
        yield words[at[0]], " ".join(words[at[0] + 1 :])


def _listed(setting: Setting, words: set[str]) -> Iterator[str]:
    """What a list with a number for each of three axes, and maybe the feeder, says of them: several such in one file are
    those of its axes, though none is named."""
    if len(_NUMBERS.findall(setting.value)) in (3, 4) and (concept := _concept(words)):
        yield concept


def _concept(words: set[str]) -> str:
    return next((sorted(each)[0] for each in known_words().concepts if words & each), "")


def _machine_name(
    document: Document, setting: Setting, spelled: tuple[tuple[str, ...], tuple[str, ...]], value: str
) -> str:
    """The name that a setting gives the machine; "" where it gives none."""
    words = known_words()
    section, key = spelled
    if not section and len(key) == 1 and key[0] in words.machine and _PROPER.fullmatch(setting.value):
        return value
    if (
        not value
        or len(value) > 40
        or not key
        or key[-1] not in words.identity - {"what", "type", "kind", "material"}
    ):
        return ""
    rest = {*section, *key[:-1]}
    if rest & words.machine or (not rest and document.dialect != "header"):
        return value
    return ""


def _is_filaments(setting: Setting, spelled: tuple[tuple[str, ...], tuple[str, ...]], value: str) -> bool:
    """Whether a setting names a filament, or stands in the section of one."""
    words = known_words()
    section, key = ({*each} for each in spelled)
    said = frozenset(words_of(value)) if len(value) <= 40 else frozenset()
    materials = words.materials & said
    if said & words.metals and not materials:
        return False
    if key & words.filament and (key & words.identity or materials):
        return True
    if key & (words.identity | words.materials) and materials:
        return True
    return bool(section & words.filament and (section & words.materials or key & words.identity))


def _commands(document: Document) -> Content:
    """Word-address lines: each code with its letters is a setting; a move goes by its whole line."""
    lines: dict[int, list[Setting]] = {}
    for setting in document.settings:
        lines.setdefault(setting.line, []).append(setting)
    values: dict[str, str] = {}
    axes: set[AxisSetting] = set()
    count: Counter[str] = Counter()
    for words in lines.values():
        code = next((word.section for word in words if word.section), "")
        letters = {word.key.lower() for word in words}
        if code.startswith("G"):
            values[" ".join(f"{word.key}{word.value}" for word in words)] = code
            if code in _MOVES:
                count["moves"] += 1
                count["laid"] += "e" in letters and bool(letters & {"x", "y"})
            continue
        if words[0].section == "" and code:  # a maker's own code, which stands before what it sets
            words = words[1:]
            axes.update((letter, code) for letter in letters & AXIS_LETTERS)
        for word in words:
            values[f"{code} {word.key}".casefold()] = word.value
        if code[:1] not in _NO_CODES and letters & {*AXIS_LETTERS, "e"} and not letters & {"p"}:
            count["codes"] += 1
            axes.update((letter, code) for letter in letters & AXIS_LETTERS)
    return Content(
        values, frozenset(axes), frozenset(), (), 0.0, count["codes"], count["moves"], count["laid"]
    )

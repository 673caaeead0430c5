"""What the words of a script in codes of its owner's own mean, as the site file says it, put beside the document.

    moves: {"bits/*.mv P": filament in, "bits/*.mv C": to z, "bits/*.mv V": mm per minute}

A line is a file or a pattern, a blank, and the word as the script has it, behind the code that begins its lines where that
matters (`R1 W`). A word moves the filament into the machine or out of it, by mm; goes to a place of an axis, or by so much
from where it stands; is a speed; or is a quantity's value (`motor.run_current in A rms`). `nothing` is what has no part in it; where that is
all that is said of the words of a file that reads as codes, what its lines set is read as ever.

A file that reads as no dialect, or seems to be such a script, is one as a whole: of its settings only those are left that a word
says. In any other file they explain the scripts that stand in it. What moves what is worked out in `scripts/`. A script in the
standard's codes (`G1 X40 A-6 F2700`) stays one where nothing else is said of it than which letter moves the filament, or what the
standard says anyhow: else its axes were checked no longer, as nobody explained them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec.structs import replace

from cfgmigrate.dialects import detect
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.own_lines import own_lines
from cfgmigrate.dialects.script_text import script_of
from cfgmigrate.dialects.source import Source
from cfgmigrate.files.own_scripts import own_script
from cfgmigrate.files.pattern import path_fits, same_path
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import Node, YamlField

FILAMENT_IN, FILAMENT_OUT, NO_PART = "filament in", "filament out", "nothing"
TO_AXES = {f"to {axis}": axis for axis in "xyz"}
BY_AXES = {f"by {axis}": axis for axis in "xyz"}
#: how many of a speed's units make a second
SPEEDS = {"mm per minute": 60.0, "mm per second": 1.0}
MEANINGS = (FILAMENT_IN, FILAMENT_OUT, *TO_AXES, *BY_AXES, *SPEEDS, NO_PART)
_QUANTITY = pattern(r"([a-z_]+(?:\.[a-z_]+)+)(?: in (\S.*))?")
#: so much of a text is a script's, and of one that reads as another dialect's
HALF_OF_IT, OF_ANOTHER_DIALECT = 0.5, 0.8
#: a code of the standard (RS-274) that a line begins with, and its letters that name no place, speed, pause, tool or line
_STANDARD = pattern(r"[gm]\d+")
_FEEDING = frozenset("abcdehijklqruvw")
_OF_MOVES = frozenset("xyzf")
#: dialects that lines such as `K4 V180` read as
_LIKE_OWN_CODES = ("command", "flat")


def quantity_said(meaning: str) -> tuple[str, str] | None:
    """The quantity and the unit that a word is said to be, None where it is said to be something else."""
    found = _QUANTITY.fullmatch(meaning)
    return (found[1], found[2] or "") if found else None


def checked(item: YamlField) -> YamlField:
    """A line of `moves` as it stands. Raises BadInput where it names no word, or says what there is not."""
    path, _, word = item.key.partition(" ")
    if not path or not word.strip():
        remedy = 'write the file and the word, as in "bits/end.mv P"'
        raise BadInput("a word of a script goes with its file", item.place, remedy)
    said = item.node.text or ""
    if said not in MEANINGS and quantity_said(said) is None:
        remedy = f"say one of: {', '.join(MEANINGS)}; or a quantity, as in motor.run_current in A rms"
        raise BadInput(f"what {word.strip()!r} means is not said", item.node.place, remedy)
    return item


def words_of_file(items: tuple[YamlField, ...], path: str) -> dict[str, str]:
    """What the words of a file mean, by the word in small letters; a line for this very file comes before a pattern's."""
    found: dict[str, str] = {}
    for item in sorted(items, key=lambda each: same_path(each.key.partition(" ")[0], path)):
        name, _, word = item.key.partition(" ")
        if same_path(name, path) or path_fits(path, name):
            found[" ".join(word.split()).casefold()] = item.node.text or ""
    return found


def is_script_of(data: bytes, words: Mapping[str, str], part: float = HALF_OF_IT) -> bool:
    """Whether so large a part of the lines has one of these words."""
    told = dict(words)
    lines = [line for line in own_lines(data.decode("latin-1")) if not line.empty]
    known = sum(any(line.meaning(word, told) for word in line.words) for line in lines)
    return bool(known) and known >= part * len(lines)


def is_whole_script(data: bytes, words: Mapping[str, str]) -> bool:
    """Whether a file of which a person explained these words is a script as a whole: one that reads as nothing else, or
    seems to be a script though its lines read as codes or as names and numbers; else one that has little but those words."""
    found = detect(data)
    if found is not None and found.name == "nested":
        return False  # its brackets or its indents belong to no script
    if found is None or (found.name in _LIKE_OWN_CODES and own_script(data) is not None):
        part = 0.0
    else:
        part = HALF_OF_IT if found.name == "command" else OF_ANOTHER_DIALECT
    return is_script_of(data, words, part)


def as_told(document: Document, items: tuple[YamlField, ...]) -> Document:
    """A document with what its scripts' words mean; one that is a script as a whole without the settings that nobody said."""
    words = words_of_file(items, document.path) if items else {}
    if not words:
        return document
    if document.dialect == "command" and (letter := _letter_of_standard(document.data, words)):
        return replace(document, feeds_by=letter)
    if document.dialect != "command":
        inner = [each for setting in document.settings for each in _values_in(document, setting, words)]
        with_words = replace(document, own_words=tuple(words.items()))
        every = sorted((*document.settings, *inner), key=lambda each: each.start)
        return replace(with_words, settings=tuple(every)) if inner else with_words
    silent = only_no_moves(words) and _reads_as_codes(document.data)
    if silent or not is_whole_script(document.data, words):
        return replace(document, own_words=tuple(words.items()))
    settings = tuple(_values(document, words))
    return replace(document, own_words=tuple(words.items()), settings=settings, doubts=(), includes=())


def only_no_moves(words: Mapping[str, str]) -> bool:
    """Whether all that a person said of a file's words is that they move nothing: what they set is not said by that."""
    return bool(words) and all(does == NO_PART for does in words.values())


def _reads_as_codes(data: bytes) -> bool:
    found = detect(data)
    return found is not None and found.name == "command"


def _letter_of_standard(data: bytes, words: Mapping[str, str]) -> str:
    """The letter that moves the filament in a script in the standard's codes, where nothing is said of its words that the
    standard does not say, but for that letter; "" for any other script. Its axes go as ever: nobody explained them."""
    feeds = [word for word, does in words.items() if does == FILAMENT_IN]
    rest = {word: does for word, does in words.items() if does != FILAMENT_IN}
    as_ever = all(
        does == f"to {word}"
        or (word == "f" and does == "mm per minute")
        or (does == NO_PART and word not in _OF_MOVES)
        for word, does in rest.items()
    )
    if len(feeds) != 1 or feeds[0] not in _FEEDING or not as_ever:
        return ""
    lines = [line for line in own_lines(data.decode("latin-1")) if not line.empty]
    standard = sum(_STANDARD.fullmatch(line.head) is not None for line in lines)
    return feeds[0].upper() if lines and standard >= HALF_OF_IT * len(lines) else ""


def words_nowhere(items: Iterable[YamlField], documents: Sequence[Document]) -> Iterator[YamlField]:
    """The lines that explain how a word moves something, and of which no script of the files that they name has the word;
    those that say a quantity's value are names like others (`machine/names.py`)."""
    there: dict[str, set[str]] = {}
    for item in items:
        name, _, word = item.key.partition(" ")
        files = [each for each in documents if same_path(each.path, name) or path_fits(each.path, name)]
        if not files or quantity_said(item.node.text or ""):
            continue
        for each in files:
            if each.path not in there:
                there[each.path] = set(_words_of(each))
        if not any(" ".join(word.split()).casefold() in there[each.path] for each in files):
            yield item


def _words_of(document: Document) -> Iterator[str]:
    """All words of a file's scripts, by themselves and behind what they may be told apart by."""
    for text in _texts(document):
        for line in own_lines(text):
            for word in line.words:
                yield from (f"{line.head} {word.word}", f"{word.behind} {word.word}", word.word)


def _texts(document: Document) -> Iterator[str]:
    if document.dialect == "command":
        yield document.data.decode("latin-1")
        return
    for each in document.settings:
        yield script_of(document, each)


def as_meanings(items: tuple[YamlField, ...]) -> Iterator[YamlField]:
    """The words that are a quantity's values as lines of `meanings`."""
    for item in items:
        if said := quantity_said(item.node.text or ""):
            fields = [("quantity", said[0]), *([("unit", said[1])] if said[1] else [])]
            place = item.node.place
            named = tuple(YamlField(name, place, Node(place, text)) for name, text in fields)
            yield replace(item, node=Node(place, items=named))


def with_told_codes(document: Document, items: tuple[YamlField, ...]) -> Document:
    """A document with the words of codes that stand in its settings' values and that `codes` of the site file explain, each
    as a setting like those of a file of codes."""
    told = {item.key.upper().rpartition(".")[::2] for item in items}
    if not told or document.dialect == "command":
        return document
    source = Source(document.path, document.data)
    inner: list[Setting] = []
    for setting in document.settings:
        if setting.state is not State.ACTIVE or setting.behind:
            continue
        for line in own_lines(script_of(document, setting)):
            for word in line.words[1:] if line.head else ():
                code = line.head.upper(), word.word.upper()
                if code in told and word.value is not None:
                    start, end = setting.start + word.start, setting.start + word.end
                    inner.append(Setting(*code, word.text, start, end, *source.where(start)))
    every = sorted((*document.settings, *inner), key=lambda each: each.start) if inner else ()
    return replace(document, settings=tuple(every)) if inner else document


def _values(document: Document, words: dict[str, str]) -> Iterator[Setting]:
    """The numbers of a script that a word says are a quantity's value."""
    return _said(Source(document.path, document.data), document.data.decode("latin-1"), 0, words)


def _values_in(document: Document, setting: Setting, words: dict[str, str]) -> Iterator[Setting]:
    """The same of what stands in a setting's value."""
    if setting.state is not State.ACTIVE or setting.behind or not any(map(quantity_said, words.values())):
        return
    yield from _said(Source(document.path, document.data), script_of(document, setting), setting.start, words)


def _said(source: Source, text: str, base: int, words: dict[str, str]) -> Iterator[Setting]:
    for line in own_lines(text):
        for word in line.words:
            if word.word and word.value is not None and quantity_said(line.meaning(word, words)):
                behind = (f"{each} {word.word}" for each in (line.head, word.behind))
                key = next((each for each in behind if each in words), word.word)
                start, end = base + word.start, base + word.end
                yield Setting("", key, word.text, start, end, *source.where(start))

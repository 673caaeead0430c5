"""A text beside the machine that may be a listing of what the board keeps: a console's print-out, a log of one, a note.

It is no configuration by its content or its name. Yet several of its lines are the name of a setting of the machine's
own files and a number, and one of these numbers is another than the file's, or the text says of itself that a board keeps
this: then the numbers may be the same, until only the files get new ones. If the board really keeps it and prefers it to its
files, writing the files alone changes nothing. So nobody decides it here: the lines are handed on, a person is asked, and
the role that the site file gives the text is the answer.

A text that a machine writes, or that is read last and wins, by its own words or by those of a file in force beside its name,
needs no more than one such line, and it may have the file's number.

A line may be a row with a number for each axis: `pulses/mm ..... x 80.00 y 80.00 feed 97.10`. One such is enough, where
its label names a measure that axes have; a log of places is none.

Or it is a word of settings with a number behind each letter, `stride X80 Y80 A93` beside `X_STRIDE 80` and `FEED_STRIDE 95`: several
such words make a listing, where the numbers are near those of the settings.

Each line is looked at by itself, and the text as bytes. No value is taken from it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache

from cfgmigrate.dialects.document import Document, State, readable
from cfgmigrate.dialects.labelled import row
from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.dialects.lettered_rows import is_near, lettered_row
from cfgmigrate.files.content import AXIS_LETTERS, known_words
from cfgmigrate.files.marks import words_of
from cfgmigrate.files.roles import FileRole, ListedValue
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.ground.pattern import pattern

#: so many different settings are named by a listing
FEWEST_NAMED = 3
#: so much of a text is looked at: bytes, lines, characters of a line, words of a name
MOST_LISTED_BYTES, MOST_LISTED_LINES, LONGEST_LISTED_LINE, MOST_LISTED_WORDS = 256 * 1024, 5000, 120, 8
#: so many rows are handed on
MOST_LISTED_ROWS = 40
#: a unit that no place has
_A_RATE = pattern(
    r"(?:/|per)[ \t]?(?:mm|s|sec|second|min|minute)(?![a-z])|(?<![a-z])mA(?![a-z])", re.IGNORECASE
)
#: what the question about a listing begins with
MAY_BE_KEPT = "is this what the board keeps"
#: the text says that a machine keeps it
_SAYS_KEPT = (
    rb"\b(?:kept|keeps?|stored|stores|saved|saves)\b[^\r\n]{0,40}\b(?:memory|board|controller|until)\b"
    rb"|\b(?:memory|board|controller)\b[^\r\n]{0,40}\b(?:kept|keeps?|stored|stores|saved|saves|prefers)\b"
)
#: what it counts more than
_WHAT_IS_READ = rb"[^\r\n]{0,12}\b(?:build|built|files?|headers?|card|settings|configuration)\b"
_NO_DENIAL = rb"(?!\b(?:not|no|never|nothing|no longer|was|were|used to|until|before|isn|doesn|don|didn)\b)"
#: somebody else than the file that was named
_ANOTHER_ONE = rb"(?!\b(?:own|each|every|other|others|their|theirs)\b)"
_WRITTEN = rb"\bwritten by the (?:machine|printer|board|controller)\b"
#: units that end a key, which a listing has behind its number
_UNITS_AT_THE_END = frozenset(
    ("mm", "cm", "s", "ms", "s2", "min", "per", "a", "ma", "v", "c", "hz", "deg", "degrees", "pct")
)
_FIRST = pattern(r"[-+]?\d{1,9}(?:\.\d{1,9})?")
AXES_OF_ROWS = frozenset("xyz")
_LINE_END = pattern(rb"\r\n?|\n")
_LAST_NUMBER = pattern(r"(?<![\w.])[-+]?\d{1,9}(?:\.\d{1,9})?(?=[ \t]{0,3}[A-Za-z/%°²^]{0,8}[ \t;,]{0,3}$)")
_NUMBERS = pattern(r"(?<![\w.])[-+]?\d{1,9}(?:\.\d{1,9})?(?=f?(?![\w.]))")


def listed_values(
    data: bytes, documents: Sequence[Document], path: str = "", *, wins: bool = False
) -> tuple[ListedValue, ...]:
    """The lines of a text that give settings of these documents other numbers, and those that give the same where the text
    says that a board keeps them or that it `wins`, or a person says so, and its rows of axes; () where it is no listing of them."""
    if b"\0" in data[:MOST_LISTED_BYTES]:
        return ()
    wins = wins or _says_wins().search(data, 0, MOST_LISTED_BYTES) is not None or said_to_win(path, documents)
    kept = wins or _says_kept().search(data, 0, MOST_LISTED_BYTES) is not None
    known = _by_words(documents)
    lettered = _lettered(data, documents)
    found, rows, named = list[ListedValue](), list[ListedValue](), set[str]()
    for number, line in enumerate(_LINE_END.split(data[:MOST_LISTED_BYTES])[:MOST_LISTED_LINES], 1):
        text = readable(line[: LONGEST_LISTED_LINE + 1]).strip()
        if is_row_of_axes(text):
            rows.append(ListedValue(number, " ".join(text.split()), ""))
            continue
        last = _number_of(text, kept) if len(text) <= LONGEST_LISTED_LINE else None
        of = _settings_named(text[: last.start()], known) if last else ()
        named.update(name for name, _ in of[:1])
        theirs = {float(each) for _, value in of for each in _NUMBERS.findall(value)}
        if last and (kept or float(last[0]) not in theirs):
            found += [ListedValue(number, " ".join(text.split()), name) for name, _ in of]
    found = [
        *(found if len(named) >= (1 if wins else FEWEST_NAMED) else ()),
        *rows[:MOST_LISTED_ROWS],
        *lettered,
    ]
    return tuple(sorted(found, key=lambda each: each.line))


def _lettered(data: bytes, documents: Iterable[Document]) -> tuple[ListedValue, ...]:
    """The rows of letters that give settings numbers near their own, by the settings' names; () for fewer than a few words."""
    lines = enumerate(_LINE_END.split(data[:MOST_LISTED_BYTES])[:MOST_LISTED_LINES], 1)
    rows = [
        (number, text, found)
        for number, line in lines
        if len(line) <= LONGEST_LISTED_LINE and (found := lettered_row(text := readable(line)))
    ]
    wanted = {word.lower() for _, _, (word, _) in rows}
    if len(wanted) < FEWEST_NAMED:
        return ()
    known: dict[str, list[tuple[str, frozenset[str], float]]] = {}
    for document in documents:
        for setting in document.settings:
            single = _FIRST.match(setting.value[:LONGEST_LISTED_LINE])
            if single is None or setting.state is State.INACTIVE:
                continue
            words = frozenset(words_of(setting.key))
            for word in wanted & words:
                known.setdefault(word, []).append((setting.name, words & AXES_OF_ROWS, float(single[0])))
    listed = [
        ListedValue(number, " ".join(text.split()), name)
        for number, text, (word, numbers) in rows
        for name, axes, old in known.get(word.lower(), ())
        if any(_is_of_row(letter, float(said), axes, old) for letter, said in numbers)
    ]
    named = {word.lower() for number, _, (word, _) in rows for each in listed if each.line == number}
    return tuple(listed) if len(named) >= FEWEST_NAMED else ()


def _is_of_row(letter: str, number: float, axes: frozenset[str], old: float) -> bool:
    """Whether a number behind this letter may be a setting's of these axes."""
    named = letter.lower() in axes if axes else letter.lower() not in AXES_OF_ROWS
    return named and bool(old) and is_near(number, old)


@cache
def _says_kept() -> re.Pattern[bytes]:
    over = last_word().over_another.encode()
    return re.compile(_SAYS_KEPT + rb"|" + over + _WHAT_IS_READ, re.IGNORECASE)


@cache
def _says_wins() -> re.Pattern[bytes]:
    """A remark that says so of the text itself."""
    says = rb"^[ \t]*(?:[#;*]|//)[^\r\n]{0,80}(?:" + _wins() + rb"|" + _WRITTEN + rb")"
    return re.compile(says, re.IGNORECASE | re.MULTILINE)


@cache
def _wins() -> bytes:
    """What counts in the end, by its verb alone: it stands in a remark, or beside the name of a file."""
    words = last_word()
    return f"(?:{words.alone}|{words.read_last})".encode()


def _number_of(text: str, kept: bool) -> re.Match[str] | None:
    """The number that a line ends with; in what a board keeps also the first one, with words such as a date behind it."""
    return _LAST_NUMBER.search(text) or (_NUMBERS.search(text) if kept else None)


def said_to_win(path: str, documents: Iterable[Document]) -> bool:
    """Whether a line of a file in force says of a file by its name that it counts in the end."""
    name = path.rpartition("/")[2].encode("utf-8", "surrogateescape")
    if not name:
        return False
    says = pattern(
        rb"(?<![\w.-])"
        + re.escape(name)
        + rb"\b(?:"
        + _NO_DENIAL
        + _ANOTHER_ONE
        + rb"[^\r\n]){0,60}(?:"
        + _wins()
        + rb")(?<! (?:is|be|ts) overridden)(?<! (?:are|get) overridden)(?! (?:to|by)\b)",
        re.IGNORECASE,
    )
    return any(name in each.data and says.search(each.data) for each in documents)


def is_row_of_axes(text: str) -> bool:
    """Whether a line gives several axes a number of a measure that is no place: steps for a millimetre, a speed."""
    if len(text) > LONGEST_LISTED_LINE:
        return False
    of, parts = row(text, 0, len(text))
    names = {name.lower() for name, _, _ in parts}
    return len(names & AXIS_LETTERS) > 1 and bool(_A_RATE.search(of) or _measures() & {*words_of(of)})


def _measures() -> frozenset[str]:
    """The words of what an axis has, but for its places."""
    return frozenset[str]().union(*known_words().concepts[:-1])


def listing_doubts(roles: Iterable[FileRole]) -> Iterator[Doubt]:
    """The question about each listing, at its first line."""
    for role in roles:
        if role.holds:
            first, lines = role.holds[0], len({each.line for each in role.holds})
            key = '"' + role.path.replace("\\", "\\\\").replace('"', '\\"') + '"'
            yield Doubt(
                Place(role.path, first.line, 1),
                first.text,
                f"{MAY_BE_KEPT}? Then it wins over your files. No value is taken from it now, and {lines} of its lines {'gives' if lines == 1 else 'give'} "
                "your settings numbers that may not be those of the files once these are changed",
                f"if the board keeps it, write in cfgmigrate.yaml, below `site: 1`: roles: {{{key}: saved values}}; "
                f"if they are a filament's or a print's own settings: roles: {{{key}: profile}}; "
                f"if neither: roles: {{{key}: no configuration}}",
            )


def _by_words(documents: Iterable[Document]) -> Mapping[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Name and value of each setting, by the words of its name and of its key alone."""
    found: dict[tuple[str, ...], tuple[tuple[str, str], ...]] = {}
    for document in documents:
        verb = _verb(document)
        for setting in document.settings if document.dialect != "command" else ():
            if setting.state is State.INACTIVE or not _NUMBERS.search(setting.value[:LONGEST_LISTED_LINE]):
                continue
            both, own = words_of(f"{setting.section} {setting.key}"), words_of(setting.key)
            plain = own[1:] if own[:1] == verb else own
            for words in dict.fromkeys((both, own, plain, _without_units(own))):
                if len(words) > 1:
                    pair = (setting.name, setting.value[:LONGEST_LISTED_LINE])
                    found[words] = (*found.get(words, ())[:MOST_LISTED_WORDS], pair)
    return found


def _verb(document: Document) -> tuple[str, ...]:
    """The word that all keys of a file begin with, `set feeder steps`; () for none."""
    first = {words_of(setting.key)[:1] for setting in document.settings}
    return first.pop() if len(first) == 1 and len(document.settings) >= FEWEST_NAMED else ()


def _without_units(words: tuple[str, ...]) -> tuple[str, ...]:
    while len(words) > 2 and words[-1] in _UNITS_AT_THE_END:
        words = words[:-1]
    return words


def _settings_named(
    text: str, known: Mapping[tuple[str, ...], tuple[tuple[str, str], ...]]
) -> tuple[tuple[str, str], ...]:
    """The settings that a line names: by all its words, else by the longest run of them, else by all in another order, as
    `steps feeder`."""
    words = words_of(text)
    if not 1 < len(words) <= MOST_LISTED_WORDS:
        return ()
    for length in range(len(words), 1, -1):
        for start in range(len(words) - length + 1):
            if there := known.get(words[start : start + length]):
                return there
    return next((there for name, there in known.items() if sorted(name) == sorted(words)), ())

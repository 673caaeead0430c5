"""By which words a text says that it counts in the end: it wins over another, or is read last (`last_word.yaml`); and by which
a file says that it is read behind another.

Who asks needs them more or less certain. Beside the name of a file, or in the remark of a listing, the verb alone is enough.
In a sentence the word before what does not count has to stand there too: what wins over another is no winner of a race. In a
section's head, where names stand, a lone word has to be what one does: `[override]` and `[win]` are names.

What comes of it are texts of expressions, which others put into their own. Whether it is denied, or of the past, is not
looked at here, since each of them knows which text stands around.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from msgspec import Struct

from cfgmigrate.ground.compiled import compiled
from cfgmigrate.ground.data_file import check_fields, load
from cfgmigrate.ground.findings import BadInput, Place

_FILE = "last_word.yaml"
_FIELDS = frozenset(("one", "many", "over", "besides", "whom", "files"))
_OF_FILES = ("before", "ways", "beside_a_name", "over", "turns_alone")
_OF_SUBJECTS = ("sure", "own", "another")
_OF_KEYS = ("order", "turn", "reading", "beside")
_OF_SHOWN = ("would_be", "of_the_maker", "left_out", "stored")


class FileOrder(Struct, frozen=True):
    """Alternatives, each without what stands around it: verbs and ways by which a file counts over another, what may stand before
    a way, the way beside a name alone, what stands behind a way, its turns, those that need no name; and the words of keys."""

    verbs: str
    before: str
    ways: str
    beside_a_name: str
    over: str
    turns: str
    turns_alone: str
    order: str
    turn: str
    reading: str
    beside: str


class WhoWins(Struct, frozen=True):
    """Words before one that says who counts in the end: those of which one has to stand where a file speaks of itself, those that
    may stand beside it, and those that speak of somebody else."""

    sure: frozenset[str]
    own: frozenset[str]
    another: frozenset[str]


class Shown(Struct, frozen=True):
    """Expressions by which a listing says of a part that it doesn't hold: for certain, where it was listed before, and where its
    lines may be skipped; and that what follows does."""

    would_be: str
    of_the_maker: str
    left_out: str
    stored: str


class LastWord(Struct, frozen=True):
    """Expressions for what counts in the end: the verb alone, the verb with the word before what it counts against, the verb
    where names stand, and that it is read last. `stems` are texts of which one stands in all that `among_names` finds, `files` what
    files say of each other."""

    alone: str
    over_another: str
    among_names: str
    read_last: str
    stems: tuple[str, ...]
    files: FileOrder
    subject: WhoWins
    shown: Shown


@compiled
def last_word() -> LastWord:
    """Raises BadInput where the file is wrong."""
    kinds = dict.fromkeys(("verbs", "whom", "ways", "turns"), list) | dict.fromkeys(
        ("files", "keys", "subject", "shown"), dict
    )
    data = load(Path(__file__).with_name(_FILE), kinds)
    every = [check_fields(_FILE, "verbs", verb, _FIELDS) for verb in data["verbs"]]
    if lacking := next((verb for verb in every if not verb.keys() >= {"one", "many"}), None):
        raise BadInput(f"`one` and `many` are missing in {lacking}", Place(_FILE))
    verbs = [verb for verb in every if verb.get("files") != "only"]
    before = f"(?= {_any_of(data['whom'])})"
    return LastWord(
        _any_of(form for verb in verbs for form in (verb["one"], verb["many"], *verb.get("besides", ()))),
        _any_of(_over(verb, form) for verb in verbs for form in ("one", "many")),
        "(?:" + "|".join(_among_names(verb) + before * bool(verb.get("whom")) for verb in verbs) + ")",
        _any_of(f"{way} {turn}" for way in data["ways"] for turn in data["turns"]),
        tuple(verb["one"].partition(" ")[2] or verb["one"] for verb in verbs),
        _file_order([verb for verb in every if "files" in verb], data),
        _who_wins(data["subject"]),
        _shown(data["shown"]),
    )


def _who_wins(said: dict[str, Any]) -> WhoWins:
    words = check_fields(_FILE, "subject", said, frozenset(_OF_SUBJECTS))
    if lacking := [name for name in _OF_SUBJECTS if name not in words]:
        raise BadInput(f"`{lacking[0]}` is missing", Place(_FILE))
    return WhoWins(*(frozenset(words[name]) for name in _OF_SUBJECTS))


def _shown(data: dict[str, Any]) -> Shown:
    said = check_fields(_FILE, "shown", data, frozenset(_OF_SHOWN))
    if lacking := [name for name in _OF_SHOWN if name not in said]:
        raise BadInput(f"`{lacking[0]}` is missing", Place(_FILE))
    return Shown(*(_any_of(said[name]) for name in _OF_SHOWN))


def _file_order(verbs: list[dict[str, Any]], data: dict[str, Any]) -> FileOrder:
    files = check_fields(_FILE, "files", data["files"], frozenset(_OF_FILES))
    keys = check_fields(_FILE, "keys", data["keys"], frozenset(_OF_KEYS))
    if lacking := [name for name in (*_OF_FILES, *_OF_KEYS) if name not in {**files, **keys}]:
        raise BadInput(f"`{lacking[0]}` is missing", Place(_FILE))
    said = [
        f"{verb[form]}(?: {verb['over']})?" if "over" in verb else verb[form]
        for verb in verbs
        for form in ("one", "many")
    ]
    before, ways, beside_a_name, over, turns_alone = ("|".join(files[name]) for name in _OF_FILES)
    turns = "|".join(data["turns"])
    return FileOrder(
        "|".join(said),
        before,
        ways,
        beside_a_name,
        over,
        turns,
        turns_alone,
        *("|".join(keys[name]) for name in _OF_KEYS),
    )


def _among_names(verb: dict[str, Any]) -> str:
    """What one does, by a lone word; where it takes several, what one or several do over another: looks count more, too."""
    return _any_of([verb["one"]] if " " not in verb["one"] else [_over(verb, "one"), _over(verb, "many")])


def _over(verb: dict[str, Any], form: str) -> str:
    return f"{verb[form]} {verb.get('over', '')}".rstrip()


def _any_of(texts: Iterable[str]) -> str:
    return rf"\b(?:{'|'.join(map(re.escape, texts))})\b"

"""Words that a person explains: the site file's `words`, which hold in every name of these files.

    words: {vbe: acceleration, "zum klo": run current, frob: feeder, quux: nothing}

A word is put in full wherever it stands, as an abbreviation that a file explains in its own head is; what the name then
says is the matter of `matching.py`, with all its caution about units, holders and words that nobody knows. So one line
teaches every setting in which the word stands, and none in which another word is strange. `nothing` is a word without a
meaning of its own, such as a name.

A word that the trade has already keeps its meaning, and a line that says that very meaning is no fault: what one setting is, its own line of `meanings` says. Above all no
word takes away what is protected.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.ground.findings import BadInput, Doubt, Place
from cfgmigrate.ground.positioned_yaml import YamlField
from cfgmigrate.machine.plain_words import protected_name
from cfgmigrate.machine.spellings import ways_of
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import Name, split

Pieces = tuple[str, ...]
#: pieces of a word that is taught: more are a sentence
LONGEST_TAUGHT = 8
NOTHING_MEANT = "nothing"
_AXES = frozenset("xyz")
_OF_THE_TRADE = " is understood already, as a word of the trade"
_BY_ITS_WHOLE_NAME = (
    'take out such lines, and say under `meanings` what a setting is, by its whole name: "FARTHEST_LEFT": axis.x.min; a list '
    "with a number for each axis takes a list: [axis.x.max_speed, axis.y.max_speed, axis.z.max_speed]"
)


class TaughtWord(Struct, frozen=True):
    """A word by its pieces, with those of what it means."""

    key: str
    place: Place
    pieces: Pieces
    meant: Pieces


def taught_words(items: Iterable[YamlField]) -> tuple[TaughtWord, ...]:
    """The lines of `words`. Raises BadInput, with line and column, where one can't be taught so."""
    found: dict[Pieces, TaughtWord] = {}
    wrong: list[BadInput] = []
    for item in items:
        try:
            word = _taught(item)
        except BadInput as problem:
            wrong.append(problem)
            continue
        if word.pieces in found:
            raise BadInput("the word is explained twice", item.place, "keep one of the lines")
        found[word.pieces] = word
    if wrong:
        raise _all_at_once(wrong)
    return tuple(found.values())


def _all_at_once(wrong: Sequence[BadInput]) -> BadInput:
    """One error for all lines that can't be taught, at the first of them, with what to write instead."""
    if len(wrong) == 1:
        return wrong[0]
    first = wrong[0]
    words = ", ".join(
        each.what.removesuffix(_OF_THE_TRADE) for each in wrong if each.what.endswith(_OF_THE_TRADE)
    )
    others = [
        f"line {each.place.line if each.place else 0}: {each.what}"
        for each in wrong
        if not each.what.endswith(_OF_THE_TRADE)
    ]
    told = [f"these are understood already, as words of the trade: {words}"] if words else []
    return BadInput(
        "; ".join((*told, *others)), first.place, "; ".join(dict.fromkeys(each.remedy for each in wrong))
    )


def _taught(item: YamlField) -> TaughtWord:
    pieces, text = tuple(split(item.key)), item.node.text or ""
    meant = meaning_of(text)
    if not pieces or len(pieces) > LONGEST_TAUGHT:
        raise BadInput("this is no word of a setting's name", item.place, "write it as the files have it")
    if not split(text):
        raise BadInput("it says nothing of the word", item.node.place, "write what it means: max speed")
    for piece in pieces:
        if (
            piece in vocabulary().known
            and len(pieces) == 1
            and not (_names_an_axis(piece, meant) or _is_it_already(piece, meant))
        ):
            raise BadInput(f"{piece!r}{_OF_THE_TRADE}", item.place, _BY_ITS_WHOLE_NAME)
    if protected_name(Name((), _plainly(pieces))):
        remedy = "take the line out: what is protected stays protected"
        raise BadInput(f"{item.key!r} is protected by its own words", item.place, remedy)
    for word in _plainly(meant):
        if word not in vocabulary().known and not word.isdigit():
            near = difflib.get_close_matches(word, sorted(vocabulary().known), n=1, cutoff=0.6)
            remedy = (
                f"did you mean {near[0]}?" if near else "write it in the trade's words: max speed, feeder"
            )
            raise BadInput(f"{word!r} is no word that is understood", item.node.place, remedy)
    return TaughtWord(item.key, item.place, pieces, meant)


def _names_an_axis(piece: str, meant: Pieces) -> bool:
    """Whether a word that says nothing by itself, such as `across`, is explained as an axis."""
    return piece in vocabulary().fillers and len(meant) == 1 and meant[0] in _AXES


def _is_it_already(piece: str, meant: Pieces) -> bool:
    """Whether whatever the trade says with a word is what it is explained as: then the line takes nothing away."""
    spellings = vocabulary().spellings.items()
    says = {name for name, group in spellings for spelling in group if piece in spelling}
    return len(says) == 1 and says == {name for name, group in spellings if _plainly(meant) in group}


def meaning_of(text: str) -> Pieces:
    """The pieces of what a word means; () for `nothing`."""
    return () if text.strip() == NOTHING_MEANT else tuple(split(text))


def _plainly(pieces: Pieces) -> Pieces:
    return tuple(word for piece in pieces for word in ((piece,) if piece.isdigit() else ways_of(piece)[0]))


def in_mapping(words: Sequence[TaughtWord]) -> Mapping[Pieces, Pieces]:
    """The pieces of each word, with the pieces of what it means."""
    return {word.pieces: word.meant for word in words}


def nowhere(words: Sequence[TaughtWord], documents: Iterable[Document]) -> Iterator[Doubt]:
    """A doubt for each word that stands in no name of the files."""
    wanted = {word.pieces for word in words}
    widths = sorted({len(pieces) for pieces in wanted})
    there: set[Pieces] = set()
    for pieces in _texts(documents) if wanted else ():
        for wide in widths:
            there.update(
                window for at in range(len(pieces) - wide + 1) if (window := pieces[at : at + wide]) in wanted
            )
    for word in words:
        if word.pieces not in there:
            why = "no name of a setting has this word"
            yield Doubt(word.place, word.key, why, "copy it from the setting's name as the survey shows it")


def _texts(documents: Iterable[Document]) -> Iterator[Pieces]:
    """The names of all settings in pieces; of word-address lines all that stands in the file, remarks too."""
    for document in documents:
        if document.dialect == "command":
            for line in document.data.decode("latin-1").splitlines():
                yield tuple(split(line))
            continue
        for section in dict.fromkeys(setting.section for setting in document.settings):
            yield tuple(split(section))
        for setting in document.settings:
            yield tuple(split(setting.key))

"""What a file says of itself before its first setting: that it is of another machine, that it is no longer in force, or who
writes it.

    ; The machine next door, not ours. Kept here because the codes are the same
    ; Revision 09, superseded by 11
    ; written by the board when values are kept
    ; kept, spring, before I turned the screw

It is looked at only where two files say the same things and one of them has to be the live one, or one seems to be a copy:
such a sentence is no reason by itself to leave a file out. In a file without remarks a text beside its outermost objects is one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache, lru_cache

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.last_word import last_word
from cfgmigrate.files.who_wins import is_of_its_own_file
from cfgmigrate.ground.pattern import pattern

#: what the program's own test scripts say of themselves
OWN_TEST = "a test script written by cfgmigrate, not a configuration file"
#: what such scripts said of themselves before
_OWN_TEST_BEFORE = "a test script, written by cfgmigrate: no configuration"
#: so many lines, and so many texts, may be what a file says of itself
_LINES, _TEXTS = 12, 4
#: a machine's name of so few letters may be any word
_SHORT = 3
#: letters of a line or a text that are looked at
_LONGEST = 300
_REMARK = pattern(r"[ \t]*(?:#+|;+|//+|/?\*+|\()[ \t]*(.+)")
_MACHINE = r"(?:printer|machine|one)"
_ANOTHER = pattern(
    rf"\b(?:not (?:(?:for|of) )?(?:the|this|my|our|that) {_MACHINE}\b|not (?:mine|ours)\b"
    rf"|(?:somebody|someone) else'?s {_MACHINE}\b|(?:for|of|from) (?:his|her|their|(?:a|the) (?:dealer|friend|neighbour|neighbor|maker|seller)'?s) (?:own )?{_MACHINE}\b"
    rf"|\b(?:{_MACHINE}|(?:of|for|from) the \w+),? next door\b)(?! (?:alone|only|to|that|which|until|till)\b)",
    re.I,
)
#: what is said of a file that is only there to be read
_LENT = pattern(
    r"\b(?:(?:only|just) (?:lent|on loan|borrowed)\b|(?:only|just) to (?:look at|compare)\b"
    r"|kept (?:here )?(?:(?:only|just) )?(?:for|because of) (?:the|its|his|her|their) (?:drawings?|pictures?|pinout|wiring)(?: (?:only|alone))?\b"
    r"|not to be used\b|(?:for|as a) comparison only\b|(?:[\w']+ ){0,2}(?:gave|sent|lent) (?:me|us) (?:(?:this|these|it) (?:from|of) )?(?:his|hers|theirs)\b)"
    r"(?! (?:until|till)\b)",
    re.I,
    needs=("lent", "loan", "borrowed", "to look at", "compar", "to be used", "gave", "sent", "kept"),
)
_PAST = pattern(
    r"\b(?:superseded\b|(?<!was )(?<!were )(?:no longer (?:in force|in use|used|valid)|not (?:in force|in use|used) any ?more)\b(?! (?:for|with|as|on|to)\b| ?:)"
    r"|(?<!was )(?<!were )(?:out of date|obsolete)\b(?! (?!since|now|as of|by)\w)"
    r"|replaced (?:by|with) (?:(?:rev|version|issue|edition|number)\w*(?! [\w.]+ of (?!this|these|th\w+ (?:file|settings)))"
    r"|\d[\w.]*(?! ?\w))|kept (?:only )?(?:as a|for a) (?:copy|record)\b(?! of\b)"
    r"|last (?:spring|summer|autumn|fall|winter|season|year|month|week|term|semester)\b(?! ?\w))(?! (?:is|are|was|were|until|till)\b)",
    re.I,
    needs=(
        "superseded",
        "no longer",
        "any more",
        "anymore",
        "out of date",
        "obsolete",
        "replaced",
        "kept",
        "last ",
    ),
)
#: what may stand before such words in their clause, and leaves the file itself what they are said of
_ITSELF = pattern(
    r"(?:(?:this|that|it|it's|these|those|they|the|an?|all|everything|files?|cop(?:y|ies)|values|numbers|settings|set-?up|config\w*"
    r"|printer|machine|one|version|revision|rev|issue|edition|state|old|first|second|third|is|are|for|of|from|as|by|and|only|just|here|now"
    r"|was|were|used|\w*\d[\w.:/]*|january|february|march|april|may|june|july|august|september|october"
    r"|november|december)(?:[\s,()-]+|$))*",
    re.I,
)
#: what the whole sentence is about where it isn't the file by these words alone
_OF_A_FILE = pattern(
    rf"\b(?:{_MACHINE}|file|settings|configuration|values|version|revision|edition|issue)\b", re.I
)
#: how the first remark of a copy begins. Live files begin so as well, `kept: all numbers`, `old, but …`: unless it says no more, its
#: sentence has to speak of a time that is over, and neither it nor the next one of what goes on
_COPY = pattern(
    r"(kept|old|set aside|(?:put|laid) (?:away|aside|by))(?:(?P<alone>\s*(?:\.(?!\w)|;|$))|(?=\s*(?:[,:(]|-\s|[\u2013\u2014])"
    r"|\s+(?:from|since|in case|just in case|as it was|for (?:the |my |our )?records?)\b))(?P<said>[^.;]*)(?P<next>.?[^.;]*)",
    re.I,
)
_OVER = pattern(
    r"\b(?:before|until|till|was|were|records?|in case|last|earlier|formerly|yesterday|january|february|march|april|(?-i:May)(?! be)"
    r"|june|july|august|september|october|november|december|spring|summer|autumn|winter)\b|\b\d{1,4}([-./])\d{1,2}\1\d{1,4}\b",
    re.I,
)
_GOES_ON = pattern(
    r"\b(?:still|again|now|do not|don'?t|never|live|runs?|running|going|works|in (?:use|force|effect)|used)\b",
    re.I,
)
_UNTOUCHED = pattern(
    r"(?:(?:please )?(?:do not|don'?t|never|not to be) (?:change|edit|touch|alter|modify)(?:d|ed)?|hands off)(?: (?:this|it|anything|the file))*(?= *(?:[.!,;:]|$))",
    re.I,
)
_A_MACHINE = pattern(r"\b(?:machine|printer)\b", re.I)
_IN_FORCE = pattern(
    r"(?<!not )(?<!no longer )\b(?:now |still )?(?:in force|in effect|in use now|valid now)\b(?! (?:until|till|before|up to|then)\b)",
    re.I,
)
_BOARD = r"(?:board|machine|printer|controller|firmware|electronics|panel|display|touch ?screen)"
_KEEPS = pattern(
    rf"\b(?:written|saved|kept|stored|updated|rewritten|made|generated)\b[^.;]{{0,40}}?\bby (?:the|this|its) {_BOARD}\b"
    rf"|\bthe {_BOARD} (?:itself )?(?:writes|keeps|saves|stores|updates|prefers)\b",
    re.I,
    needs=("by the ", "by this ", "by its ", "writes", "keeps", "saves", "stores", "updates", "prefers"),
)


#: of what the board writes elsewhere
_OVER_THIS = pattern(
    r"[^.!?;]{0,60}\b(?:over|before|after|behind|beats?|overrides?|overrules?) (?:this|these|both|what is here)\b",
    re.I,
)


@lru_cache(maxsize=1024)
def head_of(document: Document) -> str:
    """What a file says before its first setting, in one text; "" for nothing."""
    first = min((setting.line for setting in document.settings), default=1)
    found = []
    for line in document.slice(0, _LINES * _LONGEST).splitlines()[: min(first - 1, _LINES)]:
        if remark := _REMARK.match(line[:_LONGEST]):
            found.append(remark[1])
    if document.dialect == "nested":
        texts = [each.value for each in document.settings[:_TEXTS] if not each.section and " " in each.value]
        found += [text[:_LONGEST] for text in texts]
    return ". ".join(found)


def first_remark(document: Document) -> str:
    """The first remark of a file, where nothing stands before it; "" where it begins otherwise."""
    lines = document.slice(0, 2 * _LONGEST).splitlines()
    remark = _REMARK.match(next((line for line in lines if line.strip()), "")[:_LONGEST])
    return remark[1] if remark else ""


def _of_itself(head: str, said: re.Pattern[str], parted: str, tensed: bool = True) -> str:
    """The first words of a kind that a head says of the file: not what it denies or asks, and not what it says of a part of the machine
    or of another file. `parted` are the signs that end what comes before them; without `tensed` what was so doesn't count."""
    for found in said.finditer(head):
        before = re.split(rf"[!?;]|\.(?!\w){parted}", head[: found.start()])[-1]
        earlier, _, clause = before.rpartition(",")
        asks = re.match(r"[^.!;]*\?", head[found.end() :])
        past = not tensed and re.search(r"\b(?:was|were)\b", clause)
        own = _ITSELF.fullmatch(clause.strip(' "')) and (
            _ITSELF.fullmatch(earlier.strip(' "')) or _OF_A_FILE.search(earlier)
        )
        if own and not asks and not past:
            return found[0]
    return ""


def says_another(document: Document) -> str:
    """The words by which a file says that it is of another machine; "" where it doesn't."""
    return _of_itself(head_of(document), _ANOTHER, r"|[,:]|\s[-–—]\s", tensed=False)


def says_it_is_not(document: Document, names: Iterable[str]) -> str:
    """The words by which a file says that it is not of one of these machines: `not Dolomite!`; "" where it doesn't."""
    head = head_of(document)
    for name in sorted(each for each in names if len(each) > _SHORT):
        if found := re.search(
            rf"(?i)\bnot (?:(?:for|of) )?(?:the )?{re.escape(name)}(?=\s*(?:[!.,;:)\x22]|\*/|$|[-\u2013\u2014] ))",
            head,
        ):
            return found[0]
    return ""


def says_to_look_at(document: Document) -> str:
    """The words by which a file says that it is another's, or only there to be looked at; "" where it says neither. They count only
    where another file sets what this one does."""
    return _of_itself(head_of(document), _LENT, "|:", tensed=False) or says_another(document)


def says_past(document: Document) -> str:
    """The words by which a file says that it was in force before; "" where it doesn't."""
    return _of_itself(head_of(document), _PAST, "")


def says_kept(document: Document) -> str:
    """The word by which a file says first of all that it is a kept copy; "" where it doesn't."""
    found = _COPY.match(head_of(document))
    if found is None or _GOES_ON.search(found["said"] + found["next"]):
        return ""
    over = _OVER.search(found["said"]) and not _A_MACHINE.search(found["said"])
    return found[1].lower() if found["alone"] is not None or over else ""


def says_untouched(document: Document) -> str:
    """The words by which a file asks first of all to be left as it is; "" where it doesn't. A live one may ask so as well."""
    found = _UNTOUCHED.match(head_of(document))
    return found[0] if found else ""


def says_in_force(document: Document) -> bool:
    """Whether a file says of itself that it is in force, and not that it was."""
    head = head_of(document)
    own = (is_of_its_own_file(head[: found.start()]) for found in _IN_FORCE.finditer(head))
    return any(own) and not says_past(document)


def says_board_writes(document: Document) -> str:
    """The words by which a file says that the board writes it; "" where it doesn't."""
    head = head_of(document)
    found = _KEEPS.search(head)
    return found[0] if found and not _OVER_THIS.match(head[found.end() :]) else ""


def says_it_wins(document: Document) -> str:
    """The words by which a file says that it counts before others; "" where it doesn't."""
    head = head_of(document)
    said = _wins().finditer(head)
    return next((found[0] for found in said if is_of_its_own_file(head[: found.start()])), "")


@cache
def _wins() -> re.Pattern[str]:
    words = last_word()
    return re.compile(f"{words.over_another}|{words.read_last}", re.I)


def is_own_test(document: Document) -> bool:
    """Whether a file says that it is a test script of this program."""
    head = head_of(document)
    return document.dialect == "command" and (OWN_TEST in head or _OWN_TEST_BEFORE in head)

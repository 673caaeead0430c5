"""What a file's head says of a sign before its entries: that those are not what holds.

    ; read last, these win. entries that begin with a hyphen are forgotten ones
    [kept 41]
    feeder / retraction = 5.2
    - feeder / retraction = 6.8

Such a line is as good as one behind a remark's sign, though it reads as a setting. So it is out of force, and says nothing of the
value that holds; which lines these are is told once. The head has to name the sign, and to say both that it stands first and what it means; of a sign without such
words nothing is known here.

This module looks at heads and names of settings only.
"""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.files.for_comparing import NOT_IN_FORCE
from cfgmigrate.files.heads import head_of
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern

#: so many lines are named
_MOST_LINES = 12
_SIGNS = {
    "hyphen": "-", "dash": "-", "minus": "-", "-": "-", "star": "*", "asterisk": "*", "*": "*", "tilde": "~", "~": "~",
    "exclamation mark": "!", "!": "!", "question mark": "?", "?": "?", "caret": "^", "^": "^", "slash": "/", "/": "/",
    "at sign": "@", "@": "@", "underscore": "_", "_": "_", "dot": ".", "full stop": ".",
}  # fmt: skip
_WORDS = "|".join(word for word in _SIGNS if word[0].isalpha())
_SIGN = rf"(?:(?:an?|the) (?:leading )?)?[\"'`(]?(?P<{{}}>{_WORDS}|[-*~!?^/@_])[\"'`)]?(?: sign)?"
_FIRST = r"(?:in front(?: of (?:it|them|an? \w+))?|before (?:it|them|an? \w+)|ahead of (?:it|them|an? \w+)|at (?:the|its|their) (?:start|beginning|front))"
_ENTRIES = r"(?:entry|entries|lines?|settings?|values?|rows?|ones?|keys?|names?|whatever|what|those|all)"
_OUT = (
    r"(?:forgotten|erased|deleted|removed|cleared|wiped|struck (?:out|off)|crossed out|dropped|discarded|withdrawn|out of force|no longer in force"
    r"|not in force|not in use|not used|unused|ignored|skipped|inactive|switched off|off|no longer (?:valid|used|kept|hold|count)|dead)\b"
)
_NEEDED = (
    "forgotten", "erased", "deleted", "removed", "cleared", "wiped", "struck", "crossed", "dropped", "discarded", "withdrawn", "force",
    "no longer", "use", "ignored", "skipped", "active", "off", "dead",
)  # fmt: skip
_MEANS = r"(?:,? (?:is|are|was|were|has been|have been|means?|marks?|says?)(?: (?:an? |the |it |they |that |all |only |is |are |was |were )*)?|[ \t]*(?:=|:)[ \t]*| )"
#: `entries that begin with a hyphen are forgotten`, `what has a - before it is forgotten`, `a minus in front means forgotten`
_BY_WORDS = (
    rf"\b{_ENTRIES}(?: \w+){{0,2}} (?:begin|begins|beginning|start|starts|starting) with {_SIGN.format('sign')}",
    rf"\b{_ENTRIES}(?: \w+){{0,2}} (?:with|has|have|having|behind) {_SIGN.format('sign')}(?: {_FIRST})?",
    rf"(?<!\w){_SIGN.format('sign')} {_FIRST}",
)
#: what may follow, so that nothing more is said of when, by whom or off what
_ENDS = (
    r"(?= *(?:$|[.;,:)]|and\b|ones?\b|entries\b|lines?\b|values?\b|settings?\b|at the\b|by (?:me|us|hand)\b))"
)
_SAID = tuple(pattern(rf"(?i){each}{_MEANS}(?:the |an? )?{_OUT}{_ENDS}", needs=_NEEDED) for each in _BY_WORDS)


def without_forgotten_entries(document: Document) -> Document:
    """The document, its settings out of force that begin with a sign of which its head says so."""
    if document.dialect == "command" or not (sign := sign_of_forgotten(head_of(document))):
        return document
    forgotten = [
        each
        for each in document.settings
        if each.state is State.ACTIVE and each.key.lstrip().startswith(sign)
    ]
    if not forgotten:
        return document
    out = {each.at for each in forgotten}
    settings = tuple(
        replace(each, state=State.INACTIVE) if each.at in out else each for each in document.settings
    )
    return replace(document, settings=settings, doubts=(*document.doubts, _told(document, forgotten, sign)))


def _told(document: Document, forgotten: Sequence[Setting], sign: str) -> Doubt:
    lines = ", ".join(str(each.line) for each in forgotten[:_MOST_LINES])
    more = f" and {len(forgotten) - _MOST_LINES} more" if len(forgotten) > _MOST_LINES else ""
    return Doubt(
        document.place(forgotten[0]),
        forgotten[0].key,
        f"by the words at the head of the file, what begins with {sign} {NOT_IN_FORCE}: line {lines}{more}",
        "nothing has to be done where that is right; if the board does go by these lines, take those words out of the head",
    )


def sign_of_forgotten(head: str) -> str:
    """The sign before an entry by which, as a head says, it is not what holds; "" for none."""
    text = " ".join(head.split())
    found = next((said for each in _SAID if (said := each.search(text))), None)
    return _SIGNS[found["sign"].lower()] if found else ""

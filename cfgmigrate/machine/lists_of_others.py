"""Titles by which a list of codes says that it is another machine's, or of another time: `codes of the old machine`.

Such a title may speak of this machine as well: that its codes stand below, that it has others, that the list is not its own. Only words that
say that the same codes mean the same here make the list this machine's too; any others leave it the other one's, and what it alone
explains is asked about (`codes_of_another.py`).
"""

from __future__ import annotations

import re

from cfgmigrate.ground.pattern import pattern

_DEVICE = (
    r"(?:mill|lathe|laser|engraver|plotter|router|saw|cutter|label[ \t]printer|sewing[ \t]machine|robot)"
)
_WAS = r"(?:old|other|former|previous|earlier|second)"
_MACHINE = rf"(?:machine|printer|board|firmware|controller|one|{_DEVICE})"
#: whose the codes are, and no more than that
_OF_ANOTHER = pattern(
    r"\b(?:codes?|commands?|letters?|meanings?|legend|list|(?:codes?|commands?|letters?|these|they|it|all)[ \t]+(?:mean|meant|means))[ \t]+(?:of|for|on|from|in)[ \t]+"
    rf"(?:(?:the|my|our|an?)[ \t]+)?(?:{_WAS}[ \t]+{_MACHINE}|another[ \t]+{_MACHINE}|(?:[a-z]+[ \t]+)?{_DEVICE}|(?:machine|printer)(?=[ \t]+next[ \t]door))"
    r"(?=[ \t]*(?:$|[,;:.()–-]|next[ \t]door|'s\b|(?:and|or|but|not)\b))"
    rf"|\b(?:(?:{_WAS}|another)[ \t]+{_MACHINE}|{_DEVICE})'s[ \t]+(?:own[ \t]+)?(?:codes?|commands?|letters?|meanings?|legend|list)\b",
    re.I,
)
_THIS = r"(?:this|the[ \t]+new|my[ \t]+new|our[ \t]+new|new)(?:[ \t]+(?:machine|printer|board|firmware|controller|one)\b)"
#: this machine, in words that stand at the end of what they say
_HERE = rf"(?:(?:of|for|on|from|in|by|as)[ \t]+){{0,2}}(?:{_THIS}|(?:here|mine|ours|now|today|this|the[ \t]+new)(?=[ \t]*(?:$|[,;.:)])))"
_HOLD = (
    r"(?:valid|good|right|true|used?|uses|in[ \t]+use|holds?|appl(?:y|ies)|works?|meant|means?|understood)"
)
#: that the list holds for this machine as well
_OF_BOTH = pattern(
    rf"\b(?:and|or|also|as[ \t]+well[ \t]+as)[ \t]+{_HERE}"
    rf"|\bsame(?:[ \t]+(?:codes?|ones?|letters?|meanings?|list))?(?:(?=[ \t]*(?:$|[,;.:)]))|[ \t]+{_HERE})"
    rf"|\blike[ \t]+{_HERE}"
    rf"|\b(?:still|also)[ \t]+{_HOLD}\b|\b{_HOLD}[ \t]+{_HERE}"
    r"|\b(?:too|both|as[ \t]+well)(?=[ \t]*(?:$|[,;.:)]))|\bboth[ \t]+(?:machines|printers|boards|controllers)\b"
    rf"|\b{_THIS}[ \t]+(?:still[ \t]+|also[ \t]+)?(?:has|takes|keeps|uses|understands|knows)[ \t]+(?:them|these|those|all)\b",
    re.I,
)
_NOT = pattern(
    r"\b(?:not|never|no|none|nor|neither|without|unlike|isn't|aren't|don't|doesn't|hardly|other)\b", re.I
)
_CLAUSE_ENDS = ",;:.("
#: the title of a list that is this machine's
_OF_THIS = pattern(
    r"\b(?:my|our|this|these|new|present|own)\b[^.]*\b(?:codes?|commands?|letters?|meanings?|legend|list)\b"
    r"|\b(?:codes?|commands?|letters?|meanings?|legend|list)\b[^.]*\b(?:my|our|this|new|here|mine|ours)\b"
    r"|\b(?:my|our|this|new|here|mine|ours|now|today|printer)\b[^.]*:$|^(?:and[ \t]+)?(?:mine|ours|here|now)\b",
    re.I,
)


def is_of_another(title: str) -> bool:
    """Whether a title says that the codes below it are another machine's, and not that they are this one's as well."""
    other = _OF_ANOTHER.search(title)
    if other is None:
        return False
    return not any(
        _NOT.search(title, _clause(title, each.start(), other.end()), each.end()) is None
        for each in _OF_BOTH.finditer(title)
    )


def still_of_another(title: str, remark: str) -> bool:
    """Whether the list below a title of another machine goes on behind a further remark, which may be the title's own further line."""
    return is_of_another(f"{title}, {remark}") and not _OF_THIS.search(remark)


def _clause(text: str, at: int, least: int) -> int:
    """Where the clause begins in which a place of a text stands, and not before the other machine's name ends where that is
    left of it."""
    begins = 1 + max(text.rfind(mark, 0, at) for mark in _CLAUSE_ENDS)
    return max(begins, least) if at >= least else begins

"""The marks that remarks begin with, as parts of expressions for whoever looks for what a remark says, in a file of any dialect;
and the remark behind a value.

| dialect | of one line | of several |
|---|---|---|
| sectioned, flat, nested | `#` `;` `//`, and `--` where a file shows it (`source.py`) | |
| header | `//` | `/* … */`, whose lines may go on with `*` |
| command | `;` `(…)`, by some `#` `//` | |

A mark of one dialect is none in another: `#` begins an order to the compiler in a header, `(` an aside in prose. So whoever
looks for remarks takes as few of them as will do.

A dialect with a mark of its own has it in three of them, or a unit in its remarks is not seen: `WHOLE_LINE_MARK`,
`BEHIND_MARK` and, as a sign that ends what stands before a remark, `BEFORE_A_MARK`.

How a grammar parts its remarks from its values is the matter of the dialects themselves.
"""

from __future__ import annotations

from cfgmigrate.dialects.document import Document, Setting
from cfgmigrate.ground.pattern import pattern

#: of one line, in any dialect that is written in lines of keys
LINE_MARK = r"(?:#|;|//)"
#: the same, and where a block of C begins
LINE_OR_BLOCK_MARK = r"(?:#|;|//|/\*)"
#: the same, and a bracket of word-address lines
ANY_MARK = r"(?:#|;|//|/\*|\()"
#: how a line of a block of C goes on
IN_BLOCK_MARK = r"\*(?!/)"
#: those of headers alone
HEADER_MARK = rf"(?://|/\*|{IN_BLOCK_MARK})"
#: those of word-address lines alone
COMMAND_MARK = r"(?:[;#(]|//)"
#: where all of a line is a remark, one or several of them; two dashes need a blank behind them, or they draw a line
WHOLE_LINE_MARK = rf"(?:#+|;+|//+|--(?=[ \t])|/\*+|\(|{IN_BLOCK_MARK})"
#: behind a value, where an arrow or an exclamation mark may begin one too
BEHIND_MARK = r"(?:#|;[ \t]*//|;|//|/\*|\(|--|<-|!)"
#: all of a line up to one of those
BEFORE_A_MARK = r"(?:(?![;(#!]|//|--|<-)[^\r\n])*"

_DIRECTLY = pattern(rf"[ \t\"',]*{LINE_OR_BLOCK_MARK}([^\r\n]*)".encode())
_ON_THE_LINE = pattern(rf"[^\r\n]*?{LINE_OR_BLOCK_MARK}([^\r\n]*)")


def remark_behind(document: Document, setting: Setting) -> bytes:
    """The remark directly behind a value and what closes it, as it is written; b"" for none."""
    found = _DIRECTLY.match(document.data, setting.end)
    return found[1] if found else b""


def remark_on_line(document: Document, setting: Setting, most: int) -> str:
    """The remark behind a value, whatever stands between the two on its line, of which `most` bytes are looked at; "" for none."""
    end = setting.end
    found = _ON_THE_LINE.match(document.slice(end, min(len(document.data), end + most)))
    return found[1] if found else ""

"""GitHub-flavoured Markdown that also reads well as plain text (GFM 0.29, https://github.github.com/gfm/).

Templates for Markdown put every value through `escaped` unless it is `Ready`, so that nothing from a
file or a sheet can become markup, a link, a mention or a picture. Only what would act is escaped: prose
keeps looking like prose.

This module deliberately lays nothing out; that is done in `templates/*.md`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import TYPE_CHECKING

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.reports import wording
from cfgmigrate.reports.safe_text import PROSE_LIMIT, inert
from cfgmigrate.reports.templating import with_templates

if TYPE_CHECKING:
    from jinja2 import Environment

#: every branch begins with its sign, which is found far sooner so
_ACTIVE = pattern(r"[\\`*\[\]|~$]|_(?:(?<!\w_)|(?!\w))|<(?=[A-Za-z/!?])|&(?=#|\w+;)")
_BLOCK_START = pattern(r"^(#{1,6}(?=\s|$)|>|[-+](?=\s|$)|={2,}|-{2,}|\d{1,9}(?=[.)](?:\s|$)))")
_LINK = pattern(r"(?i)\b(https?|ftp|mailto|xmpp)(?=:)|\b(www)(?=\.)")
_MENTION = pattern(r"\S*@\S*|(?<![\w&])#\d+\b")
#: what a person types into a file as it stands: `"[feeder] turns": ignore`, `decimals: {"*.txt": comma}`
_ANSWER = pattern(
    r'(?:\b\w{1,20}: \{)?"[^"\n]{1,200}": (?:\{[^{}\n]{1,200}\}|\[[\w.@, ]{1,200}\]|[\w.@]{0,79}[\w@])\}?'
)
_FENCE = pattern(r"\s*(`{3,})")
#: what is not longer is kept once it was escaped: the same sentences stand in many places, and in many machines' pages
_SHORT_PROSE = 400


class Ready(str):
    """Text that is Markdown already."""

    __slots__ = ()


def escaped(value: object) -> str:
    """`value` as Markdown prose that reads exactly as it is."""
    if isinstance(value, Ready):
        return value
    text = str(value)
    return _escaped(text) if len(text) <= _SHORT_PROSE else _escaped.__wrapped__(text)


@lru_cache(maxsize=8192)
def _escaped(prose: str) -> str:
    text = inert(prose, PROSE_LIMIT).strip()
    pieces: list[str] = []
    position = 0
    for answer in _ANSWER.finditer(text) if '": ' in text else ():
        if _ACTIVE.search(answer[0]):
            pieces += [_but_for_mentions(text[position : answer.start()]), code_in_table(answer[0])]
            position = answer.end()
    return "".join([*pieces, _but_for_mentions(text[position:])])


def _but_for_mentions(text: str) -> str:
    """Prose in which what would mention a person or an issue is code."""
    pieces: list[str] = []
    position = 0
    for mention in _MENTION.finditer(text) if "@" in text or "#" in text else ():
        pieces += [_prose(text[position : mention.start()]), code_in_table(mention[0])]
        position = mention.end()
    return "".join([*pieces, _prose(text[position:])])


def code(text: object) -> Ready:
    """A code span, whatever backticks `text` holds."""
    shown = inert(str(text), PROSE_LIMIT).replace("\t", "    ")
    if not shown.strip():
        return Ready(f"`{shown}`" if shown else "(empty)")
    ticks = "`" * (_longest_run(shown) + 1)
    pad = " " if shown.startswith("`") or shown.endswith("`") or shown[0] == shown[-1] == " " else ""
    return Ready(f"{ticks}{pad}{shown}{pad}{ticks}")


def code_in_table(text: object) -> Ready:
    """A code span for a table's cell, where a bar must be escaped even within code."""
    return Ready(code(text).replace("|", "\\|"))


def fence(lines: Iterable[object], language: str = "") -> Ready:
    """A fenced block of lines, whatever backticks they hold."""
    shown = [inert(str(line), PROSE_LIMIT) for line in lines]
    ticks = "`" * max(3, max((_longest_run(line) for line in shown), default=0) + 1)
    return Ready("\n".join([f"{ticks}{language}", *shown, ticks]))


def table(header: Iterable[object], rows: Iterable[Iterable[object]]) -> Ready:
    """A table whose columns also line up in plain text. Cells are escaped unless they are `Ready`."""
    cells = [[escaped(cell).replace("\n", " ") for cell in row] for row in [header, *rows]]
    widths = [max(3, *(len(row[column]) for row in cells)) for column in range(len(cells[0]))]

    def line(row: list[str]) -> str:
        padded = (cell.ljust(min(width, 60)) for cell, width in zip(row, widths, strict=True))
        return f"| {' | '.join(padded)} |"

    rule = [("-" * min(width, 60)) for width in widths]
    return Ready("\n".join([line(cells[0]), line(rule), *(line(row) for row in cells[1:])]))


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The jinja2 environment for Markdown: every value is escaped unless it is `Ready`."""
    from jinja2 import Environment, StrictUndefined

    made = Environment(
        autoescape=False,  # HTML escapes would be wrong here: `finalize` escapes for Markdown
        finalize=escaped,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    made.filters.update(code=code, fence=fence, stop=wording.stop, sentence=wording.sentence)
    return with_templates(made, ".md")


def tidy(text: str) -> str:
    """One blank line at most between blocks outside fences, no space at line ends, one line end at the end."""
    tidied: list[str] = []
    fenced = ""
    for line in text.split("\n"):
        mark = _FENCE.match(line) if "```" in line else None
        if mark and not fenced:
            fenced = mark[1]
        elif fenced and line.strip() == fenced:
            fenced = ""
        kept = line if fenced else line.rstrip()
        if kept or fenced or (tidied and tidied[-1]):
            tidied.append(kept)
    return "\n".join(tidied).rstrip("\n") + "\n"


def _prose(text: str) -> str:
    shown = _ACTIVE.sub(lambda found: "\\" + found[0], text)
    if ":" in shown or "w." in shown or "W." in shown:
        shown = _LINK.sub(lambda found: found[0] + "\\", shown)
    start = _BLOCK_START.match(shown)
    if not start:
        return shown
    return shown[: start.end()] + "\\" + shown[start.end() :] if start[0][0].isdigit() else "\\" + shown


def _longest_run(text: str) -> int:
    return max((len(run) for run in re.findall("`+", text)), default=0)

"""The `flat` dialect: one setting a line, and no sections but those that a title makes (`== feeder ==`, `titles.py`).

`key=value`, `key = value`, `key: value` and `key value` are all read, in one file side by side; a key may
have dots (`feeder.gear.teeth`) and, where a separator or a number ends it, several words
(`run current = 0.8`, `z max travel 190`). A leading `export` is no part of the key. Include lines in every spelling
(`include FILE`, `include = FILE`, `!include FILE`) take in other files.

Remarks stand behind `#` or `;`, as whole lines or after a blank, or in a line of their own behind `//` or `--` (and then `--`
opens one behind a value as well). Quotes protect a mark, and stay part of the value.

The section is the title above, else "", but for a line that says of each of its numbers what it is: `STEPS PER MM: X 80, Y 80`,
or as a row `steps/mm ..... x 80 y 80`, is `X` and `Y` below `STEPS PER MM`.

What this dialect deliberately does not do: join lines that end in a backslash, put values in for `$names`,
or take a key without a value for a setting (there is no place to write to): such a line is a doubt.
"""

from __future__ import annotations

import re

from cfgmigrate.dialects.by_path import by_their_paths
from cfgmigrate.dialects.document import Document, TakesIn, takes_in_nothing
from cfgmigrate.dialects.grammar import tokens
from cfgmigrate.dialects.labelled import labelled, row
from cfgmigrate.dialects.source import (
    BLANKS,
    Source,
    content_end,
    names_a_path,
    remarks_by_dashes,
    shown,
    skip_blanks,
    span_of_rest,
    takes_in_by_key,
)
from cfgmigrate.dialects.titles import NO_KEY, Lines, drawn_titles, heads, title, titles_in_remarks
from cfgmigrate.ground.pattern import pattern

_GAP = pattern(r"[ \t\f\v]")
_BEFORE_NUMBER = pattern(r"(?<![ \t\f\v])[ \t\f\v]++(?=[+\-]?\.?[0-9])")
_EXPORT = pattern(r"export[ \t]+")
#: words, and perhaps the unit in brackets: `top speed (mm/min)`
_PLAIN_KEY = pattern(
    r"[A-Za-z_][\w.\-/\[\]]*(?:[ \t]+[\w.\-/\[\]]+){0,5}(?:[ \t]*\([^()\r\n=:]{1,40}\))?", re.ASCII
)
#: a thing and what is said of it, which prose and code have as well: `rear spool, width = 68 mm`
_KEY_IN_PARTS = pattern(r"[A-Za-z_][\w.\-/]*(?:,?[ \t]+[A-Za-z_][\w.\-/]*)*", re.ASCII)
#: a value that stands behind a bare blank as often in prose as in a file of settings
_PLAIN_VALUE = pattern(r"""[^\s,;:{}()]+(?:[ \t]*,[ \t]*[^\s,;:{}()]+)*|"[^"]*"|'[^']*'|[-+.\d][-+.\d \t]*""")
#: an order with its values: `motor of=x pulses=84`, `limit z speed=10 accel=90`
_PAIR = pattern(r"""(?P<name>[A-Za-z_][\w.\-]*)=(?P<value>"[^"\r\n]*"|'[^'\r\n]*'|[^\s"'=;#]+)""", re.ASCII)
_ORDER = pattern(
    rf"[ \t]*(?P<head>[A-Za-z_][\w\-]*(?:[ \t]+[A-Za-z_][\w\-]*){{0,3}})[ \t]+"
    rf"(?P<pairs>(?:{_PAIR.pattern.replace('?P<name>', '?:').replace('?P<value>', '?:')}[ \t]+)+"
    rf"{_PAIR.pattern.replace('?P<name>', '?:').replace('?P<value>', '?:')})[ \t]*(?:[#;][^\r\n]*)?[\r\n]*\Z",
    re.ASCII,
)
#: values that say what an order is of
_OF = frozenset({"axis", "name", "of", "for", "heater", "motor", "drive", "which", "what", "id"})
#: a value behind a colon that prose has not: a number, perhaps with a unit, or a truth
_MEASURE = pattern(
    r"[-+]?\d+(?:\.\d+)?(?:[ \t]*[:/][ \t]*\d+(?:\.\d+)?)?(?:[ \t]*[A-Za-z%°µΩ\x80-\xff/^0-9]{1,12}){0,3}|yes|no|on|off|true|false",
    re.I,
)
#: numbers in a row, or a line of codes with their words, which prose has as seldom
_ROW_OF_NUMBERS = pattern(r"[-+]?\d[\d.]*+(?:(?:[ \t]*+,[ \t]*+|[ \t]++)[-+]?\d[\d.]*+){1,40}")
_CODES = pattern(r"[GMTN]\d{1,4}(?:\.\d)?(?:[ \t]+[A-Z][-+]?\d{0,6}(?:\.\d{1,6})?){0,12}")
#: a value behind a colon that prose seldom has: what begins with a number, or one word
_SHORT = pattern(r"[-+]?\.?\d[^\r\n]*|[^ \t\r\n]+")
#: so many titles and a part of the lines below them so, and of those such a part with numbers, make a file of settings
FEWEST_HEADS, SHORT_SHARE, NUMBERS_SHARE = 2, 0.8, 0.6
#: a line that heads a section where there are sections
_BRACKETED = pattern(r"\[[A-Za-z\x80-\xff][^\[\]\r\n{}\"',=:]{0,80}\][ \t]*(?:[#;][^\r\n]*)?[\r\n]*")
#: a key of more words is prose
MOST_KEY_WORDS = 10
#: so many of a file's lines are such where it is one of `key: value`, and no fewer
COLON_SHARE, COLON_FEWEST = 0.8, 5
_SIGNED = frozenset({"EQUAL", "COLON"})
_KINDS = {kind: kind.lower() for kind in ("GAP", "TITLE", "EQUAL", "COLON", "NUMBER", "WORD", "UNPLACED")}
_REMEDY = "write `key = value`, or put `#` before the line if it is a remark"


def read(path: str, data: bytes, takes_in: TakesIn = takes_in_nothing) -> Document:
    """Reads a file. Raises BadInput where it is not plain text; never where a line is not understood."""
    source = Source(path, data, takes_in)
    end = source.base
    lines = Lines(tokens("flat", source.body), source.body)
    titles, section = heads(lines), ""

    def key_of(number: int) -> str | None:
        kind = lines.kinds[number]
        return None if kind in NO_KEY else _split(kind, lines.text(number))[0]

    said = titles_in_remarks(lines, key_of, has_heads=len(titles) >= FEWEST_HEADS)
    text, dashes = source.text, source.dashes
    for number, (kind, token) in enumerate(lines):
        start, end = end, min(end + len(token), len(data))
        kind = "UNPLACED" if kind == "TITLE" and number not in titles else kind
        source.piece(_KINDS[kind], start, end)
        if kind == "TITLE":
            section = shown(title(token) or "")
            continue
        if number in said:
            section = shown(said[number])
        if kind == "GAP":
            continue
        signed = kind in _SIGNED
        if not signed and source.include_line(start, end):
            continue
        if kind == "UNPLACED":
            source.doubt(start, end, "the line is neither a setting nor a remark", _REMEDY)
            continue
        if kind == "EQUAL" and token.count("=") > 1 and (order := _ORDER.match(token)):
            _order(source, section, order, start)
            continue
        key, rest = _split(kind, token)
        first, last = span_of_rest(text, start + rest, end, dashes)
        of, parts = key, labelled(text, first, last) if signed else []
        if not parts:
            of, parts = row(text, start, last)
        for label, begins, ends in parts:
            source.setting(f"{section} {shown(of)}".strip(), label, begins, ends)
        if parts:
            continue
        source.setting(section, shown(key), first, last)
        if takes_in_by_key(key, text[first:last]):
            source.include_each(first, last)
    by_their_paths(source)
    return source.document("flat")


def _order(source: Source, title: str, order: re.Match[str], start: int) -> None:
    """An order with several values is a section of its own: what it is, and what of, before the values."""
    pairs = list(_PAIR.finditer(order["pairs"]))
    of = [pair["value"].strip("\"'") for pair in pairs if pair["name"].lower() in _OF]
    section = " ".join((*title.split(), *order["head"].split(), *of))
    for pair in pairs:
        at = start + order.start("pairs")
        source.setting(shown(section), shown(pair["name"]), at + pair.start("value"), at + pair.end("value"))


def _split(kind: str, token: str) -> tuple[str, int]:
    """The key of a setting's line, and where behind its separator the rest of the line begins."""
    if kind == "EQUAL":
        end = token.index("=")
    elif kind == "COLON":
        end = token.index(":")
    else:
        first = skip_blanks(token, 0, len(token))
        gap = (_BEFORE_NUMBER if kind == "NUMBER" else _GAP).search(token, first)
        assert gap is not None, "the grammar puts a blank there"
        end = gap.start()
    key = token[:end].strip(BLANKS)
    return (_EXPORT.sub("", key, count=1) if key.startswith("export") else key), end + 1


def likelihood(text: str) -> float:
    """How much of a text reads as flat, 0 to 1.

    `key: value` says nothing, since other formats and prose are full of it, unless nearly all of a file is such
    lines with a number or a truth, and none stands deeper, or the lines stand below titles, be they remarks; `key value` counts only
    where the value looks like one.
    A row of names and numbers may as well be a log's: more of them than settings speak against it. Below lines in
    square brackets a key before a sign means what its section says: such a file is never flat.
    """
    settings = strangers = colons = short = numbers = deeper = rows = bracketed = with_sign = bare = 0
    dashes = remarks_by_dashes(text)
    lines = Lines(tokens("flat", text), text)
    titles = heads(lines)
    for at, kind in enumerate(lines.kinds):
        if kind == "GAP" or at in titles:
            continue
        token = lines.text(at)
        bracketed += bool(_BRACKETED.fullmatch(token))
        with_sign += kind in ("EQUAL", "COLON")
        bare += kind in ("NUMBER", "WORD")
        if kind == "COLON":
            deeper += token[:1] in BLANKS
            colons += _is_measured(token, dashes)
            value = _short_value(token, dashes)
            short += bool(value)
            numbers += any(map(str.isdigit, value[:2]))
        if names_a_path(token) or (kind not in (*NO_KEY, "COLON") and _is_plain(kind, token, dashes)):
            settings += 1
        elif kind not in NO_KEY and row(token, 0, content_end(token, 0, len(token), dashes))[1]:
            rows += 1
        else:
            strangers += 1
    if bracketed >= FEWEST_HEADS and with_sign > bare:
        return 0.0
    strangers += max(0, rows - settings)
    if colons >= COLON_FEWEST and not deeper and colons >= COLON_SHARE * (settings + strangers):
        return (settings + colons) / (settings + strangers)
    below = short >= COLON_FEWEST and numbers >= NUMBERS_SHARE * short
    titled = below and (len(titles) >= FEWEST_HEADS or (not deeper and drawn_titles(lines) >= FEWEST_HEADS))
    if titled and settings + short >= SHORT_SHARE * (settings + strangers):
        return (settings + short) / (settings + strangers)
    if not settings or text.startswith("#!"):
        return 0.0
    return settings / (settings + strangers)


def _is_measured(token: str, dashes: bool) -> bool:
    """Whether a line with a colon has a value that prose has not."""
    key, rest = _split("COLON", token)
    value = token[rest : content_end(token, rest, len(token), dashes)].strip(BLANKS)
    return len(key.split()) <= MOST_KEY_WORDS and bool(
        _MEASURE.fullmatch(value)
        or _ROW_OF_NUMBERS.fullmatch(value)
        or _CODES.fullmatch(value)
        or labelled(value, 0, len(value))
    )


def _short_value(token: str, dashes: bool) -> str:
    """The value of a line with a colon and a plain key, where it is one that prose seldom has; else ""."""
    key, rest = _split("COLON", token)
    value = token[rest : content_end(token, rest, len(token), dashes)].strip(BLANKS)
    return value if _PLAIN_KEY.fullmatch(key) and _SHORT.fullmatch(value) else ""


def _is_plain(kind: str, token: str, dashes: bool) -> bool:
    key, rest = _split(kind, token)
    value = token[rest : content_end(token, rest, len(token), dashes)].strip(BLANKS)
    if not _PLAIN_KEY.fullmatch(key):
        in_parts = kind == "EQUAL" and len(key.split()) <= MOST_KEY_WORDS and _KEY_IN_PARTS.fullmatch(key)
        return bool(in_parts and _MEASURE.fullmatch(value))
    if kind == "EQUAL":
        return not value.endswith(("{", "(", ";", "=", "&&", "|"))
    return bool(_PLAIN_VALUE.fullmatch(value))

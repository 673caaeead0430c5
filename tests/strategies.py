"""Hypothesis strategies for files of each dialect, as a person (or a console) might have left them.

`FILES` has one strategy for each dialect of the registry; `WILD` is any bytes at all. The files hold what
each dialect's grammar knows, and lines that it does not, with every line end, tabs, letters outside ASCII
and bytes that are not UTF-8.
"""

from __future__ import annotations

import json

from hypothesis import strategies as st

BLANK = st.sampled_from(["", "", " ", "  ", "\t"])
END = st.sampled_from(["\n", "\n", "\n", "\r\n", "\r"])
NAME = st.from_regex(r"[a-z]{1,6}([_. ][a-z0-9]{1,4})?", fullmatch=True)
NUMBER = st.from_regex(r"-?[0-9]{1,3}(\.[0-9]{1,3})?", fullmatch=True)
UNIT = st.sampled_from(["mm", " mm", " mm/s", "A", " ohm", " %", " °C"])
QUOTED = st.sampled_from(['"a # b"', "'x ; y'", '""', '"[not a section]"', "'it''s'"])
VALUE = st.one_of(
    NUMBER,
    NUMBER,
    st.builds("{}{}".format, NUMBER, UNIT),
    st.builds("{}:{}".format, st.integers(1, 60), st.integers(1, 20)),
    st.lists(NUMBER, min_size=2, max_size=4).map(", ".join),
    QUOTED,
    st.sampled_from(["yes", "off", "a b c", "x=1", "C:/y", "#", ";x", "é", "\\", ""]),
)
REMARK = st.builds(
    "{}{}{}".format,
    BLANK,
    st.sampled_from(["#", ";", "# ", "#%% ", ";; "]),
    st.sampled_from(["", "a remark", "key = 4", "[section]", "saved by itself in the night", '"', "/*", "µ"]),
)
TRAILING = st.one_of(st.just(""), st.just(""), REMARK.map(lambda text: " " + text.lstrip()))
STRANGE = st.one_of(
    st.text(st.characters(max_codepoint=0x2FF, exclude_characters="\0\r\n"), max_size=24),
    st.sampled_from(["[open", "]", "= 3", ": 4", "word", "{", "\x1c", "\x85", "\xa0 = 1", "/*", "*/", '"']),
)


def _line(*parts: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    return st.tuples(*parts).map("".join)


def _files(*lines: st.SearchStrategy[str]) -> st.SearchStrategy[bytes]:
    """Files of such lines, in one encoding, perhaps with a byte-order mark or without the last line end."""
    line = st.tuples(st.one_of(*lines, BLANK, STRANGE), END)
    text = st.lists(line, max_size=14).map(lambda pairs: "".join(map("".join, pairs)))
    cut = st.tuples(text, st.booleans()).map(lambda pair: pair[0].rstrip("\r\n") if pair[1] else pair[0])
    return st.builds(
        lambda text, encoding, mark: mark + text.encode(encoding, errors="replace"),
        cut,
        st.sampled_from(["utf-8", "utf-8", "latin-1"]),
        st.sampled_from([b"", b"", b"", b"\xef\xbb\xbf"]),
    )


SEPARATOR = st.sampled_from(["=", ":", " = ", ": ", " : ", "=\t"])
HEADER = _line(
    st.just("["), st.one_of(NAME, st.sampled_from(["parts, all", " x ", "a]b", "é"])), st.just("]")
)
SECTIONED = _files(
    _line(NAME, SEPARATOR, VALUE, TRAILING),
    _line(NAME, SEPARATOR, VALUE, TRAILING),
    _line(HEADER, TRAILING),
    _line(st.sampled_from([" ", "    ", "\t"]), NAME, SEPARATOR, VALUE, TRAILING),
    _line(st.sampled_from([" ", "    ", "\t"]), st.sampled_from(["G1 X5", "more", "[x]", "1, 2"]), TRAILING),
    REMARK,
)
SIGNS = st.sampled_from(["==", "=", "---", "*** ", " ~~", "<", ">", ""])
FLAT = _files(
    _line(st.sampled_from(["", "# ", ";", "##"]), SIGNS, NAME, SIGNS, TRAILING),
    _line(BLANK, st.sampled_from(["", "", "export "]), NAME, BLANK, st.just("="), BLANK, VALUE, TRAILING),
    _line(BLANK, NAME, st.sampled_from([":", ": ", " ", "  "]), VALUE, TRAILING),
    REMARK,
)

MACRO = st.sampled_from(["ONE", "TWO", "THREE", "é"])
C_REMARK = st.sampled_from(["", "", " // remark", " /* remark */", "/* open", " // a \\"])
C_VALUE = st.one_of(
    NUMBER,
    MACRO,
    st.lists(NUMBER, min_size=1, max_size=4).map(lambda items: "{ " + ", ".join(items) + " }"),
    st.sampled_from(["", '"a // b"', "(4)", "ONE + 1", "'\"'", "1 \\\n + 2", "0x1F", "80.0f", "it's"]),
)
CONDITION = st.sampled_from(
    [
        "ONE",
        "ONE == 1",
        "defined(TWO)",
        "!defined ONE && TWO > 2",
        "1",
        "0",
        "ELSEWHERE",
        "(",
        "ONE / 0",
        "1 ? 0 : 2",
    ]
)
HASH = st.sampled_from(["#", "# ", "  #"])
HEADER_FILE = _files(
    _line(HASH, st.just("define "), MACRO, st.sampled_from([" ", "\t", " /* x */ "]), C_VALUE, C_REMARK),
    _line(HASH, st.just("define "), MACRO, st.sampled_from([" ", "\t"]), C_VALUE, C_REMARK),
    _line(st.sampled_from(["//", "/* "]), st.just("#define "), MACRO, st.just(" 5 */")),
    _line(st.just("#define F(x) "), C_VALUE),
    _line(HASH, st.sampled_from(["if ", "elif "]), CONDITION, C_REMARK),
    _line(HASH, st.sampled_from(["ifdef ", "ifndef ", "undef "]), MACRO, C_REMARK),
    _line(
        HASH,
        st.sampled_from(["else", "endif", "endif", "pragma once", "include <a>", '  include "a.h"']),
        C_REMARK,
    ),
    st.sampled_from(["int x = 3; // y", "void f(void) {", "}", "*/", "#"]),
)

CODE = st.sampled_from(["G1", "M92", "m203", "G 0 1", "M906", "T1", "G38.2"])
WORD = st.builds(
    "{}{}{}".format,
    st.sampled_from("XYZEFexs"),
    st.sampled_from(["", " "]),
    st.sampled_from(["5", "-0.25", "+1. 5", ".5", "80.", "1 2", ""]),
)
WORDS = st.lists(WORD, max_size=4).flatmap(
    lambda words: st.sampled_from([" ", ""]).map(lambda gap: gap.join(words))
)
COMMAND_FILE = _files(
    _line(
        BLANK, CODE, st.sampled_from([" ", ""]), WORDS, st.sampled_from(["", " ; remark", "(remark)", "*71"])
    ),
    _line(
        st.sampled_from(["N10 ", "/", "board:", "> ", "<< ", "[12:01:03] hears: "]), CODE, st.just(" "), WORDS
    ),
    st.sampled_from(
        ["M77 the net is up", "G1 Z{z} F5", "done", "%", "; only", "(only)", "(open", "T0", "board:; x"]
    ),
)

JSON_VALUE = st.recursive(
    st.one_of(
        NUMBER,
        NUMBER,
        VALUE.map(lambda text: json.dumps(text, ensure_ascii=False)),
        st.sampled_from(["true", "null", "1e3", '"G28\\nG1 X5"', '"a \\" b"', "07", "1.", "tru", '"open']),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(lambda items: f"[{', '.join(items)}]"),
        st.lists(st.tuples(NAME, inner), max_size=3).map(
            lambda members: f"{{{', '.join(f'{json.dumps(name)}: {value}' for name, value in members)}}}"
        ),
    ),
    max_leaves=5,
)
_MEMBERS = st.lists(
    st.tuples(BLANK, NAME, JSON_VALUE, st.sampled_from(["", "", " // remark", " /* x */"]), END), max_size=6
)
NESTED = st.builds(
    lambda members, cut: (
        "{"
        + ",".join(f'{end}{blank}"{name}": {value}{remark}' for blank, name, value, remark, end in members)
        + "\n}"
    )[: cut or None].encode(),
    _MEMBERS,
    st.sampled_from([0, 0, 0, 0, 20, -1]),
)

FILES: dict[str, st.SearchStrategy[bytes]] = {
    "sectioned": SECTIONED,
    "flat": FLAT,
    "header": HEADER_FILE,
    "command": COMMAND_FILE,
    "nested": NESTED,
}
WILD = st.one_of(st.binary(max_size=200), *FILES.values())
#: what may be written over a value, by dialect: numbers are what the program writes
NEW_VALUES = st.sampled_from(["7", "-0.125", "438.4"])

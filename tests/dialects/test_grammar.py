"""Every grammar in `grammars/` loads, no two of its tokens fit the same text, and tokens are those of Lark's lexer."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lark import Lark

from cfgmigrate.dialects.grammar import TREES, build_grammar, data_folder, grammar, tokens

NAMES = sorted(path.stem for path in data_folder("grammars").glob("*.lark"))
OF_LINES = sorted(set(NAMES) - set(TREES))
TEXTS = st.lists(
    st.sampled_from(
        [*"\"'/*#;\\[]{}=:$ %(1-a.,<>+\t\v!\xb5\n\r", "\r\n", "#define ", "#if ", "G1 X", "true", "1e-5"]
    )
).map("".join)


@pytest.mark.parametrize("name", NAMES)
def test_no_two_tokens_of_a_grammar_fit_the_same_text(name: str) -> None:
    """Lark's strict mode raises on any overlap of two tokens of the same priority, and on any conflict."""
    grammar(name, strict=True)


@cache
def lark(name: str) -> Lark:
    return build_grammar(name, "basic")


@pytest.mark.parametrize("name", OF_LINES)
@given(text=TEXTS)
def test_tokens_are_those_of_larks_own_lexer(name: str, text: str) -> None:
    """And joined they are the text: Lark's lexer raises where a character fits nothing."""
    ended = text if text.endswith(("\n", "\r")) else text + "\n"
    assert list(tokens(name, text)) == [(token.type, str(token)) for token in lark(name).lex(ended)]


def test_a_missing_folder_of_data_is_told() -> None:
    with pytest.raises(FileNotFoundError, match="install it again"):
        data_folder("no such folder")

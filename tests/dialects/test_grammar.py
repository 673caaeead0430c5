"""Every grammar in `grammars/` loads, and no two of its tokens fit the same text."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.grammar import data_folder, grammar

NAMES = sorted(path.stem for path in data_folder("grammars").glob("*.lark"))


@pytest.mark.parametrize("name", NAMES)
def test_no_two_tokens_of_a_grammar_fit_the_same_text(name: str) -> None:
    """Lark's strict mode raises on any overlap of two tokens of the same priority, and on any conflict."""
    grammar(name, strict=True)


def test_a_missing_folder_of_data_is_told() -> None:
    with pytest.raises(FileNotFoundError, match="install it again"):
        data_folder("no such folder")

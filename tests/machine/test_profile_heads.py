"""What the levels of a section call a profile."""

from __future__ import annotations

import pytest

from cfgmigrate.machine import profile_heads


@pytest.mark.parametrize(
    ("levels", "head"),
    [
        (("filament petg",), (1, "filament", ["filament"], "petg")),
        (("filament", "petg"), (2, "filament", [], "petg")),
        (("filaments", "2"), (2, "filament", [], "2")),
        (("print profiles", "fine"), (2, "either", [], "fine")),
        (("with PETG",), (1, "filament", [], "PETG")),
        (("reel of PETG",), (1, "filament", ["reel"], "PETG")),
        (("spool for PETG black",), (1, "filament", ["spool"], "PETG black")),
        (("machine", "spool zum"), (2, "filament", ["spool"], "zum")),
        (("print", "zum", "x"), (2, "print", [], "zum")),
        (("a_filament_zum",), (1, "filament", ["a", "filament"], "zum")),
        (("job lamp feet",), (1, "print", ["job"], "lamp feet")),
        (("print lamp feet",), None),
        (("job speed",), None),
        (("print_sets", "brisk"), (2, "print", [], "brisk")),
        (("layerModes", "brisk"), (2, "print", [], "brisk")),
        (("quality levels", "brisk"), (2, "print", [], "brisk")),
        (("filament_table", "zum"), (2, "filament", [], "zum")),
        (("machine", "slicing styles", "zum", "x"), (3, "print", [], "zum")),
        (("print_sets", "speed"), None),
        (("layer_sets",), None),
        (("print", "sets", "brisk"), (3, "print", [], "brisk")),
        (("filament", "sets"), (2, "filament", [], "sets")),
        (("drive modes", "brisk"), None),
        (("sorts of job", "brisk"), (2, "print", [], "brisk")),
        (("if printing ASA",), (1, "filament", [], "ASA")),
        (("end of job",), None),
        (("filament",), None),
        (("filament sensor",), None),
        (("filament speed",), None),
        (("strand 4",), None),
        (("lag",), None),
        ((), None),
    ],
)
def test_a_profile_s_name_stands_behind_a_word_for_one_or_a_level_below_it(
    levels: tuple[str, ...], head: tuple[int, str, list[str], str] | None
) -> None:
    assert profile_heads.profile_head(levels) == head


@pytest.mark.parametrize(
    ("words", "behind"),
    [
        ("with PETG", "PETG"),
        ("from of PETG x", "PETG x"),
        ("PETG", "PETG"),
        ("of zum", "of zum"),
        ("while running ABS", "ABS"),
        ("when zum runs", "when zum runs"),
        ("the PA", "the PA"),
        ("with", "with"),
        ("", ""),
    ],
)
def test_words_that_link_are_left_out_before_a_material_alone(words: str, behind: str) -> None:
    assert profile_heads.behind_links(words.split()) == behind.split()

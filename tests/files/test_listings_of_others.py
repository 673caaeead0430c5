"""A listing of what a board keeps that says it is another machine's is not taken for this one's beside one that doesn't."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import open_configuration

CODES = "M8801 X80 Y80 Z400 E{}\nM8802 X16 Y16 Z16 E16\nM8806 X920 Y1060 Z850 E640\nM8810 L{} F1800\n"
OTHER = "M8800 V2\nM8815 X47 Y32\nM8820 X S229.5 A-2 B229.5\nM8837 L40 U95\n"
BUILD = "#define X_MAX 230\n#define Y_MAX 230\n#define Z_MAX 245\n#define FEEDER_STEPS_PER_MM 187\n#define RETRACTION_MM 5.5\n"


@pytest.mark.parametrize(
    ("head", "taken"),
    [
        ("june, with her drive on. NOT ours. kept because it printed so well", False),
        ("june, with her drive on", True),
        ("not ours alone: the workshop's as well", True),
    ],
)
def test_what_says_that_it_is_not_ours_is_left_alone(head: str, taken: bool, tmp_path: Path) -> None:
    (tmp_path / "whelk.h").write_text(BUILD)
    (tmp_path / "dump.txt").write_text(f"; what the chip keeps\n{CODES.format(187, 5.5)}")
    (tmp_path / "lia_june.txt").write_text(f"; {head}\n{OTHER}")
    paths = [each.path for each in open_configuration([tmp_path]).documents]
    assert "dump.txt" in paths and ("lia_june.txt" in paths) is taken


def test_the_only_listing_is_taken_whatever_it_says(tmp_path: Path) -> None:
    """Such a sentence alone leaves no file out: what it says may be of something else, and left out in silence it would stay old."""
    (tmp_path / "whelk.h").write_text(BUILD)
    (tmp_path / "dump.txt").write_text(f"; june. NOT ours.\n{CODES.format(187, 5.5)}")
    assert "dump.txt" in [each.path for each in open_configuration([tmp_path]).documents]

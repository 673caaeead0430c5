"""What is longer than a screen is shortened section by section, and says by how much."""

from __future__ import annotations

from cfgmigrate.reports.sections import one_screen, section


def test_the_longest_section_is_shortened_and_says_by_how_many() -> None:
    parts = [
        section("Many", [f"item {number}" for number in range(100)], 80),
        section("Few", ["one", "two", "three"], 80),
        section("Next", ["go on", "or back", "or stay"], 80, whole=True),
    ]
    lines = [line.text for line in one_screen(parts, 20)]
    assert len(lines) == 20
    assert "  item 0" in lines and "  and 90 more: --full" in lines
    assert lines[-8:] == ["Few", "  one", "  two", "  three", "Next", "  go on", "  or back", "  or stay"]


def test_what_fits_is_shown_whole_and_what_is_whole_is_never_shortened() -> None:
    few = [section("Few", ["one", "two"], 80), section("None", [], 80)]
    assert [line.text for line in one_screen(few)] == ["Few", "  one", "  two"]
    whole = section("All", [str(number) for number in range(60)], 80, whole=True)
    assert len(one_screen([whole])) == 61

"""A comparison shows the same rows in the terminal, as Markdown and as a page, the dangerous ones first."""

from __future__ import annotations

import io
from html.parser import HTMLParser
from typing import Any

import pytest
from markdown_it import MarkdownIt
from msgspec.structs import replace
from rich.console import Console

from cfgmigrate.reports.comparison import (
    groups,
    lines_that_differ,
    render_comparison_markdown,
    render_comparison_page,
    sentence,
)
from cfgmigrate.reports.survey_text import show_comparison

FOUND: dict[str, Any] = {
    "differences": [
        {
            "quantity": "feeder.steps_per_mm",
            "unit": "1/mm",
            "old": {"value": 96.0, "text": "96", "file": "plover.h", "line": 12},
            "new": {"value": 659.794, "text": "659.8", "file": "wren.ini", "line": 7},
            "protected": False,
        },
        {
            "quantity": "heater.hotend.max_temperature",
            "unit": "degC",
            "old": {"value": 275.0, "text": "275", "file": "plover.h", "line": 30},
            "new": {"value": 300.0, "text": "300", "file": "wren.ini", "line": 39},
            "protected": True,
        },
        {"quantity": "feeder.direction", "unit": "", "old": True, "new": False, "protected": False},
        {"quantity": "script.end", "unit": "", "old": "park", "new": {"value": None, "text": "rest"}},
    ],
    "only_old": [{"quantity": "retraction.lift", "unit": "mm", "value": 0.2, "file": "plover.h", "line": 9}],
    "only_new": ["lag.averaging"],
    "same": 17,
}
SAME: dict[str, Any] = {"differences": [], "only_old": [], "only_new": [], "same": 17}


def in_terminal(found: dict[str, Any], width: int = 140) -> str:
    out = io.StringIO()
    show_comparison(found, Console(file=out, width=width, markup=False, emoji=False, highlight=False))
    return out.getvalue()


def as_page(found: dict[str, Any]) -> str:
    """The page without the places where a long word may break."""
    return render_comparison_page(found).replace("<wbr>", "")


SHOWN = [in_terminal, render_comparison_markdown, as_page]


@pytest.mark.parametrize("show", SHOWN)
def test_every_row_is_there(show: Any) -> None:
    text = show(FOUND)
    for said in (
        "96 per mm",
        "659.794 per mm",
        "275 °C",
        "300 °C",
        "plover.h:30",
        "yes",
        "rest",
        "0.2 mm",
        "lag.averaging",
    ):
        assert said in text


@pytest.mark.parametrize("show", SHOWN)
def test_protected_differences_come_first(show: Any) -> None:
    text = show(FOUND)
    assert text.index("Hotend maximum temperature") < text.index("Feeder steps per mm")


def test_what_was_worked_out_says_from_where() -> None:
    places = [{"file": "wren.ini", "line": 7}, {"file": "feed.ini", "line": 3}]
    worked_out = {
        "quantity": "feeder.steps_per_mm",
        "unit": "1/mm",
        "old": 96.0,
        "new": 659.8,
        "new_from": places,
    }
    ((_, (row,)),) = groups({**SAME, "differences": [worked_out]})
    assert (row.old_place, row.new_place) == ("", "from wren.ini:7, feed.ini:3")


@pytest.mark.parametrize("show", SHOWN)
def test_two_that_mean_the_same_say_so(show: Any) -> None:
    assert "Nothing differs; 17 quantities mean the same." in show(SAME)
    assert groups(SAME) == []


def test_the_sentence_counts_each_kind() -> None:
    assert (
        sentence(FOUND)
        == "4 differences (1 protected), 1 only in the old one, 1 only in the new one, 17 the same."
    )


@pytest.mark.parametrize("bad", ["</script><b>", "\x1b[2J", "\u202e", "| x |\n# y", "[a](b)", "w" * 10_000])
def test_hostile_values_are_inert(bad: str) -> None:
    row = {
        "quantity": bad,
        "unit": bad,
        "old": bad,
        "new": {"text": bad, "file": bad, "line": 1},
        "protected": True,
    }
    found = {"differences": [row], "only_old": [bad], "only_new": [], "same": 0, "files_apart": [bad]}
    terminal, markdown, page = (show(found) for show in SHOWN)
    for text in (terminal, markdown, page):
        assert "\x1b" not in text
        assert "\u202e" not in text
    kinds = {
        leaf.type
        for token in MarkdownIt("commonmark").enable("table").parse(markdown)
        for leaf in [token, *(token.children or [])]
    }
    assert not kinds & {"html_inline", "html_block", "link_open", "image"}
    tags: list[str] = []
    parser = HTMLParser()
    parser.handle_starttag = lambda tag, attrs: tags.append(tag)  # type: ignore[method-assign]
    parser.feed(page)
    assert "b" not in tags
    assert tags.count("script") == 1, "the page's own search"


def test_what_is_not_understood_and_not_alike_is_told_in_the_sentence() -> None:
    said = sentence({**SAME, "beyond": {"old": 1, "new": 2}})
    assert (
        said.startswith("Nothing that is understood differs; 17")
        and "1 setting of the old one and 2 of the new one are not understood" in said
    )
    assert "understood" not in sentence(SAME)


def test_files_that_are_not_read_and_not_the_same_are_named() -> None:
    said = sentence({**SAME, "files_apart": [f"{number}.tbl" for number in range(7)]})
    assert said.startswith("Nothing that is understood differs") and "0.tbl, 1.tbl" in said
    assert said.endswith("4.tbl and 2 more.")


def test_a_whole_script_is_folded_and_whole_on_the_page() -> None:
    script = "\n".join(f"move {number}" for number in range(50))
    rows = [{"quantity": "script.end", "unit": "", "old": script, "new": "rest"}]
    page = as_page({**SAME, "differences": rows})
    assert "<summary>move 0" in page and page.count("move 49") == 1


def test_of_two_scripts_the_screen_shows_the_lines_that_differ() -> None:
    old, new = "G90\nG1 Z315 F480\nG1 X4 Y200", "G90\nG1 Z306 F480\nG1 X4 Y200\nM84"
    ((_, (row,)),) = groups({**SAME, "differences": [{"quantity": "script.park", "old": old, "new": new}]})
    assert (row.quantity, row.old) == ("Park script", old)
    assert lines_that_differ(row) == ("G1 Z315 F480", "G1 Z306 F480; M84")
    assert lines_that_differ(replace(row, old="306", new="318")) == ("306", "318")

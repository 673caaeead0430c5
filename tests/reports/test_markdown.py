"""changes.md says everything, renders as GitHub-flavoured Markdown, and is inert whatever the files hold.

From outside: markdown-it-py, an independent implementation of CommonMark and of GFM's tables, reads the text
back.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest
from cardtexts import texts_of
from markdown_it import MarkdownIt
from markdown_it.token import Token

from cfgmigrate.plan.model import Plan
from cfgmigrate.reports import gfm, overview
from cfgmigrate.reports.card import cards_of
from cfgmigrate.reports.checklist import render_checklist
from cfgmigrate.reports.markdown import render_markdown
from cfgmigrate.rules.result import Status

READER = MarkdownIt("commonmark").enable(["table", "strikethrough"])


def read(text: str) -> list[Token]:
    return READER.parse(text)


def rendered(found: SimpleNamespace) -> str:
    return render_markdown(found.plan, found.before, found.after, found.packet_hash)


def tables(tokens: list[Token]) -> list[list[int]]:
    """For each table, how many cells each row has."""
    found: list[list[int]] = []
    for token in tokens:
        if token.type == "table_open":
            found.append([])
        elif token.type == "tr_open":
            found[-1].append(0)
        elif token.type in {"td_open", "th_open"}:
            found[-1][-1] += 1
    return found


def leaves(tokens: list[Token]) -> list[Token]:
    return [leaf for token in tokens for leaf in [token, *(token.children or [])]]


def visible(tokens: list[Token]) -> str:
    return "\n".join(
        token.content for token in leaves(tokens) if token.type in {"text", "code_inline", "fence"}
    )


def test_every_part_of_the_plan_is_there(wren: SimpleNamespace) -> None:
    text = visible(read(rendered(wren)))
    plan: Plan = wren.plan
    for card in cards_of(plan).all:
        assert [part for part in texts_of(card) if part not in text] == []
    for left in plan.left_alone:
        assert left.quantity in text
    assert wren.packet_hash in text


def test_every_table_has_rows_of_one_length(wren: SimpleNamespace) -> None:
    found = tables(read(rendered(wren)))
    assert len(found) > 10
    assert all(len(set(rows)) == 1 and len(rows) > 1 for rows in found)


@pytest.mark.parametrize("status", Status)
def test_every_status_is_counted_and_explained(status: Status, wren: SimpleNamespace) -> None:
    assert status in overview.MEANING
    if status in dict(overview.counts(wren.plan)):
        assert f"**{status.value}** ({dict(overview.counts(wren.plan))[status]})" in rendered(wren)


def test_a_table_lines_up_as_plain_text_too(wren: SimpleNamespace) -> None:
    lines = rendered(wren).split("\n")
    start = next(index for index, line in enumerate(lines) if line.startswith("| no."))
    assert len({len(line) for line in lines[start : start + 7]}) == 1


MARKUP = {"html_inline", "html_block", "link_open", "image", "s_open", "em_open", "hr", "blockquote_open"}
BLOCKS = ("heading_open", "fence", "bullet_list_open", "list_item_open", "table_open", "tr_open", "td_open")


@pytest.mark.parametrize(
    "show", [rendered, lambda found: render_checklist(found.plan)], ids=["changes.md", "checklist.md"]
)
def test_hostile_text_makes_no_markup(
    show: Callable[[SimpleNamespace], str], hostile: SimpleNamespace, harmless: SimpleNamespace
) -> None:
    tokens, sound = read(show(hostile)), read(show(harmless))
    assert {token.type for token in leaves(tokens)} & MARKUP == set()
    assert all(len(set(rows)) == 1 for rows in tables(tokens))
    for kind in BLOCKS:
        assert sum(token.type == kind for token in tokens) == sum(token.type == kind for token in sound), kind


@pytest.mark.parametrize(
    "text",
    [
        "*a* _b_ `c` [d](e) <f> &amp; a|b ~g~ $h$",
        "# not a heading",
        "1. not a list",
        "- not a list",
        "> not a quote",
        "---",
        "a_b_c and snake_case stay",
        "p < 0.05 and a > b",
        "5 & 6",
        "back\\slash",
        "trailing `",
        "@name and #12",
    ],
)
def test_escaped_prose_reads_as_it_was(text: str) -> None:
    tokens = read(gfm.escaped(text))
    assert "".join(leaf.content for leaf in leaves(tokens) if leaf.type in {"text", "code_inline"}) == text


@pytest.mark.parametrize("text", ["a", "`", "``", "a`b``c", " a ", "| bar", "`x`", "\\"])
def test_a_code_span_holds_any_text(text: str) -> None:
    (span,) = [leaf for leaf in leaves(read(gfm.code(text))) if leaf.type == "code_inline"]
    assert span.content == text


def test_a_bar_in_a_cells_code_does_not_split_the_cell() -> None:
    (rows,) = tables(read(gfm.table(["a", "b"], [[gfm.code_in_table("x|y"), "p|q"]])))
    assert rows == [2, 2]


def test_a_plan_without_changes_says_so(empty: Plan) -> None:
    text = render_markdown(empty, {}, {}, "0" * 64)
    assert "Nothing changes." in text
    assert text.startswith(
        "# Changes for this machine\n\nNo values to change, no steps by hand, no questions"
    )


def test_files_that_are_not_what_the_edits_make_are_reported_first(wren: SimpleNamespace) -> None:
    after = {**wren.after, "wren.ini": wren.after["wren.ini"] + b"x"}
    text = render_markdown(wren.plan, wren.before, after, wren.packet_hash)
    assert "This packet does not agree with itself" in text
    assert "agree with itself" not in rendered(wren)


def test_what_is_only_tried_at_the_first_print_is_not_told_as_what_to_set() -> None:
    from cfgmigrate import api

    samples = Path(api.__file__).parents[1] / "sample_configs"
    found = api.work_out([samples / "wren"], samples / "sheets" / "wren.yaml")
    text = render_markdown(found.plan, found.before, found.after, "0" * 64)
    (row,) = [line for line in text.splitlines() if line.startswith("|") and "lag averaging of" in line]
    assert "| stays; try 0.014 s" in row


def test_a_limit_to_be_kept_at_the_first_print_does_not_stay_and_is_not_tried(tmp_path: Path) -> None:
    from cfgmigrate import api

    samples = Path(api.__file__).parents[1] / "sample_configs"
    sheet = (samples / "sheets" / "wren.yaml").read_text(encoding="utf-8")
    hot = sheet.replace("recommended_current: 0.42 A", "recommended_current: 0.60 A")
    (tmp_path / "hot.yaml").write_text(hot, encoding="utf-8")
    found = api.work_out([samples / "wren"], tmp_path / "hot.yaml")
    text = render_markdown(found.plan, found.before, found.after, "0" * 64)
    (row,) = [line for line in text.splitlines() if line.startswith("|") and "Keep the motor's case" in line]
    assert "57.5" in row and "try" not in row.partition("below")[2]


@pytest.mark.parametrize(
    "answer",
    [
        '"[feeder] grip_screw": retraction.length',
        'decimals: {"reels/*.txt": comma}',
        '"[axis @] top": {quantity: axis.@.max}',
        '"[travel] bed": [axis.z.min, axis.z.max]',
    ],
)
def test_an_answer_to_type_stands_in_code_marks_just_as_it_is_typed(answer: str) -> None:
    assert f"`{answer}`" in gfm.escaped(f"say so in *cfgmigrate.yaml*: {answer}, or change it by hand")
    assert gfm.escaped(f"say so: {answer}.") == f"say so: `{answer}`."

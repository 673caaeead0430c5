"""Laws 1, 2 and 5 over files that others wrote, and the edits that others expect of such files.

Sources: `tests/bench/corpora.py`. A corpus that can't be had (no network, no such package) is skipped with the
reason. `python tests/bench/corpus.py` runs the same over more files and prints the table.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator

import pytest
from corpora import CORPORA, Absent, Corpus, crudini_edits, lens_edits
from corpus import first_of, try_samples
from expected import ExpectedEdit

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.plan.edits import apply_edits
from cfgmigrate.plan.model import Edit

FILES = {"exhaustive": 150, "long": 100_000}.get(os.environ.get("HYPOTHESIS_PROFILE", ""), 40)


@pytest.mark.exhaustive
@pytest.mark.parametrize("corpus", CORPORA, ids=lambda corpus: corpus.name)
def test_files_that_others_wrote_come_back_and_their_values_are_edited_alone(corpus: Corpus) -> None:
    try:
        samples = first_of(corpus, FILES)
    except Absent as reason:
        pytest.skip(str(reason))
    tally = try_samples(corpus, samples, each=2)
    assert not tally.wrong
    assert tally.identical + tally.refused == tally.files >= 3
    assert tally.edited and tally.numbers
    assert all("zero bytes" in reason or "UTF-16" in reason for reason in tally.refusals)


#: lens tests whose syntax is none of the dialects: several settings a line
OTHER_SYNTAX = {"test_cmdline.aug"}


def one_setting(settings: tuple[Setting, ...], path: tuple[str, ...], sections: bool) -> Setting | None:
    """The setting that a path means: the only one with its last part as key, in the section before it."""
    found = [setting for setting in settings if setting.key == path[-1]]
    if sections:
        found = [setting for setting in found if setting.section == path[0]]
    return found[0] if len(found) == 1 else None


def value_edit(setting: Setting, value: str) -> Edit:
    """The setting's value is replaced, within its quotes where it has some."""
    inside = re.match(r"""(["'])(.*?)\1""", setting.value)
    first, last = inside.span(2) if inside else (0, len(setting.value))
    start = setting.start + len(setting.value[:first].encode())
    end = setting.start + len(setting.value[:last].encode())
    return Edit("f", setting.line, setting.column, start, end, setting.value[first:last], value)


def held_against(edits: Iterator[ExpectedEdit], dialect: str, sections: bool) -> int:
    """Every expected edit that does nothing but replace values of such a file comes out so; how many."""
    held = 0
    for expected in edits:
        settings = read("f", expected.before, dialect).settings
        pairs = [(one_setting(settings, path, sections), value) for path, value in expected.sets]
        found = [value_edit(setting, value) for setting, value in pairs if setting is not None]
        braces = b"{" in expected.before or expected.place in OTHER_SYNTAX
        needs_quotes = any(re.search(r"""[\s"']""", value) for _, value in expected.sets)
        if len(found) == len(pairs) and not braces and not needs_quotes:
            assert apply_edits(expected.before, found) == expected.after, expected
            held += 1
    return held


@pytest.mark.parametrize(
    ("edits", "dialect", "sections", "least"),
    [
        (lens_edits, "sectioned", False, 5),
        (lens_edits, "flat", False, 15),
        (crudini_edits, "sectioned", True, 3),
    ],
    ids=["lens tests, sectioned", "lens tests, flat", "crudini"],
)
def test_edits_come_out_as_others_expect_them(
    edits: Callable[[], Iterator[ExpectedEdit]], dialect: str, sections: bool, least: int
) -> None:
    try:
        expected = list(edits())
    except Absent as reason:
        pytest.skip(str(reason))
    assert held_against(iter(expected), dialect, sections) >= least

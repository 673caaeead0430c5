"""What a file's own name says of it: that another one is the live one, that there are several, or neither."""

from __future__ import annotations

import pytest

from cfgmigrate.files.marks import Marks, marks_of

BARE = ("flow", "conf")


@pytest.mark.parametrize(
    "name", ["flow.conf", "Flow.conf", "flow_CONF", "flow-conf", " flow . conf "], ids=repr
)
def test_a_plain_name_has_its_words_and_no_mark(name: str) -> None:
    assert marks_of(name) == Marks(bare=BARE)


@pytest.mark.parametrize(
    ("name", "mark"),
    [
        ("flow old.conf", "old"),
        ("OLD_flow.conf", "old"),
        ("copy of flow.conf", "copy"),
        ("flow.conf~", "~"),
        ("#flow.conf#", "#"),
        ("flow 2031-05-04.conf", "2031-05-04"),
        ("flow 3 weeks ago.conf", "3 weeks ago"),
        ("flow last winter.conf", "last winter"),
        ("flow before service.conf", "before"),
        ("flow before new service.conf", "before"),
    ],
)
def test_a_mark_with_a_direction_is_told_and_the_words_that_are_left_are_the_name_s(
    name: str, mark: str
) -> None:
    assert marks_of(name) == Marks(directed=(mark,), bare=BARE)


@pytest.mark.parametrize(
    ("name", "marks"),
    [
        ("flow new.conf", ("new",)),
        ("Final flow.conf", ("final",)),
        ("flow (2).conf", ("(2)",)),
        ("flow-2.conf", ("2",)),
        ("flow test 2.conf", ("2", "test")),
    ],
)
def test_a_mark_that_says_only_that_there_are_several_has_no_direction(
    name: str, marks: tuple[str, ...]
) -> None:
    assert marks_of(name) == Marks(loose=marks, bare=BARE)


@pytest.mark.parametrize(
    ("name", "bare"),
    [
        ("newton.conf", ("newton", "conf")),
        ("golden.conf", ("golden", "conf")),
        ("flow of brass.conf", ("flow", "of", "brass", "conf")),
        ("flow last.conf", ("flow", "last", "conf")),
    ],
)
def test_a_word_that_only_begins_like_a_mark_or_has_no_time_behind_it_is_a_name(
    name: str, bare: tuple[str, ...]
) -> None:
    assert marks_of(name) == Marks(bare=bare)

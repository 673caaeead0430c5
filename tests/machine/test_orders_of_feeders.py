"""Which value of a profile's pair is which feeder's: as the file's own words, the site file or a list of the names say, else it is asked."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.machine.names import names_in
from cfgmigrate.machine.orders_of_feeders import FeederOrders, _orders, which_comes_first
from cfgmigrate.machine.recognise import recognise

NAMES = {"wren": 1, "finch": 2}


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("finch first, then wren", (2, 1)),
        ("Finch first, then Wren (sorry)", (2, 1)),
        ("first wren, then finch", (1, 2)),
        ("order: finch, wren", (2, 1)),
        ("finch before wren", (2, 1)),
        ("wren and finch", None),
        ("wren, finch first", None),
        ("finch first, wren last", (2, 1)),
        ("finch is not first, then wren", None),
        ("first finch runs out. then wren", None),
        ("wren first, finch is slower then", (1, 2)),
    ],
)
def test_an_order_is_told_by_a_clause_of_all_names(text: str, order: tuple[int, ...] | None) -> None:
    assert next(_orders(text, NAMES), None) == order


def lengths(
    tmp_path: Path, words: str, more: str = "", site: str = "", names: str = "wren finch"
) -> tuple[dict[int, float | None], list[str]]:
    one, other = names.split()
    (tmp_path / "main.conf").write_text(
        f"# mm\n{more}[x axis]\nsteps per mm = 80\n[feeder {one}]\nsteps per mm = 96.4\nlag = 0.4\n"
        f"[feeder {other}]\nsteps per mm = 97.2\nlag = 0.5\n"
    )
    (tmp_path / "abs.json").write_text(
        f'{{"name": "ABS", "kind": "ABS", {words}"units": "mm",\n "pull": [5.8, 4.7]}}'
    )
    (tmp_path / "cfgmigrate.yaml").write_text(
        f"site: 1\nroles: {{main.conf: in force, abs.json: profile}}\n{site}"
    )
    configuration = open_configuration([tmp_path])
    names_said = names_in(b"pull: [retraction.length, retraction.length]\n", "names")
    found = recognise(configuration, names_said, feeders=configuration.site.feeders)
    pairs = {
        each.holder.feeder: each.value
        for each in found.readings
        if each.place.file == "abs.json" and each.editable
    }
    return pairs, [each.remedy for each in found.doubts if "in which order" in each.why]


@pytest.mark.parametrize(
    ("said", "first"),
    [
        ({"words": '"pairs": "finch first, then wren", '}, 2),
        ({"words": '"pairs": "wren first, then finch", '}, 1),
        ({"words": "", "site": "profiles: {abs.json: {filament: ABS, feeders: [2, 1]}}\n"}, 2),
        ({"words": "", "more": "[feeders]\norder = finch, wren\n"}, 1),
        ({"words": "", "names": "left right"}, 1),
        ({"words": "", "names": "1 2"}, 1),
    ],
    ids=str,
)
def test_the_values_of_a_pair_are_of_the_feeders_in_the_order_that_is_told(
    tmp_path: Path, said: dict[str, str], first: int
) -> None:
    assert lengths(tmp_path, **said) == ({first: 5.8, 3 - first: 4.7}, [])


@pytest.mark.parametrize(
    "words",
    [
        "",
        '"pairs": "finch first, then wren", "note": "wren first, then finch", ',
        '"note": "for wren and finch", ',
    ],
)
def test_a_pair_of_feeders_with_names_is_asked_about_where_no_order_is_told(
    tmp_path: Path, words: str
) -> None:
    pairs, remedies = lengths(tmp_path, words)
    assert pairs == {}
    assert remedies == [which_comes_first("abs.json", (1, 2))]


def test_without_a_told_order_entries_stand_in_their_own() -> None:
    assert FeederOrders().feeder("a", 2) == 2 and not FeederOrders().is_open("a")

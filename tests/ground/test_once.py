"""What rests on one frozen value alone is worked out once for it, and anew for another value."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.once import once


class Shelf(Struct, frozen=True, dict=True):
    books: tuple[str, ...]


looked_at: list[Shelf] = []


@once
def longest(shelf: Shelf) -> str:
    looked_at.append(shelf)
    return max(shelf.books, key=len)


def test_a_value_is_looked_at_once_and_another_one_by_itself() -> None:
    shelf = Shelf(("gears", "tubes and hoses"))
    other = replace(shelf, books=("motors",))
    assert [longest(each) for each in (shelf, shelf, other, shelf)] == [
        "tubes and hoses",
        "tubes and hoses",
        "motors",
        "tubes and hoses",
    ]
    assert looked_at == [shelf, other]
    assert shelf == Shelf(shelf.books), "what was worked out is no part of the value"

"""A mapping that is made when somebody asks for it first.

It is for what is dear to make and seldom asked for, such as what an old entry of a history says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from functools import cached_property
from typing import TypeVar

_Key = TypeVar("_Key")
_Value = TypeVar("_Value")


class Later(Mapping[_Key, _Value]):
    """What `make` gives, asked once. Whatever it raises is raised where somebody asks."""

    def __init__(self, make: Callable[[], Mapping[_Key, _Value]]) -> None:
        self._make = make

    @cached_property
    def _found(self) -> Mapping[_Key, _Value]:
        return self._make()

    def __getitem__(self, key: _Key) -> _Value:
        return self._found[key]

    def __iter__(self) -> Iterator[_Key]:
        return iter(self._found)

    def __len__(self) -> int:
        return len(self._found)

    def __repr__(self) -> str:
        return repr(dict(self._found))

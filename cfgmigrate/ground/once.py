"""What follows from one frozen value alone: worked out once, and kept in that value as long as it lives.

`cached_property` does so for what a class knows of itself. `once` does it for a function of a room above the class, such as
the scripts of a machine or the remarks of a document: nobody has to hand around what was worked out, and where an answer
of the sheet changes, what rests on the files alone is there already.

The value is a Struct with `dict=True`. A function that rests on anything besides is no matter for this, nor is an iterator,
which can be gone through only once.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

_Of = TypeVar("_Of")
_Found = TypeVar("_Found")


def once(work: Callable[[_Of], _Found]) -> Callable[[_Of], _Found]:
    """The same function, which gives the very same result for the same value again."""
    name = f"{work.__module__}.{work.__qualname__}"

    @wraps(work)
    def found(of: _Of) -> _Found:
        kept = vars(of)
        if name not in kept:
            kept[name] = work(of)
        known: _Found = kept[name]
        return known

    return found

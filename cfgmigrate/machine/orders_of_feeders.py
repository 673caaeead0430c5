"""In which order a profile's lists have the feeders, where these go by names: `"pairs": "coarse first, then fine"`.

The file's own words tell it, or the site file: `profiles: {abs.json: {feeders: [2, 1]}}`; so does a list of the names themselves,
in any file. Feeders that are known by a side or a number alone stand in their own order. Names have none: where nothing tells
it, or a file tells two, it is asked, and no value of such a list is edited.

Which values are entries of such lists is not looked at here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.roles import FileSet, Role
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.feeder_names import names_listed
from cfgmigrate.machine.holder_words import holder_words
from cfgmigrate.machine.words import split

_CLAUSE = pattern(r"[\r\n;.]+")
_BETWEEN = frozenset(("first", "then", "next", "and", "the", "one", "before", "for", "values", "value"))
_TELLS = frozenset(("first", "then", "before", "order"))
#: so much of a file is looked at
_LONGEST = 200_000


class FeederOrders(Struct, frozen=True):
    """By path the feeders in the order of a profile's lists; `asked` where such lists need an order that is told."""

    told: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    asked: bool = False

    def feeder(self, path: str, entry: int) -> int:
        order = self.told.get(path, ())
        return order[entry - 1] if 0 < entry <= len(order) else entry

    def is_open(self, path: str) -> bool:
        return self.asked and path not in self.told


def feeder_orders(documents: Sequence[Document], roles: FileSet, names: Mapping[str, int]) -> FeederOrders:
    """The orders that the site file or the profiles tell. `names` are those by which the feeders go."""
    known = {name: number for name, number in names.items() if not name.isdecimal()}
    known = {name: number for name, number in known.items() if name not in holder_words().sides}
    told = {path: each.order for path, each in roles.named.items() if len(each.order) > 1}
    if len(set(known.values())) < 2:
        return FeederOrders(told)
    for document in documents:
        if document.path not in told and roles.role(document.path) is Role.PROFILE:
            orders = set(_orders(document.data[:_LONGEST].decode("latin-1"), known))
            if len(orders) == 1:
                told[document.path] = orders.pop()
    return FeederOrders(told, not names_listed(list(known), documents))


def _orders(text: str, names: Mapping[str, int]) -> Iterator[tuple[int, ...]]:
    lower = text.casefold()
    if not all(name in lower for name in names):
        return
    for clause in _CLAUSE.split(lower):
        words = split(clause) if len(clause) < 400 else []
        at = [(position, names[word]) for position, word in enumerate(words) if word in names]
        if len(at) != len(names) or len({number for _, number in at}) != len(at):
            continue
        inside = words[at[0][0] : at[-1][0] + 1]
        first = next((position for position, word in enumerate(words) if word == "first"), 0)
        apart = (word for word in inside if word not in names)
        if _BETWEEN.issuperset(apart) and not _TELLS.isdisjoint(words) and first < at[1][0]:
            yield tuple(number for _, number in at)


def which_comes_first(path: str, feeders: Iterable[int]) -> str:
    """What a person can say of the order."""
    shown = ", ".join(map(str, feeders))
    return f"say the order in cfgmigrate.yaml: `profiles: {{{path}: {{feeders: [{shown}]}}}}`, the first value's feeder first"

"""What a verdict is bound to: an item's content, without where it stands.

A second person judges what becomes what, and why. That line 12 has become line 14, because somebody wrote a remark
above it, changes nothing of that. So the digest of an item leaves out lines, columns and offsets, also those that
its texts name (`machine.conf:12`, `line 12`), and where the sheet lies: machines of a fleet have one each. All else
counts: a value, a reason, a caution, a number that went in.

This module knows no verdicts; it only says what is the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.packet.folder import Packet, hash_of_json
from cfgmigrate.plan.identity import doubt_names
from cfgmigrate.plan.model import Plan

#: where in a file an item stands; and in what form the file has it, which packets of before don't say
_WHERE = {"line", "column", "start", "end", "form"}
_LINES = r":\d+(?::\d+)?(?:(?:, | and )\d+(?::\d+)?\b)*"
_PLACE = pattern(rf"(?<![^\s:])([^\s:]++){_LINES}")
_LINE = pattern(r"\blines? \d+(?:(?:, | and | to )\d+)*")


def review_basis(plan: Plan) -> dict[str, str]:
    """What a review is of, piece by piece, each with its digest: files, sheet, rules, and every item."""
    return _basis(plan.to_json(), plan.doubts)


def basis_of(packet: Packet) -> dict[str, str]:
    """The same of a packet as it stands, whichever release wrote it."""
    return _basis(packet.index, packet.plan.doubts)


def pieces_of(plan: Plan) -> dict[str, str]:
    """Every item that can be judged, by its id, with its name in a basis."""
    found = {change.id: f"change {change.id}" for change in plan.changes}
    found |= {item.id: f"by hand {item.id}" for item in plan.by_hand}
    return found | {name: name for name in doubt_names(plan.doubts)}


def older_digests(packet: Packet) -> dict[str, tuple[str, ...]]:
    """The digests as older releases took them: of the whole item with its lines, and with the sheet's path."""
    ends = _ends(packet.index)
    return {
        piece: (hash_of_json(item), hash_of_json(_without_places(item, ends)))
        for piece, item in _items(packet.index)
    }


def _basis(index: Mapping[str, Any], doubts: Iterable[Doubt]) -> dict[str, str]:
    inputs = index["inputs"]
    basis = {f"file {file['path']}": str(file["sha256"]) for file in inputs["files"]}
    basis |= {
        f"sheet {inputs['sheet']['path']}": inputs["sheet"]["sha256"],
        "rule book": inputs["rules"]["sha256"],
    }
    doubts = tuple(doubts)
    told = zip(doubt_names(doubts), (doubt.to_json() for doubt in doubts), strict=True)
    ends, sheet = _ends(index), _place_in(str(inputs["sheet"]["path"]))
    return basis | {
        piece: hash_of_json(_without_places(_without_sheet(item, sheet), ends))
        for piece, item in (*_items(index), *told)
    }


def _ends(index: Mapping[str, Any]) -> tuple[str, ...]:
    """The last words of the paths of the files and the sheet."""
    inputs = index["inputs"]
    paths = [str(file["path"]) for file in (*inputs["files"], inputs["sheet"])]
    return tuple({path.split()[-1] for path in paths if path.split()})


def _place_in(sheet: str) -> re.Pattern[str]:
    """Finds the places in the sheet: its path, which may have blanks, with its lines."""
    return re.compile(rf"(?<![^\s:]){re.escape(sheet)}{_LINES}")


def _without_sheet(data: Any, sheet: re.Pattern[str]) -> Any:
    """JSON data that says "the sheet" for every place in it."""
    if isinstance(data, str):
        return sheet.sub("the sheet", data) if ":" in data else data
    if isinstance(data, Mapping):
        return {key: _without_sheet(value, sheet) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_without_sheet(each, sheet) for each in data]
    return data


def _items(index: Mapping[str, Any]) -> list[tuple[str, Any]]:
    return [
        (f"{kind} {item.get('id', item[name])}", item)
        for kind, group, name in (("change", "changes", "quantity"), ("by hand", "by_hand", "what"))
        for item in index.get(group, ())
    ]


def _without_places(data: Any, ends: tuple[str, ...]) -> Any:
    """JSON data without what says where in a file it stands; `ends` are the last words of the files' paths."""
    if isinstance(data, str):
        cut = data
        if ":" in data:
            cut = _PLACE.sub(lambda found: found[1] if found[1].endswith(ends) else found[0], data)
        return _LINE.sub("line", cut) if "line" in cut else cut
    if isinstance(data, Mapping):
        return {key: _without_places(value, ends) for key, value in data.items() if key not in _WHERE}
    if isinstance(data, list | tuple):
        return [_without_places(each, ends) for each in data]
    return data

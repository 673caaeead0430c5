"""A sheet that is filled answer by answer: each is put in at once, and all else in it stays as it stands.

What nobody can say ("don't know"), what is put off ("later"), in which order was asked, and which questions about the
files were left open is kept in the sheet too, in a comment for each at its end, so that an interview goes on, or back,
where it stopped. The file is replaced in one step, so that at every moment it is
the sheet before an answer or the one after it.
"""

from __future__ import annotations

import io
import os
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.ground.disk import write_through
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.one_at_a_time import one_at_a_time
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
from cfgmigrate.ground.user_file import read_given
from cfgmigrate.sheet.in_place import in_place, says
from cfgmigrate.sheet.interview_state import InterviewState, state_in, state_lines, without_state
from cfgmigrate.sheet.model import FEEDER, Sheet
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import sheet_schema
from cfgmigrate.sheet.several import FEEDERS, NO_NAMES, SAME_AS, Known

_HEADER = """\
# A swap sheet, filled by answers. It may be edited: a line for each field, with a unit and, where you know it, one
# standard uncertainty (8.42 ± 0.06 mm). cfgmigrate sheet --ask goes on with what is missing.
"""
_OF_FEEDER = pattern(r"(?:(\d{1,2}):)?(.+)")


class KeptAnswers(Struct, frozen=True):
    """A sheet in the making: what it says, what nobody can say, and what is put off. `asked` are the fields that were
    asked for, in order; `left` the questions about the files that were left open, `feeders` those of whose swap is
    asked, where there are several: a field that is one feeder's is then called by its number too, `2:new.tube.length`.
    `present` is the file's content as it was read or written last, None while there is no file; `known` are the names by
    which it may call feeders."""

    path: Path
    sheet: Sheet
    declined: tuple[str, ...] = ()
    later: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    left: tuple[str, ...] = ()
    present: bytes | None = None
    feeders: tuple[int, ...] = ()
    known: Known = NO_NAMES


def open_kept(path: Path, name: str = "", known: Known = NO_NAMES) -> KeptAnswers:
    """The sheet at `path`, or an empty one for the machine of that name. Raises BadInput where it is no sheet."""
    data = _there(path)
    if data is None:
        text = _HEADER + (f"machine: {_quoted(name)}\n" if name.strip() and name.isprintable() else "")
        return KeptAnswers(path, parse_sheet(text.encode(), str(path)), known=known)
    sheet, state = parse_sheet(data, str(path), known=known), state_in(data.decode("utf-8", "replace"))
    feeders = tuple(sorted({*state.feeders, *sheet.feeders}))
    return KeptAnswers(
        path, sheet, state.declined, state.later, state.asked, state.left, data, feeders, known
    )


def _there(path: Path) -> bytes | None:
    """The content of the file, None where nothing at all has that name. Raises BadInput where it is no readable file."""
    return read_given(path, "the swap sheet", LONGEST_YAML) if os.path.lexists(path) else None


def answered(kept: KeptAnswers, path: str, text: str) -> KeptAnswers:
    """The sheet with one more answer, written. Raises BadInput where it contradicts another one."""
    return answered_together(kept, {path: text})


def answered_together(
    kept: KeptAnswers, said: Mapping[str, str], not_known: Iterable[str] = (), withdrawn: Collection[str] = ()
) -> KeptAnswers:
    """The sheet with an answer about several fields, written at once: what it says of each, and those of which it says
    that nobody knows. What was told before of the withdrawn ones goes. Raises BadInput likewise."""
    asked, sheet = _asked(kept, *not_known, *said), kept.sheet
    for path in withdrawn:
        sheet = replace(sheet, source=_without_field(sheet, path, kept.known).encode())
    asked = replace(
        asked,
        asked=tuple(name for name in asked.asked if name not in withdrawn),
        declined=tuple(name for name in asked.declined if name not in {*withdrawn, *said}),
    )
    for path, text in said.items():
        sheet = replace(sheet, source=_with_field(sheet, path, text, kept.known).encode())
    declined = tuple(dict.fromkeys((*asked.declined, *not_known)))
    return _written(replace(asked, declined=declined), sheet.source.decode())


def declined(kept: KeptAnswers, *paths: str) -> KeptAnswers:
    """The same, with fields that nobody can say."""
    return answered_together(kept, {}, paths)


def reopened(kept: KeptAnswers, names: Collection[str]) -> KeptAnswers:
    """The same, with fields that nobody could say open again."""
    left = tuple(name for name in kept.declined if name not in names)
    return _written(replace(kept, declined=left), kept.sheet.source.decode())


def put_off(kept: KeptAnswers, *paths: str) -> KeptAnswers:
    """The same, with fields that are asked for after all others."""
    asked = _asked(kept, *paths)
    return _written(replace(asked, later=(*asked.later, *paths)), kept.sheet.source.decode())


def taken_back(kept: KeptAnswers, path: str = "") -> KeptAnswers:
    """The same as if that field had never been asked for; without `path` the one that was asked last, in whatever session."""
    gone = {path} if path else set(_last_breath(kept.asked))
    if not gone:
        return kept
    gone |= {name for name in kept.declined if _settled_by(name) in gone}
    rest = replace(
        kept,
        asked=tuple(name for name in kept.asked if name not in gone),
        declined=tuple(name for name in kept.declined if name not in gone),
        later=tuple(name for name in kept.later if name not in gone),
    )
    sheet = kept.sheet
    for name in gone:
        sheet = replace(sheet, source=_without_field(sheet, name, kept.known).encode())
    return _written(rest, sheet.source.decode())


def _settled_by(name: str) -> str:
    """The field that an answer to this one may be kept under, of the same feeder."""
    lead, sign, path = name.rpartition(":")
    whole = sheet_schema().to_the_tip.get(path, "")
    return f"{lead}{sign}{whole}" if whole else ""


def _last_breath(asked: Sequence[str]) -> Iterator[str]:
    """The fields that were asked last, as far back as they were asked in one breath."""
    breath = sheet_schema().breath(asked[-1].rpartition(":")[2])[1] if asked else ()
    for name in reversed(asked):
        if name.rpartition(":")[2] not in breath:
            return
        yield name


def left_open(kept: KeptAnswers, name: str) -> KeptAnswers:
    """The same, with a question about the files that is not asked again."""
    return _written(replace(kept, left=(*kept.left, name)), kept.sheet.source.decode())


def with_feeders(kept: KeptAnswers, same: Mapping[int, int | None]) -> KeptAnswers:
    """The sheet of the swap of these feeders, each with the one that it is the same as (None: none). One feeder alone has
    a plain sheet, which says its number; where it told of one feeder and now tells of several, its answers stay that
    one's. Raises BadInput for a feeder that is left out though it has answers."""
    if len(same) == 1 and not kept.sheet.feeders:
        return _written(kept, _with_field(kept.sheet, FEEDER, str(next(iter(same))), kept.known))
    yaml, data, _ = _loaded(kept.sheet, FEEDERS, kept.known)
    kept = _below_feeders(kept, data, yaml)
    groups = data.setdefault(FEEDERS, yaml.map())
    for key in [key for key in groups if (number := _number_of(key, kept.known)) and number not in same]:
        if set(groups[key] or ()) - {SAME_AS}:
            what = f"feeder {key} is left out, and the sheet has answers about it"
            raise BadInput(what, Place(str(kept.path)), "Take those answers back first, or keep the feeder.")
        del groups[key]
    for number, other in sorted(same.items()):
        key = _feeder_key(groups, number, kept.known)
        group = groups.get(key)
        if group is None:
            group = groups[key] = yaml.map()
        group.pop(SAME_AS, None)
        if other is not None:
            group.insert(0, SAME_AS, other)
    return _written(replace(kept, feeders=tuple(sorted(same))), _dumped(yaml, data, kept.sheet))


def tells_of_one(kept: KeptAnswers) -> bool:
    """Whether the sheet tells of a swap already without naming feeders, and so of one feeder's."""
    said = {path.partition(".")[0] for path in kept.sheet.entries}
    return kept.sheet.feeder is not None or not said.isdisjoint(sheet_schema().each)


def _below_feeders(kept: KeptAnswers, data: Any, yaml: Any) -> KeptAnswers:
    """What a plain sheet says of its feeder is moved below that feeder's number, in `data` and in the lists."""
    if kept.sheet.feeders or not tells_of_one(kept):
        return kept
    first, each = kept.sheet.swapped[0], sheet_schema().each
    own = {key: data.pop(key) for key in each if key in data}
    data.pop(FEEDER, None)
    group = data.setdefault(FEEDERS, yaml.map()).setdefault(first, yaml.map())
    group.update(own)
    lists = {
        name: tuple(
            f"{first}:{path}" if path.partition(".")[0] in each else path for path in getattr(kept, name)
        )
        for name in ("declined", "later", "asked")
    }
    return replace(kept, declined=lists["declined"], later=lists["later"], asked=lists["asked"])


def same_as(kept: KeptAnswers) -> dict[int, int]:
    """The feeders that take over another one's answers, each with that one's number."""
    _, data, _ = _loaded(kept.sheet, FEEDERS, kept.known)
    groups = data.get(FEEDERS) or {}
    found = {
        _number_of(key, kept.known): _number_of(group[SAME_AS], kept.known)
        for key, group in groups.items()
        if isinstance(group, dict) and group.get(SAME_AS) is not None
    }
    return {number: other for number, other in found.items() if number and other}


def with_material(kept: KeptAnswers, filament: str, material: str) -> KeptAnswers:
    """The sheet with a filament's material, for a filament that has no file of its own."""
    yaml, data, _ = _loaded(kept.sheet, "filaments", kept.known)
    filaments = data.setdefault("filaments", yaml.map())
    filaments.setdefault(filament, yaml.map())["material"] = material
    return _written(kept, _dumped(yaml, data, kept.sheet))


def _asked(kept: KeptAnswers, *paths: str) -> KeptAnswers:
    """The same, with these fields asked last; what was put off is no longer."""
    return replace(
        kept,
        later=tuple(name for name in kept.later if name not in paths),
        asked=(*(name for name in kept.asked if name not in paths), *paths),
    )


def restored(kept: KeptAnswers, before: KeptAnswers) -> KeptAnswers:
    """The sheet as it was before the last answer, written."""
    return _written(replace(before, present=kept.present), before.sheet.source.decode())


def _written(kept: KeptAnswers, text: str) -> KeptAnswers:
    state = InterviewState(kept.declined, kept.later, kept.asked, kept.left, kept.feeders)
    body = without_state(text).rstrip("\n") + "\n"
    data = (body + state_lines(state)).encode()
    sheet = parse_sheet(data, str(kept.path), known=kept.known)
    with one_at_a_time(kept.path.resolve().parent):
        if _there(kept.path) != kept.present:
            raise Refused("the sheet was changed since it was read", Place(str(kept.path)), "Run it again.")
        try:
            write_through(kept.path, data)
        except OSError as error:
            why = f"the sheet can't be written: {error.strerror or error}"
            raise Refused(why, Place(str(kept.path)), "Name another place with -o.") from error
    return replace(kept, sheet=sheet, present=data)


def _loaded(sheet: Sheet, path: str, known: Known) -> tuple[Any, Any, list[Any]]:
    """The writer of YAML, the sheet as it reads it, and the keys that lead to a field."""
    from ruamel.yaml import YAML

    yaml: Any = YAML(typ="rt", pure=True)
    yaml.preserve_quotes = True
    yaml.width = 10_000
    data = yaml.load(without_state(sheet.source.decode("utf-8-sig"))) or yaml.map()
    named = _OF_FEEDER.fullmatch(path)
    assert named is not None
    parts: list[Any] = named[2].split(".")
    if named[1]:
        parts = [FEEDERS, _feeder_key(data.get(FEEDERS) or {}, int(named[1]), known), *parts]
    elif sheet.feeders and parts[0] in sheet_schema().each:
        first = sheet.swapped[0] if sheet.swapped else min(sheet.feeders)
        parts = [FEEDERS, _feeder_key(data[FEEDERS], first, known), *parts]
    return yaml, data, parts


def _without_field(sheet: Sheet, path: str, known: Known) -> str:
    """The sheet's text without a field; as it is where the field is not there. A group that is left empty goes too, but
    for a feeder's own, which another one may take over."""
    yaml, data, parts = _loaded(sheet, path, known)
    groups = [data]
    for part in parts[:-1]:
        if not isinstance(groups[-1].get(part), dict):
            return sheet.source.decode()
        groups.append(groups[-1][part])
    there = [name for name in (parts[-1], *_former_names(path)) if name in groups[-1]]
    if not there:
        return sheet.source.decode()
    text: str | None = without_state(sheet.source.decode("utf-8-sig"))
    for name in there:
        del groups[-1][name]
        text = in_place(yaml, text, (*parts[:-1], name), None, FEEDERS) if text is not None else None
    for group, part in zip(reversed(groups[:-1]), reversed(parts[:-1]), strict=True):
        if not group[part] and group is not data.get(FEEDERS):
            del group[part]
    return text if text is not None and says(yaml, text, data) else _dumped(yaml, data, sheet)


def _with_field(sheet: Sheet, path: str, text: str, known: Known) -> str:
    yaml, data, parts = _loaded(sheet, path, known)
    inner, source = data, without_state(sheet.source.decode("utf-8-sig"))
    for part in parts[:-1]:
        if not isinstance(inner.get(part), dict):
            inner[part] = yaml.map()
        inner = inner[part]
    value = inner[parts[-1]] = _scalar(text)
    new = in_place(yaml, source, parts, value)
    for name in _former_names(path):
        if inner.pop(name, None) is not None and new is not None:
            new = in_place(yaml, new, (*parts[:-1], name), None)
    return new if new is not None and says(yaml, new, data) else _dumped(yaml, data, sheet)


def _former_names(path: str) -> tuple[str, ...]:
    return sheet_schema().former_names(path.rpartition(":")[2])


def _dumped(yaml: Any, data: Any, sheet: Sheet) -> str:
    out = io.StringIO()
    if data:
        yaml.dump(data, out)
    return out.getvalue() if sheet.source.strip() and data else _HEADER + out.getvalue()


def _feeder_key(feeders: Mapping[Any, Any], number: int, known: Known) -> Any:
    """The key, number or name, under which a feeder stands; its number where it doesn't yet."""
    keys: Iterable[Any] = feeders.keys()
    return next((key for key in keys if _number_of(key, known) == number), number)


def _number_of(key: Any, known: Known) -> int:
    """The number of the feeder that a key of the sheet means, 0 for none."""
    return known.number(str(key)) or 0


def _scalar(text: str) -> Any:
    """Text that YAML would take for something else is quoted, so that it comes back as it was given."""
    from ruamel.yaml.scalarstring import DoubleQuotedScalarString

    plain = re.fullmatch(r"[^\W_][\w .,±°µΩ%*/^+()-]*", text) and text.casefold() not in {"yes", "no", "null"}
    if text in ("yes", "no"):
        from ruamel.yaml.scalarstring import PlainScalarString

        return PlainScalarString(text)
    return text if plain else DoubleQuotedScalarString(text)


def _quoted(text: str) -> str:
    from cfgmigrate.sheet.starter import scalar

    return scalar(text.strip()[:80])

"""What the files and the rule book say: survey, comparison, starter sheet, rules. Nothing is worked out of a swap."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths, listed, optional, within
from cfgmigrate.workflow.prepare import read_machine

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.compare import Comparison
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.machine.survey import Survey
    from cfgmigrate.rules.rule import Rule


def survey(
    paths: Paths, names: PathLike | None = None, *, dialects: Dialects = None, machine: Paths = ()
) -> Survey:
    """What was understood of a configuration, where it stands, and what was not.

    `paths` are its files or folders, `names` is a names file for settings in doubt, `dialects` says which dialect a
    file is in where that is not found out, `machine` are files that are in force, whatever they are called.

    Gives a `Survey`, values in their quantities' units. Raises BadInput where a file can't be read.
    """
    from cfgmigrate.machine.survey import survey_of

    configuration, found = read_machine(paths, names, dialects, machine)
    return survey_of(found, configuration)


def write_site(paths: Paths, *, dialects: Dialects = None, machine: Paths = ()) -> Path:
    """Write the site file `cfgmigrate.yaml` beside a configuration, with the role of each file.

    Lines that are out of force teach what was not understood: words that nobody knows, and settings near the feed path. Inputs are those of `survey`. What the file says already stays, with its comments. Gives its path. Raises BadInput
    where a file can't be read, Refused where the site file was changed meanwhile or can't be written.
    """
    from cfgmigrate.files import site_writing
    from cfgmigrate.files.unread import lessons_of_unread
    from cfgmigrate.machine import own_codes
    from cfgmigrate.machine.axis_words import axis_words
    from cfgmigrate.machine.commas import lessons_of_commas
    from cfgmigrate.machine.names import names_said
    from cfgmigrate.machine.near_lengths import lengths_of
    from cfgmigrate.machine.taught_words import in_mapping
    from cfgmigrate.machine.teach import teachable
    from cfgmigrate.machine.unit_endings import unit_endings
    from cfgmigrate.machine.word_lessons import axis_lessons, word_lessons

    found, recognised = read_machine(paths, None, dialects, machine)
    told = names_said(None, found.site)
    said = {**axis_words(recognised.documents), **unit_endings(recognised.documents)}
    taught = {**said, **(in_mapping(told.words) if told else {})}
    words = word_lessons(recognised, taught)
    lessons = {"words": [*axis_lessons(recognised), *(line for each in words for line in each.lines())]}
    for each in teachable(recognised, lengths_of(recognised), by_numbers=True):
        lessons.setdefault(each.under, []).extend(each.lines())
    lessons["roles"] = site_writing.answers_offered(found.roles)
    lessons["moves"] = own_codes.lessons(recognised.own_scripts)
    if commas := lessons_of_commas(recognised.doubts, recognised.documents):
        lessons["decimals"] = commas
    if unread := lessons_of_unread(dict(found.skipped)):
        lessons["dialects"] = unread
    text = site_writing.site_text(found.site, found.roles)
    if given := dict(_dialects_given(found, dialects or {})):
        text = site_writing.corrected(text.encode(), {"dialects": given})
    text = site_writing.with_lessons(text, lessons)
    return site_writing.write_site(found.root, found.site, text)


def _dialects_given(found: Configuration, dialects: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """The dialects that were given, by the path of the file from the site file on."""
    from cfgmigrate.dialects import detect
    from cfgmigrate.files.found import relative_to

    for document in (*found.documents, *found.left):
        for path, dialect in dialects.items():
            inside = found.root / path
            here = path != "*" and relative_to(inside if inside.exists() else Path(path), found.root)
            own = detect(document.data)
            all_of_it = path == "*" and document.dialect == dialect and (own is None or own.name != dialect)
            if here == document.path or all_of_it:
                yield document.path, dialect


def starter_sheet(
    paths: Paths,
    names: PathLike | None = None,
    *,
    dialects: Dialects = None,
    machine: Paths = (),
    whole: bool = False,
) -> str:
    """The text of a commented starter swap sheet, with what the files already say beside it.

    It has the fields that this machine's swap needs, or with `whole` all there are. All other inputs and errors are those of `survey`.
    """
    configuration, found = read_machine(paths, names, dialects, machine)
    return starter_text(found, configuration.root.name, whole)


def starter_text(machine: Machine, name: str, whole: bool = False) -> str:
    """The starter sheet of a machine that was read, which is called `name` where its files don't say what."""
    from cfgmigrate.machine.given_names import name_of_machine
    from cfgmigrate.plan.asking_order import needed_fields
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.starter import starter_sheet as write

    name = name_of_machine(machine.given_names, name)
    if whole:
        return write(machine, name)
    bench = Workings(library.book(), machine, library.tables())
    return write(machine, name, needed_fields(bench, Sheet("swap.yaml", b"")))


def compare(
    old: Paths,
    new: Paths,
    *,
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
) -> Comparison:
    """Two configurations by meaning, across dialects: what differs, what only one has, how many values are the same.

    `old` and `new` are files or folders; `names` and `dialects` are those of `survey`, and so are the errors. `machine`
    are files that are in force, each on the side that it lies on.
    """
    from msgspec.structs import replace

    from cfgmigrate.machine.compare import compare as by_meaning

    sides = [
        read_machine(side, names, dialects, within(listed(side), listed(machine))) for side in (old, new)
    ]
    (one, first), (other, second) = sides
    left = [each.path for each in one.roles.values() if not each.role.taken and each.path in other.roles]
    apart = tuple(path for path in left if not _alike(one.root / path, other.root / path))
    return replace(by_meaning(first, second), files_apart=apart)


def _alike(one: Path, other: Path) -> bool:
    """Whether two files have the same bytes, or one of them can't be read."""
    import filecmp

    try:
        return filecmp.cmp(one, other, shallow=False)
    except OSError:
        return True


def explain(rules: PathLike | None = None) -> tuple[Rule, ...]:
    """All rules by which `prepare` works, in the order in which they are worked out.

    `rules` is a folder with rules of your own. Raises BadInput, with file and line, where one of them is wrong.
    """
    from cfgmigrate.rules import library

    return library.book(optional(rules)).rules

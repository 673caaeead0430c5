"""`cfgmigrate explain`: a rule as a person reads it, or the list of all rules."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from itertools import groupby
from pathlib import Path
from shutil import get_terminal_size
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli import options
from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern

if TYPE_CHECKING:
    from cfgmigrate.reports.sections import Section
    from cfgmigrate.rules.rule import Rule


#: lines that what a rule says may take
MOST_SAID = 4
#: the axis that a name is of, where it has another for the other one
_LETTER = pattern(r"(?<=[._])[xy](?=[._*]|$)")
#: behind what a rule of that name is, where no setting can be that
_NO_MEANING = " (no meaning of a setting)"
_TAKES_MEANINGS = ("meanings", "codes")
_IGNORED = "for what has nothing to do with the drive; @ stands for an axis's letter, and for a row of numbers means x, y, z and the feeder, in this order"


#: what the two files are in which a person says what the configuration's are
_SITE = """\
The site file: what the files here are, and what is in them. It is called
cfgmigrate.yaml and is found by itself, beside the configuration or in the
nearest folder above it, with paths as from there. `survey --write-site` writes
one to begin with; `sheet --ask` adds answers to it. A small one:

  site: 1
  roles: {start.nc: in force, start-old.nc: kept copy, "reels/": profile}
  meanings: {"[drive] turns one way": feeder.gear_ratio}
  codes: {K77.L: retraction.length}

in force: the machine reads it. profile: the settings of one filament or print.
saved values: what the board keeps. kept copy, other machine, no configuration:
never written. Its fields, each explained by its name:
"""
_NAMES = """\
It is given with --names, and has only what a site file has below `meanings`,
without `site:` and `meanings:`; a word of a code is named with its command in
brackets: "[K77] L": retraction.length. What a setting may be: explain meanings.
"""


def _explain_file(which: str) -> None:
    from cfgmigrate.files.site import SITE_FIELDS
    from cfgmigrate.machine.names import HEADER

    text = f"{_SITE}  {', '.join(SITE_FIELDS)}" if which == "site" else f"{HEADER}{_NAMES}"
    click.echo(text.rstrip("\n"))


def _names() -> list[str]:
    from cfgmigrate import api

    return sorted({rule.name for rule in (*api.explain(), *api.tuning_rules())})


@click.command("explain", short_help="Show a rule of the book.")
@click.argument("rule", required=False, metavar="[RULE]", shell_complete=options.completes(_names))
@options.rules
@options.full
def command(rule: str | None, rules: Path | None, full: bool) -> None:
    """Show a rule: its ways, formulas, sources and cautions. Without RULE: list them all.

    A field of the site file, such as feeders, is explained too; so are the site file (site) and a names file (names).

    A quantity may have two: one for the swap (prepare), one for what was measured after it (tune).
    """
    from cfgmigrate import api
    from cfgmigrate.files.site import SITE_FIELDS
    from cfgmigrate.machine.names import is_meaning
    from cfgmigrate.reports.rule_text import rule_text
    from cfgmigrate.reports.sections import SCREENFUL, one_screen
    from cfgmigrate.rules.former_names import present_name

    books = {
        "By the swap sheet (prepare)": {found.name: found for found in api.explain(rules)},
        "By the measured sheet (tune)": {found.name: found for found in api.tuning_rules(rules)},
    }
    if rule is None:
        for number, (title, book) in enumerate(books.items()):
            click.echo(f"{chr(10) if number and full else ''}{title}:")
            if not full:
                click.echo("\n".join(_by_part(_of_both(_marked(book)))))
                continue
            for name in sorted(book):
                click.echo(f"  {name:32} {book[name].label}{'' if is_meaning(name) else _NO_MEANING}")
        if not full:
            click.echo("Each: explain retraction.length. @: x or y. *: no meaning of a setting")
        return
    if rule in ("site", "names"):
        _explain_file(rule)
        return
    if rule in SITE_FIELDS:
        click.echo(f"{rule}, a field of the site file cfgmigrate.yaml: {SITE_FIELDS[rule]}")
        if rule in _TAKES_MEANINGS:
            from cfgmigrate.machine.names import meanings

            click.echo("\n".join(("Meanings:", *_by_part(meanings()), f"  ignore, {_IGNORED}")))
        return
    rule = present_name(rule)
    found = {title: book[rule] for title, book in books.items() if rule in book}
    if not found:
        known = [name for book in books.values() for name in book]
        within = sorted({name for name in known if rule and rule in name})
        near = within or difflib.get_close_matches(rule, dict.fromkeys(known), n=3, cutoff=0.0)
        raise BadInput(
            f"there is no rule {rule!r}", Place("explain"), f"Did you mean {' or '.join(near[:12])}?"
        )
    whole = "\n\n".join(f"{title}\n\n{rule_text(one)}" for title, one in found.items())
    if full or whole.count("\n") < SCREENFUL:
        click.echo(whole)
        return
    told: set[str] = set()
    parts = [part for title, one in found.items() for part in _sections(title, one, told)]
    click.echo("\n".join(line.text for line in one_screen(parts)))


def _marked(book: Iterable[str]) -> list[str]:
    """The names, with a mark behind those that a site file does not take as meanings of a setting; where it takes none of a
    part, behind that."""
    from cfgmigrate.machine.names import is_meaning

    parts = {name.partition(".")[0] for name in book if is_meaning(name)}
    return [
        name
        if is_meaning(name)
        else f"{name}*"
        if name.partition(".")[0] in parts
        else name.replace(".", "*.", 1)
        for name in book
    ]


def _of_both(names: Sequence[str]) -> list[str]:
    """The names, those of the same thing in x and in y once, with @ for the letter."""
    both = {_LETTER.sub("@", name) for name in names if _LETTER.sub("x", name) in names}
    both &= {_LETTER.sub("@", name) for name in names if _LETTER.sub("y", name) in names}
    return list(dict.fromkeys(at if (at := _LETTER.sub("@", name)) in both else name for name in names))


def _by_part(book: Iterable[str]) -> list[str]:
    """The names, those of one part of the machine together: `  feeder: gear_ratio max_speed`. Short ones share a line."""
    from cfgmigrate.reports.screen import wrapped

    width = get_terminal_size().columns
    lines: list[str] = []
    ends: list[int] = []  # the lines in which a part ends
    for part, names in groupby(sorted(book), key=lambda name: name.partition(".")[0]):
        told = f"{part}: {' '.join(name.partition('.')[2] for name in names)}"
        wrapped_so = wrapped(told, width, " ", "   ")
        room = [at for at in ends if len(lines[at]) + len(told) + 3 <= width]
        if len(wrapped_so) == 1 and room:
            lines[room[0]] += f" · {told}"
            continue
        lines += wrapped_so
        ends.append(len(lines) - 1)
    return lines


def _sections(title: str, rule: Rule, told: set[str]) -> list[Section]:
    """A rule on one screen: what it says, its ways without their sources, and what to beware of. Cautions that were
    `told` with another rule are not told again."""
    from cfgmigrate.reports.screen import wrapped
    from cfgmigrate.reports.sections import Section, section

    width = get_terminal_size().columns
    name = f"{title}: {rule.name}, {rule.label}" + (f", in {rule.unit}" if rule.unit else "")
    ways = tuple(
        (
            *wrapped(
                f"{way.name} ({way.status}{', only as a cross-check' if way.check_only else ''})",
                width,
                f"  {number}. ",
            ),
            *wrapped(way.text or way.word, width, "     ", most=2),
        )
        for number, way in enumerate(rule.ways, 1)
    )
    warned = [f"{'question' if each.doubt else 'warning'}: {each.say}" for each in rule.warnings]
    cautions = [caution for caution in rule.cautions if caution not in told]
    told.update(cautions)
    checked = [f"Verify: {rule.verify}", *(f"Caution: {caution}" for caution in cautions)]
    return [
        section("", [name], width, "", whole=True),
        section("", [rule.says], width, "", whole=True, most=MOST_SAID),
        Section("Ways, best first; those behind the first that is known are cross-checks", ways),
        section("What may follow", warned, width, "  ! ", most=2),
        section("Steps", rule.steps, width, "  - ", most=2),
        section("", checked, width, "", whole=True),
    ]

"""A survey, and a comparison, on one screen.

Of a survey: which files are the machine, what has to be asked, the values that the swap touches first (those of the
lights), what was not understood though it looks relevant, and what is next. The rest of the readings is counted;
`--full` and `--json` have all of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from cfgmigrate.files.gaps import told_first
from cfgmigrate.files.roles import Role
from cfgmigrate.files.telling import told, with_decimal_commas
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.knowledge.lights import light_kinds
from cfgmigrate.machine.precedence import TO_KNOW
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.reports import comparison, wording
from cfgmigrate.reports.console import ALARM
from cfgmigrate.reports.feeders_called import named
from cfgmigrate.reports.screen import ChangeRow, ScreenLine, table, wrapped
from cfgmigrate.reports.sections import Section, one_screen, section

_OF_FEEDER = pattern(r"feeder [1-9]\d?")

NAME_WIDTH = 34
"""Names are set under each other up to this width."""


def survey_screen(survey: Mapping[str, Any], width: int, config: str) -> list[ScreenLine]:
    """The lines of that screen. `survey` is what `survey --json` prints, `config` how its files were given."""
    roles = {file["path"]: Role(file["role"]) for file in survey["files"] if "role" in file}
    reasons = {file["path"]: file["why"] for file in survey["files"] if "why" in file}
    taken = [file for file in survey["files"] if roles.get(file["path"], Role.IN_FORCE).taken]
    asked = which_is_swapped(survey) + [
        ": ".join(filter(None, [question["text"], "; ".join(each["label"] for each in question["options"])]))
        for question in survey.get("questions", [])
    ]
    commas = with_decimal_commas([file["path"] for file in taken if file.get("decimals")])
    near = [
        item
        for item in survey.get("unrecognised", [])
        if isinstance(item, str) or any(item.get(each) for each in ("nearest", "near", "may_be"))
    ]
    return one_screen(
        [
            section("", told_first(survey), width, "! ", style=ALARM, whole=True),
            section("", [*told(roles, reasons), *commas, _understood(taken)], width, "", whole=True),
            section("To be asked first", asked, width, "  ? ", style=ALARM, whole=True),
            *_touched(survey["readings"], survey.get("called", {}), width),
            section(
                "Looks relevant, but was not understood",
                [_item(each) for each in near],
                width,
                "  - ",
                most=2,
            ),
            section("Questions", [_item(each) for each in asked_of(survey)], width, "  ? ", most=2),
            section(
                "Next", _following(config, bool(near), bool(survey.get("questions"))), width, "  ", whole=True
            ),
        ]
    )


def asked_of(survey: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """The doubts of a survey about which something has to be done."""
    return [each for each in survey.get("doubts", []) if each.get("remedy") not in TO_KNOW]


def which_is_swapped(survey: Mapping[str, Any]) -> list[str]:
    """What is asked before all else where the files tell of several feeders; [] where they don't."""
    called = survey.get("called", {})
    of_all = {*called, *(str(each["holder"]) for each in survey["readings"])}
    there = sorted({each for each in of_all if _OF_FEEDER.fullmatch(each)}, key=lambda each: int(each[7:]))
    if len(there) < 2:
        return []
    listed = ", ".join(f"{each[7:]} ({called[each]})" if each in called else each[7:] for each in there)
    return [
        f"Here are {len(there)} feeders, {listed}: which is swapped? Say it in the sheet, `feeder: {there[-1][7:]}`."
    ]


def _following(config: str, strange: bool, asked: bool) -> list[str]:
    """The next commands: which files are meant is answered first, then what was not understood near the feed path is said
    in the site file."""
    if asked:
        return [f"cfgmigrate sheet {config} --ask   (asks first which files are meant)"]
    say = [f"cfgmigrate survey {config} --write-site   (then say there what was not understood)"]
    return [*(say if strange else []), f"cfgmigrate sheet {config} -o swap.yaml"]


def _understood(files: Sequence[Mapping[str, Any]]) -> str:
    settings, known = (sum(int(file[name]) for file in files) for name in ("settings", "understood"))
    dialects = ", ".join(dict.fromkeys(str(file["dialect"]) for file in files))
    return f"Understood: {known} of {wording.count(settings, 'setting')} ({dialects})."


def _touched(readings: Sequence[Mapping[str, Any]], called: Mapping[str, str], width: int) -> list[Section]:
    """The values that belong to a light, in a table for each holder, and how many others there are."""
    lit = {value.quantity for kind in light_kinds().kinds for value in kind.values}
    own = [each for each in readings if not (each.get("follows") or each.get("protected"))]
    found = []
    for holder in dict.fromkeys(str(each["holder"]) for each in own):
        rows = [
            ChangeRow(
                "",
                wording.capital(quantity(each["quantity"]).label),
                _value(each),
                (comparison.place_text(each),),
            )
            for each in own
            if each["holder"] == holder and each["quantity"] in lit
        ]
        if rows:
            whose = "" if holder == "machine" else f" of {named(holder, called)}"
            title = wrapped(f"What must not keep its old value{whose}", width, most=1)[0]
            found.append(Section(title, tuple((line,) for line in table(rows, width))))
    others = sum(each["quantity"] not in lit for each in own)
    held = sum(not each.get("editable", True) for each in own)
    told_of = [
        f"{wording.count(others, 'other value')} read" if others else "",
        f"{held} read and not to be written" if held else "",
        f"{sum(bool(each.get('protected')) for each in readings)} protected, never written",
    ]
    return [
        *found,
        section(
            "", [f"Besides: {', '.join(filter(None, told_of))}; --full lists them."], width, "", whole=True
        ),
    ]


def _value(reading: Mapping[str, Any]) -> str:
    return comparison.value_text(reading)


def _item(item: Any) -> str:
    if isinstance(item, str):
        return item
    what = str(item.get("text") or item.get("quantity") or "")
    why = str(item.get("why") or "")
    near = f"near {item['near']}" if item.get("near") else ""
    near = f"may be {item['may_be']}" if item.get("may_be") else near
    nearest = f"nearest: {', '.join(item['nearest'])}" if item.get("nearest") else ""
    return ": ".join(filter(None, [comparison.place_text(item), what, why or near or nearest]))


def comparison_screen(found: Mapping[str, Any], width: int) -> list[ScreenLine]:
    """Two configurations by meaning: what can hurt first, then the other differences, then what only one has."""
    made = [section("", [comparison.sentence(found)], width, "", whole=True)]
    for title, rows in comparison.groups(found):
        names = min(max(len(row.quantity) for row in rows), NAME_WIDTH)
        shown = [
            ChangeRow(
                "!" if row.protected else "",
                f"{row.quantity:{names}}",
                " → ".join(filter(None, comparison.lines_that_differ(row))),
                (", ".join(dict.fromkeys(filter(None, [row.old_place, row.new_place]))),),
            )
            for row in rows
        ]
        items = tuple(tuple(table([row], width)) for row in shown)
        made.append(Section(title, items, ALARM if rows[0].protected else ""))
    return one_screen(made)

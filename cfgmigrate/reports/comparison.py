"""Two configurations compared by meaning, as Markdown and as a page; the terminal is in `survey_text.py`.

All three show the same rows in the same order: protected differences first, because they are the ones that
can hurt, then the other differences, then what only one side has.

This module takes the JSON of `compare` and deliberately compares nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import SequenceMatcher
from typing import Any

from msgspec import Struct

from cfgmigrate.ground import number_text
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.quantities import PROTECTED, known, quantity
from cfgmigrate.reports import wording

PROTECTED_HEADING = "Protected: these can hurt, look at them first"
OTHERS = "Different"
ONLY_OLD = "Only in the old one"
ONLY_NEW = "Only in the new one"


#: so many files are named at most
MOST_APART = 5


class ComparisonRow(Struct, frozen=True):
    """One quantity. A side that does not have it is ""; places are `file:line`, several where it
    was worked out from what stands there; "" where not known."""

    quantity: str
    old: str
    old_place: str
    new: str
    new_place: str
    protected: bool = False


def groups(found: Mapping[str, Any]) -> list[tuple[str, list[ComparisonRow]]]:
    """The rows under their headings; empty groups are left out."""
    rows = [_row(item, item.get("old"), item.get("new")) for item in found["differences"]]
    named = [
        (PROTECTED_HEADING, [row for row in rows if row.protected]),
        (OTHERS, [row for row in rows if not row.protected]),
        (ONLY_OLD, [_row(item, item, None) for item in found["only_old"]]),
        (ONLY_NEW, [_row(item, None, item) for item in found["only_new"]]),
    ]
    return [(title, group) for title, group in named if group]


def sentence(found: Mapping[str, Any]) -> str:
    """The comparison in one sentence."""
    differ, old, new = (len(found[name]) for name in ("differences", "only_old", "only_new"))
    if not differ + old + new:
        same = wording.count(int(found["same"]), "quantity", "quantities")
        beyond = _beyond(found)
        said = "Nothing that is understood differs" if beyond else "Nothing differs"
        return f"{said}; {same} mean the same.{beyond}"
    dangerous = sum(1 for item in found["differences"] if item.get("protected"))
    parts = [wording.count(differ, "difference") + (f" ({dangerous} protected)" if dangerous else "")]
    parts += [f"{old} only in the old one"] if old else []
    parts += [f"{new} only in the new one"] if new else []
    return wording.stop(wording.capital(", ".join([*parts, f"{found['same']} the same"]))) + _beyond(found)


def _beyond(found: Mapping[str, Any]) -> str:
    """How many settings differ beyond what is understood, and which files that are not read."""
    old, new = (int(found.get("beyond", {}).get(side, 0)) for side in ("old", "new"))
    said = ""
    if old + new:
        said = f" Beyond that, {wording.count(old, 'setting')} of the old one and {new} of the new one are not understood and not alike."
    if apart := list(found.get("files_apart", ())):
        more = f" and {len(apart) - MOST_APART} more" if len(apart) > MOST_APART else ""
        said += f" Not read, and not the same on both sides: {', '.join(apart[:MOST_APART])}{more}."
    return said


def render_comparison_markdown(found: Mapping[str, Any]) -> str:
    """The comparison as GitHub-flavoured Markdown. `found` is what `compare --json` prints."""
    from cfgmigrate.reports import gfm

    template = gfm.environment().get_template("comparison.md")
    tables = [
        (title, gfm.table(["what", "old", "where", "new", "where"], [_cells(row) for row in rows]))
        for title, rows in groups(found)
    ]
    return gfm.tidy(template.render(sentence=sentence(found), tables=tables))


def render_comparison_page(found: Mapping[str, Any]) -> str:
    """The comparison as one self-contained page. `found` is what `compare --json` prints."""
    from cfgmigrate.reports import html

    style, script = html.asset("page.css"), html.asset("lists.js")
    template = html.environment().get_template("comparison.html")
    return template.render(
        sentence=sentence(found),
        groups=groups(found),
        css=html.own(style),
        script=html.own(script),
        policy=html.own(html.policy(style, script)),
    )


def _cells(row: ComparisonRow) -> list[str]:
    from cfgmigrate.reports.gfm import code_in_table

    places = [code_in_table(place) if place else "" for place in (row.old_place, row.new_place)]
    return [row.quantity, row.old or "–", places[0], row.new or "–", places[1]]


def _row(item: Mapping[str, Any] | str, old: Any, new: Any) -> ComparisonRow:
    if isinstance(item, str):
        return ComparisonRow(item, "" if old is None else "there", "", "" if new is None else "there", "")
    unit = str(item.get("unit") or "")
    return ComparisonRow(
        _what(item),
        value_text(old, unit),
        place_text(item.get("old_place") or old) or _sources(item.get("old_from")),
        value_text(new, unit),
        place_text(item.get("new_place") or new) or _sources(item.get("new_from")),
        bool(item.get("protected")),
    )


def _what(item: Mapping[str, Any]) -> str:
    """The quantity as people call it, and whose it is where it is not the machine's."""
    holder = str(item.get("holder") or "machine")
    name = str(item.get("quantity") or "")
    what = called(item) if name else str(item.get("text") or "")
    return what if holder == "machine" else f"{what} ({holder})"


def called(item: Mapping[str, Any]) -> str:
    """What people call the quantity of a reading: its label, or the words of the file for a protected setting that is known
    by its words alone."""
    name = str(item["quantity"])
    if name.startswith(PROTECTED) and item.get("label"):
        return str(item["label"])
    return wording.capital(quantity(name).label) if known(name) else name


def lines_that_differ(row: ComparisonRow) -> tuple[str, str]:
    """The two sides of a row; of scripts and other texts of several lines only those lines that are not in both."""
    sides = row.old.splitlines(), row.new.splitlines()
    if max(map(len, sides)) < 2 or not all(sides):
        return row.old, row.new
    found: tuple[list[str], list[str]] = [], []
    for kind, *places in SequenceMatcher(None, *sides, autojunk=False).get_opcodes():
        if kind != "equal":
            for own, lines, first, end in zip(found, sides, places[::2], places[1::2], strict=True):
                own += lines[first:end]
    old, new = ("; ".join(filter(None, map(str.strip, own))) or "nothing" for own in found)
    return old, new


def value_text(side: Any, unit: str = "") -> str:
    """A side's value with its unit: a number, a text, or a mapping with `value`, `unit` and `text`."""
    if isinstance(side, Mapping):
        value = side.get("value")
        written = str(side.get("text") or "")
        return written if value is None else value_text(value, str(side.get("unit") or unit))
    if isinstance(side, bool):
        return "yes" if side else "no"
    if isinstance(side, int | float):
        return number_text.measure(float(side), name=unit)
    return "" if side is None else str(side)


def _sources(places: Any) -> str:
    return f"from {', '.join(map(place_text, places))}" if places else ""


def place_text(side: Any) -> str:
    """`machine.ini:12:14` from a mapping that has `file` and perhaps `line` and `column`."""
    if not isinstance(side, Mapping) or not side.get("file"):
        return ""
    return str(Place(str(side["file"]), int(side.get("line") or 0), int(side.get("column") or 0)))

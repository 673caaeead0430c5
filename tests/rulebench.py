"""A bench for rules: names with values go in, what the book makes of them comes out.

Values are given by the names that formulas use, as a person writes them: sheet fields with their units
(`new.tube.length: 38 mm`), readings of the files (`was.retraction.length: 5.4`, in the quantity's unit, which
may be written), what they become where no profile is on (`shared.axis.x.max_acceleration: 1900`), whether a profile is on (`in a profile: yes`), constants, facts of the tables and other rules' results (`const.push_force: 50 ± 15 N`,
`TMC2209:internal_resistance: 0 ohm`, `path.give_new: 0.35 ± 0.1 mm`). A rule whose result is given is taken out of the book, so that the rule under test can be
looked at by itself; everything else goes through the sheet's own reader and the engine as in `prepare`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from msgspec.structs import replace

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.ground.quantity_text import parse_quantity
from cfgmigrate.machine.model import Form, Machine, Quantity, Reading
from cfgmigrate.machine.quantities import known, quantity
from cfgmigrate.rules import library
from cfgmigrate.rules.book import Book, book_from
from cfgmigrate.rules.engine import Outcome
from cfgmigrate.rules.formula import IN_A_PROFILE
from cfgmigrate.rules.lanes import work_out
from cfgmigrate.rules.result import Result
from cfgmigrate.rules.scope import NamedValue, uncertain
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import sheet_schema

FILE, SHEET = "machine.conf", "swap.yaml"
TRUTH = {"yes": 1.0, "no": 0.0}
LENGTHS = {"new.tube.length": "40 ± 2 mm", "old.tube.length": "400 ± 5 mm", "new.path_length": "80 mm"}


@lru_cache(maxsize=1)
def own_rules() -> Book:
    """The book that comes with the tool, loaded once for all tests."""
    return library.book()


def work_out_given(given: Mapping[str, str], book: Book | None = None) -> Outcome:
    """What the book comes to for these names and values. Raises BadInput as `prepare` would."""
    book = book or own_rules()
    _all_taken(given, book)
    results = {name: text for name, text in given.items() if book.rule(name) is not None}
    rules = tuple(rule for rule in book.rules if rule.name not in results)
    tables = {**library.tables()}
    for name, text in results.items():
        rule = book.rule(name)
        assert rule is not None
        tables[name] = _given(name, text, rule.unit)
    for name, text in given.items():
        if name in tables and name not in results:
            tables[name] = _given(name, text, tables[name].unit)
        if name == IN_A_PROFILE:
            tables[name] = NamedValue(name, name, "", "the files", word=text)
        if name.startswith("shared."):
            tables[name] = _given(name, text, quantity(name.removeprefix("shared.")).unit)
    return work_out(replace(book, rules=rules), machine_of(given), sheet_of(given), tables)


def _all_taken(given: Mapping[str, str], book: Book) -> None:
    """Refuses a name that nothing would look at: the case would say something else than it seems to."""
    for name in given:
        if name.startswith(("was.", "shared.")) and known(name.partition(".")[2]):
            continue
        if name in (*sheet_schema().fields, IN_A_PROFILE) or name in library.tables():
            continue
        rule = book.rule(name)
        assert rule is not None, (
            f"a case can't give {name}: it is no field, reading (was.…, shared.…), constant or rule"
        )
        # a given result is kept under the rule's own name, so what it sets would still be worked out as it was
        assert not rule.sets, f"a case can't give {name}: give what it follows from, or was.{name}"


def sheet_of(given: Mapping[str, str]) -> Sheet:
    """The swap sheet that says the given fields, one a line, read by the sheet's own reader."""
    lines: list[str] = []
    open_sections: list[str] = []
    for path in (path for path in sheet_schema().fields if path in given):
        *sections, name = path.split(".")
        while open_sections != sections[: len(open_sections)]:
            open_sections.pop()
        for section in sections[len(open_sections) :]:
            lines.append(f"{'  ' * len(open_sections)}{section}:")
            open_sections.append(section)
        lines.append(f'{"  " * len(sections)}{name}: "{given[path]}"')
    return parse_sheet("\n".join(lines).encode(), SHEET)


def machine_of(given: Mapping[str, str]) -> Machine:
    """A machine whose files say the given `was.…`, a line each."""
    said = [(name.removeprefix("was."), text) for name, text in given.items() if name.startswith("was.")]
    return Machine((), tuple(reading(name, text, line) for line, (name, text) in enumerate(said, 1)))


def reading(name: str, text: str, line: int = 1) -> Reading:
    """A reading of a quantity; its unit may be left out of `text`."""
    found = quantity(name)
    written = text.removesuffix(found.unit).strip()
    setting = Setting("", name, written, 0, len(written), line, 1)
    return Reading(
        name, _number(written, found), written, Place(FILE, line, 1), 0, len(written), Form(), setting
    )


def _number(written: str, found: Quantity) -> float | None:
    if found.kind in ("text", "script"):
        return None
    return TRUTH[written] if found.kind == "truth" else float(written)


def _given(name: str, text: str, unit: str) -> NamedValue:
    """A constant or another rule's result, in its own unit; where it is no quantity, it is a word."""
    constant = ":" in name or name.startswith("const.")
    origin = "constant: given in the test" if constant else f"rule {name}"
    if not text[:1].isdigit() and text[:1] not in "-−+":
        return NamedValue(name, name, "", origin, word=text, text=text)
    number = parse_quantity(text.removesuffix(unit).strip(), "")
    base = uncertain(number.value, number.uncertainty, unit, name)
    return NamedValue(name, name, unit, origin, base=base, text=text)


# --- small rules of a test's own ----------------------------------------------------------------------------------


def rule(
    ways: str, says: str = "It follows.", unit: str = "mm", sets: str = "", more: str = "", applies: str = ""
) -> str:
    """The text of a small rule."""
    head = f"sets: {sets}\n" if sets else f"label: something\nunit: '{unit}'\n"
    agree = "" if "agree:" in more else "agree: 1000 %\n"
    return f"{head}says: '{says}'\n{applies}\nways:\n{ways}\n{agree}verify: Look.\n{more}\n"


def way(formula: str, needs: str, name: str = "it", more: str = "", status: str = "computed") -> str:
    """The line of one of its ways."""
    return (
        f"  - {{way: {name}, needs: [{needs}], formula: '{formula}', status: {status}, source: here{more}}}\n"
    )


def book_of(**files: str) -> Book:
    sources = {f"{name.replace('__', '.')}.yaml": text.encode() for name, text in files.items()}
    return book_from(sources, library.vocabulary())


def result_of(name: str, given: Mapping[str, str], **files: str) -> Result:
    found = work_out_given(given, book_of(**files)).result(name)
    assert found is not None
    return found


def silent(name: str, outcome: Outcome) -> str:
    return next(silent.why for silent in outcome.silent if silent.rule == name)

"""Every id of a quantity that the code names is a quantity, a rule or a field of a sheet: a new name reaches all of it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import cfgmigrate
from cfgmigrate.machine.quantities import all_quantities, known
from cfgmigrate.rules import library
from cfgmigrate.sheet.schema import measured_schema, sheet_schema

PACKAGE = Path(cfgmigrate.__file__).parent
DOTTED = re.compile(r"[a-z]+(?:\.[a-z_]*[a-z])+")
#: names of modules and templates
OTHER_NAMES = {"machine.survey", "machine.compare", "machine.html"}


def ids() -> Iterator[tuple[str, str]]:
    heads = {each.id.partition(".")[0] for each in all_quantities()}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            text = node.value if isinstance(node, ast.Constant) else None
            if isinstance(text, str) and DOTTED.fullmatch(text) and text.partition(".")[0] in heads:
                yield f"{path.relative_to(PACKAGE)}:{node.lineno}", text


def test_every_id_in_the_code_is_one_of_the_lists() -> None:
    rules = {rule.name for book in (library.book(), library.tuning_book()) for rule in book.rules}
    fields = {*sheet_schema().fields, *measured_schema().fields}
    found = list(ids())
    assert len(found) > 20
    strange = [
        (place, name)
        for place, name in found
        if not known(name) and name not in {*rules, *fields, *OTHER_NAMES}
    ]
    assert strange == []

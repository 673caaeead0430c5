"""What was called otherwise before: ids of quantities and fields of sheets, each as it is called now.

Packets, histories, a person's own rules and what a person types may have the names of an earlier release. Which names
those are stands in the data files themselves (`formerly` in quantities.yaml, schema.yaml and measured.yaml). A rule that
sets a quantity has the quantity's name.

A packet and a history keep their own words: they are documents of their day, bound by their hashes. This module only
tells what those words are called now, wherever they are held against what this release says.
"""

from __future__ import annotations

from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.quantities import present_id
from cfgmigrate.rules.vocabulary import AGES
from cfgmigrate.sheet.schema import measured_schema, sheet_schema

_DOTTED = pattern(r"[a-z][a-z0-9_]*(?:\.[a-z0-9_]+)+")


def present_name(name: str) -> str:
    """What a quantity, a quantity of an age (`was.…`, `will.…`), a rule or a field is called now; a holder behind it
    (`… @ feeder 2`) stays."""
    what, at, holder = name.partition(" @ ")
    age, dot, rest = what.partition(".")
    if age in AGES:
        return age + dot + present_id(rest) + at + holder
    for schema in (sheet_schema(), measured_schema()):
        what = schema.formerly.get(what, what)
    return present_id(what) + at + holder


def with_present_names(text: str) -> str:
    """A formula, a condition or a text of a rule with every name as it is called now."""
    return _DOTTED.sub(lambda found: present_name(found[0]), text)

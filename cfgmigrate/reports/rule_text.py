"""A rule of the book as a person reads it, whole. What of it fits on one screen of a terminal is in `cli/explain.py`."""

from __future__ import annotations

from cfgmigrate.plan.surer import better_fields
from cfgmigrate.rules.rule import Rule


def rule_text(rule: Rule) -> str:
    """Its ways, formulas, sources, warnings, steps and cautions, line by line."""
    kind = f"sets {rule.sets}" if rule.sets else ("done by hand" if rule.by_hand else "a finding")
    lines = [f"{rule.name}: {rule.label}" + (f", in {rule.unit}" if rule.unit else ""), f"  ({kind})", ""]
    lines += [rule.says, ""]
    if rule.otherwise:
        lines += [f"Silent where {rule.otherwise}.", ""]
    lines.append("Ways, best first; the first whose inputs are known wins, the others are cross-checks:")
    for number, way in enumerate(rule.ways, 1):
        lines += [
            f"  {number}. {way.name} ({way.status}{', only as a cross-check' if way.check_only else ''})"
        ]
        lines += [f"     {way.text or way.word}", f"     source: {way.source}"]
    if len(rule.ways) > 1 and (fields := better_fields(rule)):
        lines += ["", f"To be surer: say {', '.join(fields)}; the best way is then open."]
    if rule.agree is not None:
        lines += ["", f"Ways further apart than {100 * rule.agree:g} % are a question."]
    for warning in rule.warnings:
        lines += ["", f"{'A question' if warning.doubt else 'A warning'} may follow: {warning.say}"]
    if rule.steps:
        lines += ["", "Steps:", *(f"  {number}. {step}" for number, step in enumerate(rule.steps, 1))]
    lines += ["", f"Verify: {rule.verify}"]
    lines += [f"Caution: {caution}" for caution in rule.cautions]
    return "\n".join(lines)

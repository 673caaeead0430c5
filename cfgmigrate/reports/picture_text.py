"""What the pictures show, as text: for the terminal, the Markdown, and beside each picture on the page.

There are six: the path to scale, what it gives before and after, push needed beside the push available, what the motor's
current does to its heat and its push, how high Z goes, and the probe from above. Each is there only where the plan holds the numbers for it; nothing is
assumed. Of a curve, its values at half and at one and a half times the chosen current are told.

This module deliberately draws nothing (`pictures.py`) and needs no plotting library.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct

from cfgmigrate.ground import number_text
from cfgmigrate.plan.model import Change, Finding, Plan
from cfgmigrate.reports import item_text
from cfgmigrate.reports.curve import Curve, curve, finding_of
from cfgmigrate.rules.formula import FormulaError

CURRENT = frozenset({"motor.current", "motor.run_current", "will.motor.run_current", "motor.wanted_current"})

WINDING, CASE, PUSH = "motor.winding_temperature", "motor.case_temperature", "feeder.push_force"
DRIVER_LIMIT = "motor.driver_limit"
MOUNT_LIMIT = "motor.mount_limit"

_ELSEWHERE = ((0.5, "half"), (1.5, "one and a half times"))


class Pictured(Struct, frozen=True):
    """One picture in words: `numbers` are (what, value)."""

    name: str
    title: str
    numbers: tuple[tuple[str, str], ...]


def pictured(plan: Plan) -> list[Pictured]:
    """Every picture that the plan has the numbers for, in the page's order."""
    makers: tuple[Callable[[Plan], Pictured | None], ...] = (path, give, push, motor, height, probe)
    return [found for found in (make(plan) for make in makers) if found is not None]


def give_findings(plan: Plan) -> dict[str, list[Finding]] | None:
    """Slack, compression and give of the old and of the new path; None where one of them is not known."""
    parts = {
        age: [finding_of(plan, f"path.{kind}_{age}") for kind in ("slack", "elastic", "give")]
        for age in ("old", "new")
    }
    known = {age: [one for one in found if one and one.value is not None] for age, found in parts.items()}
    return known if all(len(found) == 3 for found in known.values()) else None


def give(plan: Plan) -> Pictured | None:
    """What retraction has to take up, before and after."""
    parts = give_findings(plan)
    if parts is None:
        return None
    found = [*parts["old"], *parts["new"]]
    numbers = tuple((item_text.title(one), item_text.finding_value(one)) for one in found)
    return Pictured("give", "Play and stretch of the tube, before and after", numbers)


def path_lengths(plan: Plan) -> tuple[Finding, Finding] | None:
    """The length of the old and of the new path."""
    return _both(plan, "path.length_old", "path.length_new")


def path(plan: Plan) -> Pictured | None:
    """The way of the filament from the drive gear to the nozzle."""
    return _pair("path", "The filament's path, old and new", path_lengths(plan))


def push_forces(plan: Plan) -> tuple[Finding, Finding] | None:
    """The push that the path asks for, and the push of the new drive."""
    return _both(plan, "path.force", PUSH)


def push(plan: Plan) -> Pictured | None:
    """Push needed beside the push available."""
    return _pair("push", "Push needed, and push available", push_forces(plan))


def _both(plan: Plan, one: str, other: str) -> tuple[Finding, Finding] | None:
    first, second = finding_of(plan, one), finding_of(plan, other)
    if first is None or second is None or not first.value or not second.value:
        return None
    return first, second


def _pair(name: str, title: str, found: tuple[Finding, Finding] | None) -> Pictured | None:
    if found is None:
        return None
    return Pictured(name, title, tuple((item_text.title(one), item_text.finding_value(one)) for one in found))


def probe_spots(plan: Plan) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Where the probe was and will be from the nozzle, x and y in mm, where both move."""
    found = {one.quantity: one for one in plan.changes}
    before, after = [], []
    for name in ("probe.offset_x", "probe.offset_y"):
        change = found.get(name)
        if change is None or change.old is None or change.old.value is None or change.new.value is None:
            return None
        before.append(change.old.value)
        after.append(change.new.value)
    return (before[0], before[1]), (after[0], after[1])


def probe(plan: Plan) -> Pictured | None:
    """The probe from above, before and after."""
    spots = probe_spots(plan)
    if spots is None:
        return None
    told = [", ".join(number_text.measure(each, name="mm") for each in spot) for spot in spots]
    numbers = (("Probe before, x and y from the nozzle", told[0]), ("Probe after", told[1]))
    return Pictured("probe", "Nozzle and probe from above", numbers)


def motor_curves(plan: Plan, current: float) -> dict[str, Curve]:
    """Winding and case temperature and push force over the current, as far as the plan has them."""
    found = {rule: curve(plan, rule, CURRENT, current, "A") for rule in (WINDING, CASE, PUSH)}
    return {rule: one for rule, one in found.items() if one is not None}


def motor(plan: Plan) -> Pictured | None:
    """Heat and push at the chosen current and beside it, with what limits them."""
    current = current_of(plan)
    curves = motor_curves(plan, current) if current is not None else {}
    if current is None or not curves:
        return None
    numbers = [("Chosen current", number_text.measure(current, name="A"))]
    shown = [*(one.finding for one in curves.values()), *_limits(plan)]
    numbers += [(item_text.title(one), item_text.finding_value(one)) for one in shown]
    for share, name in _ELSEWHERE:
        there = number_text.measure(share * current, name="A")
        told = "; ".join(_told(one, share * current) for one in curves.values())
        numbers.append((f"At {name} that current, {there}", told))
    return Pictured("motor", "Heat and push over the motor's current", tuple(numbers))


def _limits(plan: Plan) -> list[Finding]:
    return [one for rule in (MOUNT_LIMIT, DRIVER_LIMIT) if (one := finding_of(plan, rule)) is not None]


def _told(of: Curve, current: float) -> str:
    """A curve's value at a current. Where a winding would get hotter without end there is none: the formula
    fails there, or comes to something below the surroundings."""
    name, unit = of.finding.rule.rpartition(".")[2].replace("_", " "), of.finding.unit
    try:
        value, none = of.at(current), of.at(0.0)
    except FormulaError:
        return f"{name} without end"
    if value < none:
        return f"{name} without end"
    return f"{name} {number_text.with_unit(number_text.number(value, of.finding.uncertainty), unit)}"


def height(plan: Plan) -> Pictured | None:
    """How high Z goes, and up to where it was found clear."""
    levels = height_levels(plan)
    if levels is None:
        return None
    old, new, clear = levels
    numbers = [
        ("Before", number_text.measure(old, name="mm")),
        ("After", number_text.measure(new, name="mm")),
    ]
    if clear is not None:
        numbers.append(("Found clear up to", number_text.measure(clear, name="mm")))
    return Pictured("height", "How high Z goes, before and after", tuple(numbers))


def height_levels(plan: Plan) -> tuple[float, float, float | None] | None:
    """The old and the new limit of Z and the height that was found clear, in mm."""
    change = next((one for one in plan.changes if one.quantity == "axis.z.max"), None)
    if change is None or change.old is None or change.old.value is None or change.new.value is None:
        return None
    return change.old.value, change.new.value, _input(change, "clearance.highest_z")


def current_of(plan: Plan) -> float | None:
    """The run current that the plan settles on: the new one, or the one that stays."""
    flowing = finding_of(plan, "motor.current")
    if flowing is not None and flowing.value:
        return flowing.value
    for change in plan.changes:
        if change.quantity == "motor.run_current" and change.new.value:
            return change.new.value
    for finding in plan.findings:
        for given in finding.derivation.inputs:
            if given.name in CURRENT and given.value:
                return given.value
    return None


def _input(change: Change, name: str) -> float | None:
    return next((given.value for given in change.derivation.inputs if given.name == name), None)

"""The machine's record on one screen: its steps, the values as they were left, and how to get the whole of it."""

from __future__ import annotations

from cfgmigrate.reports.console import ALARM
from cfgmigrate.reports.record import RecordedStep, in_force, steps_of, told_beside
from cfgmigrate.reports.screen import ScreenLine
from cfgmigrate.reports.sections import one_screen, section
from cfgmigrate.reports.wording import count
from cfgmigrate.store.history import History


def record_screen(history: History, config: str, width: int) -> list[ScreenLine]:
    """The lines; `config` is how the configuration's folder is named in a command."""
    steps = steps_of(history)
    told = [
        f"{step.number}. {step.title}, {step.time[:10]}, {count(len(step.values), 'value')}{_where(step)}. {step.people}"
        for step in steps
    ]
    values = [
        f"{name}: {value}{', ' if how_sure else ''}{how_sure} (step {number})"
        for name, value, how_sure, number in in_force(steps)
    ]
    whole = f"The whole record, with each reason: cfgmigrate report {config} -o record, or --full."
    return one_screen(
        [
            section(
                "",
                [f"The chain is broken: {each}" for each in history.problems],
                width,
                "! ",
                style=ALARM,
                whole=True,
            ),
            section("", told_beside(history), width, "! ", whole=True),
            section(
                "Steps, oldest first" if steps else "Nothing was installed here yet.",
                told,
                width,
                "  ",
                most=2,
            ),
            section("Values as they were left", values, width, "  ", most=1),
            section("", [whole], width, "", whole=True),
        ]
    )


def _where(step: RecordedStep) -> str:
    """The files of a step, where the history tells of several machines."""
    return f" in {', '.join(step.files)}" if step.files else ""

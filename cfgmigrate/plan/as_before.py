"""Whether what the sheet says to be as before is: a figure or a word of the new part that is not the old one's denies it.

One rule compares new and old fields (`is_the_old_s`), and knows three answers: where the old part's is not said, nobody can tell.
What follows from that is said beside each use, for it is not the same: a light takes nothing as before that may be another, and
asks; a question to the person is put only where two lines of the sheet can't both be so.

What is taken to be as before where nobody said anything is none of this module's business.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cfgmigrate.ground.findings import Doubt
from cfgmigrate.sheet.model import Entries
from cfgmigrate.sheet.schema import sheet_schema

#: what says that something is as before, with what is not so where the new part's is another than the old one's
_AGAINST = {
    "new.path_as_before": ("new.tube.length", "new.path_length", "new.drive"),
    "new.motor_as_before": ("new.motor.rated_current", "new.motor.step_angle"),
    "new.gears_as_before": (
        "new.drive_gear.effective_diameter",
        "new.drive_gear.gear_ratio",
        "new.feed_per_turn",
        "new.steps_per_mm",
    ),
}


def is_the_old_s(name: str, said: Entries) -> bool | None:
    """Whether a figure or word that the sheet has of a new part is the old part's too; None where the old one's is not said."""
    old = said.get(_old(name))
    return None if old is None else (old.value, old.word) == (said[name].value, said[name].word)


def denied(path: str, said: Entries) -> str:
    """The field whose figure denies that what `path` says yes to is as before, "" where none does. A shift or a loss does
    unless it is 0, a figure of a new part unless the old part is known to have it too."""
    if path not in said or said[path].word != "yes":
        return ""
    figures = (name for name in sheet_schema().not_beside.get(path, ()) if name in said and said[name].value)
    return next((name for name in figures if not is_the_old_s(name, said)), "")


def told_otherwise(figures: Iterable[str], said: Entries) -> bool:
    """Whether the sheet has a figure or a word of the new part that it does not have of the old one likewise."""
    return any(not is_the_old_s(name, said) for name in figures if name in said)


def as_before_and_not(said: Entries) -> Iterator[Doubt]:
    """The answers that something is as before, beside figures or words by which it is not; each asked about once."""
    for path in dict.fromkeys((*sheet_schema().not_beside, *_AGAINST)):
        entry = said.get(path)
        if entry is None or entry.word != "yes":
            continue
        against = (name for name in _AGAINST.get(path, ()) if name in said)
        if other := next((name for name in against if is_the_old_s(name, said) is False), ""):
            what = f"by others {other.removeprefix('new.')} is {said[other].text} in place of {said[_old(other)].text}"
        elif figure := denied(path, said):
            what = f"by another {figure} is {said[figure].text}"
        else:
            continue
        yield Doubt(
            entry.place,
            f"{path}: {entry.text}",
            f"it is as before by this line, and {what}",
            "take out the one that is not so",
        )


def _old(name: str) -> str:
    """The field of the old part that a new one's stands for; "" where the field is of no new part."""
    return name.replace("new.", "old.", 1) if name.startswith("new.") else ""

"""The part of the interview that a machine with several feeders needs: which of them are swapped, and which alike.

Both are asked once, before any field, and kept in the sheet at once: the numbers as its `feeders:`, and what is alike
as `same_as:`, below which a person may say what is otherwise. A sheet that tells of its feeders already is not asked.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from cfgmigrate.cli.answer_words import STOP_WORDS
from cfgmigrate.cli.files_interview import Stopped

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.sheet.keeping import KeptAnswers
    from cfgmigrate.sheet.several import Known

_YES, _NO = {"yes", "y", "1"}, {"no", "n", "2"}


def ask_about_feeders(
    configuration: Configuration,
    machine: Machine,
    kept: KeptAnswers,
    read: Callable[[str], str | None],
    say: Callable[[str], None],
) -> KeptAnswers:
    """Ask which feeders are swapped, and which as which. Raises Stopped where the person stops."""
    from cfgmigrate.sheet.keeping import tells_of_one, with_feeders
    from cfgmigrate.workflow.lane import known_feeders

    if len(machine.feeders) < 2 or kept.feeders or tells_of_one(kept):
        return kept
    known = known_feeders(configuration.site, machine)
    swapped = _swapped(machine.feeders, known, read, say)
    first, *others = swapped
    same: dict[int, int | None] = {first: None}
    for number in others:
        say("")
        say(
            f"Feeder {known.said(number)}: is what comes off and what goes on the same as with feeder {known.said(first)}?"
        )
        say("  What differs, such as the length of its old tube, comes afterwards.")
        same[number] = first if _yes(read, say) else None
    return with_feeders(kept, same)


def _swapped(
    there: tuple[int, ...],
    known: Known,
    read: Callable[[str], str | None],
    say: Callable[[str], None],
) -> tuple[int, ...]:
    say("")
    say(f"The machine has {len(there)} feeders. Which of them are swapped?")
    say("  " + ", ".join(map(known.said, there)))
    say(f"  such as {there[0]}, or {there[0]} {there[1]} for both")
    while True:
        words = _said(read, "feeders> ").replace(",", " ").replace(" and ", " ").split()
        if words in (["all"], ["both"]):
            return there
        numbers = {known.number(word) for word in words}
        if words and None not in numbers:
            return tuple(sorted(number for number in numbers if number))
        say(f"  Give numbers or names out of these: {', '.join(map(known.said, there))}; or stop.")


def _yes(read: Callable[[str], str | None], say: Callable[[str], None]) -> bool:
    while True:
        said = _said(read, "the same> ")
        if said in _YES | _NO:
            return said in _YES
        say("  yes or no; or stop.")


def _said(read: Callable[[str], str | None], prompt: str) -> str:
    line = read(prompt)
    said = " ".join((line or "").split()).casefold()
    if line is None or said in STOP_WORDS:
        raise Stopped
    return said

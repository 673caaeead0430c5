"""What is open on each machine of a fleet: its lights that are unknown, and its questions.

The summary is sorted by what is open, since one answer often serves many machines. Whoever stands before one of them
wants the other way round: what is still to be settled here. Nothing is worked out; a machine on which nothing is open is
left out, and one without a packet is told elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from cfgmigrate.fleet.groups import Record
from cfgmigrate.plan.lights import UNKNOWN

#: so many lines of a machine's files are named in a line, and so many of its questions in words
MOST_OPEN_PLACES, MOST_QUESTIONS = 6, 12


class OpenHere(Struct, frozen=True):
    """One machine: the names of its unknown lights, and its questions, each with its place and why it is asked."""

    machine: str
    lights: tuple[str, ...]
    questions: tuple[tuple[str, str], ...]

    @property
    def places(self) -> tuple[str, ...]:
        """Where its questions stand, each once."""
        return tuple(dict.fromkeys(place for place, _ in self.questions))


def still_open(records: Sequence[Record]) -> Iterator[OpenHere]:
    """The machines with a packet on which something is open, in the order of the fleet."""
    for record in records:
        lights = tuple(light for light, state in record.lights if state == UNKNOWN)
        questions = tuple((f"{doubt.place.file}:{doubt.place.line}", doubt.why) for doubt in record.doubts)
        if record.done and (lights or questions):
            yield OpenHere(record.name, lights, questions)

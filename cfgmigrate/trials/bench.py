"""What a machine allows a test script to do: limits, temperatures and feeder, from its files and the swap sheet.

What a script needs and nothing says is a refusal, never a guess. Temperatures of printing are no limits, and
few configurations hold them: they come from what the person asks for, else from the machine's own scripts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from msgspec import Struct

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.moves import read_moves
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.knowledge.tables import constants, plastics
from cfgmigrate.machine.model import FlatMachine
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.vocabulary import vocabulary
from cfgmigrate.machine.words import split
from cfgmigrate.scripts.feed_letter import USUAL
from cfgmigrate.sheet.model import MATERIAL, Sheet, SheetEntry

#: mm that a script keeps away from the limits of x and y, and from the edge of the bed map
MARGIN = 10.0
#: K that a script keeps below a heater's own limit
HEAT_MARGIN = 10.0
#: below this a temperature in a script only warms the nozzle up (common practice, no source)
LOWEST_PRINTING = 180.0
#: a line end written out, in scripts that stand in one line of a file
_END_WRITTEN_OUT = pattern(r"(\\r)?\\n")
#: s: no lag is longer, nor one wall from the next (common practice, no source); a number beyond it was meant in ms
LONGEST_LAG = {"start": 2.0, "step": 0.2}
#: letters of a line of the machine's own that are shown
LONGEST_SHOWN = 80
#: words of a setting that says how fast something is laid, and those of what is no ordinary part of a print
_SPEED, _LAID = {"speed", "speeds", "velocity"}, {"wall", "walls", "shell", "outside", "inside", "fill", "infill", "filling", "hatching", "solid"}  # fmt: skip
_NOT_LAID = {"first", "travel", "jump", "jumps", "retraction", "fan", "percent"}
_LETTERS = pattern(r"[a-z]+")
_SPEED_TEXT = pattern(r"(\d+(?:\.\d+)?)\s*(mm/s|mm/min)?")
#: mm/s; what is slower or faster is no speed of printing, or is in another unit
PRINT_SPEEDS = (5.0, 600.0)
_PLAIN_NUMBER = pattern(r"\d{1,6}(?:\.\d{1,6})?")
#: numbers of which each is of another feeder
_SEVERAL = pattern(r"[{\[(]?\s*\d{1,6}(?:\.\d{1,6})?(?:\s*,\s*\d{1,6}(?:\.\d{1,6})?){1,8}\s*[}\])]?")
#: where the swap sheet may say what the files don't
_IN_SHEET = {"filament.diameter": "filament.diameter", "nozzle.diameter": "nozzle.diameter"}


class Lacking(Refused):
    """Something that a script needs is not known: a quantity's id, `nozzle` or `bed` for its temperature."""

    def __init__(self, wanted: str, what: str, remedy: str, label: str, where: str = "") -> None:
        super().__init__(what, Place("trial"), f"Nothing was written. {remedy}")
        self.wanted, self.where = wanted, where
        self.how, self.label = remedy, label


class Wishes(Struct, frozen=True):
    """What a person may ask for; None or 0 where the trial's own figure is to be used. Temperatures in
    degC, lengths in mm; `start` and `step` in mm or s, as the trial has it; `count` is of repeats, storeys or
    walls. `setting_line` is the line by which this machine sets the lag, with {value} in it.
    `begin` are the machine's own lines after homing, `pause` the word at which it waits for a person, `display` the
    line by which it shows a {text}, and `feeder_line` the one by which it takes a feeder. `usual_words` says that it knows
    the words of a script though no file of it has them."""

    nozzle: float | None = None
    bed: float | None = None
    start: float | None = None
    step: float | None = None
    count: int = 0
    height: float = 0.0
    setting_line: str = ""
    begin: tuple[str, ...] = ()
    pause: str = "M0"
    display: str = ""
    feeder_line: str = ""
    usual_words: bool = False


def check_wishes(name: str, wishes: Wishes) -> None:
    """Raises BadInput where a person asks the trial of that name for what is no number, for a step or a height that leads nowhere, or for a pause
    without a word."""
    for field, most in (
        ("nozzle", 600.0),
        ("bed", 200.0),
        ("start", 2000.0),
        ("step", 200.0),
        ("height", 2000.0),
    ):
        value: float | None = getattr(wishes, field)
        least = -200.0 if (name, field) == ("clearance", "start") else 0.0
        seconds = name == "lag" and field in LONGEST_LAG
        most = LONGEST_LAG[field] if seconds else most
        if value is not None and not least <= value <= most:
            raise BadInput(
                f"{value:g} is no {field} for a test",
                Place(field),
                f"Give a number from {least:g} to {most:g}" + (" s: 40 ms are 0.04 s." if seconds else "."),
            )
    if name == "clearance" and wishes.count:
        raise BadInput(
            "how many stops there are follows from start and step", Place("count"), "Leave it out."
        )
    if wishes.step == 0:
        raise BadInput("a step of 0 leads nowhere", Place("step"), "Give a greater one, or leave it out.")
    if not wishes.pause.strip():
        raise BadInput(
            "the word of the pause is empty",
            Place("pause"),
            "Give the word at which the machine waits for a person.",
        )


class Bench(Struct, frozen=True):
    """One machine for which scripts are written."""

    machine: FlatMachine
    sheet: Sheet | None
    wishes: Wishes
    name: str = ""
    #: the letter that moves the filament
    letter: str = USUAL
    #: what stands in for quantities that are not known, to find what else a script lacks; none such is ever written
    stand_ins: Mapping[str, float] = {}

    def get(self, wanted: str) -> float | None:
        """A quantity in its own unit, from the files or the sheet; None where neither says it."""
        if wanted in self.stand_ins:
            return self.stand_ins[wanted]
        reading = self.machine.get(wanted)
        if reading is not None:
            return _strictest(wanted, reading.text) if reading.value is None else reading.value
        entry = self.sheet.get(_IN_SHEET[wanted]) if self.sheet and wanted in _IN_SHEET else None
        return entry.value if entry else None

    def need(self, wanted: str) -> float:
        """The same. Raises Refused where it is not known."""
        found = self.get(wanted)
        if found is None:
            known = quantity(wanted)
            where = "the files or the swap sheet" if wanted in _IN_SHEET else "the files"
            what = f"{known.label} ({wanted}) is not known, and the script needs it"
            raise Lacking(wanted, what, f"State it in {where}: {known.meaning}.", known.label, where)
        return found

    def lowest_z(self) -> float:
        """mm: the lowest z in force. Where no file says it and z counts upwards, 0, at which the nozzle meets the bed."""
        low = self.get("axis.z.min")
        return 0.0 if low is None and self.need("axis.z.max") > 0 else self.need("axis.z.min")

    def at_most(self, wanted: float, *limits: str) -> float:
        """`wanted`, or the lowest of these limits that is known and lower."""
        return min([wanted, *(value for value in map(self.get, limits) if value is not None and value > 0)])

    def print_speed(self) -> float | None:
        """mm/s of the fastest part of a print by the profiles in the files; None where none is understood."""
        found = []
        for setting in (each for document in self.machine.documents for each in document.settings):
            words = set(_LETTERS.findall(f"{setting.section} {setting.key}".casefold()))
            said = _SPEED_TEXT.fullmatch(setting.value.strip())
            if (
                setting.state is State.ACTIVE
                and words & _SPEED
                and words & _LAID
                and not words & _NOT_LAID
                and said
            ):
                in_minutes = said[2] == "mm/min" or (not said[2] and "min" in words)
                found.append(float(said[1]) / (60 if in_minutes else 1))
        return max((speed for speed in found if PRINT_SPEEDS[0] <= speed <= PRINT_SPEEDS[1]), default=None)

    @property
    def soft(self) -> bool:
        """Whether the filament is a flexible one, by what the sheet or its profile says."""
        said = self.sheet.get(MATERIAL) if self.sheet else None
        return said is not None and is_soft(said)

    def area(self) -> tuple[float, float, float, float]:
        """x and y from where to where a script may print: the bed map where there is one, else within the limits."""
        found = []
        for axis in "xy":
            low, high = self.need(f"axis.{axis}.min") + MARGIN, self.need(f"axis.{axis}.max") - MARGIN
            mesh = self.get(f"mesh.from_{axis}"), self.get(f"mesh.to_{axis}")
            if mesh[0] is not None and mesh[1] is not None:
                low, high = max(low, mesh[0]), min(high, mesh[1])
            found += [low, high]
        return found[0], found[1], found[2], found[3]

    def middle(self, width: float, depth: float) -> tuple[float, float]:
        """The lower left corner of a field of that size in the middle. Raises Refused where it does not fit."""
        x0, x1, y0, y1 = self.area()
        if width > x1 - x0 or depth > y1 - y0:
            raise Refused(
                f"the script takes {width:g} mm by {depth:g} mm, and there are {x1 - x0:g} mm by {y1 - y0:g} mm",
                Place("trial"),
                "Nothing was written. Ask for fewer walls or storeys.",
            )
        return (x0 + x1 - width) / 2, (y0 + y1 - depth) / 2

    def nozzle_temperature(self) -> float:
        """In degC, within what the hot end may have and the feeder needs."""
        wanted, own = self.wishes.nozzle, self.wishes.nozzle is None
        if wanted is None:
            wanted = self._printed_at()
        if wanted is None:
            raise _no_temperature("nozzle", "--nozzle")
        least = self.get("feeder.min_feed_temperature")
        if least is not None and wanted < least:
            raise Refused(
                f"the machine feeds from {least:g} °C on, and the nozzle would have {wanted:g} °C",
                Place("trial"),
            )
        return self._within(wanted, "heater.hotend.max_temperature", "nozzle", own)

    def bed_temperature(self) -> float:
        """In degC; 0 leaves the bed cold."""
        wanted, own = self.wishes.bed, self.wishes.bed is None
        if wanted is None:
            wanted = max((value for value in self._heats("M140", "M190") if value), default=None)
        if wanted is None:
            raise _no_temperature("bed", "--bed")
        return self._within(wanted, "heater.bed.max_temperature", "bed", own) if wanted else 0.0

    def _within(self, wanted: float, limit: str, what: str, own: bool) -> float:
        """A temperature within its limit. At what the machine's `own` scripts ask for it prints every day."""
        margin = 0.0 if own else HEAT_MARGIN
        most = self.need(limit) - margin
        if not 0 <= wanted <= most:
            raise Refused(
                f"the {what} would have {wanted:g} °C, and the files allow {most + margin:g} °C",
                Place("trial"),
                f"Nothing was written. A script stays {HEAT_MARGIN:g} K below that limit where it is asked for a temperature.",
            )
        return wanted

    def mesh_lines(self) -> Iterator[str]:
        """The lines of the machine's start script that speak of a bed map, which a trial may need too."""
        for reading in self.machine.readings:
            if reading.quantity == "script.start":
                lines = _END_WRITTEN_OUT.sub("\n", reading.text).splitlines()
                yield from (
                    line.strip()[:LONGEST_SHOWN]
                    for line in lines
                    if "mesh" in vocabulary().names_in(frozenset(split(line)))
                )

    def _printed_at(self) -> float | None:
        """The one temperature at which the machine's scripts print; None where they leave it open, or say several: which of
        them is another tool's, or a cold pull's, nobody can tell."""
        heats = list(self._heats("M104", "M109"))
        told = {value for value in heats if value is not None and value >= LOWEST_PRINTING}
        return told.pop() if len(told) == 1 and None not in heats else None

    def _heats(self, *codes: str) -> Iterator[float | None]:
        """The temperatures that the start script asks for, None for one that is put in later; those of the other scripts
        where it asks for none."""
        found: dict[bool, list[float | None]] = {True: [], False: []}
        for reading in self.machine.readings:
            if reading.quantity.startswith("script."):
                for line in read_moves(_END_WRITTEN_OUT.sub("\n", reading.text)):
                    if line.code in codes:
                        word = line.get("S")
                        known = word is not None and word.value is not None and math.isfinite(word.value)
                        value = word.value if word is not None and known else None
                        if value != 0:
                            found[reading.quantity == "script.start"].append(value)
        yield from found[True] or found[False]


def _strictest(wanted: str, text: str) -> float | None:
    """Of a limit that stands there once for each of several feeders, the one that holds for all; None for any other text."""
    if not _SEVERAL.fullmatch(text.strip()):
        return None
    numbers = [float(each) for each in _PLAIN_NUMBER.findall(text)]
    return max(numbers) if ".min_" in wanted else min(numbers)


def is_soft(material: SheetEntry) -> bool:
    """Whether a material is a flexible one."""
    modulus = plastics()[material.word].get("modulus") if material.word in plastics() else None
    most = constants()["flexible_modulus"].value
    return bool(modulus and modulus.value and most and modulus.value < most)


def bench_of(
    machine: FlatMachine, sheet: Sheet | None, wishes: Wishes, name: str = "", letter: str = USUAL
) -> Bench:
    return Bench(machine, sheet, wishes, sheet.machine if sheet and sheet.machine else name, letter)


def _no_temperature(what: str, option: str) -> Lacking:
    return Lacking(
        what,
        f"no script of the machine says by M104, M109, M140 or M190 how hot the {what} is to be",
        f"Say it with {option}, by what the maker of the filament prints on the spool.",
        f"how hot the {what} is to be (by no M104, M109, M140 or M190)",
    )

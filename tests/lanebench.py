"""A bench for lanes: a machine of given readings, a sheet and small rules go in, what each lane comes to comes out."""

from __future__ import annotations

from msgspec.structs import replace
from rulebench import FILE, SHEET, reading

from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import MACHINE, Holder, Machine, Profile, Reading
from cfgmigrate.rules import library
from cfgmigrate.rules.age import Past
from cfgmigrate.rules.book import book_from
from cfgmigrate.rules.lanes import Worked, work_out_lanes
from cfgmigrate.rules.passes import Lane
from cfgmigrate.sheet.reader import parse_sheet

PETG, PLA = Holder("filament", "petg black"), Holder("filament", "pla grey")


def made(sets: str, formula: str, *needs: str, more: str = "") -> tuple[str, bytes]:
    way = f"ways:\n  - {{way: it, needs: [{', '.join(needs)}], formula: '{formula}', status: computed, source: here}}"
    text = f"sets: {sets}\nsays: It follows.\n{way}\n{more}agree: 10 %\nverify: Look.\n"
    return f"{sets}.yaml", text.encode()


#: as long a retraction as the tube is long: it moves again each time
SCALED = made("retraction.length", "was.retraction.length * new.tube.length / old.tube.length",
              "was.retraction.length", "new.tube.length", "old.tube.length")  # fmt: skip
TURN = made("feeder.feed_per_turn", "new.feed_per_turn", "new.feed_per_turn")
TUBES = "old: {tube: {length: 400 mm}}\nnew: {tube: {length: 40 mm}, feed_per_turn: 4.15 mm}\n"


def machine(*readings: Reading, materials: dict[Holder, str] | None = None, feeders: int = 1) -> Machine:
    numbers = tuple(range(1, feeders + 1))
    profiles = tuple(
        Profile(holder, numbers, Place(FILE, 20 + at), of)
        for at, (holder, of) in enumerate((materials or {}).items())
    )
    return Machine((), readings, feeders=numbers, found_profiles=profiles)


def held(name: str, text: str, holder: Holder = MACHINE, line: int = 1, feeders: int = 1) -> Reading:
    serves = (int(holder.name),) if holder.kind == "feeder" else tuple(range(1, feeders + 1))
    return replace(reading(name, text, line), holder=holder, serves=serves, start=100 * line)


def worked(of: Machine, sheet: str, *rules: tuple[str, bytes], past: Past | None = None) -> Worked:
    book = book_from(dict(rules or (SCALED, TURN)), library.vocabulary())
    return work_out_lanes(book, of, parse_sheet(sheet.encode(), SHEET), library.tables(), past or Past())


def becomes(found: Worked, name: str = "retraction.length", lane: Lane | None = None) -> float | None:
    result = found.lanes[lane or Lane(1)].result(name)
    return None if result is None or result.value is None else round(result.value, 6)


#: what is asked, wherever it stands, of values that are moved from what the files hold
ONCE = "carried out once only"


def once(found: Worked) -> list[Place]:
    return [doubt.place for doubt in found.doubts if doubt.text == ONCE]

"""Which question comes next at the bench, by what has been answered so far and by nothing else.

Because the next question follows from the sheet alone (with what nobody could say and what was put off), an interview
may stop anywhere and goes on as if it hadn't. First comes a handful of what is gone once the old drive is off; then
what settles the lights, first from papers and then what can be measured only once the new drive is mounted; that is
enough for a first packet. After it comes what gives further values or makes them surer, as long as one likes, in the
same sittings, and in each the worthiest first. What is told in one breath, such as a shift along three axes, is one
question.

It talks to nobody; that is `cli/interview.py`.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.plan.asking_order import ordered_questions, what_is_lost
from cfgmigrate.plan.open_fields import askable_fields, said_in
from cfgmigrate.plan.unlocking import Standpoint, Unlock, Workings
from cfgmigrate.rules.result import Result
from cfgmigrate.sheet.model import Sheet
from cfgmigrate.sheet.schema import ANY_TIME, BEFORE_SITTING, MOUNTED, Field, sheet_schema

#: so many questions about what comes off are asked before all others
MOST_BEFORE = 3
#: of a feeder that is the same as another one this is asked all the same: each sits at another place
OF_EACH = ("old.tube.length", "old.tube.bend")
#: the stages of an interview
OLD_DRIVE, FIRST_PACKET, SURER = "what is gone once the old drive is off", "for a first packet", "to be surer"
#: the sittings in the order of the day: papers may be read while one waits
_SITTINGS = (BEFORE_SITTING, ANY_TIME, MOUNTED)


class SheetQuestion(Struct, frozen=True):
    """What to ask next. `brings` is why; `left` how many questions are about left in this stage, this one included;
    `feeder` of which one is asked, 0 where there is one only or the machine has it once; `taken` what is taken over from
    another feeder as long as nothing else is said; `together` are all fields that are asked in one breath, `field` among
    them, () where it is this one alone."""

    field: Field
    stage: str
    sitting: str
    brings: Unlock
    left: int
    feeder: int = 0
    taken: str = ""
    together: tuple[Field, ...] = ()
    #: lines of the files that may answer it
    noted: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        """What the answer is kept under: the field, with the feeder where several are asked about."""
        return self.kept_as(self.field)

    @property
    def fields(self) -> tuple[Field, ...]:
        """All that is asked, in order."""
        return self.together or (self.field,)

    @property
    def called(self) -> str:
        """What the question is called where it is asked."""
        name = sheet_schema().breath(self.field.path)[0] if self.together else self.field.path
        return f"{self.feeder}:{name}" if self.feeder else name

    def kept_as(self, field: Field) -> str:
        return f"{self.feeder}:{field.path}" if self.feeder else field.path


def next_question(
    bench: Workings, sheet: Sheet, declined: Collection[str] = (), later: Collection[str] = ()
) -> SheetQuestion | None:
    """The next question; None where no answer would change anything. What was put off comes last in its stage."""
    there = askable_fields(sheet, bench.machine, declined)
    if (half := _half_said(bench, sheet, {*there} - {*later})) is not None:
        return _question(Unlock(half), FIRST_PACKET, 1, there)
    asked = {*said_in(sheet), *declined, *later}
    before = [name for name in asked if sheet_schema().sitting(name) == BEFORE_SITTING]
    if len(before) < MOST_BEFORE:
        open_now = [
            name
            for name in there
            if name not in later
            and sheet_schema().sitting(name) == BEFORE_SITTING
            and sheet_schema().fields[name].ask
        ]
        gone = [each for each in what_is_lost(bench, sheet, open_now) if each.values or each.lights]
        if gone:
            return _question(gone[0], OLD_DRIVE, min(len(gone), MOST_BEFORE - len(before)), there)
    open_questions = ordered_questions(bench, sheet, declined)
    if not open_questions:
        probe = _taken_as_it_was(bench, sheet, {*there} - {*later})
        return None if probe is None else _question(Unlock(probe), FIRST_PACKET, 1, there)
    ahead = [each for each in open_questions if each.field not in later] or list(open_questions)
    first = min(ahead, key=_when)
    stage = FIRST_PACKET if first.lights or first.unsettles else SURER
    if stage == SURER and (probe := _taken_as_it_was(bench, sheet, {*there} - {*later})) is not None:
        return _question(Unlock(probe), FIRST_PACKET, 1, there)
    left = len({sheet_schema().breath(each.field)[0] for each in open_questions})
    decides = (
        name for name, of in sheet_schema().ahead.items() if first.field in of and name in {*there} - {*later}
    )
    if (name := next(decides, None)) is not None:
        first = next((each for each in ahead if each.field == name), Unlock(name))
    return _question(first, stage, left, there)


def _when(each: Unlock) -> tuple[bool, int]:
    """How late a question comes: what a maker may have said, or gives no value, after all else; then by the sitting."""
    sitting = sheet_schema().sitting(each.field)
    known = sheet_schema().fields[each.field].ask or sitting == MOUNTED
    worth = each.lights or each.unsettles or (each.values and known)
    return not worth, _SITTINGS.index(sitting)


def _taken_as_it_was(bench: Workings, sheet: Sheet, there: Collection[str]) -> str | None:
    """The shift of a probe whose offset would be worked out from the tip's shift alone: brackets often go with the drive."""
    for axis in "xy":
        offset, shift = bench.stand(sheet).results.get(f"probe.offset_{axis}"), f"carriage.probe_shift.{axis}"
        uses = {each.name for each in offset.derivation.inputs} if offset is not None else set()
        if shift in there and f"carriage.nozzle_shift.{axis}" in uses and shift not in uses:
            return shift
    return None


def _half_said(bench: Workings, sheet: Sheet, there: Collection[str]) -> str | None:
    """The count for which a maker's figure holds, where it is open and nothing else of the sheet bears the figure out."""
    for figure, beside in sheet_schema().holds_for.items():
        if figure in said_in(sheet) and beside in there:
            results = bench.stand(sheet).results.values()
            of_it = [each for each in results if any(one.name == figure for one in each.derivation.inputs)]
            if not any(each.cross_checks and not each.unsettled for each in of_it):
                return beside
    return None


def next_of_several(
    bench: Workings,
    sheet: Sheet,
    feeders: Sequence[int],
    declined: Collection[str] = (),
    later: Collection[str] = (),
    same: Mapping[int, int] | None = None,
) -> SheetQuestion | None:
    """The next question about the swap of these feeders: for each in turn what is gone and what settles its lights, and
    only then what makes values surer. `same` says which takes over whose answers; what nobody can say of the one is not
    asked of the other. The names of `declined` and `later` are those of `SheetQuestion.name`."""
    first: SheetQuestion | None = None
    for number in feeders:
        other = (same or {}).get(number, number)
        alike = {number, other}
        if other != number and (asked := _of_each(sheet, number, other, {*declined, *later})):
            return asked
        found = next_question(bench, sheet.about(number), _own(declined, alike), _own(later, {number}))
        if found is None:
            continue
        own = found.field.path.partition(".")[0] in sheet_schema().each
        found = replace(found, feeder=number if own else 0)
        if found.stage != SURER:
            return found
        first = first or found
    return first


def _of_each(sheet: Sheet, number: int, other: int, done: Collection[str]) -> SheetQuestion | None:
    """What is asked of a feeder though another one's answer is taken over."""
    for path in OF_EACH:
        entry = sheet.feeders.get(number, {}).get(path)
        taken = entry is not None and entry is sheet.feeders.get(other, {}).get(path)
        if entry is not None and taken and f"{number}:{path}" not in done:
            field = sheet_schema().fields[path]
            sitting = sheet_schema().sitting(path)
            return SheetQuestion(field, OLD_DRIVE, sitting, Unlock(path), 1, number, entry.text)
    return None


def _own(names: Collection[str], feeders: Collection[int]) -> set[str]:
    """The fields among these names that are the machine's or one of these feeders'."""
    parts = [name.rpartition(":") for name in names]
    return {path for number, _, path in parts if not number or int(number) in feeders}


def new_results(before: Standpoint, after: Standpoint) -> tuple[Result, ...]:
    """The values that come to be by what the one sheet says more than the other; one that stays as it is in the files
    is none."""
    old, new = before.results, after.results
    return tuple(
        result
        for rule, result in new.items()
        if rule not in old and result.value is not None and not _stays(result, after)
    )


def _stays(result: Result, stand: Standpoint) -> bool:
    reading = stand.machine.usual.get(result.target or "")
    return reading is not None and reading.value == result.value


def _question(unlock: Unlock, stage: str, left: int, there: Collection[str]) -> SheetQuestion:
    known = sheet_schema().fields
    breath = [known[path] for path in sheet_schema().breath(unlock.field)[1] if path in there]
    if unlock.alone:
        breath = []
    together = tuple(breath) if len(breath) > 1 else ()
    sitting = sheet_schema().sitting(unlock.field)
    return SheetQuestion(known[unlock.field], stage, sitting, unlock, left, together=together)

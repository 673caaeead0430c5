"""Lines that a third machine reads too are not written for one machine before somebody has said that they may be.

    common/house.txt   [tug] far = 5.6        read by heron and by teal
    teal/teal.txt      rules = ../common/house.txt

With heron's new retraction in it, teal, which keeps its long tube or gets its drive another day, would print with that. Who
else reads a file is found by `apply/other_readers.py` and lies in the plan. What holds for them is asked, and the site
file answers it, by file:

    shared: {common/house.txt: swapped together}    # all that read it are swapped before any of them runs again
    shared: {common/house.txt: left}                # one of them is not: it stays, and each value is told to hands
    shared: {common/house.txt: ours alone}          # nobody else reads it

Where a fleet file says of a machine that reads it that it keeps its drive, the file is left without being asked about, and an answer
that lets others write it is asked about again.

A part of such a file that goes by the name that the sheet or its files give the machine is its own, and is written as ever. What counts
for the feed goes together: with a part of it held, all of it is. This module works no value out.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence

from msgspec import UNSET
from msgspec.structs import replace

from cfgmigrate.files.shared_files import LEFT_FOR_OTHERS, OURS_ALONE, SWAPPED_TOGETHER
from cfgmigrate.ground.findings import Doubt, Place, by_file
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.words import split
from cfgmigrate.plan.basis import KEEPS_DRIVE
from cfgmigrate.plan.identity import WHOLE_MACHINE, name_of
from cfgmigrate.plan.items import finding_instead
from cfgmigrate.plan.lights_left import left_for_others
from cfgmigrate.plan.lines_by_hand import WRITTEN_HERE
from cfgmigrate.plan.model import ByHand, Change, Edit, LeftAlone, Plan

OF_OTHERS_RULE = "files.of_others"
#: what makes one turn of the motor so much filament: one of them new beside another that is old is wrong by their factor
_OF_THE_FEED = frozenset(
    f"feeder.{name}"
    for name in (
        "steps_per_mm",
        "feed_per_turn",
        "gear_ratio",
        "full_steps",
        "microsteps",
        "travel_per_motor_turn",
    )
)
#: what a rule warns of where the packet writes a limit itself
_SAYS_WRITTEN = pattern(r"The packet writes the (?:lowest|highest) [xyz] already")
_LEVEL = pattern(r"[./:]+")
#: what may stand beside a machine's name in what a part is called
_BESIDE_A_NAME = frozenset(("begin", "start", "of", "for", "machine", "printer", "only", "own"))
_WHY = (
    "Another machine reads {file}, too ({places}), and somebody said that it stays as it is. With the old values this machine "
    "is not swapped: each of these is old for the new drive."
)
_HOW = (
    "Write it into a file that this machine alone reads, if its line wins there over the one for all; its head or the maker's "
    "handbook says whether it does. Where it doesn't, part the file in two."
)
_WITH_THEM = (
    "Then, where they stand, these lines of this machine's own: they make the feed together with those of {file}, and the packet "
    "leaves them old until those are new."
)
_VERIFY = "Have the machine show or list what is in force, and compare each of these lines."


def but_for_others(plan: Plan, machine: Machine, said_of: Callable[[str], str]) -> Plan:
    """The plan without changes to lines that other machines read, but where `said_of` the file something that lets them in."""
    readers = (
        {each.file: each.places for each in plan.basis.readers} if plan.basis.readers is not UNSET else {}
    )
    kept = {file for file, places in readers.items() if any(each.endswith(KEEPS_DRIVE) for each in places)}
    told = {file: said_of(file) or (LEFT_FOR_OTHERS if file in kept else "") for file in readers}
    open_ = {file for file in readers if file in kept or told[file] not in (SWAPPED_TOGETHER, OURS_ALONE)}
    if not open_:
        return plan
    held = {
        change.id: [edit for edit in change.edits if edit.file in open_ and not _is_own(edit, plan, machine)]
        for change in plan.changes
    }
    files = {name: edits[0].file for name, edits in held.items() if edits}
    along = dict(with_them(plan.changes, files))
    files |= along
    if not files:
        return plan
    left = [change for change in plan.changes if change.id in files]
    items = tuple(
        _to_write(file, readers[file], _of(left, files, file), along, machine)
        for file in _in_order(files)
        if told[file] == LEFT_FOR_OTHERS
    )
    hands = {each.id for each in items}
    by_hand = {name: item for name, file in files.items() if (item := _id(file)) in hands}
    return replace(
        plan,
        changes=tuple(change for change in plan.changes if change.id not in files),
        by_hand=(*(_but_written(item, left) for item in plan.by_hand), *items),
        findings=(
            *(finding_instead(change) for change in left if not change.quantity.startswith("script.")),
            *plan.findings,
        ),
        left_alone=(
            *plan.left_alone,
            *(
                LeftAlone(each.quantity, _why(each, files[each.id], readers, along), each.holder)
                for each in left
            ),
        ),
        doubts=(
            *(
                _asked(file, readers[file], _of(left, files, file), along)
                for file in _in_order(files)
                if told[file] != LEFT_FOR_OTHERS
            ),
            *plan.doubts,
        ),
        lights=left_for_others(plan.lights, {change.id: by_hand.get(change.id, "") for change in left}),
    )


def _but_written(item: ByHand, left: Sequence[Change]) -> ByHand:
    """A step about an end stop without what it says of lines that the packet writes, where it writes them no longer."""
    axis = item.rule.removeprefix("protected.end_stop_")
    held = [each.label for each in left if each.quantity in (f"axis.{axis}.min", f"axis.{axis}.max")]
    if not held:
        return item
    warned = [each for each in item.warnings if not _SAYS_WRITTEN.match(each)]
    waits = f"The packet does not write the {' and the '.join(dict.fromkeys(held))}, since another machine reads that file: see there what it would be."
    steps = tuple(each for each in item.steps if not each.startswith(WRITTEN_HERE))
    return replace(item, steps=steps, warnings=(*warned, waits))


def _is_own(edit: Edit, plan: Plan, machine: Machine) -> bool:
    """Whether a line stands in a part that goes by the machine's name, as sheet or files have it."""
    given = {each.name for each in machine.given_names if each.profile is None}
    called = [plan.machine, *(given if len(given) == 1 else ())]
    names = [words for name in called if (words := split(name))]
    settings = machine.document(edit.file).settings
    of = next((each for each in settings if each.start <= edit.start < each.end), None)
    levels = _LEVEL.split(of.section) if of is not None else ()
    return any([word for word in split(level) if word not in _BESIDE_A_NAME] in names for level in levels)


def with_them(changes: Iterable[Change], files: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    """The changes of the feed that go with one that is held, with its file."""
    feed = [change for change in changes if change.quantity in _OF_THE_FEED]
    file = next((files[change.id] for change in feed if change.id in files), "")
    for change in feed if file else ():
        if change.id not in files:
            yield change.id, file


def _in_order(files: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(files.values()))


def _of(left: Iterable[Change], files: Mapping[str, str], file: str) -> list[Change]:
    return [change for change in left if files[change.id] == file]


def _why(change: Change, file: str, readers: Mapping[str, Sequence[str]], along: Collection[str]) -> str:
    would = f"it would be {change.new.text}, but "
    if change.id in along:
        return f"{would}it makes the feed together with what {file} holds and another machine reads: new beside the old there it is wrong by their factor"
    return f"{would}another machine reads {file}, too ({', '.join(readers[file])})"


def _first(changes: Sequence[Change], file: str) -> Edit:
    edits = [edit for change in changes for edit in change.edits]
    return min((edit for edit in edits if edit.file == file), key=lambda edit: edit.start)


def _asked(file: str, places: Sequence[str], changes: Sequence[Change], along: Collection[str]) -> Doubt:
    """What is asked of one file, with all that waits for it."""
    edit = _first(changes, file)
    theirs = [change for change in changes if change.id not in along]
    ours = [change for change in changes if change.id in along]
    why = (
        f"{file} is not this machine's alone ({', '.join(places)}): a machine that reads these lines and keeps its drive, or gets "
        f"the new one another day, would run with the new values. So they wait: {_waiting(theirs)}"
    )
    if ours:
        why += f". Lines of this machine's own wait with them, since they make the feed together: {_waiting(ours)}"
    remedy = (
        f'say it in cfgmigrate.yaml, under shared: "{file}": {SWAPPED_TOGETHER}, if every machine that reads it is swapped before '
        f'any of them runs again; or "{file}": {LEFT_FOR_OTHERS}, if one is not: it stays, and each value is told to be written where this '
        f'machine alone reads it; or "{file}": {OURS_ALONE}, if no other machine reads it'
    )
    return Doubt(Place(edit.file, edit.line, edit.column), edit.old, why, remedy)


def _waiting(changes: Iterable[Change]) -> str:
    return "; ".join(
        f"{change.label} {change.old.text if change.old else ''} → {change.new.text} "
        f"({by_file(dict.fromkeys((each.file, each.line) for each in change.edits))})"
        for change in changes
    )


def _what(file: str) -> str:
    return f"Write the values that {file} keeps old for the others where this machine alone reads them"


def _id(file: str) -> str:
    return name_of(_what(file), WHOLE_MACHINE)


def _to_write(
    file: str, places: Sequence[str], changes: Sequence[Change], along: Collection[str], machine: Machine
) -> ByHand:
    """The step that names all of them."""
    theirs = [change for change in changes if change.id not in along]
    ours = [change for change in changes if change.id in along]
    return ByHand(
        _what(file),
        None,
        "",
        _WHY.format(file=file, places=", ".join(places)),
        rule=OF_OTHERS_RULE,
        text=f"{len(changes)} values" if len(changes) > 1 else "one value",
        when="before it moves",
        label="values of a file for several machines",
        verify=_VERIFY,
        steps=(
            _HOW,
            *(_told(change, edit, machine) for change in theirs for edit in change.edits),
            *([_WITH_THEM.format(file=file)] if ours else []),
            *(_told(change, edit, machine) for change in ours for edit in change.edits),
        ),
    )


def _told(change: Change, edit: Edit, machine: Machine) -> str:
    settings = machine.document(edit.file).settings
    of = next((each for each in settings if each.start <= edit.start < each.end), None)
    name = of.name if of is not None else edit.file
    return f"{name}: {edit.old} → {edit.new} ({change.label}; {edit.file}:{edit.line})"

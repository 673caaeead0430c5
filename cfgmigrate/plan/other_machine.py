"""Whether sheet, files and profiles are of one machine, as far as they give it a name.

A sheet of another machine, or a profile that says it is for another one, is worked out like any other and gives
values that are right somewhere else. So where two names differ it is asked: a doubt at the line, and a light of its
own that stays unknown. The name of the configuration's folder will do for a sheet, too; it will not do for a profile where the
sheet is for another machine than the folder, as where two sheets of a fleet were crossed.

Nothing is left out of a plan here, and a name that is missing asks nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path

from msgspec import Struct

from cfgmigrate.files.found import SITE
from cfgmigrate.ground.findings import Doubt
from cfgmigrate.machine.given_names import same_name
from cfgmigrate.machine.model import MACHINE, GivenName, Machine
from cfgmigrate.plan.lights import UNKNOWN
from cfgmigrate.plan.model import Light
from cfgmigrate.sheet.model import Sheet

#: what the light is called
WHICH_MACHINE = "machine"
#: of so many names that the files give the machine one has to fit
MOST_NAMES = 20


class OtherMachine(Struct, frozen=True):
    """Files that give another machine's name, as a doubt and as a light."""

    doubt: Doubt
    light: Light


def other_machines(machine: Machine, called: str, root: str) -> tuple[OtherMachine, ...]:
    """What is asked because of names. `called` is the machine's name by the sheet, "" for none; `root` is where the
    configuration lies."""
    own = _own(machine)
    folder = Path(root).name
    found = list(_of_sheet(own, called, folder))
    fitting = [name for name in (called, *(each.name for each in own)) if name]
    if not fitting:
        fitting = _among_themselves(machine, folder)
    elif own or not called or same_name(called, folder):
        fitting.append(folder)
    found += _of_profiles(machine, fitting)
    return tuple(found)


def sheets_of_another(
    machine: Machine, sheets: Sequence[Sheet | None], root: str
) -> tuple[OtherMachine, ...]:
    """What is asked of sheets by which no profile is moved, each name once: what names the machine are its files, else
    a profile for one that is called as the folder."""
    folder = Path(root).name
    named = _own(machine) or [each for each in machine.given_names if same_name(each.name, folder)]
    names = dict.fromkeys(sheet.machine for sheet in sheets if sheet is not None)
    return tuple(each for called in names for each in _of_sheet(named, called, folder))


def _own(machine: Machine) -> list[GivenName]:
    return [each for each in machine.given_names if each.profile is None][:MOST_NAMES]


def _of_sheet(named: Sequence[GivenName], called: str, folder: str) -> Iterator[OtherMachine]:
    if called and named and not same_name(called, folder) and not _any_fits([called], named):
        why = f"the files call the machine {named[0].name}, and the sheet is for {called}"
        remedy = (
            "Take this machine's own sheet; or, if that is what it is called, write that name into the sheet"
        )
        yield _asked(named[0], str(MACHINE), why, remedy)


def _of_profiles(machine: Machine, fitting: Sequence[str]) -> Iterator[OtherMachine]:
    """Each profile that names machines, and none of these."""
    named: dict[str, list[GivenName]] = {}
    for each in machine.given_names:
        if each.profile is not None:
            named.setdefault(str(each.profile), []).append(each)
    for holder, several in named.items():
        if fitting and not _any_fits(fitting, several):
            path = several[0].place.file
            why = f"this profile is for {several[0].name}, and the machine is {fitting[0]}"
            remedy = f"Say in {SITE} what it is: roles: {{{path}: other machine}}, or profile if this machine uses it"
            yield _asked(several[0], holder, why, remedy)


def _among_themselves(machine: Machine, folder: str) -> list[str]:
    """The machine that most profiles are for, where nothing else names it; the folder's name where one is for that."""
    names = [each.name for each in machine.given_names if each.profile is not None]
    if any(same_name(name, folder) for name in names):
        return [folder]
    return [name for name, _ in Counter(names).most_common(1)]


def _any_fits(names: Sequence[str], given: Sequence[GivenName]) -> bool:
    return any(same_name(name, each.name) for name in names for each in given)


def _asked(given: GivenName, holder: str, why: str, remedy: str) -> OtherMachine:
    where = f"{given.place.file}:{given.place.line}"
    return OtherMachine(
        Doubt(given.place, given.name, why, remedy),
        Light(WHICH_MACHINE, holder, UNKNOWN, f"{why} ({where})", (remedy,)),
    )

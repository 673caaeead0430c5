"""Which feeder and profile a command is about that looks at one of them: tune, trial, guide.

What is named counts. Where nothing is, the sheet's feeder is meant, and a profile that has no alternative; several
feeders of which none is named are a question and never a guess.
"""

from __future__ import annotations

from msgspec.structs import replace

from cfgmigrate.files.site import Site
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.machine.called_feeders import names_of_feeders, numbers_in_files
from cfgmigrate.machine.model import Holder, Machine
from cfgmigrate.rules.lanes import material_of
from cfgmigrate.rules.passes import Lane
from cfgmigrate.sheet.model import Sheet, folded_name, listed
from cfgmigrate.sheet.several import Known


def known_names(site: Site, machine: Machine) -> Known:
    """By which names the machine's feeders and profiles may be called."""
    return replace(known_feeders(site, machine), profiles=machine.profiles)


def known_feeders(site: Site, machine: Machine) -> Known:
    """By which names and numbers the machine's feeders may be called; profiles are not looked at."""
    there = {name: {*numbers} for name, numbers in names_of_feeders(machine).items()}
    for each in site.feeders:
        if each.name:
            there.setdefault(each.name.casefold(), set()).add(each.number)
    return Known(
        {name: next(iter(numbers)) for name, numbers in there.items() if len(numbers) == 1},
        machine.feeders,
        shared={name: tuple(sorted(numbers)) for name, numbers in there.items() if len(numbers) > 1},
        counted=numbers_in_files(machine),
    )


def chosen(
    machine: Machine,
    known: Known,
    *,
    feeder: str = "",
    filament: str = "",
    print_profile: str = "",
    sheets: tuple[Sheet | None, ...] = (),
    remedy: str,
) -> Lane:
    """The lane that is meant by these names ("" for none); `sheets` may say the feeder, the first one that does
    counts. Raises BadInput where there is none of that name, Refused where it has to be said, with `remedy`."""
    if filament and print_profile:
        why = "a filament and a print profile are named, and one of them holds the value"
        raise BadInput(why, Place("tune or trial"), "Name one of the two.")
    profile = _profile(machine, "filament", filament) or _profile(machine, "print", print_profile)
    number = _feeder(known, feeder) if feeder else _said(sheets)
    serving = next((each.feeders for each in machine.found_profiles if each.holder == profile), ())
    if number is None and len(serving) == 1:
        number = serving[0]
    if number is None and len(machine.feeders) > 1:
        what = (
            f"the files hold feeders {listed(map(str, machine.feeders))}, and nothing says which one is meant"
        )
        raise Refused(what, Place("feeder"), f"Nothing was written. {remedy}")
    number = number or (machine.feeders or (1,))[0]
    if serving and number not in serving:
        raise BadInput(f"{profile} does not serve feeder {number}", Place("feeder"))
    if machine.feeders and number not in machine.feeders:
        what, remedy = known.why_not(str(number))
        raise BadInput(what, Place("feeder"), remedy)
    return Lane(number, profile or machine.only_profile)


def flat_sheet(sheet: Sheet, machine: Machine, lane: Lane) -> Sheet:
    """What a sheet says for one lane."""
    return sheet.lane(lane.feeder, lane.profile, material_of(machine, lane.profile))


def _profile(machine: Machine, kind: str, name: str) -> Holder | None:
    if not name:
        return None
    there = [profile for profile in machine.profiles if profile.kind == kind]
    found = next((each for each in there if folded_name(each.name) == folded_name(name)), None)
    if found is None:
        names = listed(each.name for each in there)
        remedy = f"Known ones: {names}." if names else f"The files hold no {kind} profile."
        raise BadInput(f"there is no {kind} profile {name!r}", Place(kind), remedy)
    return found


def _feeder(known: Known, name: str) -> int:
    number = known.number(name)
    if number is None:
        what, remedy = known.why_not(name)
        raise BadInput(what, Place("feeder"), remedy)
    return number


def _said(sheets: tuple[Sheet | None, ...]) -> int | None:
    """The feeder that a sheet names, or the only one of whose swap it tells."""
    for sheet in sheets:
        if sheet is not None and sheet.feeder is not None:
            return sheet.feeder
        if sheet is not None and sheet.feeders and len(sheet.swapped) == 1:
            return sheet.swapped[0]
    return None

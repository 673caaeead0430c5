"""A packet's plan worked out again by the engine, from what lies in the packet and from nothing else.

Whoever seals a packet anew can write anything into its plan. So the plan is not believed: its files are read again
as they were read, its sheet and its rules are taken as they are, and every field of what comes out is compared with
what is recorded. Roles of files, and what a history told, are recorded with the plan (`plan/basis.py`) and are
taken from there; whether they are so is asked by `placed.py`.

Only a release that knows the same can do that. For the packet of another one, `comparable` says why not; then the
numbers are still worked out by the second way (`packet/recompute.py`) and the files read again, and whoever asks is
told what of it this release comes to by itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING, Any

from msgspec import Struct
from msgspec.structs import replace

from cfgmigrate.files.gaps import NOT_THERE
from cfgmigrate.ground.findings import CfgError, in_one_line
from cfgmigrate.workflow.told_apart import same_as_recorded, told_apart

if TYPE_CHECKING:
    from cfgmigrate.files.site import Site
    from cfgmigrate.machine.model import Machine
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.packet.recorded import Quoted
    from cfgmigrate.plan.basis import FileInput
    from cfgmigrate.plan.model import Plan
    from cfgmigrate.rules.book import Book
    from cfgmigrate.sheet.model import Sheet

#: differences that are told one by one
TOLD_AGAIN = 20


class Again(Struct, frozen=True):
    """What working a packet out again came to: `faults`, what of it is `unproven` and has to be judged by a person, and
    `notes`; a sentence each. The `doubts` are those of the packet, as recorded, that do not follow from what is in it."""

    faults: tuple[str, ...] = ()
    unproven: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    doubts: tuple[Mapping[str, Any], ...] = ()


def comparable(packet: Packet) -> str:
    """Why a packet's plan can't be worked out again here; "" where it can."""
    from cfgmigrate.plan.model import FORMAT
    from cfgmigrate.rules.library import knowledge_hash

    if packet.index.get("format") != FORMAT:
        return "it is of an older format"
    if packet.plan.knowledge != knowledge_hash():
        return f"it was made with what another release knows ({packet.plan.program or 'not named'})"
    return ""


def worked_out_again(packet: Packet) -> Again:
    """Where the engine comes to something else than a packet says, a sentence each."""
    from cfgmigrate.packet.folder import FIELDS_OF_THE_PACKET

    why = comparable(packet)
    if why:
        return _not_again(packet, why)
    try:
        own = (*_strange_rules(packet), *_own_names(packet))
        plan = plan_again(packet)
    except (CfgError, ValueError, KeyError) as problem:
        return Again((f"it can't be worked out again from what is in it: {in_one_line(problem)}",))
    recorded = {name: value for name, value in packet.index.items() if name not in FIELDS_OF_THE_PACKET}
    faults, extra = _differences(recorded, _as_json(plan))
    return Again((*faults, *_rested_on_by_nothing(packet)), own, doubts=extra)


def _rested_on_by_nothing(packet: Packet) -> Iterator[str]:
    """Inputs that were laid into a packet beside those that its plan names, or that it says are not the machine's."""
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.roles import Role
    from cfgmigrate.packet.folder import OLD, ORIGIN

    basis = packet.plan.basis
    taken = {str(role) for role in Role if role.taken}
    for file in (*packet.plan.files, *basis.origin):
        if file.role not in taken:
            yield f"{file.path}: recorded as {file.role}, and values are taken from it"
    named = {file.path for file in basis.origin} | ({SITE} if basis.origin else set())
    for folder, files, known in (
        (ORIGIN, packet.origin, named),
        (OLD, packet.old, set(packet.before) if basis.entries else set()),
    ):
        yield from (f"{folder}{path}: nothing in the plan rests on it" for path in files if path not in known)


def _not_again(packet: Packet, why: str) -> Again:
    """What can still be said of a packet of another release, and what can't."""
    found = _quoted(packet)
    return Again(
        found.faults,
        (
            f"it was not worked out again from its sheet and its rules, because {why}",
            f"looked at: that its numbers follow from the formulas and inputs that it records; that {found.seen} of "
            f"these {found.inputs} inputs stand in its files and its sheet where it says; that its edits do nothing else",
            "not looked at: whether its formulas are those of any rule, where its other inputs come from, and whether "
            "its cautions, doubts, lights, steps by hand and what is to be checked are right and all there",
        ),
        tuple(_elsewhere(packet)),
    )


def _quoted(packet: Packet) -> Quoted:
    """What a packet of another release says of its files and its sheet, held against them."""
    from cfgmigrate.packet.recorded import quoted
    from cfgmigrate.packet.reread import site_of

    site = site_of(packet)
    machine = machine_of(packet, packet.before, site)
    sheets: dict[str, Sheet] = {}
    if packet.plan.kind != "tune":
        try:
            sheets = {packet.plan.sheet_path: sheet_of_packet(packet, site, machine)}
        except CfgError:  # it had fields that this release does not know any more
            sheets = {}
    return quoted(packet, machine, sheets)


def _elsewhere(packet: Packet) -> Iterator[str]:
    """What this release comes to by itself, for a packet of another one: no fault, but worth a look."""
    if any(change.rule.startswith("carried over") for change in packet.plan.changes):
        yield "it was carried over from files that it does not tell enough of, so nothing was compared with them"
        return
    from cfgmigrate.rules.former_names import present_name

    try:
        plan = plan_again(packet, own_rules=False)
    except Exception as problem:  # whatever an older packet lacks, or this release no longer understands
        yield f"this release can't work it out from its sheet either ({in_one_line(problem)}), so compare its values with a packet prepared anew"
        return
    now = {present_name(change.id): [edit.new for edit in change.edits] for change in plan.changes}
    for change in packet.plan.changes:
        written = [edit.new for edit in change.edits]
        if now.get(present_name(change.id)) != written:
            to = ", ".join(dict.fromkeys(now.get(present_name(change.id), ()))) or "nothing"
            yield f"{change.id}: the packet writes {change.new.text}; this release comes to {to}"


def plan_again(packet: Packet, own_rules: bool = True) -> Plan:
    """The plan that this release makes of a packet's inputs; with `own_rules` by the packet's rules.

    Raises BadInput where one of them can't be read, ValueError or KeyError where what is recorded of them is wrong."""
    from cfgmigrate.packet.reread import site_of
    from cfgmigrate.plan.lines_disputed import but_disputed
    from cfgmigrate.plan.lines_of_others import but_for_others
    from cfgmigrate.plan.named_files import only_named

    recorded, site = packet.plan, site_of(packet)
    if recorded.kind == "tune":
        machine = machine_of(packet, packet.before, site)
        plan = _tuned(packet, machine, site, own_rules)
    elif recorded.basis.carried_from:
        machine = machine_of(packet, packet.before, site)
        plan = _carried_over(packet, machine, site, own_rules)
    else:
        machine = machine_of(packet, {**packet.before, **packet.old}, site)
        plan = _swapped(packet, machine, site, own_rules)
    roles = {file.path: file.role for file in recorded.files}
    files = tuple(replace(file, role=roles[file.path]) for file in plan.files)
    plan = replace(plan, files=files, left_out=recorded.left_out)
    plan = only_named(plan, recorded.basis.named)
    beside = recorded.basis
    plan = replace(plan, basis=replace(plan.basis, readers=beside.readers, disputed=beside.disputed))
    return but_disputed(but_for_others(plan, machine, site.shared_as))


def machine_of(packet: Packet, contents: Mapping[str, bytes], site: Site) -> Machine:
    from cfgmigrate.machine.recognise import recognise
    from cfgmigrate.packet.folder import NAMES
    from cfgmigrate.packet.reread import documents_of, names_for, roles_of

    files = packet.plan.files
    names = names_for(packet.folder / NAMES if packet.names is not None else None, site)
    roles = roles_of(files, site, packet.plan.left_out)
    return recognise(documents_of(files, contents, site), names, site.counts_from, roles, site.feeders)


def _swapped(packet: Packet, machine: Machine, site: Site, own_rules: bool) -> Plan:
    from cfgmigrate.apply.prior_installs import basis_of, recalled
    from cfgmigrate.apply.remaining import the_rest
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.rules import library
    from cfgmigrate.rules.lanes import work_out_lanes

    swap, book = sheet_of_packet(packet, site, machine), _book(packet, own_rules)
    past, earlier = recalled(packet.plan.basis, {**packet.before, **packet.old})
    worked = work_out_lanes(book, machine, swap, library.tables(), past)
    plan = plan_changes(worked, book, machine, swap, packet.plan.root)
    if earlier is not None:
        plan = the_rest(plan, earlier, packet.before)
    return replace(plan, basis=basis_of(past, earlier))


def _carried_over(packet: Packet, machine: Machine, site: Site, own_rules: bool) -> Plan:
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.site import no_site
    from cfgmigrate.files.site_reading import parse_site
    from cfgmigrate.machine.recognise import recognise
    from cfgmigrate.packet.folder import NAMES
    from cfgmigrate.packet.reread import documents_of, names_for, roles_of
    from cfgmigrate.plan.basis import Basis
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.workflow.prepare import carried_over

    basis = packet.plan.basis
    told = parse_site(packet.origin[SITE], SITE) if SITE in packet.origin else no_site()
    names = names_for(packet.folder / NAMES if packet.names is not None else None, told)
    documents = documents_of(basis.origin, packet.origin, told)
    old = recognise(documents, names, told.counts_from, roles_of(basis.origin, told), told.feeders)
    swap, book = sheet_of_packet(packet, site, machine), _book(packet, own_rules)
    worked = carried_over(book, old, machine, swap, basis.carried_from)
    plan = plan_changes(worked, book, machine, swap, packet.plan.root)
    origin = _as_they_are(basis.origin, packet.origin)
    return replace(plan, basis=Basis(carried_from=basis.carried_from, origin=origin))


def _tuned(packet: Packet, machine: Machine, site: Site, own_rules: bool) -> Plan:
    from cfgmigrate.sheet.reader import parse_sheet
    from cfgmigrate.sheet.schema import measured_schema
    from cfgmigrate.workflow.lane import known_names
    from cfgmigrate.workflow.tune import FOLLOWED, plan_tuning

    recorded, known = packet.plan, known_names(site, machine)
    own = parse_sheet(packet.sheet, recorded.sheet_path, measured_schema(), known)
    followed = None
    if FOLLOWED in packet.rules:
        followed = parse_sheet(packet.rules[FOLLOWED], recorded.basis.follows or FOLLOWED, known=known)
    return plan_tuning(
        _book(packet, own_rules), machine, own, followed, known, recorded.root, recorded.basis.stored
    )


def sheet_of_packet(packet: Packet, site: Site, machine: Machine) -> Sheet:
    from cfgmigrate.sheet.reader import parse_sheet
    from cfgmigrate.workflow.lane import known_feeders

    known = known_feeders(site, machine)
    return parse_sheet(packet.sheet, packet.plan.sheet_path, known=known)


def _book(packet: Packet, own_rules: bool) -> Book:
    """The packet's own rules; ready-made where they are this release's."""
    from cfgmigrate.rules import library
    from cfgmigrate.rules.book import book_from

    tuning = packet.plan.kind == "tune"
    book = library.tuning_book() if tuning else library.book()
    rules = _rules(packet)
    if not own_rules or rules == dict(book.sources):
        return book
    return book_from(rules, library.tuning_vocabulary() if tuning else library.vocabulary())


def _rules(packet: Packet) -> dict[str, bytes]:
    from cfgmigrate.rules.library import table_sources
    from cfgmigrate.workflow.tune import FOLLOWED

    return {name: data for name, data in packet.rules.items() if name not in {*table_sources(), FOLLOWED}}


def _strange_rules(packet: Packet) -> tuple[str, ...]:
    """Which rules are not this release's. Raises ValueError where a table is another one than it is said to be."""
    from cfgmigrate.rules import library

    for name, data in library.table_sources().items():
        if packet.rules.get(name) != data:
            raise ValueError(f"rules/{name} is not the table of the release that it names")
    book = library.tuning_book() if packet.plan.kind == "tune" else library.book()
    strange = [name for name, data in sorted(_rules(packet).items()) if book.sources.get(name) != data]
    lacking = sorted(set(book.sources) - set(packet.rules))
    if lacking:
        raise ValueError(f"rules/{lacking[0]} is missing")
    if not strange:
        return ()
    return (
        f"{', '.join(strange)}: a rule of somebody's own, not of this release. The values follow from it; whether it "
        "is right is for you to judge.",
    )


def _own_names(packet: Packet) -> Iterator[str]:
    """What the preparer said that settings mean stands in no file of the machine."""
    from cfgmigrate.packet.folder import NAMES

    if packet.names is not None:
        yield f"{NAMES}: whoever prepared it said what some settings mean; whether they do is for you to judge"


def _as_they_are(files: tuple[FileInput, ...], contents: Mapping[str, bytes]) -> tuple[FileInput, ...]:
    from cfgmigrate.packet.folder import sha256

    return tuple(replace(file, sha256=sha256(contents[file.path])) for file in files)


def _as_json(plan: Plan) -> dict[str, Any]:
    import json

    found: dict[str, Any] = json.loads(json.dumps(plan.to_json()))
    return found


def _differences(
    recorded: dict[str, Any], found: dict[str, Any]
) -> tuple[list[str], tuple[Mapping[str, Any], ...]]:
    """Where what is recorded is not what was found; and doubts that were recorded besides."""
    # what is good to know is a doubt about which nothing has to be done
    said = [*recorded.pop("doubts", []), *recorded.pop("notes", [])]
    wanted = [*found.pop("doubts"), *found.pop("notes")]
    files = {file["path"] for file in found["inputs"]["files"]}
    faults = list(_compare("", recorded, found))
    for doubt in wanted:
        key = what_is_doubted(doubt, files)
        match = next((each for each in said if what_is_doubted(each, files) == key), None)
        if match is not None:
            said.remove(match)
        elif not any(_is_of_what_lay_beside(each, doubt, files) for each in said):
            faults.append(
                f"a doubt is missing: {doubt['file']}:{doubt['line']}: {doubt['text']}: {doubt['why']}"
            )
    if len(faults) > TOLD_AGAIN:
        faults = [*faults[:TOLD_AGAIN], f"and {len(faults) - TOLD_AGAIN} further differences"]
    return faults, tuple(said)


def what_is_doubted(doubt: Mapping[str, Any], files: Collection[str]) -> tuple[Any, ...]:
    """What a doubt says. Names and site files are called otherwise in a packet, so only places in `files` count."""
    place = doubt.get("file"), doubt.get("line"), doubt.get("column")
    return doubt.get("text"), doubt.get("why"), doubt.get("remedy"), place if place[0] in files else None


def _is_of_what_lay_beside(
    recorded: Mapping[str, Any], found: Mapping[str, Any], files: Collection[str]
) -> bool:
    """Whether two doubts of one missing file differ by the remedy alone. That rests on files that are not in the packet;
    so what is recorded is asked of the place besides."""
    same = what_is_doubted({**recorded, "remedy": ""}, files) == what_is_doubted(
        {**found, "remedy": ""}, files
    )
    return same and found["why"].startswith(NOT_THERE)


def _compare(place: str, recorded: Any, found: Any) -> Iterator[str]:
    """Each field in which two pieces of JSON differ. Items of a list go by their names, where they have any."""
    if isinstance(recorded, dict) and isinstance(found, dict):
        for name in dict.fromkeys((*recorded, *found)):
            inner = f"{place}.{name}" if place else name
            if name not in found:
                yield f"{inner}: not known to this release"
            elif name not in recorded:
                yield f"{inner}: missing"
            else:
                yield from _compare(inner, recorded[name], found[name])
    elif isinstance(recorded, list) and isinstance(found, list):
        yield from _compare_lists(place, recorded, found)
    elif not same_as_recorded(recorded, found):
        one, other = told_apart(recorded, found)
        yield f"{place}: recorded as {one}, works out as {other}"


def _compare_lists(place: str, recorded: list[Any], found: list[Any]) -> Iterator[str]:
    names, others = [_name(each) for each in recorded], [_name(each) for each in found]
    if names != others and all((*names, *others)):
        for name in dict.fromkeys((*names, *others)):
            if names.count(name) > others.count(name):
                yield f"{place}: {name} is in the packet and does not follow from its sheet and rules"
            elif others.count(name) > names.count(name):
                yield f"{place}: {name} follows from the packet's sheet and rules and is not in it"
        if sorted(names) == sorted(others):
            yield f"{place}: in another order than they come out"
        return
    if len(recorded) != len(found):
        yield f"{place}: {len(recorded)} recorded, {len(found)} work out"
        return
    for at, (one, other) in enumerate(zip(recorded, found, strict=True)):
        yield from _compare(f"{place}[{names[at] or at + 1}]", one, other)


def _name(item: Any) -> str:
    if not isinstance(item, dict):
        return ""
    name = item.get("id") or item.get("path") or item.get("name")
    if name is None and "light" in item:
        name = f"{item['light']} @ {item.get('holder')}"
    return name if isinstance(name, str) else ""

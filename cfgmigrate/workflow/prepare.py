"""From paths to a packet: the files read, the swap worked out, the result read again, the packet written.

This is `prepare`, step by step, and what `workflow/tune.py` and `fleet/run.py` share with it. Everything is worked out before
anything is written, and nothing is written where the result, read again (`read_again.py`), is not what was planned; how it
is written is in `writing_out.py`.

Which commands there are for people who script is said in `api.py`; each step lives in the package that it is
named after.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec.structs import replace

from cfgmigrate.files.configuration import Configuration, open_configuration
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.ground.progress import stage
from cfgmigrate.machine.model import Machine
from cfgmigrate.workflow.inputs import Dialects, PathLike, Paths, listed, optional
from cfgmigrate.workflow.read_again import check_again, read_again
from cfgmigrate.workflow.writing_out import Prepared, write_out

if TYPE_CHECKING:
    from cfgmigrate.apply.disputed_lines import Claims
    from cfgmigrate.packet.folder import Packet
    from cfgmigrate.plan.basis import FileInput
    from cfgmigrate.plan.model import Plan
    from cfgmigrate.rules.book import Book
    from cfgmigrate.rules.lanes import Worked
    from cfgmigrate.sheet.model import Sheet


def read_machine(
    paths: Paths,
    names: PathLike | None = None,
    dialects: Dialects = None,
    machine: Paths = (),
    *,
    certain: bool = False,
) -> tuple[Configuration, Machine]:
    """The files, and what was recognised in those that are the machine's. `machine` are files that are in force.

    Where `certain`, raises Refused where it can't be told which files are the machine's; else what is likeliest is
    taken, and the question stands in `Configuration.roles`."""
    from cfgmigrate.files.telling import ask_first
    from cfgmigrate.machine.names import names_said
    from cfgmigrate.machine.recognise import recognise

    with stage("reading the files"):
        configuration = open_configuration(listed(paths), dialects, listed(machine))
    _refuse_half_written(configuration.root)
    if certain:
        ask_first(configuration.roles, configuration.root)
    with stage("recognising the settings"):
        told = names_said(optional(names), configuration.site)
        return configuration, recognise(
            configuration, told, configuration.site.counts_from, feeders=configuration.site.feeders
        )


def _refuse_half_written(root: Path) -> None:
    """Files in the middle of an interrupted install are neither the old set nor the new one."""
    from cfgmigrate.store.keeping import Store

    if Store(root).pending:
        raise Refused(
            "an interrupted install or revert left these files half written",
            Place(str(root)),
            f"Nothing was read. Finish or undo it first: cfgmigrate history {root}",
        )


def work_out(
    paths: Paths,
    sheet: PathLike,
    *,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    source: Paths = (),
    rest: bool = False,
    machine: Paths = (),
    keeping: Mapping[str, str] | None = None,
    claimed: Claims | None = None,
) -> Prepared:
    """Everything that `prepare` works out, without writing anything.

    With `source`, the old configuration is carried over into the one at `paths` first. Where the history says
    that a part of this swap was installed already, the plan is what is left of it; with `rest` the last install
    counts as a part of it even where its sheet said something else (Refused, where there is none). `machine` are
    files that are in force; Refused, where it can't be told which are. `keeping` and `claimed` are those of `prepare`.
    """
    from cfgmigrate.files.found import SITE
    from cfgmigrate.packet.folder import OLD, ORIGIN
    from cfgmigrate.plan.basis import Basis
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.reader import read_sheet
    from cfgmigrate.workflow.lane import known_feeders

    loaded = library.book(Path(rules) if rules is not None else None)
    configuration, found = read_machine(paths, names, dialects, machine, certain=True)
    swap = read_sheet(Path(sheet), known_feeders(configuration.site, found))
    if listed(source):
        old_set, old = read_machine(source, names, dialects, certain=True)
        worked = carried_over(loaded, old, found, swap, old_set.root.name)
        more = {ORIGIN + each.path: each.data for each in old_set.documents}
        if old_set.site.there:
            more[ORIGIN + SITE] = old_set.site.joined
        plan = plan_changes(worked, loaded, found, swap, str(configuration.root))
        plan = replace(
            plan, basis=Basis(carried_from=old_set.root.name, origin=with_their_roles(old, old_set))
        )
    else:
        plan, before = _planned(loaded, found, swap, configuration, names, rest)
        more = {OLD + path: data for path, data in before.items()}
    sources = library.book_sources(loaded)
    return with_result(plan, found, configuration, names, sources, swap.source, more, keeping, claimed)


def _planned(
    loaded: Book,
    machine: Machine,
    swap: Sheet,
    configuration: Configuration,
    names: PathLike | None,
    rest: bool,
) -> tuple[Plan, Mapping[str, bytes]]:
    """What the swap changes, or the rest of it where a part was installed already; and, for such a rest, the files
    that it was worked out from, as far as they are others than those that are there."""
    from cfgmigrate.apply import prior_installs
    from cfgmigrate.apply.remaining import another_sheet, the_rest
    from cfgmigrate.plan.other_kind import refuse_other_kind
    from cfgmigrate.plan.planning import plan_changes
    from cfgmigrate.plan.swapped_already import refuse_swapped
    from cfgmigrate.rules import library
    from cfgmigrate.rules.lanes import work_out_lanes
    from cfgmigrate.workflow.told import told_at

    root = configuration.root
    refuse_other_kind(machine, configuration.roles, str(root))
    present = {document.path: document.data for document in configuration.documents}
    told = told_at(root, present, machine, swap, rest)
    if rest and told.earlier is None:
        raise Refused(
            "nothing of a swap was installed here, or all of it was reverted",
            Place(str(root)),
            "Nothing was written. Prepare it without --rest.",
        )
    found = told.earlier
    old = machine if found is None else read_again(configuration, told.old, names, machine)
    with stage("working the values out"):
        worked = work_out_lanes(loaded, old, swap, library.tables(), told.past)
        plan = plan_changes(worked, loaded, old, swap, str(root))
    if not told.past.installs:
        refuse_swapped(old, worked, plan, swap)
    if found is not None:
        plan = the_rest(plan, found, present)
    plan = replace(plan, basis=told.basis)
    partly = (
        None
        if found is not None and found.whole
        else prior_installs.partly_installed(told.history, root, present)
    )
    if partly is not None:
        plan = replace(plan, doubts=(another_sheet(partly, swap.path), *plan.doubts))
    return plan, {path: data for path, data in told.old.items() if data != present[path]}


def with_result(
    plan: Plan,
    machine: Machine,
    configuration: Configuration,
    names: PathLike | None,
    sources: Mapping[str, bytes],
    sheet: bytes,
    more: Mapping[str, bytes] | None = None,
    keeping: Mapping[str, str] | None = None,
    claimed: Claims | None = None,
) -> Prepared:
    """A plan with the files as they are and as they would be, read again and compared; `sources` and `sheet`
    are what its values rest on."""
    from cfgmigrate.apply.disputed_lines import with_disputed
    from cfgmigrate.apply.other_readers import with_readers
    from cfgmigrate.packet.folder import SITE_COPY
    from cfgmigrate.plan.edits import apply_edits, edits_by_file
    from cfgmigrate.plan.lines_disputed import but_disputed
    from cfgmigrate.plan.lines_of_others import but_for_others
    from cfgmigrate.workflow.left_behind import with_their_lines

    plan = with_readers(with_roles(plan, configuration), configuration.root, keeping)
    plan = but_for_others(plan, machine, configuration.site.shared_as)
    before = {document.path: document.data for document in configuration.documents}
    if plan.kind == "install":
        plan = but_disputed(with_disputed(plan, configuration.root, before, claimed))
        plan = with_their_lines(plan, machine, configuration)
    after = dict(before)
    for path, edits in edits_by_file(plan.changes).items():
        after[path] = apply_edits(before[path], edits)
    with stage("reading the result again"):
        check_again(plan, machine, configuration, after, names)
    site = configuration.site.joined if configuration.site.there else None
    besides = {**(more or {}), **({SITE_COPY: site} if site is not None else {})}
    return Prepared(plan, before, after, sources, sheet, besides)


def with_roles(plan: Plan, configuration: Configuration) -> Plan:
    """The plan with the role of each file, and without changes to files that were not named."""
    from cfgmigrate.files.telling import NOT_TOLD
    from cfgmigrate.plan.model import LeftOut
    from cfgmigrate.plan.named_files import only_named

    roles = configuration.roles
    files = tuple(replace(file, role=str(roles.role(file.path))) for file in plan.files)
    left = tuple(
        LeftOut(path, str(found.role), found.why, holds=found.holds, own=found.own)
        for path, found in roles.items()
        if not found.role.taken and found.why not in NOT_TOLD
    )
    return only_named(replace(plan, files=files, left_out=left), configuration.named)


def with_their_roles(machine: Machine, configuration: Configuration) -> tuple[FileInput, ...]:
    """The files of a configuration as they were read, each with the role by which it was."""
    from cfgmigrate.plan.planning import inputs_of

    roles = configuration.roles
    return tuple(replace(file, role=str(roles.role(file.path))) for file in inputs_of(machine))


def carried_over(loaded: Book, old: Machine, machine: Machine, swap: Sheet, label: str) -> Worked:
    """The lanes' results for the new files, starting from the `old` ones (which go by the name `label`), with what is
    carried over besides."""
    from cfgmigrate.rules import carry_lanes, library
    from cfgmigrate.rules.lanes import work_out_lanes

    carrying = carry_lanes.Carrying(old, machine, label)
    start, past = carry_lanes.meant(carrying), carry_lanes.past_of(carrying)
    worked = work_out_lanes(loaded, start, swap, library.tables(), past)
    return carry_lanes.with_carried(worked, carrying, swap)


def prepare(
    paths: Paths,
    sheet: PathLike,
    *,
    out: PathLike,
    names: PathLike | None = None,
    dialects: Dialects = None,
    rules: PathLike | None = None,
    preparer: str | None = None,
    source: Paths = (),
    rest: bool = False,
    replace: bool = False,
    machine: Paths = (),
    browsed: bool = True,
    keeping: Mapping[str, str] | None = None,
    claimed: Claims | None = None,
) -> Packet:
    """Work a swap out and write a packet for review. The configuration's files are not touched.

    `paths` are the configuration's files or folders, `sheet` is the swap sheet, `out` the folder to write. `names`
    is a names file for settings in doubt, `dialects` says which dialect a file is in where that is not found out,
    `rules` is a folder with rules of your own, `preparer` who prepares it (else the user that the system names).
    With `source`, that configuration is carried over into the one at `paths` first. With `rest` the last install
    counts as a part of this swap even where its sheet said something else. `replace` allows another packet at `out`
    to be replaced, unless it is installed. `machine` are files that are in force, whatever they are called.
    Without `browsed` the packet has no page for a browser, and is written sooner. `keeping` are files, each by its whole path,
    that a machine reads which keeps its drive, with where that is said: they are not written. `claimed` is what packets of other machines write into files, each by its
    whole path: a line on which they and this packet don't agree is asked about and not written.

    Gives the packet as it was written; `.plan` holds every change, with values in the quantities' units. Raises
    BadInput where a file or the sheet can't be read, Refused where the result, read again, differs from the old
    configuration in anything but the plan, or where it can't be told which files are the machine's; nothing was written
    then.
    """
    found = work_out(
        paths,
        sheet,
        names=names,
        dialects=dialects,
        rules=rules,
        source=source,
        rest=rest,
        machine=machine,
        keeping=keeping,
        claimed=claimed,
    )
    return write_out(found, Path(out), names, preparer, replace, browsed)

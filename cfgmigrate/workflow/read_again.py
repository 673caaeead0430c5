"""The result read again: the files as they would be are read like those that were there, and the two machines compared.

Their difference must be the plan, else nothing is written. Where a value that a person named can't be read again as what it
was said to be, the line that says so is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from cfgmigrate.files.configuration import Configuration
from cfgmigrate.ground.findings import Place, Refused
from cfgmigrate.machine.model import Machine
from cfgmigrate.workflow.inputs import PathLike, optional

if TYPE_CHECKING:
    from cfgmigrate.machine.names import Named
    from cfgmigrate.plan.model import Plan


def check_again(
    plan: Plan,
    machine: Machine,
    configuration: Configuration,
    after: Mapping[str, bytes],
    names: PathLike | None,
) -> None:
    """Read the result again and compare the two neutral models: their difference must be the plan."""
    from cfgmigrate.packet.reread import difference

    found = difference(plan, machine, read_again(configuration, after, names, machine))
    if found and (line := _line_of_names(found, plan, machine, configuration, names)):
        raise Refused(
            f"the new value, read again, is not what {line.key!r} is said to be: {found}",
            line.place,
            f"Nothing was written. Put right what is said of {line.key!r}, with its unit, or write ignore there and set it by hand.",
        )
    if found:
        raise Refused(
            f"the result, read again, is not what was planned: {found}",
            Place(str(configuration.root)),
            "Nothing was written. This is a defect of the tool; please report it with your files.",
        )


def _line_of_names(
    found: str, plan: Plan, machine: Machine, configuration: Configuration, names: PathLike | None
) -> Named | None:
    """The line by which a person said what that setting is which can't be read again as it is told in `found`."""
    from cfgmigrate.machine.names import names_said

    told = names_said(optional(names), configuration.site)
    if told is None:
        return None
    for edit in (edit for change in plan.changes for edit in change.edits):
        if not any(f" at {edit.file}:{edit.line}{end}" in found for end in (" ", ", ")):
            continue
        document = machine.document(edit.file)
        for setting in document.settings:
            if setting.start <= edit.start < setting.end and (named := told.find(document, setting)):
                return named
    return None


def read_again(
    configuration: Configuration, contents: Mapping[str, bytes], names: PathLike | None, machine: Machine
) -> Machine:
    """The same files with other contents, and what is recognised in them; how their numbers are written is known from
    `machine`. A file with the content that it had is the document that it was, with all that was found out of it alone."""
    import dataclasses

    from cfgmigrate.files.resolver import record_of, recorded
    from cfgmigrate.files.unread import as_listed
    from cfgmigrate.machine.commas import decided
    from cfgmigrate.machine.names import names_said
    from cfgmigrate.machine.recognise import recognise
    from cfgmigrate.packet.reread import read_as

    told = names_said(optional(names), configuration.site)
    given = configuration.documents
    takes_in = recorded((each.path, record_of(each)) for each in given)
    same = {each.path for each in given if each.data == contents[each.path] and each.dialect != "header"}
    others = [(each.path, each.dialect) for each in given if each.path not in same]
    again = {each.path: as_listed(each, configuration.site) for each in read_as(others, contents, takes_in)}
    documents = tuple(again.get(each.path, each) for each in given)
    decimals = decided(machine.documents, configuration.roles.decimals)
    roles = dataclasses.replace(configuration.roles, decimals=decimals)
    return recognise(documents, told, configuration.site.counts_from, roles, configuration.site.feeders)

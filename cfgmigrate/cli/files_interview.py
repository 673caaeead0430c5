"""The first part of the interview: what the files don't tell. At most three questions of one key each, and one table of
materials; answers go into the site file at once, so that they are asked for once.

A filament that has no file of its own has no place in the site file; its material goes into the sheet. What to ask is
said by `machine/site_questions.py`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from cfgmigrate.ground.quantity_text import NotAQuantity

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine, Profile
    from cfgmigrate.machine.site_questions import SiteQuestion
    from cfgmigrate.sheet.keeping import KeptAnswers

HELP_OF_FILES = "a number, don't know (it stays as it is), later, stop"
HELP_OF_MATERIALS = "a plastic for each, in this order, such as PLA PETG; - where nobody knows; later, stop"
_OPEN = {"don't know", "dont know", "don’t know", "do not know", "unknown", "-"}
_LATER, _STOP = {"later", "l"}, {"stop", "quit", "exit", "q"}


class Stopped(Exception):
    """The person stopped."""


def ask_about_files(
    configuration: Configuration,
    machine: Machine,
    kept: KeptAnswers,
    read: Callable[[str], str | None],
    say: Callable[[str], None],
) -> tuple[bool, KeptAnswers]:
    """Ask what the files leave open. Gives whether the site file says more now, and the sheet as it was kept last.

    Raises Stopped where the person stops, Refused where the site file was changed meanwhile or can't be written."""
    from cfgmigrate.machine.site_questions import silent_filaments, site_questions
    from cfgmigrate.sheet.keeping import left_open

    wrote = False
    questions = site_questions(machine, kept.left)
    for number, question in enumerate(questions, 1):
        say("")
        say(f"{number} of {len(questions)}, about the files: {question.place}")
        answer = _chosen(question, read, say)
        if answer is None:
            continue
        if answer < 0:
            kept = left_open(kept, question.name)
            continue
        _write(configuration, question.answers[answer].entry)
        say("  Kept in cfgmigrate.yaml.")
        wrote = True
    silent = [each for each in silent_filaments(machine) if _is_open(each, kept)]
    if silent:
        told, kept = _materials(configuration, machine, silent, kept, read, say)
        wrote = wrote or told
    return wrote, kept


def _chosen(
    question: SiteQuestion, read: Callable[[str], str | None], say: Callable[[str], None]
) -> int | None:
    """The number of the answer, from 0; -1 where it is to stay open, None where it is put off."""
    say(question.why)
    for number, answer in enumerate(question.answers, 1):
        say(f"  {number} {answer.text}")
    while True:
        said = _read(read, "which> ")
        if said in _LATER:
            return None
        if said in _OPEN:
            return -1
        if said.isascii() and said.isdigit() and 1 <= int(said) <= len(question.answers):
            return int(said) - 1
        say(f"  {HELP_OF_FILES}")


def _materials(
    configuration: Configuration,
    machine: Machine,
    silent: list[Profile],
    kept: KeptAnswers,
    read: Callable[[str], str | None],
    say: Callable[[str], None],
) -> tuple[bool, KeptAnswers]:
    from cfgmigrate.sheet.answers import understood
    from cfgmigrate.sheet.keeping import left_open, with_material
    from cfgmigrate.sheet.model import MATERIAL
    from cfgmigrate.sheet.schema import sheet_schema

    wrote, waiting = False, list(silent)
    say("")
    say("About the files: what are these filaments made of? The files don't say.")
    for profile in waiting:
        say(f"  {profile.holder.name} ({profile.place.file}:{profile.place.line})")
    while waiting:
        said = _read(read, f"{waiting[0].holder.name} …> ")
        if said in _LATER:
            break
        for word in ("-",) if said in _OPEN else said.replace(",", " ").split()[: len(waiting)]:
            profile = waiting[0]
            if word in _OPEN:
                kept = left_open(kept, str(profile.holder))
            else:
                try:
                    material = understood(sheet_schema().fields[MATERIAL], word).entry.word
                except NotAQuantity as error:
                    say(f"! {error.what}. {error.remedy}".rstrip())
                    break
                entry = _entry(configuration, machine, profile, material)
                if entry is None:
                    kept = with_material(kept, profile.holder.name, material)
                else:
                    _write(configuration, entry)
                    wrote = True
                say(f"  {profile.holder.name}: {material}")
            waiting.pop(0)
        else:
            if not said:
                say(f"  {HELP_OF_MATERIALS}")
    return wrote, kept


def _is_open(profile: Profile, kept: KeptAnswers) -> bool:
    """Whether nobody said a filament's material yet, nor that it isn't known."""
    from cfgmigrate.sheet.model import MATERIAL, folded

    said = kept.sheet.profiles.get(folded(profile.holder), {})
    return str(profile.holder) not in kept.left and MATERIAL not in said


def _entry(
    configuration: Configuration, machine: Machine, profile: Profile, material: str
) -> Mapping[str, Mapping[str, Any]] | None:
    """The entry of the site file for a filament's material; None where it has no file of its own, or one that is told of
    there already."""
    from cfgmigrate.files.roles import Role

    path = profile.place.file
    role = configuration.roles.get(path)
    alone = [each for each in machine.found_profiles if each.place.file == path] == [profile]
    if not alone or role is None or role.role is not Role.PROFILE or configuration.site.profile_of(path):
        return None
    entry: dict[str, Any] = {"filament": profile.holder.name, "material": material}
    if set(profile.feeders) < set(machine.feeders):
        entry["feeders"] = list(profile.feeders)
    return {"profiles": {path: entry}}


def _write(configuration: Configuration, entry: Mapping[str, Mapping[str, Any]]) -> None:
    from cfgmigrate.files.site import site_at
    from cfgmigrate.files.site_writing import settled_text, write_site

    site = site_at(configuration.root)
    write_site(configuration.root, site, settled_text(site, entry))


def _read(read: Callable[[str], str | None], prompt: str) -> str:
    line = read(prompt)
    said = " ".join(line.split()).casefold() if line is not None else "stop"
    if said in _STOP:
        raise Stopped
    return said

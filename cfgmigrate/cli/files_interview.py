"""The first part of the interview: what the files don't tell. At most three questions of one key each, and one table of
materials; answers go into the site file at once, so that they are asked for once.

A filament that has no file of its own has no place in the site file; its material goes into the sheet. What to ask is
said by `machine/site_questions.py`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from cfgmigrate.cli.answer_words import DONT_KNOW, LATER, STOP_WORDS
from cfgmigrate.ground.quantity_text import NotAQuantity

if TYPE_CHECKING:
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.machine.model import Machine, Profile
    from cfgmigrate.machine.site_questions import SiteQuestion
    from cfgmigrate.sheet.keeping import KeptAnswers

HELP_OF_FILES = "a number, don't know (it stays as it is), later, stop"
HELP_OF_MATERIALS = (
    "a plastic for each, in this order, such as PLA PETG, by the reel's label; what bends like rubber is most"
    " often TPU, and its label says; - where nobody knows; later, stop"
)


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
    from cfgmigrate.machine.site_questions import site_questions
    from cfgmigrate.sheet.keeping import left_open
    from cfgmigrate.workflow.site import can_not_be_read, open_materials, settle

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
        if path := can_not_be_read(configuration, question.answers[answer].entry):
            say(
                f"  Not kept: {path} reads as none of the dialects, so nothing in it can be changed for you. Look "
                f"through it by hand, or say in cfgmigrate.yaml which it is: dialects: {{{path}: …}}."
            )
            kept = left_open(kept, question.name)
            continue
        settle(configuration, question.answers[answer].entry)
        say("  Kept in cfgmigrate.yaml.")
        wrote = True
    silent = list(open_materials(machine, kept))
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
        if said in LATER:
            return None
        if said in DONT_KNOW:
            return -1
        if said in map(str, range(1, len(question.answers) + 1)):
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
    from cfgmigrate.sheet.keeping import left_open
    from cfgmigrate.sheet.model import MATERIAL
    from cfgmigrate.sheet.schema import sheet_schema
    from cfgmigrate.workflow.site import say_material

    wrote, waiting = False, list(silent)
    say("")
    say("About the files: what are these filaments made of? The files don't say.")
    for profile in waiting:
        say(f"  {profile.holder.name} ({profile.place.file}:{profile.place.line})")
    silence = 0
    while waiting:
        said = _read(read, f"{waiting[0].holder.name} …> ")
        silence = 0 if said else silence + 1
        if said == "?":
            said = ""
        if said in LATER or silence > 1:  # nothing said twice puts it off too
            break
        for word in ("-",) if said in DONT_KNOW else said.replace(",", " ").split()[: len(waiting)]:
            profile = waiting[0]
            if word in DONT_KNOW:
                kept = left_open(kept, str(profile.holder))
            else:
                try:
                    material = understood(sheet_schema().fields[MATERIAL], word).entry.word
                except NotAQuantity as error:
                    say(f"! {error.what}. {error.remedy}".rstrip())
                    say(f"  {HELP_OF_MATERIALS}")
                    break
                in_site, kept = say_material(configuration, machine, kept, profile, material)
                wrote = wrote or in_site
                say(f"  {profile.holder.name}: {material}")
            waiting.pop(0)
        else:
            if not said:
                say(f"  {HELP_OF_MATERIALS}")
    return wrote, kept


def _read(read: Callable[[str], str | None], prompt: str) -> str:
    line = read(prompt)
    said = " ".join(line.split()).casefold() if line is not None else "stop"
    if said in STOP_WORDS:
        raise Stopped
    return said

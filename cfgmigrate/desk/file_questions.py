"""What the terminal asks about the files before the swap, as forms: a few lines that one key settles, and materials.

An answer goes into the site file, and the files are read again; what nobody knows is noted in the sheet, as the
terminal notes it, and is not asked again. A material of a filament that has no file of its own goes into the sheet.
"""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from cfgmigrate.desk.session import same_stamp, stamp
from cfgmigrate.desk.web import Visit
from cfgmigrate.ground.findings import BadInput, Place

#: nobody knows
OPEN_ANSWER = "not known"


def questions_of(visit: Visit) -> dict[str, Any]:
    """What the room shows: the questions, the filaments without a material, the plastics, and the forms' stamp."""
    from cfgmigrate.machine.site_questions import site_questions
    from cfgmigrate.sheet.model import MATERIAL
    from cfgmigrate.sheet.schema import sheet_schema
    from cfgmigrate.workflow.site import open_materials

    _, machine = visit.desk.look()
    kept = visit.desk.kept()
    return {
        "asked": site_questions(machine, kept.left),
        "silent": open_materials(machine, kept),
        "plastics": sheet_schema().fields[MATERIAL].choices,
        "questions_stamp": _stamp(visit),
    }


def settle_question(visit: Visit) -> Response:
    """One question about the files answered, or left open."""
    from cfgmigrate.machine.site_questions import site_questions
    from cfgmigrate.sheet.keeping import left_open
    from cfgmigrate.workflow.site import settle

    same_stamp(visit.field("stamp"), *_shown(visit))
    configuration, machine = visit.desk.look()
    kept = visit.desk.kept()
    name, said = visit.field("question"), visit.field("answer")
    question = next((each for each in site_questions(machine, kept.left) if each.name == name), None)
    answers = {str(number): each for number, each in enumerate(question.answers)} if question else {}
    if question is None or said not in {*answers, OPEN_ANSWER}:
        raise BadInput("nothing was chosen", Place("question"), "Choose one of the answers.")
    if said == OPEN_ANSWER:
        left_open(kept, question.name)
        return visit.go("understood", f"Left open: {question.place}. It stays as it is.")
    settle(configuration, answers[said].entry)
    return visit.go(
        "understood", f"Kept in cfgmigrate.yaml: {answers[said].text}. The files were read again."
    )


def say_materials(visit: Visit) -> Response:
    """The table of materials: those that were chosen are kept, those that nobody knows are not asked again."""
    from cfgmigrate.sheet.keeping import left_open
    from cfgmigrate.sheet.model import MATERIAL
    from cfgmigrate.sheet.schema import sheet_schema
    from cfgmigrate.workflow.site import open_materials, say_material

    same_stamp(visit.field("stamp"), *_shown(visit))
    configuration, machine = visit.desk.look()
    kept, told = visit.desk.kept(), []
    chosen = {
        number: visit.field(f"material-{number}") for number, _ in enumerate(open_materials(machine, kept))
    }
    plastics = sheet_schema().fields[MATERIAL].choices
    if wrong := [said for said in chosen.values() if said not in {"", OPEN_ANSWER, *plastics}]:
        raise BadInput(f"there is no plastic {wrong[0]!a}", Place("material"), "Choose one of the list.")
    for number, profile in enumerate(open_materials(machine, kept)):
        if chosen[number] == OPEN_ANSWER:
            kept = left_open(kept, str(profile.holder))
        elif chosen[number]:
            _, kept = say_material(configuration, machine, kept, profile, chosen[number])
        if chosen[number]:
            told.append(f"{profile.holder.name}: {chosen[number]}")
    return visit.go("understood", f"Kept: {', '.join(told) or 'nothing was chosen'}.")


def _stamp(visit: Visit) -> str:
    return stamp(*_shown(visit))


def _shown(visit: Visit) -> tuple[object, ...]:
    """What the forms show: they name answers and filaments by number, so these have to be the same ones."""
    from cfgmigrate.machine.site_questions import site_questions
    from cfgmigrate.workflow.site import open_materials

    configuration, machine = visit.desk.look()
    kept = visit.desk.kept()
    asked, silent = site_questions(machine, kept.left), open_materials(machine, kept)
    return configuration.site.source, kept.present, asked, silent

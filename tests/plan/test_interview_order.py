"""What makes values surer is asked for in the order of the day, and in each sitting by what it is worth."""

from __future__ import annotations

from pathlib import Path

from cfgmigrate import api
from cfgmigrate.plan.asking_order import ordered_questions
from cfgmigrate.plan.interview import SURER, next_question
from cfgmigrate.plan.unlocking import Workings
from cfgmigrate.rules import library
from cfgmigrate.sheet.reader import read_sheet
from cfgmigrate.sheet.schema import ANY_TIME, BEFORE_SITTING, MOUNTED

SAMPLES = Path(__file__).parents[2] / "sample_configs"
DAY = [BEFORE_SITTING, ANY_TIME, MOUNTED]


def test_no_sitting_is_gone_back_to_and_the_worthiest_of_a_sitting_comes_first() -> None:
    machine = api.read_machine([SAMPLES / "wren"])[1]
    bench = Workings(library.book(), machine, library.tables())
    sheet = read_sheet(SAMPLES / "sheets" / "wren.yaml")
    declined: list[str] = []
    sittings: list[str] = []
    while (question := next_question(bench, sheet, declined)) is not None and len(declined) < 4:
        if question.stage == SURER:
            sittings.append(question.sitting)
            alike = [
                each.field
                for each in ordered_questions(bench, sheet, declined)
                if question.sitting == sitting_of(each.field)
            ]
            assert question.field.path == alike[0]
        declined.append(question.field.path)
    assert sittings and sittings == sorted(sittings, key=DAY.index)


def sitting_of(field: str) -> str:
    from cfgmigrate.sheet.schema import sheet_schema

    return sheet_schema().sitting(field)

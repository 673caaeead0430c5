"""The interview at the bench: one question at a time, each answer kept at once.

On a terminal a kept library (prompt_toolkit) edits the line; where the terminal can't be redrawn (`TERM=dumb`), or
nobody sits at one, lines are read as they come, and nothing is redrawn. What is asked next is decided in
`plan/interview.py`, what an answer says in `sheet/answers.py`, and how it is kept in `sheet/keeping.py`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from cfgmigrate.cli.answer_words import BACK, DONT_KNOW, LATER, STOP_WORDS
from cfgmigrate.cli.interview_ends import (
    prepare_command,
    say,
    tell_enough,
    tell_how_to_go_on,
    tell_not_read,
    tell_unsettled,
    where_kept,
)
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.quantity_text import NotAQuantity
from cfgmigrate.reports.safe_text import inert, shell_word

if TYPE_CHECKING:
    from cfgmigrate.plan.interview import SheetQuestion
    from cfgmigrate.plan.model import Plan
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.rules.result import Result
    from cfgmigrate.sheet.keeping import KeptAnswers

HELP = "? how to measure, back, later, don't know, stop"
#: the words of an answer that there is no probe, to what is asked of it: one that denies, what it denies, and nothing else
_DENIES = frozenset(["no", "none", "not", "without", "don't", "doesn't", "isn't", "hasn't", "haven't"])
_PROBES = frozenset(("probe", "one", "none"))
_AROUND = frozenset(
    [
        "i",
        "we",
        "it",
        "there",
        "there's",
        "is",
        "has",
        "have",
        "do",
        "does",
        "a",
        "any",
        "got",
        "fitted",
        "here",
        "machine",
    ]
)
#: so many values that follow are told at once
MOST_SHOWN = 4
#: what is said where a sitting of the day begins
SITTINGS = {
    "before": "While the old drive is still on: what can't be measured once it is off.",
    "any time": "From the papers of the new drive, or to be seen on its parts: at any time, before or after it is mounted.",
    "mounted": "Once the new drive is mounted, switched off and unplugged. If it isn't yet, stop here: the same command goes on with this.",
}


def interview(
    bench: Workings, kept: KeptAnswers, config: str, read: Callable[[str], str | None]
) -> KeptAnswers:
    """Ask until nothing more would change, or the person stops. Gives the sheet as it was kept last."""
    from cfgmigrate.plan.interview import FIRST_PACKET, OLD_DRIVE, SURER
    from cfgmigrate.sheet import keeping

    past: list[KeptAnswers] = []
    stage, sitting, count = "", "", 0
    kept = _asked_again(bench, kept)
    while (question := _next(bench, kept)) is not None:
        if question.stage == SURER and stage in ("", OLD_DRIVE, FIRST_PACKET):
            tell_enough(bench, kept, config)
            sitting = ""
        if question.sitting != sitting:
            say("")
            say(SITTINGS[question.sitting])
        count = count + 1 if question.stage == stage else 1  # what is left is told of this part alone
        stage, sitting = question.stage, question.sitting
        said = _ask(question, count, read, bool(kept.asked), _whose(question, kept))
        if said is None:
            break
        if said in BACK:
            kept = keeping.restored(kept, past.pop()) if past else keeping.taken_back(kept)
            count = max(count - 2, 0)
            continue
        if said in LATER and question.name in kept.later:
            say("What is left was put off twice, so that is all for now.")
            break
        past.append(kept)
        kept = _kept(bench, kept, question, said, past)
    else:
        say("Nothing more to ask: no further answer would change a value that was read.")
        tell_not_read(bench, config)
        tell_unsettled(bench, kept)
        say(f"{where_kept(kept)} Go on with: {prepare_command(kept, config)}")
        return kept
    tell_how_to_go_on(kept, config)
    return kept


def _asked_again(bench: Workings, kept: KeptAnswers) -> KeptAnswers:
    """Open again what nobody could say in an earlier sitting and a light still hangs on, once all else for a first packet
    is said: who comes back may have measured since."""
    from cfgmigrate.plan.interview import SURER
    from cfgmigrate.plan.left_open import hung_on
    from cfgmigrate.sheet import keeping

    question = _next(bench, kept) if kept.declined else None
    if not kept.declined or (question is not None and question.stage != SURER):
        return kept
    names = hung_on(bench.stand(kept.sheet), kept.declined)
    if not names:
        return kept
    say(f"Nobody knew this before, and a light hangs on it, so it is asked again: {', '.join(names)}.")
    return keeping.reopened(kept, names)


def _next(bench: Workings, kept: KeptAnswers) -> SheetQuestion | None:
    from msgspec.structs import replace

    from cfgmigrate.plan.interview import next_of_several, next_question
    from cfgmigrate.plan.noted_in_files import noted_in_files
    from cfgmigrate.sheet.keeping import same_as

    if kept.feeders:
        found = next_of_several(bench, kept.sheet, kept.feeders, kept.declined, kept.later, same_as(kept))
    else:
        found = next_question(bench, kept.sheet, kept.declined, kept.later)
    return found and replace(found, noted=noted_in_files(bench.machine, found.field.path))


def _kept(
    bench: Workings, kept: KeptAnswers, question: SheetQuestion, said: str, past: list[KeptAnswers]
) -> KeptAnswers:
    """The sheet with an answer that was understood; as it was, with a line of help, where it contradicts another one."""
    from cfgmigrate.sheet import keeping
    from cfgmigrate.workflow.answering import take_in

    names = [question.kept_as(field) for field in question.fields]
    if said in LATER:
        return keeping.put_off(kept, *names)
    if said in DONT_KNOW:
        return keeping.declined(kept, *names)
    try:
        taken = take_in(bench.stand, kept, question.fields, said, question.feeder)
    except BadInput as error:
        say(f"! {error.what}. {error.remedy}")
        past.pop()
        return keeping.open_kept(kept.path, known=kept.known) if kept.path.exists() else kept
    _follows(taken.follows, taken.so_far)
    return taken.kept


def _ask(
    question: SheetQuestion,
    count: int,
    read: Callable[[str], str | None],
    may_go_back: bool,
    whose: str = "",
) -> str | None:
    """The answer to a question, once it is one: words of ours as they are, everything else understood. None at the end."""
    from cfgmigrate.sheet.answers import STAYS_SO

    say("")
    say(f"{count} of about {count + question.left - 1}, {question.stage}{whose}")
    _tell(question)
    while True:
        line = read(f"{question.called}> ")
        if line is None:
            return None
        said = " ".join(line.split())
        word = said.casefold()
        if word in STOP_WORDS:
            return None
        if word == "?":
            _how(question)
        elif not said:
            say(f"  {HELP}")
        elif word in BACK and not may_go_back:
            say("  There is nothing to go back to; the sheet may be edited.")
        elif word in BACK | LATER | DONT_KNOW:
            return word
        elif question.field.kind == "part" and word in STAYS_SO:
            say("  The same one as before: which part that is stays open.")
            return "don't know"
        elif "probe" in question.field.path and _no_probe(word):
            say("  Without a probe there is nothing to measure: it stays empty.")
            return "don't know"
        elif _understood(question, said):
            return said


def _no_probe(answer: str) -> bool:
    words = set(answer.replace("’", "'").rstrip(".!").split())
    return bool(words & _DENIES and words & _PROBES) and words <= _DENIES | _PROBES | _AROUND


def _whose(question: SheetQuestion, kept: KeptAnswers) -> str:
    return f", feeder {kept.known.said(question.feeder)}" if question.feeder else ""


def _tell(question: SheetQuestion) -> None:
    """What is asked, and how it is answered."""
    from cfgmigrate.sheet.answers import can_stay_so, combinations
    from cfgmigrate.sheet.schema import sheet_schema

    field, fields = question.field, question.fields
    for each in fields:
        say(f"{each.label}: {each.says}" if question.together else each.says)
    if field.numeric:
        example = " ".join(
            each.example.partition(" ")[0] if question.together else each.example for each in fields
        )
        as_before = "; or: as before" if can_stay_so(field) else ""
        to_the_tip = sheet_schema().to_the_tip.get(field.path, "")
        whole = sheet_schema().fields[to_the_tip].example if to_the_tip else ""
        way = (
            f"; or the whole way from the drive gear, as many leaflets have it: {whole} to the tip"
            if whole
            else ""
        )
        less = "; or: 8 mm earlier than before" if field.path in sheet_schema().less_far else ""
        say(f"  such as {example}{less}{as_before}{way}")
    else:
        for number, words in enumerate(combinations(fields), 1):
            say(f"  {number} {', then '.join(words)}")
    for line in question.noted:
        say(f"  In the files: {line}")
    if question.taken:
        say(f"  taken to be {question.taken}, as with the other feeder; don't know keeps that")


def _understood(question: SheetQuestion, said: str) -> bool:
    from cfgmigrate.workflow.answering import said_of

    try:
        found = said_of(question.fields, said)
    except NotAQuantity as error:
        say(f"! {error.what}. {error.remedy}".rstrip())
        return False
    for field, each in zip(question.fields, found, strict=True):
        whose = f"{field.label} " if question.together else ""
        if each is not None and each.note:
            say(f"  {whose}{each.note}")
    return True


def _how(question: SheetQuestion) -> None:
    from cfgmigrate.reports.sketches import sketch_of

    field, brings = question.field, question.brings
    measures = dict.fromkeys(each.measure for each in question.fields if each.measure)
    by_now = all(each.path.startswith("old.") and each.reads for each in question.fields)
    where = (
        "It is what was set until now, in the machine's files or in a profile"
        if by_now
        else "Its papers say it"
    )
    for measure in measures or (f"{where}; nothing has to be measured. Don't know is an answer, too.",):
        say(f"  {measure}")
    for line in sketch_of(field.path):
        click.echo(f"    {line}")
    if brings.lights:
        say(f"  It settles: {', '.join(brings.lights)}.")
    if brings.beside:
        say(f"  It is needed together with {', '.join(brings.beside)}.")


def _follows(results: tuple[object, ...], so_far: Collection[str] = ()) -> None:
    from cfgmigrate.ground.number_text import measure
    from cfgmigrate.rules.result import Result

    for result in results[:MOST_SHOWN]:
        assert isinstance(result, Result)
        if _cannot_be(result):
            of = measure(result.value, result.uncertainty, result.unit, 4)
            say(
                f"? {result.label} comes to {of}, which can't be. One of the lengths you gave is off: back takes this answer back."
            )
            continue
        more = ", so far: what it hangs on is not all said yet" if result.rule in so_far else ""
        say(f"  → {result.label}: {measure(result.value, result.uncertainty, result.unit, 4)}{more}")
    if len(results) > MOST_SHOWN:
        say(f"  → and {len(results) - MOST_SHOWN} more")


def _cannot_be(result: Result) -> bool:
    """Whether a value is none that its quantity ever has."""
    from cfgmigrate.machine.quantities import known, quantity

    if result.value is None or not known(result.target):
        return False
    return not quantity(result.target).plausible(result.value)


def _reader() -> Callable[[str], str | None]:
    """How a line is read: None at its end."""
    if not at_a_terminal() or os.environ.get("TERM", "dumb") == "dumb":
        return _plain_line
    # else the terminal is asked where its cursor is, and one that doesn't answer is complained of
    os.environ.setdefault("PROMPT_TOOLKIT_NO_CPR", "1")
    from prompt_toolkit import PromptSession

    session: PromptSession[str] = PromptSession()

    def edited(prompt: str) -> str | None:
        try:
            return session.prompt(prompt)
        except (EOFError, KeyboardInterrupt):  # what was answered is kept, and said to be
            return None

    return edited


def _plain_line(prompt: str) -> str | None:
    click.echo(prompt, nl=False)
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not sys.stdin.isatty():
        click.echo(inert(line.rstrip("\n")))
    return line if line else None


def at_a_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty()


def ask(
    config: Sequence[Path],
    out: Path,
    names: Path | None,
    dialects: dict[str, str],
    machine: tuple[Path, ...],
) -> KeptAnswers:
    """The interview that fills the sheet at `out`, once it is told which files are the machine's."""
    from cfgmigrate import api
    from cfgmigrate.cli import options
    from cfgmigrate.cli.feeders_interview import ask_about_feeders
    from cfgmigrate.cli.files_interview import Stopped, ask_about_files
    from cfgmigrate.machine.given_names import name_of_machine
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.rules import library
    from cfgmigrate.sheet.keeping import open_kept
    from cfgmigrate.workflow.lane import known_feeders

    configuration, found = options.answered(
        lambda machine: api.read_machine(config, names, dialects, machine, certain=True), machine
    )
    options.say(configuration.roles)
    known = known_feeders(configuration.site, found)
    called = name_of_machine(found.given_names, configuration.root.name)
    kept = open_kept(out, called, known)
    named, read = " ".join(map(shell_word, config)), _reader()
    say(f"Each answer is kept at once in {kept.path}; stop whenever you like, and go on later. {HELP}.")
    say("Before you measure: switch off, unplug, let it cool down. The maker's data sheets come first.")
    try:
        wrote, kept = ask_about_files(configuration, found, kept, read, say)
        kept = ask_about_feeders(configuration, found, kept, read, say)
    except Stopped:
        kept = open_kept(out, called, known)
        tell_how_to_go_on(kept, named)
        return kept
    if wrote:
        _, found = api.read_machine(config, names, dialects, machine, certain=True)
    return interview(Workings(library.book(), found, library.tables()), kept, named, read)


def offer(
    plan: Plan,
    config: Sequence[Path],
    sheet: Path,
    names: Path | None,
    dialects: dict[str, str],
    machine: tuple[Path, ...],
) -> None:
    """Where a light is unknown and a person sits at a terminal: whether to be asked now for what is missing."""
    lacking = [light.name for light in plan.lights if light.state == "unknown"]
    if not lacking or not at_a_terminal():
        return
    question = f"Unknown: {', '.join(lacking)}. Shall I ask for what is missing, and keep it in {sheet}?"
    if click.confirm(inert(question), default=False):
        ask(config, sheet, names, dialects, machine)

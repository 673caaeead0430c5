"""The state machine of `test_any_order.py` is put to the test itself: broken on purpose, it must find out.

Each mutant is one way in which install, revert or the history could go wrong without an error. The machine
runs with few examples and a fixed seed; one that finds nothing in a mutant could find nothing in the program.

The seed was looked for among twenty: with it 20 examples find every mutant (most seeds need hundreds for what was
held). `EXAMPLES` is three times that, for the mutants and for the program as it is: what finds nothing there would have found
each of them. When the machine or Hypothesis comes to draw otherwise and one is no longer found, look for another seed.
"""

from __future__ import annotations

import importlib.util
import inspect
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, seed, settings
from hypothesis.stateful import run_state_machine_as_test
from msgspec.structs import replace

from cfgmigrate.apply import file_revert, install, locate, revert
from cfgmigrate.apply.locate import LocatedSpan, SpanState
from cfgmigrate.ground.findings import CfgError
from cfgmigrate.packet import folder
from cfgmigrate.plan.edits import FileStep
from cfgmigrate.store import history, transaction

_spec = importlib.util.spec_from_file_location("any_order", Path(__file__).with_name("test_any_order.py"))
assert _spec and _spec.loader
any_order: Any = importlib.util.module_from_spec(_spec)
sys.modules["any_order"] = any_order
_spec.loader.exec_module(any_order)

SEED, EXAMPLES = 10, 60
FEW = settings(
    max_examples=EXAMPLES,
    stateful_step_count=25,
    deadline=None,
    database=None,
    phases=[Phase.generate],
    suppress_health_check=list(HealthCheck),
    print_blob=False,
)

Mutate = Callable[[pytest.MonkeyPatch], None]


def loses_a_file(patch: pytest.MonkeyPatch) -> None:
    """An install of several files leaves the last one as it was."""
    real = transaction.carry_out

    def fewer(store: Any, kind: str, moves: Any) -> tuple[str, ...]:
        own = [move for move in moves if move.path.startswith(".cfgmigrate")]
        others = [move for move in moves if move not in own]
        return real(store, kind, [*(others[:-1] if len(others) > 1 else others), *own])

    patch.setattr(history, "carry_out", fewer)


def installs_what_was_held(patch: pytest.MonkeyPatch) -> None:
    """The review is looked at, and everything goes in all the same."""
    real = install._allowed

    def everything(opened: Any, require_review: bool, signed_by: Any) -> Any:
        _, held = real(opened, require_review, signed_by)
        return opened.plan.changes, held

    patch.setattr(install, "_allowed", everything)


def installs_over_later_edits(patch: pytest.MonkeyPatch) -> None:
    """That a file is not what was read is not noticed."""
    patch.setattr(install, "_check", lambda packet, root, steps, targets: False)
    real = history.record

    def over(store: Any, kind: str, steps: Any, *more: Any, **named: Any) -> Any:
        found = [replace(step, before=(store.root / step.path).read_bytes()) for step in steps]
        return real(store, kind, found, *more, **named)

    patch.setattr(install, "record", over)


def takes_a_changed_value_for_its_own(patch: pytest.MonkeyPatch) -> None:
    """A value that somebody changed since is put back without asking."""

    def blind(step: FileStep, present: bytes) -> tuple[LocatedSpan, ...]:
        found = locate.locate(step, present)
        return tuple(
            replace(each, state=SpanState.INSTALLED) if each.state is SpanState.CHANGED else each
            for each in found
        )

    patch.setattr(file_revert, "locate", blind)


def forgets_one_value_on_the_way_back(patch: pytest.MonkeyPatch) -> None:
    """A revert of two values gives back one."""

    def short(step: FileStep, present: bytes) -> tuple[LocatedSpan, ...]:
        found = locate.locate(step, present)
        return found[:-1] if len(found) > 1 else found

    patch.setattr(file_revert, "locate", short)


def gives_back_whole_files(patch: pytest.MonkeyPatch) -> None:
    """The file as it was before the install comes back, and every edit made since is lost."""

    def whole(self: Any) -> FileStep | None:
        if self.draft is None or self.draft.data == self.present:
            return None
        return FileStep(self.path, self.dialect, self.present, self._first, ())

    real = file_revert.Returning.take_back

    def remember(self: Any, step: FileStep, answers: Any) -> None:
        self._first = step.before
        real(self, step, answers)

    patch.setattr(file_revert.Returning, "take_back", remember)
    patch.setattr(file_revert.Returning, "step", whole)


def goes_back_one_step_too_few(patch: pytest.MonkeyPatch) -> None:
    """`revert --to` stops an entry short of where it should."""
    real = revert._wanted
    patch.setattr(revert, "_wanted", lambda past, entry: min(real(past, entry) + 1, len(past)))


def writes_no_history_of_reverts(patch: pytest.MonkeyPatch) -> None:
    """A revert is carried out and not noted down."""
    real = revert.record

    def silent(store: Any, kind: str, steps: Any, real_paths: Any, *more: Any, **named: Any) -> Any:
        moves = [
            transaction.FileReplacement(real_paths[step.path], step.before, step.after) for step in steps
        ]
        lost = transaction.carry_out(store, kind, moves)
        past = history.read_history(store)
        return (past.entries[-1] if past.entries else real), lost

    patch.setattr(revert, "record", silent)


def shifts_a_span_by_one(patch: pytest.MonkeyPatch) -> None:
    """A value is looked for one byte beside where it stands."""
    real = folder.spans_of

    def beside(changes: Any, path: str) -> Any:
        return tuple(replace(span, after_start=span.after_start + 1) for span in real(changes, path))

    patch.setattr(folder, "spans_of", beside)


MUTANTS: tuple[Mutate, ...] = (
    loses_a_file,
    installs_what_was_held,
    installs_over_later_edits,
    takes_a_changed_value_for_its_own,
    forgets_one_value_on_the_way_back,
    gives_back_whole_files,
    goes_back_one_step_too_few,
    writes_no_history_of_reverts,
    shifts_a_span_by_one,
)


def run() -> None:
    run_state_machine_as_test(seed(SEED)(any_order.AnyOrder), settings=FEW)


@pytest.mark.exhaustive
@pytest.mark.parametrize("mutate", MUTANTS, ids=lambda mutate: mutate.__name__)
def test_a_broken_install_or_revert_is_found_by_the_state_machine(
    mutate: Mutate, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert inspect.getdoc(mutate)
    mutate(monkeypatch)
    with pytest.raises((AssertionError, pytest.fail.Exception, CfgError)) as caught:
        run()
    print(mutate.__name__, "found by", type(caught.value).__name__, str(caught.value)[:100])


@pytest.mark.exhaustive
def test_the_same_run_finds_nothing_in_the_program_as_it_is() -> None:
    run()

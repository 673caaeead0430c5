"""One file on its way back, step by step, with what is to be said of it.

Steps are taken back newest first, each on the result of the one before. What is written in the end, and
reported as restored, is the net result: a value that two steps moved there and back is not touched.

This module deliberately reads and writes no disk.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from shlex import quote
from typing import Any

from msgspec import Struct, to_builtins
from msgspec.structs import replace

from cfgmigrate.apply.locate import LocatedSpan, SpanState, hand_edits, line_of, locate, put_back, undo
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.plan.edits import Draft, FileStep
from cfgmigrate.plan.identity import meant, parts_of

_EDITED = "edited since"
KEPT_AS_ASKED, NOT_ASKED_FOR = "kept, as you asked", "not asked for"


class RevertedItem(Struct, frozen=True):
    """One value or one hand edit in a report; `name` is the value's, "" for an edit. Texts are as people read them;
    `present` is None where the value or its file can't be found; of an edit it is what stands there in the end.
    `line` counts in the present file, 0 where there is none; `typed` is the name of a conflict as it has to be typed."""

    name: str
    file: str
    line: int
    old: str
    installed: str
    present: str | None
    why: str
    typed: str = ""

    def to_json(self) -> dict[str, Any]:
        fields = to_builtins(self)
        quantity, holder = parts_of(fields.pop("name"))
        return {"id": self.name, "quantity": quantity, "holder": holder, **fields}


def in_full(names: Iterable[str]) -> str:
    """What forces values, to be typed as it stands: `--force 'retraction.length @ feeder 2'`."""
    return " ".join(f"--force {quote(name)}" for name in dict.fromkeys(names))


class Answers(Struct, frozen=True):
    """What the user said about values, by name. Without `only`, all are to be given back."""

    only: Collection[str] = ()
    keep: Collection[str] = ()
    force: Collection[str] = ()

    def among(self, known: Collection[str]) -> Answers:
        """The same in the names of what there is; see `plan/identity.py` for what a person may leave out.

        Raises BadInput where a name is unknown or may mean several, or where one is kept and forced at once."""
        groups = (self.only, self.keep, self.force)
        only, keep, force = ({each for name in names for each in meant(name, known)} for names in groups)
        both = sorted(keep & force)
        if both:
            raise BadInput(f"{both[0]} can't be kept and forced at once")
        return Answers(only, keep, force)


def kept_along(kept: Collection[RevertedItem]) -> tuple[str, ...]:
    """What is to be said of places that nobody edited, and that stay since the same value was edited elsewhere and is kept."""
    edited = {item.name for item in kept if item.present is not None and item.present != item.installed}
    return tuple(
        f"{item.file}:{item.line}: stays {item.present}, as the packet wrote it, since you keep {item.name} and edited it elsewhere; before "
        f"the swap it was {item.old}. If you want that there again, write it by hand"
        for item in kept
        if item.name in edited and item.present == item.installed
    )


class Returning:
    """A file while steps on it are taken back. `present` is None where the file is not there."""

    def __init__(self, path: str, present: bytes | None) -> None:
        self.path = path
        self.present = present
        self.draft = Draft(present) if present is not None else None
        self.dialect = ""
        self._installed: dict[str, str] = {}
        self._forced: set[str] = set()
        self._whole: list[RevertedItem] = []
        self._edits: tuple[RevertedItem, ...] = ()
        self._kept: dict[str, RevertedItem] = {}
        self._each_kept: dict[tuple[str, int], RevertedItem] = {}
        self._left: dict[str, RevertedItem] = {}
        self._conflicts: dict[str, RevertedItem] = {}

    def take_back(self, step: FileStep, answers: Answers) -> None:
        """Put the old text of each value of `step` back where the answers allow it."""
        self.dialect = step.dialect
        if self.draft is None:
            self._take_back_whole(step, answers)
            return
        data = self.draft.data
        found = locate(step, data)
        newer = dict(self._conflicts)
        going = [each for each in found if self._goes(each, answers)]
        for each in reversed(found):  # what an answer puts back is what stood before the oldest of the steps
            if asked := newer.get(each.span.name):
                self._conflicts[asked.name] = replace(asked, old=readable(each.old))
        self._edits = tuple(
            RevertedItem(
                "",
                self.path,
                edit.line,
                "",
                readable(edit.installed),
                readable(put_back(edit, going)),
                _EDITED,
            )
            for edit in hand_edits(step, data, found)
        )
        undo(self.draft, going, lambda each: each.span.name)

    def _goes(self, found: LocatedSpan, answers: Answers) -> bool:
        """Whether a value is given back; where not, it is noted why."""
        name = found.span.name
        if answers.only and name not in answers.only:
            self._left.setdefault(name, self._item(found, NOT_ASKED_FOR))
        elif name in answers.keep:
            item = self._item(found, KEPT_AS_ASKED)
            self._kept.setdefault(name, item)
            self._each_kept.setdefault((name, item.line), item)
        elif found.state is SpanState.OLD:
            self._left.setdefault(name, self._item(found, "is already as it was before"))
        elif found.state is SpanState.INSTALLED or (
            found.state is SpanState.CHANGED and name in answers.force
        ):
            if found.state is SpanState.CHANGED:
                self._forced.add(name)
            self._installed.setdefault(name, readable(found.installed))
            self._left.pop(name, None)
            return True
        else:
            hopeless = found.state is SpanState.GONE and name in answers.force
            why = "not found now, so it can't be forced" if hopeless else found.state.value
            self._conflicts.setdefault(name, self._item(found, why))
        return False

    def _take_back_whole(self, step: FileStep, answers: Answers) -> None:
        """A file that was removed since comes back whole, or not at all."""
        names = dict.fromkeys(span.name for span in step.spans)
        if step.before is not None and names and all(name in answers.force for name in names):
            self.draft = Draft(step.before)
            self._conflicts.clear()
            self._whole = [
                RevertedItem(name, self.path, 0, "", "", None, "the whole file came back") for name in names
            ]
            return
        for span in step.spans:
            old = readable((step.before or b"")[span.before_start : span.before_end])
            installed = readable(step.after[span.after_start : span.after_end])
            item = RevertedItem(span.name, self.path, 0, old, installed, None, "the file is not there")
            if answers.only and span.name not in answers.only:
                self._left.setdefault(span.name, item)
            elif span.name in answers.keep:
                self._kept.setdefault(span.name, item)
            else:
                if span.name in answers.force:
                    why = f"the file is not there, and comes back only as a whole: force all of its values, {in_full(names)}"
                    item = replace(item, why=why)
                self._conflicts.setdefault(span.name, item)

    def _item(self, found: LocatedSpan, why: str) -> RevertedItem:
        assert self.draft is not None
        gone = found.state is SpanState.GONE
        return RevertedItem(
            name=found.span.name,
            file=self.path,
            line=0 if gone else line_of(self.draft.data, found.start),
            old=readable(found.old),
            installed=readable(found.installed),
            present=None if gone else readable(found.present),
            why=why,
        )

    def step(self) -> FileStep | None:
        """What is to be written, None where the file stays as it is."""
        if self.draft is None or self.draft.data == self.present:
            return None
        spans = () if self.present is None else self.draft.net_spans()
        return FileStep(self.path, self.dialect, self.present, self.draft.data, spans)

    def restored(self) -> tuple[RevertedItem, ...]:
        """The values that get another text than they have."""
        if self.present is None or self.draft is None:
            return tuple(self._whole)
        return tuple(
            RevertedItem(
                name=span.name,
                file=self.path,
                line=line_of(self.present, span.before_start),
                old=readable(self.draft.data[span.after_start : span.after_end]),
                installed=self._installed.get(span.name, ""),
                present=readable(self.present[span.before_start : span.before_end]),
                why="forced" if span.name in self._forced else "was as installed",
            )
            for span in self.draft.net_spans()
        )

    def kept(self) -> tuple[RevertedItem, ...]:
        """Edits made since, and values that the user wants as they are."""
        return (*self._kept.values(), *self._edits)

    def every_kept(self) -> tuple[RevertedItem, ...]:
        """Each place of the values that the user wants as they are."""
        return tuple(self._each_kept.values())

    def left(self) -> tuple[RevertedItem, ...]:
        """Values that stay as they are, with the reason."""
        return tuple(self._left.values())

    def conflicts(self) -> tuple[RevertedItem, ...]:
        """Values that need an answer."""
        return tuple(self._conflicts.values())

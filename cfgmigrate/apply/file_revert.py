"""One file on its way back, step by step, with what is to be said of it.

Steps are taken back newest first, each on the result of the one before. What is written in the end, and
reported as restored, is the net result: a value that two steps moved there and back is not touched.

This module deliberately reads and writes no disk.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from difflib import get_close_matches
from typing import Any

from cfgmigrate.apply.locate import Found, State, hand_edits, line_of, locate, put_back
from cfgmigrate.dialects.document import readable
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.plan.edits import Draft, FileStep

_EDITED = "edited since"


@dataclass(frozen=True, slots=True)
class Item:
    """One value or one hand edit in a report. Texts are as people read them; `present` is None where the
    value or its file can't be found; of an edit it is what stands there in the end. `line` counts in the present file, 0 where there is none."""

    quantity: str
    file: str
    line: int
    old: str
    installed: str
    present: str | None
    why: str

    def to_json(self) -> dict[str, Any]:
        return {name: getattr(self, name) for name in self.__slots__}


@dataclass(frozen=True, slots=True)
class Answers:
    """What the user said about quantities. Without `only`, all are to be given back."""

    only: Collection[str] = ()
    keep: Collection[str] = ()
    force: Collection[str] = ()

    def check(self, known: Collection[str]) -> None:
        """Raises BadInput where a name is unknown, or kept and forced at once."""
        for name in (*self.only, *self.keep, *self.force):
            if name not in known:
                near = get_close_matches(name, sorted(known), 1)
                raise BadInput(
                    f"nothing was changed under the name {name!a}",
                    remedy=f"Did you mean {near[0]}?" if near else f"It has: {', '.join(sorted(known))}.",
                )
        both = sorted(set(self.keep) & set(self.force))
        if both:
            raise BadInput(f"{both[0]} can't be kept and forced at once")


class Returning:
    """A file while steps on it are taken back. `present` is None where the file is not there."""

    def __init__(self, path: str, present: bytes | None) -> None:
        self.path = path
        self.present = present
        self.draft = Draft(present) if present is not None else None
        self.dialect = ""
        self._installed: dict[str, str] = {}
        self._forced: set[str] = set()
        self._whole: list[Item] = []
        self._edits: tuple[Item, ...] = ()
        self._kept: dict[str, Item] = {}
        self._left: dict[str, Item] = {}
        self._conflicts: dict[str, Item] = {}

    def take_back(self, step: FileStep, answers: Answers) -> None:
        """Put the old text of each value of `step` back where the answers allow it."""
        self.dialect = step.dialect
        if self.draft is None:
            self._take_back_whole(step, answers)
            return
        data = self.draft.data
        found = locate(step, data)
        going = [each for each in found if self._goes(each, answers)]
        self._edits = tuple(
            Item(
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
        reached = len(data) + 1
        for each in sorted(going, key=lambda each: (each.start, each.end), reverse=True):
            if each.end <= reached and each.start < reached:
                self.draft.replace(each.span.quantity, each.start, each.end, each.old)
                reached = each.start

    def _goes(self, found: Found, answers: Answers) -> bool:
        """Whether a value is given back; where not, it is noted why."""
        name = found.span.quantity
        if answers.only and name not in answers.only:
            self._left.setdefault(name, self._item(found, "not asked for"))
        elif name in answers.keep:
            self._kept.setdefault(name, self._item(found, "kept, as was said"))
        elif found.state is State.OLD:
            self._left.setdefault(name, self._item(found, "is already as it was before"))
        elif found.state is State.INSTALLED or (found.state is State.CHANGED and name in answers.force):
            if found.state is State.CHANGED:
                self._forced.add(name)
            self._installed.setdefault(name, readable(found.installed))
            self._left.pop(name, None)
            return True
        else:
            hopeless = found.state is State.GONE and name in answers.force
            why = "not found now, so it can't be forced" if hopeless else found.state.value
            self._conflicts.setdefault(name, self._item(found, why))
        return False

    def _take_back_whole(self, step: FileStep, answers: Answers) -> None:
        """A file that was removed since comes back whole, or not at all."""
        names = dict.fromkeys(span.quantity for span in step.spans)
        if step.before is not None and names and all(name in answers.force for name in names):
            self.draft = Draft(step.before)
            self._conflicts.clear()
            self._whole = [
                Item(name, self.path, 0, "", "", None, "the file came back whole") for name in names
            ]
            return
        for span in step.spans:
            old = readable((step.before or b"")[span.before_start : span.before_end])
            installed = readable(step.after[span.after_start : span.after_end])
            item = Item(span.quantity, self.path, 0, old, installed, None, "the file is not there")
            if answers.only and span.quantity not in answers.only:
                self._left.setdefault(span.quantity, item)
            elif span.quantity in answers.keep:
                self._kept.setdefault(span.quantity, item)
            else:
                if span.quantity in answers.force:
                    why = "the file is not there, and comes back only as a whole: force all of its values"
                    item = replace(item, why=why)
                self._conflicts.setdefault(span.quantity, item)

    def _item(self, found: Found, why: str) -> Item:
        assert self.draft is not None
        gone = found.state is State.GONE
        return Item(
            quantity=found.span.quantity,
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

    def restored(self) -> tuple[Item, ...]:
        """The values that get another text than they have."""
        if self.present is None or self.draft is None:
            return tuple(self._whole)
        return tuple(
            Item(
                quantity=span.quantity,
                file=self.path,
                line=line_of(self.present, span.before_start),
                old=readable(self.draft.data[span.after_start : span.after_end]),
                installed=self._installed.get(span.quantity, ""),
                present=readable(self.present[span.before_start : span.before_end]),
                why="forced" if span.quantity in self._forced else "was as installed",
            )
            for span in self.draft.net_spans()
        )

    def kept(self) -> tuple[Item, ...]:
        """Edits made since, and values that the user wants as they are."""
        return (*self._kept.values(), *self._edits)

    def left(self) -> tuple[Item, ...]:
        """Values that stay as they are, with the reason."""
        return tuple(self._left.values())

    def conflicts(self) -> tuple[Item, ...]:
        """Values that need an answer."""
        return tuple(self._conflicts.values())

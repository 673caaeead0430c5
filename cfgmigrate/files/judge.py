"""Which role each file has: the rules, in their order.

    1. What the user said; then what a file without a mark takes in is in force, whatever it is called.
    2. A mark with a direction (old, bak, before, a date) and enough settings shared with a file that has none
       make a kept copy; so does lying in a folder of such copies. A mark alone is nothing. What follows the whole
       name of another file, ending and all, is such a mark, whatever it says.
    3. Of files that are much alike, one that is taken in counts and one that is not is a kept copy. Where includes
       don't decide, nor one says that it is superseded, it is asked which of them run.
    4. A filament's or a print's identity, fewer than two axes and little hardware make a profile, of a file that
       doesn't take in what has them; and so does lying beside several such profiles that set the same, or beside profiles
       and together with another one that sets the same. A header that nothing takes in is none: what it sets is set by
       those that are taken in, and it is kept.
    5. Setting codes without moves, beside files of another dialect, are saved values.
    6. Groups by include that set the same of two axes, or much the same under another machine's name or in a folder
       of their own, are different machines: it is asked which one is meant, unless all but one say that they are
       somebody else's.
       The rest is part of the machine.

Where something is asked, the roles given meanwhile are what is likeliest, and whoever writes must have the answer first.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence, Set
from dataclasses import dataclass, field

from msgspec import Struct

from cfgmigrate.dialects.document import Document
from cfgmigrate.files.board_kept import may_be_the_boards
from cfgmigrate.files.content import (
    PRINT_MOVES,
    content_of,
    named_as_filament,
    profile_evidence,
    same,
    shared,
)
from cfgmigrate.files.heads import is_own_test, says_in_force, says_past
from cfgmigrate.files.likely import ENOUGH, Likely
from cfgmigrate.files.machines import IncludeTree, conflicts, elses, not_elses, sets_of, two_roots
from cfgmigrate.files.marks import are_sides, folder_marks, folder_of, is_log, longer_than, marks_of, words_of
from cfgmigrate.files.order import includers_of
from cfgmigrate.files.own_scripts import in_own_codes, is_in_codes
from cfgmigrate.files.roles import FileRole, Option, Question, Role

#: the part of a marked file's settings that an unmarked one of its bare name, or any unmarked one, must have
LIKE_ITS_ORIGINAL, LIKE_ANY = 0.3, 0.6
#: the part of settings with the same values from which two files are alike
ALIKE = 0.6
#: so many files that one takes in are counted
MOST_COUNTED = 100
#: a profile speaks of hardware in no more than this part of its settings
LITTLE = 0.15
#: so many files beside it does a root take in
FEWEST_PARTS = 2


class Judged(Struct, frozen=True):
    """The role of every document, and what has to be asked."""

    roles: Mapping[str, FileRole]
    questions: tuple[Question, ...] = ()


def judge(documents: Mapping[str, Document], root_name: str, said: Mapping[str, FileRole]) -> Judged:
    """Judges documents that were each read alone. `said` are roles that the user gave."""
    judging = _Judging(documents, root_name, said)
    judging.rules()
    return Judged(dict(sorted(judging.roles.items())), tuple(judging.questions))


@dataclass(eq=False, repr=False)
class _Judging:
    documents: Mapping[str, Document]
    root_name: str
    said: Mapping[str, FileRole]
    roles: dict[str, FileRole] = field(default_factory=dict)
    questions: list[Question] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.content = {path: content_of(document) for path, document in self.documents.items()}
        self.roles.update({path: role for path, role in self.said.items() if path in self.documents})
        self.file_names = frozenset(path.rpartition("/")[2].casefold() for path in self.documents)
        self.meant = {path for path, role in self.roles.items() if role.role is Role.IN_FORCE}
        self.includers = includers_of(self.documents)
        self.profiles: dict[str, str] = {}

    def rules(self) -> None:
        self._give_no_configuration()
        live = self._without_headers_apart(self._without_copies())
        self.profiles = {path: why for path in live if (why := self._profile(path))}
        self.profiles |= {path: why for path in live if (why := self._beside_profiles(path))}
        live = self._without_look_alikes(live)
        for path in live:
            if path in self.profiles:
                self.give(path, Role.PROFILE, self.profiles[path])
        self._give_saved_values(live)
        self._tell_machines_apart([path for path in live if path not in self.roles or path in self.meant])
        self.questions += may_be_the_boards(self.documents, self.content, self.roles)

    def give(self, path: str, role: Role, why: str) -> None:
        self.roles.setdefault(path, FileRole(path, role, why))

    def left(self) -> list[str]:
        """Files without a role so far."""
        return [path for path in self.documents if path not in self.roles]

    # includes

    def closure(self, paths: Iterable[str], most: int | None = None) -> set[str]:
        """Files with all that they take in, over any number of steps; no more than `most` of them, if given."""
        found, waiting = set[str](), list(paths)
        while waiting and (most is None or len(found) < most):
            path = waiting.pop()
            if path not in found:
                found.add(path)
                includes = self.documents[path].includes
                waiting += [file for include in includes for file in include.files if file in self.documents]
        return found

    def taken_in(self, path: str, by: Iterable[str]) -> str:
        """Who takes a file in, of these, in words; "" for nobody."""
        among = by if isinstance(by, Set) else set(by)
        return next(
            (f"{who}:{line} takes it in" for who, line in self.includers.get(path, ()) if who in among), ""
        )

    # 1 and 2: what is no configuration, and kept copies

    def _give_no_configuration(self) -> None:
        included = set(self.includers)
        for path in self.left():
            content = self.content[path]
            if path in included:
                continue
            if is_own_test(self.documents[path]):
                self.give(path, Role.NONE, "it is a test script of this program")
            elif content.laid >= PRINT_MOVES and content.laid > len(content.values) / 3:
                why = f"it is something to print: {content.laid} of its moves lay filament down"
                self.give(path, Role.NONE, why)
            elif is_log(path.rpartition("/")[2]) and not self._is_kept_as_log_book(path):
                self.give(path, Role.NONE, "its name says that it is a log")

    def _is_kept_as_log_book(self, path: str) -> bool:
        """Whether a file that is called a log says that it is in force, or sets a machine, and no other does: commands that
        were sent may be a log's all the same, and a board's report at its start says what the machine's own file sets."""
        others = (other for other in self.documents if other != path and not is_log(other.rpartition("/")[2]))
        if says_in_force(self.documents[path]):
            return True
        own = self.documents[path].dialect != "command" and self._is_machine(path)
        return own and not any(map(self._is_machine, others))

    def _without_copies(self) -> list[str]:
        """Gives the kept copies their role. What is left may be live."""
        left = [path for path in self.documents if path not in self.roles or path in self.meant]
        unmarked = [path for path in left if path in self.meant or not self._mark(path)]
        live = self.closure(unmarked) - (self.roles.keys() - self.meant)
        marked = [path for path in left if path not in live]
        for path in marked:
            if why := self._copied_from(path, sorted(live)):
                self.give(path, Role.COPY, why)
        for path in marked:
            if path not in self.roles and self._lies_among_copies(path):
                self.give(path, Role.COPY, f"it lies among kept copies, in {folder_of(path)}/")
        doubtful = [path for path in marked if path not in self.roles]
        for path in sorted(live - self.meant):
            if why := self._part_of_a_copy(path, live):
                self.give(path, Role.COPY, why)
        return self._without_only_copies(doubtful, live - (self.roles.keys() - self.meant))

    def _part_of_a_copy(self, path: str, live: Collection[str]) -> str:
        """Who takes a file in, where that is a kept copy beside it and nothing else, and another one of its name may be live; ""
        else."""
        by = {who for who, _ in self.includers.get(path, ())}
        copies = {who for who in by if (role := self.roles.get(who)) and role.role is Role.COPY}
        name = path.rpartition("/")[2]
        twin = any(other != path and other.rpartition("/")[2] == name for other in live)
        if not by or by != copies or not twin or {folder_of(who) for who in by} != {folder_of(path)}:
            return ""
        return f"nothing takes it in but {min(by)}, which is a kept copy"

    def _without_headers_apart(self, live: list[str]) -> list[str]:
        """Gives headers their role that nothing takes in while others are, and that set what those set: a header is read
        only where another one takes it in."""
        headers = {path for path in live if self.documents[path].dialect == "header"}
        taken = {path for path in headers & self.includers.keys() if self.taken_in(path, headers)}
        set_there = {name: path for path in sorted(taken) for name in self.content[path].values}
        for path in sorted(headers - taken - self.meant):
            names = self.content[path].values
            also = [name for name in names if name in set_there]
            if len(also) > 1 and len(also) >= ALIKE * len(names) and not self.documents[path].includes:
                why = f"nothing takes it in, and {set_there[also[0]]}, which is taken in, sets the same"
                self.give(path, Role.COPY, why)
        return [path for path in live if path not in self.roles or path in self.meant]

    def _mark(self, path: str) -> str:
        """The first mark with a direction in a file's name or folders, else what follows another file's whole name in it;
        "" where there is none."""
        name = path.rpartition("/")[2]
        whole = longer_than(name, self.file_names)
        behind = name[len(whole) :].strip(" .") if whole else ""
        if not folder_marks(path).directed and self._heads_what_lies_beside(path):
            return ""
        return (*marks_of(name).directed, *folder_marks(path).directed, behind)[0]

    def _heads_what_lies_beside(self, path: str) -> bool:
        """Whether a file whose name is a mark and nothing else takes in files beside it that no other takes in: that is what the
        machine, or its place, is called."""
        if len(marks_of(path.rpartition("/")[2]).bare) > 1:
            return False
        parts = [file for include in self.documents[path].includes for file in include.files]
        beside = {file for file in parts if folder_of(file) == folder_of(path)}
        others = (who for file in beside for who, _ in self.includers.get(file, ()))
        return len(beside) >= FEWEST_PARTS and {path, *beside}.issuperset(others)

    def _copied_from(self, path: str, live: Sequence[str]) -> str:
        """The evidence that a marked file is a copy of a live one; "" where there is none."""
        name = path.rpartition("/")[2]
        bare, whole = marks_of(name).bare, longer_than(name, self.file_names)
        best, part, named = "", 0.0, False
        for other in live:
            theirs = other.rpartition("/")[2]
            own = marks_of(theirs).bare == bare or theirs.casefold() == whole
            found = shared(self.content[path], self.content[other])
            if (own, found) > (named, part) and found >= (LIKE_ITS_ORIGINAL if own else LIKE_ANY):
                best, part, named = other, found, own
        if not best:
            return ""
        return f"its name says {self._mark(path)!r}, and {part:.0%} of its settings are in {best} too"

    def _lies_among_copies(self, path: str) -> bool:
        folder = folder_of(path)
        if not folder_marks(path).directed:
            return False
        beside = [other for other in self.documents if folder_of(other) == folder]
        copies = [other for other in beside if (r := self.roles.get(other)) and r.role is Role.COPY]
        return 2 * len(copies) >= len(beside)

    def _without_only_copies(self, doubtful: list[str], live: set[str]) -> list[str]:
        """Marked files that are copies of nothing here: live, or, where a machine is among them, asked about."""
        has_machine = any(self._is_machine(path) for path in live)
        alone = [path for path in doubtful if self._is_machine(path)] if not has_machine else []
        several = {
            path
            for path in doubtful
            for other in doubtful
            if path != other and shared(self.content[path], self.content[other]) >= LIKE_ANY
        }
        asked = sorted({*alone, *several})
        if asked:
            first, *others = sorted(asked, key=lambda path: (self._mark(path), path), reverse=True)
            for path in others:
                self.give(path, Role.COPY, f"its name says {self._mark(path)!r}; whether it runs is asked")
            options = tuple(Option(path, (path,)) for path in (first, *others))
            text = "Here are only files whose names speak of copies. Which of them does the machine read?"
            self.questions.append(Question("machine", text, options))
        return [
            path for path in self.documents if path in live or (path in doubtful and path not in self.roles)
        ]

    def _is_machine(self, path: str) -> bool:
        # a filament may have an acceleration of its own for x and y
        return len(self.content[path].axis_letters) > (2 if named_as_filament(path) else 1)

    def _starts(self, path: str) -> bool:
        """Whether a file takes in what a machine has built in: where all of it begins is no profile."""
        parts = self.closure([path], MOST_COUNTED) - {path} if self.documents[path].includes else ()
        return any(self._is_machine(part) or self.content[part].hardware > LITTLE for part in parts)

    # 4 and 5: profiles and saved values

    def _profile(self, path: str) -> str:
        """The evidence that a file is a filament's or a print's profile; "" where there is none."""
        content = self.content[path]
        coded = content.codes and not named_as_filament(path)
        is_script = self.documents[path].dialect == "command" and (content.moves or coded)
        taken = path in self.roles or path in self.includers or self._is_machine(path) or self._starts(path)
        return "" if taken or is_script or content.hardware > LITTLE else profile_evidence(path, content)

    def _beside_profiles(self, path: str) -> str:
        """The evidence that a file without an identity is a profile like those that it lies with; "" where there is none."""
        if path in self.profiles or path in self.roles or path in self.includers or not folder_of(path):
            return ""
        if self._is_machine(path) or self.content[path].hardware > LITTLE or self._starts(path):
            return ""
        beside = [other for other in self.documents if other != path and folder_of(other) == folder_of(path)]
        alike = [
            other
            for other in beside
            if other.rpartition(".")[2] == path.rpartition(".")[2]
            and self.documents[other].dialect == self.documents[path].dialect
            and shared(self.content[path], self.content[other]) >= ALIKE
        ]
        profiles = [other for other in alike if other in self.profiles]
        if len(profiles) > 1:
            return f"it lies beside profiles that say the same, such as {profiles[0]}"
        among = any(other in self.profiles for other in beside)
        twin = next((each for each in alike if each not in self.roles and each not in self.includers), "")
        if not (among and twin and len(self.content[path].values) >= ENOUGH):
            return ""
        return f"it lies beside profiles, and {twin} sets the same: one of the two at a time"

    def _give_saved_values(self, live: Sequence[str]) -> None:
        others = {self.documents[path].dialect for path in live if self.content[path].axis_letters}
        for path in live:
            content = self.content[path]
            alone = self.documents[path].dialect == "command" and content.codes and not content.moves
            if (
                alone
                and others - {"command"}
                and path not in self.includers
                and not self._is_own_script(path)
            ):
                self.give(path, Role.SAVED, f"it holds {content.codes} lines of setting codes and no moves")

    def _is_own_script(self, path: str) -> bool:
        """Whether a file seems to be a script in codes of its owner's own, by its name or since one beside it that ends alike
        has such a name: what it does is no value that the board keeps."""
        document = self.documents[path]
        if in_own_codes(document):
            return True
        beside = (folder_of(path), path.rpartition(".")[2])
        named = any(
            (folder_of(other), other.rpartition(".")[2]) == beside and in_own_codes(self.documents[other])
            for other in self.documents
        )
        return named and is_in_codes(document)

    # 3: look-alikes

    def _without_look_alikes(self, live: list[str]) -> list[str]:
        """Gives files that are much like another one their role, or asks."""
        order = sorted(live, key=self._rank)
        kept: list[str] = []
        asked: dict[str, tuple[str, float]] = {}
        likely = Likely()
        for path in order:
            bare, size = marks_of(path.rpartition("/")[2]).bare, len(self.content[path].values)
            other, part = self._most_like(path, likely.others(bare, size))
            if not other or path in self.meant:
                kept.append(path)
            elif other in self.meant or (other in self.includers and path not in self.includers):
                how = "which you said is in force" if other in self.meant else self.taken_in(other, live)
                why = f"{part:.0%} of its settings are the same in {other} ({how}), and nothing takes this one in"
                self.give(path, Role.COPY, why)
            elif (path in self.includers and other in self.includers) or two_roots(path, other, self.closure):
                kept.append(path)
            elif (past := self._past(path)) and not self._past(other):
                why = f"{part:.0%} of its settings are the same in {other}, and it says of itself: {past}"
                self.give(path, Role.COPY, why)
            else:
                asked[path] = other, part
            if kept[-1:] == [path]:
                likely.add(path, bare, size)
        if asked:
            self._ask_look_alikes(asked)
        gone = self.closure(asked) - self.closure(kept)
        for path in sorted(gone - self.roles.keys()):
            self.give(path, Role.COPY, self.taken_in(path, gone) + ", which is much like a file in force")
        return [path for path in live if path in kept and path not in gone]

    def _rank(self, path: str) -> tuple[bool, bool, bool, bool, bool, int, int, int, str]:
        """The likeliest to be in force first: of several that nothing takes in, the one that is called like its folder. A
        copy's name says more than the file's: which, and of when."""
        folder, _, name = path.rpartition("/")
        called = folder.rpartition("/")[2] or self.root_name
        return (
            path not in self.meant,
            path not in self.includers,
            bool(self._past(path)),
            name.rpartition(".")[0].casefold() != called.casefold(),
            bool(marks_of(path.rpartition("/")[2]).loose)
            or any(marks_of(s).loose for s in path.split("/")[:-1]),
            path.count("/"),
            len(words_of(path.rpartition("/")[2])),
            -len(self.closure([path], MOST_COUNTED)),
            path,
        )

    def _past(self, path: str) -> str:
        return says_past(self.documents[path])

    def _most_like(self, path: str, others: Iterable[str]) -> tuple[str, float]:
        """The file that this one is most like, and the part of its settings that are the same; "" for none."""
        content = self.content[path]
        marks = marks_of(path.rpartition("/")[2])
        best, part = "", 0.0
        for other in others:
            if self.documents[other].dialect != self.documents[path].dialect or are_sides(path, other):
                continue
            theirs = self.content[other]
            if self._of_two_machines(path, other) or self._are_alternatives(path, other):
                continue
            found = same(content, theirs)
            small = min(len(content.values), len(theirs.values)) < ENOUGH
            named = bool(marks.loose) and marks.bare == marks_of(other.rpartition("/")[2]).bare
            named = named or _lies_below_its_namesake(path, other)
            if (found >= ALIKE and not small) or (named and shared(content, theirs) >= ALIKE):
                best, part = (other, max(found, 0.01)) if found >= part else (best, part)
        return best, part

    def _are_alternatives(self, one: str, other: str) -> bool:
        """Whether two files are profiles, which may be as like as they want, but for a copy in another folder: one of the
        same name, or one that says the same of itself as what is taken in."""
        if one not in self.profiles and other not in self.profiles:
            return False
        if folder_of(one) == folder_of(other):
            return True
        if {one, other} - self.profiles.keys() and {one, other} & self.includers.keys():
            return self.content[one].identities != self.content[other].identities
        return one.rpartition("/")[2] != other.rpartition("/")[2]

    def _of_two_machines(self, one: str, other: str) -> bool:
        """Whether two files set axes and go by different names: the machine's, or their own in different folders."""
        first, second = self.content[one], self.content[other]
        if first.names and second.names:
            return not first.names & second.names
        apart = folder_of(one) != folder_of(other) and "" not in (folder_of(one), folder_of(other))
        if not apart or not (self._is_machine(one) and self._is_machine(other)):
            return False
        return marks_of(one.rpartition("/")[2]).bare != marks_of(other.rpartition("/")[2]).bare

    def _ask_look_alikes(self, asked: Mapping[str, tuple[str, float]]) -> None:
        for path, (other, part) in asked.items():
            why = f"{part:.0%} of its settings are the same in {other}; which of the two runs is asked"
            self.give(path, Role.COPY, why)
        options = tuple(Option(f"{path}, much like {other}", (path,)) for path, (other, _) in asked.items())
        text = "These files are much like others that lie here. Which of them does the machine read instead?"
        instead = tuple(dict.fromkeys(other for other, _ in asked.values()))
        none = "none of them: they are copies"
        self.questions.append(Question("look-alikes", text, options, none, instead))

    # 6: machines

    def _tell_machines_apart(self, live: list[str]) -> None:
        present = frozenset(live)
        included = {path for path in live if self.taken_in(path, present)}
        roots = [path for path in live if path not in included or path in self.meant]
        told = [path for path in roots if not in_own_codes(self.documents[path])] or roots
        units = [IncludeTree(root, frozenset(self.closure([root]))) for root in told]
        sets = sets_of(units, self.content, self.root_name)
        meant = [each for each in sets if self.meant & each.files] or not_elses(sets, self.documents)
        if len(sets) > 1 and not meant:
            options = tuple(Option(each.label, each.roots) for each in sets)
            text = f"Here are {len(sets)} machines. Which one is meant?"
            self.questions.append(Question("machine", text, options))
        chosen = meant or sets[:1]
        ours = {path for each in chosen for path in each.files}
        for other in sets:
            if other not in chosen:
                rival = chosen[0]
                why = f"it is of {other.label}, another machine than {rival.label}: {conflicts(other, rival)}"
                why += f", and it says {said!r}" if (said := elses(other, self.documents)) else ""
                for path in sorted(other.files - ours):
                    self.give(path, Role.OTHER, why)
                self._give_beside(other.folder, ours, f"it lies with {other.label}, which is another machine")
        self._go_with_said(set(live), ours)
        for path in live:
            self.give(path, Role.IN_FORCE, self._why_live(path, present))

    def _go_with_said(self, live: set[str], ours: set[str]) -> None:
        """What a file takes in that was said to be of another machine, and what lies beside it, go with it."""
        told = [path for path, role in self.roles.items() if role.said and role.role is Role.OTHER]
        for path in told:
            parts = self.closure([path]) - {path}
            parts -= self.closure(live - parts) | self.closure(self.meant)
            for part in sorted(parts):
                self.give(
                    part, Role.OTHER, f"{self.taken_in(part, parts | {path})}, which is of another machine"
                )
            if not self._is_machine(path) and not (parts and self.meant):
                continue
            beside = {each for each in live if each.startswith(f"{folder_of(path)}/")}
            if not any(map(self._is_machine, beside)):
                mine = ours | self.meant | self.closure(live - beside - parts)
                self._give_beside(folder_of(path), mine, f"it lies with {path}, which is another machine")

    def _give_beside(self, folder: str, ours: set[str], why: str) -> None:
        """What lies in the folder of another machine goes with it."""
        if not folder or any(path.startswith(folder + "/") for path in ours):
            return
        for path in (each for each in self.documents if each.startswith(folder + "/") and each not in ours):
            role = self.roles.get(path)
            if not (role and (role.said or not role.role.taken)):
                self.roles[path] = FileRole(path, Role.OTHER, why)

    def _why_live(self, path: str, live: Set[str]) -> str:
        taken = self.taken_in(path, live)
        if taken:
            return taken
        axes = "".join(sorted(self.content[path].axis_letters)).upper()
        if mark := self._mark(path):
            return f"its name says {mark!r}, but nothing here is what it would be a copy of"
        if self.documents[path].includes:
            count = len(self.closure([path], MOST_COUNTED)) - 1
            return f"it takes in {count if count < MOST_COUNTED - 1 else 'many'} other files"
        return f"it sets the axes {axes}" if len(axes) > 1 else "nothing speaks against it"


def _lies_below_its_namesake(one: str, other: str) -> bool:
    """Whether two files have one name, and one lies somewhere below the other's folder."""
    (folder, _, name), (elsewhere, _, called) = (path.rpartition("/") for path in (one, other))
    upper, lower = sorted((folder, elsewhere), key=len)
    return name == called and upper != lower and (not upper or lower.startswith(f"{upper}/"))

"""Of a history that two machines share each is told of its own steps, and of the other's what they did to the shared file."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import pytest

from cfgmigrate.apply.asked_machine import (
    AskedMachine,
    machines_apart,
    sentences_of_others,
    steps_of_others,
    told_of,
    told_of_several,
)
from cfgmigrate.plan.edits import Span
from cfgmigrate.store.entries import EntryFile, HistoryEntry
from cfgmigrate.store.history import History

#: the files of the machine in the barn and of that in the loft; both have the shared one
BARN, LOFT, SHARED, PROFILE = "barn/feeder.ini", "loft/feeder.ini", "shared.ini", "loft/grey.ini"


@pytest.fixture
def root(tmp_path: Path) -> Path:
    for path in (BARN, LOFT, SHARED, PROFILE):
        (tmp_path / path).parent.mkdir(exist_ok=True)
        (tmp_path / path).write_text("lamp = 7\n")
    return tmp_path.resolve()


def step(
    number: int, *edited: str, kind: str = "install", packet: str = "", read: Sequence[str] = ()
) -> HistoryEntry:
    files = tuple(
        EntryFile(path, "sectioned", "0" * 64, "1" * 64, (Span(f"value in {path}", 0, 1, 0, 1),))
        for path in edited
    )
    reasons = {"inputs": list(read)} if read else None
    return HistoryEntry(number, kind, "", packet or str(number) * 64, "", files, (), "", reasons=reasons)


def machine(*paths: str, heads: Iterable[str] | None = None, kept: Iterable[str] = ()) -> AskedMachine:
    return AskedMachine(frozenset(paths), frozenset(paths if heads is None else heads), frozenset(kept))


IN_THE_BARN, IN_THE_LOFT = machine(BARN, SHARED, heads=[BARN]), machine(LOFT, SHARED, heads=[LOFT])


def told(past: Sequence[HistoryEntry], root: Path, asked: AskedMachine) -> tuple[list[int], list[int]]:
    """The numbers of the entries that are the machine's own, and of those that are another one's."""
    others = [entry.number for entry in steps_of_others(past, root, asked)]
    assert [entry.number for entry in told_of(History(past), root, asked)] == [
        entry.number for entry in past if entry.number not in others
    ]
    return [entry.number for entry in past if entry.number not in others], others


def test_an_install_a_tick_and_a_revert_are_those_of_the_machine_whose_packet_it_is(root: Path) -> None:
    past = (
        step(1, BARN, SHARED),
        step(2, LOFT, SHARED),
        step(3, kind="done", packet="2" * 64),
        step(4, LOFT, SHARED, kind="revert", packet="2" * 64),
        step(5, kind="done", packet="1" * 64),
        step(6, SHARED, kind="revert", packet="1" * 64),
    )
    assert told(past, root, IN_THE_BARN) == ([1, 5, 6], [2, 3, 4])
    assert told(past, root, IN_THE_LOFT) == ([2, 3, 4], [1, 5, 6])


def test_what_others_did_to_the_shared_file_is_told_with_the_files_that_only_they_have(root: Path) -> None:
    """A revert of the shared file alone is still that of the machine in the loft, with all of its files."""
    past = (
        step(1, BARN, SHARED),
        step(2, LOFT, PROFILE, SHARED),
        step(3, SHARED, kind="revert", packet="2" * 64),
        step(4, PROFILE, kind="tune", packet="4" * 64),
        step(5, kind="done", packet="2" * 64),
    )
    others = told_of(History(past), root, IN_THE_BARN).others
    assert [(each.entry, each.kind, each.files) for each in others] == [
        (2, "install", (SHARED,)),
        (3, "revert", (SHARED,)),
    ]
    assert all(
        each.of == (LOFT, PROFILE) and each.values == ((SHARED, f"value in {SHARED}"),) for each in others
    )
    assert sentences_of_others([each.to_json() for each in others]) == (
        f"{SHARED} was changed for another machine, too ({LOFT}, {PROFILE}): install 2, revert 3",
    )


def test_a_machine_s_history_as_json_has_its_own_entries_and_what_others_did_to_its_files(root: Path) -> None:
    past = History((step(1, BARN, SHARED), step(2, LOFT, SHARED)))
    said = told_of(past, root, IN_THE_BARN).to_json()
    assert [each["number"] for each in said["entries"]] == [1]
    (theirs,) = said["others"]
    assert (theirs["entry"], theirs["files"], theirs["of"]) == (2, [SHARED], [LOFT])
    assert "others" not in past.to_json()


def test_of_many_files_and_steps_a_few_are_named_and_the_rest_counted() -> None:
    def said(files: int, steps: int) -> str:
        of = [f"loft/{number}.ini" for number in range(1, files + 1)]
        return sentences_of_others(
            [
                {"files": [SHARED], "of": of, "kind": "install", "entry": number}
                for number in range(1, steps + 1)
            ]
        )[0].partition("(")[2]

    assert said(2, 4) == "loft/1.ini, loft/2.ini): install 1, install 2, install 3, install 4"
    assert (
        said(3, 5)
        == "loft/1.ini, loft/2.ini and 1 more): install 1, install 2, install 3, install 4 and 1 more"
    )
    assert said(5, 1) == "loft/1.ini, loft/2.ini and 3 more): install 1"


def test_a_history_of_this_machine_alone_is_told_as_it_is(root: Path) -> None:
    past = History((step(1, BARN, SHARED), step(2, SHARED)))
    assert told_of(past, root, IN_THE_BARN) is past


def test_a_step_that_edited_only_what_both_have_is_told_to_both(root: Path) -> None:
    past = (step(1, SHARED),)
    assert told(past, root, IN_THE_BARN) == told(past, root, IN_THE_LOFT) == ([1], [])


def test_a_step_that_had_read_this_machine_s_own_file_is_its_own(root: Path) -> None:
    """Some machine of all these files was prepared at once: the barn's too."""
    past = (step(1, LOFT, read=[BARN, LOFT, SHARED]), step(2, LOFT, read=[LOFT, SHARED]))
    assert told(past, root, IN_THE_BARN) == ([1], [2])


def test_a_folder_has_all_that_lies_below_it_and_no_other(root: Path) -> None:
    past = (step(1, LOFT), step(2, BARN), step(3, PROFILE))
    assert told(past, root, machine("loft")) == ([1, 3], [2])
    assert told(past, root, machine("")) == ([1, 2, 3], [])
    assert machine("loft").has(PROFILE) and machine("").has(PROFILE)
    assert not machine("lof").has(LOFT) and not machine(LOFT).has("loft")


def test_a_file_that_is_gone_or_leads_here_or_is_kept_beside_makes_no_other_machine(root: Path) -> None:
    past = (step(1, LOFT, SHARED),)
    assert told(past, root, IN_THE_BARN) == ([], [1])
    kept = machine(BARN, SHARED, heads=[BARN], kept=[LOFT])
    assert told(past, root, kept) == ([1], []), "a copy that was once its own"
    (root / LOFT).unlink()
    assert told(past, root, IN_THE_BARN) == ([1], []), "it may have another name by now"
    (root / LOFT).symlink_to(root / BARN)
    assert told(past, root, IN_THE_BARN) == ([1], []), "another name of this machine's file"
    (root / LOFT).unlink()
    (root / LOFT).symlink_to(root / PROFILE)
    assert told(past, root, IN_THE_BARN) == ([], [1]), "another name of a file of the loft"
    (root.parent / BARN).parent.mkdir(exist_ok=True)
    (root.parent / BARN).write_text("lamp = 7\n")
    (root / LOFT).unlink()
    (root / LOFT).symlink_to(root.parent / BARN)
    assert told(past, root, IN_THE_BARN) == ([], [1]), "it leads out of the folder"


def test_a_revert_of_several_steps_is_told_wherever_it_reached(root: Path) -> None:
    """It is entered with the newest packet that it takes back, here the loft's."""
    past = (step(1, BARN), step(2, LOFT), step(3, BARN, LOFT, kind="revert", packet="2" * 64))
    assert told(past, root, IN_THE_BARN) == ([1, 3], [2])
    assert told(past, root, IN_THE_LOFT)[0] == [2, 3]
    of_the_barn = (step(1, LOFT), step(2, BARN), step(3, LOFT, kind="revert", packet="2" * 64))
    assert told(of_the_barn, root, IN_THE_BARN) == ([2, 3], [1]), "its own file was back already"


def test_a_history_tells_machines_apart_by_what_their_steps_read_and_edited(root: Path) -> None:
    def there(path: str) -> bool:
        return (root / path).exists()

    barn = step(1, BARN, SHARED, read=[BARN, SHARED])
    loft = step(2, LOFT, read=[LOFT, SHARED])
    part = step(3, LOFT, read=[LOFT])
    more = step(4, PROFILE, read=[LOFT, SHARED, PROFILE])
    assert machines_apart([barn, loft], there) == ((BARN,), (LOFT,))
    assert machines_apart([barn, loft, part, more], there) == ((BARN,), (LOFT, PROFILE))
    assert machines_apart([loft, part, more], there) == (), (
        "one machine, told of with more and with fewer files"
    )
    assert machines_apart([barn, step(2, LOFT)], there) == (), "what it read was not kept"
    assert machines_apart([barn, loft, step(3, LOFT), step(4, kind="done")], there) == ((BARN,), (LOFT,))
    assert machines_apart([barn, step(2, LOFT, kind="revert", read=[LOFT])], there) == ()
    assert machines_apart([barn, step(2, LOFT, kind="done", read=[LOFT])], there) == ()
    (root / LOFT).unlink()
    assert machines_apart([barn, step(2, LOFT, read=[LOFT])], there) == (), "it may have another name by now"
    said = told_of_several([(BARN,), (), (LOFT, PROFILE, "loft/red.ini")])
    assert said.startswith(f"Several machines share this history ({BARN}; {LOFT}, {PROFILE} and 1 more), and")

"""A machine that shares a history with another one goes back, and what the other's steps left for itself stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.apply.revert_beside import machines_beside
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.store.history import record
from cfgmigrate.store.keeping import Store

#: the file of the machine in the barn, which is to go back, that of the one in the loft, and the one that both have
BARN, LOFT, SHARED = "barn.conf", "loft.conf", "grey.ini"
FILES = {
    BARN: b"name=barn\ninclude grey.ini\nretract.length=5.4\n",
    LOFT: b"name=loft\ninclude grey.ini\nretract.length=6.1\n",
    SHARED: b"[filament grey]\nretract length = 6.2\n",
}
LEFT = FILES[SHARED].replace(b"6.2", b"0.6")


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """Where the machine in the loft was migrated, its own file and the shared one."""
    for path, data in FILES.items():
        (tmp_path / path).write_bytes(data)
    steps = []
    for path, old in ((LOFT, b"6.1"), (SHARED, b"6.2")):
        at, after = FILES[path].index(old), FILES[path].replace(old, b"0.6")
        dialect = "sectioned" if path == SHARED else "flat"
        span = Span(f"value in {path}", at, at + 3, at, at + 3)
        steps.append(FileStep(path, dialect, FILES[path], after, (span,)))
    store = Store(tmp_path.resolve())
    with store.locked():
        reasons = {"inputs": [LOFT, SHARED]}
        real = {each.path: each.path for each in steps}
        record(store, "install", steps, real, "ab" * 32, "loft", reasons=reasons)
    return tmp_path.resolve()


def changed(root: Path, written: tuple[str, ...] = (BARN,)) -> dict[str, str]:
    read = {path: FILES[path] for path in (BARN, SHARED)}
    return dict(machines_beside(root, read, written).changed)


def test_what_another_machine_s_step_left_in_a_file_that_was_only_read_is_left_as_it_is(root: Path) -> None:
    assert changed(root) == {SHARED: "install 1"}
    beside = machines_beside(root, {path: FILES[path] for path in (BARN, SHARED)}, (BARN,))
    assert beside.but_theirs(FILES).keys() == {BARN, LOFT}
    assert any(SHARED in each and "install 1" in each for each in beside.told(()))


def test_what_this_machine_wrote_itself_is_its_own_to_take_back(root: Path) -> None:
    assert changed(root, (BARN, SHARED)) == {}


def test_what_was_edited_since_or_put_back_is_no_step_s(root: Path) -> None:
    (root / SHARED).write_bytes(LEFT + b"wide = 3\n")
    assert changed(root) == {}
    (root / SHARED).write_bytes(FILES[SHARED])
    assert changed(root) == {}


def test_a_file_that_is_gone_since_is_no_step_s_either(root: Path) -> None:
    (root / SHARED).unlink()
    assert changed(root) == {}

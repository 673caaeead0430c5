"""Two who write at one moment do so one after the other, and nobody's own file goes away for it."""

from __future__ import annotations

import threading
import time
from pathlib import Path

from cfgmigrate.ground.disk import write_through
from cfgmigrate.ground.one_at_a_time import one_at_a_time


def test_what_one_reads_and_writes_nobody_else_writes_in_between(tmp_path: Path) -> None:
    count = tmp_path / "count"
    count.write_text("0")

    def add() -> None:
        for _ in range(5):
            with one_at_a_time(tmp_path):
                found = int(count.read_text())
                time.sleep(0.002)
                count.write_text(str(found + 1))

    both = [threading.Thread(target=add) for _ in range(2)]
    for each in both:
        each.start()
    for each in both:
        each.join()
    assert count.read_text() == "10"


def test_a_folder_that_is_not_there_is_no_reason_to_stop(tmp_path: Path) -> None:
    with one_at_a_time(tmp_path / "gone"):
        pass


def test_a_persons_own_file_beside_it_stays(tmp_path: Path) -> None:
    path, own = tmp_path / "swap.yaml", tmp_path / "swap.yaml.new"
    path.write_text("a")
    own.write_text("mine")
    write_through(path, b"b")
    assert (path.read_text(), own.read_text()) == ("b", "mine")
    path.unlink()
    write_through(path, b"c")
    assert (path.read_text(), own.read_text()) == ("c", "mine")
    assert {each.name for each in tmp_path.iterdir()} == {"swap.yaml", "swap.yaml.new"}


def test_what_a_killed_process_left_of_the_same_file_goes_away(tmp_path: Path) -> None:
    path = tmp_path / "swap.yaml"
    left = tmp_path / ".cfgmigrate-unfinished-swap.yaml.4194999"  # beyond what Linux numbers processes up to
    other = tmp_path / ".cfgmigrate-unfinished-site.yaml.4194999"
    for each in (path, left, other):
        each.write_text("a")
    write_through(path, b"b")
    assert {each.name for each in tmp_path.iterdir()} == {path.name, other.name}

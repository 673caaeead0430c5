"""A packet's pages are compared with the plan by the edition that wrote them; of others it is said that they weren't."""

from __future__ import annotations

from pathlib import Path

import cfgmigrate
from cfgmigrate import api
from cfgmigrate.packet.opening import read_packet
from cfgmigrate.reports.edition import edition, is_of_this_edition

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"


def test_a_packet_says_by_which_edition_its_pages_were_written(tmp_path: Path) -> None:
    api.prepare([SAMPLES / "knot"], SAMPLES / "sheets" / "knot.yaml", out=tmp_path / "packet")
    pages = read_packet(tmp_path / "packet").pages
    assert is_of_this_edition(pages)
    assert api.unverified(tmp_path / "packet") == ()
    other = {name: data.replace(edition().encode(), b"0" * 12) for name, data in pages.items()}
    assert not is_of_this_edition(other)


def test_pages_that_say_no_edition_are_those_of_another_release() -> None:
    assert not is_of_this_edition({"changes.md": b"# Changes\n", "checklist.md": b""})
    assert not is_of_this_edition({})

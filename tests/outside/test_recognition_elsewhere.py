"""Files that have nothing to do with printers: no quantity is seen in them.

Outside sources, read at test time: the C headers of Debian's `linux-libc-dev` and `libc6-dev` under
/usr/include, and the unit files of the machine.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise

HEADERS = sorted(Path("/usr/include/linux").glob("*.h"))[:150]
UNITS = [path for path in sorted(Path("/usr/lib/systemd/system").glob("*.service")) if path.is_file()]


@pytest.mark.parametrize(
    ("files", "dialect"), [(HEADERS, "header"), (UNITS, "sectioned")], ids=["headers", "units"]
)
def test_no_quantity_is_seen_where_there_is_none(files: list[Path], dialect: str) -> None:
    if not files:
        pytest.skip("this machine has none of these files")
    seen = []
    for path in files:
        try:
            document = read(path.name, path.read_bytes(), dialect)
        except (BadInput, OSError):
            continue
        for reading in recognise([document]).readings:
            found = quantity(reading.quantity)
            if not found.protected and found.kind != "script":
                seen.append((str(path), reading.setting.name, reading.quantity))
    assert seen == []

"""One quantity measured several times: its mean, how sure that is, and how much the repeats scatter.

Standard deviation and standard error as in the GUM (JCGM 100:2008, 4.2.2 and 4.2.3). The reading error of the
tool is the half width of a rectangular distribution (4.3.7); a single reading is never taken to scatter less
than that, however well a few of them happen to agree.

This module reads no text; `reader.py` does.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from msgspec.structs import replace

from cfgmigrate.sheet.model import SheetEntry

#: what stands behind a field's name for the two numbers that go with its mean
COUNT, SPREAD = ".count", ".spread"


def summary(
    path: str, repeats: Sequence[SheetEntry], reading_error: SheetEntry | None
) -> dict[str, SheetEntry]:
    """The entries of a list of repeats: the mean under `path` itself, `.count`, and `.spread` of two or more.

    Of one repeat alone without a reading error nothing is known of its uncertainty; it is then 0."""
    values = [entry.value for entry in repeats if entry.value is not None]
    first = replace(repeats[0], text=", ".join(entry.text for entry in repeats))
    spread = statistics.stdev(values) if len(values) > 1 else 0.0
    least = (reading_error.value or 0.0) / math.sqrt(3) if reading_error is not None else 0.0
    error = max(spread, least) / math.sqrt(len(values))
    found = {
        path: replace(first, path=path, value=statistics.fmean(values), uncertainty=error),
        path + COUNT: replace(first, path=path + COUNT, value=float(len(values)), unit=""),
    }
    if len(values) > 1:
        found[path + SPREAD] = replace(first, path=path + SPREAD, value=spread)
    return found

"""The measurements as tables.

    python -m tests.bench [--rounds N] [--machines N] [--only NAME]... [--write]

Run in the repository's root, with the test requirements installed. `--write` puts the tables into tests/README.md between two marks.
"""

from __future__ import annotations

import argparse
import os
import platform
from collections.abc import Sequence
from math import isnan
from pathlib import Path

from tests.bench import fleet, histories, measures

README = Path(__file__).parents[1] / "README.md"
BEGIN, END = "<!-- figures: python -m tests.bench --write -->", "<!-- end of figures -->"
COMPARED = ("start", "prepare", "recompute", "parse")
PARTS = (*COMPARED, "growth", "histories", "fleet")


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(cells)} |" for cells in lines) + "\n"


def figures(only: Sequence[str], rounds: int, many: int) -> str:
    """The tables of the parts asked for, as Markdown."""
    made = []
    compared = [part for part in COMPARED if part in only]
    if compared:
        rows = [row for part in compared for row in getattr(measures, part)(rounds)]
        cells = [
            (
                row.what,
                row.ours,
                row.beside,
                row.peer,
                "–" if isnan(row.ratio) else f"{row.ratio:.2f}",
                row.goal,
            )
            for row in rows
        ]
        made.append(table(("what", "here", "beside", "there", "ratio", "meant to be"), cells))
    if "growth" in only:
        rates = [
            (
                f"reading `{found.dialect}`",
                *(f"{each:.3g} s" for each in found.seconds),
                f"{found.exponent:.2f}",
                f"{found.memory:.0f} ×",
                f"{found.made:.0f} ×",
            )
            for found in measures.growth()
        ]
        lengths = [f"{length:,} lines" for length in measures.GROWTH]
        memory = ("memory of the file's size", "with all settings asked for")
        made.append(table(("what", *lengths, "grows by the power", *memory), rates))
    if "histories" in only:
        took = histories.seconds(rounds)
        lengths = [f"{number} entries" for number in histories.ENTRIES]
        times = [
            (f"`{name}`", *(f"{each * 1000:.0f} ms" for each in found), f"{found[-1] / found[0]:.2f}")
            for name, found in took.items()
        ]
        made.append(table(("at a machine whose history has", *lengths, "ratio"), times))
    if "fleet" in only:
        ways = [
            (row.way, str(row.machines), f"{row.rate:.1f}", f"{row.ratio:.2f}", f"{row.peak:.0f} MiB")
            for row in fleet.rows(many)
        ]
        made.append(table(("many machines", "machines", "a second", "ratio", "memory, all processes"), ways))
    about = (
        f"Python {platform.python_version()}, {os.cpu_count()} cores; whole processes and texts in turn with what"
        f" stands beside them, in processor time, the fastest of {rounds}."
    )
    return "\n".join([about + "\n", *made])


def written(readme: str, text: str) -> str:
    """The README with these tables between its marks. Raises ValueError where it has no marks."""
    before, begin, rest = readme.partition(BEGIN)
    _, end, after = rest.partition(END)
    if not begin or not end:
        raise ValueError(f"{README.name} has no marks {BEGIN} and {END}")
    return f"{before}{BEGIN}\n\n{text}\n{END}{after}"


def main() -> None:
    asked = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__.split("\n")[0])
    asked.add_argument("--rounds", type=int, default=7, help="how often each is run")
    asked.add_argument("--machines", type=int, default=fleet.MACHINES, help="how many machines a fleet has")
    asked.add_argument("--only", action="append", choices=PARTS, help="one part (may be repeated)")
    asked.add_argument("--write", action="store_true", help="put the tables into tests/README.md")
    given = asked.parse_args()
    text = figures(given.only or PARTS, given.rounds, given.machines)
    print(text)
    if given.write:
        README.write_text(written(README.read_text(encoding="utf-8"), text), encoding="utf-8")


if __name__ == "__main__":
    main()

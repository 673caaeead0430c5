"""Any bytes at all, for each grammar: no traceback, no hang, no changed byte (coverage-guided, by `atheris`).

    python tests/bench/fuzz.py GRAMMAR [libFuzzer options, such as -runs=20000 -max_total_time=20 FOLDER]

A dialect's grammar is fuzzed by reading a file and recognising what is in it; each piece is to be where the
last one ended, one value is replaced, and the file is read again. The grammars of values, conditions and
formulas get a text. FOLDER holds texts to begin with; `seed GRAMMAR FOLDER` writes what the samples have.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path

import atheris

# to write the seeds nothing has to be counted, and to prepare for it takes several times as long as the seeds
with nullcontext() if sys.argv[1] == "seed" else atheris.instrument_imports(include=["cfgmigrate"]):
    from cfgmigrate.dialects import DIALECTS, read
    from cfgmigrate.dialects.condition import holds
    from cfgmigrate.dialects.document import State, readable
    from cfgmigrate.dialects.value import Items, Number, Ratio, read_value
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.ground.findings import BadInput
    from cfgmigrate.machine.recognise import recognise
    from cfgmigrate.machine.survey import survey_of
    from cfgmigrate.rules.formula import FormulaError, read_condition, read_expression

SAMPLES = Path(__file__).parents[2] / "sample_configs"
BEGINNINGS = {
    "value": [
        b"22.9",
        b"46:15 x 3:1",
        b"{ 88, 88, 640, 96 }",
        b'"0.45 A"',
        b"0x1F",
        b"190 mm",
        b"70 %",
        b"(4)",
    ],
    "condition": [b"1 ? 0 : 2", b"@ && 0 || !3", b"(1 << 4) + 0x1F % 3 == 'a'", b"1 / 0"],
    "formula": [
        b"pi * new.drive_gear.effective_diameter / new.drive_gear.gear_ratio",
        b'known was.feeder.gear_ratio and not new.driver.set_by is "screw"',
        b"-min(a.b, sqrt(2)) ^ 2 < 3",
    ],
}


def dialect(name: str) -> Callable[[bytes], None]:
    def fuzzed(data: bytes) -> None:
        try:
            document = read("f", data, name)
        except BadInput as problem:
            assert problem.remedy
            return
        stands = [0, *(piece.end for piece in document.pieces)]
        assert [piece.start for piece in document.pieces] == stands[:-1] and stands[-1] == len(data)
        configuration = Configuration(Path("/nowhere"), (document,))
        survey_of(recognise(configuration), configuration)
        written = [each for each in document.settings if each.start < each.end and each.state is State.ACTIVE]
        if written:
            old = written[len(data) % len(written)]
            assert document.slice(old.start, old.end) == old.value
            edited = data[: old.start] + b"7" + data[old.end :]
            again = [setting for setting in read("f", edited, name).settings if setting.start == old.start]
            assert [(each.key, each.value) for each in again] == [(old.key, "7")]

    return fuzzed


def value(data: bytes) -> None:
    text = readable(data)
    found = read_value(text)
    inside = [found] if isinstance(found, Number) else list(found.items) if isinstance(found, Items) else []
    if isinstance(found, Ratio):
        inside = [number for stage in found.stages for number in stage]
    assert all(text[each.start : each.end] == each.text for each in inside if isinstance(each, Number))


def condition(data: bytes) -> None:
    holds(readable(data))


def formula(data: bytes) -> None:
    for read_text in (read_expression, read_condition):
        try:
            read_text(readable(data))
        except FormulaError as problem:
            assert str(problem)


TARGETS: dict[str, Callable[[bytes], None]] = {
    **{name: dialect(name) for name in DIALECTS},
    "value": value,
    "condition": condition,
    "formula": formula,
}


def write_seeds(name: str, folder: Path) -> None:
    """What to begin with: the samples' files in pieces of some lines each."""
    texts = BEGINNINGS.get(name, [])
    for path in sorted(SAMPLES.rglob("*")) if name in DIALECTS else []:
        if path.is_file() and path.suffix != ".yaml":
            lines = path.read_bytes().splitlines(keepends=True)
            texts = [*texts, *(b"".join(lines[at : at + 12]) for at in range(0, len(lines), 12))]
    for number, text in enumerate(texts):
        (folder / f"seed{number}").write_bytes(text)


def main() -> None:
    if sys.argv[1] == "seed":
        write_seeds(sys.argv[2], Path(sys.argv[3]))
        return
    target = TARGETS[sys.argv.pop(1)]
    atheris.Setup(sys.argv, target)
    atheris.Fuzz()


if __name__ == "__main__":
    main()

"""Laws 1, 2 and 5 over files that others wrote, beside three general-purpose libraries.

    python tests/bench/corpus.py [--limit N] [--each N]

Each file is read and written back; then values are edited one at a time, and read again: exactly the span
of that value may differ, and exactly that setting. A value that means the same as a file's number is no edit,
a different one is, and is read back as what was meant. Prints one table: files, identical, refused with a
reason, values edited, numbers compared; and for what is read as sectioned the same run (read, write back) of
ConfigUpdater, ConfigObj and iniparse from PyPI. Nothing is kept. What the corpora are and where they come
from is said in `corpora.py`; one that can't be had is left out and said.
"""

from __future__ import annotations

import argparse
import io
import itertools
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from math import isclose

from corpora import CORPORA, Absent, Corpus, Sample

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Document, Setting, State
from cfgmigrate.dialects.value import Number, read_value
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Form, Reading
from cfgmigrate.plan.encoding import write
from cfgmigrate.plan.items import means_the_same
from cfgmigrate.rules.result import Derivation, Result, Status

#: what a value is replaced by, to see that nothing else changes; no corpus file has it
NEW = "7.2591"
#: how a file may have a quantity: as it is, a minute's worth of a second's, the other way up
FORMS = (Form(), Form(factor=1 / 60), Form(factor=3200.0, reciprocal=True))


@dataclass
class Tally:
    files: int = 0
    bytes: int = 0
    identical: int = 0
    changed: int = 0
    refused: int = 0
    settings: int = 0
    edited: int = 0
    numbers: int = 0
    seconds: float = 0.0
    wrong: list[str] = field(default_factory=list)
    refusals: dict[str, int] = field(default_factory=dict)


def first_of(corpus: Corpus, limit: int) -> list[Sample]:
    """At most so many samples, evenly spread. Raises Absent where the corpus can't be had."""
    every = list(corpus.samples())
    return every[:: max(1, -(-len(every) // limit))]


def try_samples(corpus: Corpus, samples: Sequence[Sample], each: int) -> Tally:
    """The laws over these samples: `each` values of a file are edited and read again, every number compared."""
    tally = Tally()
    for sample in samples:
        tally.files += 1
        tally.bytes += len(sample.data)
        began = time.perf_counter()
        try:
            document = read(sample.name, sample.data, corpus.dialect)
        except BadInput as problem:
            tally.refused += 1
            tally.refusals[problem.what] = tally.refusals.get(problem.what, 0) + 1
            continue
        finally:
            tally.seconds += time.perf_counter() - began
        _written_back(tally, document, sample.data)
        _edited_alone(tally, document, each)
        _means_the_same(tally, document)
    return tally


def _written_back(tally: Tally, document: Document, data: bytes) -> None:
    """Law 1: the pieces stand one behind the other, and joined they are the file."""
    stands = [0, *(piece.end for piece in document.pieces)]
    joined = b"".join(data[piece.start : piece.end] for piece in document.pieces)
    if joined == data and [piece.start for piece in document.pieces] == stands[:-1]:
        tally.identical += 1
    else:
        tally.changed += 1
        tally.wrong.append(f"{document.path}: the pieces are not the file")


def _edited_alone(tally: Tally, document: Document, each: int) -> None:
    """Law 2: every value is the text of its span, and no two spans share a byte; `each` of them, evenly spread,
    are replaced in turn, and the file is read again."""
    data = document.data
    written = [n for n, setting in enumerate(document.settings) if setting.start < setting.end]
    spans = sorted((document.settings[n].start, document.settings[n].end) for n in written)
    tally.settings += len(written)
    if any(end > start for (_, end), (start, _) in itertools.pairwise(spans)):
        tally.wrong.append(f"{document.path}: two values share a byte")
    expected = signature(document.settings)
    for number in written[:: max(1, -(-len(written) // each))]:
        old = document.settings[number]
        if document.slice(old.start, old.end) != old.value:
            tally.wrong.append(f"{document.path}:{old.line}: {old.name} is not what stands at its span")
        edited = data[: old.start] + NEW.encode() + data[old.end :]
        again = signature(read(document.path, edited, document.dialect).settings)
        tally.edited += 1
        if again != [*expected[:number], (old.section, old.key, NEW), *expected[number + 1 :]]:
            tally.wrong.append(f"{document.path}:{old.line}: editing {old.name} changed more than that")


def signature(settings: tuple[Setting, ...]) -> list[tuple[str, str, str]]:
    return [(each.section, each.key, each.value) for each in settings]


def _means_the_same(tally: Tally, document: Document) -> None:
    """Law 5: for every plain number, in whatever unit the file has it, its value in another spelling is no
    edit; a value that differs is one, and its text means that value."""
    for setting in document.settings:
        value = read_value(setting.value)
        if not isinstance(value, Number) or setting.state is not State.ACTIVE:
            continue
        tally.numbers += 1
        spelled = read_value(f"{value.text}0" if "." in value.text else f"{value.text}.0")
        same = spelled.value if isinstance(spelled, Number) else value.value
        for form in FORMS if value.value else FORMS[:2]:
            reading = _reading(document, setting, value, form)
            asked = _result(form.to_value(same))
            if not means_the_same(asked, reading, write(asked, reading)):
                tally.wrong.append(f"{reading.place}: {setting.value} is rewritten although nothing changes")
            other = _result(form.to_value(value.value * 1.125 or 1.0))
            written = write(other, reading)
            back = read_value(written.text)
            meant = isinstance(back, Number) and isclose(
                form.to_value(back.value), written.value, rel_tol=1e-9
            )
            if means_the_same(other, reading, written) or not meant:
                tally.wrong.append(f"{reading.place}: {setting.value} does not become {other.value}")


def _reading(document: Document, setting: Setting, value: Number, form: Form) -> Reading:
    place, spelled = document.place(setting), form.to_value(value.value)
    return Reading("retraction.length", spelled, value.text, place, setting.start, setting.end, form, setting)


def _result(value: float) -> Result:
    made_up = Derivation("value", "", (), "made up for this run")
    return Result("any", "retraction.length", "any", "", value, 0.0, Status.COMPUTED, "any", made_up)


def by_updater(text: str) -> str:
    from configupdater import ConfigUpdater

    updater = ConfigUpdater(strict=False, allow_no_value=True)
    updater.read_string(text)
    return str(updater)


def by_configobj(text: str) -> str:
    from configobj import ConfigObj

    out = io.BytesIO()
    ConfigObj(io.BytesIO(text.encode()), encoding="utf-8", interpolation=False).write(out)
    return out.getvalue().decode()


def by_iniparse(text: str) -> str:
    from iniparse import INIConfig

    return str(INIConfig(io.StringIO(text)))


OTHERS: dict[str, Callable[[str], str]] = {
    "ConfigUpdater": by_updater,
    "ConfigObj": by_configobj,
    "iniparse": by_iniparse,
}


def by_other(samples: Sequence[Sample], write_back: Callable[[str], str]) -> Tally:
    tally = Tally()
    for sample in samples:
        data = sample.data
        tally.files += 1
        tally.bytes += len(data)
        began = time.perf_counter()
        try:
            same = write_back(data.decode("utf-8")).encode() == data
        except Exception:  # each has errors of its own, and some fail in ways of no kind
            tally.refused += 1
        else:
            tally.identical += same
            tally.changed += not same
        tally.seconds += time.perf_counter() - began
    return tally


def rows(corpus: Corpus, samples: Sequence[Sample], each: int) -> Iterator[tuple[str, Tally]]:
    yield f"{corpus.name} ({corpus.source})", try_samples(corpus, samples, each)
    if corpus.dialect == "sectioned":
        for other, write_back in OTHERS.items():
            yield f"the same by {other}", by_other(samples, write_back)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--limit", type=int, default=300, help="files of each corpus at most")
    parser.add_argument("--each", type=int, default=20, help="values edited in each file at most")
    options = parser.parse_args()
    wrong: list[str] = []
    print(
        "| files | read | identical | changed | refused | values | edited alone | numbers compared | MB/s |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    for corpus in CORPORA:
        try:
            samples = first_of(corpus, options.limit)
        except Absent as reason:
            print(f"| {corpus.name} ({corpus.source}): not here: {reason} | | | | | | | | |")
            continue
        for name, tally in rows(corpus, samples, options.each):
            wrong += tally.wrong
            counts = (tally.files, tally.identical, tally.changed, tally.refused)
            ours = (tally.settings, tally.edited, tally.numbers) if tally.settings else ("", "", "")
            speed = tally.bytes / tally.seconds / 1e6 if tally.seconds else 0.0
            print(f"| {name} | " + " | ".join(map(str, (*counts, *ours, f"{speed:.2f}"))) + " |", flush=True)
            for reason, times in tally.refusals.items():
                print(f"refused {times} times: {reason}", file=sys.stderr)
    for line in wrong:
        print(line, file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

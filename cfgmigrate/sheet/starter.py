"""A starter swap sheet for one machine: every field with its meaning, ready to be filled in at the bench.

`starter_sheet` writes fields as comments, in the order in which a person meets them: those that are needed, or all
of them, and beside each what the files already say and where. As written it is a valid sheet that says nothing but the machine's
name: a field counts once its `# ` is taken away, and lines with `##` explain. Where the files tell of several feeders,
each has a part of its own, and so has every filament with a profile. `fill` is the same sheet
with answers, for one feeder; who asks, and what, is known elsewhere.

Nothing is filled in from the files: a rule reads them itself, and a copy could grow stale.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import lru_cache

from msgspec.structs import replace

from cfgmigrate.ground.findings import BadInput, Place
from cfgmigrate.ground.pattern import pattern
from cfgmigrate.machine.called_feeders import called
from cfgmigrate.machine.model import FlatMachine, Machine
from cfgmigrate.sheet.fields import read_value
from cfgmigrate.sheet.model import SheetEntry, listed
from cfgmigrate.sheet.reader import parse_sheet
from cfgmigrate.sheet.schema import BEFORE_SITTING, MOUNTED, Field, Schema, measured_schema, sheet_schema
from cfgmigrate.sheet.several import Known

_WIDTH = 100
_PLAIN = pattern(r"([+-]?\d|[^\W_])[\w .,()±°µΩ%*/^+-]*(:\d[\d:., ]*)?")
_NOTHING = {"null", "~", ""}

_HEADER = """\
A swap sheet: what came off, what goes on, what was measured.

Lines with ## explain. Take away the "# " before a field and write your own value; those that stand there are examples.
Leave out what you don't know: what needs it is then left alone and says so. Quantities take a unit and, where you
know it, one standard uncertainty: 8.42 ± 0.06 mm, or 8.42(6) mm. Of a tolerance take its half divided by 1.7. What you
read off calipers, a rule or scales is taken as sure to its last digit where you write no ±.

Before you measure or touch anything: switch the machine off, unplug it and let it cool down. Never unplug a motor
under power. An ohmmeter goes only on a printer that is unplugged. The maker's data sheets and local electrical
rules come first, and mains wiring is for licensed people.
"""

_MEASURED_HEADER = """\
A measured sheet: what was measured on the machine after the swap.

Lines with ## explain. Take away the "# " before a field and write your own value; those that stand there are examples.
Fill in only the parts that you measured; each stands alone. What stands here without "# " was in force when this sheet
was written: a measured value is worked out from it, so write a new sheet once you have installed the result.

The nozzle burns, gears draw in fingers, and a moving axis crushes them: keep a hand at the switch. Before you measure
a resistance, switch off, unplug the mains and let everything cool down. Never unplug a motor under power. The maker's
data sheets and local electrical rules come first, and mains wiring is for licensed people.
"""


_MORE = (
    "These are the fields that most values turn on. cfgmigrate sheet --ask asks for them one by one, in the best order;"
    " cfgmigrate sheet --all writes every field there is."
)
#: the sittings of the day; what stands in papers has no time of its own
WHEN = {BEFORE_SITTING: "before the old drive comes off", MOUNTED: "once the new drive is mounted"}


def starter_sheet(machine: Machine, path_hint: str = "", needed: Collection[str] | None = None) -> str:
    """The sheet's text. `path_hint`, the configuration folder's name, becomes the machine's name. With `needed` there are
    these fields only, and what the files say of others is a list of its own."""
    name = _printable(path_hint).strip()
    values = {"machine": name[:80]} if name else {}
    shown = {*sheet_schema().fields} if needed is None else {*values, *needed}
    if len(machine.feeders) < 2:
        text = _written(values, machine, shown)
    else:
        text = _written_for_several(values, machine, shown)
    if needed is not None:
        text = _short(text, machine, shown)
    return text + "".join(f"{line}\n" for line in _of_filaments(machine))


def measured_starter(
    machine: FlatMachine,
    path_hint: str = "",
    sheet: str = "",
    of: Mapping[str, str] | None = None,
    asked: Mapping[str, tuple[float, str]] | None = None,
) -> str:
    """The measured sheet's text, with what is in force filled in; `sheet` is the swap sheet that it follows, `of` what
    is measured, where there are several. `asked` has the quantities of which it isn't known what is in force: what it may
    be, and the question, which takes the place of a value."""
    schema = measured_schema()
    schema = replace(
        schema,
        fields={path: _as_question(field, asked or {}) for path, field in schema.fields.items()},
    )
    values = {"sheet": _printable(sheet), "machine": _printable(path_hint).strip()[:80], **(of or {})}
    for field in schema.fields.values():
        values[field.path] = values.get(field.path) or _in_files(field, machine)[0]
    given = {path: value for path, value in values.items() if value}
    shown = [path for path, field in schema.fields.items() if path in given or not field.several]
    text = _text(_MEASURED_HEADER, _fields(schema, shown, given, machine))
    parse_sheet(text.encode(), "the new sheet", schema)
    return text


def _as_question(field: Field, asked: Mapping[str, tuple[float, str]]) -> Field:
    """A field that isn't filled in, where it is to be asked what is in force."""
    if field.reads not in asked:
        return field
    value, question = asked[field.reads]
    says = f"{field.says} {question}"
    return replace(field, reads="", example=f"{value:.6g} {field.unit}".rstrip(), says=says)


def check_answer(path: str, answer: str) -> SheetEntry:
    """One answer as the sheet would read it. Raises BadInput where it is no value of that field."""
    field = sheet_schema().fields.get(path)
    if field is None:
        raise BadInput(f"there is no field {path}", Place("answer"))
    return read_value(field, answer.strip(), Place("answer"))


def fill(answers: Mapping[str, str], machine: Machine | None = None) -> str:
    """The sheet with these answers, by path, filled in; empty ones are left out.

    Raises BadInput where an answer is no value of its field, or two of them contradict each other.
    """
    formerly = sheet_schema().formerly
    given = {formerly.get(path, path): answer.strip() for path, answer in answers.items() if answer.strip()}
    for path, answer in given.items():
        check_answer(path, answer)
    text = _written(given, machine, sheet_schema().fields)
    parse_sheet(text.encode(), "the new sheet")
    return text


def _written(values: Mapping[str, str], machine: Machine | None, wanted: Collection[str]) -> str:
    """A plain sheet of the fields that are wanted, with these values; what only a machine with several feeders needs is
    left out."""
    schema = sheet_schema()
    there = (path for path in schema.fields if path in wanted or path in values)
    shown = [path for path in there if path in values or not _too_much(schema.fields[path], machine)]
    return _text(_HEADER, _fields(schema, shown, values, machine.usual if machine is not None else None))


def _short(text: str, machine: Machine, shown: Collection[str]) -> str:
    """A sheet of the needed fields alone, with what it is and what the files say of the others."""
    known = [
        f"{field.path}: {value} ({place})"
        for field in sheet_schema().fields.values()
        if field.path not in shown
        for value, place in [_in_files(field, machine.usual)]
        if value
    ]
    lines = [text.rstrip("\n")]
    if known:
        lines += [
            "",
            *_comment("The files say already, and only what is wrong there needs to be said here:", 0),
        ]
        lines += [part for each in known for part in _comment(f"  {each}", 0)]
    lines += ["", *_comment(_MORE, 0)]
    return "\n".join(lines) + "\n"


def _too_much(field: Field, machine: Machine | None) -> bool:
    return field.several and (machine is None or len(machine.feeders) < 2)


def _written_for_several(values: Mapping[str, str], machine: Machine, wanted: Collection[str]) -> str:
    """The swap sheet with a part for each feeder: the first in full, the others by what is otherwise with them."""
    schema = sheet_schema()
    there = [path for path in schema.fields if path in wanted]
    own = [path for path in there if path.partition(".")[0] in schema.each]
    once = [path for path in there if path not in own and not schema.fields[path].several]
    before = [path for path in once if "." not in path]
    first, *others = machine.feeders
    known = Known(feeders={name: number for number, name in called(machine).items()})
    lines = [
        *_fields(schema, before, values, machine),
        "",
        *_comment(
            "What comes off and what goes on, for each feeder that is swapped. Leave out the others.", 0
        ),
        *_comment(f"The feeders in the files: {listed(map(known.said, machine.feeders))}.", 0),
        "feeders:",
        f"  {first}:",
        *_fields(schema, own, values, machine.view(first), 2),
    ]
    for number in others:
        said = f"Where feeder {known.said(number)} is as feeder {known.said(first)}, say so, and below it only what differs."
        lines += ["", f"  {number}:", *_comment(said, 2), f"    # same_as: {first}"]
        lines += [f"    # {side}: {{}}" for side in schema.each]
    return _text(_HEADER, [*lines, *_fields(schema, once[len(before) :], values, machine)])


def _of_filaments(machine: Machine) -> Iterator[str]:
    """A part for each filament that has a profile in the files."""
    filaments = [profile for profile in machine.profiles if profile.kind == "filament"]
    if not filaments:
        return
    yield ""
    yield from _comment("Filaments that have a profile in the files; what is not said here is as above.", 0)
    yield "filaments:"
    for profile in filaments:
        yield f"  {scalar(_printable(profile.name))}:"
        if material := machine.material(profile):
            yield from _comment(f"In the files: {material}. Leave it out if that still holds.", 2)
        for name in ("material", "diameter"):
            yield f"    # {name}: {sheet_schema().fields[f'filament.{name}'].example}"


def _text(header: str, lines: Iterable[str]) -> str:
    return "\n".join([*(f"## {line}".rstrip() for line in header.splitlines()), *lines]) + "\n"


def _fields(
    schema: Schema,
    paths: Iterable[str],
    values: Mapping[str, str],
    machine: FlatMachine | None,
    base: int = 0,
) -> Iterator[str]:
    """These fields below their headings, `base` steps in."""
    opened: set[str] = set()
    for path in paths:
        field = schema.fields[path]
        *above, name = path.split(".")
        for level in range(len(above)):
            section = ".".join(above[: level + 1])
            if section not in opened:
                opened.add(section)
                yield ""
                yield from _comment(schema.sections[section], base + level)
                yield f"{_indent(base + level)}{above[level]}:"
        depth = base + len(above)
        if not above:
            yield ""
        known = machine if path not in values else None
        for text in (*_when(path, schema), *_remarks(field, known)):
            yield from _comment(text, depth)
        if path in values:
            yield f"{_indent(depth)}{name}: {scalar(values[path])}"
        else:
            example = field.example if field.kind == "repeats" else scalar(field.example)
            yield f"{_indent(depth)}# {name}: {example}"


def _remarks(field: Field, machine: FlatMachine | None) -> Iterator[str]:
    yield field.says
    if field.measure:
        yield f"How: {field.measure}"
    if field.choices:
        yield f"One of: {', '.join(field.choices)}."
    value, place = _in_files(field, machine)
    if value:
        yield f"In the files: {value} ({place}). Leave it out if that still holds."


def _when(path: str, schema: Schema) -> Iterator[str]:
    """The sitting of a field, where its group doesn't say it."""
    sitting = schema.sitting(path)
    if sitting in WHEN and schema.sittings.get(path.partition(".")[0]) != BEFORE_SITTING:
        yield f"When: {WHEN[sitting]}."


def _in_files(field: Field, machine: FlatMachine | None) -> tuple[str, str]:
    """What the files say of a field, as the sheet would write it, and where; "" twice if they don't."""
    reading = machine.get(field.reads) if machine is not None and field.reads else None
    if reading is None or reading.value is None:
        return "", ""
    value = reading.text if reading.form.ratio else f"{reading.value:.6g} {field.unit}".rstrip()
    return value, str(Place(reading.place.file, reading.place.line))


@lru_cache(maxsize=2048)
def _comment(text: str, depth: int) -> tuple[str, ...]:
    """A text as lines of a remark: kept, since a sheet is written anew with each answer, and says nearly the same."""
    start = f"{_indent(depth)}## "
    return tuple(
        textwrap.wrap(
            _printable(text), _WIDTH, initial_indent=start, subsequent_indent=start, break_on_hyphens=False
        )
    )


def _printable(text: str) -> str:
    """File names and values come from elsewhere: no line end or control character of theirs gets into the sheet."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _indent(depth: int) -> str:
    return "  " * depth


def scalar(text: str) -> str:
    """Text as one YAML value: as it is where that is safe, else in double quotes."""
    plain = _PLAIN.fullmatch(text) and text.lower() not in _NOTHING and not text.endswith(" ")
    return text if plain else json.dumps(text, ensure_ascii=False)

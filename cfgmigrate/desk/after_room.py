"""The fifth room: after the swap. Test scripts with their pictures, what was measured, and the packet that follows.

A script and its page are written into the work folder, as the command writes them. What was measured goes into the
measured sheet answer by answer.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from starlette.responses import HTMLResponse, Response

from cfgmigrate.desk.session import Stale, stamp
from cfgmigrate.desk.web import Visit
from cfgmigrate.ground.findings import BadInput, Place, Refused
from cfgmigrate.ground.new_text import refuse_taken, write_new_text
from cfgmigrate.ground.quantity_text import NotAQuantity

if TYPE_CHECKING:
    from cfgmigrate.sheet.model import Sheet
    from cfgmigrate.sheet.several import Known

#: what a person may wish of a script: field, what it is, and its unit
WISHES = (
    ("nozzle", "nozzle temperature, if not that of the machine's scripts", "°C"),
    ("bed", "bed temperature; 0 leaves it cold", "°C"),
    ("start", "where it begins", "mm, or s of lag"),
    ("step", "the step from storey to storey, wall to wall, stop to stop", "mm, or s of lag"),
    ("count", "how many repeats, storeys or walls", ""),
    ("height", "height of the cylinder, or of one storey", "mm"),
)
#: lines of the machine's own
OWN_LINES = (
    ("setting_line", "the line by which the machine sets the lag, with {value} in it"),
    ("display", "the line by which the machine shows a text, with {text} in it"),
    ("feeder_line", "the line by which the machine takes a feeder"),
)


def show(visit: Visit, path: str = "", error: str = "", typed: str = "", status: int = 200) -> Response:
    from cfgmigrate.rules.symptoms import symptoms
    from cfgmigrate.trials import TRIALS

    _, machine = visit.desk.look()
    there = visit.desk.measured.is_file()
    groups = list(_groups(visit, path, error, typed)) if there else []
    seen = visit.asked("seen")
    return visit.page(
        "after.html",
        status,
        title="After",
        room="after",
        trials=[(trial, _free_file(visit, trial.name)) for trial in TRIALS.values()],
        written=_written(visit),
        wishes=WISHES,
        own_lines=OWN_LINES,
        feeders=machine.feeders if len(machine.feeders) > 1 else (),
        filaments=[each.name for each in machine.profiles if each.kind == "filament"],
        prints=[each.name for each in machine.profiles if each.kind == "print"],
        measured=str(visit.desk.measured),
        there=there,
        groups=groups,
        new=_free_folder(visit),
        symptoms=symptoms(),
        seen=seen,
        guidance=_guidance(visit, seen) if seen else (),
    )


#: of a test: as many as the command takes
MOST_REPEATS = 100


def write_trial(visit: Visit) -> Response:
    """Write a test script and its page, as `trial` does."""
    from cfgmigrate import api
    from cfgmigrate.trials import Wishes

    name = visit.field("trial")
    out = visit.desk.new_file(visit.field("file").strip())
    page = visit.desk.new_file(f"{out.stem}.html")
    if out == page:
        raise BadInput(
            "this name is that of the script's page", Place(out.name), f"Call the script {out.stem}.nc, say."
        )
    refuse_taken(out, page)
    numbers = {wish: _float(visit, wish) for wish in ("nozzle", "bed", "start", "step", "height")}
    count = _float(visit, "count")
    if count is not None and count not in range(1, MOST_REPEATS + 1):
        raise BadInput(
            f"{count:g} repeats can't be made",
            Place("count"),
            f"Write a whole number from 1 to {MOST_REPEATS}.",
        )
    wishes = Wishes(
        nozzle=numbers["nozzle"],
        bed=numbers["bed"],
        start=numbers["start"],
        step=numbers["step"],
        count=int(count or 0),
        height=numbers["height"] or 0.0,
        setting_line=visit.field("setting_line"),
        begin=tuple(visit.field("begin").splitlines()),
        pause=visit.field("pause") or "M0",
        display=visit.field("display"),
        feeder_line=visit.field("feeder_line"),
    )
    feeder, filament, print_profile = _lane(visit)
    made = api.trial(
        name,
        [visit.desk.config],
        sheet=visit.desk.sheet if visit.desk.sheet.is_file() else None,
        wishes=wishes,
        feeder=feeder,
        filament=filament,
        print_profile=print_profile,
    )
    write_new_text(out, made.written.text.encode("ascii", "replace").decode("ascii"))
    write_new_text(page, api.trial_page(made))
    facts = "".join(f"\n{what}: {value}" for what, value in made.written.facts)
    said = (
        f"Written to {out}, and its path as a picture to {page}.{facts}\nRead it before you run it, and stay beside "
        "the machine with a hand at the switch."
    )
    return visit.go("after", said, at=f"trial-{name}")


def trial_page(visit: Visit) -> Response:
    """The page of a script that was written here. Nothing may run on it."""
    from cfgmigrate.reports import html

    name = visit.part("name")
    if name not in _written(visit):
        raise BadInput("there is no such page here", Place(name), "Write the script first.")
    policy = f"{html.policy(html.asset('page.css'))}; frame-ancestors 'none'"
    headers = {"content-security-policy": policy}
    return HTMLResponse((visit.desk.work / f"{name}.html").read_bytes(), headers=headers)


def measure(visit: Visit) -> Response:
    """Begin the measured sheet as `tune --starter` does, or take one answer."""
    from cfgmigrate import api
    from cfgmigrate.sheet.measured_keeping import put_measured
    from cfgmigrate.sheet.schema import measured_schema

    place = visit.desk.measured
    if visit.field("do") == "begin":
        if place.exists():
            raise Refused("there is a measured sheet already", Place(str(place)), "Nothing was written.")
        sheet = os.path.relpath(visit.desk.sheet, place.parent) if visit.desk.sheet.is_file() else ""
        feeder, filament, print_profile = _lane(visit)
        text = api.measured_starter(
            [visit.desk.config], sheet, feeder=feeder, filament=filament, print_profile=print_profile
        )
        write_new_text(place, text)
        return visit.go("after", f"Written to {place}: fill in what you measured.", at="measured")
    field = measured_schema().fields.get(visit.field("path"))
    if field is None:
        raise BadInput("the measured sheet has no such field", Place("after"), "Load the page again.")
    before, sheet_now, known = _measured(visit)
    now = _text_of(sheet_now, field.path)
    said = "" if visit.field("do") == "take back" else visit.field("answer").strip()
    if visit.field("stamp") != stamp(field.path, now):
        raise Stale(
            f"{field.label} was answered in the meantime: {now or 'it was taken back'}",
            Place(str(place)),
            f"Your answer, {said!r}, was not written. Say it again if it is to be yours.",
        )
    try:
        found = put_measured(place, before, field, said, known)
    except (NotAQuantity, BadInput) as wrong:
        return show(visit, field.path, f"{wrong.what}. {wrong.remedy}".strip(), said, 422)
    told = f"Kept: {field.label}: {_text_of(found, field.path)}." if said else f"Taken back: {field.label}."
    return visit.go("after", told, at=f"field-{field.path}")


def tune(visit: Visit) -> Response:
    """Work out what follows from what was measured, as `tune` does."""
    from cfgmigrate import api

    name = visit.field("name").strip()
    out = visit.desk.new_file(name)
    packet = api.tune(
        [visit.desk.config], visit.desk.measured, out=out, replace=visit.field("replace") == "yes"
    )
    return visit.go(f"packet/{name}", f"Written to {out}: {len(packet.plan.changes)} values.")


def _groups(visit: Visit, path: str, error: str, typed: str) -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """The fields of the measured sheet by what they are of."""
    from cfgmigrate.sheet.schema import measured_schema

    _, sheet, _ = _measured(visit)
    schema = measured_schema()
    for section, says in schema.sections.items():
        fields = [each for each in schema.fields.values() if each.path.rpartition(".")[0] == section]
        if section == "of" or not fields:
            continue
        shown = []
        for field in fields:
            now = _text_of(sheet, field.path)
            wrong = error if field.path == path else ""
            text = typed if wrong else now
            shown.append(
                {"field": field, "text": text, "now": now, "stamp": stamp(field.path, now), "error": wrong}
            )
        yield says, shown


def _measured(visit: Visit) -> tuple[bytes, Sheet, Known]:
    from cfgmigrate.ground.positioned_yaml import LONGEST_YAML
    from cfgmigrate.ground.user_file import read_given
    from cfgmigrate.sheet.reader import parse_sheet
    from cfgmigrate.sheet.schema import measured_schema
    from cfgmigrate.workflow.lane import known_names

    configuration, machine = visit.desk.look()
    known = known_names(configuration.site, machine)
    data = read_given(visit.desk.measured, "the measured sheet", LONGEST_YAML)
    return data, parse_sheet(data, str(visit.desk.measured), measured_schema(), known), known


def _text_of(sheet: Sheet, path: str) -> str:
    entry = sheet.get(path)
    return entry.text if entry is not None else ""


def _guidance(visit: Visit, seen: str) -> Any:
    from cfgmigrate import api

    sheet = visit.desk.sheet if visit.desk.sheet.is_file() else None
    measured = visit.desk.measured if visit.desk.measured.is_file() else None
    return api.guide(
        [seen],
        [visit.desk.config],
        sheet=sheet,
        measured=measured,
        feeder=visit.asked("feeder"),
        filament=visit.asked("filament"),
    )


def _lane(visit: Visit) -> tuple[str, str, str]:
    """The feeder, the filament and the print profile that are meant."""
    return visit.field("feeder"), visit.field("filament"), visit.field("print_profile")


def _float(visit: Visit, name: str) -> float | None:
    text = visit.field(name).strip().replace(",", ".")
    if not text:
        return None
    try:
        found = float(text)
    except ValueError:
        raise BadInput(f"{text!a} is no number", Place(name), "Write a number without its unit.") from None
    if not abs(found) < 1e6:
        raise BadInput(f"{text!a} is too much", Place(name), "Write a number as it is measured.")
    return found


def _written(visit: Visit) -> list[str]:
    """The scripts in the work folder that have a page beside them."""
    work = visit.desk.work
    there = (path for path in work.glob("*.nc") if path.is_file() and not path.is_symlink())
    pages = (path for path in there if path.with_suffix(".html").is_file())
    return sorted(path.stem for path in pages if not path.with_suffix(".html").is_symlink())


def _free_file(visit: Visit, name: str) -> str:
    number, found = 1, name
    while any((visit.desk.work / f"{found}{end}").exists() for end in (".nc", ".html")):
        number, found = number + 1, f"{name}-{number + 1}"
    return f"{found}.nc"


def _free_folder(visit: Visit) -> str:
    number, found = 1, "tuned"
    while (visit.desk.work / found).exists():
        number, found = number + 1, f"tuned-{number + 1}"
    return found

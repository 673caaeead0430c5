"""The summary of a fleet says everything of every machine, and stays inert whatever the files hold."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from msgspec.structs import replace

from cfgmigrate.files.gaps import NOT_THERE
from cfgmigrate.fleet.file import Fleet
from cfgmigrate.fleet.groups import Hand, Record
from cfgmigrate.fleet.job import real_files
from cfgmigrate.fleet.moved import Moved
from cfgmigrate.fleet.pieces import FleetPiece
from cfgmigrate.fleet.summary import render_page, summary, summary_bytes
from cfgmigrate.fleet.terminal import show
from cfgmigrate.ground.findings import Doubt, Place
from cfgmigrate.reports import html
from cfgmigrate.reports.console import make_console

FLEET = Fleet("fleet.yaml", b"sheet: swap.yaml\n", ())
HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>\"'&{{ 7*7 }}\x1b[31m\u202e\n[bold]"


def moved(text: str, value: float | None = None) -> Moved:
    return Moved("retraction.length", "retraction length", "mm", 5.4, "5.4", value, text, "estimate")


def usual(name: str) -> Record:
    return Record(
        name, "swap.yaml", (name,), hash="ab12", changes=(moved("0.6", 0.6),), by_hand=(Hand("screw", "Set 0.3 V", "power on"),)
    )  # fmt: skip


HALL = (
    usual("Wren"),
    usual("Dunlin"),
    Record(
        "Knot (old)", "swap.yaml", ("knot",), differs=(("old.tube.length", "600 mm"), ("clearance.highest_z", None)),
        changes=(moved("0.9", 0.9),), warnings=("The push is short.",),
        doubts=(Doubt(Place("a.nc", 3, 1), "x", "two readings"),), notes=("An interrupted install was undone.",),
    ),
    Record("Twite", "swap.yaml", ("nowhere",), error="nowhere: there is no such file\n  check the path", status=2),
    Record("Serin", "swap.yaml", ("serin",), unreached=True),
)  # fmt: skip


class Seen(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        self.text += " " if tag in {"td", "th"} else ""

    def handle_data(self, data: str) -> None:
        if not self.tags or self.tags[-1][0] != "style":
            self.text += data


def test_the_page_says_who_has_no_packet_who_stands_out_who_is_alike_and_what_needs_hands() -> None:
    said = " ".join(Seen(render_page(FLEET, HALL)).text.split())
    for part in (
        "3 of 5 machines have a packet; 1 could not be prepared; 1 not reached.",
        "Twite: nowhere: there is no such file check the path",
        "the run ended before: Serin",
        "The push is short. (Knot (old))",
        "Set 0.3 V (Wren, Dunlin)",
        "Knot (old) Retraction length 0.9 mm (was 5.4) 0.6 mm 2 of 3 old.tube.length: 600 mm; clearance.highest_z: not so here",
        "Group 1: 2 machines Wren, Dunlin",
        "Like no other: Knot (old).",
        "An interrupted install was undone.",
    ):
        assert part in said


def test_each_machine_with_a_packet_leads_to_its_own_page_and_nothing_leads_out() -> None:
    links = [
        attributes["href"] for tag, attributes in Seen(render_page(FLEET, HALL)).tags if "href" in attributes
    ]
    assert links == ["Wren/changes.html", "Dunlin/changes.html", "Knot%20%28old%29/changes.html"]


@pytest.mark.parametrize(
    "records", [HALL, (), tuple(usual(f"m{number}") for number in range(500))], ids=["hall", "none", "many"]
)
def test_nothing_is_fetched_and_nothing_runs_but_the_pages_own_search(records: tuple[Record, ...]) -> None:
    page = render_page(FLEET, records)
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    (script,) = re.findall(r"<script>(.*?)</script>", page, re.DOTALL)
    css, js = (base64.b64encode(hashlib.sha256(text.encode()).digest()).decode() for text in (style, script))
    own = f"default-src 'none'; style-src 'sha256-{css}'; script-src 'sha256-{js}'; base-uri 'none'; form-action 'none'"
    assert own in page
    assert script == html.scripts("record.js", "lists.js", "together.js")
    assert "prefers-color-scheme: dark" in style
    for tag, attributes in Seen(page).tags:
        assert tag not in {"link", "img", "iframe", "object", "embed", "base", "form", "svg"}
        assert not {
            name for name in attributes if name.startswith("on") or name in {"src", "style", "action"}
        }


def test_what_files_and_sheets_hold_is_shown_and_never_acts() -> None:
    hostile = Record(
        "Wren", HOSTILE, (HOSTILE,), differs=((HOSTILE, HOSTILE),), changes=(moved(HOSTILE),),
        by_hand=(Hand(HOSTILE, HOSTILE, HOSTILE),), warnings=(HOSTILE,),
        doubts=(Doubt(Place(HOSTILE), HOSTILE, HOSTILE),), notes=(HOSTILE,),
    )  # fmt: skip
    pieces = (FleetPiece(HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE, HOSTILE, (HOSTILE,)),)
    records = (
        hostile, Record("Knot", HOSTILE, (), changes=(moved("0.6", 0.6),), pieces=pieces),
        Record("Dunlin", HOSTILE, (), changes=(moved("0.6", 0.6),), pieces=pieces),
        Record("Twite", HOSTILE, (), error=HOSTILE),
    )  # fmt: skip
    page = render_page(Fleet(HOSTILE, b"", ()), records)
    seen = Seen(page)
    assert {tag for tag, _ in seen.tags} <= {
        "html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "h3", "p", "code", "section", "ul", "li",
        "strong", "br", "span", "details", "summary", "table", "thead", "tbody", "tr", "th", "td", "article", "a", "wbr",
        "div", "label", "input", "script", "select", "option", "textarea", "button",
    }  # fmt: skip
    assert page.count("<script>") == 1
    assert seen.text.count("<script>alert(1)</script>") >= 6
    assert "\x1b" not in page and "\u202e" not in page and "49" not in seen.text
    out = io.StringIO()
    show(Fleet(HOSTILE, b"", ()), records, Path("out"), make_console(out))
    assert "\x1b" not in out.getvalue() and "\u202e" not in out.getvalue()
    assert json.loads(summary_bytes(Fleet(HOSTILE, b"", ()), records))["warnings"][0]["text"] == HOSTILE


def test_the_json_says_the_same_and_does_not_say_when_a_packet_was_made() -> None:
    found = summary(FLEET, HALL)
    assert found["counts"] == {
        "machines": 5, "packets": 3, "failed": 1, "unreached": 1, "alike": 1,
        "groups": 2, "standing_out": 1, "need_hands": 2, "in_doubt": 1,
    }  # fmt: skip
    assert [machine["group"] for machine in found["machines"]] == [1, 1, 2, None, None]
    assert found["machines"][3]["error"] == {"status": 2, "text": HALL[3].error}
    (outlier,) = found["standing_out"]
    assert (outlier["machine"], outlier["here"]["text"], outlier["usual"]["text"]) == (
        "Knot (old)",
        "0.9",
        "0.6",
    )
    again = tuple(replace(record, standing=record.done) for record in HALL)
    assert summary_bytes(FLEET, again) == summary_bytes(FLEET, HALL)
    assert render_page(FLEET, again) == render_page(FLEET, HALL)


def test_many_names_are_counted_in_a_terminal() -> None:
    out = io.StringIO()
    show(FLEET, [usual(f"m{number}") for number in range(40)], Path("out"), make_console(out))
    assert "and 32 more" in " ".join(out.getvalue().split())


def test_page_and_terminal_say_which_lights_are_unknown_what_is_asked_and_what_is_missing() -> None:
    gone = Doubt(Place("a.conf", 9, 1), "feeder.conf", NOT_THERE)
    dark = Record(
        "Pipit", "swap.yaml", ("pipit",), lights=(("feed", "unknown"), ("height", "set")), doubts=(gone,)
    )
    console, out = make_console(), io.StringIO()
    console.file, console.width = out, 100
    show(FLEET, (*HALL, dark), Path("out"), console)
    seen = (" ".join(out.getvalue().split()), " ".join(Seen(render_page(FLEET, (*HALL, dark))).text.split()))
    for text in seen:
        assert "a.conf:9 takes in feeder.conf, which is not there" in text
    assert "feed on 1: Pipit" in seen[0] and "Twite: there is no such file" in seen[0]
    assert "feed unknown, height set" in seen[1] and "x: two readings (Knot (old))" in seen[1]


def test_names_beyond_a_line_can_be_opened() -> None:
    many = tuple(usual(f"m{at:02}") for at in range(30))
    page = render_page(FLEET, many)
    assert "and 23 more</summary>m07, m08" in page and "m29" in page


def test_a_terminal_says_in_which_ways_sheets_differ_and_a_note_once_for_all_that_have_it() -> None:
    said = [("1.3 A peak", 0), ("1.0 A", 1), ("1.3 A peak", 2)]
    hall = [
        replace(usual(f"m{at}"), differs=(("new.motor.rated_current", text), ("old.tube.length", f"{at} mm")), notes=("it stays",))
        for text, at in said
    ]  # fmt: skip
    console, out = make_console(), io.StringIO()
    console.file, console.width = out, 100
    show(FLEET, hall, Path("out"), console)
    seen = " ".join(out.getvalue().split())
    assert "new.motor.rated_current: 1.3 A peak on m0, m2" in seen and "1.0 A on m1" in seen
    assert "m0, m1, m2: it stays" in seen


def test_a_terminal_says_which_files_the_packets_of_several_machines_edit() -> None:
    out = io.StringIO()
    hall = [replace(usual(name), edited=("/hall/grey.txt", f"/hall/{name}.txt")) for name in ("Wren", "Knot")]
    show(FLEET, hall, Path("out"), make_console(out))
    assert "/hall/grey.txt: Wren and Knot" in out.getvalue() or "/hall/grey.txt: Wren, Knot" in out.getvalue()
    assert (
        "then run this again" in " ".join(out.getvalue().split()) and "/hall/Wren.txt" not in out.getvalue()
    )


def test_a_file_that_one_machine_has_by_a_link_is_the_same_one(tmp_path: Path) -> None:
    shared = tmp_path / "grey.txt"
    shared.touch()
    (tmp_path / "knot").mkdir()
    (tmp_path / "knot" / "own.txt").symlink_to(shared)
    assert real_files(str(tmp_path), ["knot/own.txt"]) == real_files(str(tmp_path), ["grey.txt"])

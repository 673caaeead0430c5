"""A file that breaks off, and one that is named and missing, are told first; what they may hold is never taken as settled."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cfgmigrate import api
from cfgmigrate.dialects import read
from cfgmigrate.files.configuration import open_configuration
from cfgmigrate.files.gaps import BREAKS_OFF, TORN, _cut_word, gaps, told, told_first
from cfgmigrate.files.telling import ask_first, told_of
from cfgmigrate.ground.findings import Refused

HEADER = """\
// the press in the corner
#define PressTitle           "Ladle"
#define AxisXHighEnd         210
#define AxisXCoilCurrentMa   800
#define AxisYHighEnd         200
#define AxisYCoilCurrentMa   900
#define AxisZHighEnd         240
#define FeederStepsPerMm     97.5
#define FeederCoilCurrentMa  1000
#define RetractionLength     5.5
"""
SECTIONS = """\
[axis x]
high end = 210
steps per mm = 84
[axis y]
high end = 200
steps per mm = 84
[axis z]
high end = 240
steps per mm = 410
[feeder]
steps per mm = 97.5
run current = 1.0 A
[retraction]
length = 5.5
"""
FLAT = """\
axis.x.high_end = 210
axis.y.high_end = 200
axis.z.high_end = 240
feeder.steps_per_mm = 97.5
feeder.run_current = 1.0 A
retraction.length = 5.5
"""
NESTED = '{"axis": {"x": {"high_end": 210}, "y": {"high_end": 200}},\n "feeder": {"steps_per_mm": 97.5},\n "retraction": {"length": 5.5}}\n'

TORN_FILES = {
    "a name that breaks off": ("a.h", HEADER, "#define FeederCoilCurr"),
    "a name without its value": ("a.h", HEADER, "#define FeederCoilCurrentMa"),
    "a directive that breaks off": ("a.h", HEADER, "#defi"),
    "a section that is not closed": ("a.conf", SECTIONS, "[feeder"),
    "half a key": ("a.conf", SECTIONS, "run curr"),
    "a key without its value": ("a.conf", SECTIONS, "run current ="),
    "half a flat key": ("a.set", FLAT, "feeder.run_curr"),
    "an object that is not closed": ("a.json", NESTED, '"retraction": {'),
    "a string that is not closed": ("a.json", NESTED, '"retrac'),
}


def cut(text: str, last: str) -> bytes:
    return text[: text.rindex(last) + len(last)].encode()


@pytest.mark.parametrize("name, text, last", TORN_FILES.values(), ids=TORN_FILES)
def test_a_file_that_breaks_off_says_where(name: str, text: str, last: str) -> None:
    document = read(name, cut(text, last))
    (gap,) = gaps([document], ())
    assert gap.torn and gap.doubt.place.line == document.lines and last in gap.doubt.text
    assert gap.doubt.remedy


@pytest.mark.parametrize("text", [HEADER, SECTIONS, FLAT], ids=["header", "sections", "flat"])
def test_a_whole_last_line_needs_no_end(text: str) -> None:
    lines = text.splitlines()
    for count in range(6, len(lines) + 1):
        if not lines[count - 1].startswith("["):
            assert not gaps([read("a.txt", "\n".join(lines[:count]).encode())], ()), lines[count - 1]
    assert not gaps([read("a.json", NESTED.rstrip("\n").encode())], ())
    for end in ("\n", "// the last word on\n", "/* the last word on */\n"):
        assert not gaps([read("a.h", (HEADER + end).encode())], ()), end


MERGED = SECTIONS.replace(
    "[feeder]\n",
    "[feeder]\n<<<<<<< mine (Thursday)\nsteps per mm = 93\n=======\nsteps per mm = 186\n>>>>>>> theirs\n",
)


def test_two_versions_that_a_merge_left_are_told_from_their_first_mark() -> None:
    (gap,) = gaps([read("a.conf", MERGED.encode())], ())
    assert gap.unreadable and gap.doubt.place.line == 11 and "two versions" in gap.says


@pytest.mark.parametrize(
    "text",
    [
        MERGED.replace(">>>>>>> theirs\n", ""),
        MERGED.replace("=======\n", ""),
        MERGED.replace("<<<<<<<", "# <<<<<<<"),
        "# limits\n# =======\n[drive]\nfull steps = 200\n",
    ],
)
def test_without_all_three_marks_no_two_versions_are_told(text: str) -> None:
    assert not any(gap.unreadable for gap in gaps([read("a.conf", text.encode())], ()))


def test_no_packet_comes_of_a_file_with_two_versions_of_its_lines(tmp_path: Path) -> None:
    configuration = open_configuration([lay(tmp_path / "ladle", {"ladle.conf": MERGED})])
    with pytest.raises(Refused, match=r"ladle\.conf:11:1.*two versions.*keep the lines that hold"):
        ask_first(configuration.roles, configuration.root)


BROKEN = "machine:\n  name: ladle\nlimits:\n  x: 210\n  y: [1, 2\nsteps per mm: 97.4\nretraction: 5\n"


def test_a_file_that_can_t_be_read_to_its_end_says_where_reading_stops() -> None:
    (gap,) = gaps([read("a.yaml", BROKEN.encode(), "nested")], ())
    assert gap.unreadable and gap.doubt.place.line == 5 and "can't be read beyond" in gap.says
    (torn,) = gaps([read("a.yaml", cut(BROKEN, "[1, 2"), "nested")], ())
    assert torn.torn and not torn.unreadable


@pytest.mark.parametrize("way", ["dialect", "machine", "site"])
def test_no_packet_comes_of_a_file_that_can_t_be_read_to_its_end_whatever_is_said_of_it(
    way: str, tmp_path: Path
) -> None:
    machine = lay(tmp_path / "ladle", {"ladle.yaml": BROKEN, "other.conf": SECTIONS})
    said: dict[str, Any] = {"dialects": {"ladle.yaml": "nested"}}
    if way == "machine":
        said["machine"] = ["ladle.yaml"]
    if way == "site":
        roles = "site: 1\nroles: {ladle.yaml: in force}\ndialects: {ladle.yaml: nested}\n"
        lay(machine, {"cfgmigrate.yaml": roles})
        said = {}
    (tmp_path / "swap.yaml").write_text(SHEET)
    with pytest.raises(Refused, match="beyond line 5"):
        api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet", **said)
    assert not (tmp_path / "packet").exists()


def test_a_file_that_begins_as_a_configuration_and_is_left_is_told_and_keeps_the_rest_from_being_taken_for_all(
    tmp_path: Path,
) -> None:
    begun = "".join(f"part {n}:\n  width: {n}\n  height: 2.5\n" for n in range(1, 9))
    files = {"ladle.yaml": f"{begun}odd: [1, 2\n{begun * 3}", "other.conf": SECTIONS}
    machine = lay(tmp_path / "ladle", files)
    (tmp_path / "swap.yaml").write_text(SHEET)
    first = told_of(open_configuration([machine]).roles)
    assert any("ladle.yaml" in line and "beyond line 25" in line for line in first)
    with pytest.raises(Refused, match="beyond line 25"):
        api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet")
    lay(machine, {"cfgmigrate.yaml": "site: 1\nroles: {ladle.yaml: no configuration}\n"})
    assert api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan.changes


@pytest.mark.parametrize(("kind", "file", "told"), [(TORN, "a.h", 0), (TORN, "b.h", 1), ("alike", "a.h", 1)])
def test_a_torn_file_is_told_first_unless_it_is_asked_whether_it_is_whole(
    kind: str, file: str, told: int
) -> None:
    doubt = {"file": "a.h", "line": 9, "column": 1, "text": "FeederCoilCurr", "why": BREAKS_OFF}
    survey = {"doubts": [doubt], "questions": [{"kind": kind, "instead": [file]}]}
    assert len(told_first(survey)) == told


def test_a_comment_that_is_never_closed_breaks_off_even_at_a_lines_end() -> None:
    (gap,) = gaps([read("a.h", (HEADER + "/* the last word on\n").encode())], ())
    assert gap.torn and "comment" in gap.doubt.why


def test_a_switch_without_a_value_is_whole_where_others_have_none_either() -> None:
    switched = (
        HEADER.replace("// the press in the corner", "#define LADLE_H\n#define HAS_LAMP\n#define HAS_BELL")
        + "#define HAS_DOOR"
    )
    assert not gaps([read("a.h", switched.encode())], ())


def lay(folder: Path, files: dict[str, str]) -> Path:
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(text.encode())
    return folder


def test_a_torn_machine_is_asked_about_before_anything_and_goes_on_where_a_person_says_that_it_is_whole(
    tmp_path: Path,
) -> None:
    machine = lay(tmp_path / "ladle", {"ladle.h": cut(HEADER, "#define FeederCoilCurr").decode()})
    (tmp_path / "swap.yaml").write_text(SHEET)
    with pytest.raises(Refused, match="seems to break off at line 9") as refused:
        api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert "Get the whole file" in str(refused.value) and not (tmp_path / "packet").exists()
    packet = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet", machine=["ladle.h"])
    lit = {light.light: light for light in packet.plan.lights}
    for name in ("current", "retraction"):
        assert lit[name].state == "unknown" and "break off" in lit[name].why, lit[name]
    assert "break off" in packet.plan.doubts[0].why
    assert lit["feed"].state == "set"


SHEET = """\
old: {drive: tube-fed, tube: {length: 420 mm}, motor: {step_angle: 1.8 deg, rated_current: 1.5 A}}
new:
  drive: on the carriage
  steps_per_mm: 426 1/mm
  microsteps: 16
  tube: {length: 40 mm}
  motor: {step_angle: 1.8 deg, rated_current: 1.0 A}
"""
WITHOUT_FEEDER = SECTIONS.partition("[feeder]")[0]


@pytest.mark.parametrize(
    "line",
    [
        "[also]\nfile = ladle-feeder.conf",
        "include ladle-feeder.conf",
        "[parts]\nthe rest = ladle-feeder.conf",
    ],
)
def test_a_missing_file_is_told_first_and_its_values_lights_are_unknown_and_not_unaffected(
    line: str, tmp_path: Path
) -> None:
    profiles = {"reels/grey.conf": "[filament]\nname = grey\nmaterial = PLA\nretraction length = 5.5\n"}
    machine = lay(tmp_path / "ladle", {"ladle.conf": f"{WITHOUT_FEEDER}{line}\n", **profiles})
    (tmp_path / "swap.yaml").write_text(SHEET)
    assert "ladle-feeder.conf, which is not there" in told_of(open_configuration([machine]).roles)[0]
    plan = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    assert plan.doubts[0].text == "ladle-feeder.conf"
    lit = {light.light: light for light in plan.lights if light.holder == "machine"}
    for name in ("feed", "current", "retraction"):
        assert lit[name].state == "unknown" and "is not there" in lit[name].why, lit[name]


def test_a_file_that_is_said_never_to_have_been_there_is_missed_by_nobody(tmp_path: Path) -> None:
    machine = lay(tmp_path / "ladle", {"ladle.conf": f"{WITHOUT_FEEDER}include ladle-feeder.conf\n"})
    (tmp_path / "swap.yaml").write_text(SHEET)
    (light, *_) = (
        each for each in api.work_out(machine, tmp_path / "swap.yaml").plan.lights if each.light == "current"
    )
    said = "roles: {ladle-feeder.conf: no configuration}"
    assert said in light.why
    (machine / "cfgmigrate.yaml").write_text(f"site: 1\n{said}\n")
    plan = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    assert not any("ladle-feeder" in each.text for each in plan.doubts)
    assert {each.light: each.state for each in plan.lights}["current"] == "by hand"
    assert not api.verify(tmp_path / "packet")


@pytest.mark.parametrize("told", ["old/feed.conf", "feeds.conf"])
def test_what_is_said_of_another_file_or_of_none_leaves_a_missing_one_missed(
    tmp_path: Path, told: str
) -> None:
    files = {"ladle.conf": f"{WITHOUT_FEEDER}include drive/feed.conf\n", "old/feed.conf": WITHOUT_FEEDER}
    (tmp_path / "ladle/old").mkdir(parents=True)
    machine = lay(
        tmp_path / "ladle", {**files, "cfgmigrate.yaml": f"site: 1\nroles: {{{told}: no configuration}}\n"}
    )
    found = open_configuration([machine]).roles
    assert [gap.text for gap in found.gaps] == ["drive/feed.conf"]
    assert bool(found.idle) is (told == "feeds.conf")


def test_a_missing_file_takes_nothing_from_a_light_whose_values_are_there(tmp_path: Path) -> None:
    machine = lay(tmp_path / "ladle", {"ladle.conf": f"{SECTIONS}[also]\nfile = house-rules.conf\n"})
    (tmp_path / "swap.yaml").write_text(SHEET)
    plan = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet").plan
    lit = {light.light: light.state for light in plan.lights}
    assert plan.doubts[0].text == "house-rules.conf"
    assert {lit[name] for name in ("feed", "current", "retraction")} == {"set"}


def test_a_file_that_is_there_in_whatever_role_or_that_is_only_written_is_not_missed(tmp_path: Path) -> None:
    more = "[also]\nfile = rules.conf\n[house]\nlog file = today.conf\nsong = bell.wav\n"
    machine = lay(
        tmp_path / "ladle", {"ladle.conf": SECTIONS + more, "rules.conf": "hello, these are no settings\n"}
    )
    assert not open_configuration([machine]).roles.gaps


def test_what_a_packet_says_of_gaps_follows_from_the_packet_alone(tmp_path: Path) -> None:
    machine = lay(
        tmp_path / "ladle",
        {"ladle.conf": f"{WITHOUT_FEEDER}[also]\nfile = gone.conf\n[other]\nfile = note.conf\n"},
    )
    lay(machine, {"note.conf": "hello, these are no settings\n"})
    (tmp_path / "swap.yaml").write_text(SHEET)
    packet = api.prepare(machine, tmp_path / "swap.yaml", out=tmp_path / "packet")
    assert [doubt.text for doubt in packet.plan.doubts if doubt.text.endswith(".conf")] == ["gone.conf"]
    assert not api.verify(packet.folder)


def test_a_named_files_neighbour_that_lies_there_is_left_out_and_not_missed(tmp_path: Path) -> None:
    folder = lay(tmp_path / "ladle", {"ladle.conf": f"{SECTIONS}[also]\nfile = reels/thin red.conf\n"})
    (folder / "reels").mkdir()
    lay(folder / "reels", {"thin red.conf": "[red]\nheat = 200\n"})
    roles = open_configuration([folder / "ladle.conf"]).roles
    assert not roles.gaps and "it was not given" in roles["reels/thin red.conf"].why
    (folder / "reels/thin red.conf").unlink()
    assert open_configuration([folder / "ladle.conf"]).roles.gaps


@pytest.mark.parametrize(
    ("text", "cut"),
    [
        ("pace of ex", ("extra", "ex")),
        ("pace of e", None),
        ("pace of 4", None),
        ("pace of extra", None),
        ("", None),
    ],
)
def test_a_word_is_cut_where_it_begins_a_longer_one_and_a_letter_or_a_number_is_whole(
    text: str, cut: tuple[str, str] | None
) -> None:
    others = read("a.conf", b"extra pace 45 = 3\nextra way = 2\nexit = 1\n", "flat").settings
    assert _cut_word(text, others) == cut


@pytest.mark.parametrize(
    ("text", "told_of"),
    [
        ("!amps fil 0.90\n!pulses fil 281.4\n", True),
        ("# a note of 3 lines\n; 4\n", False),
        ("!amps fil\n", False),
        ("steps = 3\n", False),
    ],
)
def test_a_file_in_force_of_which_nothing_is_read_is_told(text: str, told_of: bool) -> None:
    found = gaps([read("boot.run", text.encode(), "flat")], ("boot.run",))
    assert [gap.says for gap in found] == (["nothing in boot.run is understood"] if told_of else [])


def test_a_file_that_lies_outside_of_what_was_named_is_not_called_missing(tmp_path: Path) -> None:
    (tmp_path / "ladle.txt").write_text("steps = 97.5\nreels = ../grey.txt\nbed = gone.txt\n")
    outside, gone = open_configuration([tmp_path]).roles.gaps
    assert "name its folder too" in told(outside) and "not there" not in told(outside)
    assert "not there" in told(gone)

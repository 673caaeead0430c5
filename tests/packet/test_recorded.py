"""What a packet of another release says that it read: still there, or said to be a fault."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.packet.folder import Packet
from cfgmigrate.packet.recorded import Quoted, quoted
from cfgmigrate.plan.edits import apply_edits, edits_by_file
from cfgmigrate.plan.model import Change, Edit, NewValue, OldValue
from cfgmigrate.rules.result import Derivation, Input, Status
from cfgmigrate.sheet.model import Sheet, SheetEntry

TEXT = b"retract.length=5.4 mm\nretract.speed=45 mm/s\n"
MACHINE = recognise((read("flow.conf", TEXT, "flat"),))
SHEET = Sheet(
    "swap.yaml",
    b"machine: Wren\nold: {tube: {length: 430 mm}}\n",
    {"old.tube.length": SheetEntry("old.tube.length", "430 mm", Place("swap.yaml", 2, 22), 430.0, 0.0, "mm")},
)


def given(name: str, value: float | None, origin: str) -> Input:
    return Input(name, name, value, "mm", 0.0, origin)


LENGTH = given("was.retraction.length", 5.4, "flow.conf:1")
TUBE = given("old.tube.length", 430.0, "swap.yaml:2")


def change(*inputs: Input, old: OldValue | None = None) -> Change:
    return Change(
        quantity="retraction.length", label="retraction", unit="mm", status=Status.COMPUTED, way="by hand",
        old=old or OldValue(5.4, "5.4", "flow.conf", 1), new=NewValue(0.6, 0.1, "0.6"),
        derivation=Derivation("given", "given", inputs, "a made-up value for this test"), rounding="",
        edits=(Edit("flow.conf", 1, 16, 15, 18, "5.4", "0.6"),), rule="retraction.length",
    )  # fmt: skip


def said_of(packet: Packet, *changes: Change) -> Quoted:
    """What is said of a packet with these changes and nothing by hand."""
    plan = replace(packet.plan, changes=changes, by_hand=())
    return quoted(replace(packet, plan=plan), MACHINE, {SHEET.path: SHEET})


def test_what_stands_where_it_is_said_to_stand_is_no_fault(packet: Packet) -> None:
    (reading,) = (each for each in MACHINE.every_reading if each.quantity == "retraction.length")
    assert (reading.start, reading.end, reading.value) == (15, 18, 5.4)
    edits = edits_by_file((change(),))["flow.conf"]
    assert apply_edits(TEXT, edits) == TEXT.replace(b"5.4", b"0.6")
    assert said_of(packet, change(LENGTH, TUBE)) == Quoted((), 2, 2)
    assert said_of(packet, replace(change(), old=None), replace(change(), edits=())) == Quoted((), 0, 0)


@pytest.mark.parametrize(
    ("one", "said", "seen"),
    [
        (replace(LENGTH, value=2.7), "is recorded as 2.7, and flow.conf:1 says 5.4", 1),
        (replace(LENGTH, value=5.4 * (1 + 2e-6)), "and flow.conf:1 says 5.4", 1),
        (replace(LENGTH, value=5.4 * (1 + 5e-7)), "", 1),
        (replace(LENGTH, value=0.0), "is recorded as 0, and flow.conf:1 says 5.4", 1),
        (replace(TUBE, value=43.0), "is recorded as 43, and swap.yaml:2 says 430", 1),
        (replace(TUBE, origin="swap.yaml:3"), "", 0),
        (replace(TUBE, origin="swap.yaml:4"), "comes from swap.yaml:4, and the sheet has 3 lines", 0),
        (replace(LENGTH, origin="flow.conf:2"), "", 0),
        (replace(LENGTH, origin="other.conf:1"), "", 0),
        (replace(LENGTH, name="was.retraction.speed"), "", 0),
        (replace(LENGTH, name="retraction.length"), "", 0),
        (replace(LENGTH, value=None), "", 0),
        (replace(TUBE, name="old.tube.bore"), "", 0),
        (replace(LENGTH, origin="rule retraction.length"), "", 0),
    ],
    ids=lambda each: each.origin + " " + each.name if isinstance(each, Input) else None,
)
def test_an_input_that_reads_otherwise_where_it_is_said_to_stand_is_a_fault(
    packet: Packet, one: Input, said: str, seen: int
) -> None:
    found = said_of(packet, change(one))
    assert (found.seen, found.inputs) == (seen, 1)
    assert len(found.faults) == bool(said) and all(said in fault for fault in found.faults)


@pytest.mark.parametrize(
    ("old", "said"),
    [
        (OldValue(5.4, "2.7", "flow.conf", 1), "its old value is '2.7', and '5.4' is what is replaced"),
        (OldValue(2.7, "5.4", "flow.conf", 1), "its old value is recorded as 2.7, and is 5.4"),
        (OldValue(None, "2.7", "flow.conf", 1), "its old value is '2.7'"),
        (OldValue(None, "5.4", "flow.conf", 1), ""),
        (OldValue(2.7, "2.7", "flow.conf", 2), ""),
        (OldValue(2.7, "2.7", "other.conf", 1), ""),
    ],
    ids=str,
)
def test_an_old_value_is_the_one_that_is_replaced(packet: Packet, old: OldValue, said: str) -> None:
    faults = said_of(packet, change(old=old)).faults
    assert len(faults) == bool(said) and all(said in fault for fault in faults)


def test_what_a_script_said_is_not_read_as_a_value(packet: Packet) -> None:
    script = replace(change(old=OldValue(2.7, "5.4", "flow.conf", 1)), quantity="script.start")
    assert said_of(packet, script).faults == ()


@pytest.mark.parametrize(
    "moved", [{"start": 14}, {"end": 19}, {"file": "other.conf"}], ids=lambda moved: next(iter(moved))
)
def test_another_place_than_the_reading_s_tells_nothing_of_it(
    packet: Packet, moved: dict[str, object]
) -> None:
    one = change(old=OldValue(2.7, "5.4", "flow.conf", 1))
    (edit,) = one.edits
    assert said_of(packet, replace(one, edits=(replace(edit, **moved),))).faults == ()  # type: ignore[arg-type]


def test_the_same_fault_is_said_once(packet: Packet) -> None:
    wrong = replace(LENGTH, value=2.7)
    found = said_of(packet, change(wrong, wrong))
    assert len(found.faults) == 1 and found.inputs == 2

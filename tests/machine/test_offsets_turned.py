"""A probe's offset that is the nozzle's place, seen from the probe, is asked about and never written."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.ground.findings import BadInput
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.names import names_in
from cfgmigrate.machine.recognise import recognise


def found(text: str, dialect: str = "sectioned") -> Machine:
    return recognise([read("knot", text.encode(), dialect)])


def outcome(machine: Machine) -> tuple[set[str], set[str]]:
    """What is read of the offsets, and what is asked."""
    read_as = {each.quantity for each in machine.readings if each.quantity.startswith("probe.offset_")}
    return read_as, {doubt.about for doubt in machine.doubts if doubt.about.startswith("probe.offset_")}


@pytest.mark.parametrize(
    "text",
    [
        "[feeler]\nnozzle x = 21.5\nnozzle y = -9\n",
        "[feeler]\nto nozzle x = 21.5\nto nozzle y = -9\n",
        "[machine]\nprobe to nozzle x = 21.5\ny probe to the nozzle = -9\n",
        "[feeler]\n; NOZZLE seen from the FEELER\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\noffset x = 21.5 ; from the feeler to the nozzle\noffset y = -9\n",
        "[feeler]\n; the other way round than on the wren: seen from the finger\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n# nozzle relative to the feeler\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n# nozzle minus feeler\noffset x = 21.5\noffset y = -9\n",
    ],
)
def test_the_nozzles_place_seen_from_the_probe_is_asked_about(text: str) -> None:
    assert outcome(found(text)) == (set(), {"probe.offset_x", "probe.offset_y"})


@pytest.mark.parametrize(
    "text",
    [
        "[feeler]\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; from nozzle to feeler\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; seen from the nozzle\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\n; measured from the left of the bed\noffset x = 21.5\noffset y = -9\n",
        "[feeler]\nx from nozzle = 21.5\ny from nozzle = -9\n",
        "[feeler]\noffset to nozzle x = 21.5\noffset to nozzle y = -9\n",
        "[machine]\nnozzle to probe x = 21.5\nnozzle to probe y = -9\n",
        "[nozzle]\n; seen from the finger\nsize = 0.4\n\n[feeler]\noffset x = 21.5\noffset y = -9\n",
    ],
)
def test_the_probes_place_seen_from_the_nozzle_is_read(text: str) -> None:
    assert outcome(found(text)) == ({"probe.offset_x", "probe.offset_y"}, set())


def test_what_the_remedy_says_is_right_for_a_nozzle_that_moves() -> None:
    """Seen from the probe, a nozzle that moves by -4 is found 4 further down: 21.5 becomes 17.5."""
    (doubt, *_) = [each for each in found("[feeler]\nnozzle x = 21.5\n").doubts if each.about]
    assert "21.5 with the nozzle's shift added and the probe's taken off" in doubt.remedy
    assert "{quantity: probe.offset_x, seen_from: probe}" in doubt.remedy


@pytest.mark.parametrize("key", ["rightofnozzle", "right of nozzle", "behindnozzle"])
def test_what_a_place_is_seen_from_may_be_glued_to_it(key: str) -> None:
    read_as, asked = outcome(found(f"[probe]\n{key} = 7\n"))
    assert len(read_as) == 1 and not asked


@pytest.mark.parametrize("key", ["nozzle right of probe", "nozzlerightofprobe"])
def test_the_nozzle_s_place_beside_the_probe_is_asked_about(key: str) -> None:
    read_as, asked = outcome(found(f"[probe]\n{key} = 20\n"))
    assert not read_as and asked


def told(text: str, meaning: str, *others: str) -> Machine:
    """What is read where a person said what `[feeler] nx` is; `others` are further files."""
    site = names_in(f'"[feeler] nx": {meaning}\n'.encode(), "names.yaml")
    files = [read("knot", text.encode(), "sectioned")]
    files += [read(f"other{at}", other.encode(), "header") for at, other in enumerate(others)]
    return recognise(files, site)


MINUS = "/* feeler, on the carriage. figures are NOZZLE minus FEELER */\n#define FEELER_LIFT 7\n"


@pytest.mark.parametrize(
    ("meaning", "others"),
    [
        ("probe.offset_x", (MINUS,)),
        ("{quantity: probe.offset_x, unit: mm}", (MINUS,)),
        ("probe.offset_x", ("/* from the feeler to the nozzle */\n#define LIFT 7\n",)),
        ("probe.offset_x", ()),
    ],
)
def test_an_offset_that_a_person_told_is_asked_which_way_round_it_is_unless_the_files_say_it(
    meaning: str, others: tuple[str, ...]
) -> None:
    assert outcome(told("[feeler]\nnx = 24.3\n", meaning, *others)) == (set(), {"probe.offset_x"})


@pytest.mark.parametrize(
    ("text", "meaning", "others"),
    [
        (
            "[feeler]\nnx = 24.3\n",
            "probe.offset_x",
            ("/* figures are FEELER minus NOZZLE */\n#define LIFT 7\n",),
        ),
        (
            "[feeler]\nnx = 24.3\n",
            "probe.offset_x",
            ("/* from the nozzle to the feeler */\n#define LIFT 7\n",),
        ),
        ("[feeler]\nnx = 24.3\n", "{quantity: probe.offset_x, seen_from: nozzle}", (MINUS,)),
    ],
)
def test_it_is_read_where_the_files_or_the_person_say_that_it_is_seen_from_the_nozzle(
    text: str, meaning: str, others: tuple[str, ...]
) -> None:
    assert told(text, meaning, *others).get("probe.offset_x").value == 24.3


def test_one_that_is_said_to_be_seen_from_the_probe_is_turned_and_written_turned() -> None:
    machine = told("[feeler]\nnx = 24.3\n", "{quantity: probe.offset_x, seen_from: probe}", MINUS)
    reading = machine.get("probe.offset_x")
    assert (reading.value, reading.form.to_written(-31.3)) == (-24.3, 31.3)


def test_a_head_of_another_file_that_states_the_sense_counts_for_an_offset_that_was_understood() -> None:
    texts = [("a", "[feeler]\noffset x = 21.5\n", "sectioned"), ("b", MINUS, "header")]
    machine = recognise([read(path, text.encode(), dialect) for path, text, dialect in texts])
    assert outcome(machine) == (set(), {"probe.offset_x"})


@pytest.mark.parametrize(
    "remark",
    ["nozzle minus the bed", "seen from the camera", "from the feeler to the bed", "nozzle and feeler"],
)
def test_a_remark_elsewhere_that_does_not_name_both_says_nothing_of_it(remark: str) -> None:
    texts = [
        ("a", "[feeler]\noffset x = 21.5\n", "sectioned"),
        ("b", f"/* {remark} */\n#define LIFT 7\n", "header"),
    ]
    machine = recognise([read(path, text.encode(), dialect) for path, text, dialect in texts])
    assert outcome(machine) == ({"probe.offset_x"}, set())


OFFSETS = "[feeler]\noffset x = 21.5\noffset y = -9\n"


@pytest.mark.parametrize(
    "text",
    [
        f"[filament sensor]\ndistance = 612   # from the sensor to the nozzle\n{OFFSETS}",
        f"; mm, s. the filament goes 612 mm from the sensor to the nozzle\n{OFFSETS}",
        f"{OFFSETS}offset z = 1.9   # from the feeler to the nozzle\n",
        f"; a round goes from the feeler to the nozzle brush\n{OFFSETS}",
        f"[lamp]\nline = 7\n; from the sensor to the tip\nreach = 612\n{OFFSETS}",
    ],
)
def test_what_is_said_of_another_line_or_of_the_filaments_way_turns_no_offset(text: str) -> None:
    read_as, asked = outcome(found(text))
    assert {"probe.offset_x", "probe.offset_y"} <= read_as
    assert not asked


@pytest.mark.parametrize(
    "text",
    [
        f"; all offsets: from the sensor to the nozzle\n{OFFSETS}",
        f"[lamp]\nline = 7\n\n; nozzle minus feeler, all of them\n\n{OFFSETS}",
        f"{OFFSETS}kind = needle   # nozzle minus needle\n",
    ],
)
def test_a_remark_at_the_head_by_itself_or_in_their_own_section_turns_them(text: str) -> None:
    assert outcome(found(text)) == (set(), {"probe.offset_x", "probe.offset_y"})


@pytest.mark.parametrize(
    "meaning", ["{quantity: axis.x.max, seen_from: probe}", "{quantity: probe.offset_x, seen_from: bed}"]
)
def test_only_a_probes_offset_along_the_bed_is_seen_from_the_nozzle_or_the_probe(meaning: str) -> None:
    with pytest.raises(BadInput, match="seen_from is for a probe's offset"):
        told("[feeler]\nnx = 24.3\n", meaning)

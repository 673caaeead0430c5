"""Machines that read files in one folder share a history: which of its files are another machine's."""

from __future__ import annotations

from pathlib import Path

import pytest

from cfgmigrate.apply.other_machines import files_of_others
from cfgmigrate.apply.prior_installs import earlier_installs
from cfgmigrate.plan.edits import FileStep, Span
from cfgmigrate.store.history import history, record
from cfgmigrate.store.keeping import Store

OWN = b"name=hall\nretract.length=5.4\nwide=210\nhot=250\n"
SHARED = b"[filament grey]\nretract length = 6.2\n"
SAID = {"new.tube.length": "40 mm"}


def installed(config: Path) -> dict[str, bytes]:
    """What an install of the machine in the hall left of its own file and of the shared one."""
    steps = [
        FileStep("hall.conf", "flat", OWN, put(OWN, b"5.4"), (span("retraction.length", OWN, b"5.4"),)),
        FileStep(
            "grey.conf",
            "sectioned",
            SHARED,
            put(SHARED, b"6.2"),
            (span("retraction.length @ filament grey", SHARED, b"6.2"),),
        ),
    ]
    for step in steps:
        (config / step.path).write_bytes(step.before or b"")
    store = Store(config.resolve())
    reasons = {
        "said": [list(each) for each in SAID.items()],
        "inputs": ["hall.conf", "grey.conf", "pins.conf"],
        "by_hand": [
            {
                "id": "lift",
                "rule": "lift",
                "what": "Lift",
                "why": "",
                "was": [["was.lift", 0.3]],
                "value": 0.1,
                "text": "0.1",
            }
        ],
    }
    with store.locked():
        record(
            store, "install", steps, {each.path: each.path for each in steps}, "ab" * 32, "", reasons=reasons
        )
    return {each.path: each.after for each in steps}


def put(data: bytes, old: bytes) -> bytes:
    return data.replace(old, b"0.6")


def span(name: str, data: bytes, old: bytes) -> Span:
    at = data.index(old)
    return Span(name, at, at + 3, at, at + 3)


def test_what_was_installed_in_another_machine_s_file_did_not_move_into_this_one_s(tmp_path: Path) -> None:
    """Only what stands in the shared file counts for both, and what hands were told is for one machine alone."""
    left = installed(tmp_path)
    present = {"loft.conf": b"name=loft\npull.length=6.0\n", "grey.conf": left["grey.conf"]}
    found = earlier_installs(history(tmp_path), tmp_path, present, lambda _: SAID)
    assert found is not None and not found.lost and not found.told
    assert found.old["grey.conf"] == SHARED and found.whole
    (tmp_path / "hall.conf").unlink()
    found = earlier_installs(history(tmp_path), tmp_path, present, lambda _: SAID)
    assert found is not None and found.lost.keys() == {"retraction.length"} and found.told, "a file that went"


def test_an_install_of_more_files_than_are_given_now_is_still_this_machine_s_last(tmp_path: Path) -> None:
    left = installed(tmp_path)
    present = {"hall.conf": left["hall.conf"], "pins.conf": b"lamp=7\n"}
    found = earlier_installs(history(tmp_path), tmp_path, present, lambda _: {}, whatever=True)
    assert found is not None and found.old["hall.conf"] == OWN and found.told and not found.lost


@pytest.mark.parametrize(
    ("now", "others"),
    [
        (put(OWN, b"5.4"), False),
        (OWN.replace(b"5.4", b"0.7"), False),
        (OWN.replace(b"hall", b"loft"), True),
    ],
    ids=["as it was left", "tuned since", "as the old drive had it"],
)
def test_a_file_that_went_on_under_another_name_is_no_other_machine(
    tmp_path: Path, now: bytes, others: bool
) -> None:
    installed(tmp_path)
    step = FileStep("hall.conf", "flat", OWN, put(OWN, b"5.4"), (span("retraction.length", OWN, b"5.4"),))
    assert bool(files_of_others([step], tmp_path, {"loft.conf": now})) is others


WIDE = b"name=hall\nretract.length=5.4\nfeed.steps=299\namps=1.1\nwide=210\nhot=250\n"


@pytest.mark.parametrize(
    ("now", "others"),
    [
        (b"name=hall\nretract.length=5.4\nfeed.steps=598\namps=1.1\nwide=210\nhot=250\n", True),
        (b"name=hall\nretract.length=5.4\nfeed.steps=299\namps=0.4\nwide=210\nhot=250\n", True),
        (b"name=hall\nretract.length=5.4\nfeed.steps=488\namps=0.5\nwide=210\nhot=250\n", False),
        (b"name=hall\nretract.length=5.4\nfeed.steps=488\namps=0.4\nwide=210\nhot=250\n", False),
        (b"name=hall\nretract.length=0.7\nfeed.steps=491\namps=0.5\nwide=210\nhot=250\n", False),
    ],
    ids=[
        "a sister with steps of her own",
        "that has one number of ours by chance",
        "one put back, one tuned, one left",
        "one put back by hand",
        "all of them tuned",
    ],
)
def test_a_sister_with_a_number_of_her_own_is_no_moved_file(tmp_path: Path, now: bytes, others: bool) -> None:
    """Her lines are those of the old drive. What goes on under another name has more of the new one than of the old."""
    changed = ((b"5.4", b"0.6"), (b"299", b"488"), (b"1.1", b"0.4"))
    after = WIDE
    for old, new in changed:
        after = after.replace(old, new)
    spans = tuple(span(f"value.{at}", WIDE, old) for at, (old, _) in enumerate(changed))
    (tmp_path / "hall.conf").write_bytes(after)
    step = FileStep("hall.conf", "flat", WIDE, after, spans)
    assert bool(files_of_others([step], tmp_path, {"loft.conf": now})) is others
    (tmp_path / "hall.conf").unlink()
    assert not files_of_others([step], tmp_path, {"loft.conf": now}), "what is gone may be anywhere"

"""How the archives beside this file were made. They are kept; this is not run again.

It was run once, with version 0.1.0, which wrote packets and histories of format 1:

    python tests/past/make.py EMPTY_FOLDER

Packets are looked at, and reverted, long after they were written, so every later release must read what this one
wrote. What a release reads can't be tested with what the same release writes; hence these archives. The script is
kept as their description: it tells what each of them went through. A later release refuses to run it.

Each archive holds one machine at one moment:

    config/          the configuration as it stood, with its history in the hidden folder
    packets/NAME/    the packets, in the order in which they were made
    records/NAME     the review records that were taken in
    expect.json      what was seen when it was made

`expect.json` has `packets` (each with its kind, hash, changes, review, and what `verify` said), `history` as
`history --json` gave it, `states` (names for the SHA-256 of each file of a configuration: before, installed, now
and so on), `state` (the one that it is packed in) and `ways`. A way is a row of commands, run one after the other on
one copy of the archive, each with the exit status and the state that were seen; {config} and {NAME} are places. All
of it was seen, none of it was worked out here.

Where the configuration stood is in each packet's changes.json as an absolute path, and nowhere else. So every
install and revert of a packet is told --root.

The times in a history are those of the day, so running it twice does not give the same archives.
"""

from __future__ import annotations

import contextlib
import hashlib
import io
import json
import lzma
import os
import shutil
import signal
import subprocess
import sys
import tarfile
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import cfgmigrate
from cfgmigrate.cli import run

HERE = Path(__file__).parent
SAMPLES = HERE.parents[1] / "sample_configs"
PREPARER, REVIEWER = "A. Heron", "B. Redshank"
KILLED = """
import os, signal, sys
real, count = os.replace, 0

def replace(*args, **kwargs):
    global count
    real(*args, **kwargs)
    count += str(args[1]).endswith(".conf")
    if count == 2:
        os.kill(os.getpid(), signal.SIGKILL)

os.replace = replace
import cfgmigrate
cfgmigrate.install(sys.argv[1])
"""
Verdicts = dict[str, tuple[str, str]]
Way = list[tuple[str, ...]]


def call(*arguments: str, status: int = 0) -> str:
    """What one command line prints."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        found = run(arguments)
    assert found == status, (arguments, found, out.getvalue(), err.getvalue())
    return out.getvalue()


def document(packet: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(Path("packets", packet, "changes.json").read_bytes())
    assert found["format"] == 1 and found["prepared_by"] == PREPARER
    return found


def files(config: Path) -> dict[str, str]:
    """The SHA-256 of each file of a configuration, without what the tool keeps beside them."""
    return {
        path.relative_to(config).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(config.rglob("*"))
        if path.is_file() and ".cfgmigrate" not in path.parts
    }


# --- what a machine goes through -------------------------------------------------------------------------


def lay_out(machine: str) -> None:
    shutil.copytree(SAMPLES / machine, "config")
    shutil.copyfile(SAMPLES / "sheets" / f"{machine}.yaml", "swap.yaml")


def prepare(packet: str, *more: str) -> None:
    call("prepare", "config", "--sheet", "swap.yaml", "-o", f"packets/{packet}", *more)


def review(packet: str, verdicts: Verdicts) -> None:
    """Another person's record, as the page saves it. What `verdicts` does not name is accepted."""
    plan = document(packet)
    items = [change["quantity"] for change in plan["changes"]] + [item["what"] for item in plan["by_hand"]]
    assert verdicts.keys() <= set(items)
    lines = [
        f"format: 1\npacket: {plan['hash']}\nreviewer: {REVIEWER}\ntime: '2031-05-04T10:11:12Z'\nverdicts:"
    ]
    for item in items:
        verdict, note = verdicts.get(item, ("accepted", ""))
        said = (json.dumps(text, ensure_ascii=False) for text in (item, verdict, note))
        lines.append("  - {{item: {}, verdict: {}, note: {}}}".format(*said))
    Path("records").mkdir(exist_ok=True)
    Path("records", packet).write_text("\n".join(lines) + "\n", encoding="utf-8")
    call("review", f"packets/{packet}", "--record", f"records/{packet}")


def edit(file: str, old: str, new: str) -> None:
    path = Path("config", file)
    data = path.read_bytes()
    assert data.count(old.encode()) == 1, (file, old)
    path.write_bytes(data.replace(old.encode(), new.encode()))


def tune(measured: str) -> None:
    Path("measured.yaml").write_text(f"sheet: swap.yaml\nmeasured:\n{measured}", encoding="utf-8")
    call("tune", "config", "--measured", "measured.yaml", "-o", "packets/tuned")


# --- the machines ----------------------------------------------------------------------------------------

THERE: Way = [("install", "{swap}", "--root", "{config}"), ("revert", "{swap}", "--root", "{config}")]
BACK: Way = [("revert", "{swap}", "--root", "{config}")]
TO_START: Way = [("revert", "--to", "start", "{config}")]
States = dict[str, dict[str, str]]


def prepared(machine: str) -> Callable[[States], list[Way]]:
    def go(states: States) -> list[Way]:
        lay_out(machine)
        prepare("swap")
        return [THERE]

    return go


def reviewed(states: States) -> list[Way]:
    """Every change and everything by hand is accepted by another person, then installed."""
    lay_out("dunlin")
    prepare("swap")
    review("swap", {"axis.z.max": ("accepted", "measured with the block: “306” holds")})
    states["before"] = files(Path("config"))
    call("install", "packets/swap", "--require-review")
    states["installed"] = files(Path("config"))
    only = ("revert", "{swap}", "--root", "{config}", "--only", "lag.coefficient")
    return [BACK, TO_START, [only, *BACK]]


def rest(states: States) -> list[Way]:
    """One value is held and one questioned; the others are installed, and the rest is prepared."""
    lay_out("wren")
    prepare("swap")
    verdicts = {
        "retraction.length": ("held", "wait for the 0.4 mm nozzle – see the list in the hut"),
        "script.load.e": ("questioned", "is the tube 38 mm?"),
    }
    review("swap", verdicts)
    states["before"] = files(Path("config"))
    call("install", "packets/swap", "--require-review")
    states["in part"] = files(Path("config"))
    prepare("rest")
    install_rest = ("install", "{rest}", "--root", "{config}")
    return [
        BACK,
        [install_rest, ("revert", "{rest}", "--root", "{config}"), *BACK],
        [install_rest, *TO_START],
        [install_rest, *BACK, ("revert", "{rest}", "--root", "{config}")],
    ]


def tuned(states: States) -> list[Way]:
    """The swap is installed, and what was measured after it as well."""
    lay_out("siskin")
    prepare("swap")
    states["before"] = files(Path("config"))
    call("install", "packets/swap")
    states["installed"] = files(Path("config"))
    tune("  retraction: {start: 0.2 mm, step: 0.1 mm, best_band: 4, bands: 8}\n  lag: {best: 0.051 s}\n")
    review("tuned", {})
    call("install", "packets/tuned", "--require-review")
    return [
        [("revert", "{tuned}", "--root", "{config}"), *BACK],
        [("revert", "--to", "1", "{config}"), *TO_START],
        TO_START,
        BACK,
    ]


def carried_over(states: States) -> list[Way]:
    """An old configuration's values go into another one of another dialect, with the swap, and are installed."""
    lay_out("plover")
    shutil.copytree(SAMPLES / "wren", "old")
    states["before"] = files(Path("config"))
    prepare("swap", "--from", "old")
    call("install", "packets/swap")
    return [BACK, TO_START]


def named(states: States) -> list[Way]:
    """A names file says what two settings are, and a rule of the user's own takes the place of one of the book."""
    lay_out("dunlin")
    edit("feed.txt", "\nretraction.length  ", "\npull.back          ")
    edit("feed.txt", "\nretraction.lift ", "\nhop.over        ")
    Path("names.yaml").write_text(
        '"feed.txt pull.back": retraction.length\n"hop.over": ignore\n', encoding="utf-8"
    )
    Path("rules").mkdir()
    Path("rules", "retraction.prime_extra.yaml").write_text(
        "sets: retraction.prime_extra\n"
        "says: The station begins with half of what it was.\n"
        "ways:\n"
        "  - way: half\n"
        "    needs: [was.retraction.prime_extra]\n"
        "    formula: was.retraction.prime_extra / 2\n"
        "    status: estimate\n"
        "    source: common practice, no source\n"
        "verify: Look at where lines begin after a move.\n",
        encoding="utf-8",
    )
    states["before"] = files(Path("config"))
    prepare("swap", "--names", "names.yaml", "--rules", "rules")
    call("install", "packets/swap")
    return [BACK, TO_START]


def edited(states: States) -> list[Way]:
    """After the install one line was added, one value elsewhere and one that was installed were changed."""
    lay_out("knot")
    prepare("swap")
    states["before"] = files(Path("config"))
    call("install", "packets/swap")
    states["installed"] = files(Path("config"))
    plan = document("swap")
    feed = next(change for change in plan["changes"] if change["quantity"] == "feeder.steps_per_mm")
    edit("settings.nc", f"E{feed['new']['text']}\n", "E291.3\n")
    edit("settings.nc", "Z0.20", "Z0.25")
    edit("settings.nc", "N10 G21\n", "; nets mended in May\nN10 G21\n")
    return [
        BACK,  # a conflict: refused
        [(*BACK[0], "--keep", "feeder.steps_per_mm")],
        [(*BACK[0], "--force", "feeder.steps_per_mm")],
        [("revert", "--to", "start", "{config}", "--force", "feeder.steps_per_mm")],
    ]


def again(states: States) -> list[Way]:
    """Installed, edited, taken back, prepared again from the edited files, installed, and edited again."""
    lay_out("plover")
    prepare("swap")
    states["before"] = files(Path("config"))
    call("install", "packets/swap")
    states["installed"] = files(Path("config"))
    edit("machine.h", "// softened its mount in the sun", "// softened its mount in June")
    call("revert", "packets/swap")
    states["taken back"] = files(Path("config"))
    prepare("again")
    call("install", "packets/again")
    states["installed again"] = files(Path("config"))
    edit("limits.h", "Nobody changes this file alone.", "Two people change this file.")
    return [
        [("revert", "{again}", "--root", "{config}")],
        [("revert", "--to", "2", "{config}"), *TO_START],
        [("revert", "--to", "1", "{config}")],
        TO_START,
    ]


def twice(states: States) -> list[Way]:
    """The same packet installed, one value of it taken back, then all of it, and installed once more."""
    lay_out("knot")
    prepare("swap")
    states["before"] = files(Path("config"))
    call("install", "packets/swap")
    states["installed"] = files(Path("config"))
    call("revert", "packets/swap", "--only", "feeder.steps_per_mm")
    states["without its steps"] = files(Path("config"))
    call("revert", "packets/swap")
    call("install", "packets/swap")
    return [BACK, TO_START, [("revert", "--to", "2", "{config}")]]


def interrupted(states: States) -> list[Way]:
    """The process was killed when two of four files had their new content."""
    lay_out("wren")
    prepare("swap")
    states["before"] = files(Path("config"))
    done = subprocess.run([sys.executable, "-c", KILLED, "packets/swap"], check=False)
    assert done.returncode == -signal.SIGKILL
    return [[("history", "{config}"), *BACK], [("history", "{config}"), *TO_START]]


MACHINES: dict[str, Callable[[States], list[Way]]] = {
    **{
        f"{machine}-prepared": prepared(machine) for machine in ("dunlin", "knot", "plover", "siskin", "wren")
    },
    "dunlin-reviewed": reviewed,
    "wren-rest": rest,
    "siskin-tuned": tuned,
    "plover-from-wren": carried_over,
    "dunlin-named": named,
    "knot-edited": edited,
    "plover-again": again,
    "knot-twice": twice,
    "wren-interrupted": interrupted,
}


# --- what is seen of them --------------------------------------------------------------------------------


def seen_of_review(packet: str) -> dict[str, Any] | None:
    """Who said what, and what `install --require-review` holds back for it; None where nobody reviewed it."""
    record = Path("packets", packet, "review.yaml")
    if not record.exists():
        return None
    from ruamel.yaml import YAML

    said = YAML(typ="safe", pure=True).load(record)
    said = said["reviews"][0] if "reviews" in said else said  # one record a person
    root = f"packets/{packet}/before"
    report = json.loads(
        call("install", f"packets/{packet}", "--require-review", "--dry-run", "--root", root, "--json")
    )
    return {**{name: said[name] for name in ("reviewer", "time", "verdicts")}, "held": report["held"]}


def seen_of_packet(packet: str) -> dict[str, Any]:
    plan = document(packet)
    return {
        "kind": plan["kind"],
        "hash": plan["hash"],
        "verify": {"status": 0, "lines": call("verify", f"packets/{packet}").splitlines()},
        "changes": [
            [change["quantity"], edit["old"], edit["new"], edit["file"], edit["line"]]
            for change in plan["changes"]
            for edit in change["edits"]
        ],
        "by_hand": [item["what"] for item in plan["by_hand"]],
        "review": seen_of_review(packet),
    }


def seen_of_way(number: int, way: Way, states: States) -> list[dict[str, Any]]:
    """Each command of a way, on one copy of everything, with the exit status and the state that it left."""
    copy = Path("copy")
    for part in ("config", "packets"):
        shutil.copytree(part, copy / part)
    places = {packet.name: str(packet) for packet in (copy / "packets").iterdir()}
    steps = []
    for place, step in enumerate(way, 1):
        arguments = [part.format(config=copy / "config", **places) for part in step]
        more = [] if step[0] == "history" else ["--json"]
        out = io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            status = run([*arguments, *more])
        assert status in (0, 3), (step, status)
        report = json.loads(out.getvalue()) if more and status == 0 else {}
        restored = [
            [item["quantity"], item["file"], item["present"], item["old"]]
            for item in report.get("restored", ())
        ]
        state = named_state(files(copy / "config"), states, f"way {number}, step {place}")
        steps.append({"arguments": step, "status": status, "restored": restored, "state": state})
    shutil.rmtree(copy)
    return steps


def named_state(found: dict[str, str], states: States, otherwise: str) -> str:
    for name, state in states.items():
        if state == found:
            return name
    states[otherwise] = found
    return otherwise


def history_of_copy() -> dict[str, Any]:
    """What the history says; of a copy, since asking puts an interrupted change in order."""
    shutil.copytree("config", "copy")
    found: dict[str, Any] = json.loads(call("history", "copy", "--json"))
    shutil.rmtree("copy")
    return found


def pack(archive: Path, paths: Iterable[str]) -> None:
    """The same bytes for the same files: sorted, without owner and time."""
    names = sorted({path.as_posix() for top in paths for path in (Path(top), *Path(top).rglob("*"))})
    packed = io.BytesIO()
    with tarfile.open(fileobj=packed, mode="w", format=tarfile.PAX_FORMAT) as tar:
        for name in names:
            about = tar.gettarinfo(name)
            about.uid = about.gid = about.mtime = 0
            about.uname = about.gname = ""
            about.mode = 0o755 if about.isdir() else 0o644
            with Path(name).open("rb") if about.isfile() else contextlib.nullcontext() as data:
                tar.addfile(about, data)
    archive.write_bytes(lzma.compress(packed.getvalue(), preset=9 | lzma.PRESET_EXTREME))


def make(name: str) -> None:
    go = MACHINES[name]
    states: States = {}
    ways = go(states)
    now = files(Path("config"))
    states.setdefault("before", now)
    state = named_state(now, states, "now")
    packets = sorted(Path("packets").iterdir(), key=lambda packet: packet.stat().st_mtime_ns)
    expect = {
        "what": (go.__doc__ or "Prepared, and not yet installed.").strip(),
        "release": cfgmigrate.__version__,
        "packets": {packet.name: seen_of_packet(packet.name) for packet in packets},
        "history": history_of_copy(),
        "state": state,
        "ways": [seen_of_way(number, way, states) for number, way in enumerate(ways, 1)],
        "states": states,
    }
    Path("expect.json").write_text(json.dumps(expect, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
    records = ["records"] if Path("records").exists() else []
    pack(HERE / f"{name}.tar.xz", ["config", "packets", *records, "expect.json"])


def main(room: Path) -> None:
    assert cfgmigrate.__version__ == "0.1.0", "these are packets of the past; a later release can't make them"
    os.environ["LOGNAME"] = PREPARER
    for name in MACHINES:
        (room / name).mkdir(parents=True)
        os.chdir(room / name)
        make(name)
        print(name)


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve())

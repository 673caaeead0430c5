"""Files made to exhaust, mislead or break a reader: one clear error, bounded time and memory, nothing written.

Every case is a whole command line in a child process that may use so much memory and so much processor time
and no more: what would run for hours or fill the memory is killed there, and fails.
"""

from __future__ import annotations

import os
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stdout
from io import StringIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from commandline import Runner, Said

from cfgmigrate.cli import run
from cfgmigrate.dialects import DIALECTS
from cfgmigrate.dialects.grammar import data_folder

SAMPLES = data_folder("sample_configs")
MEMORY = 1_500_000_000
"""Bytes of address space beyond what the process has at the start."""
SECONDS = 120
"""Of processor time; the slowest case takes a small part of it."""

MB_100 = 100_000_000
BOMB = "a: &a [x, x, x, x, x, x, x, x]\n" + "".join(
    f"{b}: &{b} [{', '.join([f'*{a}'] * 8)}]\n"
    for a, b in zip("abcdefghijklmn", "bcdefghijklmno", strict=True)
)
RULE = """\
sets: lag.averaging
says: A rule of somebody's own.
unit: s
ways:
  - way: made up
    needs: [was.lag.averaging]
    formula: {}
    status: estimate
    source: made up for this test
"""


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    shutil.copytree(SAMPLES / "dunlin", tmp_path / "config")
    shutil.copyfile(SAMPLES / "sheets" / "dunlin.yaml", tmp_path / "swap.yaml")
    monkeypatch.chdir(tmp_path)
    yield tmp_path


@pytest.fixture(scope="module", autouse=True)
def warm() -> None:
    """What any command line loads and compiles, made once here: the children begin with it."""
    with TemporaryDirectory() as folder, redirect_stdout(StringIO()):
        sheet = str(SAMPLES / "sheets" / "dunlin.yaml")
        config = shutil.copytree(SAMPLES / "dunlin", Path(folder) / "config")
        assert run(["prepare", str(config), "--sheet", sheet, "-o", str(Path(folder) / "made")]) == 0
        assert run(["survey", str(config)]) == 0


def bounded(*arguments: str, part: int = 1) -> Said:
    """One command line in a forked child within the bounds; it is killed by SIGKILL beyond them. A `part` of a text has that part of the
    memory, and of the time what it would take where time grows with the square."""
    out, err = Path("said.out"), Path("said.err")
    child = os.fork()
    if child == 0:
        status = 99
        try:
            used = int(Path("/proc/self/statm").read_text().split()[0]) * os.sysconf("SC_PAGE_SIZE")
            resource.setrlimit(resource.RLIMIT_AS, (used + MEMORY // part,) * 2)
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS // part**2,) * 2)
            signal.alarm(10 * SECONDS)
            for number, path in ((1, out), (2, err)):
                os.dup2(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC), number)
            sys.stdout, sys.stderr = os.fdopen(1, "w", closefd=False), os.fdopen(2, "w", closefd=False)
            status = run(list(arguments))
            sys.stdout.flush()
            sys.stderr.flush()
        finally:
            os._exit(status)
    _, ended = os.waitpid(child, 0)
    assert os.WIFEXITED(ended), f"killed by {signal.Signals(os.WTERMSIG(ended)).name}"
    said = Said(os.WEXITSTATUS(ended), out.read_text(), err.read_text())
    out.unlink(), err.unlink()
    return said


def everything() -> dict[str, bytes | str]:
    """All that lies on the desk; of what is no ordinary file, or is huge, only what it is."""
    return {
        path.relative_to(".").as_posix(): path.read_bytes()
        if path.is_file() and path.stat().st_size < 10_000_000
        else f"mode {path.lstat().st_mode}, {path.lstat().st_size if path.is_file() else 0}"
        for path in Path().rglob("*")
    }


def refused(said: Said, name: str) -> None:
    """One clear error that names the file, and what to do."""
    assert said.status in (2, 3), (said.status, said.out[-500:], said.err[-2000:])
    assert said.out == ""
    assert "Traceback" not in said.err and said.err.startswith("cfgmigrate: ")
    assert name in said.err.splitlines()[0], said.err
    assert len(said.err) < 3000


def text(content: str | bytes) -> Callable[[Path], None]:
    data = content.encode() if isinstance(content, str) else content
    return lambda path: path.write_bytes(data) and None  # type: ignore[func-returns-value]


def huge(path: Path) -> None:
    """100 MB of letters, most of which the file system need not hold."""
    with path.open("wb") as file:
        file.write(b"# nets\n" * 10)
        file.truncate(MB_100)


def really_huge(path: Path) -> None:
    with path.open("wb") as file:
        for _ in range(MB_100 // 1_000_000):
            file.write(b"# net\n" * 166_666 + b"# !\n")


def pipe(path: Path) -> None:
    os.mkfifo(path)


def endless(path: Path) -> None:
    path.symlink_to("/dev/zero")


#: what any small YAML file may be made into
YAML: dict[str, Callable[[Path], None]] = {
    "a bomb of aliases": text(BOMB),
    "a tag that would run something": text('a: !!python/object/apply:os.system ["touch owned"]\n'),
    "a tag of its own": text("a: !net [1]\n"),
    "an anchor that holds itself": text("a: &a [*a]\n"),
    "brackets without end": text("a: " + "[" * 100_000),
    "braces without end": text("a: " + "{b: " * 30_000),
    "a million characters in a line": text("a: " + "x" * 1_000_000),
    "100 MB": huge,
    "100 MB of text": really_huge,
    "zero bytes": text("machine: Dun\0lin\n"),
    "no UTF-8": text(b"machine: Dun\xff\xfelin\n"),
    "a pipe that nobody writes to": pipe,
    "a device without end": endless,
}


@pytest.mark.parametrize("case", YAML)
@pytest.mark.parametrize("kind", ["sheet", "names", "measured", "record", "fleet", "rule"])
def test_a_small_file_of_a_persons_own_that_is_hostile(desk: Path, kind: str, case: str) -> None:
    name = {"rule": "mine/own.yaml"}.get(kind, f"{kind}.yaml")
    Path(name).parent.mkdir(exist_ok=True)
    if kind == "record":
        assert bounded("prepare", "config", "--sheet", "swap.yaml", "-o", "made").status == 0
    YAML[case](Path(name))
    before = everything()
    said = bounded(
        *{
            "sheet": ("prepare", "config", "--sheet", name, "-o", "packet"),
            "names": ("prepare", "config", "--sheet", "swap.yaml", "--names", name, "-o", "packet"),
            "measured": ("tune", "config", "--measured", name, "-o", "packet"),
            "record": ("review", "made", "--record", name),
            "fleet": ("prepare", "--fleet", name, "-o", "packet"),
            "rule": ("prepare", "config", "--sheet", "swap.yaml", "--rules", "mine", "-o", "packet"),
        }[kind]
    )
    refused(said, "own.yaml" if kind == "rule" else name)
    assert everything() == before


@pytest.mark.parametrize("number", ["1e999", "9^9^9", "1/0", "inf", "nan", "-1e999", "9" * 5000, "5 ± 1e999"])
def test_a_number_that_is_none_in_the_sheet(desk: Path, number: str) -> None:
    sheet = Path("swap.yaml")
    sheet.write_text(sheet.read_text().replace("length: 46 mm", f"length: {number} mm"))
    assert number in sheet.read_text()
    before = everything()
    refused(bounded("prepare", "config", "--sheet", "swap.yaml", "-o", "packet"), "swap.yaml")
    assert everything() == before


@pytest.mark.parametrize(
    "formula",
    [
        "was.lag.averaging / 0", "was.lag.averaging / (1 - 1)", "9^9^9 * was.lag.averaging", "1e999 * was.lag.averaging",
        "was.lag.averaging * exp(10^6)", "was.lag.averaging * sqrt(0 - 1)", "(" * 5000 + "was.lag.averaging" + ")" * 5000,
        "was.lag.averaging" + " + was.lag.averaging" * 100_000, "2^" * 600 + "was.lag.averaging",
    ],
    ids=lambda formula: f"{formula[:24]}…",
)  # fmt: skip
def test_a_formula_that_comes_to_nothing_in_a_rule_of_the_users_own(desk: Path, formula: str) -> None:
    Path("mine").mkdir()
    Path("mine/lag.averaging.yaml").write_text(RULE.format(formula))
    before = everything()
    said = bounded("prepare", "config", "--sheet", "swap.yaml", "--rules", "mine", "-o", "packet")
    refused(said, "lag.averaging.yaml")
    assert everything() == before


#: what any configuration file may be made into
CONFIG: dict[str, Callable[[Path], None]] = {
    "100 MB": huge,
    "100 MB of text": really_huge,
    "zero bytes": text("[a]\nb = 1\0\n"),
    "a pipe that nobody writes to": pipe,
    "a device without end": endless,
}


@pytest.mark.parametrize("case", CONFIG)
@pytest.mark.parametrize("named", [True, False], ids=["named", "in the folder"])
def test_a_configuration_file_that_is_no_such_thing(desk: Path, case: str, named: bool) -> None:
    """Named, it is refused; only found beside the others, it is skipped and said, and the others are read."""
    CONFIG[case](Path("config/odd.txt"))
    before = everything()
    if named:
        refused(
            bounded("prepare", "config", "config/odd.txt", "--sheet", "swap.yaml", "-o", "packet"), "odd.txt"
        )
        assert everything() == before
        return
    said = bounded("survey", "config")
    assert said.status == 0 and said.err == "" and "odd.txt" in said.out
    assert everything() == before


#: half of what the bounds at the top are meant for; each is tried within those of a half
WORST = {
    "a quarter of a million letters": "a" * 250_000,
    "a quarter of a million blanks": " " * 250_000,
    "a key of a quarter of a million letters": "k" * 250_000 + " = 1",
    "a key of an eighth of a million glued words": "max" * 75_000 + " = 1",
    "a key of an eighth of a million parts": "a." * 125_000 + "b = 1",
    "a key of an eighth of a million words": "max_" * 62_500 + "z = 1",
    "a section of a quarter of a million letters": "[" + "k" * 250_000 + "]\nk = 1",
    "a section of an eighth of a million words": "[" + "max " * 62_500 + "]\nk = 1",
    "a define of a quarter of a million letters": "#define " + "K" * 250_000 + " 1",
    "a value of a quarter of a million letters": "k = " + "v" * 250_000,
    "a quarter of a million blanks before a value": "k =" + " " * 250_000 + "1",
    "a quarter of a million blanks behind a value": "k = 1" + " " * 250_000 + "x",
    "a quarter of a million quotes": "k = " + "'\"" * 125_000,
    "a quarter of a million escapes": 'k = "' + "\\" * 250_000,
    "a quarter of a million commas": "k = " + "1," * 125_000,
    "a quarter of a million comment signs": "k = 1 " + "# " * 125_000,
    "a quarter of a million numbers": "G1 " + "X1" * 125_000,
    "a quarter of a million brackets": "[" * 250_000,
    "a quarter of a million digits": "k = " + "9" * 250_000,
    "a number with an exponent of a quarter of a million digits": "k = 1e" + "9" * 250_000,
    "a comment that never ends": "/*" * 250_000,
    "a macro of a quarter of a million joined lines": "#define A " + "\\\n" * 125_000 + "1",
    "powers": "#define A 9\n#if " + "9*" * 50_000 + "9\n#define B 1\n#endif",
    "five thousand nested conditionals": "".join(f"#ifdef A{n}\n" for n in range(5_000))
    + "#define B 1\n"
    + "#endif\n" * 5_000,
    "five thousand conditionals left open": "#if 1\n" * 5_000,
    "macros that double two thousand times": "".join(f"#define A{n} A{n + 1} A{n + 1}\n" for n in range(2_000))
    + "#define A2000 1\n#if A0\n#define B 1\n#endif\n",
    "macros in a circle": "#define A B\n#define B A\n#if A\n#define C 1\n#endif\n",
    "a quarter of a million blanks within a key": "k" + " " * 250_000 + "a 1",
    "a section of known words": "[" + "feeder max speed nozzle " * 2_000 + "]\nfull steps: 200",
    "a key of known words": "feeder max speed nozzle " * 2_000 + " = 1",
    "an eighth of a million files to take in": "k = 1\ninclude = " + "a," * 125_000,
    "a bracket that a quarter of a million others follow": "[script start]\nlines:\n  G28\n  G1 X5 " + "(" * 250_000,
    "a wildcard many times": "[a]\nk = 1\n" + "include = **/*.x\n" * 2_000,
    "a quarter of a million things said to be saved": "[a]\nk = 1\n" + "# saved by the machine\n# [a]\n# b = 1\n\nx = 1\n" * 5_000,
    "objects in objects": '{"a":' * 100_000,
    "keys in keys": ('{"' + "k" * 50_000 + '":') * 98 + "1" + "}" * 98,
    "five thousand sections": "".join(f"[s{n}]\nk = 1\n" for n in range(5_000)),
    "five thousand times one key": "k = 1\n" * 5_000,
}  # fmt: skip


@pytest.mark.exhaustive
@pytest.mark.parametrize("case", WORST)
@pytest.mark.parametrize("dialect", sorted(DIALECTS))
def test_the_worst_texts_are_read_or_refused_in_every_dialect(desk: Path, dialect: str, case: str) -> None:
    Path("worst").mkdir()
    Path("worst/file.txt").write_text(WORST[case] + "\n")
    before = everything()
    said = bounded("survey", "worst/file.txt", "--dialect", dialect, part=2)
    if said.status:
        refused(said, "file.txt")
    assert "Traceback" not in said.err
    assert everything() == before


@pytest.mark.parametrize("shape", ["a chain", "a circle", "a star"])
def test_ten_thousand_files_that_include_each_other(desk: Path, shape: str) -> None:
    many = 10_000
    folder = Path("many")
    folder.mkdir()
    for number in range(many):
        after = {"a chain": number + 1, "a circle": (number + 1) % many, "a star": many}[shape]
        (folder / f"{number}.conf").write_text(f"[s{number}]\nk = 1\ninclude = {after}.conf\n")
    if shape == "a star":
        (folder / f"{many}.conf").write_text("[last]\nk = 1\n")
    said = bounded("survey", "many/0.conf")
    if said.status:
        refused(said, ".conf")
    assert "Traceback" not in said.err


@pytest.mark.parametrize(
    "target", ["../swap.yaml", "/etc/hostname", "/dev/zero", "../*", "..", "odd", "link"]
)
def test_an_include_that_leads_out_or_to_no_file(cli: Runner, desk: Path, target: str) -> None:
    Path("worst").mkdir()
    os.mkfifo("worst/odd")
    Path("worst/link").symlink_to("/dev/zero")
    Path("worst/main.conf").write_text(f"[feeder]\nk = 1\ninclude = {target}\n")
    said = bounded("survey", "worst/main.conf")
    if said.status:
        refused(said, "main.conf" if "odd" not in target and "link" not in target else target)
    assert "swap.yaml:" not in said.out and "hostname:" not in said.out
    assert "Traceback" not in said.err


def test_the_bounds_are_kept_by_the_child_itself(desk: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Or else none of the tests above could fail."""
    code = "import resource\nresource.setrlimit(resource.RLIMIT_AS, (10**9, 10**9))\n'x' * 2 * 10**9\n"
    assert (
        "MemoryError" in subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stderr
    )
    monkeypatch.setattr(sys.modules[__name__], "run", lambda arguments: len("x" * (2 * MEMORY)) and 0)
    assert bounded("survey", "config").status == 99
    monkeypatch.setattr(sys.modules[__name__], "SECONDS", 1)
    monkeypatch.setattr(sys.modules[__name__], "run", lambda arguments: [0 for _ in iter(int, 1)])
    with pytest.raises(AssertionError, match="killed by"):
        bounded("survey", "config")

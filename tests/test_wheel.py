"""The wheel is whole and small, needs no compiler, and works from any folder on every Python that is here.

It is built from this checkout with pip, and installed into clean environments from ready-made packages only.
Where the package index can't be reached, these tests say so and are skipped.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

pytestmark = pytest.mark.exhaustive

ROOT = Path(__file__).parents[1]
#: bytes; what a person with a slow line waits for
LARGEST = 2_350_000
PYTHONS = ("python3.11", "python3.13", "python3.14", "python3.15")
#: of the tests, those that need no more than pytest and hypothesis
OWN_TESTS = ("tests/sheet", "tests/apply/test_revert.py")


FRESH = """
import importlib, pathlib
from cfgmigrate.ground import compiled
names = {path.name.split("-")[0] for path in pathlib.Path("cfgmigrate/compiled").glob("*.msgpack")}
for name in names:
    importlib.import_module("cfgmigrate." + name)
checked = 0
for one in compiled.Compiled.all:
    for words in one.each():
        there = (compiled.folder() / one.file_name(words)).read_bytes()
        assert one.read(there) == one.read(one.pack(words)) or "grammar" in one.module, one.file_name(words)
        checked += 1
assert checked == len(list(compiled.folder().glob("*.msgpack"))), "a file that belongs to nothing"
from cfgmigrate.reports import gfm, html, templating
made, there = pathlib.Path("made"), compiled.folder()
templating.compile_templates(made)
written = sorted(path.relative_to(made) for path in made.rglob("*.py"))
assert written == sorted(path.relative_to(there) for path in there.rglob("*.py"))
assert all((made / path).read_bytes() == (there / path).read_bytes() for path in written)
print(checked + len(written))
"""


#: what a clean environment knows nothing of
NOT_HANDED_ON = ("PYTHONPATH", "PYTEST_ADDOPTS", "HYPOTHESIS_PROFILE")


def run(
    *command: str | Path, env: dict[str, str] | None = None, **more: object
) -> subprocess.CompletedProcess[str]:
    # without this run's profile: tests that draw anew by chance are the exhaustive tier's, which has a seed
    env = {name: value for name, value in os.environ.items() if name not in NOT_HANDED_ON} | (env or {})
    return subprocess.run(
        [str(part) for part in command], env=env, capture_output=True, text=True, check=False, **more
    )  # type: ignore[call-overload, no-any-return]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    built = run(sys.executable, "-m", "pip", "wheel", "--no-deps", "-q", "-w", folder, ROOT)
    if built.returncode and ("No matching distribution" in built.stderr or "onnection" in built.stderr):
        pytest.skip("the package index can't be reached")
    assert built.returncode == 0, built.stderr
    (found,) = folder.glob("*.whl")
    return found


def installed(python: str, wheel: Path) -> Path:
    """A clean environment with the wheel and nothing that would have to be compiled; one for each Python."""
    version = run(python, "-c", "import sys; print(*sys.version_info, sep='.')").stdout.strip()
    folder = wheel.parent / f"env-{version}"
    if not folder.is_dir():
        made = run(python, "-m", "venv", folder)
        assert made.returncode == 0, made.stderr
        put = run(folder / "bin" / "python", "-m", "pip", "install", "-q", "--only-binary", ":all:", wheel)
        assert put.returncode == 0, put.stderr
    return folder / "bin"


def interpreter(name: str) -> str | None:
    """A Python of that name that can make environments: on the path, or beside others in the home folder."""
    beside = sorted(Path.home().glob(f".*/versions/*/bin/{name}"))
    for found in filter(None, [shutil.which(name), *map(str, beside)]):
        if run(found, "-c", "import ensurepip, venv").returncode == 0:
            return found
    return None


def test_the_wheel_is_plain_python_and_small(wheel: Path) -> None:
    assert wheel.name.endswith("-py3-none-any.whl")
    assert wheel.stat().st_size < LARGEST


def test_the_wheel_holds_every_data_file(wheel: Path) -> None:
    listed = run("git", "-C", ROOT, "ls-files", "-z", "cfgmigrate", "grammars", "sample_configs")
    if listed.returncode:
        pytest.skip("this is no git checkout, so which files there should be is not known")
    wanted = {
        name if name.startswith("cfgmigrate/") else f"cfgmigrate/{name}"
        for name in listed.stdout.split("\0")
        if name
    }
    with zipfile.ZipFile(wheel) as archive:
        inside = {name for name in archive.namelist() if ".dist-info/" not in name}
    assert len(wanted) > 100
    compiled = {name for name in inside if name.startswith("cfgmigrate/compiled/")}
    assert inside - compiled == wanted


def test_what_is_compiled_in_the_wheel_is_what_its_sources_say(wheel: Path, tmp_path: Path) -> None:
    """Read by the very wheel, outside the checkout, and compared with what its own sources come to."""
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(tmp_path)
    shown = run(sys.executable, "-c", FRESH, cwd=tmp_path)
    assert shown.returncode == 0, shown.stderr
    assert int(shown.stdout) > 15


@pytest.mark.parametrize("python", PYTHONS)
def test_it_works_from_any_folder(python: str, wheel: Path, tmp_path: Path) -> None:
    found = interpreter(python)
    if found is None:
        pytest.skip(f"there is no {python} with venv here")
    programs = installed(found, wheel)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    shown = run(programs / "cfgmigrate", "demo", "made", cwd=elsewhere)
    assert shown.returncode == 0, shown.stderr
    assert any((elsewhere / "made").rglob("changes.html"))
    said = run(programs / "cfgmigrate", "survey", ROOT / "sample_configs" / "plover", "--json", cwd="/")
    assert said.returncode == 0, said.stderr
    assert "feeder.steps_per_mm" in said.stdout


def test_the_installed_wheel_passes_its_own_tests(wheel: Path, tmp_path: Path) -> None:
    programs = installed(sys.executable, wheel)
    tools = tmp_path / "tools"  # beside the environment, which holds what the wheel asks for and no more
    put = run(programs / "python", "-m", "pip", "install", "-q", "--only-binary", ":all:", "--target", tools, "pytest", "hypothesis")  # fmt: skip
    assert put.returncode == 0, put.stderr
    beside = {"PYTHONPATH": str(tools)}
    there = tmp_path / "checkout"
    there.mkdir()
    for folder in ("tests", "sample_configs"):
        shutil.copytree(ROOT / folder, there / folder, ignore=shutil.ignore_patterns("__pycache__"))
    for file in ("pyproject.toml", "README.md"):
        shutil.copy(ROOT / file, there)
    ended = run(
        programs / "python", "-m", "pytest", "-p", "no:cacheprovider", *OWN_TESTS, cwd=there, env=beside
    )
    assert ended.returncode == 0, ended.stdout[-3000:]
    where = run(programs / "python", "-c", "import cfgmigrate; print(cfgmigrate.__file__)", cwd=there)
    assert Path(where.stdout.strip()).is_relative_to(programs.parent)

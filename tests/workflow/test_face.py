"""What `import cfgmigrate` offers: flat, documented, loaded when used; one path or several; the rest by name."""

from __future__ import annotations

import inspect
import pydoc
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import cfgmigrate
from cfgmigrate import BadInput, api

SAMPLES = Path(cfgmigrate.__file__).parents[1] / "sample_configs"
FUNCTIONS = [name for name in cfgmigrate.__all__ if inspect.isfunction(getattr(cfgmigrate, name))]
CLASSES = [name for name in cfgmigrate.__all__ if inspect.isclass(getattr(cfgmigrate, name))]


def test_every_name_that_is_offered_is_there_and_completed() -> None:
    assert len(FUNCTIONS) + len(CLASSES) == len(cfgmigrate.__all__)
    assert set(cfgmigrate.__all__) <= set(dir(cfgmigrate))
    assert cfgmigrate.__all__ == sorted(cfgmigrate.__all__)
    with pytest.raises(AttributeError, match="'no_such'"):
        _ = cfgmigrate.no_such


def test_all_functions_of_the_api_are_offered_but_those_that_are_said_to_change() -> None:
    hidden = {"read_machine", "work_out", "work_out_tuning", "tuning_rules", "verified"}
    assert all(f"`{name}`" in (api.__doc__ or "") for name in hidden)
    named = {name for name in dir(api) if not name.startswith("__")}
    there = {name for name in named if inspect.isfunction(getattr(api, name))}
    assert there - hidden == set(FUNCTIONS) - {"prepare_fleet"}, (
        "what api.py lists is listed in four places of cfgmigrate/__init__.py, too"
    )


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_takes_two_inputs_by_place_and_the_others_by_name(name: str) -> None:
    inputs = list(inspect.signature(getattr(cfgmigrate, name)).parameters.values())
    assert sum(one.kind is not inspect.Parameter.KEYWORD_ONLY for one in inputs) <= 2


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_function_says_what_it_takes_what_it_gives_and_what_it_raises(name: str) -> None:
    function = getattr(cfgmigrate, name)
    said = inspect.getdoc(function) or ""
    assert said.splitlines()[0].endswith((".", ":"))
    shared = "those of `" in said or "Raises what `" in said
    assert "Raises" in said or shared or name == "trial_page"
    inputs = [given for given in inspect.signature(function).parameters if given not in {"packet", "root"}]
    untold = [given for given in inputs if f"`{given}`" not in said]
    assert not untold or shared, untold
    assert function.__annotations__["return"]


@pytest.mark.parametrize("name", CLASSES)
def test_a_class_says_what_it_is(name: str) -> None:
    said = inspect.getdoc(getattr(cfgmigrate, name)) or ""
    assert said and not said.startswith(f"{name}("), "a dataclass's own signature is no description"


def test_its_help_reads_like_a_page() -> None:
    page = subprocess.run(
        [sys.executable, "-m", "pydoc", "cfgmigrate"],
        capture_output=True, text=True, check=True, cwd=Path(cfgmigrate.__file__).parents[1],
    ).stdout  # fmt: skip
    places = [
        page.index(part)
        for part in ("For people who script", "What goes wrong", "What is stable", "FUNCTIONS")
    ]
    assert places == sorted(places)
    functions = page[places[-1] :]
    for name in FUNCTIONS:
        assert f"    {name}(" in functions
        assert f" {name} " in page[: places[1]].replace("\n", " \n ") + " ", name
    assert pydoc.plain(pydoc.render_doc(cfgmigrate)).strip()


def test_loading_it_loads_nothing_of_it() -> None:
    told = subprocess.run(
        [sys.executable, "-c", "import sys, cfgmigrate; print(*[name for name in sys.modules if 'cfgmigrate.' in name])"],
        capture_output=True, text=True, check=True, cwd=Path(cfgmigrate.__file__).parents[1],
    ).stdout  # fmt: skip
    assert set(told.split()) <= {"cfgmigrate.ground", "cfgmigrate.ground.version"}


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    shutil.copytree(SAMPLES / "knot", tmp_path / "knot")
    shutil.copyfile(SAMPLES / "sheets" / "knot.yaml", tmp_path / "swap.yaml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_one_path_or_several_are_taken_everywhere(desk: Path) -> None:
    several = sorted(path for path in (desk / "knot").iterdir() if path.is_file())
    for given in ("knot", Path("knot"), ["knot"], several, tuple(map(str, several))):
        assert cfgmigrate.survey(given).to_json()["quantities"]
        assert cfgmigrate.starter_sheet(given)
        assert cfgmigrate.compare(given, "knot").to_json()["differences"] == []
        assert cfgmigrate.recover(given) is None
    packet = cfgmigrate.prepare("knot", "swap.yaml", out="packet")
    assert cfgmigrate.verify(packet.folder) == ()
    assert cfgmigrate.guide("clicks", "knot")
    assert cfgmigrate.guide(["clicks"])


def test_a_path_that_is_not_there_is_named_whole(desk: Path) -> None:
    with pytest.raises(BadInput, match="dunlin"):
        cfgmigrate.survey("dunlin")


def test_a_record_in_an_unknown_form_is_bad_input(desk: Path) -> None:
    with pytest.raises(BadInput, match="'pdf'"):
        cfgmigrate.report("knot", "pdf")

"""What a pattern in an include line names, and that no pattern is followed without end or out of the root."""

from __future__ import annotations

import glob
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from cfgmigrate.files import pattern
from cfgmigrate.files.pattern import LeadsOut, TooMany, files_named

TREE = [
    "a.conf",
    "b.txt",
    ".c.conf",
    "x/a.conf",
    "x/y/a.conf",
    "x/y/b.conf",
    "x/.z/a.conf",
    "y/a/a.conf",
    ".x/a.conf",
]


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("tree").resolve()
    for name in TREE:
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).touch()
    return root


steps = st.sampled_from(["*", "**", "?", "x", "y", "a*", "*.conf", "[ab].*", ".*", ".x", "a.conf", "."])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(steps, min_size=1, max_size=5).filter(lambda found: any(map(glob.has_magic, found))))
@example(["**", "a.conf"])
def test_it_names_the_files_that_python_s_glob_names(tree: Path, found: list[str]) -> None:
    said = "/".join(found)
    named = glob.glob(said, root_dir=tree, recursive=True)  # noqa: PTH207
    expected = {tree / path for path in named if not path.endswith("/")}  # `a.conf/**` names `a.conf/`
    assert set(files_named(tree, tree, said)) == {path.resolve() for path in expected if path.is_file()}


@pytest.mark.parametrize(
    "said", ["/**/*.conf", "../**/*.conf", "*/../../**/*.conf", "**/../*.conf", "x/../../*"]
)
def test_a_pattern_that_leads_out_is_not_followed(
    tree: Path, said: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("os.walk", lambda *_: pytest.fail("it was followed"))
    with pytest.raises(LeadsOut):
        files_named(tree, tree, said)


def test_a_pattern_may_lead_up_within_the_root(tree: Path) -> None:
    assert files_named(tree / "x" / "y", tree, "../../*.conf") == [tree / "a.conf"]


@pytest.mark.parametrize(
    "said", ["**/*.conf", "*/" * 40 + "*.conf", "**/" * 40 + "*.conf", "a/**/b/**/c/**/*.conf"]
)
def test_links_that_lead_back_are_not_entered(tmp_path: Path, said: str) -> None:
    for name in "abc":
        (tmp_path / name).symlink_to(".")
    (tmp_path / "one.conf").touch()
    found = files_named(tmp_path, tmp_path.resolve(), said)
    assert found == ([tmp_path / "one.conf"] if said.startswith("**") else [])


def test_a_packet_is_not_entered(tmp_path: Path) -> None:
    (tmp_path / "packet" / "before").mkdir(parents=True)
    (tmp_path / "packet" / "changes.json").touch()
    (tmp_path / "packet" / "before" / "one.conf").touch()
    assert files_named(tmp_path, tmp_path.resolve(), "**/*.conf") == []


def test_many_steps_of_any_number_cost_no_more_than_one(tmp_path: Path) -> None:
    deep = tmp_path.joinpath(*["a"] * 60)
    deep.mkdir(parents=True)
    (deep / "one.conf").touch()
    assert files_named(tmp_path, tmp_path.resolve(), "**/a/" * 30 + "two.conf") == []
    assert files_named(tmp_path, tmp_path.resolve(), "**/a/" * 30 + "one.conf") == [
        deep.resolve() / "one.conf"
    ]


def test_a_pattern_through_too_many_files_is_given_up(tree: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pattern, "MOST_PATHS", 3)
    with pytest.raises(TooMany):
        files_named(tree, tree, "**/*.conf")

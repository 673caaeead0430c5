"""A compiled template is only a faster way to the same page."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import jinja2
import pytest

from cfgmigrate.ground import compiled
from cfgmigrate.reports import gfm, html, templating

ENVIRONMENTS = {".md": gfm.environment, ".html": html.environment}
WRITTEN = [
    pytest.param(ending, path.name, id=path.name)
    for ending in ENVIRONMENTS
    for path in sorted(templating.TEMPLATES.glob(f"*{ending}"))
]


@pytest.mark.parametrize(("ending", "name"), WRITTEN)
def test_every_template_is_compiled_and_is_what_is_written(ending: str, name: str, tmp_path: Path) -> None:
    templating.compile_templates(tmp_path)
    made = (
        tmp_path / f"templates{ending}-{jinja2.__version__}" / jinja2.ModuleLoader.get_module_filename(name)
    )
    environment = ENVIRONMENTS[ending]()
    written = (templating.TEMPLATES / name).read_text(encoding="utf-8")
    assert made.read_text(encoding="utf-8") == environment.compile(written, name, None, True, True)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """Where what is compiled is kept; every environment is made anew."""
    monkeypatch.setattr(compiled, "folder", lambda: tmp_path)
    html.environment.cache_clear()
    yield tmp_path
    html.environment.cache_clear()


def rendered() -> str:
    html.environment.cache_clear()
    page = html.environment().get_template("comparison.html")
    return page.render(policy="", css="", sentence="Nothing differs.", groups=[], script="")


def test_a_second_run_takes_what_the_first_made(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = rendered()
    monkeypatch.setattr(templating, "TEMPLATES", folder / "nowhere")
    assert rendered() == first


def test_where_nothing_can_be_kept_they_are_read_as_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = rendered()
    for none in (None, Path(__file__) / "nowhere"):
        monkeypatch.setattr(compiled, "folder", lambda none=none: none)
        assert rendered() == first


def test_what_another_jinja2_made_is_left_alone(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(jinja2, "__version__", "0.0")
    first = rendered()
    (made,) = folder.iterdir()
    for path in made.glob("*.py"):
        path.write_text("raise SystemExit('made by another jinja2')")
    monkeypatch.undo()
    monkeypatch.setattr(compiled, "folder", lambda: folder)
    assert rendered() == first

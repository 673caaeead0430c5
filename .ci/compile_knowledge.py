"""What runs when a wheel is built: the program's knowledge is compiled and put in, as plain data, and so are
its templates, as Python.

Hatchling calls this file by its path (pyproject.toml), from a source tree where nothing is installed but the
libraries that building asks for. The compiled files go into the wheel's `cfgmigrate/compiled/`. They are made
anew for each wheel, so they always belong to the sources beside them. An editable install takes none.
"""

from __future__ import annotations

import importlib
import sys
import tempfile
import zipfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CompileKnowledge(BuildHookInterface[Any]):
    """Adds the compiled files to a wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name != "wheel" or version == "editable":
            return
        sys.path.insert(0, self.root)
        self.folder = tempfile.TemporaryDirectory()
        made = Path(self.folder.name)
        compiled = importlib.import_module("cfgmigrate.ground.compiled")
        compiled.compile_all(made)
        importlib.import_module("cfgmigrate.reports.templating").compile_templates(made)
        for path in made.rglob("*.*"):
            if path.is_file():
                inside = path.relative_to(made).as_posix()
                build_data["force_include"][str(path)] = f"cfgmigrate/{compiled.FOLDER}/{inside}"

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        if hasattr(self, "folder"):
            self.folder.cleanup()
            pack_tighter(Path(artifact_path))


def pack_tighter(wheel: Path) -> None:
    """Packs a wheel anew with the same contents and dates, as small as deflate makes it; building asks for no level."""
    packed = wheel.with_suffix(".packed")
    with zipfile.ZipFile(wheel) as loose, zipfile.ZipFile(packed, "w") as tight:
        for entry in loose.infolist():
            tight.writestr(entry, loose.read(entry), zipfile.ZIP_DEFLATED, 9)
    packed.replace(wheel)

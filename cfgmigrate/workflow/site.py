"""What a person says of the files, put into the site file: what each file is, and what a setting means.

What was said before is replaced where it is said anew; all else in the file stays, with its comments. An entry after
which the files can't be read any more is taken back.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cfgmigrate.ground.findings import BadInput, CfgError, Place
from cfgmigrate.workflow.inputs import Paths, listed
from cfgmigrate.workflow.prepare import read_machine

if TYPE_CHECKING:
    from cfgmigrate.files.roles import Role
    from cfgmigrate.files.site import Site

#: of a setting that is to be left alone
IGNORED = "ignore"


def say_roles(paths: Paths, roles: Mapping[str, Role]) -> Path:
    """Write into the site file what these files are, by path. Gives the site file's path.

    Raises BadInput where there is no such file, Refused where the site file was changed meanwhile or can't be written.
    """
    from cfgmigrate.files.site_writing import answered_text, corrected

    configuration, _ = read_machine(paths)
    for path in roles:
        if path not in configuration.roles:
            raise BadInput(
                "there is no such file in this configuration", Place(path), "Look at the files again."
            )

    def text(site: Site) -> str:
        if not site.there:
            return answered_text(site, roles)
        return corrected(site.source, {"roles": {path: role.value for path, role in roles.items()}})

    return _written(paths, text)


def say_meaning(paths: Paths, setting: str, quantity: str, *, code: bool = False, unit: str = "") -> Path:
    """Write into the site file what the setting of that name is: a quantity's id, or `ignore`. `code` is true for a word
    of a code (`M933.K`). Gives the site file's path.

    Raises BadInput where there is no such quantity, or the setting's value can't be it; then nothing was written.
    """
    from cfgmigrate.files.site_writing import corrected

    meaning: Any = quantity
    if code or unit:
        meaning = {"quantity": quantity, **({"unit": unit} if unit else {})}
    entries = {"codes" if code else "meanings": {setting: meaning}}
    return _written(paths, lambda site: corrected(site.source if site.there else b"site: 1\n", entries))


def _written(paths: Paths, text: Callable[[Site], str]) -> Path:
    """The site file written; as it was before where the files can't be read with it."""
    from cfgmigrate.files.found import common_root
    from cfgmigrate.files.site import site_at
    from cfgmigrate.files.site_writing import write_site
    from cfgmigrate.ground.disk import remove

    root = common_root(listed(paths))
    before = site_at(root)
    path = write_site(root, before, text(before))
    try:
        read_machine(paths)
    except CfgError:
        if before.there:
            write_site(root, _as_it_stands(root), before.source.decode("utf-8-sig"))
        else:
            remove(path)
        raise
    return path


def _as_it_stands(root: Path) -> Site:
    """The site file's text as it stands, without a look at what it says."""
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.site import Site

    path = root / SITE
    return Site(str(path), path.read_bytes())

"""What a person says of the files, put into the site file: what each file is, what a setting means, and the material of a
filament, which goes into the sheet where it has no file of its own.

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
    from cfgmigrate.files.configuration import Configuration
    from cfgmigrate.files.roles import Role
    from cfgmigrate.files.site import Site
    from cfgmigrate.machine.model import Machine, Profile
    from cfgmigrate.sheet.keeping import KeptAnswers

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


def settle(configuration: Configuration, entry: Mapping[str, Mapping[str, Any]]) -> Path:
    """Write an answer about the files (`SiteAnswer.entry`) into the site file. Gives the site file's path.

    Raises Refused where the site file was changed meanwhile or can't be written.
    """
    from cfgmigrate.files.site_reading import site_at
    from cfgmigrate.files.site_writing import settled_text, write_site

    site = site_at(configuration.root)
    return write_site(configuration.root, site, settled_text(site, entry))


def can_not_be_read(configuration: Configuration, entry: Mapping[str, Mapping[str, Any]]) -> str:
    """The file that an answer would make a part of the machine though it reads as none of the dialects, "" for none: everything
    that is prepared would then be refused for that very answer."""
    from cfgmigrate.dialects import detect
    from cfgmigrate.files.configuration import LARGEST
    from cfgmigrate.files.roles import Role
    from cfgmigrate.files.site_reading import parse_site, site_at
    from cfgmigrate.files.site_writing import settled_text
    from cfgmigrate.files.unread import NO_DIALECT, dialect_by_site
    from cfgmigrate.ground.user_file import read_given

    skipped = dict(configuration.skipped)
    taken = (str(Role.PROFILE), str(Role.IN_FORCE))
    for path, role in entry.get("roles", {}).items():
        if str(role) in taken and skipped.get(path, "").startswith(NO_DIALECT):
            site = parse_site(settled_text(site_at(configuration.root), entry).encode(), path)
            data = read_given(configuration.root / path, "it", LARGEST, path)
            if detect(data) is None and dialect_by_site(path, data, site) is None:
                return path
    return ""


def open_materials(machine: Machine, kept: KeptAnswers) -> tuple[Profile, ...]:
    """The filaments whose material neither the files nor the sheet say, nor that it isn't known."""
    from cfgmigrate.machine.site_questions import silent_filaments
    from cfgmigrate.sheet.model import MATERIAL, folded

    return tuple(
        each
        for each in silent_filaments(machine)
        if str(each.holder) not in kept.left
        and MATERIAL not in kept.sheet.profiles.get(folded(each.holder), {})
    )


def say_material(
    configuration: Configuration, machine: Machine, kept: KeptAnswers, profile: Profile, material: str
) -> tuple[bool, KeptAnswers]:
    """Keep a filament's material: in the site file, or in the sheet where the filament has no file of its own. Gives whether
    the site file says more now, and the sheet."""
    from cfgmigrate.sheet.keeping import with_material

    entry = _material_entry(configuration, machine, profile, material)
    if entry is None:
        return False, with_material(kept, profile.holder.name, material)
    settle(configuration, entry)
    return True, kept


def _material_entry(
    configuration: Configuration, machine: Machine, profile: Profile, material: str
) -> Mapping[str, Mapping[str, Any]] | None:
    """The entry of the site file for a filament's material; None where it has no file of its own, or one that is told of
    there already."""
    from cfgmigrate.files.roles import Role

    path = profile.place.file
    role = configuration.roles.get(path)
    alone = [each for each in machine.found_profiles if each.place.file == path] == [profile]
    if not alone or role is None or role.role is not Role.PROFILE or configuration.site.profile_of(path):
        return None
    entry: dict[str, Any] = {"filament": profile.holder.name, "material": material}
    if set(profile.feeders) < set(machine.feeders):
        entry["feeders"] = list(profile.feeders)
    return {"profiles": {path: entry}}


def _written(paths: Paths, text: Callable[[Site], str]) -> Path:
    """The site file written; as it was before where the files can't be read with it."""
    from cfgmigrate.files.found import common_root
    from cfgmigrate.files.site_reading import site_at
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
            remove(path.resolve())
        raise
    return path


def _as_it_stands(root: Path) -> Site:
    """The site file's text as it stands, without a look at what it says."""
    from cfgmigrate.files.found import SITE
    from cfgmigrate.files.site import Site

    path = root / SITE
    return Site(str(path), path.read_bytes())

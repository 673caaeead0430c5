"""Access lists (acl(5)) as Linux keeps them with a file: the one who loses a file's ownership is named in its list instead.

Who may change a file by an access list alone makes the new content as their own file, and can't give it away. So its owner,
who had their rights by owning it, would be shut out of their own configuration. The list is that of the old file, or of the
folder, with its owner as one more person named; what everybody else may do stays as it is.
"""

from __future__ import annotations

import os
import struct
from pathlib import Path

#: under which name Linux keeps it, and how: the version, then a tag, what is allowed and who, each
ACCESS_LIST = "system.posix_acl_access"
_VERSION = struct.pack("<I", 2)
_ENTRY = struct.Struct("<HHI")
_OWNER, _PERSON, _OWN_GROUP, _GROUP, _MOST, _OTHERS = 0x01, 0x02, 0x04, 0x08, 0x10, 0x20
_NOBODY = 0xFFFFFFFF
_READ_AND_WRITE = 0o6


def with_person(listed: bytes, person: int | None, files_only: bool = False) -> bytes | None:
    """An access list in which a person is named with what its owner may do (None: nobody more); None where it can't be
    read. With `files_only` nobody may run anything, since the list is to be that of a plain file and was a folder's."""
    if not listed.startswith(_VERSION) or (len(listed) - len(_VERSION)) % _ENTRY.size:
        return None
    entries = list(_ENTRY.iter_unpack(listed[len(_VERSION) :]))
    allowed = _READ_AND_WRITE if files_only else 0o7
    most = next((may for tag, may, _ in entries if tag == _MOST), 0o7) & allowed
    owner_s = next((may for tag, may, _ in entries if tag == _OWNER), 0) & allowed
    found = {(tag, who): may & (allowed if tag in (_OWNER, _OTHERS) else most) for tag, may, who in entries}
    if person is not None:
        found[_PERSON, person] = owner_s
        found[_MOST, _NOBODY] = most | owner_s
    return _VERSION + b"".join(_ENTRY.pack(tag, may, who) for (tag, who), may in sorted(found.items()))


def access_list(path: Path) -> bytes | None:
    """The access list of a file or folder; None where there is none, or can be none."""
    try:
        return os.getxattr(path, ACCESS_LIST)
    except (OSError, AttributeError):
        return None


def let_in(place: int | Path, listed: bytes | None, person: int | None, files_only: bool = False) -> bool:
    """Give a file or folder of our own that access list with a person named in it; whether that could be done."""
    wanted = with_person(listed, person, files_only) if listed is not None else None
    if wanted is None:
        return False
    try:
        os.setxattr(place, ACCESS_LIST, wanted)
    except OSError:
        return False
    return True

"""The SHA-256 of bytes (FIPS 180-4), by which a file's content is known again."""

from __future__ import annotations

import hashlib


def sha256(data: bytes) -> str:
    """The hash in small hexadecimal digits."""
    return hashlib.sha256(data).hexdigest()

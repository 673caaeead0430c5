"""The release that this is."""

VERSION = "0.1.0"

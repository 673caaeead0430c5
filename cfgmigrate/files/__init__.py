"""Which files are one machine: what was found where the user pointed, which role each file has, and the
files that include lines take in. No value is understood here."""

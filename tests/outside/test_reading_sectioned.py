"""Plain INI files say the same here as to CPython's configparser, the reference for them.

Sources: CPython's `configparser`, and its own test data `test/configdata/cfgparser.1` to `.3`, read from the
interpreter that runs the tests. Law 1 is tried on the INI-like files of the machine.
"""

from __future__ import annotations

import configparser
import re
import sysconfig
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects.sectioned import read
from cfgmigrate.ground.findings import BadInput

LIBRARY = Path(sysconfig.get_paths()["stdlib"]) / "test"
ENDINGS = {".ini", ".cfg", ".conf", ".service", ".timer", ".desktop", ".toml"}


def theirs(text: str) -> dict[tuple[str, str], list[str]]:
    parser = configparser.RawConfigParser(
        inline_comment_prefixes=("#", ";"), strict=False, default_section="no such section"
    )
    parser.optionxform = str  # type: ignore[assignment,method-assign]
    parser.read_string(text)
    return {
        (section.strip(), key): plain(value)
        for section in parser.sections()
        for key, value in parser.items(section)
    }


def ours(text: str) -> dict[tuple[str, str], list[str]]:
    """The last setting of each name; comments within a value are taken out as configparser does it."""
    found = {}
    for setting in read("f", text.encode()).settings:
        lines = [re.split(r"(?:^|(?<=\s))[#;]", line)[0] for line in re.split(r"\r\n?|\n", setting.value)]
        found[setting.section, setting.key] = plain("\n".join(lines))
    return found


def plain(value: str) -> list[str]:
    return [line.strip() for line in value.split("\n") if line.strip()]


def data_file(name: str) -> Path:
    path = next(
        (folder / name for folder in (LIBRARY / "configdata", LIBRARY) if (folder / name).is_file()), None
    )
    if path is None:
        pytest.skip("this interpreter came without CPython's test data")
    return path


def test_the_plain_test_file_of_cpython_says_the_same() -> None:
    text = data_file("cfgparser.1").read_text(encoding="utf-8")
    assert ours(text) == theirs(text)


@pytest.mark.parametrize("name", ["cfgparser.2", "cfgparser.3"])
def test_the_stranger_test_files_of_cpython_are_covered_byte_for_byte(name: str) -> None:
    """They use comment markers and keys without values that configparser takes only when told to; with the
    options of this dialect it refuses them. Here the lines are doubts and the rest is read."""
    data = data_file(name).read_bytes()
    with pytest.raises(configparser.Error):
        theirs(data.decode())
    document = read(name, data)
    assert b"".join(data[piece.start : piece.end] for piece in document.pieces) == data
    assert document.settings
    assert document.doubts


KEY = st.from_regex(r"[a-z]{1,3}( [a-z]{1,3})?", fullmatch=True)
TEXT = st.from_regex(r"[a-z0-9,.]{1,5}([ =:][a-z0-9]{1,3})?( [#;] x)?", fullmatch=True)
LINE = st.one_of(
    st.builds("{}{}{}".format, KEY, st.sampled_from(["=", ": ", " = "]), TEXT),
    st.builds("[{}]".format, KEY),
    st.builds("{}{}".format, st.sampled_from([" ", "   "]), TEXT),
    st.builds("{}{}: {}".format, st.sampled_from([" ", "   "]), KEY, TEXT),
    st.sampled_from(["", "# remark", "  ; remark"]),
)


@given(st.lists(LINE, max_size=12).map(lambda lines: "\n".join(["[first]", *lines]) + "\n"))
def test_plain_files_say_the_same(text: str) -> None:
    try:
        expected = theirs(text)
    except configparser.Error:
        return  # what the reference refuses has no reference
    assert ours(text) == expected


def test_ini_like_files_of_this_machine_are_covered_byte_for_byte() -> None:
    files = [path for path in Path("/etc").rglob("*") if path.suffix in ENDINGS and path.is_file()]
    files += sorted(Path("/usr/lib/systemd").rglob("*.service"))[:150]
    if not files:
        pytest.skip("no INI-like file on this machine")
    for path in files:
        data = path.read_bytes()
        try:
            document = read(str(path), data)
        except BadInput as problem:
            assert "zero bytes" in problem.what or "UTF-16" in problem.what
            continue
        assert b"".join(data[piece.start : piece.end] for piece in document.pieces) == data

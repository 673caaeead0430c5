"""C headers say the same here as to GCC's preprocessor and to PyPI `pcpp`.

Sources: `gcc -E -dM` (Debian `gcc`), PyPI `pcpp`. A name that no file speaks of is undefined to them and
unknown here, so the generated files ask only for names that they speak of.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cfgmigrate.dialects.document import State
from cfgmigrate.dialects.header import read

NAME = st.sampled_from(["ALPHA", "BETA", "GAMMA"])
VALUE = st.sampled_from(
    ["", "1", "2", "ALPHA", "BETA + 1", "{ 1, 2 }", "(3) // x", "4 /* y */", "5 \\\n + 6"]
)
CONDITION = st.sampled_from(
    [
        "1",
        "0",
        "defined(ALPHA)",
        "!defined BETA",
        "defined(ALPHA) && defined(GAMMA)",
        "2 * 3 > 5",
        "1 ? 0 : 1",
    ]
)
SPOKEN_OF = "//#define ALPHA\n//#define BETA\n//#define GAMMA\n"


@st.composite
def headers(draw: st.DrawFn, depth: int = 0) -> str:
    lines = []
    for _ in range(draw(st.integers(1, 4))):
        kind = draw(st.integers(0, 4 if depth < 3 else 2))
        if kind <= 1:
            lines.append(f"#undef {(name := draw(NAME))}\n#define {name} {draw(VALUE)}")
        elif kind == 2:
            lines.append(f"#undef {draw(NAME)}")
        else:
            opening = draw(st.sampled_from(["#if {}", "#ifdef {}", "#ifndef {}"]))
            asked = draw(CONDITION if opening == "#if {}" else NAME)
            lines += [opening.format(asked), draw(headers(depth + 1))]
            if draw(st.booleans()):
                lines += [f"#elif {draw(CONDITION)}", draw(headers(depth + 1))]
            if draw(st.booleans()):
                lines += ["#else", draw(headers(depth + 1))]
            lines.append("#endif")
    return "\n".join(lines)


def ours(text: str) -> dict[str, str]:
    """The settings in force at the end, blanks made plain."""
    found = read("f.h", text.encode()).settings
    assert all(setting.state is not State.UNDECIDED for setting in found)
    return {each.key: plain(each.value) for each in found if each.state is State.ACTIVE}


def plain(value: str) -> str:
    return "".join(re.sub(r"/\*.*?\*/|\\\n", " ", value, flags=re.DOTALL).split())


def by_gcc(text: str) -> dict[str, str]:
    command = ["gcc", "-E", "-dM", "-undef", "-P", "-x", "c", "-"]
    printed = subprocess.run(command, input=text, capture_output=True, text=True, check=True).stdout
    lines = (line.split(maxsplit=2) for line in printed.splitlines())
    return {parts[1]: plain(parts[2] if len(parts) > 2 else "") for parts in lines if parts[1] in MACROS}


MACROS = ("ALPHA", "BETA", "GAMMA")


@pytest.mark.skipif(not shutil.which("gcc"), reason="there is no C compiler here")
@settings(max_examples=25)
@given(headers())
def test_the_settings_in_force_are_those_that_gcc_knows_at_the_end(text: str) -> None:
    text = SPOKEN_OF + text + "\n"
    assert ours(text) == by_gcc(text)


@given(headers())
def test_the_settings_in_force_are_those_that_pcpp_knows_at_the_end(text: str) -> None:
    import pcpp

    text = SPOKEN_OF + text + "\n"
    preprocessor = pcpp.Preprocessor()
    preprocessor.parse(text)
    preprocessor.write(io.StringIO())
    known = {
        name: plain("".join(token.value for token in macro.value))
        for name, macro in preprocessor.macros.items()
        if name in MACROS
    }
    assert ours(text) == known


@pytest.mark.skipif(not shutil.which("gcc"), reason="there is no C compiler here")
def test_a_value_comes_to_what_gcc_puts_in() -> None:
    text = '#define A 1\n#define B (A + C)\n#define C { A, B }\n#define D B D "A"\n'
    names = [(each.key, plain(each.resolved or each.value)) for each in read("f.h", text.encode()).settings]
    asked = text + "".join(f"@ {name}\n" for name, _ in names)
    command = ["gcc", "-E", "-P", "-undef", "-x", "c", "-"]
    printed = subprocess.run(command, input=asked, capture_output=True, text=True, check=True).stdout
    expected = [plain(part) for part in printed.split("@")[1:]]
    assert [value for _, value in names] == expected

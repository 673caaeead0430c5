"""Flat files say the same here as to python-dotenv and to javaproperties, on what they have in common.

Sources: PyPI `python-dotenv` (`key=value`, quotes, `export`, comments) and PyPI `javaproperties`
(`key=value`, `key: value`, `key value`).
"""

from __future__ import annotations

import io

import dotenv
import javaproperties
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.dialects.flat import read

KEY = st.from_regex(r"[a-z][a-z0-9_]{0,6}", fullmatch=True)
PLAIN = st.from_regex(r"[A-Za-z0-9.,/+-]{1,8}", fullmatch=True)


def ours(text: str) -> dict[str, str]:
    return {setting.key: setting.value for setting in read("f", text.encode()).settings}


DOTENV_LINE = st.one_of(
    st.builds(
        "{}{}={}{}".format, st.sampled_from(["", "export "]), KEY, PLAIN, st.sampled_from(["", " # remark"])
    ),
    st.builds("{} = '{}'".format, KEY, st.from_regex(r"[a-z #;]{0,8}", fullmatch=True)),
    st.sampled_from(["", "# a = remark"]),
)


@given(st.lists(DOTENV_LINE, max_size=8).map("\n".join))
def test_they_say_what_python_dotenv_says(text: str) -> None:
    expected = dotenv.dotenv_values(stream=io.StringIO(text), interpolate=False)
    assert {key: value.strip("'") for key, value in ours(text).items()} == expected


PROPERTIES_LINE = st.one_of(
    st.builds("{}{}{}".format, KEY, st.sampled_from(["=", " = ", ":", ": ", " ", "\t"]), PLAIN),
    st.sampled_from(["", "# a = remark"]),
)


@given(st.lists(PROPERTIES_LINE, max_size=8).map("\n".join))
def test_they_say_what_javaproperties_says(text: str) -> None:
    assert ours(text) == javaproperties.loads(text)

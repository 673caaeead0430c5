"""What C preprocessor lines say: which settings, which of them are in force, and what a name comes to."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects.document import Document
from cfgmigrate.dialects.header import likelihood, read, read_together


def document(text: str) -> Document:
    return read("plover.h", text.encode())


def states(text: str) -> list[tuple[str, str, str]]:
    return [(each.key, each.value, each.state.value) for each in document(text).settings]


def switched(condition: str, before: str = "") -> str:
    """The state of a setting under a condition."""
    return states(f"{before}\n#if {condition}\n#define HERE 1\n#endif\n")[-1][2]


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("#define Z_MAX 190", "190"),
        ("#  define\tZ_MAX\t190  ", "190"),
        ("  #define Z_MAX 190 // the lid", "190"),
        ("#define Z_MAX 190 /* the lid */", "190"),
        ("#define Z_MAX /* the lid */ 190 /* in mm */ // yes", "190"),
        ("/* axes */ #define Z_MAX 190", "190"),
        ("#define Z_MAX 100 + \\\n  90", "100 + \\\n  90"),
        ("#define \\\n Z_MAX \\\r\n 190", "190"),
        ("#define Z_MAX { 88, 88, 640, 96 }", "{ 88, 88, 640, 96 }"),
        ('#define Z_MAX "a // b" // c', '"a // b"'),
        ("#define Z_MAX '\"' // c", "'\"'"),
        ("#define Z_MAX (190)", "(190)"),
        ("#define Z_MAX 1/2", "1/2"),
        ("#define Z_MAX", ""),
        ("#define Z_MAX // 190", ""),
    ],
)
def test_a_define_is_a_setting(line: str, value: str) -> None:
    assert states(f"int x;\n{line}\nint y;\n") == [("Z_MAX", value, "active")]


@pytest.mark.parametrize(
    "line",
    [
        "// #define Z_MAX 190",
        "//#define Z_MAX 190",
        "/* #define Z_MAX 190 */",
        "/*\n#define Z_MAX 190\n*/",
        "// goes on \\\n#define Z_MAX 190",
        "#define Z_MAX(a) 190",
        "#define",
        "#define 5",
        "#define /* Z_MAX 190 */",
        "#defined Z_MAX 190",
        'char *a = "\\\n#define Z_MAX 190";',
        "/* never closed\n#define Z_MAX 190",
    ],
)
def test_what_is_commented_out_or_takes_arguments_is_none(line: str) -> None:
    assert states(f"{line}\n") == []


@pytest.mark.parametrize(
    ("condition", "before", "state"),
    [
        ("1", "", "active"),
        ("0", "", "inactive"),
        ("FANS", "#define FANS 2", "active"),
        ("FANS == 2 && FANS < 3", "#define FANS 2", "active"),
        ("FANS * 2 + 1 == 5", "#define FANS 1 + 1", "inactive"),  # 1 + 1 * 2 + 1 = 4, as C puts text in
        ("defined(FANS)", "#define FANS", "active"),
        ("defined FANS && !defined(LAMPS)", "#define FANS\n//#define LAMPS", "active"),
        ("FANS", "//#define FANS 2", "inactive"),
        ("FANS", "#define FANS 2\n#undef FANS", "inactive"),
        ("FANS", "", "undecided"),
        ("defined(FANS)", "", "undecided"),
        ("0 && FANS", "", "inactive"),
        ("1 || FANS", "", "active"),
        ("FANS || LAMPS", "#define LAMPS 0", "undecided"),
        ("WITH(3)", "#define WITH(n) n", "undecided"),
        ("FANS > 1.5", "#define FANS 2", "undecided"),
        ("1 / 0", "", "undecided"),
        ("0x10 == 020 && 'A' == 65 && -1 < 0u", "", "active"),
        ("A", "#define A B\n#define B A", "undecided"),
        ("0 ? FANS : 3", "", "active"),
        ("true", "", "active"),
    ],
)
def test_a_condition_is_worked_out_as_far_as_the_file_goes(condition: str, before: str, state: str) -> None:
    assert switched(condition, before) == state


def test_of_several_branches_the_first_that_holds_counts() -> None:
    text = "#define N 2\n#if N == 1\n#define A 1\n#elif N == 2\n#define A 2\n#elif 1\n#define A 3\n#else\n#define A 4\n#endif\n"
    assert [state for _, _, state in states(text)[1:]] == ["inactive", "active", "inactive", "inactive"]


def test_where_one_condition_is_not_known_the_branches_after_it_are_not_either() -> None:
    text = "#if ELSEWHERE\n#define A 1\n#elif 1\n#define A 2\n#else\n#define A 3\n#endif\n"
    assert [state for _, _, state in states(text)] == ["undecided", "undecided", "inactive"]


def test_conditions_nest() -> None:
    text = "#if 0\n#if 1\n#define A 1\n#else\n#define A 2\n#endif\n#else\n#ifdef X\n#define A 3\n#endif\n#endif\n"
    assert [state for _, _, state in states(text)] == ["inactive", "inactive", "undecided"]


def test_a_guard_and_a_default_hold() -> None:
    text = "#ifndef PLOVER_H\n#define PLOVER_H\n#ifndef LAG\n#define LAG 0.05\n#endif\n#endif\n"
    assert states(text) == [("PLOVER_H", "", "active"), ("LAG", "0.05", "active")]
    assert states("#define LAG 1\n#ifndef LAG\n#define LAG 2\n#endif\n")[1][2] == "inactive"


def test_an_undef_takes_a_setting_out_of_force_and_a_doubtful_one_makes_it_doubtful() -> None:
    assert states("#define A 1\n#undef A\n#define A 2\n") == [("A", "1", "inactive"), ("A", "2", "active")]
    assert states("#define A 1\n#ifdef X\n#undef A\n#endif\n") == [("A", "1", "undecided")]
    assert states("#define A 1\n#ifdef X\n#define A 2\n#endif\n")[0] == ("A", "1", "undecided")
    assert states("#define A 1\n#if 0\n#undef A\n#endif\n") == [("A", "1", "active")]


def test_a_name_defined_twice_stands_twice() -> None:
    assert states("#define A 1\n#define A 2\n") == [("A", "1", "active"), ("A", "2", "active")]


def test_a_value_that_names_another_keeps_its_text_and_says_what_it_comes_to() -> None:
    """The example of the GCC manual of the C preprocessor, "Object-like Macros"."""
    text = "#define BUFSIZE 1020\n#define TABLESIZE BUFSIZE\n#undef BUFSIZE\n#define BUFSIZE 37\n"
    table = document(text).settings[1]
    assert (table.value, table.resolved) == ("BUFSIZE", "37")


@pytest.mark.parametrize(
    ("value", "resolved"),
    [
        ("A", "1"),
        ("(A + B)", "(1 + 1)"),
        ("{ A, 2 }", "{ 1, 2 }"),
        ('"A"', ""),
        ("UNKNOWN", ""),
        ("LOOP", "LOOP2"),
        ("2", ""),
        ("1 \\\n /* x */ + A", "1 + 1"),
        ("0xA", ""),
    ],
)
def test_names_within_a_value_are_put_in_as_c_does_it(value: str, resolved: str) -> None:
    before = "#define A 1\n#define B A\n#define LOOP LOOP2\n#define LOOP2 LOOP\n"
    found = document(f"{before}#define HERE {value}\n").settings[-1]
    assert found.resolved == (resolved if resolved != "LOOP2" else "")


def test_texts_that_grow_without_bounds_are_left_alone() -> None:
    text = "#define A0 x x\n" + "".join(f"#define A{n} A{n - 1} A{n - 1}\n" for n in range(1, 60))
    assert document(text + "#if A59\n#define HERE 1\n#endif\n").settings[-1].state == "undecided"
    assert document(text).settings[-1].resolved == ""


def test_what_one_file_defines_the_next_one_asks_for() -> None:
    one, two = read_together(
        [("a.h", b"#define N 2\n#define OFF 1\n"), ("b.h", b"#if N == 2\n#undef OFF\n#define P N\n#endif\n")]
    )
    assert [setting.state for setting in one.settings] == ["active", "inactive"]
    assert [(setting.state, setting.resolved) for setting in two.settings] == [("active", "2")]


def test_a_name_that_a_later_file_has_commented_out_is_known_to_be_off() -> None:
    files = [("a.h", b"#ifdef ON_BATTERY\n#define V 22\n#endif\n"), ("b.h", b"//#define ON_BATTERY\n")]
    assert read_together(files)[0].settings[0].state == "inactive"


def test_quoted_includes_are_reported_where_they_count() -> None:
    text = '#include <stdio.h>\n#include "limits.h" // x\n#if 0\n#include "never.h"\n#endif\n'
    assert [(each.target, each.line, each.column) for each in document(text).includes] == [
        ("limits.h", 2, 10)
    ]


def test_conditions_that_do_not_close_are_doubts() -> None:
    assert [doubt.place.line for doubt in document("#endif\n#if 1\n#define A 1\n").doubts] == [1, 4]


def test_a_file_of_declarations_holds_no_settings() -> None:
    assert likelihood("#define A 1\n#define B 2\n") == 1
    assert likelihood("# a remark\n# another\na = 1\n") == 0
    code = "".join(f"int value{n}(void);\n" for n in range(40))
    assert likelihood("#define A 1\n" + code) < 0.5


def test_a_text_that_touches_its_name_is_a_doubt_and_never_edited() -> None:
    """ISO C wants a blank there (C11 6.10.3p3); `7` for `-5` would make another name of it."""
    found = document("#define STEPS-5\n#define OTHER {4}\n")
    assert [(setting.key, setting.state) for setting in found.settings] == [
        ("STEPS", "undecided"),
        ("OTHER", "active"),
    ]
    assert [(doubt.place.line, doubt.place.column) for doubt in found.doubts] == [(1, 14)]

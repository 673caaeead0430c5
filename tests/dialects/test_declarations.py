"""Constants that a header declares are settings; other code is none."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import detect
from cfgmigrate.dialects.header import read


def settings(text: str) -> list[tuple[str, str]]:
    return [(each.key, each.value) for each in read("dipper.h", text.encode()).settings]


@pytest.mark.parametrize(
    ("line", "wanted"),
    [
        ("constexpr float kReach = 212.5f;  // mm; soft", [("kReach", "212.5f")]),
        ("static const unsigned int FINE_STEPS = 16;", [("FINE_STEPS", "16")]),
        ("inline constexpr std::array<int, 3> kSteps = { 84, 84, 410 };", [("kSteps", "{ 84, 84, 410 }")]),
        ("const float tops[3] = {\n  200, 180, 9\n};", [("tops", "{\n  200, 180, 9\n}")]),
        ("namespace dipper {\nconst bool turned = true;\n}", [("turned", "true")]),
        ("struct Pull { double length; double speed; };\nconstexpr Pull kPull = { 4.4, 31 };",
         [("kPull.length", "4.4"), ("kPull.speed", "31")]),
        ("struct Pull {\n  double length;  // mm\n  double speed;\n};\nconst Pull p = { .speed = 31, .length = 4.4 };",
         [("p.speed", "31"), ("p.length", "4.4")]),
        ("int speed = 3;", []),
        ("const char *name(int number);", []),
        ("void run() {\n  const int speed = 3;\n}\nconst int after = 4;", [("after", "4")]),
        ("// const int speed = 3;", []),
    ],
)  # fmt: skip
def test_a_constant_with_a_value_outside_of_functions_is_a_setting(
    line: str, wanted: list[tuple[str, str]]
) -> None:
    assert settings(line + "\n") == wanted


def test_a_constants_value_stands_where_the_file_has_it() -> None:
    text = b"constexpr double kLag = 0.41;  // s\n"
    (setting,) = read("dipper.h", text).settings
    assert text[setting.start : setting.end] == b"0.41"


def test_constants_alone_make_a_header_and_code_beside_them_does_not() -> None:
    constants = "".join(f"constexpr int k{name} = {n};\n" for n, name in enumerate("ABCD"))
    found = detect(constants.encode())
    assert found is not None and found.name == "header"
    assert detect((constants + "int f(int a) {\n  return a;\n}\n" * 20).encode()) is None


def test_the_namespaces_around_a_constant_are_its_section() -> None:
    text = """namespace dipper { namespace axes {
  namespace x { constexpr float kTop = 180; }
  namespace y {
    constexpr float kTop = 160;
  }
} }
class Pull {
  static constexpr double length = 4.4;
};
namespace a::b {
constexpr int n = 3;
}
constexpr int after = 4;
"""
    found = [(each.section, each.key, each.value) for each in read("dipper.h", text.encode()).settings]
    assert found == [
        ("dipper.axes.y", "kTop", "160"),
        ("Pull", "length", "4.4"),
        ("a.b", "n", "3"),
        ("", "after", "4"),
    ]

"""YAML whose every key and value knows its place."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.ground.positioned_yaml import LONGEST_YAML, Node, read_marked


def walk(node: Node) -> list[tuple[str, int, int]]:
    """Every key and scalar with its line and column."""
    found: list[tuple[str, int, int]] = []
    for item in node.items or ():
        found += [(item.key, item.place.line, item.place.column), *walk(item.node)]
    for element in node.elements or ():
        found += walk(element)
    if node.text:
        found.append((node.text, node.place.line, node.place.column))
    return found


words = st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True).filter(lambda word: word not in ("null", "y", "n"))
trees = st.recursive(
    st.from_regex(r"[a-z0-9][a-z0-9 .]{0,8}[a-z0-9]", fullmatch=True).filter(lambda text: text != "null"),
    lambda inner: st.dictionaries(words, inner, min_size=1, max_size=3),
    max_leaves=12,
)


def written(tree: object, indent: int, out: list[str]) -> list[str]:
    assert isinstance(tree, dict)
    for key, value in tree.items():
        if isinstance(value, dict):
            out.append(" " * indent + f"{key}:")
            written(value, indent + 2, out)
        else:
            out.append(" " * indent + f"{key}: {value}")
    return out


@given(st.dictionaries(words, trees, min_size=1, max_size=4), st.sampled_from(["\n", "\r\n"]), st.booleans())
def test_every_key_and_value_stands_where_it_says(tree: dict[str, object], end: str, mark: bool) -> None:
    lines = written(tree, 0, [])
    source = (b"\xef\xbb\xbf" if mark else b"") + end.join(lines).encode()
    found = walk(read_marked(source, "s.yaml"))
    assert len(found) >= len(lines)
    for text, line, column in found:
        assert lines[line - 1][column - 1 :].startswith(text)


def test_values_stay_as_written() -> None:
    node = read_marked(b"a: 50:9\nb: no\nc: 1e3\nd: 2024-01-02\ne: 0x10\nf: 'null'\n", "s.yaml")
    assert [item.node.text for item in node.items or ()] == [
        "50:9",
        "no",
        "1e3",
        "2024-01-02",
        "0x10",
        "null",
    ]


@pytest.mark.parametrize(
    ("source", "value"),
    [
        ("a: \"one\n  # two: 'three'\n  four\"\nb: 5\n", "one # two: 'three' four"),
        ("a: |\n  one\n  # two\nb: 5\n", "one\n# two"),
        ("# that's\na: >-\n  one\n  # two\nb: 5\n", "one # two"),
        ('a: [b"c, "d\n # e"]\nb: 5\n', None),
        ('# "quoted" | and it\'s > this\na: "one"  # "two"\n# three\nb: 5\n', "one"),
    ],
)
def test_what_looks_like_a_remark_within_a_value_is_its_text(source: str, value: str | None) -> None:
    tree = read_marked(source.encode(), "swap.yaml")
    first, last = tree.get("a"), tree.get("b")
    assert first is not None
    assert last is not None
    assert [each.text for each in first.elements or ()] == (['b"c', "d # e"] if value is None else [])
    assert first.text == value
    assert (last.text, last.place.line) == ("5", source.count("\n"))


@pytest.mark.parametrize("source", [b"", b"\xef\xbb\xbf", b"# only a remark\n", b"---\n", b"null\n", b"\n\n"])
def test_a_text_without_content_is_empty(source: bytes) -> None:
    assert read_marked(source, "s.yaml").empty


@pytest.mark.parametrize(
    ("source", "place", "said"),
    [
        (b"a: 1\nb: \xb5m\n", "s.yaml:2:4", "not UTF-8"),
        ("ä: 1\nä: ä".encode() + b"\xff", "s.yaml:2:5", "not UTF-8"),
        (b"\xff\xfea\x00", "s.yaml:1:1", "not UTF-8"),
        (b"a: 1\nb: \x00", "s.yaml:2:4", "control character"),
        (b"a:\n\tb: 1\n", "s.yaml:2:1", "spaces, not with tabs"),
        (b"a: b: c\n", "s.yaml:1:5", "not YAML"),
        (b"a: [1\n", "s.yaml:1:4", "the bracket that opens here is not closed before line 2"),
        (b"a: {b: 1\nc: 2\n", "s.yaml:1:4", "the bracket that opens here is not closed before line 2"),
        (b"a: {b: 1 c: 2}\n", "s.yaml:1:4", "commas between fields"),
        (b"a: 'x\n", "s.yaml:1:4", "the quote that opens here is never closed"),
        (b'a: "x\nb: 1\n', "s.yaml:1:4", "the quote that opens here is never closed"),
        (b"a: @x\n", "s.yaml:1:4", "Put the value in quotes"),
        (b"a:\n  b 1\n  c: 2\n", "s.yaml:3:4", "the line above lacks its `:`"),
        (b"a: 1\n---\nb: 2\n", "s.yaml:2:1", "not YAML"),
        (b"%YAML 9.9\n---\na: 1\n", "s.yaml:1:1", "not YAML"),
        (b"a: 1\nb: 2\na: 3\n", "s.yaml:3:1", "first is on line 1"),
        (b"a: {b: 1, b: 2}\n", "s.yaml:1:11", "second time"),
        (b"a: &x 1\nb: *x\n", "s.yaml:1:4", "anchor"),
        (b"a: *x\n", "s.yaml:1:4", "aliases"),
        (b"a: !!python/name:os.system x\n", "s.yaml:1:4", "tag"),
        (b"a: !own x\n", "s.yaml:1:4", "tag"),
        (b"? [a, b]\n: 1\n", "s.yaml:1:3", "name must be a word"),
        (b"[" * 40 + b"]" * 40, "s.yaml:1:14", "too deep"),
    ],
)
def test_what_is_no_plain_yaml_is_refused_where_it_stands(source: bytes, place: str, said: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_marked(source, "s.yaml")
    assert str(caught.value.place) == place
    assert said in str(caught.value)


@pytest.mark.parametrize("source", [b"[" * 5000, b"{" * 5000, b"- " * 5000, b"a" * (LONGEST_YAML + 1)])
def test_text_made_to_exhaust_a_parser_is_refused(source: bytes) -> None:
    with pytest.raises(BadInput):
        read_marked(source, "s.yaml")


def test_a_bomb_of_aliases_is_refused_before_it_unfolds() -> None:
    lines = ["a0: &a0 [x, x]"] + [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    with pytest.raises(BadInput, match="anchor"):
        read_marked("\n".join(lines).encode(), "s.yaml")


@given(
    st.binary(max_size=200) | st.text(alphabet="ab:{}[]&*!|>-?%@#'\"\\ \n\t,0", max_size=60).map(str.encode)
)
def test_any_bytes_are_read_or_refused(source: bytes) -> None:
    try:
        read_marked(source, "s.yaml")
    except BadInput as refusal:
        assert refusal.place is not None and refusal.place.file == "s.yaml"

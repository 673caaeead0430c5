"""What a diff says, side by side for both ways; whether real tools apply it stands in tests/outside."""

from __future__ import annotations

from cfgmigrate.packet.patch import patch_of, unified


def test_the_way_there_and_the_way_back_are_each_others_mirror() -> None:
    old = b"a\nb\nspeed = 90\nc\nd\n"
    new = b"a\nb\nspeed = 25\nc\nd\n"
    assert unified(old, new, "wren.ini") == (
        b"diff --git a/wren.ini b/wren.ini\n--- a/wren.ini\n+++ b/wren.ini\n"
        b"@@ -1,5 +1,5 @@\n a\n b\n-speed = 90\n+speed = 25\n c\n d\n"
    )
    assert unified(new, old, "wren.ini") == (
        b"diff --git a/wren.ini b/wren.ini\n--- a/wren.ini\n+++ b/wren.ini\n"
        b"@@ -1,5 +1,5 @@\n a\n b\n-speed = 25\n+speed = 90\n c\n d\n"
    )


def test_a_missing_last_newline_is_said_on_the_side_that_lacks_it() -> None:
    assert unified(b"a", b"b\n", "x").endswith(b"@@ -1 +1 @@\n-a\n\\ No newline at end of file\n+b\n")
    assert unified(b"a\n", b"b", "x").endswith(b"@@ -1 +1 @@\n-a\n+b\n\\ No newline at end of file\n")


def test_other_line_ends_are_bytes_of_their_line() -> None:
    assert b"\n-a\r\n+b\r\n" in unified(b"a\r\n", b"b\r\n", "x")
    assert b"\n-a\rb\n+a\rc\n" in unified(b"a\rb\n", b"a\rc\n", "x")


def test_a_file_that_is_made_or_removed_stands_against_dev_null() -> None:
    made = unified(None, b"a\n", "x")
    assert made == (b"diff --git a/x b/x\nnew file mode 100644\n--- /dev/null\n+++ b/x\n@@ -0,0 +1 @@\n+a\n")
    removed = unified(b"a\n", None, "x")
    assert removed == (
        b"diff --git a/x b/x\ndeleted file mode 100644\n--- a/x\n+++ /dev/null\n@@ -1 +0,0 @@\n-a\n"
    )


def test_a_range_counts_its_lines_and_starts_where_they_start() -> None:
    lines = [b"line %d\n" % number for number in range(1, 31)]
    longer = [*lines[:14], b"one\n", b"two\n", *lines[15:]]
    assert b"\n@@ -12,7 +12,8 @@\n" in unified(b"".join(lines), b"".join(longer), "x")
    assert b"\n@@ -12,8 +12,7 @@\n" in unified(b"".join(longer), b"".join(lines), "x")
    added = [*lines, b"end\n"]
    assert b"\n@@ -28,3 +28,4 @@\n" in unified(b"".join(lines), b"".join(added), "x")


def test_control_characters_in_names_are_escaped_as_in_c() -> None:
    escapes = dict(zip("\a\b\t\n\v\f\r", "abtnvfr", strict=True))
    for letter, escape in escapes.items():
        assert f'"a/x\\{escape}y"'.encode() in unified(b"a\n", b"b\n", f"x{letter}y")
    assert rb'"a/x\033y\177"' in unified(b"a\n", b"b\n", "x\x1by\x7f")


def test_odd_names_are_quoted() -> None:
    diff = unified(b"a\n", b"b\n", 'caf\xe9 "one"\tback\\slash')
    assert rb'--- "a/caf\303\251 \"one\"\tback\\slash"' in diff


def test_a_name_with_blanks_is_ended_by_a_tab() -> None:
    assert b"\n--- a/ring hut.ini\t\n+++ b/ring hut.ini\t\n" in unified(b"a\n", b"b\n", "ring hut.ini")


def test_the_same_content_makes_no_diff() -> None:
    assert unified(b"a\r\nb", b"a\r\nb", "x") == b""
    assert unified(None, None, "x") == b""


def test_several_files_come_in_the_order_of_their_names_and_equal_ones_not_at_all() -> None:
    old = {"b": b"1\n", "a": b"1\n", "same": b"1\n", "gone": b"1\n"}
    new = {"b": b"2\n", "a": b"2\n", "same": b"1\n", "new": b"1\n"}
    heads = [line for line in patch_of(old, new).split(b"\n") if line.startswith(b"diff")]
    assert heads == [
        b"diff --git a/a b/a",
        b"diff --git a/b b/b",
        b"diff --git a/gone b/gone",
        b"diff --git a/new b/new",
    ]


def test_a_long_file_with_two_distant_edits_gets_two_short_hunks() -> None:
    lines = [b"line %d\n" % (number % 7) for number in range(20_000)]
    edited = list(lines)
    edited[10], edited[19_990] = b"one\n", b"two\n"
    diff = unified(b"".join(lines), b"".join(edited), "x")
    assert diff.count(b"\n@@ ") == 2 and diff.count(b"\n") == 3 + 2 * 9

"""Files that take in other files hold in the order in which their lines stand."""

from __future__ import annotations

from cfgmigrate.dialects.document import Document, Include, Setting
from cfgmigrate.files.order import includers_of, order_of
from cfgmigrate.machine.recognise import recognise

LINE = "retract length = {}\n"


def document(path: str, text: str, *files: str) -> Document:
    """Lines of `key = value` and of `include target`; the include stands where its target does. `files` are what
    each include line takes in, none for what its target says."""
    settings, includes, at = [], [], 0
    for number, line in enumerate(text.splitlines(True), 1):
        if line.startswith("include "):
            start, end = at + len("include "), at + len(line) - 1
            taken = files or (line[8:-1],)
            includes.append(Include(line[8:-1], start, end, number, 9, taken))
        else:
            key, _, value = line.rstrip("\n").partition(" = ")
            start = at + len(key) + 3
            settings.append(Setting("", key, value, start, start + len(value), number, len(key) + 4))
        at += len(line)
    return Document(path, text.encode(), "flat", (), tuple(settings), (), tuple(includes))


def in_force(*documents: Document) -> float | None:
    found = recognise(list(documents)).get("retraction.length")
    return found.value if found else None


def test_what_is_taken_in_holds_where_its_line_stands() -> None:
    inner = document("parts/feed.txt", LINE.format(2))
    assert in_force(document("a.txt", LINE.format(1) + "include parts/feed.txt\n"), inner) == 2
    assert in_force(document("z.txt", "include parts/feed.txt\n" + LINE.format(1)), inner) == 1


def test_the_files_of_one_line_hold_in_the_order_that_the_line_has_them() -> None:
    first, second = document("parts/a.txt", LINE.format(2)), document("parts/b.txt", LINE.format(3))
    deeper = document("parts/old/c.txt", LINE.format(4))
    outer = document("main.txt", "include parts/*.txt\n", "parts/a.txt", "parts/b.txt")
    order = order_of([outer, first, second, deeper])
    assert order("main.txt", 0) < order("parts/a.txt", 0) < order("parts/b.txt", 0) < order("main.txt", 30)
    assert order("parts/old/c.txt", 0) > order("main.txt", 30)


def test_what_a_line_takes_in_is_said_by_the_line_and_not_by_its_text() -> None:
    outer = document("wren/main.txt", LINE.format(1) + "include feed.txt\n", "wren/feed.txt")
    other, taken = document("feed.txt", LINE.format(9)), document("wren/feed.txt", LINE.format(2))
    order = order_of([other, outer, taken])
    assert order("wren/main.txt", 0) < order("wren/feed.txt", 0) < order("wren/main.txt", 36)
    assert order("feed.txt", 0) < order("wren/main.txt", 0)


def test_a_circle_is_passed_over() -> None:
    one = document("one.txt", "include two.txt\n" + LINE.format(1))
    two = document("two.txt", "include one.txt\n" + LINE.format(2))
    assert in_force(one, two) in (1, 2)


def test_without_includes_files_hold_in_their_own_order() -> None:
    order = order_of([document("a.txt", LINE.format(1)), document("b.txt", LINE.format(2))])
    assert order("a.txt", 0) < order("b.txt", 0)


def test_a_file_is_taken_in_by_others_and_never_by_itself_nor_is_one_that_is_not_there() -> None:
    """One that names itself by a pattern would else be nobody's own file, and what it sets out of force."""
    main = document("main.txt", "a = 1\ninclude *.txt\n", "main.txt", "feed.txt", "gone.txt")
    feed = document("feed.txt", "include main.txt\n")
    found = includers_of({each.path: each for each in (main, feed)})
    assert found == {"feed.txt": [("main.txt", 2)], "main.txt": [("feed.txt", 1)]}
    assert includers_of({"main.txt": main}) == {}

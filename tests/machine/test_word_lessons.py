"""A word that nobody knows is offered with what it may mean, the likeliest first; nothing is read by it."""

from __future__ import annotations

import pytest

from cfgmigrate.dialects import read
from cfgmigrate.dialects.document import Setting
from cfgmigrate.machine import word_lessons as lessons
from cfgmigrate.machine.context import Context
from cfgmigrate.machine.model import Machine
from cfgmigrate.machine.offered import offered
from cfgmigrate.machine.quantities import quantity
from cfgmigrate.machine.recognise import recognise
from cfgmigrate.machine.strange_words import Cuts
from cfgmigrate.machine.word_lessons import WordLesson, word_lessons

TEXT = """\
[x]
gruz = 80 per mm
lomik dub = 200 mm/s
lomik fluxel = 3000 mm/s^2
[y]
gruz = 80 per mm
lomik dub = 200 mm/s
lomik fluxel = 3000 mm/s^2
[vabek]
gruz = 410 per mm
lomik dub = 60 mm/s
zum klo = 0.65 A rms
quibble = 7
"""


def strange(text: str = TEXT, file: str = "one.ini", dialect: str = "sectioned") -> Machine:
    return recognise([read(file, text.encode(), dialect)])


def by_word(machine: Machine) -> dict[str, WordLesson]:
    return {each.word: each for each in word_lessons(machine)}


def test_a_word_is_offered_with_the_meaning_that_makes_most_of_its_settings_likely() -> None:
    found = by_word(strange())
    assert found["gruz"].meanings[0] == "step per mm"
    assert found["vabek"].meanings[0] == "feeder"
    assert found["zum klo"].meanings[0] == "run current"
    assert "maximum" in found["lomik"].meanings or "maximum speed" in found["lomik"].meanings


def test_what_would_teach_most_stands_first_and_a_line_shows_where_its_word_stands() -> None:
    first = word_lessons(strange())[0]
    assert first.lines()[0].startswith(f"# {first.word}: {first.meanings[0]}    # ")
    assert first.lines()[0].endswith(f" and {len(first.settings) - 2} more")
    assert len(first.lines()) == len(first.meanings) <= lessons.MOST_OFFERED


def test_words_that_always_stand_together_are_one_word() -> None:
    runs = [("zum", "klo"), ("zum", "dub"), ("gruz", "vabek"), ("gruz", "vabek", "dub")]
    cuts = Cuts(runs)
    assert [list(cuts.words(run)) for run in runs] == [
        [("zum",), ("klo",)],
        [("zum",), ("dub",)],
        [("gruz", "vabek")],
        [("gruz", "vabek"), ("dub",)],
    ]


def test_nothing_is_offered_where_all_is_understood_or_only_texts_are_not() -> None:
    text = "[x]\nmax speed = 200 mm/s\nquibble = on the left\n"
    assert not word_lessons(strange(text))


def test_a_file_of_strange_words_alone_is_tried_so_many_times_and_no_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried = []
    take = lessons.take_setting
    monkeypatch.setattr(lessons, "MOST_TRIED", 2)
    monkeypatch.setattr(lessons, "take_setting", lambda *all_of: (tried.append(all_of), take(*all_of)))
    letters = "bdfgklmnprtvz"
    words = [f"q{a}u{b}o{c}q" for a in letters for b in letters for c in "kl"]
    word_lessons(strange("[x]\n" + "".join(f"{word} = 5\n" for word in words)))
    assert 0 < len(tried) <= 2 * lessons.MOST_TRIES * lessons._SWEEPS * len(offered().meanings)


def test_what_is_on_offer_is_no_protected_thing() -> None:
    assert not any(
        quantity(each).protected for each in offered().usual if not each.startswith(("feeder.min", "tip."))
    )


def test_of_one_name_alone_no_axis_is_offered_since_nobody_could_say_which() -> None:
    machine = recognise(
        [read("m.h", b"#define COIL_REST_QUIRK 0.5\n#define FEEDER_MICROSTEPS 16\n", "header")]
    )
    offers = {meaning for lesson in word_lessons(machine) for meaning in lesson.meanings}
    assert offers.isdisjoint({"x", "y", "z"})


def unread(value: str, line: int = 1) -> Setting:
    return Setting("", "quibble", value, line, line + 1, line, 1)


@pytest.mark.parametrize(("many", "more"), [(1, ""), (2, ""), (3, " and 1 more"), (5, " and 3 more")])
def test_a_line_shows_two_settings_and_how_many_more_there_are(many: int, more: str) -> None:
    found = WordLesson("quibble", ("a", "b"), tuple(unread(str(at)) for at in range(many)))
    shown = ", ".join(f"quibble = {at}" for at in range(min(many, 2)))
    assert found.lines() == (f"# quibble: a    # {shown}{more}", f"# quibble: b    # {shown}{more}")


@pytest.mark.parametrize(
    ("values", "pins"),
    [
        ("1 2 3 4 5 6", True),
        ("1 2 3 4 5", False),
        ("1 2 3 4 5 5", False),
        ("1 2 3 4 5 6.5", False),
    ],
)
def test_a_word_of_many_settings_with_another_whole_number_each_is_of_places_and_is_not_offered(
    values: str, pins: bool
) -> None:
    several = [
        lessons._Strange(Context(read("a.ini", b"", "flat")), unread(value), (("zum",),))
        for value in values.split()
    ]
    assert lessons._are_pins(several) is pins


def test_a_word_that_stands_alone_in_many_names_would_teach_most() -> None:
    context = Context(read("a.ini", b"", "flat"))
    alone = lessons._Strange(context, unread("1"), (("zum",),))
    beside = lessons._Strange(context, unread("1"), (("zum",), ("klo",)))
    twice = lessons._Strange(context, unread("1"), (("zum",), ("zum",)))
    assert lessons._share([alone, beside]) == 1.5 and lessons._share([twice]) == 1
    assert lessons._share([beside] * 3) == 1.5
    assert lessons._sample([beside, alone]) == [alone, beside]
    assert len(lessons._sample([alone] * 9)) == lessons.MOST_TRIES


def test_words_for_a_direction_are_lessons_where_several_unread_numbers_have_one() -> None:
    text = "[touch]\nzum across = 4\nklo across = 5\nzum along = 4\nklo along = note\n"
    lines = lessons.axis_lessons(strange(text))
    assert [line.partition("  ")[0] for line in lines] == ["# across: x", "# across: y", "# across: z"]


@pytest.mark.parametrize(
    ("section", "key", "meaning", "fits"),
    [
        ("zum", "klo", "feeder", lessons.A_LITTLE),
        ("zum", "klo", "speed", -lessons.A_LITTLE),
        ("", "zum", "feeder", 0),
        ("feeder", "zum", "speed", lessons.A_LITTLE),
        ("feeder", "zum", "probe", -lessons.A_LITTLE),
    ],
)
def test_a_section_names_a_thing_and_a_key_below_it_a_measure(
    section: str, key: str, meaning: str, fits: float
) -> None:
    document = read(
        "a.ini", f"[{section}]\n{key} = 4\n".encode() if section else f"{key} = 4\n".encode(), "sectioned"
    )
    found = lessons._Strange(Context(document), document.settings[0], (("zum",),))
    assert lessons._place_fits(found, ("zum",), (meaning,)) == fits


def test_meanings_that_say_the_same_of_every_setting_stand_behind_and_what_speaks_against_is_left_out() -> (
    None
):
    one, two = frozenset({("a", "", "x", None)}), frozenset({("a", "", "y", None)})
    found = [(3.0, ("a",), one), (2.0, ("b",), one), (1.0, ("c",), two), (0.0, ("d",), frozenset())]
    assert lessons._different_first(found) == [(3.0, ("a",)), (1.0, ("c",)), (2.0, ("b",))]


@pytest.mark.parametrize(
    ("value", "says"),
    [("5", True), ("yes", True), ("5, 6", True), ("left", False), ("left 2", True), ("", False)],
)
def test_a_mere_text_says_nothing(value: str, says: bool) -> None:
    assert lessons._says_something(value) is says

"""What is left of a move through a tube that is gone is told in numbers, and in places where places stand there."""

from __future__ import annotations

import pytest
from scriptbench import result, shorten, swap

#: 18 + 350 + 52 mm for a path of 410 mm, of which 86 mm are left: 420 less 324 are 96
IN_PARTS = "G1 E18 F300\nG1 E350 F3100\nG1 E52 F220\n"


@pytest.mark.parametrize("mode", ["", "G91\n", "M83\n"])
def test_a_feed_through_a_tube_that_is_gone_is_told_to_be_needed_no_further_than_the_new_path(
    mode: str,
) -> None:
    (told,) = shorten(mode + IN_PARTS).doubts()
    assert "come to 420 mm, made for the old path" in told
    (remedy,) = (each.remedy for each in shorten(mode + IN_PARTS).plan.doubts)
    assert remedy.startswith("Write 26 here by hand, for 350.") and "96 mm are enough" in remedy


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (  # 20 + 420 + 50 for 465 mm, of which 85 are left: 490 less 380 are 110, so 40 are left of the 420
            "M82\nG92 E0\nG1 E20 F300\nG1 E440 F3000\nG1 E490 F200\nG92 E0\n",
            "Write E60 for E440 here by hand, and E110 for E490 in line 7: these are places, not lengths.",
        ),
        (
            "M82\nG92 E0\nG1 E10 F300\nG1 E410 F3000\nG92 E0\nG1 E60 F200\n",
            "Write E30 for E410 here by hand: these are places, not lengths.",
        ),
        (
            "M82\nG92 E0\nG1 E20 F300\nG1 E440 F3000\nG1 E490 F200\nG1 X5\nG1 E488 F200\n",
            "in line 7, and all that stands behind them and counts from the same zero changed by -380 too:",
        ),
        (
            "M82\nG92 E0\nG1 E60 F300\nG1 E440 F3000\nG1 E490 F200\nG92 E0\n",
            "the other feeds of this stretch come to 110 mm. Write E110 for E490 in line 7: these are places",
        ),
        (
            "M82\nG92 E0\nG1 E-20 F300\nG1 E-440 F3000\nG1 E-490 F200\nG92 E0\n",
            "Write E-60 for E-440 here by hand, and E-110 for E-490 in line 7: these are places",
        ),
        ("M83\nG1 E10 F300\nG1 E400 F3000\nG1 E60 F200\n", "Write 20 here by hand, for 400."),
    ],
    ids=["places", "another zero behind", "goes on", "no longer needed", "pulled", "lengths"],
)
def test_of_absolute_feeds_the_places_are_named_that_stand_there_and_are_to_stand_there(
    script: str, said: str
) -> None:
    remedies = [each.remedy for each in shorten(script, old=465, new=85).plan.doubts]
    assert any(said in each for each in remedies), remedies


def test_where_the_other_moves_reach_from_bite_to_tip_the_one_through_the_tube_is_no_longer_needed() -> None:
    """9 forward, then 14 + 90 + 380 back: 475 for 410; of 86 mm now, the others pull 95."""
    found = shorten("G1 E9 F300\nG1 E-14 F2200\nG4 P900\nG1 E-90 F500\nG1 E-380 F2300\n", "script unload")
    (told,) = found.plan.doubts
    assert not found.changed() and told.text == "G1 E-380 F2300"
    assert told.remedy.startswith("Take this move out by hand, it is no longer needed")
    assert "come to 95 mm" in told.remedy and "151 mm are enough" in told.remedy


def test_a_move_to_be_taken_out_is_not_told_to_be_slower() -> None:
    drives = "old: {drive: tube-fed, tube: {length: 365 mm}}\nnew: {drive: on the carriage, tube: {length: 41 mm}}\n"
    usual = result("", 40.0, "retraction.fastest", unit="mm/s")
    path = result("", 410, "path.length_old"), result("", 86, "path.length_new"), usual

    def said(feeds: str) -> list[str]:
        plan = swap(f"M83\n{feeds}", *path, sheet=drives, name="script unload").plan
        return [f"{each.text}: {each.remedy[:8]}" for each in plan.doubts]

    assert said("G1 E-95\nG1 E-330 F3000\n") == ["G1 E-330 F3000: Take thi"]
    assert said("G1 E-50\nG1 E-350 F3000\n") == ["G1 E-350 F3000: Write -3", "G1 E-350 F3000: Write F2"]


def test_what_comes_to_two_old_paths_is_no_move_through_one_tube() -> None:
    (told,) = shorten("M83\nG1 E400\nG1 E400").plan.doubts
    assert told.remedy.startswith("Change it by hand")


@pytest.mark.parametrize("counts", ["M83\n", ""])
@pytest.mark.parametrize(
    ("moves", "said"),
    [
        (
            "G1 E190 F3000\nG1 E190 F3000\nG1 E190 F3000\nG1 E60 F240\n",
            "no longer needed, nor is another one of 190 mm; and write 22 for 190 in one of the others. "
            "The moves of this stretch then come to 82 mm.",
        ),
        (
            "G1 E-205 F3000\nG1 E-205 F3000\nG1 E-205 F3000\n",
            "no longer needed, nor is another one of 205 mm; and write -67 for -205 in one of the others. "
            "The moves of this stretch then come to 67 mm.",
        ),
    ],
)
def test_of_a_way_that_was_split_in_several_long_moves_all_are_told_of(
    counts: str, moves: str, said: str
) -> None:
    """Found in a made-up folder, whose board refuses longer ones; 610 mm before, 62 now."""
    plan = shorten(f"{counts}SAY push\n{moves}SAY done\n", "script other", old=610, new=62).plan
    remedies = [each.remedy for each in plan.doubts]
    assert any(said in each for each in remedies), remedies

"""What the interview at the bench says at the end of a part of it, and how it says anything: in lines that a terminal has room for.

What is asked, and what becomes of an answer, is the matter of `cli/interview.py`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from cfgmigrate.reports.safe_text import inert, shell_word

if TYPE_CHECKING:
    from cfgmigrate.plan.unlocking import Workings
    from cfgmigrate.sheet.keeping import KeptAnswers

LINE_WIDTH = 79


def say(text: str) -> None:
    from cfgmigrate.reports.screen import wrapped

    shown = inert(text, 0)
    lead = shown[: len(shown) - len(shown.lstrip())]
    for line in wrapped(shown.strip(), LINE_WIDTH, lead) if shown.strip() else [""]:
        click.echo(line)


def prepare_command(kept: KeptAnswers, config: str) -> str:
    return f"cfgmigrate prepare {config} --sheet {shell_word(kept.path)} -o packet"


def where_kept(kept: KeptAnswers) -> str:
    """Where the answers are, which is nowhere before the first one that goes into the sheet."""
    return f"Kept in {kept.path}." if kept.present is not None else f"Nothing was kept in {kept.path} so far."


def tell_how_to_go_on(kept: KeptAnswers, config: str) -> None:
    say(f"{where_kept(kept)} Go on with: cfgmigrate sheet {config} --ask -o {shell_word(kept.path)}")


def tell_not_read(bench: Workings, config: str) -> None:
    """What no answer reaches, because no line was read for it, and how a line is taught."""
    from cfgmigrate.plan.not_read import not_read

    if found := not_read(bench.machine):
        say(
            f"  No line was read for {', '.join(found)}. Where your files set one of them, a line of yours in cfgmigrate.yaml "
            f"says which line it is, and more is asked then: cfgmigrate survey {config} --write-site offers the lines."
        )


def tell_unsettled(bench: Workings, kept: KeptAnswers) -> None:
    """What keeps each light unknown: the lines that are in the way, and what nobody knew that would settle it."""
    now = bench.stand(kept.sheet)
    for light in now.lights:
        if light.name in now.unknown:
            say(f"  {light.name}: {light.why}")
    for name in kept.declined:
        settles = {each for one in bench.unlock(kept.sheet, (name,), now) for each in one.lights}
        if settles:
            say(f"  {name}, left open here, would settle: {', '.join(sorted(settles))}.")


def tell_enough(bench: Workings, kept: KeptAnswers, config: str) -> None:
    stand = bench.stand(kept.sheet)
    left = sorted(stand.unknown)
    say("")
    if left:
        say(f"Enough for a first packet, but no answer here settles: {', '.join(left)}.")
        tell_unsettled(bench, kept)
        if stand.of_the_files:
            say(
                f"  {', '.join(sorted(stand.of_the_files))}: what sets it in the files was not understood. A line of yours in cfgmigrate.yaml says what it is:"
                f" cfgmigrate survey {config} --write-site offers the lines."
            )
    else:
        say("Enough for a first packet: every light is settled.")
    if kept.present is not None:
        say(f"  {prepare_command(kept, config)}")
    say("What follows makes it surer; stop whenever you like.")

"""How a setting that may be taught is shown."""

from __future__ import annotations

from cfgmigrate.dialects.document import Setting
from cfgmigrate.ground.findings import Place
from cfgmigrate.machine.model import Unread
from cfgmigrate.machine.teachable import RETRACTION, Teachable


def unread(section: str, key: str, value: str = "5", nearest: tuple[str, ...] = (), said: str = "") -> Unread:
    return Unread(Place("one.ini", 1), key, Setting(section, key, value, 0, 1, 1, 1), nearest, said)


def test_lines_offer_each_meaning_with_what_stands_there_and_quote_what_must_be() -> None:
    one = Teachable('a "b"', 5, "5", "so", ("lag.coefficient", "axis.x.max"), (unread("", "a"),))
    first, second = one.lines()
    assert first.startswith('# "a \\"b\\"": lag.coefficient    # 5') and first.endswith("; so")
    assert second == '# "a \\"b\\"": axis.x.max'
    bare = Teachable("a", 5, "5", "", (), (unread("", "a"),))
    assert bare.lines() == ('# "a": QUANTITY    # 5',) and bare.under == "meanings" and not bare.asked
    code = Teachable("a", 5, "5", "", (), (unread("A9", "L"),), RETRACTION, "", "A9.L")
    assert code.meaning == "A9.L: {quantity: retraction.length}" and code.under == "codes" and code.asked
    pause = Teachable("a", 5, "5", "", (), (unread("pause", "pull"),), RETRACTION)
    assert pause.at_an_occasion and pause.meaning.endswith(": QUANTITY")

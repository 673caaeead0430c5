"""What becomes of lights once they were worked out."""

from __future__ import annotations

import pytest

from cfgmigrate.ground.findings import BadInput
from cfgmigrate.plan.lights import SET, UNKNOWN
from cfgmigrate.plan.lights_left import after_review, unknown
from cfgmigrate.plan.model import Light

OPEN = (
    Light("feed", "machine", UNKNOWN, "?"),
    Light("current", "machine", UNKNOWN, "?"),
    Light("retraction", "filament petg", UNKNOWN, "?"),
)


def test_after_a_review_only_what_is_let_in_counts() -> None:
    found = (Light("feed", "machine", SET, "is written", rests_on=("feeder.feed_per_turn",)),)
    assert after_review(found, {"retraction.length"}) == found
    (feed,) = after_review(found, {"feeder.feed_per_turn"})
    assert feed.state == UNKNOWN and "feeder.feed_per_turn" in feed.why


def test_an_unknown_light_is_accepted_by_its_name_and_no_other() -> None:
    assert unknown((*OPEN, Light("height", "machine", SET, "is written"))) == OPEN
    left = unknown(OPEN, ["Retraction @ filament  PETG", "feed"])
    assert [light.name for light in left] == ["current"]
    with pytest.raises(BadInput, match="no light that is unknown") as caught:
        unknown(OPEN, ["retraction @ filament pet"])
    assert "retraction @ filament petg" in caught.value.remedy

"""What the site file says of feeders and nothing goes by is told."""

from __future__ import annotations

from feederbench import OWN, two

from cfgmigrate.files.site_reading import parse_site


def test_what_the_site_file_says_of_feeders_without_effect_is_told() -> None:
    site = parse_site(
        b"site: 1\nfeeders:\n  1: {name: port, known_as: [nowhere.json]}\n  7: stern\n", "s.yaml"
    )
    told = [each for each in two("a/x.json", "b/y.json", OWN, site.feeders).doubts if "no effect" in each.why]
    assert [(each.place.line, each.text) for each in told] == [
        (3, "feeders: port: known_as: nowhere.json"),
        (4, "feeders: stern"),
    ]

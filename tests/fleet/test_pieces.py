"""One verdict is for several machines only where an item is the same on them to the last reason."""

from __future__ import annotations

from cfgmigrate.fleet.pieces import FleetPiece, shared


def piece(item: str, digest: str) -> FleetPiece:
    return FleetPiece(item, f"change {item}", digest, item, f"was {digest}")


def test_an_item_is_shared_as_most_machines_have_it_and_the_others_are_named() -> None:
    (found,) = shared(
        [
            ("Wren", [piece("a", "1")]),
            ("Dunlin", [piece("a", "2")]),
            ("Knot", [piece("a", "2")]),
            ("Twite", []),
        ]
    )
    assert (found.piece.digest, found.many, found.others) == ("2", 2, ("Wren", "Twite"))


def test_what_only_one_machine_has_is_nobody_elses_to_judge() -> None:
    assert shared([("Wren", [piece("a", "1"), piece("b", "1")]), ("Dunlin", [piece("a", "2")])]) == ()


def test_a_machine_alone_shares_nothing() -> None:
    assert shared([("Wren", [piece("a", "1")])]) == ()

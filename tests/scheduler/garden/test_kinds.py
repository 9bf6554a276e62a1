"""Alike tiers make one kind: alike in vessel, light, holes, availability and rests."""

from __future__ import annotations

from dataclasses import replace

import pytest
from solver_case import example, span, tiny
from verify_case import day

from scheduler.garden.kinds import tier_kinds
from scheduler.garden.model import Rest


def test_alike_tiers_are_one_kind_whatever_their_number() -> None:
    (kind,) = tier_kinds(tiny(30, 3, columns="AB"))
    assert kind.places == (("A", 1), ("A", 2), ("A", 3), ("B", 1), ("B", 2), ("B", 3))
    assert kind.count == 6


@pytest.mark.parametrize(
    "change",
    [
        {"light": 0.9},
        {"plants": 3},
        {"vessel": "pail"},
        {"available": (span(0, 20),)},
        {"rests": (Rest("Asteraceae", day(20)),)},
    ],
)
def test_each_difference_makes_another_kind(change: dict) -> None:
    g = tiny(30, 3)
    a, b, c = g.columns[0].tiers
    g = replace(g, columns=(replace(g.columns[0], tiers=(a, replace(b, **change), c)),))
    kinds = tier_kinds(g)
    assert [k.places for k in kinds] == [(("A", 1), ("A", 3)), (("A", 2),)]


def test_courtyard() -> None:
    """Four alike columns and two alike: eight kinds, none counted twice."""
    g, _, _ = example("courtyard")
    kinds = tier_kinds(g)
    assert [k.count for k in kinds] == [4, 4, 4, 4, 2, 2, 2, 2]
    places = [p for k in kinds for p in k.places]
    assert len(set(places)) == len(places) == 24
    for kind in kinds:
        for column, number in kind.places:
            tier = g.tier(column, number)
            assert replace(tier, number=kind.tier.number) == kind.tier

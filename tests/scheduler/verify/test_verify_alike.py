"""Batches alike are looked at once; a fault in one of them is found all the same."""

from dataclasses import replace

import pytest

from scheduler.garden.model import Column, Limits, Tier
from scheduler.plans.model import Level, Pick
from scheduler.plans.rules import CLAIMS, NURSERY, REST, RIPE
from scheduler.verify import case as case_module
from scheduler.verify import verify as verify_plan
from scheduler.verify.shared_rules import MOST_NAMES
from tests.scheduler.verify_case import day, garden, heads, plan, with_stages

COUNT = 5


def many(count=COUNT, **changes):
    """Columns of one tier, all alike, without limits on a day's work."""
    columns = tuple(Column(f"{chr(65 + k)}", (Tier(1, "box", 1.0, 4),)) for k in range(count))
    base = {"columns": columns, "limits": Limits(), "demands": ()}
    made = garden(**{**base, **changes})
    return replace(made, nursery=replace(made.nursery, cells=4 * count))


def alike(count=COUNT):
    """The same lettuce in every tier; levels are one list for all, as a plan is made here."""
    first = heads("b0", "A1", 12)
    return [replace(first, id=f"b{k}", column=chr(65 + k)) for k in range(count)]


def verify(g, made):
    """What a plan says of its stages is right: only its batches are at issue here."""
    return verify_plan(g, with_stages(g, made))


def told(verdict):
    return [(b.rule, b.witnesses[0]) for b in verdict.broken]


def test_alike_batches_are_counted_like_any():
    """With nothing taken as alike every batch is looked at: the same counts, the same findings."""
    got = verify(many(), plan(*alike()))
    assert got.ok
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(case_module, "_of_batch", lambda b: object())
        each = verify(many(), plan(*alike()))
    assert got == each
    assert got.checked[RIPE.name] > COUNT


def test_each_is_looked_at_without_another_alike(monkeypatch):
    looked = []
    real = case_module.Physics.course
    monkeypatch.setattr(
        case_module.Physics,
        "course",
        lambda self, batch, *rest: looked.append(batch.id) or real(self, batch, *rest),
    )
    verify(many(), plan(*alike()))
    assert looked == ["b0"]


@pytest.mark.parametrize("which", [0, 2, COUNT - 1])
def test_one_among_alike_that_is_picked_too_early(which):
    batches = alike()
    odd = batches[which]
    batches[which] = replace(odd, picks=(Pick(day(31), 4, 400),), margin_days=odd.margin_days + 1)
    got = verify(many(), plan(*batches))
    assert (RIPE.name, f"b{which}") in told(got)
    assert {name for rule, name in told(got) if rule == RIPE.name} == {f"b{which}"}


@pytest.mark.parametrize("which", [0, 3])
def test_one_whose_levels_are_told_wrong(which):
    batches = alike()
    levels = batches[which].levels
    wrong = (*levels[:5], Level(levels[5].date, levels[5].litres + 0.5, levels[5].depth_cm))
    batches[which] = replace(batches[which], levels=wrong + levels[6:])
    assert told(verify(many(), plan(*batches))) == [(CLAIMS.name, f"b{which}")]


def test_a_fault_that_all_share_is_told_of_each():
    batches = [replace(b, seeds=1) for b in alike()]
    names = {name for _, name in told(verify(many(), plan(*batches)))}
    assert names == {f"b{k}" for k in range(COUNT)}


def test_a_tier_with_a_sick_batch_is_like_no_other():
    """In C the lettuce before died of root rot: its family waits there, not in the others."""
    batches = alike()
    sick = replace(heads("sick", "C1", 10, state="failed", rest_until=day(40)), clear=day(11))
    late = [replace(heads(f"n{k}", "A1", 35), column=chr(65 + k)) for k in range(COUNT)]
    got = verify(many(), plan(*[b for b in batches if b.column != "C"], sick, *late))
    assert [pair for pair in told(got) if pair[0] == REST.name] == [(REST.name, "n2")]


def test_a_light_share_of_its_own_makes_a_tier_another():
    """In 0.3 of the light lettuce gets 6 mol/m2 a day, under its 8; in the others 20."""
    columns = many().columns
    dark = replace(columns[3], tiers=(replace(columns[3].tiers[0], light=0.3),))
    got = verify(many(columns=(*columns[:3], dark, *columns[4:])), plan(*alike()))
    assert {name for _, name in told(got)} == {"b3"}


def test_a_sentence_names_a_handful_and_the_witnesses_are_all():
    count = MOST_NAMES + 12
    base = many(1)
    columns = tuple(Column(f"c{k}", base.columns[0].tiers) for k in range(count))
    crowd = [replace(heads("b", "A1", 12), id=f"b{k}", column=f"c{k}") for k in range(count)]
    got = verify(replace(base, columns=columns), plan(*crowd))
    full = [b for b in got.broken if b.rule == NURSERY.name]
    assert len(full) == 10  # sown on day 2, transplanted on day 12
    assert all(b.message.endswith(" and 12 more)") for b in full)
    assert set(full[0].witnesses) >= {f"b{k}" for k in range(count)}
    assert full[0].amount == 4 * count - 4

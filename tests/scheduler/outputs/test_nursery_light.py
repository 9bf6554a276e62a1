"""Light of seedlings: told where it is less than they stretch in, and nowhere else.

The case has 20 mol/m2 a day; a lettuce is sown on day 0 and transplanted on day 10.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from verify_case import garden, heads, plan

from crops.place import REACHED, Lamp
from scheduler.garden.model import Garden, Nursery
from scheduler.outputs.nursery_light import dim_batches, nursery_sentences
from scheduler.outputs.text import calendar
from scheduler.plans.model import GROWING
from scheduler.words.words import Units

ONE = plan(heads("x", "A1", 10))


def lit(light: float | None = None, flux: float = 0.0, hours: float = 16.0) -> Garden:
    """``flux`` micromol m-2 s-1 on one square metre of cells."""
    lamp = Lamp(flux / REACHED / 2.0, 2.0, hours, 1.0) if flux else None
    return replace(garden(), nursery=Nursery(12, 20.0, lamp, light))


# 0.3 of 20 mol are the 6 that do; 100 micromol for 16 h are 5.76 mol, with 0.012 of the sky 6.0.
@pytest.mark.parametrize(
    ("light", "flux", "dim"),
    [(0.3, 0, False), (0.299, 0, True), (None, 0, False), (None, 100, True), (0.013, 100, False),
     (0.011, 100, True)],
)  # fmt: skip
def test_too_dark_and_just_light_enough(light: float | None, flux: float, dim: bool) -> None:
    found = nursery_sentences(lit(light, flux), ONE)
    assert bool(found) == dim
    whole = " ".join(calendar(lit(light, flux), ONE, [], Units("metric")).split())
    assert ("they grow tall and weak" in whole) == dim


def test_what_to_do_is_said() -> None:
    """3.6 mol of 10 hours: 2.4 more are 6.7 hours; a weak lamp has no hours enough in a day."""
    (said,) = nursery_sentences(lit(0.1), ONE)
    assert said.startswith("Nursery: as little as 2.0 mol/m2 of light a day for seedlings between")
    assert said.endswith("Give them a lamp, or a lighter place.")
    (said,) = nursery_sentences(lit(None, 100, 10.0), ONE)
    assert said.endswith("6.7 hours more of the lamp each day would do.")
    (said,) = nursery_sentences(lit(None, 50), ONE)
    assert said.endswith("Hang the lamp nearer, or take a stronger one.")


@pytest.mark.parametrize("count", [1, 3])
def test_only_what_is_still_to_be_raised_counts(count: int) -> None:
    batches = [heads(f"x{k}", f"A{k + 1}", 10) for k in range(count)]
    assert len(dim_batches(lit(0.1), plan(*batches))) == count
    standing = replace(batches[0], state=GROWING)
    assert len(dim_batches(lit(0.1), plan(standing, *batches[1:]))) == count - 1

"""Random cases are the same each time, whatever their test's text and what else is loaded."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest
from draws import SHARE, fixed
from hypothesis import given
from hypothesis import strategies as st
from solver_case import Proofs, gardens, tiny

from scheduler.garden.model import Garden

NUMBERS = st.lists(st.integers(0, 10**9), min_size=20, max_size=20)


def test_neither_a_tests_text_nor_the_package_says_what_is_drawn(tmp_path: Path) -> None:
    """A module full of numbers is loaded between two draws, which differ in their text, too."""
    one: list[list[int]] = []
    two: list[list[int]] = []

    @fixed(20)
    @given(NUMBERS)
    def draw(numbers: list[int]) -> None:
        one.append(numbers)

    draw()
    path = tmp_path / "full_of_numbers.py"
    path.write_text(f"LIST = {[7_654_321 + 1000 * k for k in range(400)]}\n")
    spec = importlib.util.spec_from_file_location("full_of_numbers", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["full_of_numbers"] = module
    try:
        spec.loader.exec_module(module)

        @fixed(20)
        @given(NUMBERS)
        def draw_again(numbers: list[int]) -> None:
            """The same cases by another text."""
            two.append(numbers)

        draw_again()
    finally:
        del sys.modules["full_of_numbers"]
    assert one == two
    assert len(one) == 20 // SHARE


def drawn(number: int) -> list[Garden]:
    """Five random gardens."""
    out: list[Garden] = []

    @fixed(5 * SHARE, number)
    @given(gardens())
    def draw(g: Garden) -> None:
        out.append(g)

    draw()
    return out


def test_another_number_draws_others() -> None:
    one, two = drawn(1), drawn(2)
    assert [g.limits for g in one] == [g.limits for g in drawn(1)]
    assert [g.limits for g in one] != [g.limits for g in two]


@pytest.mark.parametrize("proven", [9, 8])
def test_nine_in_ten_must_be_proven(proven: int) -> None:
    proofs = Proofs()
    assert proofs.most(tiny(40)) == 400  # one batch of four heads of 100 g
    assert (proofs.asked, proofs.proven) == (1, 1)
    proofs.asked, proofs.proven = 10, proven
    if proven == 9:
        with proofs:
            pass
    else:
        with pytest.raises(AssertionError), proofs:
            pass


def test_nothing_asked_is_no_proof() -> None:
    with pytest.raises(AssertionError), Proofs():
        pass

"""The program's growth curve is what a joint fit to published numbers gives, rounded."""

from __future__ import annotations

import fit_growth
import pytest

from crops import development, growth


def test_the_program_has_what_the_fit_gives() -> None:
    for name, fitted, had in zip(
        fit_growth.NAMES, fit_growth.fit(), fit_growth.here(), strict=True
    ):
        assert had == pytest.approx(fitted, rel=0.04), name


def test_the_table_is_what_the_fit_gives() -> None:
    assert fit_growth.TABLE.read_text("utf-8") == fit_growth.text()


@pytest.mark.parametrize("gain", [g for g in fit_growth.GAINS if not g.fitted])
def test_what_is_fitted_comes_near(gain: fit_growth.Gain) -> None:
    assert fit_growth.ratio(gain, fit_growth.here()) == pytest.approx(gain.ratio, rel=0.15)


def test_what_the_fit_leaves_out_is_told_and_off() -> None:
    (out,) = [g for g in fit_growth.GAINS if g.fitted]
    assert fit_growth.ratio(out, fit_growth.here()) < 0.75 * out.ratio


def test_pak_choi_in_the_dim_lies_between_what_published_ratios_ask_for() -> None:
    """Within 15 % of the baby leaves' mass, whether they stood alone or shaded each other."""
    crop = fit_growth.CROPS["pak_choi"]
    alone, shaded, columns = (
        next(e for what, e in fit_growth.dim_exponents().items() if word in what)
        for word in ("alone", "shade", "columns")
    )
    assert shaded < columns < alone
    assert crop.light_exponent == pytest.approx(columns, rel=0.05)
    low, high, told, days = fit_growth.BABY
    lit = [float(development.lit(crop, dli, 1.0)) for dli in (low, high)]
    at = [days / crop.days_to_harvest * x for x in lit]
    for dim, bright in ((lit[0] / lit[1], 1.0), at):
        here = float(growth.mass_share(dim) / growth.mass_share(bright))
        assert here == pytest.approx(told, rel=0.15)

"""A recipe as text of at most 79 columns, and as plain data."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from crops.solution.recipe import Recipe
from crops.solution.salts import (
    ELEMENTS,
    MAIN,
    N_AMMONIUM,
    N_NITRATE,
    N_OTHER,
    NITROGEN,
    main_elements,
)
from crops.solution.stock import Stock
from scheduler.mix.recipe_words import recipe_text
from scheduler.words.words import Shown, Units, _, table, top_up, wrap

WIDTH = 79


def wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return wrap(text, WIDTH, first, first if rest is None else rest)


def recipe_lines(recipe: Recipe, title: str, units: Units, known_water: bool) -> list[str]:
    """The recipe: what to weigh, what is in it, how strong it is."""
    lines = [*wrapped(title), ""]
    lines += _amounts(recipe, units)
    lines += ["", *_strength(recipe), "", *_elements(recipe), ""]
    for note in _notes(recipe, known_water):
        lines += wrapped(note, "* ", "  ")
    return lines


def _amounts(recipe: Recipe, units: Units) -> list[str]:
    rows = [(_("water, up to"), units.volume_text(recipe.litres), "")]
    if recipe.dose is not None:  # a syringe shows mL wherever it is sold
        amount = f"{recipe.dose.amount:.1f} {recipe.dose.unit}"
        rows.append((_(f"{recipe.dose.acid.name} acid"), amount, ""))
    digits = 2 if units.us else 0
    while not units.us and recipe.scale < 0.999 * 10.0**-digits:
        digits += 1
    while units.us and units.mass(recipe.scale) < 0.5 * 10.0**-digits:
        digits += 1  # so that two steps of the scale are never printed as one
    fine = max(digits + 1, 2)
    for salt, exact, weighed in zip(recipe.salts, recipe.grams, recipe.weighed, strict=True):
        rows.append(
            (
                _(salt.name),
                f"{Shown(units.mass(weighed)):.{digits}f} {units.mass_unit}",
                _("exact {mass}").format(
                    mass=f"{Shown(units.mass(exact)):.{fine}f} {units.mass_unit}"
                ),
            )
        )
    return [f"  {line}" for line in table(("", "", ""), rows, "<>>", WIDTH - 2)[1:]]


def _strength(recipe: Recipe) -> list[str]:
    ec = recipe.weighed_ec
    wanted = (
        "" if recipe.goal.ec is None else _("EC {ec:.1f} mS/cm. ").format(ec=Shown(recipe.goal.ec))
    )
    text = _(
        "{wanted}EC as weighed {value:.2f} mS/cm, give or take {spread:.2f} "
        "(by the cations {handbook:.2f}, USDA Handbook 60; by ionic strength "
        "{ionic:.2f}, Marion & Babcock 1976)."
    ).format(
        wanted=wanted,
        value=Shown(ec.value),
        spread=Shown(ec.spread),
        handbook=Shown(ec.handbook),
        ionic=Shown(ec.ionic),
    )
    water = recipe.water_ec.value
    if water >= 0.05:  # what a meter shows
        text += _(" The water itself has {water:.2f}; {water2:.2f} come from fertilizer.").format(
            water=Shown(water), water2=Shown(max(ec.value - water, 0))
        )
    if recipe.dose is not None:
        text += _(
            " Acid brings it to about pH {ph:.1f} at first and leaves {left:.0f} "
            "mg/L of alkalinity."
        ).format(ph=Shown(recipe.dose.ph), left=Shown(recipe.dose.left))
    return wrapped(text)


def _elements(recipe: Recipe) -> list[str]:
    have, weighed = main_elements(recipe.elements), main_elements(recipe.weighed_elements)
    head = f"  {'mg/L':<14}" + "".join(f"{e:>8}" for e in MAIN)
    rows = [(_("exact"), have), (_("as weighed"), weighed)]
    if recipe.wanted:
        rows = [(_("wanted"), dict(recipe.wanted)), *rows, (_("misfit"), dict(recipe.misfit))]
    lines = [head]
    for name, values in rows:
        sign = "+" if name == _("misfit") else ""
        cells = [f"{values[e]:>{sign}8.0f}" if e in values else f"{'-':>8}" for e in MAIN]
        lines.append(f"  {name:<14}" + "".join(cells))
    cells = [_small(recipe.weighed_elements[e]) for e in _OTHERS]
    lines += [
        "",
        f"  {'mg/L':<10}" + "".join(f"{n:>6}" for n in _OTHERS.values()),
        f"  {_('as weighed'):<10}" + "".join(cells),
    ]
    return lines


# Forms of nitrogen and what is in a solution by the milligram, with their heads.
_OTHERS = {
    N_NITRATE: "NO3-N",
    N_AMMONIUM: "NH4-N",
    N_OTHER: "urea",
    **{e: e for e in ELEMENTS if e not in NITROGEN and e not in MAIN},
}


def _small(mg_per_l: float) -> str:
    """Two digits that count where there is little."""
    return f"{mg_per_l:>6.0f}" if mg_per_l >= 10 or not mg_per_l else f"{mg_per_l:>6.2g}"


def _notes(recipe: Recipe, known_water: bool) -> list[str]:
    out = [recipe_text(note) for note in recipe.notes]
    if not known_water:
        out.append(
            _(
                "The garden names no source water: mixed as for rain water, without "
                "acid. Ask your supplier for its analysis and put it under solution: "
                "water:"
            )
        )
    out.append(
        _("Measure the EC and the pH of every mix; trust the meter more than these figures.")
    )
    return out


def stock_lines(stock: Stock, units: Units) -> list[str]:
    """Both concentrates."""
    per = 1 / units.volume(1)  # litres in a gallon, or in a litre
    each, small = (_("gallon"), "fl oz") if units.us else (_("litre"), "mL")
    lines = [
        _("As concentrates, {times:g}-fold, per {each} of concentrate:").format(
            times=Shown(stock.times), each=each
        )
    ]
    rows = [
        (name, _(salt.name), f"{units.mass(grams * per):.1f} {units.mass_unit}")
        for name, bottle in (("A", stock.a), ("B", stock.b))
        for salt, grams in bottle
    ]
    lines += [f"  {line}" for line in table(("", "", ""), rows, "<<>", WIDTH - 2)[1:]]
    bottles = bool(stock.a) + bool(stock.b)
    volume = units.small_volume_text(stock.litres_each * 1000)
    of = _("of each") if bottles > 1 else _("of it")
    rate = _("{per:.1f} {small} per {each}").format(
        per=Shown(units.small_volume(stock.ml_per_litre * per)), small=small, each=each
    )
    lines += wrapped(
        _(
            "Fill {water_l} of water first, then stir in {volume} {of} ({rate}), "
            "one after the other."
        ).format(water_l=units.volume_text(stock.water_l), volume=volume, of=of, rate=rate)
    )
    return lines


def how_lines(recipe: Recipe, units: Units, stock: Stock | None = None) -> list[str]:
    """Order of mixing and cautions."""
    lines = [_("How to mix")]
    for number, step in enumerate(stock.steps if stock else recipe.steps, start=1):
        lines += wrapped(recipe_text(step), f"  {number}. ", "     ")
    lines += ["", _("Take care")]
    for caution in (top_up(units), *recipe.cautions):
        lines += wrapped(_(caution), "  ! ", "    ")
    return lines


def as_data(recipe: Recipe, stock: Stock | None = None) -> dict[str, Any]:
    """The recipe for machines: grams, millilitres, litres, mg/L, mS/cm."""
    dose = recipe.dose
    out: dict[str, Any] = {
        "litres": recipe.litres,
        "ec_wanted": recipe.goal.ec,
        "salts": [
            {"name": s.name, "stated": s.stated, "grams": g, "weighed": w}
            for s, g, w in zip(recipe.salts, recipe.grams, recipe.weighed, strict=True)
        ],
        "scale_grams": recipe.scale,
        "acid": None
        if dose is None
        else {
            "name": dose.acid.name,
            "amount": dose.amount,
            "unit": dose.unit,
            "ph": dose.ph,
            "ph_open": dose.open_ph,
            "ph_eaten": dose.eaten_ph,
            "oxygen_mg_per_l": dose.oxygen,
            "held_back": dose.held,
            "neutralized_mg_per_l_caco3": dose.neutralized,
            "left_mg_per_l_caco3": dose.left,
        },
        "elements_mg_per_l": main_elements(recipe.elements),
        "weighed_mg_per_l": main_elements(recipe.weighed_elements),
        "every_element_mg_per_l": dict(recipe.weighed_elements),
        "wanted_mg_per_l": dict(recipe.wanted),
        "misfit_mg_per_l": dict(recipe.misfit),
        "ec": _ec(recipe.ec),
        "ec_weighed": _ec(recipe.weighed_ec),
        "ec_water": _ec(recipe.water_ec),
        "notes": list(recipe.notes),
        "steps": list(recipe.steps),
        "cautions": list(recipe.cautions),
    }
    if stock is not None:
        out["concentrates"] = {
            "times": stock.times,
            "ml_per_litre": stock.ml_per_litre,
            "water_l": stock.water_l,
            "litres_each": stock.litres_each,
            "a": _bottle(stock.a),
            "b": _bottle(stock.b),
            "steps": list(stock.steps),
        }
    return out


def _bottle(bottle: Sequence[tuple[Any, float]]) -> list[dict[str, Any]]:
    return [{"name": s.name, "grams_per_litre": g} for s, g in bottle]


def _ec(ec: Any) -> dict[str, float]:
    return {
        "value": ec.value,
        "spread": ec.spread,
        "handbook_60": ec.handbook,
        "marion_babcock": ec.ionic,
    }

"""``dryline mix GARDEN_OR_DIR``: what to weigh for a fill, a batch or a day of a plan."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from scheduler.commands.share import PlanDir, language_option, units_option
from scheduler.words.language import _

if TYPE_CHECKING:
    from crops.solution.recipe import Recipe
    from crops.solution.shelf import Shelf
    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan


@click.command()
@click.argument("where", metavar="[GARDEN_OR_DIR]", default=".", type=PlanDir())
@click.option("--batch", metavar="ID", help="the fill of a batch of the plan in DIR")
@click.option("--date", "day", metavar="DATE", help="all fills of a day of the plan in DIR")
@click.option("--litres", metavar="VOLUME", help='so much, such as "20 L" or "5 gal"')
@click.option("--ec", type=float, help="strength [mS/cm]; else the middle of the crop's range")
@click.option("--ph", "acidity", type=float, help="acidity; else the middle of the crop's range")
@click.option("--crop", metavar="NAME", help="for this crop")
@click.option(
    "--target", metavar="ELEMENTS", help='a name, or mg/L such as "N 150 P 40 K 190 Ca 140"'
)
@click.option(
    "--way",
    type=click.Choice(["three-salt", "two-part", "one-bag"]),
    help="a common way of mixing instead of the garden's fertilizers",
)
@click.option("--measured-ec", type=float, help="of the mix in the tub [mS/cm]: what to add to it")
@click.option("--measured-ph", type=float, help="of the mix in the tub: what to add to it")
@click.option("--stock", metavar="TIMES", type=float, help="two concentrates, TIMES-fold")
@click.option("--scale", metavar="MASS", help='smallest step of the scale, such as "0.1 g"')
@units_option()
@language_option()
@click.option("--json", "as_json", is_flag=True, help="for machines")
def command(
    where: Path,
    batch: str | None,
    day: str | None,
    litres: str | None,
    ec: float | None,
    acidity: float | None,
    crop: str | None,
    target: str | None,
    way: str | None,
    measured_ec: float | None,
    measured_ph: float | None,
    stock: float | None,
    scale: str | None,
    units: str | None,
    as_json: bool,
) -> int:
    """Weigh out the solution: salts, acid and water, what comes of them, how to mix them safely.

    GARDEN_OR_DIR is garden.yaml or the folder of a plan.

    \b
    dryline mix season --date 2027-05-12
    dryline mix season --batch b007
    dryline mix garden.yaml --litres "20 L" --ec 1.6
    dryline mix garden.yaml --crop pak_choi --litres "3 gal"
    dryline mix season --batch b007 --measured-ec 1.3 --measured-ph 7.0
    """
    from crops.solution.recipe import RecipeFault
    from scheduler.base.faults import DrylineError
    from scheduler.words.words import plan_mark

    garden, plan = _read(where)
    garden = replace(garden, solution=_shelf(garden.solution, target, way, scale, acidity))
    if sum(x is not None for x in (batch, day, litres or crop or ec)) > 1:
        raise DrylineError("expected one of --batch, --date, or --litres with --ec or --crop")
    mark = ""  # which plan the fills are of
    try:
        if litres or crop or ec is not None or (target is not None and not (batch or day)):
            mixes = [_single(garden, litres, ec, crop, bool(target))]
        else:
            mixes = _of_plan(garden, plan, where, batch, day, units or garden.units)
            mark = plan_mark(plan) if plan else ""
        if measured_ec is not None or measured_ph is not None:
            held = next((b.crop for b in plan.batches if b.id == batch), "") if plan else ""
            measured = (measured_ec, measured_ph)
            return _correct(garden, mixes, _crop_key(crop) or held, measured, units, as_json)
        return _show(garden, mixes, stock, units, as_json, mark)
    except RecipeFault as error:
        raise DrylineError(f"This cannot be mixed: {error}.") from error


Mix = tuple[str, "Recipe", list[str]]


def _read(where: Path) -> tuple[Garden, Plan | None]:
    from scheduler.garden.file import load_garden
    from scheduler.plans.folder import GARDEN_FILE, PLAN_FILE, read_plan_dir

    if (where / PLAN_FILE).is_file():
        return read_plan_dir(where)
    return load_garden(where / GARDEN_FILE if where.is_dir() else where), None


def _shelf(
    shelf: Shelf, target: str | None, way: str | None, scale: str | None, acidity: float | None
) -> Shelf:
    """The garden's shelf with what the options change."""
    from crops.solution.salts import WAYS
    from scheduler.base.faults import DrylineError
    from scheduler.garden.fields import measure

    if way is not None:
        shelf = replace(shelf, salts=WAYS[way].salts, way=way, target=None)
    if target is not None:
        shelf = replace(shelf, target=_target(target))
    if acidity is not None:
        shelf = replace(shelf, ph=acidity)
    if scale is not None:
        step = measure(scale, "g")
        if step is None or not 0.001 <= step <= 100:
            raise DrylineError(f'--scale {scale!r}; expected 0.001 to 100 g, such as "0.1 g"')
        shelf = replace(shelf, scale=step)
    return shelf


def _target(text: str) -> dict[str, float]:
    import re

    from crops.solution.salts import MAIN, TARGETS
    from scheduler.base.faults import DrylineError

    if text in TARGETS:
        return dict(TARGETS[text])
    found = re.findall(r"(N|P|K|Ca|Mg|S)[\s:=]*(\d+(?:\.\d+)?)", text)
    rest = re.sub(r"(N|P|K|Ca|Mg|S)[\s:=]*(\d+(?:\.\d+)?)", "", text).strip(" ,;")
    if not found or rest or len({e for e, _ in found}) < len(found):
        raise DrylineError(
            f"--target {text!r}; expected {', '.join(TARGETS)}, or mg/L of "
            f'{", ".join(MAIN)}, such as "N 150 P 40 K 190 Ca 140"'
        )
    return {e: float(v) for e, v in found}


def _single(
    garden: Garden, litres: str | None, ec: float | None, crop: str | None, target: bool
) -> Mix:
    from scheduler.base.faults import DrylineError
    from scheduler.garden.fields import measure
    from scheduler.garden.shape import near_names

    volume = measure(litres, "litre") if litres else None
    if litres and volume is None:
        raise DrylineError(f'--litres {litres!r}; expected a volume such as "20 L" or "5 gal"')
    if volume is None:
        fills = {v.fill_l for v in garden.vessels.values()}
        if len(fills) > 1:
            raise DrylineError(
                '--litres is missing; expected a volume such as "20 L" '
                "(the garden's vessels differ)"
            )
        volume = fills.pop()
    if crop is None:
        if ec is None and not target:
            raise DrylineError("--ec is missing; expected a strength, or a crop with --crop")
        return "Solution", garden.solution.recipe(volume, ec, garden.solution.ph), []
    name = _crop_key(crop)
    if name not in garden.crops:
        raise DrylineError(f"--crop {crop!r}; expected {near_names(crop, sorted(garden.crops))}")
    found = garden.crops[name]
    if ec is not None:
        ph = garden.solution.ph
        ph = (found.ph_low + found.ph_high) / 2 if ph is None else ph
        return (
            _("Solution for {title}").format(title=_(found.title)),
            garden.solution.recipe(volume, ec, ph),
            [],
        )
    return (
        _("Solution for {title}").format(title=_(found.title)),
        garden.solution.for_crop(found, volume),
        [],
    )


def _crop_key(crop: str | None) -> str:
    return (crop or "").lower().replace(" ", "_").replace("-", "_")


def _of_plan(
    garden: Garden,
    plan: Plan | None,
    where: Path,
    batch: str | None,
    day: str | None,
    units: str,
) -> list[Mix]:
    from scheduler.base.faults import DrylineError
    from scheduler.mix.fills import fill_recipe, recipes_on, remarks
    from scheduler.words.units import Units

    if plan is None:
        raise DrylineError(
            f"{where} is no plan's folder; expected --litres with --ec or --crop, "
            "or the folder of a plan"
        )
    if batch is not None:
        found = next((b for b in plan.batches if b.id == batch), None)
        if found is None:
            some = plan.batches[0].id if plan.batches else "none, for it has none"
            raise DrylineError(f"--batch {batch!r}; expected a batch of the plan, such as {some}")
        recipe = fill_recipe(garden, found)
        title = _("{title} in {column} {tier}, filled {transplant} ({id})").format(
            title=_(garden.crops[found.crop].title),
            column=found.column,
            tier=found.tier,
            transplant=found.transplant,
            id=found.id,
        )
        return [(title, recipe, remarks(garden, found, recipe))]
    wanted = _day(day, plan)
    out: list[Mix] = []
    for made in recipes_on(garden, plan, wanted):
        tiers = ", ".join(
            _("{title} in {column} {tier} ({fill_litres})").format(
                title=_(garden.crops[b.crop].title),
                column=b.column,
                tier=b.tier,
                fill_litres=Units(units).volume_text(b.fill_litres),
            )
            for b in made.batches
        )
        notes = []
        for b in made.batches:
            lines = remarks(garden, b, made.recipe)
            notes += [f"{b.column} {b.tier}: {text}" for text in lines[:-1]]
        notes += lines[-1:]  # which way pH goes is the same for one mix
        out.append((f"{wanted}: {tiers}", made.recipe, notes))
    if not out:
        days = sorted({b.transplant for b in plan.batches})
        near = [str(d) for d in days if d >= wanted][:3] or [str(d) for d in days][-1:]
        some = ", ".join(near) or "none, for nothing is planned"
        raise DrylineError(f"nothing is filled on {wanted}; expected a day such as {some}")
    return out


def _day(text: str | None, plan: Plan) -> date:
    from scheduler.base.faults import DrylineError

    if text is None:  # the next day on which something is filled, else the first
        days = sorted({b.transplant for b in plan.batches})
        today = date.today()
        return next((d for d in days if d >= today), days[0] if days else today)
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise DrylineError(f"--date {text!r}; expected a day written as 2027-05-12") from None


def _correct(
    garden: Garden,
    mixes: list[Mix],
    crop: str,
    measured: tuple[float | None, float | None],
    units: str | None,
    as_json: bool,
) -> int:
    """What to add to a mix that was made and measured: its EC and pH."""
    from crops.solution.tub import correction
    from scheduler.base.faults import DrylineError
    from scheduler.mix.tub import correction_data, correction_lines
    from scheduler.words.words import Units

    if len(mixes) > 1:
        raise DrylineError("there are several mixes on that day; expected one, with --batch")
    title, recipe, _ = mixes[0]
    wanted = recipe.ec.value if recipe.goal.ec is None else recipe.goal.ec
    aim = garden.solution.ph
    goal_ph = None if aim is None else (aim, aim)
    if aim is None and crop in garden.crops:
        goal_ph = (garden.crops[crop].ph_low, garden.crops[crop].ph_high)
    ec, ph = measured
    if ph is not None and goal_ph is None:
        raise DrylineError("--ph is missing; expected the pH wanted, or a crop with --crop")
    found = correction(garden.solution, recipe.litres, wanted, goal_ph, ec, ph)
    if as_json:
        body = {"title": title, **correction_data(found)}
        click.echo(json.dumps(body, indent=1, ensure_ascii=False))
        return 0
    lines = correction_lines(found, recipe, title, Units(units or garden.units))
    click.echo("\n".join(lines))
    return 0


def _show(
    garden: Garden,
    mixes: list[Mix],
    times: float | None,
    units: str | None,
    as_json: bool,
    mark: str,
) -> int:
    from crops.solution.stock import concentrates
    from scheduler.mix import text as mix_text
    from scheduler.words.words import Units

    made = [(t, r, n, concentrates(r, times) if times is not None else None) for t, r, n in mixes]
    if as_json:
        body: list[dict[str, Any]] = [
            {"title": t, **mix_text.as_data(r, s), "remarks": n} for t, r, n, s in made
        ]
        text = json.dumps(
            {"water_known": garden.solution.known, "mixes": body}, indent=1, ensure_ascii=False
        )
        click.echo(text)
        return 0
    show = Units(units or garden.units)
    lines = [mark, ""] if mark else []
    for title, recipe, notes, stock in made:
        lines += mix_text.recipe_lines(recipe, title, show, garden.solution.known)
        for note in notes:
            lines += mix_text.wrapped(note, "* ", "  ")
        if stock is not None:
            lines += ["", *mix_text.stock_lines(stock, show)]
        lines.append("")
    _, fullest, _, bottles = max(made, key=lambda m: (m[1].dose is not None, len(m[1].salts)))
    lines += mix_text.how_lines(fullest, show, bottles)
    click.echo("\n".join(lines))
    return 0

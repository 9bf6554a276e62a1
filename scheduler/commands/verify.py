"""``dryline verify DIR``: check every rule of a plan again."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from scheduler.verify import Verdict

WIDTH = 79


@click.command()
@click.argument("folder", metavar="DIR", type=click.Path())
@click.option("--json", "as_json", is_flag=True, help="the verdict as JSON")
def command(folder: str, as_json: bool) -> int:
    """Check every rule of the plan in DIR again, from the garden beside it.

    Ends with 0 if all rules hold, 1 if one is broken.
    """
    from scheduler.plan_dir import read_plan_dir
    from scheduler.verify import verify

    garden, plan = read_plan_dir(folder)
    verdict = verify(garden, plan)
    if as_json:
        click.echo(json.dumps(verdict.as_dict(), indent=1, ensure_ascii=False))
    else:
        click.echo("\n".join(lines(verdict, garden.units)))
    return 0 if verdict.ok else 1


def lines(verdict: Verdict, units: str) -> list[str]:
    """The verdict as lines of at most 79 characters: one a rule, then each breach."""
    from scheduler.outputs.words import wrap
    from scheduler.rules_list import RULES
    from scheduler.show import Units, of_the_wish, share
    from scheduler.verify.fields import UNCHECKED

    show = Units(units)
    broken: dict[str, int] = {}
    for b in verdict.broken:
        broken[b.rule] = broken.get(b.rule, 0) + 1
    out = []
    for rule in RULES:
        count = verdict.checked.get(rule.name, 0)
        state = f"BROKEN {broken[rule.name]}" if rule.name in broken else "holds"
        what = f"{count} {rule.counted} checked" if count else "nothing to check"
        out.append(f"{rule.name:<22}{state:<12}{what}")
    out.append("")
    for b in verdict.broken:
        amount = f" by {show.exact_text(b.amount, b.unit)}" if b.unit else ""
        # Witnesses that the sentence does not name are put behind it.
        others = [w for w in b.witnesses if w not in b.message]
        text = f"{b.rule}{amount}: {b.message}" + (f" [{', '.join(others)}]" if others else "")
        out += wrap(text, WIDTH, "", "    ")
    v = verdict.values
    if verdict.ok:
        out.append("Every rule holds.")
    if verdict.met is not None:
        out.append(f"Met: {share(verdict.met)} {of_the_wish(verdict.weighted)}.")
    out.append(f"Picked in vain, or short of half a week's wish: {show.mass_text(v['evenness'])}. "
               f"Effort: {v['effort']:,.0f}.")  # fmt: skip
    text = f"Not checked: {', '.join(UNCHECKED)}."
    return [*out, *wrap(text, WIDTH, "", "    ")]

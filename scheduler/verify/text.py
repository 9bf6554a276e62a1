"""A verdict as text."""

from __future__ import annotations

from scheduler.plans.model import Plan
from scheduler.plans.rules import RULES
from scheduler.verify.fields import UNCHECKED
from scheduler.verify.verdict import Verdict
from scheduler.words.units import Units, of_the_wish, share
from scheduler.words.words import wrap

WIDTH = 79
EARLIER = (
    "This plan is of an earlier version, which had plants grow and drink otherwise, and counted "
    "less of what cold, warm solution and long days do to a batch. A rule that it breaks it may "
    "not have been made to keep: plan again, or rebalance under way. scheduler/CHANGELOG.md names "
    "what changed."
)


def earlier(plan: Plan) -> list[str]:
    """What to know of a plan that was made before chances of cold and heat were told; else none."""
    told = [b.chances for b in plan.batches if b.chances is not None]
    if not any(chances.cold is None for chances in told):
        return []
    return ["", *wrap(EARLIER, WIDTH)]


def lines(verdict: Verdict, units: str) -> list[str]:
    """The verdict as lines of at most 79 characters: one a rule, then each breach."""
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
    out.append(
        f"Picked in vain, or short of half a week's wish: {show.mass_text(v['evenness'])}. "
        f"Effort: {v['effort']:,.0f}."
    )
    text = f"Not checked: {', '.join(UNCHECKED)}."
    return [*out, *wrap(text, WIDTH, "", "    ")]

"""garden.yaml from a grower's answers: some 30 lines, with remarks where a number was guessed."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

from crops.catalogue import catalogue
from scheduler.beginning import vessels
from scheduler.beginning.answers import GROUPS, HERBS_SHARE, Answers
from scheduler.beginning.light import shares
from scheduler.garden.fields import DAYS
from scheduler.words.units import US, convert

FIRST_WEEKS = 7  # from the start until something can be ripe
INVENTED = "(invented weather)"
UNTIL = "invented: true          # until climate.csv is your station's"
CLIMATE, NO_PLACE = "  climate: climate.csv", "  # invented: of no real place"
PAST = "  past: past.csv         # days of real years"
_UNITS = {"L": ("litre", "gallon", "gal"), "cm": ("cm", "inch", "in"), "kg": ("kg", "pound", "lb")}
_UNITS |= {"g": ("g", "ounce", "oz"), "m": ("metre", "foot", "ft")}
_UNITS["degC"] = ("degC", "degF", "degF")


def with_real_weather(text: str, past: bool) -> str:
    """The text of a garden made from answers once a station's table lies beside it.

    What says that its weather is invented goes; ``past``: past.csv lies there as well, and is
    named. A garden that says so for another reason, or in other words, stays as it is.
    """
    lines = text.splitlines()
    if UNTIL not in lines:
        return text
    out = []
    for line in lines:
        if line == UNTIL:
            continue
        if line.startswith("name: "):
            line = line.replace(f" {INVENTED}", "")
        if line == CLIMATE + NO_PLACE:
            out += [CLIMATE, *([PAST] if past and PAST not in lines else [])]
            continue
        out.append(line)
    return "\n".join(out) + "\n"


def garden_yaml(a: Answers, invented: bool, past: bool = False) -> str:
    """The text of garden.yaml.

    ``invented``: the weather is; ``past``: past.csv lies beside it, with days of real years.
    """

    def q(value: float, unit: str, digits: int = 1) -> str:
        own, other, name = _UNITS[unit]
        if a.units == US:
            return f"{round(convert(float(value), own, other), digits):g} {name}"
        return f"{round(value, digits):g} {unit}"

    metric = a.units != US
    first, last = a.season
    standing = any(g.column for g in a.grows)
    wished = first if standing else min(first + timedelta(weeks=FIRST_WEEKS), last)
    crops = _crops(a)
    kind = a.vessel
    label = kind.name.replace(" ", "-")
    where = a.place.name or "the garden"
    name = f"{a.place.name or 'first'} garden"[:20] + (f" {INVENTED}" if invented else "")
    lines = [
        "# Made from your answers; change any line and plan again:",
        "# dryline plan garden.yaml. `dryline start --no-ask` elsewhere: every key there is.",
        f"name: {name}",
    ]
    if invented:
        lines.append(UNTIL)
    lines += [
        f"units: {a.units}",
        "site:",
        f"  latitude: {a.place.latitude:g} degree     # of {where}",
        f"  elevation: {q(a.place.elevation, 'm', 0)}",
        CLIMATE + (NO_PLACE if invented else ""),
        *([PAST] if past else []),
        "season:",
        f"  start: {first}",
        f"  end: {last}",
        f"  work_days: {'all' if a.work_days == DAYS else '[' + ', '.join(a.work_days) + ']'}",
        *_away(a, first, last),
        "vessels:                # inside sizes: measure yours",
        f"  {label}:              # keep: left at harvest; mass: empty, with lid and pots",
        f"    {{shape: {kind.shape}, "
        + ", ".join(f"{k}: {q(v, 'cm')}" for k, v in kind.sizes.items())
        + ",",
        f"    fill: {q(kind.fill, 'L', 2)}, keep: {q(vessels.KEEP, 'cm')}, "
        f"mass: {q(kind.mass, 'kg')}" + ("," if kind.plugged else "}"),
        *_plugs(kind, q),
        "columns:                # light by simple geometry: share of the open sky's; tier 1 first",
        *_columns(a, label),
        f"nursery: {{cells: {_cells(a)}, temperature: {q(20, 'degC', 0)}}}   # indoors",
        *_standing(a),
        f"demand:                 # {a.wish.words}",
        *(
            f"  - {{group: {g}, per_week: {_a_week(a, g, q(grams, 'g', 0 if metric else 1))}, "
            f"from: {wished}" + (f", weight: {weight}" if weight > 1 else "") + "}"
            for g, grams, weight in _wishes(a)
        ),
        f"limits: {{lift: {q(16, 'kg', 0)}, fills_per_day: 4, dry_margin: 2 days}}"
        "   # what one lifts safely",
        f"crops: [{', '.join(crops)}]",
    ]
    return "\n".join(_aligned(line) for line in lines) + "\n"


def _plugs(kind: vessels.Kind, q: Callable[[float, str], str]) -> list[str]:
    """Where the plugs sit, that the fill is checked against them."""
    if not kind.plugged:
        return []
    where = f"depth: {q(vessels.PLUG, 'cm')}, hole: {q(kind.hole, 'cm')}, angle: {vessels.LEAN}"
    return [f"    plugs: {{in: side, {where} degree}}}}   # hole: its lower edge"]


def _aligned(line: str) -> str:
    """A line with the remark after its value in one column, where there is room."""
    value, mark, remark = line.partition("  # ")
    return f"{value.rstrip() + '  ':<24}# {remark.strip()}" if mark and value.strip() else line


def _a_week(a: Answers, group: str, grams: str) -> str:
    """A group's part of the wish: heads where heads were wished."""
    if not a.wish.heads or group == "herbs":
        return grams
    count = round(a.wish.heads / sum(g != "herbs" for g in a.groups), 2)
    return f"{count:g} head{'' if count == 1 else 's'}"


def _away(a: Answers, first: date, last: date) -> list[str]:
    spans = [(x, y) for x, y in a.away if y >= first and x <= last]
    if not spans:
        return []
    return ["  away: [" + ", ".join(f"{{from: {x}, to: {y}}}" for x, y in spans) + "]"]


def _columns(a: Answers, label: str) -> list[str]:
    light = shares(a.stand, a.stack.tiers, a.vessel.width / 100, a.vessel.depth / 100)
    plants = a.stack.plants or a.vessel.plants
    head = "  - name: A" + (f"\n    count: {a.stack.columns}" if a.stack.columns > 1 else "")
    out = [head, "    tiers:"]
    return out + [
        f"      - {{vessel: {label}, light: {share:.0%}, plants: {plants}}}" for share in light
    ]


def _standing(a: Answers) -> list[str]:
    tiers, cells = [g for g in a.grows if g.column], [g for g in a.grows if not g.column]
    out = ["standing:               # what grows today"] if tiers else []
    for g in tiers:
        when = f"planted_on: {g.since}" if g.since else f"size: {g.size:.0%}"
        level = f", level: {g.level}" if g.level else ""
        out.append(f"  - {{crop: {g.crop}, column: {g.column}, tier: {g.tier}, {when}{level}}}")
    out += ["seedlings:"] if cells else []
    return out + [f"  - {{crop: {g.crop}, sown_on: {g.since}, cells: {g.cells}}}" for g in cells]


def _cells(a: Answers) -> int:
    """Enough for the plants of half the tiers at once, and for what is sown already."""
    plants = a.stack.plants or a.vessel.plants
    half = -(-a.stack.columns * a.stack.tiers // 2)
    sown = sum(g.cells for g in a.grows)
    return max(6, round(1.4 * plants * half), sown + 2 * plants)


def _crops(a: Answers) -> list[str]:
    chosen = [c for g in a.groups for c in GROUPS[g]]
    return list(dict.fromkeys([*chosen, *(g.crop for g in a.grows)]))


def _wishes(a: Answers) -> list[tuple[str, float, int]]:
    """Group, grams a week, weight: leafy groups share evenly, heads by each group's first crop."""
    table = catalogue()
    leafy = [g for g in a.groups if g != "herbs"]
    each = {g: a.wish.grams / len(leafy) for g in leafy}
    if a.wish.heads:
        each = {g: a.wish.heads / len(leafy) * table[GROUPS[g][0]].fresh_mass for g in leafy}
    grams = sum(each.values()) or a.wish.grams or a.wish.heads * table["basil"].fresh_mass
    herbs = grams if not leafy else grams * HERBS_SHARE
    out = [(g, grams, 1) for g, grams in each.items()]
    if "herbs" in a.groups:
        out.append(("herbs", max(herbs, 5.0), 6 if leafy else 1))
    return [(g, max(round(x), 1), w) for g, x, w in out]

"""What a grower answers, and how each answer is read."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import date, timedelta
from difflib import get_close_matches
from pathlib import Path

from scheduler.beginning import towns, vessels, weather
from scheduler.beginning.light import STANDS
from scheduler.garden.fields import DAYS, measure, read_days
from scheduler.words.fault_text import fault_text
from scheduler.words.words import _

MOST_TIERS = 400
SALAD = 100.0  # g of leaves in one salad; common practice, no source
GROUPS = {  # kinds of produce, with crops that forgive a beginner; herbs for their share of a salad
    "lettuce": ("leaf_lettuce", "butterhead", "romaine"),
    "greens": ("pak_choi", "mizuna", "kale"),
    "herbs": ("basil", "parsley", "coriander"),
}
HERBS_SHARE = 0.06
NONE = ("none", "no", "nothing", "-", "")


class Wrong(ValueError):
    """An answer that cannot be read; the text says what is expected."""


@dataclass(frozen=True)
class Place:
    """Latitude [degree, north positive], height over the sea [m]; ``name`` of a town, or empty."""

    latitude: float
    elevation: float = 100.0
    name: str = ""


@dataclass(frozen=True)
class Stack:
    """Columns, tiers in each, plants in a tier; None: as many as the vessel takes."""

    columns: int
    tiers: int
    plants: int | None = None

    def name(self, number: int) -> str:
        """Of the column with that number, 1 the first."""
        return "A" if self.columns == 1 else f"A{number}"


@dataclass(frozen=True)
class Wish:
    """Grams a week in all; heads a week; and the words it was said in. One of the two is 0."""

    grams: float
    heads: float
    words: str


@dataclass(frozen=True)
class Grows:
    """A crop in a tier since a day or of a size [0..1], or (column '') seedlings in cells."""

    crop: str
    column: str = ""
    tier: int = 0
    since: date | None = None
    size: float | None = None
    level: str = ""
    cells: int = 0


@dataclass
class Answers:
    """All of them."""

    units: str
    place: Place
    climate: Path | str  # a file, or one of `weather.KINDS`
    stack: Stack
    vessel: vessels.Kind
    stand: str
    grows: tuple[Grows, ...]
    season: tuple[date, date]
    work_days: tuple[str, ...]
    away: tuple[tuple[date, date], ...]
    wish: Wish
    groups: tuple[str, ...] = field(default=("lettuce", "greens"))


def read_units(text: str) -> str:
    found = {"m": "metric", "metric": "metric", "us": "us", "u": "us"}.get(text.lower())
    if found is None:
        raise Wrong(_("metric, or us"))
    return found


_PLACE = re.compile(
    r"([-+]?\d+(?:\.\d+)?)\s*(?:°|deg|degrees?)?\s*([NSns]?)(?:\s*,\s*(.+))?", re.ASCII
)


def read_place(text: str) -> Place:
    """``45.2 N, 120 m``, ``-33.9``, or a town of the table of time zones."""
    parts = _PLACE.fullmatch(text.strip())
    if parts:
        value = float(parts[1]) * (-1 if parts[2].lower() == "s" else 1)
        high = measure(parts[3], "metre") if parts[3] else 100.0
        if not -66 <= value <= 66:
            raise Wrong(_("a latitude from 66 S to 66 N"))
        if high is None or not -450 <= high <= 6000:
            raise Wrong(_("the height after the comma with its unit, such as 45.2 N, 120 m"))
        return Place(round(value, 2), round(high))
    name, _comma, high_text = text.partition(",")
    known = towns.towns()
    latitude = known.get(name.strip().lower())
    if latitude is None:
        close = ", ".join(towns.near(name.strip()))
        said = _(
            "a latitude such as 45.2 N or 33.9 S, with the height if you know it (45.2 N, 120 m)"
        )
        if known:
            said += _(", or a large town near you")
        if close:
            said += _(" (did you mean {names}?)").format(names=close)
        raise Wrong(said)
    if not -66 <= latitude <= 66:
        raise Wrong(_("a latitude from 66 S to 66 N"))
    high = measure(high_text, "metre") if high_text.strip() else 100.0
    if high is None:
        raise Wrong(_("the height with its unit, such as {town}, 120 m").format(town=name.strip()))
    return Place(latitude, round(high), name.strip().title())


def read_climate(text: str) -> Path | str:
    """One of the invented climates, or a file that is there and can be read."""
    from scheduler.base.faults import BadInput, DrylineError
    from scheduler.garden.climate_import import import_climate

    if text.lower() in weather.KINDS:
        return text.lower()
    file = Path(text).expanduser()
    if not file.is_file():
        raise Wrong(_("a file that is there, or {kinds}").format(kinds=", ".join(weather.KINDS)))
    try:
        import_climate(file)
    except DrylineError as error:
        first = fault_text(error.faults[0]) if isinstance(error, BadInput) else error.text()
        raise Wrong(
            _("a climate file that can be read, or {kinds}: {fault}").format(
                kinds=", ".join(weather.KINDS), fault=first
            )
        ) from (None)
    return file


def read_stack(text: str) -> Stack:
    """``2 x 4 x 3``: columns, tiers, plants; the last may be left out."""
    parts = [p.strip() for p in re.split(r"[x×*,]", text.lower())]
    if not 2 <= len(parts) <= 3 or not all(p.isascii() and p.isdigit() for p in parts):
        raise Wrong(_("columns x tiers x plants in a tier, such as 2 x 3 x 4"))
    columns, tiers = int(parts[0]), int(parts[1])
    plants = int(parts[2]) if len(parts) == 3 else None
    if not (1 <= tiers <= 12 and columns >= 1 and columns * tiers <= MOST_TIERS):
        raise Wrong(
            _("1 to 12 tiers in a column, at most {most} tiers in all").format(most=MOST_TIERS)
        )
    if plants is not None and not 1 <= plants <= 40:
        raise Wrong(_("1 to 40 plants in a tier"))
    return Stack(columns, tiers, plants)


def read_vessel(text: str) -> vessels.Kind:
    """The number of a common one, or volume and depth of one's own."""
    if text.isascii() and text.isdigit() and 1 <= int(text) <= len(vessels.COMMON):
        return vessels.COMMON[int(text) - 1]
    volume, _comma, deep = text.partition(",")
    litres, depth = measure(volume, "litre"), measure(deep.replace("deep", ""), "cm")
    if litres is None or depth is None:
        raise Wrong(
            _("a number from 1 to {last}, or your own, such as 15 L, 30 cm").format(
                last=len(vessels.COMMON)
            )
        )
    if not 1 <= litres <= 500 or not 10 <= depth <= 120:
        raise Wrong(_("1 to 500 L, and 10 to 120 cm deep: roots need 10 cm"))
    return vessels.own(round(litres, 1), round(depth, 1))


def read_stand(text: str) -> str:
    close = get_close_matches(text.lower(), STANDS, 1, 0.7)
    if not close:
        raise Wrong(_("one of {names}").format(names=", ".join(STANDS)))
    return close[0]


def read_day(text: str) -> date:
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise Wrong(_("days as 2027-05-20")) from None


def read_span(text: str) -> tuple[date, date]:
    parts = re.split(r"\s+to\s+|\s*\.\.\s*|\s+until\s+", text.strip())
    if len(parts) != 2:
        raise Wrong(_("a first and a last day, as 2027-04-12 to 2027-10-10"))
    first, last = read_day(parts[0]), read_day(parts[1])
    if last < first:
        raise Wrong(_("a last day after the first, {first}").format(first=first))
    return first, last


def read_season(text: str) -> tuple[date, date]:
    first, last = read_span(text)
    if not 48 <= (last - first).days <= 731:
        raise Wrong(_("a season of seven weeks to two years"))
    return first, last


def read_away(text: str) -> tuple[tuple[date, date], ...]:
    if text.lower().strip() in NONE:
        return ()
    return tuple(read_span(part) for part in re.split(r"[;,]", text))


def read_work_days(text: str) -> tuple[str, ...]:
    if text.lower().strip() in ("all", "every day", "any"):
        return DAYS
    names = [n for n in re.split(r"[\s,;]+", text.lower().replace(" and ", " ")) if n]
    try:
        return tuple(DAYS[i] for i in read_days(names))
    except ValueError:
        raise Wrong(_("weekdays such as wed, sat, sun, or all")) from None


_PEOPLE = re.compile(
    r"(\d+)\s*(?:people|persons?|x)?\s*(?:x|times|,)?\s*(\d+)?\s*(?:salads?|meals?)?(?: a week)?"
)
_HEADS = re.compile(r"(\d+(?:\.\d+)?)\s*(?:heads?|lettuces?)(?: a week)?")


def read_wish(text: str) -> Wish:
    """``2 people x 3 salads``, ``4 heads`` or ``600 g``, each a week."""
    said = " ".join(text.lower().split())
    heads = _HEADS.fullmatch(said)
    if heads and 0 < float(heads[1]) <= 10_000:
        return Wish(0.0, float(heads[1]), f"{heads[1]} heads a week")
    people = _PEOPLE.fullmatch(said)
    if people and ("people" in said or "person" in said or "salad" in said or people[2]):
        eaters, meals = int(people[1]), int(people[2] or 1)
        if 0 < eaters * meals <= 100_000:
            words = f"{eaters} people x {meals} salads of {SALAD:g} g a week"
            return Wish(eaters * meals * SALAD, 0.0, words)
    grams = measure(said.removesuffix(" a week"), "g")
    if grams is None or not 10 <= grams <= 1e7:
        raise Wrong(_("a week's wish: 2 people x 3 salads, or 4 heads, or 600 g"))
    return Wish(grams, 0.0, f"{text.strip().removesuffix(' a week')} a week")


def read_groups(text: str) -> tuple[str, ...]:
    names = [n for n in re.split(r"[\s,;]+", text.lower()) if n and n != "and"]
    if not names or any(n not in GROUPS for n in names):
        raise Wrong(_("some of {names}").format(names=", ".join(GROUPS)))
    return tuple(n for n in GROUPS if n in names)


_SEEDLINGS = re.compile(r"(?:seedlings|cells)\s+(\d+)\s+(.+?)\s+(\d{4}-\d{2}-\d{2})")
_GROWS = re.compile(
    r"(?:column\s+)?([A-Za-z]\d*)?\s*(?:tier\s+)?(\d+)\s+([A-Za-z_ ]+?)\s+"
    r"(?:(\d{4}-\d{2}-\d{2})|(\d+)\s*%)(?:\s+level\s+(.+))?"
)


def read_grows(text: str, stack: Stack, today: date) -> tuple[Grows, ...]:
    """``A1 2 kale 2027-05-20; A1 3 basil 40 % level 9 cm; seedlings 6 kale 2027-05-30``."""
    from crops.catalogue import catalogue

    if text.lower().strip() in NONE:
        return ()
    found: list[Grows] = []
    known = {**{c.title.lower(): n for n, c in catalogue().items()}, **{n: n for n in catalogue()}}
    known |= {"lettuce": "leaf_lettuce", "pak choi": "pak_choi"}

    def crop(name: str) -> str:
        wanted = name.strip().lower()
        one = known.get(wanted) or known.get(wanted.replace(" ", "_"))
        if one is None:
            near = get_close_matches(wanted, list(known), 2, 0.6)
            hint = (
                _("did you mean {names}?").format(names=_(" or ").join(near))
                if near
                else _("`dryline crops` lists them")
            )
            raise Wrong(
                _("a crop of the catalogue in place of {name}: {hint}").format(
                    name=name.strip(), hint=hint
                )
            )
        return one

    def past(day: str) -> date:
        when = read_day(day)
        if not today - timedelta(days=300) <= when < today:
            raise Wrong(
                _("a day before today, {today}, in place of {day}").format(today=today, day=when)
            )
        return when

    for part in re.split(r"[;\n]", text):
        raised = _SEEDLINGS.fullmatch(part.strip())
        if raised:
            if not 1 <= int(raised[1]) <= 10_000:
                raise Wrong(_("1 to 10000 seedlings"))
            found.append(Grows(crop(raised[2]), since=past(raised[3]), cells=int(raised[1])))
            continue
        match = _GROWS.fullmatch(part.strip())
        if match is None:
            raise Wrong(
                _(
                    "column, tier, crop, and the day it was planted or its size, parted by "
                    "semicolons: {column} 1 kale {planted}; {column} 2 lettuce 40 %; or seedlings "
                    "6 kale {sown}; or none"
                ).format(
                    column=stack.name(1),
                    planted=today - timedelta(days=20),
                    sown=today - timedelta(days=10),
                )
            )
        column = (match[1] or stack.name(1)).upper()
        if column not in {stack.name(n) for n in range(1, stack.columns + 1)}:
            last = stack.name(stack.columns)
            names = last
            if stack.columns > 1:
                names = _("{first} to {last}").format(first=stack.name(1), last=last)
            raise Wrong(_("a column {names} in place of {name}").format(names=names, name=column))
        if not 1 <= int(match[2]) <= stack.tiers:
            raise Wrong(
                _("a tier 1 to {last}, 1 the top, in place of {number}").format(
                    last=stack.tiers, number=match[2]
                )
            )
        if any((g.column, g.tier) == (column, int(match[2])) for g in found):
            raise Wrong(
                _("one crop in each tier; {column} {tier} is told twice").format(
                    column=column, tier=match[2]
                )
            )
        size = int(match[5]) / 100 if match[5] else None
        if size is not None and not 0.01 <= size <= 1:
            raise Wrong(_("a size from 1 % to 100 %"))
        level = (match[6] or "").strip()
        if level and measure(level, "litre") is None and measure(level, "cm") is None:
            raise Wrong(_("a level such as 9 cm or 6 L"))
        since = past(match[4]) if match[4] else None
        found.append(Grows(crop(match[3]), column, int(match[2]), since, size, level))
    return tuple(found)

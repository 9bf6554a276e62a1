"""Words, dates and amounts as the grower reads them: translation, units, tier labels.

Messages are English ids; a translation is a gettext catalogue ``dryline`` below
``scheduler/outputs/locale``. Without one the English stands.
"""

from __future__ import annotations

import gettext
import math
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache
from pathlib import Path

from rich.cells import cell_len

from crops.units import quantity
from scheduler import work
from scheduler.faults import DrylineError
from scheduler.garden import week_of, week_start

ONE_WEEK = timedelta(days=7)
LOCALE = Path(__file__).parent / "locale"
_translation: ContextVar[gettext.NullTranslations | None] = ContextVar("translation", default=None)


def use_language(language: str | None) -> None:
    """Take this language from here on in this context; English where it has no catalogue.

    ``de``, ``de_AT`` and ``de-AT`` all find German. Dates, the decimal sign and the first day of
    the week go with the language; ``en_US`` begins weeks on Sunday.
    """
    code = (language or "").replace("-", "_")
    found = gettext.translation("dryline", LOCALE, [code], fallback=True) if code else None
    _translation.set(found)


def languages() -> list[str]:
    """Codes of the languages there are, English first."""
    return ["en", *sorted(p.parent.parent.name for p in LOCALE.glob("*/LC_MESSAGES/dryline.mo"))]


def check_language(language: str | None) -> None:
    """Refuse a language that there is no catalogue for.

    Raises
    ------
    DrylineError
        Naming those there are.
    """
    code = (language or "en").replace("-", "_")
    known = languages()
    if code not in known and code.split("_")[0] not in known:
        raise DrylineError(f"--language {language!r}; expected one of {', '.join(known)}")


def _(message: str) -> str:
    """The message in the language in use."""
    current = _translation.get()
    return current.gettext(message) if current else message


def plural(one: str, many: str, n: int) -> str:
    """One of two messages by number, with ``{n}`` filled in."""
    current = _translation.get()
    text = current.ngettext(one, many, n) if current else (one if n == 1 else many)
    return text.format(n=n)


def N_(message: str) -> str:
    """Marks a message for translation without translating it yet."""
    return message


# Habits of a language that are no words: the translation changes what stands after the colon.
_DECIMAL = N_("decimal sign:.")
_SHORT_DAY = N_("letters of a weekday in short:3")
_FIRST_DAY = N_("first day of the week, 1 Monday to 7 Sunday:1")


def _habit(message: str) -> str:
    return _(message).rpartition(":")[2]


class Shown(float):
    """A number that is written with the decimal sign of the language in use."""

    def __format__(self, spec: str) -> str:
        return super().__format__(spec).replace(".", _habit(_DECIMAL))


def sheet_week(day: date) -> str:
    """The week on whose page a day stands: its ISO week where weeks begin on Monday.

    Where they begin on Sunday, the Sunday before that Monday stands on the same page. Wishes are
    counted by ISO weeks everywhere.
    """
    return week_of(day + _ahead())


def sheet_start(week: str) -> date:
    """First day on the page of a week."""
    return week_start(week) - _ahead()


def sheet_weeks(first: date, last: date) -> list[str]:
    """Weeks whose pages hold the days from ``first`` to ``last``."""
    day, out = sheet_start(sheet_week(first)), []
    while day <= last:
        out.append(sheet_week(day))
        day += ONE_WEEK
    return out


def weeks_begin_on_monday() -> bool:
    """Whether a page shows exactly the week its wishes are counted in."""
    return not _ahead()


def _ahead() -> timedelta:
    return timedelta(days=(8 - int(_habit(_FIRST_DAY))) % 7)


def on_the_table() -> str:
    """Heading of a week's produce, with its days where they are not those of the page."""
    return _("On the table") if weeks_begin_on_monday() else _("On the table, Monday to Sunday")


WEEKDAYS = (N_("Monday"), N_("Tuesday"), N_("Wednesday"), N_("Thursday"), N_("Friday"),
            N_("Saturday"), N_("Sunday"))  # fmt: skip
MONTHS = (N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"),
          N_("July"), N_("August"), N_("September"), N_("October"), N_("November"),
          N_("December"))  # fmt: skip

# What each kind of work is called: in front of a line, and in a heading.
VERB = {
    work.LEVEL: N_("level"), work.SHELTER: N_("cover"), work.SUPPORT: N_("support"),
    work.PICK: N_("pick"), work.CLEAR: N_("clear"), work.FILL: N_("fill"),
    work.TRANSPLANT: N_("plant"), work.SOW: N_("sow"),
}  # fmt: skip
HEADING = {
    work.LEVEL: N_("Check levels"), work.SHELTER: N_("Cover against heavy rain"),
    work.SUPPORT: N_("Fit head support"), work.PICK: N_("Pick"),
    work.CLEAR: N_("Clear and clean"), work.FILL: N_("Mix and fill"),
    work.TRANSPLANT: N_("Transplant"), work.SOW: N_("Sow"),
}  # fmt: skip


def weekday(day: date) -> str:
    return _(WEEKDAYS[day.weekday()])


def short_weekday(day: date) -> str:
    """``Tue``."""
    return weekday(day)[: int(_habit(_SHORT_DAY))]


def short_date(day: date) -> str:
    """``13 April``; order of the parts is left to the translation."""
    return _("{day} {month}").format(day=day.day, month=_(MONTHS[day.month - 1]))


def dated(day: date) -> str:
    """``13 April 2027``."""
    return _("{date} {year}").format(date=short_date(day), year=day.year)


def long_date(day: date) -> str:
    """``Tuesday 13 April 2027``."""
    return _("{weekday} {date} {year}").format(
        weekday=weekday(day), date=short_date(day), year=day.year
    )


def span(first: date, last: date) -> str:
    """``12 to 18 April 2027``, with the parts both days share said once."""
    if (first.year, first.month) == (last.year, last.month):
        return _("{first} to {last} {month} {year}").format(
            first=first.day, last=last.day, month=_(MONTHS[last.month - 1]), year=last.year
        )
    start = short_date(first) if first.year == last.year else dated(first)
    return _("{start} to {end} {year}").format(start=start, end=short_date(last), year=last.year)


@lru_cache(maxsize=32)
def _factor(unit: str, to: str) -> float:
    return 1.0 if unit == to else quantity(f"1 {unit}", to)


@dataclass(frozen=True)
class Units:
    """The grower's units. Numbers in are L, cm, g, kg; numbers and texts out are the grower's."""

    system: str

    @property
    def us(self) -> bool:
        return self.system == "us"

    @property
    def depth_unit(self) -> str:
        return "in" if self.us else "cm"

    @property
    def volume_unit(self) -> str:
        return "gal" if self.us else "L"

    @property
    def mass_unit(self) -> str:
        return "oz" if self.us else "g"

    @property
    def weight_unit(self) -> str:
        return "lb" if self.us else "kg"

    def depth(self, cm: float) -> float:
        return cm * _factor("cm", "inch" if self.us else "cm")

    def volume(self, litres: float) -> float:
        return litres * _factor("litre", "gallon" if self.us else "litre")

    def mass(self, grams: float) -> float:
        return grams * _factor("gram", "ounce" if self.us else "gram")

    def weight(self, kg: float) -> float:
        return kg * _factor("kg", "pound" if self.us else "kg")

    def depth_text(self, cm: float) -> str:
        """To 1 mm, or to the eighth of an inch a ruler shows."""
        if not self.us:
            return f"{Shown(cm):.1f} cm"
        whole, eighths = divmod(round(self.depth(cm) * 8), 8)
        if not eighths:
            return f"{whole} in"
        g = math.gcd(eighths, 8)
        part = f"{eighths // g}/{8 // g}"
        return f"{whole} {part} in" if whole else f"{part} in"

    def volume_text(self, litres: float) -> str:
        number = Shown(self.volume(litres))
        return f"{number:.2f} gal" if self.us else f"{number:.1f} L"

    def mass_text(self, grams: float) -> str:
        """Grams below a kilogram, ounces below a pound."""
        if self.us:
            ounces = self.mass(grams)
            return f"{Shown(ounces):.1f} oz" if ounces < 16 else f"{Shown(ounces / 16):.1f} lb"
        return f"{grams:.0f} g" if grams < 1000 else f"{Shown(grams / 1000):.2f} kg"

    def weighed_text(self, amount: float, unit: str) -> str:
        """Salts and acid as a scale or a syringe shows them: grams, or hundredths of an ounce."""
        if self.us and unit == "g":
            return f"{Shown(self.mass(amount)):.2f} oz"
        return f"{Shown(amount):g} {unit}"

    def weight_text(self, kg: float) -> str:
        number = Shown(self.weight(kg))
        return f"{number:.0f} lb" if self.us else f"{number:.1f} kg"

    def temperature_text(self, celsius: float) -> str:
        return f"{celsius * 1.8 + 32:.0f} \u00b0F" if self.us else f"{celsius:.0f} \u00b0C"


def tier_label(column: str, tier: int | None) -> str:
    """``A 2``: column A, tier 2 from the top; the column alone where the whole stack is meant."""
    return column if tier is None else f"{column} {tier}"


def ec_text(ec: tuple[float, float]) -> str:
    """The middle of the range as the target, and the range."""
    low, high = ec
    return _("EC {middle:.1f} ({low:.1f} to {high:.1f}) mS/cm").format(
        middle=Shown((low + high) / 2), low=Shown(low), high=Shown(high)
    )


def wrap(text: str, width: int, first: str = "", rest: str = "") -> list[str]:
    """Lines of at most ``width`` terminal cells; wide characters count two, long words are cut."""
    lines: list[str] = []
    line, empty = first, True
    for whole in text.split():
        word = whole
        while word:
            glue = "" if empty else " "
            if cell_len(line + glue + word) <= width:
                line, empty, word = line + glue + word, False, ""
            elif not empty:
                lines.append(line)
                line, empty = rest, True
            else:
                room = 1
                while cell_len(line + word[: room + 1]) <= width:
                    room += 1
                lines.append(line + word[:room])
                line, word = rest, word[room:]
    return [*lines, line] if not empty or not lines else lines


def pad(text: str, width: int) -> str:
    """``text`` filled with blanks to ``width`` terminal cells, cut if longer."""
    while cell_len(text) > width:
        text = text[:-1]
    return text + " " * (width - cell_len(text))

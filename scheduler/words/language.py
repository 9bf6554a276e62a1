"""The language of the outputs: translation, its decimal sign, its first day of the week.

Messages are English ids; a translation is a gettext catalogue ``dryline`` below
``scheduler/words/locale``. Without one the English stands.
"""

from __future__ import annotations

import gettext
from contextvars import ContextVar
from datetime import date, timedelta
from pathlib import Path

from scheduler.base.faults import DrylineError
from scheduler.base.weeks import week_of, week_start

ONE_WEEK = timedelta(days=7)
LOCALE = Path(__file__).parent / "locale"
_translation: ContextVar[gettext.NullTranslations | None] = ContextVar("translation", default=None)


def use_language(language: str | None) -> None:
    """Take this language from here on in this context; English where it has no catalogue.

    ``de``, ``de_AT`` and ``de-AT`` all find German. Dates, the decimal sign and the first day of
    the week go with the language; ``en_US`` begins weeks on Sunday.
    """
    code = (language or "").replace("-", "_")
    if code == "en":  # gettext would take it for American English
        code = ""
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


def plural(one: str, many: str, n: int, **more: object) -> str:
    """One of two messages by number, with ``{n}`` and what else is named filled in."""
    current = _translation.get()
    text = current.ngettext(one, many, n) if current else (one if n == 1 else many)
    return text.format(n=n, **more)


def minutes_text(minutes: float) -> str:
    """``1 minute``, ``26 minutes``."""
    return plural("{n} minute", "{n} minutes", round(minutes))


def long_time(minutes: float) -> str:
    """Minutes as whole hours from an hour and a half on; less as minutes."""
    if minutes < 90:
        return minutes_text(minutes)
    return plural("{n} hour", "{n} hours", round(minutes / 60))


def batches_text(count: int) -> str:
    """``1 batch``, ``82 batches``."""
    return plural("{n} batch", "{n} batches", count)


def N_(message: str) -> str:
    """Marks a message for translation without translating it yet."""
    return message


# Habits of a language that are no words: the translation changes what stands after the colon.
_DECIMAL = N_("decimal sign:.")
SHORT_DAY = N_("letters of a weekday in short:3")
_FIRST_DAY = N_("first day of the week, 1 Monday to 7 Sunday:1")


def habit(message: str) -> str:
    return _(message).rpartition(":")[2]


class Shown(float):
    """A number that is written with the decimal sign of the language in use."""

    def __format__(self, spec: str) -> str:
        return super().__format__(spec).replace(".", habit(_DECIMAL))


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
    return timedelta(days=(8 - int(habit(_FIRST_DAY))) % 7)


def on_the_table() -> str:
    """Heading of a week's produce, with its days where they are not those of the page."""
    return _("On the table") if weeks_begin_on_monday() else _("On the table, Monday to Sunday")

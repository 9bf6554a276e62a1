"""A day that is typed for an option."""

from __future__ import annotations

from datetime import date


def day_of(text: str, option: str) -> date:
    """The day that ``text`` says, as 2027-06-03.

    Raises
    ------
    BadInput
        It says none; ``option`` is named.
    """
    from scheduler.base.faults import BadInput, Fault

    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadInput([Fault(option, None, "", text, "a day as 2027-06-03")]) from None

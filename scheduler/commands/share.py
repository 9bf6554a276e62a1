"""A share on the command line, written ``5%`` or ``0.05``."""

from __future__ import annotations

from typing import Any

import click


class Share(click.ParamType):
    """A share of 0 to 1; a plain number above 1 is refused, since 5 could mean 5 or 500 %."""

    name = "share"

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        if isinstance(value, float):
            return value
        text = str(value).strip()
        percent = text.endswith("%")
        try:
            number = float(text.rstrip("% ")) / (100 if percent else 1)
        except ValueError:
            number = -1.0
        if not 0 <= number <= 1:
            self.fail(f"{text!r} is no share; expected one such as 5% or 0.05", param, ctx)
        return number

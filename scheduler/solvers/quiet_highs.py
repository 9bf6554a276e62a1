"""HiGHS without a word on the screen."""

from __future__ import annotations

import highspy


class QuietHighs(highspy.Highs):
    """A solver that prints nothing: some releases greet as soon as their callbacks are set up."""

    def enableCallbacks(self) -> None:  # the library's name
        self.setOptionValue("output_flag", False)
        super().enableCallbacks()  # type: ignore[no-untyped-call]

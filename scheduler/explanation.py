"""What holds a season back, as `explain` hands it to a notebook: short to see, two tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.garden.model import Garden
    from scheduler.plans.model import Plan
    from scheduler.shortfall.answer import Tried
    from scheduler.usecases import Explained

COLUMNS = ("change", "rule", "outcome", "gain_share", "gain_g", "sure_g", "most_g", "times")


@dataclass(frozen=True, repr=False)
class Explanation:
    """Which rule holds a season back, by how much, and which small change would help most.

    Grams are weighted by the garden's weights, shares are of all wishes.
    """

    _told: Explained

    @property
    def garden(self) -> Garden:
        """The garden as it is."""
        return self._told.found.garden

    @property
    def plan(self) -> Plan:
        """The best plan of the garden as it is that the search came upon."""
        return self._told.found.plan

    @property
    def met(self) -> float | None:
        """Share of all wishes that this plan meets [0..1], over years on average; None: no wish."""
        found = self._told.found
        return min(found.value / found.wish, 1.0) if found.wish else None

    @property
    def bound(self) -> float | None:
        """Share of all wishes that no plan of this garden exceeds [0..1].

        None if not known, as of years to come.
        """
        found = self._told.found
        return None if found.bound is None or not found.wish else min(found.bound / found.wish, 1.0)

    @property
    def against(self) -> dict[str, str]:
        """By crop that can be picked nowhere, what stands against it."""
        return dict(self._told.against)

    def rules(self) -> pd.DataFrame:
        """One row a rule dropped altogether: what that brings, the most first.

        Returns
        -------
        ``outcome`` says whether it ``helps`` for sure, is ``too close to call`` from what more
        searching brings, ``cannot help``, or was ``not tried``; ``gain_g`` was found and verified,
        ``sure_g`` of it no plan of the garden as it is can have, no plan brings more than
        ``most_g`` (none: not known) [weighted g]; ``times``: how often the plan found does what
        the garden as it is forbids. Of a season made for weather years ``gain_g`` is the mean of
        years that made no plan, ``sure_g`` what the mean over all such years exceeds (95 %, of all
        changes together), and both are 0 where it is too close to call.
        """
        return self._frame(self._told.found.rules)

    def steps(self) -> pd.DataFrame:
        """One row a small change (four more cells, a further work day); columns as in `rules`."""
        return self._frame(self._told.found.steps)

    def _frame(self, tried: Sequence[Tried]) -> pd.DataFrame:
        import pandas as pd

        rows = [
            (
                t.relaxation.text,
                t.relaxation.rule,
                t.outcome,
                t.gain / max(self._told.found.wish, 1.0),
                t.gain,
                t.sure,
                t.most,
                t.times,
            )
            for t in tried
        ]
        frame = pd.DataFrame(rows, columns=list(COLUMNS))
        return frame.astype({"most_g": float})

    def data(self) -> dict[str, Any]:
        """Everything, as ``dryline shortfall --json`` prints it."""
        return self._told.data()

    def __str__(self) -> str:
        """What ``dryline shortfall`` prints."""
        return "\n".join(self._told.lines())

    def __repr__(self) -> str:
        from scheduler.words.units import of_the_wish, share

        found = self._told.found
        if self.met is None:
            return f"<Explanation {found.garden.name}: nothing is wished>"
        from scheduler.schedule.assemble import by_weights

        worth = f"{share(self.met)} {of_the_wish(by_weights(found.garden))}"
        best = next((t for t in found.steps if t.gain > 0), None)
        most = "" if best is None else f"; {best.relaxation.text}: {share(best.gain / found.wish)}"
        return f"<Explanation {found.garden.name}: {worth}{most}>"

    def _repr_html_(self) -> str:
        """The answer as the command prints it."""
        return f"<pre>{escape(str(self))}</pre>"

"""A season's plan in a notebook: its tables, its check, its folder, how it is shown."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.base.faults import BadInput
from scheduler.commands.summary import summary
from scheduler.garden.model import Garden
from scheduler.parameters import fault
from scheduler.plans.folder import (
    LOG_FILE,
    holds_plan,
    read_plan,
    refuse_other_folders,
    write_plan_dir,
)
from scheduler.plans.model import Plan
from scheduler.usecases import PlannedAgain, files_again

if TYPE_CHECKING:
    import pandas as pd

    from scheduler.verify import Verdict

SHOWN = 20  # rows of the table that a notebook shows


@dataclass(frozen=True, repr=False)
class Season:
    """A season's plan with its garden, as `plan`, `replan` and `load` give it.

    Attributes
    ----------
    garden : what it was planned for.
    plan : the plan, as it stands in plan.json.
    changes : what a plan made again changes and why, a line each; empty for any other.
    """

    garden: Garden
    plan: Plan
    changes: tuple[str, ...] = ()
    _sources: dict[str, bytes] = field(default_factory=dict)
    _again: PlannedAgain | None = None
    _log: Path | None = None

    @property
    def met(self) -> float | None:
        """Share of all wishes that is met [0..1], by the garden's weights; None without a wish."""
        from scheduler.schedule.assemble import wish_met

        return wish_met(self.garden, self.plan)

    def batches(self) -> pd.DataFrame:
        """One row a batch: crop, place, plants, days, mass [g], fill [L]; see `Plan.to_frame`."""
        return self.plan.to_frame()

    def work(self) -> pd.DataFrame:
        """One row an item of work, in order; columns as in `work_to_frame`."""
        from scheduler.outputs.frames import work_to_frame

        return work_to_frame(self.garden, self.plan)

    def levels(self) -> pd.DataFrame:
        """One row a batch and day: what is left in its vessel [L] and how deep it stands [cm]."""
        from scheduler.outputs.frames import levels_to_frame

        return levels_to_frame(self.plan)

    def produce(self) -> pd.DataFrame:
        """One row a week and group: picked, served, wished and short [g]."""
        from scheduler.outputs.frames import produce_to_frame

        return produce_to_frame(self.garden, self.plan)

    def verify(self) -> Verdict:
        """Check every rule again; a plan that was loaded may have been changed by hand.

        Returns
        -------
        Its ``ok`` tells whether all rules hold, ``broken`` which do not and by how much.
        """
        from scheduler.verify import verify

        return verify(self.garden, self.plan)

    def save(self, folder: str | Path) -> Path:
        """Write the plan, its calendar and what it was made from, as ``dryline plan`` does.

        A log that it was planned again from, or that lay beside it, is copied too.

        Parameters
        ----------
        folder : new, empty, or that of an earlier plan, which is replaced; the plan then gets the
            number after that one's.

        Returns
        -------
        The folder, for `load`, `replan` and every command.

        Raises
        ------
        BadInput
            The folder holds something else, or a plan of which a log tells something; or the
            garden comes from no file.
        OSError
            It could not be written; the folder holds what it held before.
        """
        from scheduler.log.append import copy_log
        from scheduler.log.set_aside import next_number, refuse_logged
        from scheduler.outputs.files import season_files

        folder = Path(folder)
        self._refuse_without_file()
        refuse_other_folders(folder)
        if self._log is None or self._log.resolve() != (folder / LOG_FILE).resolve():
            refuse_logged(folder)
        plan, again = self.plan, self._again
        if folder.is_dir() and holds_plan(folder) and read_plan(folder) != plan:
            plan = replace(plan, number=max(plan.number, next_number(folder)))
        if again is None:
            made = season_files(self.garden, plan)
        else:
            again = replace(again, done=replace(again.done, plan=plan))
            made = files_again(self.garden, again, folder)
        if self._log is not None:  # first: a log that is ahead of its plan is fine
            copy_log(self._log, folder / LOG_FILE)
        write_plan_dir(folder, plan, self._sources, made)
        return folder

    def _refuse_without_file(self) -> None:
        """Raise BadInput for the season of a garden that comes from no file."""
        if not self._sources:
            raise BadInput(
                [
                    fault(
                        "season",
                        self,
                        "one of a garden.yaml: write what was changed into one, and plan that",
                    )
                ]
            )

    def __str__(self) -> str:
        """A dozen lines: what the plan is worth."""
        return "\n".join(summary(self.garden, self.plan))

    def __repr__(self) -> str:
        from scheduler.words.units import of_the_wish, share

        p = self.plan
        worth = ""
        if self.met is not None:
            from scheduler.schedule.assemble import by_weights

            worth = f", {share(self.met)} {of_the_wish(by_weights(self.garden))}"
        return (
            f"<Season {self.garden.name}: {len(p.batches)} batches from {p.start} to {p.end}"
            f"{worth}, {p.status}>"
        )

    def _repr_html_(self) -> str:
        """The plan as a table, a row a batch, in the garden's units; the first ones of many."""
        from scheduler.words.units import mass

        head = ("crop", "column", "tier", "plants", "sow", "transplant", "pick", "clear", "mass")
        rows = []
        for b in sorted(self.plan.batches, key=lambda b: (b.transplant, b.id))[:SHOWN]:
            picks = ", ".join(str(p.date) for p in b.picks)
            rows.append(
                (
                    b.crop,
                    b.column,
                    b.tier,
                    b.plants,
                    b.sow,
                    b.transplant,
                    picks,
                    b.clear,
                    mass(b.grams, self.garden.units),
                )
            )
        more = len(self.plan.batches) - len(rows)
        caption = repr(self)[len("<Season ") : -1]
        if self.garden.invented:
            caption += "; an invented garden"
        if more > 0:
            caption += f"; {more} more in batches()"
        body = "".join(f"<tr>{_cells('td', row)}</tr>" for row in rows)
        return (
            f"<table><caption>{escape(caption)}</caption><thead><tr>{_cells('th', head)}</tr>"
            f"</thead><tbody>{body}</tbody></table>"
        )


def _cells(kind: str, values: tuple[Any, ...]) -> str:
    return "".join(f"<{kind}>{escape(str(v))}</{kind}>" for v in values)

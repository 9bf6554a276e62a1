"""One run of the scale benchmark, in a process of its own: ``scale_bench`` starts and watches it.

    python tests/bench/scale_runs.py EVENTS GARDEN METHOD SECONDS SEED

Each step that is done is written to the file EVENTS as one line of JSON, so that what was measured
is known even if the run has to be ended. Seconds are wall seconds.
"""

from __future__ import annotations

import json
import resource
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from scheduler.schedule.stages import whole_weights

HERE = Path(__file__).parent
MOST_POINTS = 300  # of a track


@dataclass
class Run:
    """One run: where it writes, and what it was asked for."""

    events: Path
    garden: str
    seconds: float
    seed: int
    track: list[tuple[float, float | None, float | None]] = field(default_factory=list)
    left: float | None = None  # when its first stage was over

    def tell(self, step: str, **figures: Any) -> None:
        """Write one line."""
        figures["memory"] = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
        with open(self.events, "a", encoding="utf-8") as handle:
            handle.write(json.dumps({"step": step, **figures}) + "\n")

    def load(self) -> Any:
        """The garden; tells its sizes."""
        from scheduler.garden.file import load_garden
        from scheduler.garden.kinds import tier_kinds
        from scheduler.schedule.assemble import wish_total

        began = time.monotonic()
        garden = load_garden(HERE / "gardens" / f"{self.garden}.yaml")
        took = time.monotonic() - began
        self.tell(
            "loaded",
            load=round(took, 2),
            tiers=sum(len(c.tiers) for c in garden.columns),
            columns=len(garden.columns),
            column_kinds=len({c.tiers for c in garden.columns}),
            tier_kinds=len(tier_kinds(garden)),
            wish=wish_total(garden),
        )
        return garden

    def candidates(self, garden: Any) -> Any:
        """Its candidates."""
        from scheduler.batches.candidates import build

        began = time.monotonic()
        cand, _ = build(garden)
        self.tell("candidates", candidates=len(cand), build=round(time.monotonic() - began, 2))
        return cand

    def check(self, garden: Any, plan: Any) -> None:
        """Verify a plan; a broken one ends the run."""
        from scheduler.verify import verify

        began = time.monotonic()
        verdict = verify(garden, plan)
        self.tell("verified", verify=round(time.monotonic() - began, 2), batches=len(plan.batches))
        if not verdict.ok:
            raise SystemExit(f"the plan breaks a rule: {verdict.broken[0].message}")

    def listen(self, began: float) -> Callable[[Any], None]:
        """Notes the progress of the first stage, and when it was left."""

        def report(p: Any) -> None:
            now = time.monotonic() - began
            if p.stage in ("first plan", "produce"):
                self.note(p.best, p.bound, now)
            elif self.left is None:
                self.left = now

        return report

    def done(self, garden: Any, plan: Any, took: float, **more: Any) -> None:
        """Verify what was listened to, and tell of it."""
        self.check(garden, plan)
        stage = plan.stages[0]
        self.note(stage.value, stage.bound, took if self.left is None else self.left)
        self.tell(
            "done",
            seconds=round(took, 2),
            value=stage.value,
            bound=stage.bound,
            proven=stage.status == "proven",
            **more,
            stages=[[s.name, s.status, s.value, s.bound] for s in plan.stages],
        )

    def note(self, best: float | None, bound: float | None, at: float) -> None:
        """A point of the track, and at once into the file: a run may be ended."""
        self.track.append((round(at, 2), best, bound))
        self.tell("point", at=self.track[-1])


def dryline(run: Run, way: str = "") -> None:
    """Our own search: first a call that ends with the first plan, then the whole of it.

    ``way`` holds it to windows tier by tier ("tiers") or to whole columns ("columns").
    """
    from scheduler.search import solve as module
    from scheduler.search.solve import solve
    from scheduler.solvers.cp_sat import Settings

    if way:
        module.LARGE = {"tiers": 1 << 60, "columns": 0}[way]
        module.AREA = module.LARGE
        module.HUGE = 0 if way == "columns" else module.HUGE

    garden = run.load()
    run.candidates(garden)
    began = time.monotonic()
    quick = solve(garden, Settings(time_limit=0.1, seed=run.seed)).plan
    run.check(garden, quick)
    run.tell("first", first=round(time.monotonic() - began, 2), first_value=quick.stages[0].value)
    del quick
    began = time.monotonic()
    # Of the limit the first stage gets three quarters, as in a call from the command line.
    plan = solve(
        garden,
        Settings(time_limit=run.seconds, gap=0.0, seed=run.seed, workers=2),
        run.listen(began),
    ).plan
    run.done(garden, plan, time.monotonic() - began, by_hand=plan.by_hand.get("produce"))


def assigned(run: Run) -> None:
    """Pooled tiers first, their batches assigned to columns, what is lost repaired."""
    from scheduler.solvers.cp_sat import Settings
    from tests.bench.pool_assign import plan_pooled

    garden = run.load()
    cand = run.candidates(garden)
    began = time.monotonic()
    settings = Settings(time_limit=run.seconds, gap=0.0, seed=run.seed, workers=2)
    got = plan_pooled(garden, cand, settings, run.listen(began))
    run.done(
        garden,
        got.plan,
        time.monotonic() - began,
        words=f"pooled {got.pooled:,.0f} g with {got.over:,} lifts over the limit; assigned "
        f"{got.kept:,.0f} g with none",
    )


def by_hand(run: Run) -> None:
    """The two schedules by rules of thumb; the value is the better one's."""
    from scheduler.schedule.problem import pooled
    from scheduler.search.by_hand import ByHand
    from scheduler.search.solve import make_plan
    from scheduler.solvers.cp_sat import Settings

    garden = run.load()
    cand = run.candidates(garden)
    began = time.monotonic()
    plans = []
    for forward in (False, True):
        hand = ByHand(pooled(cand), forward)
        hand.run()
        plans.append(make_plan(garden, cand, hand.stands, Settings()))
    plan = max(plans, key=lambda p: p.stages[0].value)
    took = time.monotonic() - began
    run.check(garden, plan)
    value = plan.stages[0].value
    run.note(value, None, took)
    run.tell(
        "done",
        seconds=round(took, 2),
        value=value,
        bound=None,
        proven=False,
        by_hand=value,
        stages=[[s.name, s.status, s.value, s.bound] for s in plan.stages],
    )


def other(run: Run, name: str) -> None:
    """The same model by another solver: tier by tier, stack access on, the first stage.

    The clock of its track starts when it is handed the rows: building them is told apart.
    """
    from scheduler.model.build import build_model, read_choices, stands
    from scheduler.model.linear import rows
    from scheduler.schedule.problem import by_tier
    from scheduler.search.layouts import access_matters
    from scheduler.search.solve import make_plan
    from scheduler.solvers.cp_sat import Settings
    from tests.bench import other_solvers

    garden = run.load()
    cand = run.candidates(garden)
    began = time.monotonic()
    problem = by_tier(cand)
    built = build_model(problem, access_matters(cand))
    built.model.maximize(built.produce.value())
    matrix = rows(built.model)
    run.tell(
        "model",
        model=round(time.monotonic() - began, 2),
        decisions=len(problem),
        rows=matrix.matrix.shape[0],
        variables=matrix.matrix.shape[1],
    )
    scale, _ = whole_weights(problem.supply.weights)
    got = {"highs": other_solvers.highs, "scip": other_solvers.scip}[name](matrix, run.seconds)

    def unscaled(x: float | None) -> float | None:
        return None if x is None or not abs(x) < 1e18 else x / scale

    track = [(t, unscaled(v), unscaled(b)) for t, v, b in got.track]
    step = -(-len(track) // MOST_POINTS) or 1
    for t, v, b in [*track[:-1:step], *track[-1:]]:
        run.note(v, b, t)
    value = None
    if got.values is not None:
        taken = got.values.round().astype(int)
        assert matrix.holds(taken), "a row of the model is broken"
        plan = make_plan(
            garden, cand, stands(problem, read_choices(built, taken.tolist())), Settings()
        )
        run.check(garden, plan)
        value = plan.stages[0].value
    run.tell(
        "done",
        seconds=round(got.seconds, 2),
        value=value,
        bound=unscaled(got.bound),
        proven=got.proven,
        words=got.words,
    )


def main(events: str, garden: str, method: str, seconds: str, seed: str) -> None:
    """Do one run."""
    run = Run(Path(events), garden, float(seconds), int(seed))
    if method in ("dryline", "tiers", "columns"):
        dryline(run, "" if method == "dryline" else method)
    elif method == "assigned":
        assigned(run)
    elif method == "by-hand":
        by_hand(run)
    else:
        other(run, method)


if __name__ == "__main__":
    sys.path.insert(0, str(HERE.parents[1]))
    main(*sys.argv[1:])

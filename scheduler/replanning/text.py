"""A re-plan as text to read and as data for programs."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scheduler.base.weeks import week_of
from scheduler.plans.restrictions import MORE, among, that_bind
from scheduler.replanning.diff import lines
from scheduler.replanning.rebalance import Rebalanced
from scheduler.replanning.staying import staying
from scheduler.words.language import _
from scheduler.words.units import share
from scheduler.words.words import plan_mark, wrap

if TYPE_CHECKING:
    from scheduler.usecases import PlannedAgain

WIDTH = 79


def report_lines(done: Rebalanced, units: str) -> list[str]:
    """What happened, what must be decided, what changes: lines of at most 79 characters."""
    mark = plan_mark(done.plan)
    out = [mark, ""] if mark else []
    for remark in done.remarks:
        out += wrap(remark, WIDTH, "* ", "  ")
    if not done.searched:
        out.append(_("Everything can go on as planned."))
    if done.stay:
        for text in staying(done):
            out += wrap(text, WIDTH)
    produce = done.plan.stages[0]
    out += ["", *lines(done.diff, week_of(done.state.on), units)]
    if done.searched and produce.bound is not None and produce.value > 0 and done.diff.met:
        most = share(done.diff.met[1] * produce.bound / produce.value, up=True)
        text = _("No way to go on from {on} can meet more than {most}: proven").format(
            on=done.state.on, most=most
        )
        if produce.status == "best_found":
            text += _("; this gap may be the bound's, not the plan's")
        about = among(that_bind(done.commitments.garden, True, done.plan.risk is not None))
        text += _(". That is {about}; {more}").format(about=about, more=_(MORE))
        out += wrap(text, WIDTH)
    return out


def outcome(again: PlannedAgain, target: Path) -> dict[str, Any]:
    """The outcome for machines."""
    done = again.done
    looks = done.commitments.outlooks.values()
    body = {
        "folder": str(target),
        "on": done.state.on.isoformat(),
        "status": done.plan.status,
        "searched": done.searched,
        "stay": done.stay,
        "assumed": done.state.assumed,
        "stages": [asdict(s) for s in done.plan.stages],
        "remarks": list(done.remarks),
        "demand": [
            {
                "id": name,
                "factor": a.factor,
                "low": a.low,
                "high": a.high,
                "readings": len(a.used),
                "refused": [
                    {"line": r.line, "date": r.date.isoformat(), "why": why} for r, why in a.refused
                ],
            }
            for name, a in done.commitments.anchors.items()
        ],
        "urgent": [
            {
                "id": k.batch.id,
                "dry": k.dry.isoformat() if k.dry else None,
                "ready": k.first.isoformat() if k.first else None,
                "choices": [
                    {"what": c.what, "date": c.date.isoformat(), "grams": c.grams}
                    for c in k.choices
                ],
            }
            for k in looks
            if k.urgent
        ],
        **done.diff.as_dict(),
    }
    if again.limit is not None:
        body["risk"] = again.limit.data()
    return body

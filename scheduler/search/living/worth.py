"""What one more pick is worth, in every year: the identity that guides the search.

Within a group and a year sharing out what is picked is a flow. So one more lot of x grams that can
be eaten in weeks f to l brings exactly min(x, A[f, l]) more to the table, where A is what a lot
without end would bring: it serves these weeks alone, and what they would have eaten is there for
later ones.
"""

from __future__ import annotations

import numpy as np

from scheduler.base.compiled import compiled


@compiled
def extra(wish: np.ndarray, lots: np.ndarray, out: np.ndarray) -> None:
    """A of one group and year.

    Parameters
    ----------
    wish : [g] by week; lots : [g] by first week and how many weeks after that [weeks, lengths].
    out : A, alike; written.
    """
    weeks, lengths = lots.shape
    # What is in stock on the morning of each week, its own lots included, by weeks it still keeps.
    stock = np.zeros((weeks + 1, lengths))
    lacking = np.zeros(weeks)
    for w in range(weeks):
        for k in range(lengths):
            stock[w, k] += lots[w, k]
        need = wish[w]
        for k in range(lengths):
            eaten = min(need, stock[w, k])
            need -= eaten
            if k > 0:
                stock[w + 1, k - 1] = stock[w, k] - eaten
        lacking[w] = need
    kept, after = np.zeros(lengths), np.zeros(lengths)
    for f in range(weeks):
        for k in range(lengths):
            kept[k] = stock[f, k]
        brought = 0.0
        for n in range(lengths):
            last = f + n
            if last >= weeks:
                out[f, n] = brought
                continue
            # In week ``last`` nothing else is eaten: all that keeps is there a week later.
            brought += lacking[last]
            for k in range(lengths):
                kept[k] = kept[k + 1] if k + 1 < lengths else 0.0
                if last + 1 < weeks:
                    kept[k] += lots[last + 1, k]
                after[k] = kept[k]
            out[f, n] = brought
            for w in range(last + 1, weeks):
                alike = True
                for k in range(lengths):
                    if after[k] > stock[w, k] + 1e-9:
                        alike = False
                        break
                if alike:
                    break
                need = wish[w]
                for k in range(lengths):
                    eaten = min(need, after[k])
                    need -= eaten
                    after[k] -= eaten
                out[f, n] += lacking[w] - need
                for k in range(lengths):
                    after[k] = after[k + 1] if k + 1 < lengths else 0.0
                    if w + 1 < weeks:
                        after[k] += lots[w + 1, k]

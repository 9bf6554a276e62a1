# %% [markdown]
# # A season on the balcony
#
# Everything here is invented: the town, its climate, the wishes. Open the file in an editor that
# knows `# %%` cells and run them one by one; as a script it does the same. It writes its folders
# where it is run.

# %%
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

from scheduler import explain, load, plan, replan

HERE = Path(__file__).parent
SECONDS = 3  # for each search; give it 30 on your own garden

# %% Plan, and see what a usual year and a bad one bring.
season = plan(HERE / "garden.yaml", time_limit=SECONDS)
print(season)

# %% The batches, one a row, in the order of their sowing.
batches = season.batches().sort_values("sow")
print(batches[["crop", "column", "tier", "sow", "transplant", "clear", "grams"]].to_string())

# %% The day with the most work, and what it is.
work = season.work()
busiest = work["date"].value_counts().idxmax()
print(work[work["date"] == busiest][["date", "kind", "column", "tier", "crop", "mass_g"]])

# %% How deep the solution of the first batch stands, week by week.
levels = season.levels()
first = levels[levels["batch"] == batches["id"].iloc[0]]
print(first[["date", "solution_l", "depth_cm"]].iloc[::7].to_string(index=False))

# %% Which weeks stay short of a wish?
produce = season.produce()
print(produce[produce["short_g"] > 0].to_string(index=False))

# %% What holds the plan back, and would twice the nursery help? Both are searched for, not guessed.
why = explain(season, time_limit=SECONDS)
print(why)
nursery = replace(season.garden.nursery, cells=2 * season.garden.nursery.cells)
more = plan(replace(season.garden, nursery=nursery), time_limit=SECONDS)
print(f"Met with the nursery as it is {season.met:.0%}, with twice the cells {more.met:.0%}.")

# %% Keep it. Every command works on the folder: `dryline calendar season`, for one.
folder = season.save("season")
assert load(folder).plan.batches == season.plan.batches

# %% A week after its first filling the lowest tier in use cracks. What now?
lost = max(season.plan.batches, key=lambda b: b.tier)
day = lost.transplant + timedelta(days=7)
log = Path("log.csv")
log.write_text(
    "date,what,column,tier,crop,amount,unit,note\n"
    f"{day},failed,{lost.column},{lost.tier},,,,cracked\n"
)
later = replan(season, log, on=day, time_limit=SECONDS)
print("\n".join(later.changes))

# %% No rule is broken, before and after.
assert season.verify().ok
assert later.verify().ok

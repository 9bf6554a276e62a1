"""Large gardens: what one column does all season is chosen as a whole, by column generation.

A *sequence* is all batches of one column with the days its tiers are cleared; it keeps every rule
that holds within a column, stack access among them. A linear program (`master`) says how many
columns of each kind follow which sequence, within the nursery, the day's fills and picks and the
wishes. Its prices tell what a batch is worth on each day; `pricing` looks for sequences that
are worth more than those already there. `search` makes the answer whole, a few columns at a time.

The same prices give a bound that holds for every plan, without stack access (`bound`).
"""

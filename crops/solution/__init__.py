"""The nutrient solution: what to weigh, how strong it is, what the crop leaves of it.

`formula` and `salts` say what a fertilizer holds, `conductivity` how a mix conducts, `acid` what
alkalinity asks for, `recipe` how much of each salt, `balance` what becomes of it in the tier,
`cautions` what goes with every recipe.

Compositions are plain mappings from the names in `salts.ELEMENTS` to numbers: mass shares [g/g] of
a fertilizer, [mg/L] in a solution.
"""

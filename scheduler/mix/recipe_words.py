"""What `crops` says of a recipe, in the language in use: crops knows nothing of languages."""

from __future__ import annotations

import re
from functools import lru_cache

from scheduler.words.language import N_, _

# As `crops.solution` writes them; `test_recipe_words` holds every recipe's texts to this list.
SENTENCES = (
    N_("Fill three quarters of the water into a clean vessel that stands where it will stay."),
    N_("Stir in the {name} acid."),
    N_("Pour in, slowly and stirring, the {name} acid."),
    N_("Dissolve {name}; stir until nothing is left to see."),
    N_("Dissolve {name} last, when all else is clear; stir until nothing is left to see."),
    N_("Fill up to the full volume, stir, wait half an hour, then measure EC and pH."),
    N_("As weighed the EC is {value} mS/cm, exact {exact}."),
    N_("Rounding to the scale's steps moves {list}: mix more at once, or weigh finer."),
    N_("No acid: the {left} mg/L of alkalinity keep it at about pH {ph}, until the crop moves it."),
    N_(
        "The acid sets carbonic acid free, which leaves within days; then it stands at about pH "
        "{ph}, until the crop moves it."
    ),
)


def recipe_text(text: str) -> str:
    """A sentence of a recipe; English where it is not among `SENTENCES`."""
    if (said := _(text)) != text:
        return said
    for sentence, pattern in _patterns():
        if found := pattern.fullmatch(text):
            parts = {k: _(v) if k == "name" else v for k, v in found.groupdict().items()}
            if "name" in parts and "acid" in sentence:
                parts["name"] = _(f"{found['name']} acid").removesuffix(" acid")
            return _(sentence).format(**parts)
    return text


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    out = []
    for sentence in SENTENCES:
        pieces = re.split(r"\{(\w+)\}", sentence)
        text = "".join(
            re.escape(piece) if n % 2 == 0 else f"(?P<{piece}>.+?)"
            for n, piece in enumerate(pieces)
        )
        out.append((sentence, re.compile(text)))
    # The longer first: "Dissolve ... last" also fits "Dissolve ...".
    return tuple(sorted(out, key=lambda pair: -len(pair[0])))

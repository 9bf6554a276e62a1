"""What `crops` says of a recipe, in the language in use: crops knows nothing of languages."""

from __future__ import annotations

import re
from functools import lru_cache

from scheduler.words.language import N_, _, habit

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
    N_(
        "The acid sets carbonic acid free, which leaves within days; then it stands at about pH "
        "{ph}, until the crop moves it. Microbes eat the {name} acid, for which they take about "
        "{oxygen} mg/L of oxygen in all, and the water holds {there} at a time; after that about "
        "pH {after}."
    ),
    N_(
        "{name} acid is held to {most} meq/L, for the roots' sake: {left} mg/L of alkalinity stay. "
        "Mix the water with rain water, or let someone trained take {acids} acid, the best for "
        "hands and roots together."
    ),
    N_("Much {name}: {value} mg/L, usual is up to {most}."),
    N_("Much ammonium: {value} mg/L of nitrogen, usual is up to {most}."),
    N_(
        "{value} mg/L of nitrogen are urea, of which roots get little until microbes have turned "
        "it to ammonia."
    ),
    N_("Short of {short}."),
    N_(
        "No label names {names}: a crop starves without. Look at the bag, and put what it says "
        "into the garden."
    ),
    N_(
        "Make each concentrate in a bottle of its own, marked A or B: dissolve its salts one after "
        "the other in three quarters of its water, warm, then fill up. Never pour A and B "
        "together."
    ),
    N_("To fill, put the water into the vessel first."),
    N_("Stir in the {name} acid, slowly."),
    N_("Stir in A, wait until it is spread, then stir in B."),
    N_("Wait half an hour, then measure EC and pH."),
)
_SHORT = N_("{name} ({have} mg/L, {least} or more is usual)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def recipe_text(text: str) -> str:
    """A sentence of a recipe; English where it is not among `SENTENCES`."""
    if (said := _(text)) != text:
        return said
    for sentence, pattern in _patterns():
        if found := pattern.fullmatch(text):
            parts = {k: _part(k, v) for k, v in found.groupdict().items()}
            if "name" in parts and "acid" in sentence:
                parts["name"] = _acid(found["name"])
            return _(sentence).format(**parts)
    return text


def _part(key: str, said: str) -> str:
    """What stands in a place of a sentence: names and numbers as the language has them."""
    if key == "acids":
        return _(" or ").join(map(_acid, said.split(" or ")))
    if key == "short":
        each = (_pattern(_SHORT).fullmatch(one) for one in re.split(r"(?<=\)), ", said))
        return ", ".join(
            _(_SHORT).format(**{k: _part(k, v) for k, v in m.groupdict().items()})
            for m in each
            if m is not None
        )
    if key in ("name", "names"):
        return ", ".join(map(_, said.split(", ")))
    return said.replace(".", habit("decimal sign:.")) if _NUMBER.fullmatch(said) else said


def _acid(name: str) -> str:
    """An acid by its name without that word; its first letter stays as large as it is."""
    said = _(f"{name[:1].lower()}{name[1:]} acid").removesuffix(" acid")
    return said[:1].upper() + said[1:] if name[:1].isupper() else said


@lru_cache(maxsize=1)
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    out = [(sentence, _pattern(sentence)) for sentence in SENTENCES]
    # The longer first: "Dissolve ... last" also fits "Dissolve ...".
    return tuple(sorted(out, key=lambda pair: -len(pair[0])))


@lru_cache
def _pattern(sentence: str) -> re.Pattern[str]:
    pieces = re.split(r"\{(\w+)\}", sentence)
    return re.compile(
        "".join(
            re.escape(piece) if n % 2 == 0 else f"(?P<{piece}>.+?)"
            for n, piece in enumerate(pieces)
        )
    )

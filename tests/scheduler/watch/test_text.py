"""What is said of a tier: on paper the same in both languages, in the units of the garden."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import verify_case as case

from scheduler.watch.explain import MISREAD, RAINED, RIGHT
from scheduler.watch.judge import ALARM, CALM, CLOSE, DRY, Watched
from scheduler.watch.text import around, as_data, said
from scheduler.words.words import Units, use_language

GARDEN = case.garden()
MAY = date(2027, 5, 19)
TIER = Watched(
    batch="b1",
    crop="lettuce",
    column="A",
    tier=2,
    on=date(2027, 5, 10),
    verdict=ALARM,
    chance=0.8,
    dry=MAY,
    dry_from=date(2027, 5, 17),
    dry_to=date(2027, 5, 22),
    ready=date(2027, 5, 21),
    ripe=False,
    last=date(2027, 5, 24),
    pick=date(2027, 5, 16),
    grams=372,
    heads=4,
    thirst=(1.3, 0.1),
    readings=(date(2027, 5, 10),),
    left_out=(),
    told=0.2,
    litres=4.0,
)
METRIC, US = Units("metric"), Units("us")


@pytest.fixture(autouse=True)
def english_again():
    yield
    use_language(None)


@pytest.mark.parametrize(
    ("changes", "english", "german"),
    [
        (
            {},
            "A 2 will be dry about 19 May (17 to 22), ready 21 May: pick on 16 May (about 93 g a head), or shade it.",
            "A 2 wird trocken etwa 19. Mai (17. bis 22.), reif am 21. Mai: am 16. Mai ernten (etwa 93 g je Kopf), oder schattieren.",
        ),
        (
            {"ripe": True, "pick": date(2027, 5, 10), "dry_to": None},
            "A 2 will be dry about 19 May (from 17 May on) and is ripe: pick today (about 93 g a head).",
            "A 2 wird trocken etwa 19. Mai (ab 17. Mai) und ist reif: heute ernten (etwa 93 g je Kopf).",
        ),
        (
            {"ready": None, "dry_to": date(2027, 6, 2), "crop": "chard"},
            "A 2 will be dry about 19 May (between 17 May and 2 June), not ready by then: pick on 16 May (about 372 g), or shade it.",
            "A 2 wird trocken etwa 19. Mai (zwischen 17. Mai und 2. Juni), bis dahin nicht reif: am 16. Mai ernten (etwa 372 g), oder schattieren.",
        ),
        (
            {"dry": None, "dry_to": None},
            "A 2 may be dry before its last pick on 24 May, ready 21 May: pick on 16 May (about 93 g a head), or shade it.",
            "A 2 ist vielleicht vor der letzten Ernte am 24. Mai trocken, reif am 21. Mai: am 16. Mai ernten (etwa 93 g je Kopf), oder schattieren.",
        ),
        (
            {"verdict": DRY, "pick": date(2027, 5, 10)},
            "A 2 is dry: pick today (about 93 g a head), or give it up.",
            "A 2 ist trocken: heute ernten (etwa 93 g je Kopf), oder aufgeben.",
        ),
        (
            {"verdict": CLOSE},
            "A 2 is close: dry about 19 May (17 to 22), last pick 24 May. Measure it every other day.",
            "In A 2 wird es knapp: trocken etwa 19. Mai (17. bis 22.), letzte Ernte 24. Mai. Jeden zweiten Tag messen.",
        ),
        (
            {"verdict": CALM, "last": date(2027, 5, 12)},
            "A 2 has enough: dry about 19 May (17 to 22), last pick 12 May.",
            "A 2 hat genug: trocken etwa 19. Mai (17. bis 22.), letzte Ernte 12. Mai.",
        ),
        (
            {
                "verdict": CALM,
                "dry": None,
                "readings": (date(2027, 5, 9),),
                "left_out": (date(2027, 5, 10),),
                "odds": ((MISREAD, 0.7), (RAINED, 0.29), (RIGHT, 0.01)),
            },
            "A 2 has enough until its last pick on 24 May. The level of 10 May does not fit: misread (70 %), or rain got in (29 %). Measure again.",
            "A 2 hat genug bis zur letzten Ernte am 24. Mai. Der Pegel vom 10. Mai passt nicht: verlesen (70 %), oder Regen kam hinein (29 %). Noch einmal messen.",
        ),
    ],
)
def test_what_is_said(changes, english, german):
    tier = replace(TIER, **changes)
    assert said(GARDEN, tier, METRIC) == english
    use_language("de")
    assert said(GARDEN, tier, METRIC) == german


def test_in_ounces():
    assert "(about 3.3 oz a head)" in said(GARDEN, TIER, US)  # 93 g / 28.35


def test_one_day_alone_needs_no_interval():
    assert around(replace(TIER, dry_from=MAY, dry_to=MAY)) == "19 May"


def test_for_machines():
    data = as_data(TIER)
    assert (data["dry"], data["verdict"], data["readings"]) == (
        "2027-05-19",
        "alarm",
        ["2027-05-10"],
    )
    assert data["thirst"] == [1.3, 0.1]

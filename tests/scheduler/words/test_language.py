"""Languages: nothing untranslated, no placeholder lost, dates and weeks as the locale has them."""

from __future__ import annotations

import ast
import io
import re
import string
from datetime import date, timedelta

import calendar_case
import messages
import pytest
from click.testing import CliRunner
from not_empty import some

from scheduler.base.faults import DrylineError
from scheduler.outputs import html, ics, text
from scheduler.outputs.work import work_items
from scheduler.words import words
from scheduler.words.words import Units

mofile = pytest.importorskip("babel.messages.mofile")
pofile = pytest.importorskip("babel.messages.pofile")
babel = pytest.importorskip("babel")
dates = pytest.importorskip("babel.dates")

METRIC = Units("metric")
FOUND = messages.found()
HABIT = "ends in a habit: "


@pytest.fixture(autouse=True)
def english_again():
    yield
    words.use_language(None)


def catalogue(language):
    with (messages.LOCALE / language / "LC_MESSAGES" / "dryline.po").open("rb") as handle:
        return pofile.read_po(handle)


def german():
    return catalogue("de")


def test_messages_are_found():
    # A few known to be there, one of each kind: python, two-form, template, data.
    for known in (
        ("Shopping list",),
        ("{n} seed", "{n} seeds"),
        ("Week by week",),
        ("kale",),
        ("Plan again",),
    ):
        assert known in FOUND
    assert len(FOUND) > 300


def test_the_extractor_sees_what_it_should():
    source = 'x = _("one") + N_("two") + plural("a {n}", "b {n}", n) + _(name) + other("three")'
    assert {m for _, m in messages.in_python(source)} == {("one",), ("two",), ("a {n}", "b {n}")}
    page = '{{ _("one") }}{% if x %}{{ plural("a", "b", 2) }}{% endif %}<p title="{{ _("two") }}">'
    assert {m for _, m in messages.in_template(page)} == {("one",), ("two",), ("a", "b")}


def test_german_is_complete():
    known = german()
    lacking = []
    for message, where in FOUND.items():
        entry = known.get(message[0])
        made = (
            ()
            if entry is None
            else (entry.string if isinstance(entry.string, tuple) else (entry.string,))
        )
        if not made or not all(made) or entry.fuzzy or len(made) != len(message):
            lacking.append((where, message))
    assert lacking == []


@pytest.mark.parametrize("language", ["de", "en_US"])
def test_no_message_is_left_over(language):
    known = {m[0] for m in FOUND}
    ids = {m.id[0] if isinstance(m.id, tuple) else m.id for m in catalogue(language) if m.id}
    assert ids - known == set()


# Nearly all is said in another way in German; US English differs in a few words.
LEAST = {"de": 400, "en_US": 1}


def fields(message):
    return sorted(
        (name, spec, kind)
        for _, name, spec, kind in string.Formatter().parse(message)
        if name is not None
    )


@pytest.mark.parametrize("language", ["de", "en_US"])
def test_placeholders_match(language):
    for entry in some((e for e in catalogue(language) if e.id), LEAST[language]):
        ids = entry.id if isinstance(entry.id, tuple) else (entry.id,)
        made = entry.string if isinstance(entry.string, tuple) else (entry.string,)
        for one, other in zip(ids, made, strict=True):
            assert fields(one) == fields(other), one


def forms(text):
    """A message's text, or its singular and plural, as a tuple."""
    return (text,) if isinstance(text, str) else tuple(text)


def said(catalogue):
    """What a catalogue says: each message with its translation, all forms; not its header."""
    return {forms(m.id): forms(m.string) for m in catalogue if m.id and any(forms(m.string))}


@pytest.mark.parametrize("language", ["de", "en_US"])
def test_what_ships_is_what_is_written(language):
    # What they say, not their bytes: those carry the version of the library that wrote them.
    with (messages.LOCALE / language / "LC_MESSAGES" / "dryline.mo").open("rb") as handle:
        ships = said(mofile.read_mo(handle))
    written = said(catalogue(language))
    assert written
    assert ships == written, "run python tests/scheduler/messages.py"


def test_only_what_a_catalogue_says_counts(tmp_path):
    """One word changed is noticed; another version of the library that wrote it is not."""
    po = messages.LOCALE / "de" / "LC_MESSAGES" / "dryline.po"
    made = messages.compiled(po)
    head = re.search(rb"Babel [\d.]+", made)[0]
    other = made.replace(head, b"Babel " + b"9" * (len(head) - 6))  # of the same length
    assert other != made
    assert said(mofile.read_mo(io.BytesIO(other))) == said(catalogue("de"))
    changed = tmp_path / "dryline.po"
    text = po.read_text("utf-8")
    assert text.count('msgstr "Einkaufsliste"') == 1
    changed.write_text(text.replace('msgstr "Einkaufsliste"', 'msgstr "Zettel"'), "utf-8")
    new = messages.compiled(changed)
    assert said(mofile.read_mo(io.BytesIO(new))) != said(catalogue("de"))


def test_ends_and_beginnings_are_kept():
    """Fragments are put together: blanks and leading punctuation must not get lost."""
    for entry in some((e for e in german() if e.id), LEAST["de"]):
        if isinstance(entry.id, str):
            for edge in (slice(0, 1), slice(-1, None)):
                a, b = entry.id[edge], entry.string[edge]
                if a in " ;,:." or b in " ;,:.":
                    if edge.start == -1 and ":" in entry.id[:-1] and a.isdigit():
                        continue
                    if a in ".," and b in ".," and "sign" in entry.id:
                        continue  # the decimal sign itself
                    assert a == b, entry.id


def test_no_text_is_written_past_the_catalogue():
    """Words in quotes that reach the paper or the page must go through ``_``.

    Texts drawn on paper are what ``sheet.text`` and ``new_page`` are given; none may be a bare
    text with a word of three letters in it.
    """
    bare = []
    for file in sorted((messages.SCHEDULER / "outputs" / "paper").glob("*.py")):
        for node in ast.walk(ast.parse(file.read_text())):
            if isinstance(node, ast.Call) and getattr(node.func, "attr", "") in (
                "text",
                "new_page",
            ):
                texts = [
                    *node.args,
                    *(v for a in node.args if isinstance(a, ast.JoinedStr) for v in a.values),
                ]
                bare += [
                    (file.name, t.value)
                    for t in texts
                    if isinstance(t, ast.Constant)
                    and isinstance(t.value, str)
                    and re.search(r"[A-Za-z]{3}", t.value)
                    and t.value not in ("right", "middle", "left")
                ]
    assert bare == []


def test_templates_hold_no_bare_words():
    """What stands between tags in a template is a placeholder, or the same in every language."""
    bare = []
    for file in sorted(messages.SCHEDULER.glob("*/templates/*.html")):
        source = re.sub(r"{#.*?#}|{%.*?%}|{{.*?}}", "", file.read_text(), flags=re.DOTALL)
        source = re.sub(r"<(style|script)\b.*?</\1>", "", source, flags=re.DOTALL)
        source = re.sub(r"<[^>]*>", " ", source)
        source = re.sub(r"&\w+;", " ", source)
        bare += [(file.name, w) for w in re.findall(r"[A-Za-z]{3,}", source)]
    assert bare == []


# Dates, numbers and weeks, against the Unicode Common Locale Data Repository as Babel ships it.

DAYS = [date(2027, 1, 1), date(2027, 3, 9), date(2028, 2, 29), date(2027, 10, 31)]


@pytest.mark.parametrize("day", DAYS)
@pytest.mark.parametrize("language", ["de", "en_US"])
def test_dates_are_written_as_the_locale_writes_them(language, day):
    words.use_language(language)
    assert words.long_date(day) == dates.format_date(day, "full", language)
    assert words.dated(day) == dates.format_date(day, "long", language)
    assert words.short_date(day) == dates.format_skeleton("MMMMd", day, locale=language)


def test_british_dates_need_no_catalogue():
    # en_GB without the comma that CLDR has had after the weekday in some releases.
    for day in DAYS:
        assert words.dated(day) == dates.format_date(day, "long", "en_GB")
        assert words.long_date(day) == dates.format_date(day, "full", "en_GB").replace(",", "")


@pytest.mark.parametrize("language", ["de", "en_US", "en_GB"])
def test_weeks_begin_as_the_locale_begins_them(language):
    words.use_language(language)
    day = date(2027, 6, 16)
    first = words.sheet_start(words.sheet_week(day))
    territory = language if language != "de" else "de_DE"
    assert first.weekday() == babel.Locale.parse(territory).first_week_day
    for n in range(-20, 20):
        one = day + timedelta(days=n)
        start = words.sheet_start(words.sheet_week(one))
        assert start <= one < start + timedelta(days=7)


@pytest.mark.parametrize("language", ["de", "en_US"])
def test_decimal_sign(language):
    words.use_language(language)
    assert f"{words.Shown(12.5):.1f}" == babel.numbers.format_decimal(12.5, locale=language)
    assert METRIC.depth_text(12.5).removesuffix(" cm") == f"{words.Shown(12.5):.1f}"


@pytest.mark.parametrize(
    ("first", "last", "de", "us"),
    [
        (date(2027, 4, 12), date(2027, 4, 18), "12. bis 18. April 2027", "April 12 to 18, 2027"),
        (
            date(2027, 4, 26),
            date(2027, 5, 2),
            "26. April bis 2. Mai 2027",
            "April 26 to May 2, 2027",
        ),
        (
            date(2027, 12, 27),
            date(2028, 1, 2),
            "27. Dezember 2027 bis 2. Januar 2028",
            "December 27, 2027 to January 2, 2028",
        ),
    ],
)
def test_spans(first, last, de, us):
    words.use_language("de")
    assert words.span(first, last) == de
    words.use_language("en_US")
    assert words.span(first, last) == us


# Whole outputs.


@pytest.fixture(scope="module")
def case():
    garden = calendar_case.garden()
    plan = calendar_case.plan(garden)
    return garden, plan, work_items(garden, plan)


def english_words_in(made):
    """English messages of two words or more that stand in an output."""
    known = german()
    out = []
    for (one, *_), where in FOUND.items():
        entry = known.get(one)
        plain = "{" not in one and len(one.split()) > 1
        if plain and entry.string != one and re.search(rf"(?<!\w){re.escape(one)}(?!\w)", made):
            out.append((one, where))
    return out


def test_no_english_is_left_in_german_outputs(case):
    garden, plan, items = case
    english = text.calendar(garden, plan, items, METRIC)
    assert english_words_in(english)  # the search finds what it looks for
    words.use_language("de")
    from datetime import UTC, datetime

    flat = " ".join(text.calendar(garden, plan, items, METRIC).split())
    assert english_words_in(flat) == []
    assert "Kopfsalat" in flat
    page = html.page(garden, plan, items, METRIC)
    assert english_words_in(page) == []
    assert '<html lang="de">' in page
    feed = ics.feed(garden, plan, items, METRIC, datetime(2027, 1, 1, tzinfo=UTC))
    assert english_words_in(feed.decode().replace("\r\n ", "")) == []


def test_german_text_fits_its_columns(case):
    from rich.cells import cell_len

    words.use_language("de")
    made = text.calendar(*case, METRIC)
    assert max(cell_len(line) for line in made.splitlines()) <= 80
    assert all(len(words._(v)) <= 8 for v in words.VERB.values())


@pytest.mark.slow
def test_german_print(case):
    pdf = pytest.importorskip("scheduler.outputs.pdf")
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("reportlab")
    import io

    words.use_language("de")
    made = pypdf.PdfReader(io.BytesIO(pdf.document(*case, METRIC)))
    flat = " ".join(" ".join(p.extract_text().split()) for p in made.pages)
    for said in ("Einkaufsliste", "Aussaatliste", "säen", "Mangold", "Säure"):
        assert said in flat
    assert english_words_in(flat) == []


def test_every_item_has_its_page_where_weeks_begin_on_sunday(case):
    garden, plan, items = case
    words.use_language("en_US")
    made = text.calendar(garden, plan, items, METRIC)
    words.use_language(None)
    plain = text.calendar(garden, plan, items, METRIC)
    assert made.count("[ ]") == plain.count("[ ]")
    assert "On the table, Monday to Sunday" not in plain


def test_the_command_takes_a_language(case, tmp_path):
    from scheduler.commands.calendar import command
    from scheduler.plans.folder import write_plan_dir

    sources = {
        f.name: f.read_bytes()
        for f in (messages.SCHEDULER.parent / "examples" / "balcony").glob("*.[yc][as][mv]*")
    }
    from dataclasses import replace

    from scheduler.garden.file import load_garden

    garden = load_garden(messages.SCHEDULER.parent / "examples" / "balcony" / "garden.yaml")
    plan = replace(case[1], batches=(), start=garden.season.start, end=garden.season.end)
    write_plan_dir(tmp_path / "plan", plan, sources)
    run = CliRunner().invoke
    for code in ("de", "de_AT", "de-CH"):
        out = run(command, [str(tmp_path / "plan"), "--language", code]).output
        assert "Keine Arbeit in dieser Woche." in out
    assert "No work this week." in run(command, [str(tmp_path / "plan")]).output
    wrong = run(command, [str(tmp_path / "plan"), "--language", "xx"])
    assert isinstance(wrong.exception, DrylineError)
    assert "de" in wrong.exception.text()

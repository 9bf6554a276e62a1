"""Names that are the same, and characters that steer."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crops.names import is_plain, plain, same_crop, same_name

SAME = [
    ("A", "a"),
    ("Bed 1", "bed  1"),
    ("Bed 1", " BED\u00a01 "),
    ("Tür", "Tu\u0308r"),
    # Full case folding of the Unicode Character Database (CaseFolding.txt): ß folds to ss, final
    # sigma to sigma; NFKC of the full-width A is A (UAX #15, table of compatibility forms).
    ("STRASSE", "straße"),
    ("ΟΔΟΣ", "οδος"),
    ("A1", "Ａ１"),
    ("A", "\u200eA\u202c"),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_names_that_are_the_same(one, other):
    assert same_name(one) == same_name(other)


@pytest.mark.parametrize(("one", "other"), [("A1", "A 1"), ("A", "B"), ("Tür", "Tur"), ("I", "ı")])
def test_names_that_are_not(one, other):
    assert same_name(one) != same_name(other)


def test_a_crop_by_any_of_its_spellings():
    assert {same_crop(n) for n in ("pak_choi", "Pak choi", "PAK-CHOI", "pak  choi")} == {"pak_choi"}


STEERING = [
    "\x1b[2J",
    "\x07",
    "\x00",
    "\u202e",
    "\u2066",
    "\u200b",
    "\ufeff",
    "\u2028",
    "\x85",
    "\x7f",
    "\ud800",
]


@pytest.mark.parametrize("odd", STEERING)
def test_what_steers_is_left_out(odd):
    text = plain(f"pale{odd} leaves")
    assert text.replace("[2J", "") == "pale leaves"
    assert text.isprintable()
    assert not is_plain(f"pale{odd} leaves")


@pytest.mark.parametrize(
    "text",
    [
        "Grüne Soße",
        "小白菜",
        "کاهو می\u200cروید",
        "½ in",
        "8\u2033",
        "👩\u200d🌾 picked",
    ],
)
def test_letters_of_any_script_stay(text):
    assert plain(text) == text
    assert is_plain(text)


def test_lines_become_one():
    assert plain("a\tb\r\n c") == "a b c"
    assert is_plain("a\tb\r\n c")


@given(st.text(alphabet=" abA\t\n\x00\x7f.é\u200e", max_size=8))
def test_the_short_way_of_plain_texts_is_the_long_one(text):
    long = " ".join(unicodedata.normalize("NFC", text).split())
    if not long.isprintable():
        long = " ".join("".join(c for c in long if c not in "\x00\x7f\u200e").split())
    assert plain(text) == long
    if text.isascii():  # where only letters' cases and blanks can differ
        assert same_name(text) == long.lower()

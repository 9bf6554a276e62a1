"""Texts that people type: what of them can be printed, and when two names are the same.

A log, a calendar and a page say a name back to the grower. A character that moves the cursor, hides
or turns the text around would make them say something else.
"""

from __future__ import annotations

import unicodedata

# Joiners are letters of several scripts in all but name; the other invisible characters steer.
_JOINERS = "\u200c\u200d"
_STEERING = ("Cc", "Cf", "Cs", "Zl", "Zp")


def plain(text: str) -> str:
    """The text in one line, without characters that steer (control, direction, invisible ones).

    Every run of white space becomes one blank; letters are composed (Unicode form NFC).
    """
    if text.isascii() and text.isprintable() and "  " not in text:
        return text.strip()  # most texts: a long log has a million of them
    text = " ".join(unicodedata.normalize("NFC", text).split())
    if text.isprintable():
        return text
    kept = (c for c in text if c in _JOINERS or unicodedata.category(c) not in _STEERING)
    return " ".join("".join(kept).split())


def is_plain(text: str) -> bool:
    """Whether a text holds no character that steers; line ends and tabs between words do not."""
    return all(
        c in _JOINERS or unicodedata.category(c) not in _STEERING or c in "\t\r\n" for c in text
    )


def shorten(value: object, width: int = 40) -> str:
    """A value as one short line for a message."""
    text = " ".join(str(value).split())
    text = "".join(c if c.isprintable() else "?" for c in text)
    return text if len(text) <= width else text[: width - 1] + "…"


def same_name(name: str) -> str:
    """What equal names have in common: capitals, blanks, forms of a letter make no difference.

    Unicode's compatibility caseless matching (The Unicode Standard, D146), with blanks run together
    and characters that steer left out.
    """
    if name.isascii():
        return plain(name.lower())
    folded = unicodedata.normalize("NFKD", unicodedata.normalize("NFD", name).casefold())
    return plain(unicodedata.normalize("NFKC", folded.casefold())).strip()


def same_crop(name: str) -> str:
    """The same of a crop, whose name joins its words: pak_choi, Pak choi and PAK-CHOI are one."""
    return same_name(name.replace("_", " ").replace("-", " ")).replace(" ", "_")

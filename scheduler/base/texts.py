"""A grower's text: bytes to text, and a value as one short line for a message.

Apart from `scheduler.base.yaml_lines`, as a line of the log waits for no YAML library.
"""

from __future__ import annotations

import crops.names
from scheduler.base.faults import BadInput, Fault

MAX_BYTES = 1_000_000


def shorten(value: object, width: int = 40) -> str:
    """A value as one short line for a message."""
    if isinstance(value, dict):
        return f"{len(value)} keys" if len(value) != 1 else "1 key"
    if isinstance(value, list | tuple):
        return f"a list of {len(value)}"
    if value is None:
        return "nothing"
    if isinstance(value, bool):
        return "true" if value else "false"
    return crops.names.shorten(str(value)[: 4 * width], width)


def decode(raw: bytes, file: str, most: int = MAX_BYTES) -> str:
    """Bytes of a text file as text.

    Raises
    ------
    BadInput
        Larger than ``most`` bytes, or not UTF-8.
    """
    if len(raw) > most:
        expected = f"at most {most / 1e6:g} MB"
        raise BadInput([Fault(file, None, "", f"{len(raw) / 1e6:.1f} MB", expected)])
    start = raw[:200]
    halves = (start[::2], start[1::2])  # of letters of two bytes, one half is empty in most texts
    wide = any(len(h) > 3 and not any(h) and min(o) >= 9 for h, o in (halves, halves[::-1]))
    if wide or start[:2] in (b"\xff\xfe", b"\xfe\xff"):  # "Unicode text" of some programs
        raise BadInput([Fault(file, 1, "", "UTF-16 text", "text saved as UTF-8")])
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise BadInput(
            [Fault(file, line, "", f"byte 0x{raw[error.start]:02x}", "text saved as UTF-8")]
        ) from None

"""Faults in the language in use: their frame always, what was expected where it is a fixed text.

A fault keeps its English (`Fault.expected` goes into JSON); only what is printed is translated.
"""

from __future__ import annotations

from scheduler.base.faults import BadInput, DrylineError, Fault
from scheduler.words.language import N_, _, plural

# Values that are the program's own words, not a grower's.
OWN_WORDS = (
    N_("missing"),
    N_("not there"),
    N_("unknown key"),
    N_("a file"),
    N_("an empty file"),
    N_("given twice"),
    N_("too large"),
    N_("there already"),
    N_("not to be written"),
    N_("no rows"),
)
# Fixed texts, as the code that finds the faults has them; a test holds each to the code.
EXPECTED = (
    N_("a day as 2027-06-03"),
    N_("a day such as 2027-06-03"),
    N_("a day written as 2027-06-03"),
    N_("a day of the calendar, written as 2027-06-03"),
    N_("a day from 1900 to 2200"),
    N_("a tier of the garden"),
    N_("a tier of the garden beside it"),
    N_("a crop of the garden beside it"),
    N_("a tier's number, 1 at the top"),
    N_("a column's name"),
    N_("each column once"),
    N_("grams or bunches: what is cut again has no heads"),
    N_("YAML"),
    N_("text saved as UTF-8"),
    N_("whole days"),
    N_("an entry a line, as 2027-06-03 ripe A 2"),
    N_("a day, and what happened"),
    N_("an entry to strike out"),
    N_("the folder of a plan"),
    N_("a plan, as dryline plan writes"),
    N_("a folder for the plan"),
    N_("another folder for the plan"),
    N_("a folder that can be written"),
    N_("an empty or new folder, or that of an earlier plan"),
    N_("the past weather that the plan was made with"),
    N_("names of vessels, each with shape, sizes, fill and mass"),
    N_("names of places, each with its kind"),
    N_("a header with month or date, tmin, tmax"),
    N_("a column month, or a column date"),
    N_("each month from 1 to 12"),
    N_("every day"),
    N_("twelve months, or one row a day"),
    N_("a table with commas between its columns"),
    N_("a name that no other crop has; change numbers under overrides"),
    N_("a crop that stands under which"),
    N_("crops, each with its keys and values"),
    N_("either planted_on or size"),
    N_("either sown_on or bought_on"),
    N_("either name or names"),
    N_("a day with work between start and end"),
    N_("a day for picking between start and end"),
    N_("either this or helpers, whose minutes of a day are added up"),
    N_("the garden of the log, or --garden"),
    N_("a folder with gardens"),
    N_("a folder with plans"),
)


def error_text(error: DrylineError) -> str:
    """What an error says to the grower: of bad input each fault in a line of its own."""
    if not isinstance(error, BadInput):
        return error.text()
    count = len(error.faults)
    head = plural("{n} fault in the input:", "{n} faults in the input:", count)
    return "\n".join([head, *("  " + fault_text(f) for f in error.faults)])


def fault_text(fault: Fault) -> str:
    """``garden.yaml:12: limits.lift: 0 kg; expected 1 to 200 kg``."""
    place = fault.file + (f":{fault.line}" if fault.line is not None else "")
    where = f" {fault.path}:" if fault.path else ""
    value = _(fault.value) if fault.value in OWN_WORDS else fault.value
    got = f" {value};" if value else ""
    what = _(fault.expected) if fault.expected in EXPECTED else fault.expected
    return f"{place}:{where}{got} " + _("expected {what}").format(what=what)

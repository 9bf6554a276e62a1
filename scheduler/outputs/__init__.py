"""The calendar's outputs: text, CSV, frames, ICS, page, print. One file each, all fed by `work`."""

from scheduler.outputs.files import write_calendar_files as write_calendar_files

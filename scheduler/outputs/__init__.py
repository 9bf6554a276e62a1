"""The calendar's outputs: text, CSV, frames, ICS, page, print. One file each, all fed by `work`."""

from scheduler.outputs.files import calendar_files as calendar_files
from scheduler.outputs.files import season_files as season_files

"""The command line: ``dryline COMMAND``, the same as ``python -m scheduler COMMAND``.

Commands are loaded when asked for, so that ``dryline crops`` does not wait for the solver.
Exit codes: 0 done, 1 a rule is broken, 2 bad input, 3 no plan exists, 4 out of time with none
found.
"""

from __future__ import annotations

import contextlib
import importlib
import importlib.util
import json
import os
import sys
from pathlib import Path
from typing import Any, NoReturn

import click

from scheduler.base.faults import DrylineError

COMMANDS = {
    "plan": "decide crop, tier and dates for a season",
    "plans": "list plans, or compare two",
    "verify": "check every rule of a plan again",
    "shortfall": "what holds a plan back, and what would help most",
    "rebalance": "plan again from what really happened",
    "calendar": "print the calendar of a plan",
    "crops": "list the crops, each number with its source",
    "windows": "where and when each crop can grow, and why not elsewhere",
    "climate": "a climate table from a file that weather services publish",
    "start": "write a garden, a climate table and a log to begin with",
    "mix": "salts and acid for a fill",
    "shopping": "seeds and salts to buy, by which day, for how much",
    "review": "what finished crops teach",
    "today": "what is to do, which tiers alarm, what to measure",
    "log": "add to the log, and hear what it foretells",
    "phone": "the plan as one file for a phone, and back into the log",
    "open": "a page on this machine to work with a plan",
    "pictures": "draw season, levels, nursery, produce",
    "plan-many": "plan every garden below a folder",
    "risk": "replay a plan over many weather years",
}


class LazyGroup(click.Group):
    """Loads ``scheduler.commands.NAME:command`` only when NAME is called."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return [n for n in COMMANDS if importlib.util.find_spec(_module(n))]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.list_commands(ctx):
            return None
        command: click.Command = importlib.import_module(_module(cmd_name)).command
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        with formatter.section("Commands"):
            formatter.write_dl([(n, COMMANDS[n]) for n in self.list_commands(ctx)])


def _module(name: str) -> str:
    return "scheduler.commands." + name.replace("-", "_")


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="dryline")
def cli() -> None:
    """Plan a season of leafy crops in columns of vessels that are filled once: which crop goes
    into which tier on which day, so that no tier runs dry before its harvest."""


def main(argv: list[str] | None = None) -> None:
    """Run the command line; every fault the user can mend ends in its exit code, no traceback."""
    arguments: list[str] = sys.argv[1:] if argv is None else argv
    try:
        more: dict[str, Any] = {"default_map": told} if (told := _defaults()) else {}
        result: Any = cli.main(args=arguments, prog_name="dryline", standalone_mode=False, **more)
        sys.exit(result if isinstance(result, int) else 0)
    except DrylineError as error:
        from scheduler.words.fault_text import error_text

        _end(error.exit_code, error_text(error), error.as_dict() if "--json" in arguments else None)
    except click.ClickException as error:
        error.show()
        sys.exit(2)
    except (click.Abort, KeyboardInterrupt):
        click.echo("stopped", err=True)
        sys.exit(130)
    except BrokenPipeError:
        _let_go()
        sys.exit(0)
    except OSError as error:
        message = f"{error.filename or 'output'}: {error.strerror or error}"
        body = {"error": "OSError", "message": message, "exit": 2}
        _end(2, message, body if "--json" in arguments else None)


def _defaults() -> dict[str, Any]:
    """What defaults.yaml tells, of the garden that one stands in: options that are not given."""
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / "defaults.yaml").is_file() and (folder / "garden.yaml").is_file():
            from scheduler.garden.defaults import read_defaults

            return dict.fromkeys(COMMANDS, read_defaults(folder / "defaults.yaml"))
    return {}


def _end(code: int, message: str, body: dict[str, Any] | None) -> NoReturn:
    """Say why nothing came of it, as JSON if there is a body, and end."""
    said = [(message, True)]
    if body is not None:
        said.insert(0, (json.dumps(body, indent=1, ensure_ascii=False), False))
    for text, err in said:
        with contextlib.suppress(OSError):  # it may be the output itself that is full
            click.echo(text, err=err)
            break
    _let_go()
    sys.exit(code)


def _let_go() -> None:
    """Forget what the output would not take: at the end Python would try again, and tell."""
    try:
        sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()

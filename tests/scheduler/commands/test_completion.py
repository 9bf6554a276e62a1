"""What a shell completes: commands, options, files."""

from __future__ import annotations

from click.shell_completion import BashComplete

from scheduler.cli import cli


def offered(*words: str, begun: str) -> list[tuple[str, str]]:
    found = BashComplete(cli, {}, "dryline", "_DRYLINE_COMPLETE").get_completions([*words], begun)
    return [(item.type, item.value) for item in found]


def test_commands_options_choices_and_files() -> None:
    assert offered(begun="ca") == [("plain", "calendar")]
    assert ("plain", "plan-many") in offered(begun="plan")
    assert offered("plan", begun="--time") == [("plain", "--time-limit")]
    assert ("plain", "pdf") in offered("calendar", "season", "--format", begun="p")
    assert [kind for kind, _ in offered("verify", begun="sea")] == ["file"]
    assert offered(begun="no such") == []

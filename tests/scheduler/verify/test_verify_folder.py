"""A plan's folder, and ``dryline verify`` on it."""

from __future__ import annotations

import json
import os
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from verify_case import batch, good_plan, plan, with_stages

from scheduler.base.faults import BadInput
from scheduler.cli import main
from scheduler.garden.file import garden_sources, load_garden
from scheduler.plans.brief import TABLE_FILE
from scheduler.plans.folder import read_plan, read_plan_dir, write_plan_dir
from scheduler.plans.model import Chances, Plan, YearsTaken
from scheduler.plans.reading import parse_plan
from scheduler.plans.rules import RULES
from scheduler.verify import verify
from scheduler.verify.text import earlier, lines

BALCONY = Path(__file__).parents[3] / "examples" / "balcony" / "garden.yaml"


def names(folder: Path) -> set[str]:
    """What a user sees: hidden files are ours."""
    return {p.name for p in folder.iterdir() if p.name != TABLE_FILE}


def files(mark: str = "") -> dict[str, bytes]:
    """The balcony's files, each with a remark of its own at the end."""
    return {n: d + f"# {mark}\n".encode() for n, d in garden_sources(BALCONY).items()}


def ends(folder: Path) -> set[bytes]:
    """The last lines of the balcony's files in a folder."""
    return {(folder / n).read_bytes().splitlines()[-1] for n in garden_sources(BALCONY)}


def test_written_and_read_again(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "plan"
    sources = garden_sources(BALCONY)
    write_plan_dir(folder, good_plan(), sources)
    assert names(folder) == {"plan.json", "garden.yaml", "inputs"}
    found = {str(p.relative_to(folder)) for p in folder.rglob("*.*")}
    assert found == {"plan.json", TABLE_FILE, *sources}
    garden, made = read_plan_dir(folder)
    assert made == good_plan()
    assert garden.season == load_garden(BALCONY).season


def test_a_second_plan_takes_the_first_ones_place_and_keeps_the_log(tmp_path: Path) -> None:
    write_plan_dir(tmp_path, good_plan(), files("old"))
    (tmp_path / "log.csv").write_text("date,what\n")
    (tmp_path / "calendar.txt").write_text("mine")
    other = plan(batch("x", "lettuce", "A1", 0, 10, [(30, 4)], 31))
    write_plan_dir(tmp_path, other, files("new"))
    assert read_plan(tmp_path) == other
    assert ends(tmp_path) == {b"# new"}
    assert (tmp_path / "log.csv").read_text() == "date,what\n"
    assert (tmp_path / "calendar.txt").read_text() == "mine"


def test_a_folder_with_nothing_but_a_log_is_taken(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text("date,what\n")
    write_plan_dir(tmp_path, good_plan(), files())
    assert names(tmp_path) == {"log.csv", "plan.json", "garden.yaml", "inputs"}


@pytest.mark.parametrize(
    "content",
    [
        {"letters.txt": "mine"},
        {"plan.json": '{"schema": "house"}', "a": ""},
        {"plan.json": "[1]"},
        {"plan.json": "plans for the house"},
        {"garden.yaml": "site: {}"},
    ],
)
def test_anything_else_in_the_folder_is_left_alone(tmp_path: Path, content: dict[str, str]) -> None:
    for name, text in content.items():
        (tmp_path / name).write_text(text)
    with pytest.raises(BadInput):
        write_plan_dir(tmp_path, good_plan(), files())
    assert {p.name: p.read_text() for p in tmp_path.iterdir()} == content


def test_a_file_in_the_folders_place_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "plan").write_text("mine")
    with pytest.raises(BadInput, match="a folder"):
        write_plan_dir(tmp_path / "plan", good_plan(), files())
    assert (tmp_path / "plan").read_text() == "mine"


@pytest.mark.parametrize(
    "name",
    [
        "../garden.yaml",
        "a/b",
        "plan.json",
        "log.csv",
        "",
        ".incoming",
        "inputs",
        "inputs/",
        "inputs/..",
        "inputs/a/b",
        "inputs/../plan.json",
        "..",
    ],
)
def test_source_names_stay_in_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(ValueError, match="plain file name"):
        write_plan_dir(tmp_path, good_plan(), {**files(), name: b""})
    assert not names(tmp_path)


class Crash(BaseException):
    """Stands for the end of the process."""


@pytest.mark.slow
@pytest.mark.parametrize("call", ["rename", "replace", "fsync"])
def test_cut_off_anywhere_the_old_plan_or_the_new_one_is_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, call: str
) -> None:
    old, new = good_plan(), plan()
    for stop in range(14):
        folder = tmp_path / f"{call}{stop}"
        write_plan_dir(folder, old, files("old"))
        left = stop
        real = getattr(os, call)

        def counted(*args: object, real: object = real) -> object:
            nonlocal left
            if left == 0:
                raise Crash
            left -= 1
            return real(*args)  # type: ignore[operator]

        with monkeypatch.context() as patch:
            patch.setattr(os, call, counted)
            # A process that ends does not clean up behind itself.
            patch.setattr("scheduler.plans.folder.shutil.rmtree", lambda *_, **__: None)
            try:
                write_plan_dir(folder, new, files("new"))
                done = True
            except Crash:
                done = False
        found = read_plan(folder)
        assert (found, ends(folder)) in ((old, {b"# old"}), (new, {b"# new"}))
        if done:
            assert found == new
            assert stop > 0
            break
        # The next plan is written as if nothing had been.
        write_plan_dir(folder, new, files("new"))
        assert read_plan(folder) == new
    else:
        pytest.fail("never finished")


def test_a_full_disk_leaves_the_old_plan(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_plan_dir(tmp_path, good_plan(), files("old"))

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        with pytest.raises(OSError, match="No space"):
            write_plan_dir(tmp_path, plan(), files("new"))
    assert names(tmp_path) == {"plan.json", "garden.yaml", "inputs"}
    assert ends(tmp_path) == {b"# old"}
    assert read_plan(tmp_path) == good_plan()


def text_with(**changes: object) -> bytes:
    body = json.loads(good_plan().to_json())
    body.update(changes)
    return json.dumps(body).encode()


def first_batch(**changes: object) -> bytes:
    body = json.loads(good_plan().to_json())
    body["batches"][0].update(changes)
    return json.dumps(body).encode()


GOOD = good_plan().to_json().encode()
BAD: list[tuple[str, bytes, str]] = [
    ("empty", b"", "JSON"),
    ("half", GOOD[: len(GOOD) // 2], "JSON"),
    ("no JSON", b"batches: 3", "JSON"),
    ("a list", b"[1, 2]", "an object"),
    ("no UTF-8", b'{"schema": "\xff"}', "UTF-8"),
    ("deep", b"[" * 100_000, "JSON"),
    ("other schema", text_with(schema="dryline-plan-9"), "schema"),
    ("no schema", b"{}", "schema"),
    ("no season", text_with(season=None), "season.start"),
    ("season reversed fields", text_with(season={"begin": "2027-04-05"}), "season.end"),
    ("date that does not exist", first_batch(sow="2027-02-30"), "batches[0].sow"),
    ("date by hand", first_batch(clear="5 May 2027"), "batches[0].clear"),
    ("date as a number", first_batch(clear=20270505), "batches[0].clear"),
    ("date far off", first_batch(clear="9999-12-31"), "batches[0].clear"),
    ("tier as text", first_batch(tier="1"), "batches[0].tier"),
    ("tier true", first_batch(tier=True), "batches[0].tier"),
    ("no cells", first_batch(cells=None), "batches[0].cells"),
    ("negative plants", first_batch(plants=-4), "batches[0].plants"),
    ("a huge number", first_batch(plants=10**400), "plants"),
    (
        "pick without grams",
        first_batch(picks=[{"date": "2027-05-05", "plants": 4}]),
        "batches[0].picks[0].grams",
    ),
    ("not a number", GOOD.replace(b'"value": 2380.0', b'"value": NaN'), "NaN"),
    ("infinite", GOOD.replace(b'"value": 2380.0', b'"value": 1e999'), "value"),
]


@pytest.mark.parametrize(("raw", "said"), [b[1:] for b in BAD], ids=[b[0] for b in BAD])
def test_bad_plans_give_their_faults(tmp_path: Path, raw: bytes, said: str) -> None:
    (tmp_path / "plan.json").write_bytes(raw)
    with pytest.raises(BadInput) as caught:
        read_plan_dir(tmp_path)
    assert all(f.file == str(tmp_path / "plan.json") for f in caught.value.faults)
    assert said in caught.value.text()


def test_every_fault_of_a_plan_at_once() -> None:
    body = json.loads(GOOD)
    body["batches"][0]["sow"] = "soon"
    body["batches"][3]["picks"][0]["plants"] = "four"
    del body["unmet"]
    with pytest.raises(BadInput) as caught:
        parse_plan(json.dumps(body).encode())
    assert {f.path for f in caught.value.faults} == {
        "batches[0].sow",
        "batches[3].picks[0].plants",
        "unmet",
    }


def test_the_line_of_broken_json_is_named() -> None:
    lines_ = GOOD.split(b"\n")
    lines_[6] = b"oops"
    with pytest.raises(BadInput) as caught:
        parse_plan(b"\n".join(lines_))
    assert caught.value.faults[0].line == 7


def test_no_folder_no_plan_no_garden(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="not there"):
        read_plan_dir(tmp_path / "nowhere")
    with pytest.raises(BadInput, match=r"plan\.json"):
        read_plan_dir(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(BadInput, match="a file"):
        read_plan_dir(tmp_path / "file")
    (tmp_path / "plan.json").write_bytes(GOOD)
    with pytest.raises(BadInput, match=r"garden\.yaml"):
        read_plan_dir(tmp_path)


# The command


def run(*arguments: str) -> tuple[int, str, str]:
    """Exit code, output, error output of the command line."""
    runner = CliRunner()
    with runner.isolation() as streams:
        with pytest.raises(SystemExit) as ended:
            main(list(arguments))
        out, err = streams[0].getvalue().decode(), streams[1].getvalue().decode()
    return int(ended.value.code or 0), out, err


def empty_plan() -> Plan:
    """A plan of nothing for the balcony: every wish unmet."""
    garden = load_garden(BALCONY)
    made = Plan("best_found", (), garden.season.start, garden.season.end, (), ())
    return with_stages(garden, made)


def test_command_on_a_plan_that_holds(tmp_path: Path) -> None:
    write_plan_dir(tmp_path, empty_plan(), garden_sources(BALCONY))
    code, out, _ = run("verify", str(tmp_path))
    assert code == 0
    assert "Every rule holds." in out
    for rule in RULES:
        assert sum(line.startswith(rule.name + " ") for line in out.splitlines()) == 1
    code, out, _ = run("verify", str(tmp_path), "--json")
    body = json.loads(out)
    assert code == 0
    assert body["ok"] is True
    assert [r["rule"] for r in body["rules"]] == [r.name for r in RULES]


def test_command_on_a_plan_that_breaks_rules(tmp_path: Path) -> None:
    # The good plan of another garden: columns, crops and season are not the balcony's.
    write_plan_dir(tmp_path, good_plan(), garden_sources(BALCONY))
    code, out, _ = run("verify", str(tmp_path))
    assert code == 1
    assert "known crop and tier   BROKEN" in out
    assert "b1" in out
    code, out, _ = run("verify", str(tmp_path), "--json")
    assert code == 1
    assert {b["rule"] for b in json.loads(out)["broken"]} >= {"known crop and tier", "claims"}


def test_command_on_no_plan(tmp_path: Path) -> None:
    code, _, err = run("verify", str(tmp_path / "nowhere"))
    assert code == 2
    assert "nowhere" in err
    code, out, _ = run("verify", str(tmp_path / "nowhere"), "--json")
    assert code == 2
    assert json.loads(out)["faults"][0]["value"] == "not there"


def test_lines_fit_the_terminal() -> None:
    garden = load_garden(BALCONY)
    assert max(len(line) for line in lines(verify(garden, good_plan()), "us")) < 80


@pytest.mark.parametrize("count", [1, 3])
def test_a_plan_of_before_cold_and_heat_were_told_is_read_and_said_to_be_one(
    tmp_path: Path, count: int
) -> None:
    """Its plan.json has chances without ``cold`` and ``heat``; a new one has both."""
    made = good_plan()
    told = Chances(0.1, 0.0, 0.2, 0.05, 0.0)
    batches = tuple(
        replace(b, chances=told if k < count else None) for k, b in enumerate(made.batches)
    )
    new = replace(made, batches=batches, years=YearsTaken("made", 0, 4, 0, 5, 4))
    assert earlier(new) == []
    body = json.loads(new.to_json())
    for k in range(count):
        for name in ("cold", "heat"):
            del body["batches"][k]["chances"][name]
    old = parse_plan(json.dumps(body))
    assert old.batches[0].chances == Chances(0.1, 0.0, 0.2)
    said = " ".join(earlier(old))
    assert "of an earlier version" in said
    assert parse_plan(old.to_json()) == old
    write_plan_dir(tmp_path, old, files())
    code, out, _ = run("verify", str(tmp_path))
    assert code == 1
    assert "of an earlier version" in " ".join(out.split())

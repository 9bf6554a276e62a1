"""A good garden spoilt at random: it loads, or every fault is told; nothing else ever happens."""

import copy
import tempfile
from pathlib import Path

import yaml
from draws import fixed
from hypothesis import given
from hypothesis import strategies as st

from scheduler.base.faults import BadInput
from scheduler.base.yaml_lines import read_document
from scheduler.garden.file import garden_sources, load_garden
from scheduler.garden.model import Garden

HERE = Path(__file__).parents[1] / "malformed"
BASE = (HERE / "base.yaml").read_text()
DATA = read_document(BASE.encode(), "base.yaml").data
FILES = {name: (HERE / name).read_bytes() for name in ("climate.csv", "tatsoi.yaml")}

ODD = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.text(max_size=12),
    st.dates().map(str),
    st.just([]),
    st.just({}),
    st.just([[]]),
    st.sampled_from(
        [
            "1 L",
            "-3 kg",
            "1e308 cm",
            "all",
            "no",
            "0 degC",
            "20",
            "é",
            "2027-06-31",
            "pail",
            "climate.csv",
            "../",
            "\t",
            "name",
            "5 mol",
            "1 / 0 L",
            "=1",
            "<<",
        ]
    ),
    st.lists(st.integers(), max_size=3),
    st.dictionaries(
        st.sampled_from(["name", "from", "to", "vessel", "x", "value"]),
        st.text(max_size=4),
        max_size=3,
    ),
)


def places(node, path=()):
    """Every place of a tree but the root."""
    pairs = node.items() if isinstance(node, dict) else enumerate(node)
    for key, value in pairs:
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from places(value, (*path, key))


PLACES = list(places(DATA))


def spoil(data, place, how, odd):
    parent = data
    for key in place[:-1]:
        try:
            parent = parent[key]
        except (KeyError, IndexError, TypeError):
            return  # an earlier change took it away
    key = place[-1]
    try:
        if how == "delete":
            del parent[key]
        elif how == "replace":
            parent[key] = odd
        elif how == "repeat" and isinstance(parent, list):
            parent.append(copy.deepcopy(parent[key]))
        elif how == "rename" and isinstance(parent, dict):
            parent[str(odd)] = parent.pop(key)
    except (KeyError, IndexError, TypeError, AttributeError):
        return


def check(garden, files=FILES):
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, content in files.items():
            (folder / file).write_bytes(content)
        path = folder / "garden.yaml"
        path.write_bytes(garden)
        got, faults = None, ()
        try:
            got = load_garden(path)
        except BadInput as error:
            faults = error.faults
        if got is None:
            assert faults
            for fault in faults:
                assert fault.expected
                assert fault.file.startswith(name)
                assert fault.line is None or 1 <= fault.line <= 10_000
            return False
        assert isinstance(got, Garden)
        assert "garden.yaml" in garden_sources(path)
        return True


@fixed(150)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(PLACES), st.sampled_from(["delete", "replace", "repeat", "rename"]), ODD
        ),
        min_size=1,
        max_size=4,
    )
)
def test_nodes_spoilt(changes):
    data = copy.deepcopy(DATA)
    for place, how, odd in changes:
        spoil(data, place, how, odd)
    check(yaml.safe_dump(data, allow_unicode=True).encode("utf-8", "surrogatepass"))


@fixed(150)
@given(
    st.lists(
        st.tuples(st.integers(0, len(BASE) - 1), st.integers(0, 6), st.binary(max_size=5)),
        min_size=1,
        max_size=3,
    )
)
def test_bytes_spoilt(changes):
    text = BASE.encode()
    for at, cut, new in changes:
        text = text[:at] + new + text[at + cut :]
    check(text)


@fixed(150)
@given(
    st.lists(
        st.tuples(
            st.integers(0, len(FILES["climate.csv"]) - 1),
            st.integers(0, 6),
            st.one_of(st.binary(max_size=4), st.sampled_from([b"\n", b'"', b";"])),
        ),
        min_size=1,
        max_size=3,
    )
)
def test_climate_bytes_spoilt(changes):
    text = FILES["climate.csv"]
    for at, cut, new in changes:
        text = text[:at] + new + text[at + cut :]
    check(BASE.encode(), {**FILES, "climate.csv": text})


def test_the_sound_one_passes():
    assert check(BASE.encode())
    assert check(yaml.safe_dump(DATA).encode())

"""Which rules hold at which values: values read, the file written otherwise, the tables."""

import csv
import json
from io import StringIO

import pytest
from hypothesis import given
from hypothesis import strategies as st

from behaviour.cli import main
from behaviour.fingerprint import fingerprint
from behaviour.language.otherwise import CannotTryError, text_of, values_of, written_otherwise
from behaviour.source import Source
from tests.reading import SPECS, model_in, model_of, source_of

BLINKER = """\
language: 1
prop: Blinker
loop: 10 ms
settings:
  lit_for: 300 ms               # how long
inputs: {tap: {kind: button, steady: 20 ms}}
outputs: {glow: {kind: light, values: [dark, lit]}}
regions:
  eye:
    begins: shut
    states:
      shut: {leave: [{when: tap becomes pressed, go: open}]}
      open: {set: {glow: lit}, leave: [{after: lit_for, go: shut}]}
rules:
  - {name: never lit for long, while: glow is lit, at most: 500 ms}
  - {name: lit long enough to be seen, while: glow is lit, at least: 200 ms}
"""
"""By hand: the first rule holds up to 500 ms, the second from 200 ms on."""


def blinker(tmp_path):
    path = tmp_path / "blinker.yaml"
    path.write_text(BLINKER, encoding="utf-8")
    return str(path)


def run(capsys, *arguments):
    code = main(arguments)
    out, err = capsys.readouterr()
    return code, out, err


def test_values_are_named_one_by_one_or_by_steps():
    assert values_of("200 ms, 1 s,200 ms") == ("200 ms", "1 s")
    assert values_of("200 ms to 500 ms by 150 ms") == ("200 ms", "350 ms", "500 ms")
    assert values_of("0.1 to 0.35 by 0.1") == ("0.1", "0.2", "0.3")
    assert values_of("1 to 3 by 1 s") == ("1 s", "2 s", "3 s")
    assert values_of("250 ms to 400 ms, 300 ms to 500 ms") == (
        "250 ms to 400 ms",
        "300 ms to 500 ms",
    )


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "names no values"),
        ("1 s to 500 ms by 100 ms", "is in several units"),
        ("500 ms to 200 ms by 10 ms", "names no values"),
        ("1 to 9 by 0", "names no values"),
        ("fast to slow by steps", "names no values"),
        ("1 ms to 9000 ms by 1 ms", "more than 500 values"),
    ],
)
def test_what_names_no_values_is_said(text, says):
    with pytest.raises(CannotTryError, match=says):
        values_of(text)


@given(st.integers(1, 10**6), st.integers(0, 200), st.integers(1, 10**5))
def test_steps_begin_at_one_end_and_never_pass_the_other(low, count, by):
    found = values_of(f"{low} ms to {low + count * by} ms by {by} ms")

    assert found[0] == f"{low} ms"
    assert found[-1] == f"{low + count * by} ms"
    assert len(found) == count + 1


def test_only_the_value_is_written_otherwise():
    source = Source("blinker.yaml", BLINKER)

    other = written_otherwise(source, model_in(source), {"lit_for": "450 ms"})

    assert other.text == BLINKER.replace("300 ms  ", "450 ms  ")


@pytest.mark.parametrize("path", SPECS, ids=lambda path: path.stem)
def test_writing_each_value_as_it_stands_leaves_the_same_prop(path):
    source = source_of(f"specs/{path.name}")
    model = model_in(source)
    names = [setting.name for setting in model.settings]
    names += [f"{drive.output}.{path}" for drive in model.drives for path, _ in drive.figures]

    texts = {name: text_of(source, model, name) for name in names}
    again = written_otherwise(source, model, texts)

    assert again.text == source.text
    assert fingerprint(model_in(again)) == fingerprint(model)


def test_a_name_that_is_not_there_is_said_with_the_nearest():
    model = model_of(BLINKER)

    with pytest.raises(CannotTryError, match="no setting or figure `lit_four`: there is `lit_for`"):
        text_of(Source("blinker.yaml", BLINKER), model, "lit_four")


def test_the_table_says_which_rule_holds_at_which_value(capsys, tmp_path):
    code, out, _ = run(
        capsys, "sweep", blinker(tmp_path), "lit_for=150 ms, 200 ms, 500 ms, 510 ms", "--jobs", "1"
    )

    rows = {line[:28].strip(): line[28:].split() for line in out.splitlines() if "  " in line}
    assert code == 0
    assert rows["never lit for long"] == ["holds", "holds", "holds", "broken"]
    assert rows["lit long enough to be seen"] == ["broken", "holds", "holds", "holds"]


def test_csv_and_json_say_the_same_side_by_side_or_not(capsys, tmp_path):
    asked = ("sweep", blinker(tmp_path), "lit_for=150 ms, 510 ms")

    _, table, _ = run(capsys, *asked, "--as", "csv", "--jobs", "2")
    _, data, _ = run(capsys, *asked, "--as", "json", "--jobs", "1")

    rows = list(csv.DictReader(StringIO(table)))
    assert [row["never lit for long"] for row in rows] == ["holds", "broken"]
    points = json.loads(data)["points"]
    assert [point["values"] for point in points] == [{"lit_for": "150 ms"}, {"lit_for": "510 ms"}]
    for row, point in zip(rows, points, strict=True):
        for verdict in (*point["rules"], *point["checks"]):
            assert row[verdict["name"]] == verdict["verdict"]


def test_what_is_not_decided_stays_so_and_what_cannot_be_read_is_said(capsys, tmp_path):
    code, out, _ = run(
        capsys, "sweep", blinker(tmp_path), "lit_for=300 ms, unknown, soon", "--jobs", "1"
    )

    row = next(line for line in out.splitlines() if line.startswith("never lit for long"))
    assert code == 3
    assert row.split("  ")[-3:][-1].strip() == "unreadable"
    assert "not decided" in row
    assert "soon: cannot be read: line 5: `soon` is not a value that a setting can hold" in out


def test_two_names_are_tried_each_with_each(capsys, tmp_path):
    path = tmp_path / "two.yaml"
    path.write_text(
        BLINKER.replace("inputs: {tap", "  dark_for: 1 s\ninputs: {tap").replace(
            "leave: [{when: tap becomes pressed, go: open}]",
            "leave: [{when: tap becomes pressed, after: dark_for, go: open}]",
        ),
        encoding="utf-8",
    )

    asked = ("sweep", str(path), "lit_for=300 ms, 600 ms", "dark_for=1 s, 2 s", "--jobs", "1")
    _, data, _ = run(capsys, *asked, "--as", "json")

    found = [tuple(point["values"].values()) for point in json.loads(data)["points"]]
    assert found == [("300 ms", "1 s"), ("300 ms", "2 s"), ("600 ms", "1 s"), ("600 ms", "2 s")]


def test_a_drive_s_figure_changes_the_verdicts(capsys):
    """By hand, a sixth of a turn within 500 ms: at 24 rpm it takes d / v + v / a, which is 617 ms
    with a ramp of 120 rpm/s and 437 ms with 1200; at 60 rpm 2 * sqrt(d / a), or 577 ms, and 217 ms.
    """
    code, out, _ = run(
        capsys,
        "sweep",
        "specs/faulty/turn-cut-short.yaml",
        "drum.speed=24 rpm, 60 rpm",
        "drum.ramp=120 rpm/s, 1200 rpm/s",
        "--jobs",
        "1",
        "--as",
        "json",
    )

    verdicts = [point["rules"][0]["verdict"] for point in json.loads(out)["points"]]
    assert verdicts == ["broken", "holds", "broken", "holds"]
    assert code in (0, 3)

"""Each state by each thing that can happen: every cell is filled, or marked blank."""

import csv
from io import StringIO

from behaviour.model import Model
from behaviour.report.table_forms import table_csv, table_markdown
from behaviour.source import Source
from behaviour.tell.happenings import Happening
from behaviour.tell.table import Filling, Table, happening_words, tables
from tests.reading import model_of, spec

HERE = Source("x.yaml", "")


def cell(table: Table, state: str, happening: str) -> tuple[str, ...]:
    row = next(row for row in table.rows if row.state == state)
    at = [happening_words(each) for each in table.columns].index(happening)
    return row.cells[at].words


def by_itself(table: Table, state: str) -> tuple[str, ...]:
    return next(row for row in table.rows if row.state == state).by_itself.words


def test_the_carousel_has_each_of_its_states_and_all_that_some_state_answers() -> None:
    (table,) = tables(spec("specs/confetti-carousel.yaml"))

    assert [row.state for row in table.rows] == [
        "idle",
        "turn",
        "shot",
        "empty",
        "jammed",
        "lid_open",
    ]
    assert [happening_words(each) for each in table.columns] == [
        "lid becomes closed",
        "lid becomes open",
        "trigger becomes pressed",
        "mark becomes made",
    ]
    assert table.never == (Happening("trigger", "released"), Happening("mark", "clear"))


def test_a_cell_says_what_else_must_hold_and_what_comes() -> None:
    (table,) = tables(spec("specs/confetti-carousel.yaml"))

    assert cell(table, "idle", "trigger becomes pressed") == ("loaded > 0: go turn", "go empty")
    assert cell(table, "turn", "lid becomes open") == ("go lid_open",)
    assert cell(table, "turn", "trigger becomes pressed") == ("blank",)
    assert cell(table, "lid_open", "lid becomes open") == ("stays",)
    assert cell(table, "idle", "lid becomes closed") == ("left while lid is not closed",)
    assert cell(table, "jammed", "trigger becomes pressed") == (
        "trigger is pressed for 3 s, after 3 s: go idle",
    )
    assert by_itself(table, "turn") == ("after 1.5 s: go jammed",)
    assert by_itself(table, "shot") == (
        "at 100 ms: valve open",
        "at 250 ms: valve shut",
        "at 600 ms: take 1 from loaded, go idle",
    )


def test_what_is_ignored_or_locked_is_said() -> None:
    boiler, _ = tables(spec("specs/fog-cannon.yaml"))

    assert cell(boiler, "heating", "heat becomes pressed") == ("ignored, and that is meant",)
    assert cell(boiler, "burnt_out", "stop becomes pressed") == (
        "nothing leaves it but switching off",
    )
    assert by_itself(boiler, "burnt_out") == ("nothing leaves it but switching off",)


def test_a_condition_that_others_bring_about_stands_by_itself() -> None:
    hand, breath = tables(spec("specs/treasure-chest.yaml"))

    assert by_itself(hand, "up") == ("breath in spent: set jams to 0, go turning_back",)
    assert by_itself(breath, "waking") == ("hand in up: go cloud", "hand not in rise: go calm")


def test_a_change_that_only_sometimes_leads_on_leaves_a_blank() -> None:
    _, _, eyes = tables(spec("specs/fortune-teller.yaml"))
    purse, _, _ = tables(spec("specs/fortune-teller.yaml"))

    assert eyes.columns == ()
    assert cell(purse, "open", "coin becomes passing") == (
        "credits < 3: add 1 to credits, stay",
        "otherwise blank",
    )


def small(when: str) -> Model:
    return model_of(f"""\
        language: 1
        prop: Small
        loop: 10 ms
        inputs:
          a: {{kind: switch, values: [off, on]}}
          b: {{kind: selector, values: [x, y, z]}}
        regions:
          r: {{begins: one, states: {{one: {{leave: [{{when: {when}, go: two}}]}}, two: {{}}}}}}
        """)


def columns(when: str) -> list[str]:
    return [happening_words(each) for each in tables(small(when))[0].columns]


def test_a_change_is_listed_where_it_can_make_the_condition_hold() -> None:
    assert columns("a is on") == ["a becomes on"]
    assert columns("a is not on") == ["a becomes off"]
    assert columns("a becomes on and b is x") == ["a becomes on"]
    assert columns("a is on and b is x") == ["a becomes on", "b becomes x"]
    assert columns("b is not y") == ["b becomes x", "b becomes z"]
    assert columns("not (a is on or b is x)") == ["a becomes off", "b becomes y", "b becomes z"]
    assert columns("a is on or a is off") == []
    assert columns("a becomes on and a is off") == []
    assert columns("b is z for 1 s") == ["b becomes z"]


def test_a_table_of_values_has_as_many_in_each_line_and_ends_with_the_fingerprint() -> None:
    model = spec("specs/lift-platform.yaml")
    rows = list(csv.reader(StringIO(table_csv(HERE, model))))

    assert {len(row) for row in rows[:-1]} == {len(rows[0])}
    assert all(value for row in rows for value in row)
    assert rows[-1] == ["x.yaml, fingerprint 2344-c593"]


def test_blanks_stand_out_in_markdown() -> None:
    page = table_markdown(HERE, spec("specs/confetti-carousel.yaml"))

    assert "| turn | drum forward<br>lamp amber | left while lid is not closed |" in page
    assert page.count("**blank**") == 9
    assert Filling.BLANK.value == "blank"
